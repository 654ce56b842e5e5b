"""Hole tables: every hole of a plate with coordinates, size and what the shop must know, as seen from either side."""

import csv
import math
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from baywright.adapter.design import AdapterDesign
from baywright.shape.loop import as_circle, bounds
from baywright.shape.pattern import Side

COLUMNS = ("no", "belongs to", "x mm", "y mm", "radius mm", "clock deg", "size mm", "depth mm", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleLine:
    """One opening of a plate.

    Attributes:
        number: from 1, in the table's order: bores first, then clockwise from the top.
        belongs: the joint it belongs to, or what it is.
        x: mm right of the shaft's centre line, as that side sees it.
        y: mm above it.
        size: diameter, mm; of another shape its width and height.
        depth: mm; None right through.
        side: the side that a blind one is sunk from; None right through.
        note: what a cut file cannot say.
    """

    number: int
    belongs: str
    x: float
    y: float
    size: tuple[float, ...]
    depth: float | None
    side: Side | None
    note: str

    @property
    def radius(self) -> float:
        """Distance from the shaft's centre line, mm."""
        return math.hypot(self.x, self.y)

    @property
    def clock(self) -> float:
        """Degrees clockwise from the top."""
        return math.degrees(math.atan2(self.x, self.y)) % 360

    @property
    def size_text(self) -> str:
        """The size as a table says it."""
        return f"Ø{self.size[0]:.2f}" if len(self.size) == 1 else " x ".join(f"{s:.2f}" for s in self.size)

    def cells(self) -> tuple[str, ...]:
        """Return the table's cells."""
        depth = "through" if self.depth is None else f"{self.depth:.2f} from the {self.side}'s side"
        numbers = [f"{v:.3f}" for v in (self.x, self.y, self.radius)]
        return (str(self.number), self.belongs, *numbers, f"{self.clock:.3f}", self.size_text, depth, self.note)


def hole_table(design: AdapterDesign, mark: str, seen_from: Side) -> list[HoleLine]:
    """Return every opening of a plate as one side sees it; numbers are the same from both sides."""
    at = next(p for p in design.plates if p.mark == mark)
    plate = design.piece(mark)
    own = 1.0 if at.seen_from == "motor" else -1.0
    look = 1.0 if seen_from == "motor" else -1.0
    rows = []
    for hole in plate.holes:
        ring = as_circle(hole.loop)
        x0, y0, x1, y1 = bounds(hole.loop)
        middle = ((x0 + x1) / 2, (y0 + y1) / 2) if ring is None else ring[:2]
        x = own * middle[0]
        size = (x1 - x0, y1 - y0) if ring is None else (ring[2],)
        blind = hole.depth < plate.thickness - 1e-6
        belongs = (
            hole.line if hole.line and hole.line != "ring" else ("bore" if _about_shaft(x, middle[1]) else "opening")
        )
        rows.append((x, middle[1], size, hole.depth if blind else None, belongs, hole.callout or hole.use))

    def order(row: tuple[float, float, tuple[float, ...], float | None, str, str]) -> tuple[bool, float, float]:
        clock = math.degrees(math.atan2(row[0], row[1])) % 360
        return not _about_shaft(row[0], row[1]), round(clock, 4), -row[2][0]

    return [
        HoleLine(
            number=number,
            belongs=belongs,
            x=look * x + 0.0,
            y=y,
            size=size,
            depth=depth,
            side=at.seen_from if depth is not None else None,
            note=note,
        )
        for number, (x, y, size, depth, belongs, note) in enumerate(sorted(rows, key=order), 1)
    ]


def write_hole_table(lines: Iterable[HoleLine], path: Path, seen_from: Side) -> Path:
    """Write a hole table as CSV, the side that it is seen from in its first line, and return the path."""
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow([f"seen from the {seen_from}; x right, y up from the shaft's centre line; clock from the top"])
        writer.writerow(COLUMNS)
        writer.writerows(line.cells() for line in lines)
    return path


def _about_shaft(x: float, y: float) -> bool:
    return math.hypot(x, y) < 1e-6
