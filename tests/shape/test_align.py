"""Laying points on points: exact on exact data, never by a mirror image unasked."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from baywright.shape.align import rigid_fit


def test_a_turned_and_shifted_set_comes_back_exactly() -> None:
    rng = np.random.default_rng(0)
    points = rng.normal(size=(7, 2)) * 100
    c, s = np.cos(1.1), np.sin(1.1)
    turn, shift = rigid_fit(points, points @ np.array([[c, -s], [s, c]]).T + (5, -3))
    assert turn == pytest.approx(np.array([[c, -s], [s, c]]))
    assert shift == pytest.approx((5, -3))


def test_a_mirror_image_leaves_residuals_unless_it_is_asked_for() -> None:
    rng = np.random.default_rng(1)
    points = rng.normal(size=(7, 2)) * 100
    over = points * (-1, 1)
    turn, shift = rigid_fit(points, over)
    assert np.linalg.det(turn) == pytest.approx(1)
    assert np.linalg.norm(points @ turn.T + shift - over, axis=1).max() > 1
    turn, shift = rigid_fit(points, over, mirror=True)
    assert np.linalg.det(turn) == pytest.approx(-1)
    assert points @ turn.T + shift == pytest.approx(over)


@pytest.mark.parametrize("shapes", [((3, 2), (4, 2)), ((0, 2), (0, 2)), ((3,), (3,))])
def test_sets_that_do_not_belong_together_are_refused(shapes: tuple) -> None:
    with pytest.raises(ValueError, match="same shape"):
        rigid_fit(np.zeros(shapes[0]), np.zeros(shapes[1]))


@pytest.mark.parametrize("flat", [False, True], ids=["in space", "all in one plane"])
def test_in_space_the_fit_is_scipys(flat: bool) -> None:
    rng = np.random.default_rng(2)
    points = rng.normal(size=(9, 3)) * (100, 60, 0 if flat else 20)
    onto = Rotation.from_euler("xyz", [20, -130, 75], degrees=True).apply(points)
    onto += np.array([5, -3, 40]) + rng.normal(size=onto.shape)
    turn, shift = rigid_fit(points, onto)
    wanted, _ = Rotation.align_vectors(onto - onto.mean(axis=0), points - points.mean(axis=0))
    assert turn == pytest.approx(wanted.as_matrix())
    assert points.mean(axis=0) @ turn.T + shift == pytest.approx(onto.mean(axis=0))
    # The best turn of a mirror image is scipy's too.
    turn, _ = rigid_fit(points, onto * (1, 1, -1))
    wanted, _ = Rotation.align_vectors((onto - onto.mean(axis=0)) * (1, 1, -1), points - points.mean(axis=0))
    assert turn == pytest.approx(wanted.as_matrix())
