"""How long the searches take, beside the plain ways. Ratios are printed, times never judged.

The plain way to a distance is the collision library's tree over the whole scan; to the places of a box, trying every
place of one orientation by a sum over its cells.
"""

import time

import numpy as np
import pytest

from baywright.bay.gaps import least_distance
from baywright.bay.grid import Grid, turned_block, turns
from baywright.bay.skin import Skin
from baywright.piece.solid import Block
from baywright.shape.pose import shifted

LOW, HIGH = np.array([0.0, 0, 0]), np.array([1200.0, 900, 800])
CASE = Block(np.array([-374.0, -145, 0]), np.array([374.0, 145, 415]))
PLACE = shifted(600, 450, 20)


def noisy_bay(count: int) -> Skin:
    """Return a bay's floor and four walls as about `count` noisy triangles."""
    rng = np.random.default_rng(0)
    size = HIGH - LOW
    faces = [(0, 1, 2, 0.0), (0, 2, 1, 0.0), (0, 2, 1, 1.0), (1, 2, 0, 0.0), (1, 2, 0, 1.0)]
    n = int(np.sqrt(count / 2 / len(faces)))
    points, triangles, done = [], [], 0
    i = np.arange((n + 1) ** 2).reshape(n + 1, n + 1)
    a, b, c, d = (w.ravel() for w in (i[:-1, :-1], i[1:, :-1], i[1:, 1:], i[:-1, 1:]))
    for u, v, w, at in faces:
        s, t = np.meshgrid(np.linspace(0, 1, n + 1), np.linspace(0, 1, n + 1), indexing="ij")
        grid = np.zeros((n + 1, n + 1, 3))
        grid[..., u], grid[..., v], grid[..., w] = s * size[u], t * size[v], at * size[w]
        points.append((grid + rng.normal(0, 0.5, grid.shape)).reshape(-1, 3))
        triangles += [np.column_stack([a, b, c]) + done, np.column_stack([a, c, d]) + done]
        done += (n + 1) ** 2
    return Skin(np.concatenate(points), np.concatenate(triangles))


def test_one_distance_in_two_million_triangles(benchmark):
    skin = noisy_bay(2_000_000)
    start = time.perf_counter()
    assert len(skin.cells.start) > 100
    sorting = time.perf_counter() - start
    found = benchmark.pedantic(least_distance, ([("case", CASE)], PLACE, skin), rounds=3)
    assert 12 < found < 20
    ours = benchmark.stats["mean"] if benchmark.stats else float("nan")
    print(f"\n{len(skin):,} triangles: sorted in {sorting:.2f} s, one distance in {ours:.3f} s")


def test_beside_the_collision_library_s_tree(benchmark):
    fcl = pytest.importorskip("fcl")
    skin = noisy_bay(200_000)
    start = time.perf_counter()
    model = fcl.BVHModel()
    model.beginModel(len(skin.vertices), len(skin.faces))
    model.addSubModel(skin.vertices, skin.faces)
    model.endModel()
    theirs_built = time.perf_counter() - start
    middle = (CASE.low + CASE.high) / 2
    box = fcl.CollisionObject(fcl.Box(*(CASE.high - CASE.low)), fcl.Transform(np.eye(3), PLACE(middle)))
    start = time.perf_counter()
    theirs = fcl.distance(box, fcl.CollisionObject(model), fcl.DistanceRequest(), fcl.DistanceResult())
    theirs_asked = time.perf_counter() - start
    start = time.perf_counter()
    assert len(skin.cells.start)
    built = time.perf_counter() - start
    found = benchmark.pedantic(least_distance, ([("case", CASE)], PLACE, skin), rounds=3)
    assert found == pytest.approx(theirs, abs=1e-3)
    asked = benchmark.stats["mean"] if benchmark.stats else float("nan")
    faster = f"built {theirs_built / built:.0f} times, asked {theirs_asked / asked:.1f} times as fast"
    print(f"\n{len(skin):,} triangles: {faster}")


def test_every_place_of_24_turns_on_a_10_mm_grid(benchmark):
    taken = np.random.default_rng(1).random((120, 90, 80)) < 2e-5
    grid = Grid(LOW, 10.0, taken)
    assert grid.sums.shape == (121, 91, 81)

    def all_turns() -> int:
        return sum(len(grid.fits([turned_block(CASE, t)], 10.0)) for t in turns(upright=False))

    count = benchmark.pedantic(all_turns, rounds=3)
    start = time.perf_counter()
    first, last = grid.span(CASE.low - 10, CASE.high + 10, sure=True)
    size = np.array(taken.shape)
    tried = plain = 0
    for i in range(-first[0], size[0] - last[0] + 1, 4):  # one in 64 places of one of the turns
        for j in range(-first[1], size[1] - last[1] + 1, 4):
            for k in range(-first[2], size[2] - last[2] + 1, 4):
                tried += 1
                at = (i, j, k)
                cut = tuple(slice(p + a, p + b) for p, a, b in zip(at, first, last, strict=True))
                plain += not taken[cut].any()
    theirs = (time.perf_counter() - start) * 64 * 24
    ours = benchmark.stats["mean"] if benchmark.stats else float("nan")
    print(f"\n24 turns: {count:,} places in {ours:.3f} s, {theirs / ours:.0f} times as fast as cell by cell")
    assert tried > 0
