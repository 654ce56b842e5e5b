"""Bodies as upright solids, a convex outline in plan drawn from one height to another; how far walls are from them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from baywright.bay.envelope import SAME, Array, Walls
from baywright.piece.solid import Block, Body, Round
from baywright.shape.pose import Pose

# A body that stands askew is cut into layers at most this high, mm, each as wide as its widest plan: it errs on the
# safe side by what the body leans within a layer.
_LAYER = 5.0
# Corners of a box by their sides of its three axes, and its edges by the corners they join.
_SIGNS = np.array([[2 * (i >> k & 1) - 1 for k in range(3)] for i in range(8)], dtype=float)
_BOX_EDGES = [(i, i | bit) for i in range(8) for bit in (1, 2, 4) if not i & bit]


@dataclass(frozen=True, eq=False)
class Solids:
    """Upright convex solids, n of them.

    Attributes:
        outline: (n, k, 2) mm, counter-clockwise corners in plan; a short outline repeats its last corner.
        round: (n,) mm: radius by which the outline is grown (a standing cylinder is one corner and its radius).
        low: (n,) mm.
        high: (n,) mm.
        names: n marks of the pieces they come from.
    """

    outline: Array
    round: Array
    low: Array
    high: Array
    names: tuple[str, ...]

    def up_to(self, height: float) -> "Solids":
        """Return the solids with all that they sweep on a straight way up to `height` mm."""
        return Solids(self.outline, self.round, self.low, np.maximum(self.high, height), self.names)


@dataclass(frozen=True, eq=False)
class Distances:
    """How far each of n solids is from each of m walls; negative: how far to shift the solid out of the wall.

    Attributes:
        nominal: (n, m) mm as measured.
        worst: (n, m) mm with the wall's slack against it.
        toward: (n, m, 3) unit vectors from solid to wall (out through the wall where they overlap).
        at: (n, m, 3) mm: the point on the wall.
        across: (n, m) mm in plan alone, as measured.
        cut: (n, m) whether the wall's line cuts the solid's plan, at whatever height.
    """

    nominal: Array
    worst: Array
    toward: Array
    at: Array
    across: Array
    cut: NDArray[np.bool_]

    def sideways(self, walls: Walls) -> "Distances":
        """Return the distances in plan alone, as they count for solids that go up or down past the walls."""
        across = self.across
        out = np.concatenate([np.broadcast_to(walls.out, (*across.shape, 2)), np.zeros((*across.shape, 1))], axis=2)
        toward = np.where((across > SAME)[..., None], self.toward, out)
        return replace(self, nominal=across, worst=across - walls.slack, toward=toward)


def solids(bodies: Sequence[tuple[str, Body]], pose: Pose, levels: Array) -> Solids:
    """Return bodies (mark, body in the box's frame) as solids in the vehicle's frame.

    Upright, yawed and quarter-turned blocks and upright cylinders are exact; lying cylinders count as their enclosing
    block; bodies that stand askew are cut at `levels` mm and into thin layers, on the safe side.
    """
    blocks = [(mark, body) for mark, body in bodies if isinstance(body, Block)]
    rounds = [(mark, body) for mark, body in bodies if isinstance(body, Round)]
    low, high = (_rows([getattr(b, name) for _, b in blocks]) for name in ("low", "high"))
    start = pose(_rows([b.start for _, b in rounds]))
    axis = pose.direction(_rows([b.axis for _, b in rounds]))
    length, radius = np.array([b.length for _, b in rounds]), np.array([b.diameter / 2 for _, b in rounds])
    stands = np.hypot(axis[:, 0], axis[:, 1]) * length <= SAME
    standing = [mark for (mark, _), up in zip(rounds, stands, strict=True) if up]
    lying = [mark for (mark, _), up in zip(rounds, stands, strict=True) if not up]
    # Every other body as a centre, three axes (columns) and three half lengths.
    marks = [mark for mark, _ in blocks] + lying
    u = axis[~stands]
    across = np.column_stack([-u[:, 1], u[:, 0], np.zeros(len(u))]) / np.hypot(u[:, 0], u[:, 1])[:, None]
    axes = np.concatenate([np.tile(pose.turn, (len(blocks), 1, 1)), np.stack([u, across, np.cross(u, across)], axis=2)])
    far = length[~stands] / 2
    centre = np.concatenate([pose((low + high) / 2), start[~stands] + u * far[:, None]])
    half = np.concatenate([(high - low) / 2, np.column_stack([far, radius[~stands], radius[~stands]])])
    reach = np.einsum("nk,nk->n", np.abs(axes[:, 2]), half)
    up = np.abs(axes[:, 2]).argmax(axis=1)
    upright = np.abs(axes[np.arange(len(axes)), 2, up]) > 1 - 1e-12
    rows, flat = np.nonzero(upright)[0], np.stack([(up + 1) % 3, (up + 2) % 3], axis=1)[upright]
    first, second = (axes[rows, :2, flat[:, i]] * half[rows, flat[:, i]][:, None] for i in (0, 1))
    left = first[:, 0] * second[:, 1] < first[:, 1] * second[:, 0]
    second = np.where(left[:, None], -second, second)
    middle = centre[rows, :2]
    rectangles = np.stack([middle + i * first + k * second for i, k in ((-1, -1), (1, -1), (1, 1), (-1, 1))], axis=1)
    layers = [
        (mark, *layer)
        for mark, c, a, h in ((marks[i], centre[i], axes[i], half[i]) for i in np.nonzero(~upright)[0])
        for layer in _layers(c + (_SIGNS * h) @ a.T, levels)
    ]
    most = max([4, *(len(hull) for _, hull, _, _ in layers)])
    pegs = np.repeat(start[stands, None, :2], most, axis=1)
    ends = np.stack([start[stands, 2], (start + axis * length[:, None])[stands, 2]])
    return Solids(
        outline=np.concatenate(
            [
                np.concatenate([rectangles, np.repeat(rectangles[:, -1:], most - 4, axis=1)], axis=1),
                pegs,
                *(
                    np.concatenate([hull, np.repeat(hull[-1:], most - len(hull), axis=0)])[None]
                    for _, hull, _, _ in layers
                ),
            ]
        ),
        round=np.concatenate([np.zeros(len(rows)), radius[stands], np.zeros(len(layers))]),
        low=np.concatenate([(centre[:, 2] - reach)[upright], ends.min(axis=0), [z for _, _, z, _ in layers]]),
        high=np.concatenate([(centre[:, 2] + reach)[upright], ends.max(axis=0), [z for _, _, _, z in layers]]),
        names=(*(marks[i] for i in rows), *standing, *(mark for mark, _, _, _ in layers)),
    )


def _rows(vectors: Sequence[Array]) -> Array:
    return np.array(vectors, dtype=float).reshape(-1, 3)


def distances(solid: Solids, walls: Walls, around: bool = False) -> Distances:
    """Return how far every one of n solids is from every one of m walls.

    Both are upright, so the distance is the root of the squares of the distance in plan and the gap in height: exact.

    Args:
        solid: the solids.
        walls: the walls.
        around: whether the walls enclose a thing with free space all round, over and under it, not a bay.
    """
    plan, vector, place = _in_plan(solid, walls)
    plan = plan - solid.round[:, None]
    depth = _depth(solid, walls)
    cut = depth > SAME
    over = walls.low[None] - solid.high[:, None]
    under = solid.low[:, None] - walls.high[None]
    if not around:  # a wall that goes on below the solid cannot be left downward, nor one above it upward
        over = np.where((over < 0) & (walls.low[None] <= solid.low[:, None] + SAME), -np.inf, over)
        under = np.where((under < 0) & (walls.high[None] >= solid.high[:, None] - SAME), -np.inf, under)
    upward = over >= under
    rise = np.where(upward, over, under)
    rise_slack = np.where(upward, walls.low_slack[None], walls.high_slack[None])
    slack = walls.slack[None]
    # Signed gaps: negative is how far the one reaches into the other.
    across = np.where(cut, -depth, np.maximum(plan, 0.0))
    nominal, worst = _gap(across, rise), _gap(across - slack, rise - rise_slack)
    flat = vector * (np.maximum(across, 0.0) / np.maximum(plan + solid.round[:, None], 1e-300))[..., None]
    toward = np.concatenate([flat, (np.maximum(rise, 0.0) * np.where(upward, 1.0, -1.0))[..., None]], axis=2)
    # Touching, or into each other: the shorter way out.
    lift = np.zeros_like(toward)
    lift[..., 2] = np.where(upward, 1.0, -1.0)
    sideways = np.zeros_like(toward)
    sideways[..., :2] = walls.out[None]
    toward = np.where((nominal > SAME)[..., None], toward, np.where((across >= rise)[..., None], sideways, lift))
    toward /= np.maximum(np.linalg.norm(toward, axis=2, keepdims=True), 1e-300)
    shared = (np.maximum(walls.low[None], solid.low[:, None]) + np.minimum(walls.high[None], solid.high[:, None])) / 2
    height = np.where(rise > 0, np.where(upward, walls.low[None], walls.high[None]), shared)
    return Distances(nominal, worst, toward, np.concatenate([place, height[..., None]], axis=2), across, cut)


def _gap(across: Array, rise: Array) -> Array:
    """Return the distance of two upright things from their signed gaps in plan and height; below 0 they overlap."""
    out: Array = np.where(
        np.maximum(across, rise) > 0, np.hypot(np.maximum(across, 0.0), np.maximum(rise, 0.0)), np.maximum(across, rise)
    )
    return out


def _in_plan(solid: Solids, walls: Walls) -> tuple[Array, Array, Array]:
    """Return (n, m) mm from the solids' outlines to the walls' lines, the way (n, m, 2), and the place on the wall.

    Two straight-sided shapes that do not cross are nearest at a corner of one of them.
    """
    n, k, _ = solid.outline.shape
    m = len(walls.low)
    corner = solid.outline.reshape(-1, 2)
    side = (np.roll(solid.outline, -1, axis=1) - solid.outline).reshape(-1, 2)
    place = _nearest(corner, walls.ends[:, 0], walls.ends[:, 1] - walls.ends[:, 0]).reshape(n, k, m, 2)
    ways = [place - solid.outline[:, :, None]]
    places = [place]
    for end in (walls.ends[:, 0], walls.ends[:, 1]):
        foot = _nearest(end, corner, side).reshape(m, n, k, 2).transpose(1, 2, 0, 3)
        ways.append(end[None, None] - foot)
        places.append(np.broadcast_to(end[None, None], foot.shape))
    way, where = np.concatenate(ways, axis=1), np.concatenate(places, axis=1)
    length = np.hypot(way[..., 0], way[..., 1])
    best = length.argmin(axis=1)[:, None]
    return (
        np.take_along_axis(length, best, axis=1)[:, 0],
        np.take_along_axis(way, best[..., None], axis=1)[:, 0],
        np.take_along_axis(where, best[..., None], axis=1)[:, 0],
    )


def _nearest(points: Array, start: Array, step: Array) -> Array:
    """Return the nearest places (p, s, 2) to points (p, 2) on segments (s, 2)."""
    relative = points[:, None] - start[None]
    square = np.maximum((step**2).sum(axis=1), 1e-300)
    t = np.clip((relative * step[None]).sum(axis=2) / square, 0.0, 1.0)
    out: Array = start[None] + t[..., None] * step[None]
    return out


def _depth(solid: Solids, walls: Walls) -> Array:
    """Return (n, m) mm: how far each solid's plan reaches through each wall, measured along the wall's normal.

    Only the part of the plan that lies beside the wall's own length counts; 0 where the wall does not cut the plan.
    """
    corner = solid.outline[:, None]  # (n, 1, k, 2)
    a = walls.ends[None, :, 0]  # (1, m, 2)
    d = walls.ends[None, :, 1] - a
    length = np.maximum(np.hypot(d[..., 0], d[..., 1]), 1e-300)
    u = d / length[..., None]
    relative = corner - a[:, :, None]
    s = (relative * u[:, :, None]).sum(axis=3)  # (n, m, k) along the wall
    t = (relative * walls.out[None, :, None]).sum(axis=3)  # beyond it
    r = solid.round[:, None]
    s0, s1 = s, np.roll(s, -1, axis=2)
    t0, t1 = t, np.roll(t, -1, axis=2)
    # The plan clipped to the strip 0 < s < length: every side clipped, its ends' greatest t. The strip's own edges add
    # no corner that the sides do not pass. A hair within, so that a plan that only touches the strip is not in it.
    ds = s1 - s0
    with np.errstate(divide="ignore", invalid="ignore"):
        first, last = (SAME - s0) / ds, (length[..., None] - SAME - s0) / ds
    flat = np.abs(ds) <= 1e-12
    inside = (s0 >= SAME) & (s0 <= length[..., None] - SAME)
    low = np.where(flat, np.where(inside, 0.0, 1.0), np.clip(np.minimum(first, last), 0.0, 1.0))
    high = np.where(flat, np.where(inside, 1.0, 0.0), np.clip(np.maximum(first, last), 0.0, 1.0))
    held = (high - low) * np.hypot(ds, t1 - t0) > SAME
    at_low, at_high = t0 + (t1 - t0) * low, t0 + (t1 - t0) * high
    top = np.where(held, np.maximum(at_low, at_high), -np.inf).max(axis=2)
    bottom = np.where(held, np.minimum(at_low, at_high), np.inf).min(axis=2)
    discs = r[:, 0] > 0
    if discs.any():
        c_s, c_t, radius = s[discs, :, 0], t[discs, :, 0], r[discs]
        beside = np.maximum(np.maximum(-c_s, c_s - length), 0.0)
        half = np.sqrt(np.maximum(radius**2 - beside**2, 0.0))
        top[discs] = np.where(beside < radius, c_t + half, -np.inf)
        bottom[discs] = np.where(beside < radius, c_t - half, np.inf)
    cuts = (top > SAME) & (bottom < -SAME)
    return np.where(cuts, top, 0.0)


def _layers(corners: Array, levels: Array) -> list[tuple[Array, float, float]]:
    """Return an askew box as upright layers: (outline, low, high)."""
    low, high = float(corners[:, 2].min()), float(corners[:, 2].max())
    count = max(int(np.ceil((high - low) / _LAYER)), 1)
    cuts = np.unique(np.concatenate([np.linspace(low, high, count + 1), levels[(levels > low) & (levels < high)]]))
    p, q = (corners[[e[i] for e in _BOX_EDGES]] for i in (0, 1))
    found = []
    for z0, z1 in pairwise(cuts.tolist()):
        points = [corners[(corners[:, 2] >= z0 - SAME) & (corners[:, 2] <= z1 + SAME), :2]]
        for z in (z0, z1):
            crosses = (p[:, 2] - z) * (q[:, 2] - z) < 0
            t = (z - p[crosses, 2]) / (q[crosses, 2] - p[crosses, 2])
            points.append(p[crosses, :2] + t[:, None] * (q[crosses, :2] - p[crosses, :2]))
        found.append((_hull(np.concatenate(points)), float(z0), float(z1)))
    return found


def _hull(points: Array) -> Array:
    """Return the convex hull (k, 2) counter-clockwise of a few points (monotone chain)."""
    ordered = sorted({(round(x, 9), round(y, 9)) for x, y in points.tolist()})
    if len(ordered) < 3:
        return np.array(ordered)

    def chain(walk: list[tuple[float, float]]) -> list[tuple[float, float]]:
        out: list[tuple[float, float]] = []
        for p in walk:
            while (
                len(out) > 1
                and (out[-1][0] - out[-2][0]) * (p[1] - out[-2][1]) - (out[-1][1] - out[-2][1]) * (p[0] - out[-2][0])
                <= 1e-9
            ):
                out.pop()
            out.append(p)
        return out[:-1]

    return np.array(chain(ordered) + chain(ordered[::-1]))
