"""Readings that do not agree with the others: found, named, left out, and checked once more at the end."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.adapter.readings import Layout, Reading
from baywright.adapter.survey import CRITICAL, Solution, Walk, adjust, solve

# How many of the most suspicious readings are tried as the wrong one.
_TRIED = 8


@dataclass(frozen=True, eq=False, kw_only=True)
class Suspect:
    """A reading that was left out because it contradicts the others.

    Attributes:
        reading: the reading.
        error: read less what the others say, mm (for a scanned point: how far off it lies).
        test: the error over its own standard deviation.
        rivals: labels of readings that could as well be the wrong one.
        hint: what kind of slip it looks like, or "".
    """

    reading: Reading
    error: float
    test: float
    rivals: tuple[str, ...] = ()
    hint: str = ""


def without_mistakes(layout: Layout, walk: Walk | None) -> tuple[Solution, tuple[Suspect, ...]]:
    """Return the solution of the readings that agree, and those that were left out.

    One reading goes at a time, as long as the readings as a whole contradict each other or one stands out by itself:
    of the suspicious ones, that without which the rest agree best. If the rest agree as well without another one, the
    two are rivals: the adjustment cannot tell which is wrong. At the end each is tried against the final solution and
    comes back if it agrees after all. At most one reading in six is left out: beyond that they are simply worse than
    stated.

    Raises:
        ValueError: if the readings cannot be laid out.
    """
    kept = list(range(len(layout.readings)))
    solution = solve(layout, walk)
    out: list[tuple[int, tuple[str, ...]]] = []
    allowed = max(1, len(layout.readings) // 6)
    while len(out) < allowed and _stands_out(solution):
        trials: list[tuple[bool, float, int, Solution]] = []
        for k in _candidates(solution):
            rest = [i for i in kept if i != kept[k]]
            try:
                without = _without(solution, layout.only(rest), walk)
            except ValueError:  # the holes fall apart without it: nothing checks it, so it cannot be blamed
                continue
            if not set(without.loose) - set(solution.loose):
                trials.append((_stands_out(without), without.chi2, k, without))
        if not trials:
            break
        trials.sort(key=lambda t: t[:2])
        still, chi2, k, better = trials[0]
        if chi2 > solution.chi2 - CRITICAL**2:
            break
        rivals = [t for t in trials[1:] if t[0] == still and t[1] < chi2 + CRITICAL**2]
        out.append((kept[k], tuple(layout.readings[kept[t[2]]].label for t in rivals)))
        kept, solution = [i for i in kept if i != kept[k]], better
    back = [k for k, _ in out if abs(_against(solution, layout, k)[1]) <= CRITICAL]
    if back:
        kept = sorted(kept + back)
        solution = solve(layout.only(kept), walk)
    named = [
        Suspect(
            reading=layout.readings[k],
            error=error,
            test=test,
            rivals=rivals,
            hint=_hint(layout.readings[k], error, solution),
        )
        for k, rivals in out
        if k not in back
        for error, test in [_against(solution, layout, k)]
    ]
    return solution, tuple(named)


def _without(solution: Solution, rest: Layout, walk: Walk | None) -> Solution:
    """Return the solution of the rest of the readings, from the whole's unless that leads nowhere."""
    if (rest.nodes, rest.gauged, rest.edges, rest.scans) == _shape(solution.layout):
        near = Solution(layout=rest, unknowns=adjust(rest, solution.unknowns))
        if near.agrees:
            return near
    return solve(rest, walk)


def _shape(layout: Layout) -> tuple[tuple[str, ...], ...]:
    return layout.nodes, layout.gauged, layout.edges, layout.scans


def _per_reading(solution: Solution) -> NDArray[np.float64]:
    """Return the largest normalised residual of each reading (a scanned centre has two)."""
    out = np.zeros(len(solution.layout.readings))
    np.maximum.at(out, solution.layout.owner, np.abs(solution.tests))
    return out


def _stands_out(solution: Solution) -> bool:
    """Tell whether a reading contradicts the others."""
    if solution.spare <= 0:
        return False
    # Of many readings one always lies near the limit, so a lone reading needs more than that if the whole agrees.
    return bool(_per_reading(solution).max() > (CRITICAL + 0.7 if solution.agrees else CRITICAL))


def _candidates(solution: Solution) -> list[int]:
    tests = _per_reading(solution)
    order = np.argsort(-tests)[:_TRIED]
    return [int(k) for k in order if tests[k] > CRITICAL]


def _against(solution: Solution, layout: Layout, k: int) -> tuple[float, float]:
    """Return how far reading `k` of the whole layout is off a solution without it (mm), and that over its spread."""
    lone = Layout(readings=(*solution.layout.readings, layout.readings[k]), square=layout.square)
    if _shape(lone) != _shape(solution.layout):
        return 0.0, 0.0  # it is the only reading of something: nothing contradicts it
    fitted, jac = lone.predicted(solution.unknowns)
    mine = np.nonzero(lone.owner == len(lone.readings) - 1)[0]
    error = (lone.values - fitted)[mine]
    spread = np.sqrt(np.einsum("ij,jk,ik->i", jac[mine], solution.cofactor, jac[mine]) + lone.sigmas[mine] ** 2)
    if len(error) == 1:
        return float(error[0]), float(error[0] / spread[0])
    return float(np.hypot(*error)), float(np.max(np.abs(error / spread)))


def _hint(reading: Reading, error: float, solution: Solution) -> str:
    """Return what slip a wrong reading looks like."""
    layout, near = solution.layout, max(4 * reading.sigma, 0.1)
    if reading.how in ("centre", "inside", "outside"):
        sizes = [layout.diameter(solution.unknowns, n) for n in (reading.first, reading.second)]
        if all(sizes):
            half = sum(s for s in sizes if s is not None) / 2
            slips = {
                "inside": {half: "a centre distance", 2 * half: "an outside reading"},
                "outside": {-half: "a centre distance", -2 * half: "an inside reading"},
                "centre": {half: "an outside reading", -half: "an inside reading"},
            }[reading.how]
            for size, what in slips.items():
                if abs(error - size) < near:
                    return f"it looks like {what} written as {reading.how}"
    if reading.how != "point" and reading.how != "rim":
        true = reading.value - error
        if abs(reading.value * 25.4 - true) < near or abs(reading.value / 25.4 - true) < near:
            return "it looks like inches and millimetres mixed up"
        if _swapped(reading.value, true, near):
            return "it looks like two digits swapped"
    return ""


def _swapped(written: float, true: float, near: float) -> bool:
    text = f"{abs(written):.2f}"
    for k in range(len(text) - 1):
        if text[k] != text[k + 1] and "." not in text[k : k + 2]:
            other = text[:k] + text[k + 1] + text[k] + text[k + 2 :]
            if abs(float(other) - true) < near:
                return True
    return False
