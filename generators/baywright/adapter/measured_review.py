"""What is right or wrong about a set of readings: findings for whoever took them."""

import math
from dataclasses import dataclass

import numpy as np

from baywright.adapter.chance import ENOUGH, Passing, least_class
from baywright.adapter.file import pattern_of
from baywright.adapter.matching import Match, matches
from baywright.adapter.measured import IN_95, Measured
from baywright.adapter.survey import CHECKED, CRITICAL, chi2_limit
from baywright.adapter.suspects import Suspect
from baywright.adapter.thread import thread_of
from baywright.finding import Finding, at_least, at_most, worst_first
from baywright.job.catalogue import Catalogue
from baywright.job.patterns import ReadingsFile

# Position of a dowel hole, one side: beyond it dowels bind or stand off centre (common practice, no source).
DOWEL_LIMIT = 0.15
# A mistake that could move a hole this far without being noticed wants another reading (common practice, no source).
UNSEEN_LIMIT = 0.5

_TESTING = "Baarda 1968: data snooping at the 0.1 % level"


@dataclass(frozen=True, eq=False, kw_only=True)
class ReadingsReview:
    """A measured pattern and what is to be said about it.

    Attributes:
        file: the readings.
        measured: the pattern.
        findings: worst first.
        chances: by clearance class, how often all bolts pass.
        wide_enough: the first class with which 99 in 100 plates go on, or None.
        match: the catalogue's pattern that it is, or None.
    """

    file: ReadingsFile
    measured: Measured
    findings: tuple[Finding, ...]
    chances: dict[str, Passing]
    wide_enough: str | None
    match: Match | None


def review_readings(file: ReadingsFile, measured: Measured, catalogue: Catalogue) -> ReadingsReview:
    """Return the review of a measured pattern, compared with the catalogue's patterns.

    Raises:
        BadInput: if the thread of its bolts is not known.
    """
    wide_enough, chances = _chances(file, measured, catalogue)
    found = next(iter(_known(measured, file, catalogue)), None)
    findings = [
        *_agreement(measured),
        *(_suspect(s) for s in measured.suspects),
        *_folds(measured),
        *_datum(measured),
        *_overlaps(measured),
        *_holes(file, measured),
        *_bolts(file, wide_enough, chances),
        *_match(found, measured),
    ]
    return ReadingsReview(
        file=file,
        measured=measured,
        findings=tuple(worst_first(findings)),
        chances=chances,
        wide_enough=wide_enough,
        match=found,
    )


def _chances(file: ReadingsFile, measured: Measured, catalogue: Catalogue) -> tuple[str | None, dict[str, Passing]]:
    """Return the least clearance class that is wide enough for the bolts, and every class's chance."""
    kept = [k for k, name in enumerate(measured.names) if name not in file.holes.dowels]
    if not kept:
        return None, {}
    thread = thread_of(catalogue, file.holes.thread)
    both = np.array([2 * k + axis for k in kept for axis in (0, 1)])
    n = len(kept)
    row = thread.row.clearance
    classes = {"fine": np.full(n, row.fine), "medium": np.full(n, row.medium), "coarse": np.full(n, row.coarse)}
    widths = [measured.holes[k].diameter for k in kept]
    if file.holes.kind == "through" and all(w is not None and w > thread.diameter for w in widths):
        classes = {"as measured": np.array(widths, dtype=float), **classes}
    return least_class(
        measured.positions[kept],
        measured.covariance[np.ix_(both, both)],
        np.full(n, thread.diameter),
        classes,
        tuple(measured.names[k] for k in kept),
        cut=file.cut,
        located=file.located,
    )


def _known(measured: Measured, file: ReadingsFile, catalogue: Catalogue) -> list[Match]:
    """Return the catalogue's patterns that the measured holes lie on, those of as many holes first."""
    names = [
        name
        for name in catalogue.names("pattern")
        if catalogue.raw["pattern"][name].data.get("readings") is None
        and catalogue.raw["pattern"][name].data.get("dxf") is None
    ]
    known = [pattern_of(catalogue, name).seen(file.seen_from) for name in names]
    within = max(0.5, 3 * IN_95 * max(h.long for h in measured.holes))
    # A few holes of a ring lie on many rings: only a pattern that is met nearly whole is named.
    return [m for m in matches(measured.positions, known, within) if len(m.missing) <= len(m.partner) // 3]


def _agreement(measured: Measured) -> list[Finding]:
    s = measured.solution
    if s.spare <= 0:
        return [
            Finding(
                subject=measured.name,
                check="readings agree",
                verdict="fail",
                message="no reading is checked by another: a mistake would go unnoticed; take more readings",
                value=float(s.spare),
                limit=1.0,
                source=_TESTING,
            )
        ]
    limit = chi2_limit(s.spare)
    good = s.agrees
    spread = math.sqrt(s.chi2 / s.spare)
    return [
        Finding(
            subject=measured.name,
            check="readings agree",
            verdict="pass" if good else "look",
            message=f"{len(s.layout.owner)} readings, {s.spare} more than needed, spread {spread:.2f} times as stated"
            + ("" if good else ": they are worse than their uncertainty says; all figures are widened to suit"),
            value=s.chi2,
            limit=limit,
            margin=at_most(s.chi2, limit),
            source="chi-squared test, 0.1 % level",
        )
    ]


def _suspect(suspect: Suspect) -> Finding:
    message = f"reading {suspect.reading.label} is off by {suspect.error:+.2f} mm against all others and is left out"
    if suspect.hint:
        message += f"; {suspect.hint}"
    if suspect.rivals:
        message += f"; it may also be {' or '.join(suspect.rivals)} that is wrong: read both again"
    else:
        message += ": read it again"
    return Finding(
        subject=suspect.reading.label,
        check="wrong reading",
        verdict="fail",
        message=message,
        value=abs(suspect.test),
        limit=CRITICAL,
        margin=at_most(abs(suspect.test), CRITICAL),
        source=_TESTING,
        where=(suspect.reading.first, suspect.reading.second) if suspect.reading.second else (suspect.reading.first,),
    )


def _folds(measured: Measured) -> list[Finding]:
    wanted = measured.next_readings(1) if measured.folded else []
    ask = f": also measure {wanted[0][0]} to {wanted[0][1]}" if wanted else ""
    return [
        Finding(
            subject=measured.name,
            check="one place only",
            verdict="fail",
            message=f"hole{'s' if len(names) > 1 else ''} {', '.join(names)} could as well stand on the other side of "
            f"the holes measured from{ask}",
            source="readings",
            where=names,
        )
        for names, _ in measured.folded
    ]


def _datum(measured: Measured) -> list[Finding]:
    if measured.origin == "shaft":
        return []
    return [
        Finding(
            subject=measured.name,
            check="datum",
            verdict="fail",
            message="no reading reaches the shaft: positions count from the middle of the holes, and no plate can be "
            "made from them; measure at least three holes to the shaft (call it 'shaft')",
            source="readings",
        )
    ]


def _overlaps(measured: Measured) -> list[Finding]:
    return [
        Finding(
            subject=measured.name,
            check="holes apart",
            verdict="fail",
            message=f"holes {a} and {b} lie on one another: one hole under two names, or a reading to the wrong hole",
            source="readings",
            where=(a, b),
        )
        for a, b in measured.overlapping()
    ]


def _holes(file: ReadingsFile, measured: Measured) -> list[Finding]:
    """Return how well the holes are held: dowels by their zone, every hole by the mistake that could hide."""
    found = []
    ask = " and ".join(f"{a} to {b}" for a, b, _ in measured.next_readings())
    help_ = f"; best further readings: {ask}" if ask else ""
    dowels = [h for h in measured.holes if h.name in file.holes.dowels]
    for hole in dowels:
        zone = IN_95 * hole.long
        good = zone <= DOWEL_LIMIT
        found.append(
            Finding(
                subject=f"dowel {hole.name}",
                check="how well held",
                verdict="pass" if good else "look",
                message=f"dowel {hole.name} is known to {zone:.3f} mm (19 times in 20)"
                + ("" if good else f"; drill undersize and ream in place{help_}"),
                value=zone,
                limit=DOWEL_LIMIT,
                unit="mm",
                margin=at_most(zone, DOWEL_LIMIT),
                source="common practice, no source",
                where=(hole.name,),
            )
        )
    worst = max(measured.holes, key=lambda h: h.long)
    found.append(
        Finding(
            subject=f"hole {worst.name}",
            check="weakest hole",
            verdict="pass",
            message=f"hole {worst.name} is held least: {IN_95 * worst.long:.3f} mm (19 times in 20){help_}",
            value=IN_95 * worst.long,
            unit="mm",
            source="least squares",
            where=(worst.name,),
        )
    )
    # A mistake that nothing checks turns the whole pattern with it: of all holes it moves, the one held least is named.
    hidden = max(measured.holes, key=lambda h: (h.unseen, h.long))
    if hidden.unseen > UNSEEN_LIMIT:
        size = f"{hidden.unseen:.2f} mm" if math.isfinite(hidden.unseen) else "any distance"
        found.append(
            Finding(
                subject=f"hole {hidden.name}",
                check="hidden mistake",
                verdict="look",
                message=f"a mistake in reading {hidden.by} could move hole {hidden.name} by {size} unnoticed{help_}",
                value=hidden.unseen if math.isfinite(hidden.unseen) else None,
                limit=UNSEEN_LIMIT,
                unit="mm",
                source="Baarda 1968: external reliability; limit: common practice, no source",
                where=(hidden.name,),
            )
        )
    # A hole gauged once whose width matters to nothing else is unchecked by nature: only distances are named.
    bare = [label for label in measured.unchecked if not label.startswith("diameter")]
    if bare:
        found.append(
            Finding(
                subject=measured.name,
                check="unchecked readings",
                verdict="look",
                message=f"nothing checks {', '.join(bare[:6])}{' …' if len(bare) > 6 else ''}: a mistake there would "
                f"not show{help_}",
                value=float(len(bare)),
                limit=0.0,
                source=f"redundancy number under {CHECKED:g}",
            )
        )
    return found


def _bolts(file: ReadingsFile, wide_enough: str | None, chances: dict[str, Passing]) -> list[Finding]:
    if not chances:
        return []
    best = chances[wide_enough] if wide_enough else list(chances.values())[-1]
    told = ", ".join(f"{name} {100 * c.chance:.1f} %" for name, c in chances.items())
    good = wide_enough not in (None, "coarse")
    advice = (
        f"; {wide_enough} holes reach 99 %"
        if wide_enough
        else f"; none reaches 99 %: hole {best.worst} stops most, measure it again"
    )
    return [
        Finding(
            subject=file.name,
            check="bolts pass",
            verdict="pass" if good else ("look" if wide_enough else "fail"),
            message=f"chance that all {file.holes.thread} bolts pass: {told}{advice}",
            value=best.chance,
            limit=ENOUGH,
            margin=at_least(best.chance, ENOUGH),
            source="ISO 273 or ASME B18.2.8 holes; 4000 simulated plates",
        )
    ]


def _match(found: Match | None, measured: Measured) -> list[Finding]:
    if found is None:
        return []
    worst = int(np.argmax(found.residual))
    text = (
        f"the holes are those of {found.pattern.name}, turned {found.turn:.2f} deg clockwise, "
        f"at most {found.residual[worst]:.2f} mm off (hole {measured.names[worst]})"
    )
    if found.missing:
        text += f"; {len(found.missing)} of its holes were not measured"
    shift = math.hypot(*found.shift)
    if measured.origin == "shaft" and shift > 0.3:
        text += f"; its centre lies {shift:.2f} mm from the shaft: check the readings to the shaft"
    if found.mirrored:
        text += ": but as its mirror image; check `walking` and the side that it is seen from"
    look = found.mirrored or (measured.origin == "shaft" and shift > 0.3)
    return [
        Finding(
            subject=measured.name,
            check="known pattern",
            verdict="look" if look else "pass",
            message=text,
            value=float(found.residual[worst]),
            unit="mm",
            source=found.pattern.source,
        )
    ]
