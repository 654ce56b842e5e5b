"""How far points are from a loop's edges, arcs exact."""

import math

import numpy as np
from numpy.typing import NDArray

from baywright.shape.loop import Loop, arcs


def distance_to(loop: Loop, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the distance (n,) mm from points (n, 2) to the loop's nearest edge, whichever side they are on."""
    p = np.asarray(points, dtype=float).reshape(-1, 2)
    best = np.full(len(p), np.inf)
    start, end = loop[:, :2], np.roll(loop[:, :2], -1, axis=0)
    for a, b, bulge in zip(start, end, loop[:, 2], strict=True):
        if bulge:
            continue
        along = b - a
        size = float(along @ along)
        t = np.clip((p - a) @ along / size, 0, 1) if size else np.zeros(len(p))
        best = np.minimum(best, np.linalg.norm(a + t[:, None] * along - p, axis=1))
    for x, y, r, begin, turn in arcs(loop):
        off = p - (x, y)
        far = np.hypot(off[:, 0], off[:, 1])
        angle = np.arctan2(off[:, 1], off[:, 0])
        ahead = (angle - begin) % (2 * math.pi) if turn > 0 else (begin - angle) % (2 * math.pi)
        ends = [np.array([x + r * math.cos(t), y + r * math.sin(t)]) for t in (begin, begin + turn)]
        to_ends = np.minimum(*(np.linalg.norm(p - e, axis=1) for e in ends))
        best = np.minimum(best, np.where((ahead <= abs(turn)) | (far == 0), np.abs(far - r), to_ends))
    return best


def inside(loop: Loop, points: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell for each point (n, 2) mm whether it lies inside the loop.

    The corners' polygon is tested by crossings; each arc adds or takes away the part of its disc beyond its chord.
    """
    p = np.asarray(points, dtype=float).reshape(-1, 2)
    start, end = loop[:, :2], np.roll(loop[:, :2], -1, axis=0)
    (x0, y0), (x1, y1) = start.T[:, :, None], end.T[:, :, None]
    px, py = p[:, 0], p[:, 1]
    spans = (y0 > py) != (y1 > py)
    rise = np.where(y1 == y0, 1.0, y1 - y0)
    crosses = spans & (px < x0 + (py - y0) / rise * (x1 - x0))
    found: NDArray[np.bool_] = crosses.sum(axis=0) % 2 == 1
    bent = loop[:, 2] != 0
    for (x, y, r, _, turn), a, b in zip(arcs(loop), start[bent], end[bent], strict=True):
        side = (b[0] - a[0]) * (py - a[1]) - (b[1] - a[1]) * (px - a[0])
        # On the chord itself a point counts as a little to the right and above, as the crossings have it.
        side = np.where(side == 0, a[1] - b[1] if a[1] != b[1] else b[0] - a[0], side)
        beyond = side < 0 if turn > 0 else side > 0
        found ^= beyond & (np.hypot(px - x, py - y) < r)
    return found


def room_inside(loop: Loop, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the distance (n,) mm from points (n, 2) to the loop's nearest edge, negative for points outside."""
    return np.where(inside(loop, points), 1.0, -1.0) * distance_to(loop, points)
