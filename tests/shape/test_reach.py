"""Distances to loops and inside or outside, against shapely and the winding number."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.shape.loop import circle, contains, moved, polygon, rectangle, slot
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


@pytest.mark.parametrize("turn", [0.0, 30.0, 90.0, 180.0, 217.0])
def test_points_on_a_chord_are_inside(turn: float) -> None:
    """A circle's two half-circle edges share a chord through its middle: nothing on it may fall between them."""
    loop = moved(circle(0, 0, 100), 0, 0, turn)
    a = np.radians(turn)
    along = np.array([[r * np.cos(a), r * np.sin(a)] for r in (-49, -20, 0, 20, 49)])
    assert inside(loop, along).all()
    assert not inside(loop, along * 1.1)[[0, 4]].any()
