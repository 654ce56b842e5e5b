"""A finding: one thing that was checked, what was found, what was allowed, and on whose word."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Verdict = Literal["pass", "look", "fail"]
_WORST_FIRST = {"fail": 0, "look": 1, "pass": 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One check of a design.

    Attributes:
        subject: what was checked: "box front", "car".
        check: the check's name in the trade's words: "edge distance".
        verdict: "pass", "look" (a person should look at it) or "fail".
        message: one sentence that says what was found and, unless it passes, what to change.
        value: what was found, in `unit`; None where the check is not a number.
        limit: what is allowed, in `unit`.
        unit: "mm", "kg", "%", "" …
        margin: how far inside the limit, as a share of it (0.1 = a tenth to spare, negative = over); None if none.
        source: whose limit it is.
        where: marks of the pieces or names of the places it is about.
        at: a point (x, y, z) mm in the subject's frame, if there is one.
    """

    subject: str
    check: str
    verdict: Verdict
    message: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    margin: float | None = None
    source: str = ""
    where: tuple[str, ...] = ()
    at: tuple[float, float, float] | None = None


def at_least(value: float, limit: float) -> float:
    """Return the margin of a value that must not be below `limit`, as a share of the limit (of 1 unit if it is 0)."""
    return (value - limit) / (abs(limit) or 1.0)


def at_most(value: float, limit: float) -> float:
    """Return the margin of a value that must not exceed `limit`, as a share of the limit (of 1 unit if it is 0)."""
    return (limit - value) / (abs(limit) or 1.0)


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings with failures first, and the smallest margin first among equals."""
    return sorted(findings, key=lambda f: (_WORST_FIRST[f.verdict], 1e9 if f.margin is None else f.margin))


def verdict_of(findings: Iterable[Finding]) -> Verdict:
    """Return the worst verdict among the findings; "pass" if there are none."""
    return min((f.verdict for f in findings), key=_WORST_FIRST.__getitem__, default="pass")


class CannotBuild(Exception):
    """What was asked cannot be made; one sentence says why and which key to change.

    Attributes:
        key: the key of the request, without the name of the part ("columns", "fittings").
        sentence: what is wrong and what to do.
    """

    def __init__(self, key: str, sentence: str) -> None:
        super().__init__(sentence)
        self.key = key
        self.sentence = sentence
