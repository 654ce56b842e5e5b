"""What to measure next: where the tape's or the scan's own slack decides whether a box goes in."""

from collections.abc import Sequence
from dataclasses import dataclass

from baywright.bay.fit import FitResult
from baywright.bay.near import Clearance
from baywright.bay.surround import Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """A measurement worth taking again.

    Attributes:
        what: the measurement, as the bay names it.
        now: how far it may be off as measured, ± mm.
        wanted: how well it must be known for the verdict to stand, ± mm.
        side: where it is on the box, or "" for a thing or a scan.
        says: one sentence.
    """

    what: str
    now: float
    wanted: float
    side: str
    says: str


def measure_next(fit: FitResult) -> tuple[Advice, ...]:
    """Return the measurements of the tape that decide a fit, the most decisive first; none if the verdict stands."""
    every = [*fit.sides, *(c for _, c in fit.keep_outs), *fit.way_in]
    found = [a for c in every if (a := _of(c)) is not None]
    best: dict[str, Advice] = {}
    for one in found:
        if one.what not in best or one.wanted < best[one.what].wanted:
            best[one.what] = one
    return tuple(sorted(best.values(), key=lambda a: a.wanted / max(a.now, 1e-9)))


def _of(c: Clearance) -> Advice | None:
    slack = c.nominal - c.worst
    spare = c.nominal - c.needed
    if slack <= 0.05 or abs(spare) >= slack:
        return None  # known well enough: it passes, or fails, at every value that the tape leaves open
    wanted = max(abs(spare), 0.5)
    then = "it fits for certain" if spare >= 0 else "it fails for certain, unless the bay turns out larger"
    says = (
        f"measure {c.against} to ±{wanted:.1f} mm (±{slack:.0f} mm now): {c.nominal:.1f} mm found, "
        f"{c.needed:g} mm asked; at that {then}"
    )
    return Advice(what=c.against, now=slack, wanted=wanted, side=c.side, says=says)


def scan_next(stands: Standing, clearance: float) -> tuple[Advice, ...]:
    """Return the places of a scan whose trust decides a clearance, the most decisive first: gauge them by hand."""
    found: dict[str, Advice] = {}
    for one in stands.pieces:
        spare = one.gap.distance - clearance
        if one.trust <= 0.05 or abs(spare) >= one.trust or one.against in found:
            continue
        x, y, z = one.gap.on_skin
        found[one.against] = Advice(
            what=one.against,
            now=one.trust,
            wanted=max(abs(spare), 0.5),
            side="",
            says=f"gauge the gap at '{one.gap.mark}' (X {x:.0f}, Y {y:.0f}, Z {z:.0f} mm) by hand: "
            f"{one.gap.distance:.1f} mm by {one.against}, which may be off by {one.trust:.1f} mm; "
            f"{clearance:g} mm asked",
        )
    return tuple(found.values())


def sentences(advice: Sequence[Advice]) -> list[str]:
    """Return the advice as lines, or the line that none is needed."""
    return [a.says for a in advice] or ["nothing: the verdict stands at every value that tape and scan leave open"]
