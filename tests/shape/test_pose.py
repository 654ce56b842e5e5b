"""Poses against scipy's rotations."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from baywright.shape.pose import Pose, cross, pose, shifted, turned

NUMBERS = st.floats(-1000, 1000)
POINTS = st.tuples(NUMBERS, NUMBERS, NUMBERS)
AXES = st.sampled_from("xyz")
ANGLES = st.one_of(st.floats(-720, 720), st.integers(-8, 8).map(lambda n: 90.0 * n))
SHIFT_TOLERANCE = 1e-8


@st.composite
def poses(draw):
    """Return a pose turned any way, and scipy's rotation of the same angles."""
    angles = [draw(st.floats(-180, 180)) for _ in range(3)]
    turn = Rotation.from_euler("xyz", angles, degrees=True)
    return Pose(turn.as_matrix(), np.array(draw(POINTS)))


@given(AXES, ANGLES, POINTS, POINTS)
def test_turned(axis, angle, origin, point):
    there = turned(axis, angle, origin)
    wanted = Rotation.from_euler(axis, angle, degrees=True)
    assert there.turn == pytest.approx(wanted.as_matrix(), abs=1e-12)
    assert there(point) == pytest.approx(wanted.apply(point) + origin, abs=SHIFT_TOLERANCE)
    assert there.direction(point) == pytest.approx(wanted.apply(point), abs=SHIFT_TOLERANCE)


@given(AXES, st.integers(-40, 40))
def test_quarter_turns_are_exact(axis, quarters):
    matrix = turned(axis, 90.0 * quarters).turn
    assert set(np.abs(matrix).ravel()) <= {0.0, 1.0}
    assert np.linalg.det(matrix) == 1.0


@given(poses(), poses(), POINTS)
def test_after_applies_the_other_first(one, two, point):
    assert one.after(two)(point) == pytest.approx(one(two(point)), abs=SHIFT_TOLERANCE)
    both = Rotation.from_matrix(one.turn) * Rotation.from_matrix(two.turn)
    assert one.after(two).turn == pytest.approx(both.as_matrix(), abs=1e-12)


@given(poses(), POINTS)
def test_inverse_undoes(there, point):
    assert there.inverse()(there(point)) == pytest.approx(point, abs=SHIFT_TOLERANCE)
    assert there(there.inverse()(point)) == pytest.approx(point, abs=SHIFT_TOLERANCE)


@given(poses(), st.lists(POINTS, min_size=1, max_size=5))
def test_many_points_at_once_are_each_point_by_itself(there, points):
    assert there(points) == pytest.approx(np.array([there(p) for p in points]))
    assert there.direction(points) == pytest.approx(np.array([there.direction(p) for p in points]))
    assert there(points).shape == (len(points), 3)


@given(POINTS, POINTS)
def test_shifted(shift, point):
    assert shifted(*shift)(point) == pytest.approx(np.add(shift, point))
    assert shifted(*shift).direction(point) == pytest.approx(point)


@given(poses(), POINTS)
def test_pose_from_two_axes(there, origin):
    x, y, z = there.turn.T
    made = pose(x, y, origin)
    assert made.turn == pytest.approx(there.turn, abs=1e-9)
    assert made((0, 0, 0)) == pytest.approx(origin)
    assert made((0, 0, 1)) == pytest.approx(z + origin)  # right-handed: the third axis follows from the two
    assert np.linalg.det(made.turn) == pytest.approx(1)


@given(POINTS, POINTS)
def test_cross_product(a, b):
    assert cross(a, b) == pytest.approx(np.cross(a, b), abs=1e-6)


@pytest.mark.parametrize(
    ("x_axis", "y_axis"),
    [((1, 0, 0), (1, 0, 0)), ((2, 0, 0), (0, 1, 0)), ((1, 0, 0), (0, 0.5, 0)), ((1, 0, 0), (0.6, 0.8, 0))],
)
def test_axes_that_are_not_square_and_of_unit_length_are_refused(x_axis, y_axis):
    with pytest.raises(ValueError, match="of unit length and square to each other"):
        pose(x_axis, y_axis, (0, 0, 0))


def test_no_shift_unless_it_is_asked():
    assert shifted()((1, 2, 3)).tolist() == [1, 2, 3]
    assert shifted(x=5)((1, 2, 3)).tolist() == [6, 2, 3]
    assert turned("z", 90)((1, 2, 3)).tolist() == [-2, 1, 3]
