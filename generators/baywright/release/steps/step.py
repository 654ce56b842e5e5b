"""One step of putting something together: what is done, joined, driven and written down."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from baywright.piece.assembly import Assembly
from baywright.piece.joint import Bond, ScrewLine


@dataclass(frozen=True, slots=True)
class Table:
    """A table of a step: headings, rows, widths of the columns in mm."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]


@dataclass(slots=True)
class Step:
    """One step.

    Attributes:
        title: what is done.
        does: what to tick off.
        new: marks of the pieces that it adds: drawn strong and pulled away from their places.
        there: marks of the pieces that are there when it is done.
        bonds: what is glued.
        lines: what is screwed.
        tables: what else is looked up while it is done.
        round: places (n, 2) mm, from above, of screws that are tightened in an order of their own, drawn numbered.
        fields: names of fields to fill in by hand.
        notes: sentences below.
    """

    title: str
    does: list[str]
    new: set[str] = field(default_factory=set)
    there: set[str] = field(default_factory=set)
    bonds: list[Bond] = field(default_factory=list)
    lines: list[ScrewLine] = field(default_factory=list)
    tables: list[Table] = field(default_factory=list)
    round: NDArray[np.float64] | None = None
    fields: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def fasteners_of(assembly: Assembly, lines: list[ScrewLine]) -> dict[str, list[str]]:
    """Return the marks of the screws, washers, nuts and tubes of some lines, by the line's name."""
    return {
        line.name: [
            mark
            for number in range(1, len(line.points) + 1)
            for mark in (
                *([f"{line.name} {number}"] if line.screw is not None else []),
                *(f"{line.name} {number} {extra.piece.role}" for extra in line.along),
            )
        ]
        for line in lines
    }


def screws_of(lines: list[ScrewLine]) -> int:
    """Return how many screws some lines have."""
    return sum(len(line.points) for line in lines if line.screw is not None)
