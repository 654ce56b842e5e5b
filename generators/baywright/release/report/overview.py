"""The review at a glance: for each thing and subject, the worst that was found, how often, and where to read it."""

from collections.abc import Sequence
from dataclasses import dataclass

from baywright.finding import Finding, Verdict, verdict_of
from baywright.review import Review

# What the findings are about, in the order of the table's columns.
FIT, STRENGTH, MAKING, ELECTRICS, BALANCE, DRIVE = "fit", "strength", "making", "electrics", "balance", "drive"
TOPICS = {
    FIT: "room in the bay and for modules, the way in, mounts where they were measured",
    STRENGTH: "bonds, screws, panels and bars under the load cases",
    MAKING: "cutting, drilling, screws and inserts, machining",
    ELECTRICS: "voltages, currents, fuse and cables, earth, touch",
    BALANCE: "masses, axle and tyre loads, centroid",
    DRIVE: "range, torque, grip, speed",
}
_FIT = (
    "clearance",
    "clear of",
    "inside the bay",
    "way in",
    "modules' way in",
    "module gap",
    "overlap",
    "outside",
    "service space",
    "room for cables",
    "lid off",
    "rocking",
    "rubber",
    "mount place",
    "tape",
    "gap before",
    "spline",
    "nose in",
    "run-out",
    "clocking",
    "fit",
)
_DRIVE = ("starting on a slope", "grip", "motor speed", "gearbox torque", "range")
_ELECTRICS = ("poles to metal", "earth", "finger-safe", "liner", "creepage", "isolation", "touch voltage")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One thing's findings on one topic.

    Attributes:
        verdict: the worst.
        counts: how many fail, are to look at, pass.
        first: place of the worst in the review's findings.
    """

    verdict: Verdict
    counts: tuple[int, int, int]
    first: int


def topic_of(finding: Finding, reviewed: Review) -> str:
    """Return what a finding is about: one of `TOPICS`."""
    if finding.subject == "pack" or finding.check.startswith(_ELECTRICS):
        return ELECTRICS
    if any(finding is one for one in reviewed.strength):
        return STRENGTH
    if finding.subject == "car":
        return DRIVE if finding.check in _DRIVE else BALANCE
    return FIT if finding.check.startswith(_FIT) else MAKING


def overview(reviewed: Review) -> list[tuple[str, list[Cell | None]]]:
    """Return a row for each thing, the worst first: its name and a cell for each of `TOPICS`, None where nothing is."""
    found: dict[str, dict[str, list[int]]] = {}
    for place, finding in enumerate(reviewed.findings):
        found.setdefault(finding.subject, {}).setdefault(topic_of(finding, reviewed), []).append(place)
    return [
        (subject, [_cell(reviewed.findings, topics[topic]) if topic in topics else None for topic in TOPICS])
        for subject, topics in found.items()
    ]


def _cell(findings: Sequence[Finding], places: Sequence[int]) -> Cell:
    some = [findings[place] for place in places]
    fail, look, good = (sum(f.verdict == verdict for f in some) for verdict in ("fail", "look", "pass"))
    return Cell(verdict=verdict_of(some), counts=(fail, look, good), first=places[0])
