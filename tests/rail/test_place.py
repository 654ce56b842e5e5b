import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright.finding import CannotBuild
from baywright.job.rails import ShaftAsk
from baywright.rail.measure import locate
from baywright.rail.place import mounts_of, shaft_pose, side_names


def ask(**more):
    return ShaftAsk.model_validate({"centre": [300, 10, 450], "toward": "front"} | more)


@given(st.sampled_from(["front", "rear", "left", "right"]), st.floats(-12, 12), st.floats(-12, 12))
def test_the_rail_frame_is_square_level_across_and_runs_along_the_shaft(toward, rise, swing):
    pose = shaft_pose(ask(toward=toward, rise=rise, swing=swing))
    assert np.allclose(pose.turn.T @ pose.turn, np.eye(3), atol=1e-12)
    assert np.linalg.det(pose.turn) == pytest.approx(1)
    assert pose.turn[2, 1] == pytest.approx(0, abs=1e-12)  # y is level
    assert pose.turn[2, 2] > 0.9  # z is up
    assert np.degrees(np.arcsin(pose.turn[2, 0])) == pytest.approx(rise, abs=1e-9)
    again = shaft_pose(ask(toward=toward, second=(pose.shift + 400 * pose.turn[:, 0]).tolist()))
    assert np.allclose(again.turn, pose.turn, atol=1e-9)


def test_a_front_engine_points_forward_and_a_rise_lifts_its_nose():
    pose = shaft_pose(ask(rise=5.0))
    assert pose.turn[:, 0] == pytest.approx([-np.cos(np.radians(5)), 0, np.sin(np.radians(5))], abs=1e-12)
    assert side_names(pose) == ("right", "left")  # y of the rail frame runs to the car's left
    assert side_names(shaft_pose(ask(toward="rear"))) == ("left", "right")
    assert side_names(shaft_pose(ask(toward="left"))) == ("front", "rear")
    assert side_names(shaft_pose(ask(toward="right"))) == ("rear", "front")


def test_a_clockwise_swing_seen_from_above():
    # Seen from above the car's front is up on the page: a shaft that points forward swings clockwise to the right.
    pose = shaft_pose(ask(swing=10.0))
    assert pose.turn[:, 0] == pytest.approx([-np.cos(np.radians(10)), np.sin(np.radians(10)), 0], abs=1e-12)


def test_a_second_point_that_is_no_direction_is_refused():
    with pytest.raises(CannotBuild, match="too near"):
        shaft_pose(ask(second=[290, 10, 450]))
    with pytest.raises(CannotBuild, match="toward the front"):
        shaft_pose(ask(second=[300, 400, 450]))


def test_mounts_are_seen_along_the_shaft(asked, base):
    request = asked(base)
    pose = shaft_pose(request.shaft)
    mounts = mounts_of(request.mounts, locate(request.mounts, {}), pose)
    for mount in mounts:
        assert pose(mount.at) == pytest.approx([c.value for c in mount.ask.at])
        assert pose.direction(mount.faces) == pytest.approx([0, 0, 1])
    # The nearer half to the gearbox keeps round holes.
    assert [m.name for m in mounts if m.slotted] == ["front-left", "front-right"]
