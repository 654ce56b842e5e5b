"""Profiles: an outline and its holes, whichever way they were walked."""

import itertools
import math

import numpy as np
import pytest
import shapely

from baywright.shape.loop import area, circle, loop_of, polygon, rectangle, reversed_loop, slot
from baywright.shape.profile import profile

OUTER = rectangle(-100, -60, 100, 60, 12)
HOLES = (
    circle(-70, 30, 11),
    slot(20, -25, 9, 30, 35),
    rectangle(-30, -10, 0, 25, 4),
    loop_of([(60, 0), (80, 0), (70, 20)]),
)


@pytest.mark.parametrize("flips", list(itertools.product([False, True], repeat=5)))
def test_loops_are_turned_the_right_way_round(flips):
    given = [reversed_loop(loop) if flip else loop for loop, flip in zip((OUTER, *HOLES), flips, strict=True)]
    found = profile(given[0], given[1:])
    assert area(found.outer) > 0
    assert all(area(hole) < 0 for hole in found.holes)
    assert found.area() == pytest.approx(profile(OUTER, HOLES).area())


def test_area_is_the_outline_less_the_holes():
    corners = 12 * 12 * (4 - math.pi)
    holes = math.pi * 11**2 / 4 + (math.pi * 9**2 / 4 + 9 * 21) + (30 * 35 - 4 * 4 * (4 - math.pi)) + 20 * 20 / 2
    assert profile(OUTER, HOLES).area() == pytest.approx(200 * 120 - corners - holes)


def test_area_and_centroid_agree_with_a_polygon_with_holes():
    found = profile(OUTER, HOLES)
    drawn = shapely.Polygon(polygon(OUTER, 1e-5), [polygon(hole, 1e-5) for hole in HOLES])
    a, sx, sy, *_ = found.moments()
    assert a == pytest.approx(drawn.area, rel=1e-6)
    assert (sx / a, sy / a) == pytest.approx((drawn.centroid.x, drawn.centroid.y), abs=1e-4)
    assert found.cut_length() == pytest.approx(drawn.length, rel=1e-6)


def test_second_moments_of_a_ring():
    # pi (D⁴ - d⁴) / 64 about either axis through the centre, and the parallel-axis term.
    a, sx, sy, sxx, syy, sxy = profile(circle(10, -4, 50), [circle(10, -4, 30)]).moments()
    own = math.pi * (50**4 - 30**4) / 64
    assert a == pytest.approx(math.pi * (50**2 - 30**2) / 4)
    assert [sx / a, sy / a] == pytest.approx([10, -4])
    assert [sxx - 100 * a, syy - 16 * a] == pytest.approx([own, own])
    assert sxy == pytest.approx(-40 * a)


def test_bounds_are_the_outline_alone():
    assert profile(OUTER, HOLES).bounds() == (-100, -60, 100, 60)


def test_a_hole_as_large_as_the_outline_leaves_nothing():
    assert profile(OUTER, [OUTER]).moments() == pytest.approx(np.zeros(6), abs=1e-6)
