"""Is this measured pattern one that the catalogue has? Best fit over rotation, mirror image and which hole is which."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.shape.align import rigid_fit
from baywright.shape.pattern import Pattern, symmetry, turned_clockwise

# Distances that differ by more cannot be the same two holes, mm: half a drill size, far above caliper noise.
_ALIKE = 1.0
# A mirror image must fit this many times better before it is believed over the pattern as it is.
_MIRROR_GAIN = 3.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Match:
    """How a measured pattern lies on a known one.

    Attributes:
        pattern: the known pattern.
        mirrored: True if only its mirror image fits: one of the two is seen from the wrong side.
        turn: degrees clockwise by which the known pattern is turned to lie on the measured one, -180 … 180.
        shift: (x, y) mm from the shaft's centre line to the known pattern's centre; far from 0 means that one of the
            datums is off.
        partner: the known hole's name for each measured one.
        residual: (n,) mm, distance of each measured hole from its partner.
        missing: known holes that were not measured.
    """

    pattern: Pattern
    mirrored: bool
    turn: float
    shift: tuple[float, float]
    partner: tuple[str, ...]
    residual: NDArray[np.float64]
    missing: tuple[str, ...]

    @property
    def rms(self) -> float:
        """Root mean square of the residuals, mm."""
        return float(np.sqrt(np.mean(self.residual**2)))


def matches(positions: NDArray[np.float64], catalogue: Iterable[Pattern], within: float = 0.5) -> list[Match]:
    """Return the known patterns that measured holes lie on, the best first.

    Args:
        positions: (n, 2) mm of at least three holes, about the shaft's centre line.
        catalogue: known patterns, seen from the same side.
        within: farthest that a hole may be from its partner, mm.
    """
    found = [m for p in catalogue if (m := match(positions, p, within)) is not None]
    return sorted(found, key=lambda m: (len(m.missing), m.rms))


def match(positions: NDArray[np.float64], pattern: Pattern, within: float = 0.5) -> Match | None:
    """Return how measured holes (n, 2) mm lie on a known pattern, or None if they do not."""
    known = pattern.positions()
    if len(positions) < 3 or len(known) < len(positions):
        return None
    plain = _laid(positions, known, within, mirror=False)
    turned_over = _laid(positions, known, within, mirror=True)
    mirrored = turned_over is not None and (plain is None or turned_over[2] * _MIRROR_GAIN < plain[2])
    best = turned_over if mirrored else plain
    if best is None:
        return None
    turn, shift, _ = best
    flat = known * (-1.0, 1.0) if mirrored else known
    # Of the turns that the pattern's own symmetry makes equal, the smallest; `turn` takes known to measured.
    sense = -1.0 if mirrored else 1.0
    here = -math.degrees(math.atan2(float(turn[1, 0]), float(turn[0, 0])))
    angle = min(((here + sense * s + 180) % 360 - 180 for s in symmetry(pattern)), key=lambda a: (round(abs(a), 6), -a))
    laid = turned_clockwise(flat, angle) + shift
    far = np.linalg.norm(positions[:, None] - laid[None], axis=2)
    partner, residual = np.argmin(far, axis=1).tolist(), far.min(axis=1)
    names = [h.name for h in pattern.holes]
    return Match(
        pattern=pattern,
        mirrored=mirrored,
        turn=angle,
        shift=(float(shift[0]), float(shift[1])),
        partner=tuple(names[k] for k in partner),
        residual=residual,
        missing=tuple(n for k, n in enumerate(names) if k not in set(partner)),
    )


_Laid = tuple[NDArray[np.float64], NDArray[np.float64], float]


def _laid(positions: NDArray[np.float64], known: NDArray[np.float64], within: float, mirror: bool) -> _Laid | None:
    """Return turn, shift and rms of the best way to lay known holes on measured ones."""
    flat = known * (-1.0, 1.0) if mirror else known
    apart = np.linalg.norm(positions[:, None] - positions[None], axis=2)
    a, b = (int(k) for k in np.unravel_index(int(np.argmax(apart)), apart.shape))
    gap = np.linalg.norm(flat[:, None] - flat[None], axis=2)
    first, second = np.nonzero(abs(gap - apart[a, b]) < _ALIKE)
    keep = first != second
    first, second = first[keep], second[keep]
    if not len(first):
        return None
    # Lay each pair that is as far apart on the measured pair a-b, all at once.
    along = positions[b] - positions[a]
    theirs = flat[second] - flat[first]
    angle = math.atan2(float(along[1]), float(along[0])) - np.arctan2(theirs[:, 1], theirs[:, 0])
    c, s = np.cos(angle), np.sin(angle)
    turns = np.stack([np.stack([c, -s], axis=1), np.stack([s, c], axis=1)], axis=1)
    middle = (positions[a] + positions[b]) / 2
    moved = np.einsum("kij,knj->kni", turns, flat[None] - ((flat[first] + flat[second]) / 2)[:, None]) + middle
    far = np.linalg.norm(positions[None, :, None] - moved[:, None], axis=3)
    best: _Laid | None = None
    for k in np.argsort(far.min(axis=2).max(axis=1), kind="stable")[:8]:
        partner = np.argmin(far[k], axis=1).tolist()
        if len(set(partner)) < len(partner):
            continue
        turn, shift = rigid_fit(flat[partner], positions)
        residual = np.linalg.norm(flat[partner] @ turn.T + shift - positions, axis=1)
        rms = float(np.sqrt(np.mean(residual**2)))
        if residual.max() <= within and (best is None or rms < best[2] - 1e-9):
            best = turn, shift, rms
    return best
