"""Bays as the job has them: blocks and prisms measured by tape, keep-outs, the opening, a scan, what moves."""

from collections.abc import Sequence

from pydantic import Field, model_validator

from baywright.job.row import Row
from baywright.job.scans import Moving
from baywright.job.units import Measured, MeasuredLength, NonNegativeLength

_Spot = tuple[float, float]


def _above(low: Measured, high: Measured, what: str) -> None:
    if high.value <= low.value:
        raise ValueError(f"{what}: high ({high.value:g} mm) must be more than low ({low.value:g} mm)")


def _once_round(plan: Sequence[tuple[Measured, Measured]]) -> None:
    """Refuse an outline that has no area, repeats a corner, or touches or crosses itself."""
    corners = [(x.value, y.value) for x, y in plan]
    sides = list(zip(corners, [*corners[1:], corners[0]], strict=True))
    for number, (a, b) in enumerate(sides, 1):
        if a == b:
            again = number % len(corners) + 1
            raise ValueError(f"corners {number} and {again} are the same point; the outline closes by itself")
    for i, first in enumerate(sides):
        for j in range(i + 1, len(sides)):
            apart = min(j - i, len(sides) - (j - i))
            if (apart > 1 and _meet(first, sides[j])) or (apart == 1 and _folds_back(first, sides[j])):
                raise ValueError(
                    f"the side from corner {i + 1} meets the side from corner {j + 1}: "
                    "give the corners in order, once round"
                )


def _turn(a: _Spot, b: _Spot, c: _Spot) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _within(a: _Spot, b: _Spot, c: _Spot) -> bool:
    return min(a[0], b[0]) <= c[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= c[1] <= max(a[1], b[1])


def _meet(first: tuple[_Spot, _Spot], second: tuple[_Spot, _Spot]) -> bool:
    """Tell whether two sides without a corner in common share a point."""
    (a, b), (c, d) = first, second
    turns = _turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b)
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    ends = ((turns[0], a, b, c), (turns[1], a, b, d), (turns[2], c, d, a), (turns[3], c, d, b))
    return any(turn == 0 and _within(p, q, end) for turn, p, q, end in ends)


def _folds_back(first: tuple[_Spot, _Spot], second: tuple[_Spot, _Spot]) -> bool:
    """Tell whether two sides that share a corner lie on each other."""
    shared = next(p for p in first if p in second)
    a = next(p for p in first if p != shared)
    b = next(p for p in second if p != shared)
    along = (a[0] - shared[0]) * (b[0] - shared[0]) + (a[1] - shared[1]) * (b[1] - shared[1])
    return _turn(shared, a, b) == 0 and along > 0


class BlockSpace(Row):
    """A rectangular part of a bay between two opposite corners (vehicle frame, mm, with the tape's tolerance).

    Attributes:
        low: its least X, Y, Z: front, left and lower.
        high: its most X, Y, Z: rear, right and upper.
    """

    low: tuple[MeasuredLength, MeasuredLength, MeasuredLength]
    high: tuple[MeasuredLength, MeasuredLength, MeasuredLength]

    @model_validator(mode="after")
    def _ordered(self) -> "BlockSpace":
        for name, low, high in zip("xyz", self.low, self.high, strict=True):
            _above(low, high, name)
        return self


class Prism(Row):
    """An upright part of a bay over a plan outline, between two heights (vehicle frame, mm)."""

    plan: list[tuple[MeasuredLength, MeasuredLength]] = Field(min_length=3, max_length=200)
    low: MeasuredLength
    high: MeasuredLength

    @model_validator(mode="after")
    def _ordered(self) -> "Prism":
        _above(self.low, self.high, "z")
        _once_round(self.plan)
        return self


class KeepOut(BlockSpace):
    """Something in a bay that stays: steering column, hose, strut."""

    name: str


class Opening(Row):
    """The opening that a box goes down through: a rectangle or a plan outline (vehicle frame, mm)."""

    low: tuple[MeasuredLength, MeasuredLength] | None = None
    high: tuple[MeasuredLength, MeasuredLength] | None = None
    plan: list[tuple[MeasuredLength, MeasuredLength]] | None = Field(default=None, min_length=3, max_length=200)

    @model_validator(mode="after")
    def _one(self) -> "Opening":
        rectangle = self.low is not None and self.high is not None
        if rectangle == (self.plan is not None) or (self.low is None) != (self.high is None):
            raise ValueError("give either low and high [x, y], or a plan of at least three corners")
        if self.low is not None and self.high is not None:
            for name, low, high in zip("xy", self.low, self.high, strict=True):
                _above(low, high, name)
        if self.plan is not None:
            _once_round(self.plan)
        return self


class Bay(Row):
    """A bay measured by tape: blocks and prisms joined, less the keep-outs; and the least clearance asked, mm.

    The default clearance, 10 mm, is a finger's width: common practice, no source.

    Attributes:
        scan: the file that describes a scan of it, by its path from the job file.
        moving: what moves in it or beside it, given at rest.
    """

    description: str = ""
    blocks: list[BlockSpace] = Field(default=[], max_length=100)
    prisms: list[Prism] = Field(default=[], max_length=100)
    keep_outs: list[KeepOut] = Field(default=[], max_length=100)
    opening: Opening | None = None
    clearance: NonNegativeLength = 10.0
    scan: str | None = Field(default=None, min_length=1, max_length=500)
    moving: list[Moving] = Field(default=[], max_length=50)

    @model_validator(mode="after")
    def _some(self) -> "Bay":
        if not self.blocks and not self.prisms:
            raise ValueError("a bay needs at least one block or prism")
        return self
