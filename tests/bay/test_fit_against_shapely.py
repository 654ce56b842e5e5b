"""Random bays against an independent answer: shapely's polygon set operations, slab by slab, and single points."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon, box
from shapely.ops import unary_union

from baywright.bay.envelope import Bay, Upright, cuboid, opening, upright
from baywright.bay.fit import check_fit
from baywright.piece.solid import Block
from baywright.shape.pose import Pose, turned

whole = st.integers


@st.composite
def blocks(draw: st.DrawFn) -> Upright:
    # Coordinates on a coarse grid, so that blocks often touch, share faces and corners, or overlap.
    x, y, z = (draw(whole(0, 8)) * 50.0 for _ in range(3))
    wide, deep, tall = (draw(whole(1, 8)) * 50.0 for _ in range(3))
    return cuboid("block", (x, y, z), (x + wide, y + deep, z + tall))


@st.composite
def prisms(draw: st.DrawFn) -> Upright:
    n = draw(whole(3, 7))
    x, y = draw(whole(0, 500)), draw(whole(0, 500))
    radii = [draw(whole(60, 320)) for _ in range(n)]
    outline = [
        (x + r * math.cos(2 * math.pi * i / n), y + r * math.sin(2 * math.pi * i / n)) for i, r in enumerate(radii)
    ]
    low = draw(whole(0, 6)) * 50.0
    return upright("prism", outline, low, low + draw(whole(1, 8)) * 50.0)


@st.composite
def things(draw: st.DrawFn) -> tuple[list[Upright], list[Upright], Block, Pose]:
    spaces = draw(st.lists(st.one_of(blocks(), prisms()), min_size=1, max_size=5))
    keep_outs = draw(st.lists(st.one_of(blocks(), prisms()), max_size=2))
    half = np.array([draw(whole(10, 150)), draw(whole(10, 150)), 0.0])
    body = Block(-half, np.array([half[0], half[1], draw(whole(10, 250))]))
    angle = draw(st.sampled_from([0, 0, 90, 30, -17.5, 135]))
    place = (draw(whole(0, 700)), draw(whole(0, 700)), draw(whole(-20, 500)))
    return spaces, keep_outs, body, turned("z", angle, place)


def plan(space: Upright) -> Polygon:
    return Polygon(space.outline)


def footprint(body: Block, pose: Pose) -> Polygon:
    (x0, y0, z0), (x1, y1, _) = body.low, body.high
    return Polygon(pose(np.array([(x0, y0, z0), (x1, y0, z0), (x1, y1, z0), (x0, y1, z0)]))[:, :2])


def distance_to_outside(spaces: list[Upright], body: Block, pose: Pose) -> tuple[bool, float]:
    """Return whether the body is inside the union, and its least distance to anything outside of it."""
    foot, low = footprint(body, pose), body.low[2] + pose.shift[2]
    high = low + body.high[2] - body.low[2]
    everything = box(-2000, -2000, 3000, 3000)
    levels = [-1e4, *sorted({z for s in spaces for z in (s.low, s.high)}), 1e4]
    inside, least = True, math.inf
    for z0, z1 in pairwise(levels):
        middle = (z0 + z1) / 2
        union = unary_union([plan(s) for s in spaces if s.low < middle < s.high])
        metal = shapely.set_precision(everything.difference(union), 1e-7)
        gap = max(z0 - high, low - z1, 0.0)
        if min(high, z1) - max(low, z0) > 1e-6 and foot.intersection(metal).area > 1e-3:
            inside = False
        least = min(least, math.hypot(foot.distance(metal), gap))
    return inside, least


@settings(max_examples=300, deadline=None)
@given(things())
def test_inside_and_least_distance(case):
    spaces, _, body, pose = case
    inside, least = distance_to_outside(spaces, body, pose)
    result = check_fit("box", [("case", body)], pose, Bay(name="bay", spaces=tuple(spaces)))
    assert result.inside == inside
    if inside:
        found = min(c.nominal for c in result.sides)
        # A box that stands on its floor is asked nothing of what lies beside that floor, deeper down.
        if not any(c.side == "below" and c.nominal <= 1 for c in result.sides):
            assert found == pytest.approx(least, abs=1e-5)
        else:
            assert found == pytest.approx(least, abs=1.0 + 1e-5)
    elif result.sides:
        assert min((c.nominal for c in result.sides), default=-1) < 0 or result.findings[0].value is None


@settings(max_examples=200, deadline=None)
@given(things())
def test_keep_outs(case):
    _, keep_outs, body, pose = case
    room = cuboid("room", (-3000, -3000, -3000), (4000, 4000, 4000))
    bay = Bay(name="bay", spaces=(room,), keep_outs=tuple(keep_outs))
    foot, low = footprint(body, pose), body.low[2] + pose.shift[2]
    high = low + body.high[2] - body.low[2]
    for thing, (_, c) in zip(keep_outs, check_fit("box", [("case", body)], pose, bay).keep_outs, strict=True):
        rise = max(thing.low - high, low - thing.high)
        apart = foot.distance(plan(thing))
        meets = rise < -1e-6 and foot.intersection(plan(thing)).area > 1e-3
        assert (c.nominal < -1e-6) == meets
        if not meets:
            assert c.nominal == pytest.approx(math.hypot(apart, max(rise, 0)), abs=1e-6)


@settings(max_examples=200, deadline=None)
@given(things())
def test_the_reported_shift_clears_a_single_block(case):
    """In a plain block, shifting by what the findings say brings the box in exactly, where there is room for it."""
    _, _, body, pose = case
    room = cuboid("room", (0, 0, 0), (700, 700, 500))
    bay = Bay(name="bay", spaces=(room,))

    def told(pose: Pose) -> tuple[np.ndarray, int]:
        """Return the shift that the findings say, and how many sides they say it for."""
        sides = check_fit("box", [("case", body)], pose, bay).sides
        shift = np.zeros(3)
        for c in sides:
            axis = {"front": 0, "rear": 0, "left": 1, "right": 1, "above": 2, "below": 2}[c.side]
            sign = 1 if c.side in ("front", "left", "below") else -1
            shift[axis] += sign * max(-c.nominal, 0)
        return shift, sum(c.nominal < 0 for c in sides)

    xy = pose(
        np.array(
            [
                (x, y, z)
                for x in (body.low[0], body.high[0])
                for y in (body.low[1], body.high[1])
                for z in (body.low[2], body.high[2])
            ]
        )
    )
    partly = (xy.max(axis=0) > 1).all() and (xy.min(axis=0) < [699, 699, 499]).all()
    if partly and (np.ptp(xy, axis=0) < [700, 700, 500]).all():
        shift, several = told(pose)
        there = Pose(pose.turn, pose.shift + shift)
        # A corner that lies beyond two walls at once is told for one of them: the other shows once that is cleared.
        again, _ = told(there)
        after = check_fit("box", [("case", body)], Pose(pose.turn, there.shift + again), bay)
        assert after.inside or several > 1


@settings(max_examples=150, deadline=None)
@given(things(), whole(0, 10_000))
def test_points_tried_one_by_one(case, seed):
    """Points of a box that is said to be inside all lie in some space."""
    spaces, _, body, pose = case
    points = pose(np.random.default_rng(seed).uniform(body.low, body.high, (60, 3)))
    held = [
        any(s.low - 1e-9 <= z <= s.high + 1e-9 and plan(s).buffer(1e-6).contains(Point(x, y)) for s in spaces)
        for x, y, z in points.tolist()
    ]
    result = check_fit("box", [("case", body)], pose, Bay(name="bay", spaces=tuple(spaces)))
    if result.inside:
        assert all(held)


@settings(max_examples=150, deadline=None)
@given(things(), whole(0, 400), whole(0, 400), whole(100, 700), whole(100, 700))
def test_the_way_in_sweeps_every_height(case, x, y, wide, deep):
    """Going straight in is being inside at every height up to the opening, and inside the opening's rim."""
    spaces, keep_outs, body, pose = case
    top = max(s.high for s in spaces)
    rim = [(x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep)]
    bay = Bay(name="bay", spaces=tuple(spaces), keep_outs=tuple(keep_outs), opening=opening(rim, top))
    result = check_fit("box", [("case", body)], pose, bay)
    if pose.shift[2] >= top:
        return
    tall = Block(body.low, np.array([*body.high[:2], max(body.high[2], top - pose.shift[2])]))
    swept_in, _ = distance_to_outside([*spaces, cuboid("sky", (-2000, -2000, top), (3000, 3000, 5000))], tall, pose)
    foot = footprint(body, pose)
    clear = all(
        foot.intersection(plan(k)).area < 1e-3
        or k.high <= pose.shift[2] + 1e-6
        or k.low >= max(top, tall.high[2] + pose.shift[2]) - 1e-6
        for k in keep_outs
    )
    through = foot.difference(Polygon(rim)).area < 1e-3
    assert result.drops_in == (swept_in and clear and through)


@settings(max_examples=100, deadline=None)
@given(things(), st.lists(blocks(), max_size=2))
def test_more_room_never_breaks_a_fit(case, more):
    spaces, _, body, pose = case
    small = check_fit("box", [("case", body)], pose, Bay(name="bay", spaces=tuple(spaces)))
    large = check_fit("box", [("case", body)], pose, Bay(name="bay", spaces=(*spaces, *more)))
    assert large.inside or not small.inside
    if small.inside:
        least = [min(c.nominal for c in r.sides) for r in (small, large)]
        # Standing on a floor that is gone may uncover a wall beside it, deeper down.
        stands = any(c.side == "below" and c.nominal <= 1 for c in small.sides)
        assert stands or least[1] >= least[0] - 1e-6
