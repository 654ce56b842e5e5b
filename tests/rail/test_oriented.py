import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright.piece.solid import Block, Round
from baywright.rail.oriented import Box, box_of, distance, share
from baywright.shape.pose import Pose, shifted, turned


@st.composite
def boxes(draw):
    size = np.array([draw(st.floats(5, 80)) for _ in range(3)])
    stands = turned("x", draw(st.floats(0, 360))).after(turned("y", draw(st.floats(0, 360))))
    at = np.array([draw(st.floats(-120, 120)) for _ in range(3)])
    return box_of(Block(-size / 2, size / 2), Pose(stands.turn, at))


def nearest_by_projection(a: Box, b: Box) -> float:
    """Alternating projections onto two convex sets: shares no formula with the code."""
    p = b.centre
    for _ in range(3000):
        q = a.centre + a.axes @ np.clip((p - a.centre) @ a.axes, -a.half, a.half)
        p = b.centre + b.axes @ np.clip((q - b.centre) @ b.axes, -b.half, b.half)
    return float(np.linalg.norm(p - q))


@given(boxes(), boxes())
def test_distance_against_alternating_projections(a, b):
    gap, place = distance(a, b)
    assert gap == pytest.approx(nearest_by_projection(a, b), abs=2e-2)
    assert (gap == 0) == share(a, b) or gap < 1e-9  # those that only touch share nothing
    if gap > 0:
        own = (place - b.centre) @ b.axes
        assert (np.abs(own) <= b.half + 1e-9).all()
        on_a = a.centre + a.axes @ np.clip((place - a.centre) @ a.axes, -a.half, a.half)
        assert np.linalg.norm(on_a - place) == pytest.approx(gap, abs=1e-6)


def test_boxes_that_touch_do_not_share():
    a = box_of(Block(np.zeros(3), np.full(3, 10.0)), shifted())
    b = box_of(Block(np.zeros(3), np.full(3, 10.0)), shifted(10, 0, 0))
    c = box_of(Block(np.zeros(3), np.full(3, 10.0)), shifted(9.99, 0, 0))
    assert not share(a, b)
    assert share(a, c)


@given(st.floats(0, 360), st.floats(60, 200))
def test_a_cylinder_is_never_farther_than_it_is_and_beside_it_exact(angle, off):
    lying = Round(np.array([-100.0, 0, 0]), np.array([1.0, 0, 0]), 200.0, 80.0)
    a = box_of(lying, shifted())
    plate = box_of(Block(np.array([-50.0, -500, 0]), np.array([50.0, 500, 10])), turned("x", angle, (0, 0, 0)))
    away = Pose(plate.axes, np.zeros(3))(np.array([0, 0, off]))
    stands = Box(plate.centre + away, plate.axes, plate.half)
    # A wide plate square to the radius: axis to its near face, less the radius.
    assert distance(a, stands)[0] == pytest.approx(off - 40.0, abs=1e-6)
