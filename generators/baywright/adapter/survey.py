"""Least squares for the holes of a measured pattern: places, how well each is held, and what each reading adds.

The method is the one of surveying: observations adjusted with their stated uncertainties, redundancy numbers and tests
of single residuals (Baarda, "A testing procedure for use in geodetic networks", 1968; any textbook of adjustment).
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from baywright.adapter.readings import Layout
from baywright.adapter.start import first_guess, folds, mirrored, with_frames

# A normalised residual beyond this belongs to a mistake, not to noise: the two-sided 0.1 % point of the normal
# distribution, the usual choice since Baarda 1968.
CRITICAL = 3.29
# A reading with less redundancy than this is hardly checked by the others (common in surveying textbooks: 0.1).
CHECKED = 0.1
# The mistake in a reading that its test finds four times out of five: 4.13 standard deviations over the root of the
# redundancy number (Baarda 1968: 0.1 % level, 80 % power).
FOUND = 4.13
# A hole whose place is less certain than this was not measured at all, mm.
LOOSE = 1.0
# A fold that fits settles within this many rounds; one that does not is not worth more.
_TRIAL = 12
# How far off a place is taken to be that no reading holds, mm.
UNKNOWN = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """Which way round three holes are met, as seen from the side that coordinates are seen from."""

    holes: tuple[str, str, str]
    clockwise: bool


@dataclass(frozen=True, eq=False, kw_only=True)
class Solution:
    """An adjusted set of readings.

    Attributes:
        layout: the readings.
        unknowns: their best values.
    """

    layout: Layout
    unknowns: NDArray[np.float64]

    @cached_property
    def _linear(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        return self.layout.predicted(self.unknowns)

    @property
    def fitted(self) -> NDArray[np.float64]:
        """What each observation should have been (m,) mm."""
        return self._linear[0]

    @cached_property
    def residuals(self) -> NDArray[np.float64]:
        """Read less fitted (m,) mm."""
        return self.layout.values - self.fitted

    @cached_property
    def chi2(self) -> float:
        """The sum of squared residuals, each over its standard deviation."""
        return float(((self.residuals / self.layout.sigmas) ** 2).sum())

    @cached_property
    def _spectrum(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        weighted: NDArray[np.float64] = self._linear[1] / self.layout.sigmas[:, None]
        values, vectors = np.linalg.eigh(weighted.T @ weighted)
        return values, vectors

    @cached_property
    def _held(self) -> NDArray[np.bool_]:
        """Which combinations of unknowns the readings say anything about."""
        values = self._spectrum[0]
        held: NDArray[np.bool_] = values > 1e-10 * max(float(values[-1]), 1e-30)
        return held

    @cached_property
    def cofactor(self) -> NDArray[np.float64]:
        """Covariance (size, size) mm² of the unknowns, with nothing added for what the readings leave free."""
        (values, vectors), held = self._spectrum, self._held
        kept = vectors[:, held]
        out: NDArray[np.float64] = (kept / values[held]) @ kept.T
        return out

    @property
    def spare(self) -> int:
        """How many observations there are beyond the number needed."""
        return len(self.layout.owner) - int(self._held.sum())

    @cached_property
    def redundancy(self) -> NDArray[np.float64]:
        """Share (m,) of each observation that the others check: 0 not at all, 1 wholly. Their sum is `spare`."""
        jac, sigma = self._linear[1], self.layout.sigmas
        taken = np.einsum("ij,jk,ik->i", jac, self.cofactor, jac) / sigma**2
        share: NDArray[np.float64] = np.clip(1.0 - taken, 0.0, 1.0)
        return share

    @cached_property
    def tests(self) -> NDArray[np.float64]:
        """Normalised residuals (m,): residual over its own standard deviation; 0 where nothing checks the reading."""
        spread = self.layout.sigmas * np.sqrt(self.redundancy)
        return np.divide(self.residuals, spread, out=np.zeros(len(spread)), where=self.redundancy > 1e-6)

    @property
    def scale(self) -> float:
        """How much wider the readings spread than stated (1 = as stated); never below 1."""
        return max(1.0, math.sqrt(self.chi2 / self.spare)) if self.spare > 0 else 1.0

    @property
    def agrees(self) -> bool:
        """Whether the readings agree within their stated uncertainties (chi-squared test, 0.1 % level)."""
        return self.spare <= 0 or self.chi2 <= chi2_limit(self.spare)

    @property
    def positions(self) -> NDArray[np.float64]:
        """Positions (nodes, 2) mm of the holes and, last, the shaft, wherever the adjustment left them."""
        return self.layout.positions(self.unknowns)

    @cached_property
    def loose(self) -> tuple[str, ...]:
        """Holes that the readings do not hold against the others."""
        members = list(range(len(self.layout.nodes)))
        while len(members) > 2:
            wide = _long_axes(self._open_covariance(members))
            worst = max(members, key=lambda k: float(wide[k]))
            if wide[worst] <= LOOSE:
                break
            members.remove(worst)
        wide = _long_axes(self._open_covariance(members))
        return tuple(name for name, w in zip(self.layout.nodes, wide.tolist(), strict=True) if w > LOOSE)

    def _open_covariance(self, members: list[int]) -> NDArray[np.float64]:
        return floated(self.open_covariance, self.positions, members)

    @cached_property
    def open_covariance(self) -> NDArray[np.float64]:
        """Covariance (2 nodes, 2 nodes) mm² of the places in no fixed frame, wide where they are free."""
        n2 = 2 * len(self.layout.nodes)
        values, vectors = self._spectrum
        # Added to every direction, so that "not measured at all" is a number that arithmetic can carry.
        spread = 1 / (np.clip(values, 0, None) + 1 / UNKNOWN**2)
        out: NDArray[np.float64] = (vectors[:n2] * spread) @ vectors[:n2].T
        return out

    def covariance(self, about: str | None) -> NDArray[np.float64]:
        """Return the covariance (2 nodes, 2 nodes) mm² of the positions, as stated by the readings.

        Args:
            about: the node that counts as fixed (the shaft), turned to fit the others best; None lets the whole
                pattern float to its best fit.
        """
        n2, keep = 2 * len(self.layout.nodes), self.datum(about)
        out: NDArray[np.float64] = keep @ self.cofactor[:n2, :n2] @ keep.T
        return out

    def datum(self, about: str | None) -> NDArray[np.float64]:
        """Return the matrix (2 nodes, 2 nodes) that takes small moves of the places to the same, seen from a datum.

        Args:
            about: as in `covariance`.
        """
        motion = rigid_motions(self.positions)
        if about is None:
            return _datum(motion, motion.T)
        k = self.layout.nodes.index(about)
        motion = rigid_motions(self.positions, self.positions[k])
        hold = motion.T.copy()
        hold[:2] = 0.0
        hold[0, 2 * k] = hold[1, 2 * k + 1] = 1.0
        return _datum(motion, hold)

    def spread(self, about: str | None) -> NDArray[np.float64]:
        """Return the long half axis (nodes,) mm of each place's standard ellipse."""
        return _long_axes(self.covariance(about))


def floated(
    covariance: NDArray[np.float64], positions: NDArray[np.float64], members: list[int] | None = None
) -> NDArray[np.float64]:
    """Return a covariance (2n, 2n) of places as it is when the pattern floats to the best fit of some of its places."""
    motion = rigid_motions(positions)
    hold = motion.T.copy()
    if members is not None:
        away = np.ones(len(positions), dtype=bool)
        away[members] = False
        hold[:, np.repeat(away, 2)] = 0.0
    keep = _datum(motion, hold)
    out: NDArray[np.float64] = keep @ covariance @ keep.T
    return out


def _datum(motion: NDArray[np.float64], hold: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return what takes moves of the places to the same shape seen from another datum: surveying's S-transformation."""
    out: NDArray[np.float64] = np.eye(len(motion)) - motion @ np.linalg.pinv(hold @ motion) @ hold
    return out


def _long_axes(covariance: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the long half axis (n,) mm of each place's standard ellipse."""
    axes: NDArray[np.float64] = np.sqrt(np.clip(np.linalg.eigvalsh(covariance_blocks(covariance))[:, 1], 0.0, None))
    return axes


def covariance_blocks(covariance: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the (n, 2, 2) blocks on the diagonal of a covariance (2n, 2n)."""
    n = len(covariance) // 2
    four = covariance.reshape(n, 2, n, 2)
    return np.stack([four[k, :, k, :] for k in range(n)])


def solve(layout: Layout, walk: Walk | None) -> Solution:
    """Return the best places for the holes of a layout.

    Raises:
        ValueError: if the readings cannot be laid out; the sentence says what to measure or to change.
    """
    best = _settled(layout, first_guess(layout), walk)
    if not best.agrees:
        # The start may have folded a part over a hinge: take the fold that fits clearly better, if any does.
        for _, places in list(folds(layout, best.positions)):
            other = _refit(layout, best.unknowns, places, walk)
            if other.chi2 < best.chi2 - 10:
                best = other
    if not best.agrees and (layout.scans or layout.square) and walk is not None:
        other = Solution(layout=layout, unknowns=adjust(layout, mirrored(layout, best.unknowns)))
        if other.chi2 < best.chi2 / 10:
            turn = "clockwise" if walk.clockwise else "counter-clockwise"
            raise ValueError(
                f"the scanned points or edges show holes {', '.join(walk.holes)} the other way round than "
                f"'{turn}': one of the two is seen from the wrong side"
            )
    return best


def thin_walk(solution: Solution, walk: Walk) -> bool:
    """Tell whether the three holes of a walk lie so nearly in line that their hand is anybody's guess."""
    a, b, c = (solution.positions[solution.layout.nodes.index(name)] for name in walk.holes)
    sides = sorted(float(np.linalg.norm(d)) for d in (b - a, c - b, a - c))
    height = abs(_cross(b - a, c - b)) / max(sides[-1], 1e-9)
    spread = solution.spread(None)
    return height < max(1.0, 10 * max(float(spread[solution.layout.nodes.index(n)]) for n in walk.holes))


def twins(solution: Solution, walk: Walk | None) -> list[tuple[tuple[str, ...], NDArray[np.float64]]]:
    """Return the holes that could as well stand elsewhere, with all positions if they did.

    The readings cannot tell the two apart (their sums of squares differ by less than 10, a likelihood of 1 in 150).
    """
    layout = solution.layout
    found: list[tuple[tuple[str, ...], NDArray[np.float64]]] = []
    for moving, places in folds(layout, solution.positions):
        if _differ(places, solution.positions) < LOOSE:
            continue
        other = _refit(layout, solution.unknowns, places, walk)
        if other.chi2 < solution.chi2 + 10 and _differ(other.positions, solution.positions) > LOOSE:
            found.append((tuple(layout.nodes[k] for k in moving), other.positions))
    return found


def adjust(layout: Layout, start: NDArray[np.float64], rounds: int = 100) -> NDArray[np.float64]:
    """Return the unknowns (size,) with the least sum of squares near a start: Gauss-Newton, damped where it must be."""
    x, values, sigma = start.copy(), layout.values, layout.sigmas
    fitted, jac = layout.predicted(x)
    left = (values - fitted) / sigma
    worst = float(left @ left)
    damping = 1e-3
    for _ in range(rounds):
        a = jac / sigma[:, None]
        normal, pull = a.T @ a, a.T @ left
        size = float(normal.trace()) / len(x)
        step = np.linalg.solve(normal + damping * size * np.eye(len(x)), pull)
        fitted, trial_jac = layout.predicted(x + step)
        trial = (values - fitted) / sigma
        now = float(trial @ trial)
        if now <= worst:
            done = worst - now < 1e-10 * (1 + worst) and float(abs(step).max()) < 1e-6
            x, jac, left, worst = x + step, trial_jac, trial, now
            damping = max(damping / 10, 1e-10)
            if done:
                break
        else:
            damping *= 10
            if damping > 1e10:
                break
    return x


def chi2_limit(spare: int) -> float:
    """Return what chi-squared stays under 999 times in 1000 (Wilson and Hilferty 1931: at most 3 % high)."""
    share = 2 / (9 * spare)
    return spare * float(1 - share + 3.0902 * math.sqrt(share)) ** 3


def _refit(layout: Layout, unknowns: NDArray[np.float64], places: NDArray[np.float64], walk: Walk | None) -> Solution:
    start = unknowns.copy()
    start[: places.size] = places.ravel()
    return _settled(layout, start, walk, rounds=_TRIAL)


def _settled(layout: Layout, start: NDArray[np.float64], walk: Walk | None, rounds: int = 100) -> Solution:
    """Return the adjustment from a start, on the hand that the walk asks for before and after."""
    handed = _handed(layout, start, walk)
    begin = with_frames(layout, start) if handed is None else handed
    solution = Solution(layout=layout, unknowns=adjust(layout, begin, rounds))
    # A flat triangle may turn over while it settles.
    handed = _handed(layout, solution.unknowns, walk)
    return solution if handed is None else Solution(layout=layout, unknowns=adjust(layout, handed))


def _handed(layout: Layout, unknowns: NDArray[np.float64], walk: Walk | None) -> NDArray[np.float64] | None:
    """Return the mirrored unknowns if the walk asks for the other hand, else None."""
    if walk is None:
        return None
    where = dict(zip(layout.nodes, layout.positions(unknowns), strict=True))
    a, b, c = (where[name] for name in walk.holes)
    return mirrored(layout, unknowns) if (_cross(b - a, c - b) > 0) == walk.clockwise else None


def _differ(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    """Return how much two layouts differ in the distance of any two places, mm, however they are turned."""
    gaps = [np.linalg.norm(p[:, None] - p[None], axis=2) for p in (one, other)]
    return float(np.abs(gaps[0] - gaps[1]).max())


def _cross(a: NDArray[np.float64], b: NDArray[np.float64]) -> float:
    return float(a[0] * b[1] - a[1] * b[0])


def rigid_motions(positions: NDArray[np.float64], centre: NDArray[np.float64] | None = None) -> NDArray[np.float64]:
    """Return how positions change with a shift along x, along y, and a turn about a centre (or their own): (2n, 3)."""
    out = np.zeros((2 * len(positions), 3))
    out[0::2, 0] = out[1::2, 1] = 1.0
    arm = positions - (positions.mean(axis=0) if centre is None else centre)
    out[0::2, 2], out[1::2, 2] = -arm[:, 1], arm[:, 0]
    return out
