"""The plate's outline, the openings in it, and lightening windows between its bolts."""

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from baywright.finding import CannotBuild
from baywright.job.adapters import AdapterAsk, Outline, Pocket
from baywright.shape.hull import hull_of_discs
from baywright.shape.loop import Loop, bounds, circle, loop_of, moved, polygon, rectangle
from baywright.shape.reach import room_inside

# Corners of windows are rounded by this much, mm, so that they start no cracks: common practice, no source.
_CORNER = 8.0
# A window smaller than this across is not worth cutting, mm.
_SMALLEST = 12.0
# The grid on which a window is sought in each gap: directions and radii.
_DIRECTIONS, _RADII = 29, 97


def pocket_loop(pocket: Pocket) -> Loop:
    """Return a pocket's edge, seen from the motor, mm."""
    x, y = pocket.at
    if pocket.diameter is not None:
        return circle(x, y, pocket.diameter)
    assert pocket.size is not None  # the model asks for one of the two
    w, h = pocket.size
    return moved(rectangle(-w / 2, -h / 2, w / 2, h / 2, pocket.corner_radius), x, y, pocket.turn)


def pocket_discs(pocket: Pocket) -> list[tuple[float, float, float]]:
    """Return discs (x, y, radius) that the outline must hold for a pocket to have its wall, mm."""
    if pocket.diameter is not None:
        return [(*pocket.at, pocket.diameter / 2 + pocket.wall)]
    return [(x, y, pocket.wall) for x, y in polygon(pocket_loop(pocket)).tolist()]


def outline(
    ask: AdapterAsk,
    holes: Sequence[tuple[float, float, float]],
    discs: Sequence[tuple[float, float, float]],
    folder: Path,
) -> Loop:
    """Return a plate's outline, seen from the motor, mm.

    Args:
        ask: what was asked.
        holes: (x, y, radius) of bosses: each hole with its edge distance; a round outline is a circle round them.
        discs: (x, y, radius) of what the outline must hold besides: bore, pockets, lugs.
        folder: where a drawing named by the request lies.

    Raises:
        CannotBuild: if the drawing's outline leaves a hole without its edge distance.
        BadInput: if the drawing cannot be used.
    """
    every = np.array([*holes, *discs], dtype=float)
    if isinstance(ask.outline, Outline):
        from baywright.adapter.drawing import outline_of

        loop = outline_of(ask.outline, folder)
        short = every[:, 2] - room_inside(loop, every[:, :2])
        worst = int(np.argmax(short))
        if short[worst] > 1e-6:
            x, y, r = every[worst].tolist()
            raise CannotBuild(
                "outline",
                f"the outline of '{ask.outline.file}' is {short[worst]:.1f} mm too near to what stands at "
                f"({x:.1f}, {y:.1f}): it needs {r:.1f} mm of metal round it",
            )
        return loop
    if ask.outline == "round":
        table = np.array(holes, dtype=float)
        radius = float((np.hypot(table[:, 0], table[:, 1]) + table[:, 2]).max())
        every = np.vstack([[0.0, 0.0, radius], every])
    return hull_of_discs(every[:, :2], every[:, 2])


def windows(
    edge: Loop,
    openings: Sequence[Loop],
    web: float,
    bore: float,
    holes: NDArray[np.float64],
    radii: NDArray[np.float64],
    rims: Sequence[float] = (),
) -> list[Loop]:
    """Return lightening windows: one in each gap between neighbouring bolts, with at least `web` mm of metal round it.

    Each is a part of a ring about the shaft: between two radii, from one bolt's web to the next, its corners rounded.

    Args:
        edge: the plate's outline.
        openings: pockets to stay clear of.
        web: least metal, mm.
        bore: radius of the inner bore, mm.
        holes: (n, 2) mm, every hole of the plate.
        radii: (n,) mm, with their counterbores.
        rims: radii of recesses' edges about the shaft, which windows do not cross, mm.
    """
    if len(holes) < 2:
        return []
    clock = np.sort(np.arctan2(holes[:, 0], holes[:, 1]))
    gap = np.diff(np.append(clock, clock[0] + 2 * math.pi))
    along = np.linspace(0.0, 1.0, _DIRECTIONS)
    angle = clock[:, None] + gap[:, None] * along  # (gaps, directions)
    reach = max(math.hypot(x, y) for x, y in polygon(edge).tolist())
    if bore + web >= reach:
        return []
    ray = np.linspace(bore + web, reach, _RADII)
    flat = np.stack([ray[:, None, None] * np.sin(angle), ray[:, None, None] * np.cos(angle)], axis=-1).reshape(-1, 2)
    free = room_inside(edge, flat) >= web
    free &= (np.linalg.norm(flat[:, None] - holes[None], axis=2) >= radii + web).all(axis=1)
    for other in openings:
        free &= room_inside(other, flat) <= -web
    good = free.reshape(len(ray), len(clock), _DIRECTIONS)
    # Half a web off the rays through the bolts: the next gap's window keeps the other half.
    off = np.minimum(gap[:, None] * along, gap[:, None] * (1 - along))
    good &= ray[:, None, None] * np.sin(np.minimum(off, math.pi / 2)) >= web / 2
    for rim in rims:
        good &= np.abs(ray - rim)[:, None, None] >= web
    found = [_largest(good[:, k], ray, angle[k]) for k in range(len(clock))]
    return [loop for loop in found if loop is not None]


def _largest(good: NDArray[np.bool_], ray: NDArray[np.float64], angle: NDArray[np.float64]) -> Loop | None:
    """Return the largest part of a ring of which every point of the grid (radii, directions) is good."""
    best: tuple[float, tuple[float, float, float, float]] | None = None
    for i in range(len(angle)):
        rows = good[:, i].copy()
        for j in range(i + 1, len(angle)):
            rows &= good[:, j]
            if not rows.any():
                break
            for low, high in _runs(rows):
                r0, r1 = float(ray[low]), float(ray[high])
                wide = float(angle[j] - angle[i])
                area = wide * (r1 * r1 - r0 * r0) / 2
                if min(r1 - r0, wide * r0) >= _SMALLEST and (best is None or area > best[0]):
                    best = area, (r0, r1, float(angle[i]), float(angle[j]))
    return None if best is None else _ring_part(*best[1])


def _runs(rows: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return first and last index of each run of True."""
    padded = np.concatenate([[False], rows, [False]]).astype(int)
    step = np.diff(padded)
    return list(zip(np.nonzero(step == 1)[0].tolist(), (np.nonzero(step == -1)[0] - 1).tolist(), strict=True))


def _ring_part(r0: float, r1: float, first: float, last: float) -> Loop:
    """Return a part of a ring between two radii and two clock angles (radians), its corners rounded by true arcs."""
    c = min(_CORNER, (r1 - r0) / 2.2, (last - first) * r0 / 2.5)

    def at(r: float, t: float) -> tuple[float, float]:
        return r * math.sin(t), r * math.cos(t)

    # Each rounding touches the side at a distance along the ray, and the arc at an angle.
    out, into = math.asin(c / (r1 - c)), math.asin(c / (r0 + c))
    side_out, side_in = math.sqrt((r1 - c) ** 2 - c * c), math.sqrt((r0 + c) ** 2 - c * c)
    outer = (last - first) - 2 * out
    inner = (last - first) - 2 * into
    corner_out = math.pi / 2 + out
    corner_in = math.pi / 2 - into
    # Clockwise along the outer arc, which is a negative bulge; the whole loop runs clockwise.
    rows = [
        (*at(r1, first + out), -math.tan(outer / 4)),
        (*at(r1, last - out), -math.tan(corner_out / 4)),
        (*at(side_out, last), 0.0),
        (*at(side_in, last), -math.tan(corner_in / 4)),
        (*at(r0, last - into), math.tan(inner / 4)),
        (*at(r0, first + into), -math.tan(corner_in / 4)),
        (*at(side_in, first), 0.0),
        (*at(side_out, first), -math.tan(corner_out / 4)),
    ]
    return loop_of(rows)


def least_metal(edge: Loop, openings: Sequence[Loop], samples: float = 0.05) -> tuple[float, tuple[float, float]]:
    """Return the least metal in mm between any two edges of a plate, and where.

    Openings count to each other and to the outline. They are followed by points at most `samples` mm off their arcs;
    distances to the other edge are exact. Where openings
    cross each other or the outline it is negative.
    """
    best, where = math.inf, (0.0, 0.0)
    points = [polygon(loop, samples) for loop in openings]
    boxes = np.array([bounds(loop) for loop in openings], dtype=float).reshape(-1, 4)

    def nearer(metal: NDArray[np.float64], p: NDArray[np.float64]) -> None:
        nonlocal best, where
        at = int(np.argmin(metal))
        if metal[at] < best:
            best, where = float(metal[at]), (float(p[at, 0]), float(p[at, 1]))

    for k, p in enumerate(points):
        nearer(room_inside(edge, p), p)
        for j in range(k):
            apart = np.concatenate([boxes[j, :2] - boxes[k, 2:], boxes[k, :2] - boxes[j, 2:]])
            if apart.max() >= best:
                continue
            nearer(-room_inside(openings[j], p), p)
            nearer(-room_inside(openings[k], points[j]), points[j])
    return best, where


def check_pockets(edge: Loop, pockets: Sequence[Pocket]) -> None:
    """Raise CannotBuild for a pocket that does not lie wholly inside the outline."""
    for number, pocket in enumerate(pockets, 1):
        room = room_inside(edge, polygon(pocket_loop(pocket)))
        if float(room.min()) < pocket.wall - 1e-6:
            raise CannotBuild(
                "pockets",
                f"pocket {number} ({pocket.name}) has {float(room.min()):.1f} mm of metal to the outline, "
                f"{pocket.wall:g} mm are asked: move it or draw the outline round it",
            )
