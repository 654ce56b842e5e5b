"""The outline round bosses, against shapely's hull of the same discs."""

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from baywright.shape.hull import hull_of_discs
from baywright.shape.loop import arcs, area, as_circle, bounds, perimeter


def test_two_equal_discs_make_a_slot() -> None:
    loop = hull_of_discs(np.array([[0, 0], [100, 0]]), np.array([10, 10]))
    assert area(loop) == pytest.approx(100 * 20 + np.pi * 100)
    assert perimeter(loop) == pytest.approx(200 + 20 * np.pi)
    assert bounds(loop) == pytest.approx((-10, -10, 110, 10))
    assert len(arcs(loop)) == 2


def test_a_disc_inside_another_is_not_seen() -> None:
    assert as_circle(hull_of_discs(np.array([[0, 0], [3, 0]]), np.array([20, 5]))) == pytest.approx((0, 0, 40))


def test_bosses_in_a_row_make_one_straight_edge() -> None:
    row = np.array([[x, 0] for x in (0, 10, 20, 30, 40)], dtype=float)
    loop = hull_of_discs(row, np.full(5, 4.0))
    assert len(loop) == 4
    assert area(loop) == pytest.approx(40 * 8 + np.pi * 16)


def test_a_wide_disc_shows_between_small_ones() -> None:
    loop = hull_of_discs(np.array([[0, 0], [60, 0], [-60, 0]]), np.array([50, 20, 20]))
    assert len(arcs(loop)) == 4


def test_points_make_corners() -> None:
    square = np.array([[0, 0], [10, 0], [10, 10], [0, 10], [5, 5]], dtype=float)
    loop = hull_of_discs(square, np.zeros(5))
    assert len(loop) == 4
    assert area(loop) == pytest.approx(100)


@pytest.mark.parametrize("discs", [np.zeros((0, 2)), np.zeros((1, 2)), np.array([[0, 0], [5, 0], [9, 0.0]])])
def test_nothing_to_enclose_is_refused(discs: np.ndarray) -> None:
    with pytest.raises(ValueError, match=r"outline|corners"):
        hull_of_discs(discs, np.zeros(len(discs)))


place = st.tuples(
    st.floats(-200, 200) | st.sampled_from([-100.0, 0.0, 100.0]),
    st.floats(-200, 200) | st.sampled_from([-100.0, 0.0, 100.0]),
    st.floats(0.5, 60) | st.sampled_from([10.0, 30.0]),
)


@given(st.lists(place, min_size=1, max_size=16))
@example([(0.0, 0.0, 1.0), (0.0, -1e-60, 1.0)])
@example([(0.0, 0.0, 10.0), (3.0, -8.4, 1.0), (100.0, 0.0, 10.0)])
@example([(0.0, 0.0, 30.0), (1e-9, 0.0, 30.0), (100.0, 0.0, 10.0)])
@settings(max_examples=150, deadline=None)
def test_same_area_and_length_as_a_finely_divided_hull(discs: list[tuple[float, float, float]]) -> None:
    table = np.array(discs)
    loop = hull_of_discs(table[:, :2], table[:, 2])
    # 256 chords a quarter: their hull is too small by less than r²·pi·(pi/512)²·2/3 of each arc.
    ref = shapely.union_all([shapely.Point(x, y).buffer(r, quad_segs=256) for x, y, r in discs]).convex_hull
    assert area(loop) == pytest.approx(ref.area, rel=3e-5)
    assert perimeter(loop) == pytest.approx(ref.length, rel=3e-5)
    assert shapely.Polygon(np.asarray(ref.exterior.coords)).bounds == pytest.approx(bounds(loop), abs=1e-3)
