"""The outline round bosses: the convex hull of discs, with exact tangent lines and arcs."""

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from baywright.shape.loop import SAME, Loop, circle, loop_of

_FULL = 2 * math.pi
_TINY = 1e-12  # radians: turns below it are float noise


def hull_of_discs(centres: NDArray[np.float64], radii: NDArray[np.float64]) -> Loop:
    """Return the shortest closed loop round discs, counter-clockwise: straight tangents joined by true arcs.

    Args:
        centres: (n, 2) mm.
        radii: (n,) mm; 0 makes a plain corner.

    Raises:
        ValueError: if there is no disc, or the discs enclose no area.
    """
    centres, radii = np.asarray(centres, dtype=float).reshape(-1, 2), np.asarray(radii, dtype=float)
    if not len(centres):
        raise ValueError("an outline needs at least one disc")
    tangents = list(_tangents(centres, radii))
    if not tangents:
        # One disc holds all others: the one that reaches farthest.
        i = int(np.argmax(centres[:, 0] + radii))
        if radii[i] <= 0:
            raise ValueError("an outline needs discs that enclose an area")
        x, y = centres[i].tolist()
        return circle(x, y, 2 * float(radii[i]))
    corners: list[tuple[float, float, float]] = []
    for (here, angle), (_, leaves) in zip(tangents, tangents[1:] + tangents[:1], strict=True):
        (x, y), r = centres[here].tolist(), float(radii[here])
        turn = (leaves - angle) % _FULL
        if r > 0 and turn > _TINY:
            corners.append((x + r * math.cos(angle), y + r * math.sin(angle), math.tan(turn / 4)))
        corners.append((x + r * math.cos(leaves), y + r * math.sin(leaves), 0.0))
    return loop_of(corners)


def _tangents(centres: NDArray[np.float64], radii: NDArray[np.float64]) -> Iterator[tuple[int, float]]:
    """Yield each disc of the hull and the direction of the outward normal where the loop arrives on it.

    The hull is what the support function max over i of (c_i . u + r_i) traces as u turns. Disc j takes over from disc i
    where (c_j - c_i) . u = r_i - r_j and the left side grows: at the direction of c_j - c_i less acos((r_i - r_j) / d).
    """
    start = _lowest(centres, radii)
    here, angle, swept = start, -math.pi / 2, 0.0
    for _ in range(4 * len(centres) + 4):
        step = centres - centres[here]
        far = np.hypot(step[:, 0], step[:, 1])
        ratio = np.divide(radii[here] - radii, far, out=np.zeros_like(far), where=far > 0)
        open_to = far - np.abs(radii[here] - radii) > SAME  # else one disc holds the other: no tangent line is there
        if not open_to.any():
            return
        takes = np.arctan2(step[:, 1], step[:, 0]) - np.arccos(np.clip(ratio, -1, 1))
        ahead = (takes - angle) % _FULL
        # A takeover right here that rounding puts just behind is not a full turn away.
        ahead = np.where(ahead > _FULL - 1e-9, 0.0, ahead)
        ahead[~open_to] = np.inf
        least = ahead.min()
        # Bosses in a row take over at the same direction: the farthest is the one that the line runs to.
        after = int(np.argmax(np.where(ahead <= least + 1e-9, far, -1.0)))
        swept += float(least)
        if swept > _FULL + 1e-9:
            return
        here, angle = after, angle + float(least)
        yield here, angle
        if here == start and swept > _FULL - 1e-9:
            return


def _lowest(centres: NDArray[np.float64], radii: NDArray[np.float64]) -> int:
    """Return the disc that reaches lowest; of several, the rightmost, which the turning normal leaves last.

    Of two that share their lowest point the wider holds the other.
    """
    low = centres[:, 1] - radii
    level = np.nonzero(low <= low.min() + 1e-9)[0]
    return int(level[np.argmax(centres[level, 0] + radii[level] * 1e-9)])
