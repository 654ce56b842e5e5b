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
    px, py = p[:, 0], p[:, 1]
    start, end = loop[:, :2], np.roll(loop[:, :2], -1, axis=0)
    # Every edge is looked along from its lower end, so that two edges with the same ends agree to the last digit.
    swap = (end[:, 1] < start[:, 1]) | ((end[:, 1] == start[:, 1]) & (end[:, 0] < start[:, 0]))
    low, high = np.where(swap[:, None], end, start), np.where(swap[:, None], start, end)
    (x0, y0), (x1, y1) = low.T[:, :, None], high.T[:, :, None]
    left = (x1 - x0) * (py - y0) - (y1 - y0) * (px - x0)
    # On the edge itself a point counts as a little to the right, or above a level one.
    left = np.where(left == 0, np.where(y0 == y1, 1.0, -1.0), left)
    crosses = ((y0 > py) != (y1 > py)) & (left > 0)
    found: NDArray[np.bool_] = crosses.sum(axis=0) % 2 == 1
    bent = np.nonzero(loop[:, 2])[0]
    for k, (x, y, r, _, turn) in zip(bent, arcs(loop), strict=True):
        # The arc bulges to the right of its edge if it turns counter-clockwise.
        beyond = (left[k] < 0) == ((turn > 0) != swap[k])
        found ^= beyond & (np.hypot(px - x, py - y) < r)
    return found


def room_inside(loop: Loop, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the distance (n,) mm from points (n, 2) to the loop's nearest edge, negative for points outside."""
    return np.where(inside(loop, points), 1.0, -1.0) * distance_to(loop, points)
