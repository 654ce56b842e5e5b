"""The space of a bay: upright prisms that touch or overlap, keep-outs, the opening above, each with its tape's slack.

Vehicle frame: X rearward from the front axle's centre, Y to the right, Z up from the ground; mm.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

# Two measured corners closer than this are the same corner, mm: far below any tape, far above float noise.
SAME = 1e-6
# How far beside an edge the two sides are looked at, mm. Slits narrower than twice this do not exist in a car.
_BESIDE = 1e-4


@dataclass(frozen=True, eq=False, kw_only=True)
class Upright:
    """A prism that stands upright: a space of the bay, or a thing that must stay free.

    Attributes:
        name: what the shop calls it.
        outline: corners (n, 2) mm in plan, counter-clockwise, not closed.
        low: underside, mm above ground.
        high: top, mm above ground.
        slack: (n,) mm: how far each side (corner i to corner i + 1) may lie from where it was measured.
        low_slack: the same for the underside, mm.
        high_slack: the same for the top, mm.
        sides: name of the measurement behind each side, n of them.
        low_side: name of the measurement behind the underside.
        high_side: name of the measurement behind the top.
        clearance: what this thing asks around it, mm; None for the bay's own.
    """

    name: str
    outline: Array
    low: float
    high: float
    slack: Array
    low_slack: float = 0.0
    high_slack: float = 0.0
    sides: tuple[str, ...] = ()
    low_side: str = ""
    high_side: str = ""
    clearance: float | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Opening:
    """The hole through which a box goes down into the bay.

    Attributes:
        outline: corners (n, 2) mm in plan, counter-clockwise.
        height: mm above ground.
        slack: (n,) mm for each side.
        sides: name of the measurement behind each side.
    """

    outline: Array
    height: float
    slack: Array
    sides: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Walls:
    """Upright walls of the free space: m rectangles, each a line in plan drawn from `low` to `high`.

    Attributes:
        ends: (m, 2, 2) mm: both ends of the line in plan.
        out: (m, 2): unit normal that points out of the free space.
        low: (m,) mm above ground.
        high: (m,) mm above ground.
        slack: (m,) mm.
        low_slack: (m,) mm, of `low`.
        high_slack: (m,) mm, of `high`.
        names: m names of measurements.
    """

    ends: Array
    out: Array
    low: Array
    high: Array
    slack: Array
    low_slack: Array
    high_slack: Array
    names: tuple[str, ...]


@dataclass(frozen=True, eq=False, kw_only=True)
class Bay:
    """A bay of the car.

    Attributes:
        name: what the shop calls it.
        spaces: upright prisms whose union is the space.
        keep_outs: upright prisms that must stay free: a steering column, a brake pipe, a driveshaft at full bump.
        opening: the way in from above; None if it was not measured.
        clearance: least distance to everything, mm.
        source: whose clearance it is.
    """

    name: str
    spaces: tuple[Upright, ...]
    keep_outs: tuple[Upright, ...] = ()
    opening: Opening | None = None
    clearance: float = 10.0
    source: str = "common practice, no source: a finger's width"

    @cached_property
    def levels(self) -> Array:
        """Heights (s + 1,) mm at which the plan of the space may change."""
        every = sorted({z for space in self.spaces for z in (space.low, space.high)})
        kept = [z for i, z in enumerate(every) if i == 0 or z - every[i - 1] > SAME]
        return np.array(kept)

    @cached_property
    def walls(self) -> Walls:
        """The upright walls of the union of all spaces, inner seams left out."""
        parts = [self._walls_between(low, high) for low, high in pairwise(self.levels.tolist())]
        return joined(parts)

    def free(self, points: ArrayLike) -> NDArray[np.bool_]:
        """Tell for points (n, 2) mm, slab by slab between the levels, whether the plan holds them: (n, slabs).

        A point within float noise of a side may count either way.
        """
        xy = np.asarray(points, dtype=float).reshape(-1, 2)
        middle = (self.levels[:-1] + self.levels[1:]) / 2
        out = np.zeros((len(xy), len(middle)), dtype=bool)
        for space in self.spaces:
            slabs = (space.low < middle) & (middle < space.high)
            out |= within(xy, space.outline)[:, None] & slabs[None, :]
        return out

    def face(self, level: float, top: bool) -> tuple[float, str]:
        """Return the slack (mm) and the name of the measurement behind a level: a ceiling (`top`) or a floor.

        To a box outside the bay the underside of a space may stand in for a ceiling, and a top for a floor.
        """
        found = [
            (is_top == top, slack, name)
            for space in self.spaces
            for is_top, z, slack, name in (
                (True, space.high, space.high_slack, space.high_side),
                (False, space.low, space.low_slack, space.low_side),
            )
            if abs(z - level) <= 2 * SAME
        ]
        _, slack, name = max(found)
        return slack, name

    def _level_slack(self, level: float) -> float:
        return max(
            slack
            for space in self.spaces
            for z, slack in ((space.low, space.low_slack), (space.high, space.high_slack))
            if abs(z - level) <= 2 * SAME
        )

    def _walls_between(self, low: float, high: float) -> Walls:
        """Return the walls of one slab: the sides' pieces that have free space on one side only."""
        spaces = [s for s in self.spaces if s.low < (low + high) / 2 < s.high]
        if not spaces:
            return joined([])
        a = np.concatenate([s.outline for s in spaces])
        b = np.concatenate([np.roll(s.outline, -1, axis=0) for s in spaces])
        slack = np.concatenate([s.slack for s in spaces])
        names = [name for s in spaces for name in s.sides]
        start, end, source = _pieces(a, b)
        along = end - start
        length = np.hypot(along[:, 0], along[:, 1])
        right = np.column_stack([along[:, 1], -along[:, 0]]) / length[:, None]
        middle = (start + end) / 2
        outside, inside = (_in_any(middle + side * right * _BESIDE, spaces) for side in (1, -1))
        wall = outside != inside
        out = np.where(outside[:, None], -right, right)
        return Walls(
            ends=np.stack([start, end], axis=1)[wall],
            out=out[wall],
            low=np.full(wall.sum(), low),
            high=np.full(wall.sum(), high),
            slack=slack[source[wall]],
            low_slack=np.full(wall.sum(), self._level_slack(low)),
            high_slack=np.full(wall.sum(), self._level_slack(high)),
            names=tuple(names[i] for i in source[wall]),
        )


def upright(
    name: str,
    outline: ArrayLike,
    low: float,
    high: float,
    *,
    slack: float | Sequence[float] = 0.0,
    low_slack: float = 0.0,
    high_slack: float = 0.0,
    sides: Sequence[str] = (),
    clearance: float | None = None,
) -> Upright:
    """Return an upright prism from its corners in plan, walked either way.

    Args:
        name: what the shop calls it.
        outline: corners (n, 2) mm.
        low: underside, mm above ground.
        high: top, mm above ground.
        slack: of each side (corner i to corner i + 1), or of all, mm.
        low_slack: of the underside, mm.
        high_slack: of the top, mm.
        sides: names of the sides; "`name`, corners 1 to 2" and so on if left out.
        clearance: what it asks around it, mm.

    Raises:
        ValueError: if it has fewer than three corners, no area, sides that cross, or no height.
    """
    corners, loose, names = _outline(name, outline, slack, sides)
    if not high > low:
        raise ValueError(f"{name}: the top ({high:g} mm) must be above the underside ({low:g} mm)")
    return Upright(
        name=name,
        outline=corners,
        low=low,
        high=high,
        slack=loose,
        low_slack=low_slack,
        high_slack=high_slack,
        sides=names,
        low_side=f"{name}, underside",
        high_side=f"{name}, top",
        clearance=clearance,
    )


def cuboid(
    name: str,
    low: Sequence[float],
    high: Sequence[float],
    *,
    low_slack: Sequence[float] = (0.0, 0.0, 0.0),
    high_slack: Sequence[float] = (0.0, 0.0, 0.0),
    clearance: float | None = None,
) -> Upright:
    """Return the block between two opposite corners (x, y, z) mm, with the slack of each of their coordinates.

    Raises:
        ValueError: if `high` is not beyond `low` in all three.
    """
    if not all(b > a for a, b in zip(low, high, strict=True)):
        raise ValueError(f"{name}: each coordinate of the high corner must be above that of the low one")
    return upright(
        name,
        [(low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1])],
        low[2],
        high[2],
        slack=(low_slack[1], high_slack[0], high_slack[1], low_slack[0]),
        low_slack=low_slack[2],
        high_slack=high_slack[2],
        sides=[f"{name}, {side}" for side in ("left side", "rear end", "right side", "front end")],
        clearance=clearance,
    )


def opening(
    outline: ArrayLike, height: float, *, slack: float | Sequence[float] = 0.0, sides: Sequence[str] = ()
) -> Opening:
    """Return the hole above a bay from its corners (n, 2) mm in plan, walked either way, and its height above ground.

    Raises:
        ValueError: if it has fewer than three corners, no area, or sides that cross.
    """
    corners, loose, names = _outline("opening", outline, slack, sides)
    return Opening(outline=corners, height=height, slack=loose, sides=names)


def _outline(
    name: str, outline: ArrayLike, slack: float | Sequence[float], sides: Sequence[str]
) -> tuple[Array, Array, tuple[str, ...]]:
    """Return corners counter-clockwise with the slack and name of each side still on the side they were given for."""
    corners = np.asarray(outline, dtype=float).reshape(-1, 2)
    n = len(corners)
    if n < 3:
        raise ValueError(f"{name}: an outline needs at least three corners")
    loose = np.broadcast_to(np.asarray(slack, dtype=float), (n,)).copy()
    names = tuple(sides) or tuple(f"{name}, corners {i + 1} to {(i + 1) % n + 1}" for i in range(n))
    x, y = (corners - corners.mean(axis=0)).T
    area = float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
    if abs(area) < 1.0:
        raise ValueError(f"{name}: the outline encloses no area")
    starts, _, _ = _pieces(corners, np.roll(corners, -1, axis=0))
    if len(starts) != n:
        raise ValueError(f"{name}: the outline touches or crosses itself; give its corners in order, once round")
    if area < 0:  # side i ran from corner i to i + 1; walked the other way it starts at its other end
        corners, loose = corners[::-1].copy(), np.roll(loose[::-1], -1)
        names = tuple(np.roll(np.array(names, dtype=object)[::-1], -1))
    return corners, loose, names


def joined(parts: Sequence[Walls]) -> Walls:
    """Return several sets of walls as one."""
    none = np.zeros(0)
    parts = [Walls(np.zeros((0, 2, 2)), np.zeros((0, 2)), none, none, none, none, none, ()), *parts]
    return Walls(
        np.concatenate([p.ends for p in parts]),
        np.concatenate([p.out for p in parts]),
        np.concatenate([p.low for p in parts]),
        np.concatenate([p.high for p in parts]),
        np.concatenate([p.slack for p in parts]),
        np.concatenate([p.low_slack for p in parts]),
        np.concatenate([p.high_slack for p in parts]),
        tuple(name for p in parts for name in p.names),
    )


def walls_of(thing: Upright) -> Walls:
    """Return the sides of a thing that must stay free, as walls whose free side is outside it."""
    n = np.ones(len(thing.outline))
    ends, right = _ring(thing.outline)
    heights = (thing.low * n, thing.high * n, thing.slack, thing.low_slack * n, thing.high_slack * n)
    return Walls(ends, -right, *heights, thing.sides)


def rim_of(opening: Opening) -> Walls:
    """Return the rim of an opening as walls, their free side within.

    Everything below the opening has to come through it, so its walls reach all the way down.
    """
    n = np.ones(len(opening.outline))
    ends, right = _ring(opening.outline)
    return Walls(ends, right, -1e9 * n, opening.height * n, opening.slack, 0 * n, 0 * n, opening.sides)


def _ring(outline: Array) -> tuple[Array, Array]:
    """Return the sides (n, 2, 2) of a counter-clockwise outline and their normals (n, 2), outward."""
    ends = np.stack([outline, np.roll(outline, -1, axis=0)], axis=1)
    along = ends[:, 1] - ends[:, 0]
    return ends, np.column_stack([along[:, 1], -along[:, 0]]) / np.hypot(along[:, 0], along[:, 1])[:, None]


def within(points: Array, outline: Array) -> NDArray[np.bool_]:
    """Tell for each point (n, 2) whether the outline (m, 2) holds it (crossings counted, half-open)."""
    x, y = points[:, :1], points[:, 1:]
    x0, y0 = outline.T
    x1, y1 = np.roll(outline, -1, axis=0).T
    spans = (y0[None] > y) != (y1[None] > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        crossing = x0 + (y - y0) / (y1 - y0) * (x1 - x0)
    odd: NDArray[np.bool_] = (spans & (x < crossing)).sum(axis=1) % 2 == 1
    return odd


def _in_any(points: Array, spaces: Sequence[Upright]) -> NDArray[np.bool_]:
    out = np.zeros(len(points), dtype=bool)
    for space in spaces:
        out |= within(points, space.outline)
    return out


def _pieces(a: Array, b: Array) -> tuple[Array, Array, NDArray[np.int64]]:
    """Return every side a→b cut where another meets it: starts, ends (k, 2), and the side each came from (k,)."""
    along = b - a
    length = np.hypot(along[:, 0], along[:, 1])
    starts, ends, source = [], [], []
    corners = np.concatenate([a, b])
    for i, (p, d, reach) in enumerate(zip(a, along, length, strict=True)):
        if reach <= SAME:
            continue
        unit = d / reach
        # Corners that lie on this side, so that sides on one line are cut alike.
        relative = corners - p
        t = relative @ unit
        beside = np.abs(relative @ (-unit[1], unit[0]))
        cuts = [t[beside <= SAME]]
        # Crossings with the other sides.
        cross = unit[0] * along[:, 1] - unit[1] * along[:, 0]
        slanted = np.abs(cross) > 1e-12 * np.maximum(length, 1.0)
        q = a[slanted] - p
        here = (q[:, 0] * along[slanted, 1] - q[:, 1] * along[slanted, 0]) / cross[slanted]
        there = (q[:, 0] * unit[1] - q[:, 1] * unit[0]) / cross[slanted]
        cuts.append(here[(there >= -1e-12) & (there <= 1 + 1e-12)])
        stops = np.sort(np.clip(np.concatenate([*cuts, [0.0, reach]]), 0.0, reach))
        stops = stops[np.concatenate([[True], np.diff(stops) > SAME])]
        stops[-1] = reach
        starts.append(p + stops[:-1, None] * unit)
        ends.append(p + stops[1:, None] * unit)
        source.append(np.full(len(stops) - 1, i))
    return np.concatenate(starts), np.concatenate(ends), np.concatenate(source)
