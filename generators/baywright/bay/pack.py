"""Several boxes beside each other in a bay: every way round of each, every place on the grid.

Boxes stand beside each other, none over another, so that each lid comes off and each box comes out by itself. Two are
solved at once: they go in if and only if, along one axis, the farthest places of the two leave the gap between them.
Of more, one at a time is put where it can be pushed no farther to the front or to the left, and the others are
searched in what is left: of boxes pushed together that way one always rests on the bay alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Stand:
    """A box turned one way: its rectangle in plan, and where it may stand by itself.

    Attributes:
        low, high: (2,) mm about its reference point: the rectangle that holds all of it in plan.
        free: (nx, ny): the grid points at which its reference point may be.
    """

    low: Array
    high: Array
    free: Flags


@dataclass(frozen=True, slots=True)
class Spot:
    """Where one box stands: which of its turns, and the grid point."""

    turn: int
    i: int
    j: int


def packed(boxes: Sequence[Sequence[Stand]], step: float, gap: float) -> tuple[Spot, ...] | None:
    """Return where boxes stand together, or None if they do not go in together on this grid.

    Args:
        boxes: each as the ways it may be turned; those of one kind may be given as one object.
        step: of the grid, mm.
        gap: between two boxes, mm.
    """
    if any(not any(s.free.any() for s in box) for box in boxes):
        return None
    if len(boxes) == 1:
        turn = next(t for t, s in enumerate(boxes[0]) if s.free.any())
        at = np.argwhere(boxes[0][turn].free)
        i, j = at[np.linalg.norm(at - np.median(at, axis=0), axis=1).argmin()].tolist()
        return (Spot(turn, i, j),)
    if len(boxes) == 2:
        return _pair(boxes[0], boxes[1], step, gap)
    for k, box in enumerate(boxes):
        if any(box[0].free is before[0].free for before in boxes[:k]):
            continue  # of one kind with one that was first already
        others = [b for n, b in enumerate(boxes) if n != k]
        for turn, stand in enumerate(box):
            for i, j in np.argwhere(_pushed(stand.free)).tolist():
                left = [_beside(other, stand, (i, j), step, gap) for other in others]
                rest = packed(left, step, gap)
                if rest is not None:
                    return (*rest[:k], Spot(turn, i, j), *rest[k:])
    return None


def _pair(first: Sequence[Stand], second: Sequence[Stand], step: float, gap: float) -> tuple[Spot, Spot] | None:
    """Return where two boxes stand: the farthest apart of all ways."""
    best: tuple[float, Spot, Spot] | None = None
    for t, a in enumerate(first):
        for u, b in enumerate(second):
            if not (a.free.any() and b.free.any()):
                continue
            places = np.argwhere(a.free), np.argwhere(b.free)
            for axis in (0, 1):
                for one, two, swap in ((a, b, False), (b, a, True)):
                    near, far = (places[1], places[0]) if swap else places
                    low, high = near[near[:, axis].argmin()], far[far[:, axis].argmax()]
                    spare = (high[axis] - low[axis]) * step - (one.high[axis] - two.low[axis]) - gap
                    if spare >= -1e-6 and (best is None or spare > best[0]):
                        p, q = (high, low) if swap else (low, high)
                        best = spare, Spot(t, *p.tolist()), Spot(u, *q.tolist())
    return None if best is None else best[1:]


def _pushed(free: Flags) -> Flags:
    """Tell of grid points whether a box there can go no farther to the front nor to the left."""
    before = np.zeros_like(free)
    before[1:] = free[:-1]
    beside = np.zeros_like(free)
    beside[:, 1:] = free[:, :-1]
    out: Flags = free & ~before & ~beside
    return out


def _beside(box: Sequence[Stand], stood: Stand, at: tuple[int, int], step: float, gap: float) -> list[Stand]:
    """Return the ways of a box with only those places that leave the gap to one that stands at a grid point."""
    out = []
    for stand in box:
        # Its reference point must not lie strictly between these, on both axes at once.
        first = np.floor((stood.low - gap - stand.high) / step + at + 1e-9).astype(int) + 1
        last = np.ceil((stood.high + gap - stand.low) / step + at - 1e-9).astype(int) - 1
        free = stand.free.copy()
        (x0, y0), (x1, y1) = np.maximum(first, 0), np.maximum(last + 1, 0)
        free[x0:x1, y0:y1] = False
        out.append(replace(stand, free=free))
    return out
