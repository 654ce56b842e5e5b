"""Exact clearance of bodies to a skin, against trying every pair of a body and a triangle."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.bay.convex import hulls, nearest, shapes
from baywright.bay.gaps import least_distance, least_gaps, strikes
from baywright.bay.skin import Skin, joined, of_points
from baywright.bay.strike import depth
from baywright.bay.travel import travels
from baywright.piece.solid import Block, Round
from baywright.shape.pose import Pose, shifted, turned


def soup(rng: np.random.Generator, count: int, spread: float = 400.0) -> Skin:
    """Return triangles of all sizes in no order, some large, some mere points."""
    middle = rng.uniform(-spread, spread, (count, 1, 3))
    corner = middle + rng.normal(0, 1, (count, 3, 3)) * rng.choice([0.0, 3.0, 20.0, 150.0], (count, 1, 1))
    return Skin(corner.reshape(-1, 3), np.arange(3 * count).reshape(-1, 3))


def some_bodies(rng: np.random.Generator) -> list[tuple[str, Block | Round]]:
    found: list[tuple[str, Block | Round]] = []
    for i in range(6):
        at, size = rng.uniform(-120, 120, 3), rng.uniform(4, 90, 3)
        found.append((f"block {i % 4}", Block(at, at + size)))
        axis = np.eye(3)[i % 3]
        found.append((f"round {i}", Round(rng.uniform(-120, 120, 3), axis, size[0], size[1])))
    return found


def every_pair(bodies, pose, skin):
    """Return the distance (bodies, triangles) of every pair."""
    solid, n, m = shapes([b for _, b in bodies], pose), len(bodies), len(skin)
    i, j = (w.ravel() for w in np.meshgrid(np.arange(n), np.arange(m), indexing="ij"))
    return nearest(solid, i, hulls(skin.vertices[skin.faces]), j)[0].reshape(n, m)


@settings(max_examples=25)
@given(st.integers(0, 10_000))
def test_least_and_each_piece_as_every_pair_says(seed):
    rng = np.random.default_rng(seed)
    skin, bodies = soup(rng, 250), some_bodies(rng)
    pose = Pose(
        turned("z", rng.uniform(0, 360)).after(turned("y", rng.uniform(-40, 40))).turn, rng.uniform(-150, 150, 3)
    )
    truth = every_pair(bodies, pose, skin)
    found = least_gaps(bodies, pose, skin, reach=300, close=300)
    assert least_distance(bodies, pose, skin, 300) == pytest.approx(min(truth.min(), 300), abs=1e-4)
    assert found.struck == int((truth == 0).sum()) or truth.min() < 1e-4
    marks = [m for m, _ in bodies]
    by_piece = {m: min(truth[i].min() for i in range(len(bodies)) if marks[i] == m) for m in marks}
    for gap in found.pieces:
        assert max(gap.distance, 0.0) == pytest.approx(by_piece[gap.mark], abs=1e-4)
    assert {g.mark for g in found.pieces} == {m for m, d in by_piece.items() if d <= 300}
    hit = strikes([b for _, b in bodies], pose, skin)
    clear_cut = np.abs(truth.min(axis=1) - 1e-4) > 1e-4
    assert (hit == (truth.min(axis=1) <= 0))[clear_cut].all()


def wall(x: float, wide: float = 400.0) -> Skin:
    corner = np.array([[x, -wide, -wide], [x, wide, -wide], [x, wide, wide], [x, -wide, wide]])
    return Skin(corner, np.array([[0, 1, 2], [0, 2, 3]]))


def test_depth_is_the_shortest_way_out():
    half = np.array([50.0, 40, 30])
    assert depth(wall(42).vertices[[0, 1, 2, 0, 2, 3]], half).max() == pytest.approx(8)
    spike = np.array([[[0.0, 0, 25], [5, 0, 300], [-5, 0, 300]]])
    assert depth(spike.reshape(-1, 3), half)[0] == pytest.approx(5)
    far = np.array([[[60.0, 0, 0], [80, 0, 0], [60, 10, 0]]])
    assert depth(far.reshape(-1, 3), half)[0] == 0


def test_a_wall_in_the_box_is_told_with_its_depth():
    box = [("case", Block(np.array([-50.0, -40, -30]), np.array([50.0, 40, 30])))]
    found = least_gaps(box, shifted(), wall(42))
    assert found.struck == 2
    assert found.least is not None
    assert found.least.distance == pytest.approx(-8)


@settings(max_examples=25)
@given(st.integers(0, 10_000))
def test_after_the_way_told_it_meets_and_not_before(seed):
    rng = np.random.default_rng(seed)
    skin, bodies = soup(rng, 150, 300.0), some_bodies(rng)[:4]
    pose = Pose(turned("z", rng.choice([0.0, 90.0, 33.0])).turn, rng.uniform(-50, 50, 3))
    truth = every_pair(bodies, pose, skin)
    free = Skin(skin.vertices, skin.faces[(truth > 0).all(axis=0)])  # what is met already is no way
    ways = {t.side: t for t in travels(bodies, pose, free, 250)}
    directions = {"front": (-1, 0, 0), "right": (0, 1, 0), "above": (0, 0, 1)}
    for side, way in directions.items():
        long = ways[side].way if side in ways else 250.0
        for share in (0.3, 0.7, 0.98):
            shift = np.array(way) * long * share
            assert every_pair(bodies, Pose(pose.turn, pose.shift + shift), free).min() > 0
        if side in ways:
            there = Pose(pose.turn, pose.shift + np.array(way) * (long + 2e-3))
            assert every_pair(bodies, there, free).min() < 5e-3


def test_the_floor_beside_a_foot_does_not_stop_a_shift():
    floor = Skin(
        np.array([[-500.0, -500, 0], [500, -500, 0], [500, 500, 0], [-500, 500, 0]]), np.array([[0, 1, 2], [0, 2, 3]])
    )
    box = [("case", Block(np.array([-50.0, -40, 0]), np.array([50.0, 40, 30])))]
    ways = {t.side: t.way for t in travels(box, shifted(0, 0, 5), joined([floor, wall(170)]))}
    assert ways == {"rear": pytest.approx(120, abs=2e-3), "below": pytest.approx(5, abs=2e-3)}


def test_points_are_a_skin():
    box = [("case", Block(np.zeros(3), np.full(3, 10.0)))]
    cloud = of_points(np.array([[5.0, 5, 22], [500, 0, 0]]), trust=2.0)
    found = least_gaps(box, shifted(), cloud)
    assert found.least is not None
    assert found.least.distance == pytest.approx(12, abs=1e-4)
    assert found.worst == pytest.approx(10, abs=1e-4)
    assert found.least.on_skin == pytest.approx((5, 5, 22), abs=1e-4)


def test_nothing_near_is_said_as_such():
    box = [("case", Block(np.zeros(3), np.full(3, 10.0)))]
    found = least_gaps(box, shifted(), of_points(np.array([[5000.0, 0, 0]])))
    assert found.least is None
    assert found.pieces == ()
    assert travels(box, shifted(), of_points(np.array([[5000.0, 0, 0]]))) == ()
