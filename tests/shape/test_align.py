"""Laying points on points: exact on exact data, never by a mirror image unasked."""

import numpy as np
import pytest

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
