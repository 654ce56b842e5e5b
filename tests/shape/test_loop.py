"""Loops against the closed forms of circles and segments, and against finely drawn polygons."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from baywright.shape.loop import (
    arcs,
    area,
    as_circle,
    bounds,
    circle,
    contains,
    counter_clockwise,
    edge_samples,
    lie,
    loop_of,
    mapped,
    moments,
    moved,
    perimeter,
    polygon,
    rectangle,
    reversed_loop,
    slot,
)

ANGLES = st.floats(-360, 360)
SHIFTS = st.floats(-500, 500)


def arc_points(p, q, bulge, count):
    """Return points along an arc from p towards q: through its two ends and its crown, by the circumcentre."""
    p, q = np.asarray(p), np.asarray(q)
    along = q - p
    crown = (p + q) / 2 + bulge / 2 * np.array([along[1], -along[0]])  # a positive bulge lies right of the chord
    a, b = crown - p, q - p
    cross = 2 * (a[0] * b[1] - a[1] * b[0])
    centre = p + np.array([b[1] * (a @ a) - a[1] * (b @ b), a[0] * (b @ b) - b[0] * (a @ a)]) / cross
    turn = 4 * math.atan(bulge)
    spoke = p - centre
    angle = turn * np.arange(count) / count
    c, s = np.cos(angle), np.sin(angle)
    return centre + np.column_stack([spoke[0] * c - spoke[1] * s, spoke[0] * s + spoke[1] * c])


def drawn(loop, count=4000):
    """Return the corners (m, 2) of a fine polygon of the loop: its arcs in `count` chords each."""
    points = []
    for (x0, y0, bulge), (x1, y1, _) in zip(loop, np.roll(loop, -1, axis=0), strict=True):
        points.append(arc_points((x0, y0), (x1, y1), bulge, count) if abs(bulge) > 1e-9 else np.array([[x0, y0]]))
    return np.concatenate(points)


def polygon_moments(points):
    """Return area, ∫x, ∫y, ∫x², ∫y², ∫xy of a polygon by its corners' cross products (the surveyor's formula)."""
    x, y = points.T
    u, v = np.roll(x, -1), np.roll(y, -1)
    k = x * v - u * y
    return np.array(
        [
            k.sum() / 2,
            (k * (x + u)).sum() / 6,
            (k * (y + v)).sum() / 6,
            (k * (x * x + x * u + u * u)).sum() / 12,
            (k * (y * y + y * v + v * v)).sum() / 12,
            (k * (x * v + 2 * x * y + 2 * u * v + u * y)).sum() / 24,
        ]
    )


@st.composite
def loops(draw, bent=True):
    """Return a simple loop round some point: 3 to 9 corners at growing angles, edges bent in or out."""
    count = draw(st.integers(3, 9))
    share = np.array(draw(st.lists(st.floats(0.4, 1.0), min_size=count, max_size=count)))
    angle = 2 * np.pi * np.cumsum(share) / share.sum()
    radius = np.array(draw(st.lists(st.floats(20, 200), min_size=count, max_size=count)))
    bulge = draw(st.lists(st.floats(-0.5, 0.8), min_size=count, max_size=count)) if bent else [0.0] * count
    at = draw(SHIFTS), draw(SHIFTS)
    loop = np.column_stack([at[0] + radius * np.cos(angle), at[1] + radius * np.sin(angle), np.round(bulge, 3)])
    assume(shapely.Polygon(drawn(loop, 200)).is_valid)
    return loop


# --- bulges and the worked rounded rectangle ------------------------------------------------------------------------


@pytest.mark.parametrize(("degrees", "bulge"), [(90, 0.414213562), (180, 1.0), (270, 2.414213562)])
def test_bulge_is_the_tangent_of_a_quarter_of_the_turn(degrees, bulge):
    assert math.tan(math.radians(degrees) / 4) == pytest.approx(bulge, abs=5e-10)
    ((_, _, radius, _, turn),) = arcs(loop_of([(0, 0, math.tan(math.radians(degrees) / 4)), (10, 0, 0), (5, 30, 0)]))
    assert math.degrees(turn) == pytest.approx(degrees)
    assert radius == pytest.approx(10 / 2 / math.sin(math.radians(degrees) / 2))  # chord = 2 r sin(turn / 2)


def test_rounded_rectangle_of_100_by_60_and_radius_10():
    # 100 x 60 less four corners of (4 - pi) r² / 4 each, and 2 x (80 + 40) + 2 pi r round it.
    loop = rectangle(0, 0, 100, 60, 10)
    assert area(loop) == pytest.approx(5914.159265, abs=5e-7)
    assert perimeter(loop) == pytest.approx(302.831853, abs=5e-7)
    assert len(loop) == 8
    assert np.count_nonzero(loop[:, 2]) == 4
    assert loop[loop[:, 2] != 0, 2] == pytest.approx(0.414213562, abs=5e-10)


def test_rectangle_takes_its_corners_in_any_order():
    for corners in ((0, 0, 40, 30), (40, 30, 0, 0), (40, 0, 0, 30)):
        loop = rectangle(*corners)
        assert area(loop) == pytest.approx(1200)
        assert bounds(loop) == (0, 0, 40, 30)


def test_fully_rounded_rectangle_is_a_slot_and_a_square_a_circle():
    assert len(rectangle(0, 0, 100, 40, 20)) == 6  # each round end in two quarters, no edge of no length
    assert area(rectangle(0, 0, 100, 40, 20)) == pytest.approx(area(slot(50, 20, 40, 100)))
    assert len(rectangle(0, 0, 40, 40, 20)) == 4
    assert area(rectangle(0, 0, 40, 40, 20)) == pytest.approx(math.pi * 400)


def test_corner_radius_larger_than_half_the_side_is_refused():
    with pytest.raises(ValueError, match=r"corner radius 31 mm is too large for 100 x 60 mm"):
        rectangle(0, 0, 100, 60, 31)


@pytest.mark.parametrize(
    "points",
    [[], [(0, 0)], [(0, 0), (1, 1)], [(0, 0), (1, math.nan), (2, 2)], [(0, 0), (1, 0), (1, math.inf)]],
)
def test_what_is_no_loop_is_refused(points):
    with pytest.raises(ValueError, match="loop needs"):
        loop_of(points)


# --- closed forms ---------------------------------------------------------------------------------------------------


@given(x=SHIFTS, y=SHIFTS, diameter=st.floats(0.5, 800))
def test_circle(x, y, diameter):
    loop, r = circle(x, y, diameter), diameter / 2
    a = math.pi * r * r
    centred = np.array([a, a * x, a * y, a * x * x + a * r * r / 4, a * y * y + a * r * r / 4, a * x * y])
    assert moments([loop]) == pytest.approx(centred, rel=1e-9, abs=1e-9 * a * (1 + r + abs(x) + abs(y)) ** 2)
    assert area(loop) == pytest.approx(a, rel=1e-12)
    assert perimeter(loop) == pytest.approx(math.pi * diameter, rel=1e-12)
    assert bounds(loop) == pytest.approx((x - r, y - r, x + r, y + r))
    assert as_circle(loop) == pytest.approx((x, y, diameter))
    assert contains(loop, x, y)


@given(turn=st.floats(5, 355), radius=st.floats(1, 300))
def test_circular_segment(turn, radius):
    # The segment between a chord and its arc is the sector less the triangle to the centre (over a half turn: plus).
    # About the circle's centre, u along the axis of symmetry and v across it.
    t, r = math.radians(turn), radius
    h, c = r * math.cos(t / 2), 2 * r * math.sin(t / 2)
    a = r * r * (t - math.sin(t)) / 2
    first = 2 * r**3 * math.sin(t / 2) / 3 - c * h * h / 3
    uu = r**4 * (t + math.sin(t)) / 8 - c * h**3 / 4
    vv = r**4 * (t - math.sin(t)) / 8 - h * c**3 / 48
    # Chord upward at x = h: from (h, -c/2) along the arc to (h, c/2), then straight down again.
    loop = loop_of([(h, -c / 2, math.tan(t / 4)), (h, c / 2, 0)])
    assert moments([loop]) == pytest.approx([a, first, 0, uu, vv, 0], rel=1e-9, abs=1e-9 * r**4)
    assert area(loop) == pytest.approx(a, rel=1e-9, abs=1e-12 * r * r)
    assert perimeter(loop) == pytest.approx(r * t + c)
    assert bounds(loop)[2] == pytest.approx(r)


@given(
    width=st.floats(2, 50),
    extra=st.floats(0.1, 200),
    angle=ANGLES,
    x=SHIFTS,
    y=SHIFTS,
)
def test_slot(width, extra, angle, x, y):
    loop, r = slot(x, y, width, width + extra, angle), width / 2
    assert area(loop) == pytest.approx(math.pi * r * r + width * extra)
    assert perimeter(loop) == pytest.approx(math.pi * width + 2 * extra)
    a, sx, sy, *_ = moments([loop])
    assert (sx / a, sy / a) == pytest.approx((x, y), abs=1e-6)
    ux, uy = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    near_end, beyond = (width + extra) / 2 - 1e-3, (width + extra) / 2 + 1e-3
    for sign in (-1, 1):
        assert contains(loop, x + sign * near_end * ux, y + sign * near_end * uy)
        assert not contains(loop, x + sign * beyond * ux, y + sign * beyond * uy)
    low_x, low_y, high_x, high_y = bounds(loop)
    assert high_x - low_x == pytest.approx(extra * abs(ux) + width)
    assert high_y - low_y == pytest.approx(extra * abs(uy) + width)


def test_slot_no_longer_than_wide_is_a_round_hole():
    assert as_circle(slot(3, 4, 9, 9)) == pytest.approx((3, 4, 9))


def test_only_a_true_circle_is_taken_for_one():
    assert as_circle(reversed_loop(circle(1, 2, 3))) == pytest.approx((1, 2, 3))
    assert as_circle(loop_of([(0, 0, 1), (10, 0, 0.9)])) is None
    assert as_circle(loop_of([(0, 0, 1), (10, 0, -1)])) is None  # out and back along one half circle
    assert as_circle(rectangle(0, 0, 10, 10, 5)) is None


# --- random loops against fine polygons -----------------------------------------------------------------------------


@given(loops())
def test_area_moments_perimeter_and_bounds_agree_with_a_fine_polygon(loop):
    points = drawn(loop)
    shape = shapely.Polygon(points)
    a, reach = shape.area, 1 + np.abs(points).max()
    assert abs(area(loop)) == pytest.approx(a, rel=3e-6)
    assert area(loop) > 0  # the corners go round counter-clockwise
    assert perimeter(loop) == pytest.approx(shape.length, rel=1e-6)
    assert bounds(loop) == pytest.approx(shape.bounds, abs=1e-4)
    scale = a * np.array([1, reach, reach, reach**2, reach**2, reach**2])
    assert moments([loop]) / scale == pytest.approx(polygon_moments(points) / scale, abs=3e-6)
    assert moments([loop])[0] == pytest.approx(area(loop), rel=1e-9)
    assert moments([loop])[1:3] / area(loop) == pytest.approx([shape.centroid.x, shape.centroid.y], abs=1e-3)


@given(loops(bent=False))
def test_moments_of_straight_loops_are_exact(loop):
    reach = np.abs(loop).max()
    scale = area(loop) * np.array([1, reach, reach, reach**2, reach**2, reach**2])
    assert moments([loop]) / scale == pytest.approx(polygon_moments(loop[:, :2]) / scale, abs=1e-9)


@given(loops(), st.floats(0.005, 2))
def test_polygon_keeps_within_its_sagitta(loop, sagitta):
    corners = polygon(loop, sagitta)
    true = shapely.LinearRing(drawn(loop))
    assert shapely.hausdorff_distance(true, shapely.LinearRing(corners)) <= sagitta + 1e-3
    for x, y in corners:
        assert true.distance(shapely.Point(x, y)) < 1e-3  # every corner on the loop itself
    for x, y, _ in loop:
        assert np.hypot(*(corners - (x, y)).T).min() == 0  # and the loop's own corners kept


@given(loops(), st.data())
def test_contains_agrees_with_a_fine_polygon(loop, data):
    shape = shapely.Polygon(drawn(loop))
    x0, y0, x1, y1 = shape.bounds
    for _ in range(8):
        x, y = data.draw(st.floats(x0 - 10, x1 + 10)), data.draw(st.floats(y0 - 10, y1 + 10))
        point = shapely.Point(x, y)
        if shape.exterior.distance(point) > 1e-3:
            assert contains(loop, x, y) == shape.contains(point)


@given(loops(), st.data())
def test_contains_is_sharp_close_to_every_edge(loop, data):
    # A hundredth of a millimetre either side of an arc must be told apart, however large the arc.
    row = data.draw(st.integers(0, len(loop) - 1))
    share = data.draw(st.floats(0.02, 0.98))
    x, y, dx, dy = edge_at(loop, row, share)
    length = math.hypot(dx, dy)
    shape = shapely.Polygon(drawn(loop))
    for side in (-0.01, 0.01):  # left of the edge is inside
        u, v = x - dy / length * side, y + dx / length * side
        point = shapely.Point(u, v)
        assume(shape.exterior.distance(point) > 0.005)
        assert contains(loop, u, v) == shape.contains(point)


def edge_at(loop, row, share):
    """Return the point and the direction at a share of an edge."""
    p, q, bulge = loop[row, :2], np.roll(loop, -1, axis=0)[row, :2], loop[row, 2]
    if abs(bulge) < 1e-9:
        return *(p + share * (q - p)), *(q - p)
    points = arc_points(p, q, bulge, 10000)
    i = int(share * 10000)
    return *points[i], *(points[i + 1] - points[i - 1])


def test_contains_on_the_chord_of_an_arc():
    # The middle of a circle lies on both its chords: no place for a tie.
    for turn in range(0, 360, 15):
        ring = moved(circle(0, 0, 100), 20, -30, turn)
        for loop in (ring, reversed_loop(ring)):
            assert contains(loop, 20, -30)
            for angle in np.radians(np.arange(0, 360, 7.5)):
                assert contains(loop, 20 + 49.99 * math.cos(angle), -30 + 49.99 * math.sin(angle))
                assert not contains(loop, 20 + 50.01 * math.cos(angle), -30 + 50.01 * math.sin(angle))
    keyhole = loop_of([(-5, 0, 0), (-5, -40, 0), (5, -40, 0), (5, 0, math.tan(math.radians(300) / 4))])
    assert contains(keyhole, 0, 0)
    assert contains(keyhole, 0, -20)
    assert not contains(keyhole, 8, -20)


@given(loops())
def test_reversed_loop_is_the_same_shape_walked_backwards(loop):
    back = reversed_loop(loop)
    assert moments([back]) == pytest.approx(-moments([loop]), rel=1e-9, abs=1e-6)
    assert perimeter(back) == pytest.approx(perimeter(loop))
    assert bounds(back) == pytest.approx(bounds(loop))
    assert np.array_equal(reversed_loop(back), loop)
    assert area(counter_clockwise(back)) == pytest.approx(area(loop))
    assert counter_clockwise(loop) is loop
    # An outline and the same loop backwards leave nothing: how a hole is taken out.
    assert moments([loop, back]) == pytest.approx(np.zeros(6), abs=1e-3)


@given(loops(), SHIFTS, SHIFTS, ANGLES)
def test_moved_loop(loop, dx, dy, angle):
    there = moved(loop, dx, dy, angle)
    turn = shapely.affinity.rotate(shapely.Polygon(drawn(loop, 300)), angle, origin=(0, 0))
    wanted = shapely.affinity.translate(turn, dx, dy)
    assert shapely.Polygon(drawn(there, 300)).symmetric_difference(wanted).area < 1e-5 * wanted.area + 1e-3
    assert np.array_equal(there[:, 2], loop[:, 2])
    assert area(there) == pytest.approx(area(loop), rel=1e-9)


@given(loops(), ANGLES, st.booleans(), SHIFTS, SHIFTS)
def test_mapped_loop_and_its_mirror(loop, angle, mirror, dx, dy):
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    matrix = np.array([[c, -s], [s, c]]) @ np.diag([-1.0 if mirror else 1.0, 1.0])
    there = mapped(loop, matrix, (dx, dy))
    # Point by point: arcs drawn first and mapped afterwards must be the mapped loop's own arcs.
    assert drawn(there, 50) == pytest.approx(drawn(loop, 50) @ matrix.T + (dx, dy), abs=1e-6)
    assert area(there) == pytest.approx(-area(loop) if mirror else area(loop), rel=1e-9)
    if not mirror:
        assert there == pytest.approx(moved(loop, dx, dy, angle), abs=1e-9)


def test_a_mirrored_loop_mirrors_its_arcs():
    loop = loop_of([(0, 0, 0.4), (40, 0, 0), (40, 20, -0.3), (0, 20, 0)])
    there = mapped(loop, np.diag([-1.0, 1.0]))
    assert there[:, 2] == pytest.approx(-loop[:, 2])
    x0, y0, x1, y1 = bounds(loop)
    assert bounds(there) == pytest.approx((-x1, y0, -x0, y1))


@given(loops())
def test_edge_samples_lie_on_the_loop(loop):
    x, y, dx, dy = edge_samples([loop])
    assert x.shape == y.shape == dx.shape == dy.shape == (len(loop), x.shape[1])
    ring = shapely.LinearRing(drawn(loop))
    for u, v in zip(x.ravel()[::5], y.ravel()[::5], strict=True):
        assert ring.distance(shapely.Point(u, v)) < 1e-3
    # dx/ds and dy/ds run along the edges: their length at the nodes is the edge's own, even speed.
    speed = np.hypot(dx, dy)
    assert speed == pytest.approx(np.repeat(speed[:, :1], x.shape[1], axis=1), rel=1e-9)
    assert speed[:, 0].sum() == pytest.approx(perimeter(loop))


def test_where_the_middle_of_an_area_lies_and_which_way_it_leans():
    """A sheet of 100 x 50 less its corner of 10 x 10: (5000 * 50 - 100 * 5) / 4900, (5000 * 25 - 100 * 45) / 4900."""
    left = np.array([(0, 0, 0), (100, 0, 0), (100, 50, 0), (10, 50, 0), (10, 40, 0), (0, 40, 0)], dtype=float)
    x, y, leans = lie(left)
    assert (x, y) == pytest.approx((249_500 / 4900, 120_500 / 4900))
    mirrored = mapped(left, np.diag([-1.0, 1.0]), (100.0, 0.0))
    assert lie(mirrored) == pytest.approx((100 - x, y, -leans))
    assert lie(reversed_loop(left)) == pytest.approx((x, y, leans))
    # About the area's own middle the sheet has no product; the missing corner's is its area times its two arms.
    about = -100 * (5 - x) * (45 - y) - 5000 * (50 - x) * (y - 25)
    assert leans == pytest.approx(about / 4900 / 100, rel=1e-9)
    assert lie(circle(3, 4, 5)) == (3, 4, 0)
    assert lie(moved(left, 7, -2)) == pytest.approx((x + 7, y - 2, leans))
