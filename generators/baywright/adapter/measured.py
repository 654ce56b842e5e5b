"""A measured pattern: its readings adjusted, mistakes named, holes in the plate's frame with their uncertainties."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from baywright.adapter.advice import next_readings
from baywright.adapter.readings import SHAFT, Layout, Reading
from baywright.adapter.survey import CHECKED, FOUND, Solution, Walk, covariance_blocks, thin_walk, twins
from baywright.adapter.suspects import Suspect, without_mistakes
from baywright.shape.pattern import Side, spacing

# Half axes of the ellipse that holds 95 % of a plane normal distribution, in standard deviations: sqrt(chi2(2, 95 %)).
IN_95 = 2.448


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleResult:
    """One hole of a measured pattern.

    Attributes:
        name: as in the readings.
        x: mm right of the shaft's centre line.
        y: mm above it.
        diameter: as measured, mm; None if no reading says it.
        long: long half axis of its standard ellipse, mm.
        short: short half axis, mm.
        direction: of the long axis, degrees counter-clockwise from x, 0 … 180.
        readings: how many readings reach it.
        unseen: how far a mistake in one of its readings could shift it without being noticed, mm; inf if a reading is
            not checked by any other.
        by: the label of that reading.
    """

    name: str
    x: float
    y: float
    diameter: float | None
    long: float
    short: float
    direction: float
    readings: int
    unseen: float
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One reading beside what it should have been, mm (scanned points: distances)."""

    label: str
    read: float
    fitted: float
    residual: float
    test: float
    redundancy: float
    left_out: bool


@dataclass(frozen=True, eq=False, kw_only=True)
class Measured:
    """The result of a set of readings.

    Attributes:
        name: of the part that was measured.
        seen_from: the side that x and y are seen from.
        solution: the adjusted readings, those left out not among them.
        suspects: readings left out because they contradict the others.
        folded: holes that could as well stand elsewhere, with all node positions if they did.
        origin: "shaft", or "middle" if no reading reaches the shaft.
        turn: degrees that the adjustment's frame is turned counter-clockwise to give the plate's.
    """

    name: str
    seen_from: Side
    solution: Solution
    suspects: tuple[Suspect, ...]
    folded: tuple[tuple[tuple[str, ...], NDArray[np.float64]], ...]
    origin: str
    turn: float

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The holes' names, without the shaft."""
        return tuple(n for n in self.solution.layout.nodes if n != SHAFT)

    @cached_property
    def _turning(self) -> NDArray[np.float64]:
        c, s = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        return np.array([[c, -s], [s, c]])

    @cached_property
    def positions(self) -> NDArray[np.float64]:
        """Hole positions (n, 2) mm in the plate's frame."""
        nodes, n = self.solution.positions, len(self.names)
        origin = nodes[n] if self.origin == SHAFT else nodes[:n].mean(axis=0)
        out: NDArray[np.float64] = (nodes[:n] - origin) @ self._turning.T
        return out

    @cached_property
    def covariance(self) -> NDArray[np.float64]:
        """Covariance (2n, 2n) mm² of `positions`, widened if the readings spread more than stated."""
        n2 = 2 * len(self.names)
        cov = self.solution.covariance(SHAFT if self.origin == SHAFT else None)[:n2, :n2]
        whole = np.kron(np.eye(len(self.names)), self._turning)
        out: NDArray[np.float64] = whole @ cov @ whole.T * self.solution.scale**2
        return out

    @cached_property
    def holes(self) -> tuple[HoleResult, ...]:
        """Every hole with its place, its ellipse and how far a mistake could hide."""
        layout = self.solution.layout
        values, vectors = np.linalg.eigh(covariance_blocks(self.covariance))
        axes = np.sqrt(np.clip(values, 0, None))
        unseen = self._unseen()
        found = []
        for k, name in enumerate(self.names):
            x, y = self.positions[k].tolist()
            u, v = vectors[k, :, 1].tolist()
            reach, by = unseen[name]
            found.append(
                HoleResult(
                    name=name,
                    x=x,
                    y=y,
                    diameter=layout.diameter(self.solution.unknowns, name),
                    long=float(axes[k, 1]),
                    short=float(axes[k, 0]),
                    direction=math.degrees(math.atan2(v, u)) % 180,
                    readings=sum(name in (r.first, r.second) and r.how != "diameter" for r in layout.readings),
                    unseen=reach,
                    by=by,
                )
            )
        return tuple(found)

    def _unseen(self) -> dict[str, tuple[float, str]]:
        """Return for each hole how far the worst undetected mistake would shift it, and in which reading that is.

        The external reliability of surveying: the mistake that its test finds four times out of five, carried through
        the adjustment.
        """
        s, layout = self.solution, self.solution.layout
        jac = layout.predicted(s.unknowns)[1]
        n = len(self.names)
        r = np.clip(s.redundancy, 1e-9, None)
        hidden = FOUND * layout.sigmas / np.sqrt(r)
        shift = (s.cofactor @ (jac / layout.sigmas[:, None] ** 2).T) * hidden
        moves = s.datum(SHAFT if self.origin == SHAFT else None) @ shift[: 2 * len(layout.nodes)]
        far = np.linalg.norm(moves.T.reshape(len(hidden), -1, 2)[:, :n], axis=2)
        worst = np.argmax(far, axis=0)
        out = {}
        for k, name in enumerate(self.names):
            w = int(worst[k])
            reach = math.inf if s.redundancy[w] < 1e-6 else float(far[w, k])
            out[name] = reach, layout.readings[int(layout.owner[w])].label
        return out

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """Every reading beside what it should have been, those left out last."""
        s, layout = self.solution, self.solution.layout
        found = []
        for k, reading in enumerate(layout.readings):
            mine = np.nonzero(layout.owner == k)[0]
            found.append(_row(reading, s, mine.tolist()))
        for suspect in self.suspects:
            read = suspect.reading.value
            found.append(
                Row(
                    label=suspect.reading.label,
                    read=read,
                    fitted=read - suspect.error if suspect.reading.how not in ("point", "rim") else 0.0,
                    residual=suspect.error,
                    test=suspect.test,
                    redundancy=1.0,
                    left_out=True,
                )
            )
        return tuple(found)

    def overlapping(self) -> list[tuple[str, str]]:
        """Return pairs of holes that lie on one another: one hole under two names, or a reading to the wrong hole."""
        half = [(h.diameter or 1.0) / 2 for h in self.holes]
        gap = spacing(self.positions)
        return [
            (self.names[i], self.names[j])
            for i in range(len(half))
            for j in range(i + 1, len(half))
            if gap[i, j] < half[i] + half[j]
        ]

    @property
    def unchecked(self) -> tuple[str, ...]:
        """Labels of readings that the others hardly check, so that a mistake in them would not show."""
        return tuple(row.label for row in self.rows if row.redundancy < CHECKED)

    def next_readings(self, count: int = 2) -> list[tuple[str, str, float]]:
        """Return the further centre distances that would help most: (hole, hole, worst spread after it in mm)."""
        typical = float(np.median(self.solution.layout.sigmas))
        return next_readings(self.solution, typical, count, tuple(places for _, places in self.folded))


def measure(
    name: str,
    layout: Layout,
    walk: Walk,
    *,
    seen_from: Side,
    level: tuple[str, str] | None = None,
) -> Measured:
    """Return a measured pattern.

    Args:
        name: of the part.
        layout: the readings.
        walk: which way round three holes are met, as seen from `seen_from`.
        seen_from: the side that scanned points and edges, if there are any, and the result are seen from.
        level: two holes (or the shaft) whose line runs level, from left to right; without it the first hole stands at
            the top.

    Raises:
        ValueError: if the readings cannot be laid out; the sentence says what to measure or to change.
    """
    if len([n for n in layout.nodes if n != SHAFT]) < 3:
        raise ValueError("a pattern needs readings of at least three holes")
    solution, suspects = without_mistakes(layout, walk)
    folded = tuple(twins(solution, walk))
    if solution.loose:
        held = "a hole" if len(solution.loose) == 1 else "holes"
        named = ", ".join("the shaft" if n == SHAFT else n for n in solution.loose)
        wanted = next_readings(solution, float(np.median(layout.sigmas)), 2, tuple(p for _, p in folded))
        ask = " and ".join(f"{a} to {b}" for a, b, _ in wanted)
        raise ValueError(f"the readings do not hold {held} ({named}) in place: also measure {ask}")
    if thin_walk(solution, walk):
        raise ValueError(
            f"holes {', '.join(walk.holes)} lie nearly in a line, which has no way round: name three that do not"
        )
    origin = SHAFT if SHAFT in solution.layout.nodes else "middle"
    return Measured(
        name=name,
        seen_from=seen_from,
        solution=solution,
        suspects=suspects,
        folded=folded,
        origin=origin,
        turn=_turn(solution, origin, level),
    )


def _turn(solution: Solution, origin: str, level: tuple[str, str] | None) -> float:
    where = dict(zip(solution.layout.nodes, solution.positions, strict=True))
    if level is not None:
        along = where[level[1]] - where[level[0]]
        return -math.degrees(math.atan2(float(along[1]), float(along[0])))
    holes = [n for n in solution.layout.nodes if n != SHAFT]
    centre = where[SHAFT] if origin == SHAFT else np.mean([where[n] for n in holes], axis=0)
    up = where[holes[0]] - centre
    return 90.0 - math.degrees(math.atan2(float(up[1]), float(up[0])))


def _row(reading: Reading, solution: Solution, mine: list[int]) -> Row:
    """Return the table's row of one reading; a scanned centre shows how far off it lies."""
    residuals, tests = solution.residuals[mine], solution.tests[mine]
    apart = float(np.hypot(*residuals)) if len(mine) == 2 else float(residuals[0])
    point = reading.how == "point"
    return Row(
        label=reading.label,
        read=apart if point else reading.value,
        fitted=0.0 if point else float(solution.fitted[mine[0]]),
        residual=apart,
        test=float(np.abs(tests).max()) if point else float(tests[0]),
        redundancy=float(solution.redundancy[mine].min()),
        left_out=False,
    )
