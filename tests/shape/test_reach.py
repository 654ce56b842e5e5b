"""Distances to loops and inside or outside, against shapely and the winding number."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.shape.loop import circle, contains, mapped, moved, polygon, rectangle, reversed_loop, slot
from baywright.shape.pose import turned
from baywright.shape.reach import distance_to, inside, room_inside

LOOPS = [
    circle(3, 4, 50),
    slot(0, 0, 20, 90, 33),
    rectangle(-40, -30, 50, 60, 12),
    rectangle(-40, -30, 50, 60),
    np.array([[0, 0, 2.0], [30, 10, -0.3], [20, 60, 0.5]]),
    moved(rectangle(-10, -30, 20, 60, 9), 5, 6, 71),
]


@given(st.sampled_from(range(len(LOOPS))), st.integers(0, 10_000))
@settings(max_examples=30, deadline=None)
def test_against_shapely(which: int, seed: int) -> None:
    loop = LOOPS[which]
    points = np.random.default_rng(seed).uniform(-110, 110, (60, 2))
    fine = shapely.Polygon(polygon(loop, 1e-5))
    exact = np.array([fine.exterior.distance(shapely.Point(*p)) for p in points])
    assert distance_to(loop, points) == pytest.approx(exact, abs=1e-4)
    far = exact > 1e-3
    assert inside(loop, points)[far].tolist() == [fine.contains(shapely.Point(*p)) for p in points[far]]
    assert (room_inside(loop, points) > 0).tolist() == inside(loop, points).tolist()
    assert inside(loop, points).tolist() == [contains(loop, float(x), float(y)) for x, y in points]


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6), x=st.floats(-50, 450), y=st.floats(-50, 350))
def test_distance_to_a_plates_edge_agrees_with_a_polygon_library(make_plate, seed, x, y) -> None:
    loop = make_plate(seed).outline
    ring = shapely.LinearRing(polygon(loop, 1e-4))
    assert distance_to(loop, np.array([[x, y]]))[0] == pytest.approx(ring.distance(shapely.Point(x, y)), abs=2e-4)


@pytest.mark.parametrize("turn", [0.0, 30.0, 90.0, 180.0, 217.0])
def test_points_on_a_chord_are_inside(turn: float) -> None:
    """A circle's two half-circle edges share a chord through its middle: nothing on it may fall between them."""
    loop = moved(circle(0, 0, 100), 0, 0, turn)
    a = np.radians(turn)
    along = np.array([[r * np.cos(a), r * np.sin(a)] for r in (-49, -20, 0, 20, 49)])
    assert inside(loop, along).all()
    assert not inside(loop, along * 1.1)[[0, 4]].any()


@pytest.mark.parametrize("quarter", range(4))
def test_points_on_the_chord_between_an_arc_and_a_corner_are_inside(quarter: int) -> None:
    loop = np.array([[0.0, -5, 1], [0, 5, 0], [-10, 0, 0]])
    turn = turned("z", 90 * quarter).turn[:2, :2]
    points = np.array([[0.0, y] for y in (-4.5, -1, 0, 3)]) @ turn.T
    there = mapped(loop, turn)
    for one in (there, reversed_loop(there)):
        assert inside(one, points).all()
        assert all(contains(one, x, y) for x, y in points.tolist())
    beyond = np.array([[0.0, -5.5], [0, 6], [5.1, 0], [-10.1, 0]]) @ turn.T
    assert not inside(there, beyond).any()
