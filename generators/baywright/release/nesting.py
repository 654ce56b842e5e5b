"""Nesting: flat pieces laid on stock sheets by material and thickness, with what each sheet costs the cutter.

Pieces whose outline is a rectangle are laid by the maximal-rectangles rule (J. Jylänki, "A thousand ways to pack the
bin", 2010): the same answer every time, in no time. Where outlines are not rectangles and time is given, a true-shape
solver is asked as well, and the better answer is kept.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from baywright.piece.numbering import Part
from baywright.piece.plate import Plate
from baywright.shape.loop import SAME, Loop, area, bounds, moved, polygon
from baywright.shape.profile import Profile

# Metal left between pieces, and along the sheet's edge where clamps and wavy edges are, mm: common practice, no source.
GAP, EDGE = 6.0, 10.0
_TRUE_SAGITTA = 0.2  # mm: outlines are grown by this much before the solver sees their chords


class Stock(Protocol):
    """A sheet as it is bought, as the shop's table has it (mm)."""

    @property
    def name(self) -> str:
        """Its name in the table."""

    @property
    def material(self) -> str:
        """Its material."""

    @property
    def thicknesses(self) -> Sequence[float]:
        """What it can be had in, mm."""

    @property
    def sheet_size(self) -> tuple[float, float]:
        """Its size, mm."""

    @property
    def grain(self) -> bool:
        """Whether it has a grain or a finish along its length that every piece's own x must follow."""


@dataclass(frozen=True, eq=False)
class Laid:
    """A piece on a sheet: its part, which one of them (from 1), where its own origin lies (mm), its turn in degrees."""

    part: Part
    count: int
    x: float
    y: float
    turn: float

    @property
    def profile(self) -> Profile:
        """Its outline and holes where they lie on the sheet, mm."""
        plate = self.part.piece
        assert isinstance(plate, Plate)
        loops = [moved(loop, self.x, self.y, self.turn) for loop in (plate.profile.outer, *plate.profile.holes)]
        return Profile(loops[0], tuple(loops[1:]))


@dataclass(frozen=True, eq=False, kw_only=True)
class NestedSheet:
    """One stock sheet and the pieces on it.

    Attributes:
        stock: the stock's name.
        material: its material.
        thickness: as bought, mm.
        size: of the sheet, mm.
        laid: the pieces.
        used: area of the pieces' outlines as a share of the sheet (holes count as used).
        cut_length: of all edges, mm.
        pierces: how often the cutter starts.
        left: length of the sheet beyond the last piece, mm: what goes back on the shelf, full width.
    """

    stock: str
    material: str
    thickness: float
    size: tuple[float, float]
    laid: tuple[Laid, ...]
    used: float
    cut_length: float
    pierces: int
    left: float


@dataclass(frozen=True, eq=False)
class Nesting:
    """Every sheet of a job, and sentences about pieces that found no place."""

    sheets: tuple[NestedSheet, ...]
    problems: tuple[str, ...]


def nest(
    parts: Iterable[Part],
    stocks: Iterable[Stock],
    *,
    gap: float = GAP,
    edge: float = EDGE,
    true_shape_seconds: int = 0,
) -> Nesting:
    """Return a job's plates on stock sheets.

    Args:
        parts: of all assemblies; what is not a plate is passed over.
        stocks: the sheets that can be had.
        gap: metal left between pieces, mm.
        edge: metal left along the sheet's edge, mm.
        true_shape_seconds: how long the solver of true shapes may think about each lot whose outlines are not
            rectangles; 0 leaves it out. Its answer depends on the machine's speed.
    """
    stocks = tuple(stocks)
    lots: dict[tuple[str, float, tuple[float, float]], list[tuple[Part, int]]] = defaultdict(list)
    bought: dict[tuple[str, float, tuple[float, float]], Stock] = {}
    problems = []
    for part in parts:
        plate = part.piece
        if not isinstance(plate, Plate):
            continue
        found = _stock_for(plate, stocks)
        if found is None:
            problems.append(
                f"{part.number}: no stock of {plate.material} {plate.thickness:g} mm in the table of sheets: add one,"
                " or have it cut from the cutter's own"
            )
            continue
        stock, thickness = found
        key = (stock.material, thickness, stock.sheet_size)
        bought[key] = stock
        lots[key] += [(part, n) for n in range(1, part.quantity + 1)]
    sheets: list[NestedSheet] = []
    for (material, thickness, size), pieces in sorted(lots.items(), key=lambda lot: lot[0]):
        room = (size[0] - 2 * edge, size[1] - 2 * edge)
        turnable = not bought[material, thickness, size].grain
        small = []
        for part, n in pieces:
            if _fits(part, room, turnable):
                small.append((part, n))
            elif n == 1:
                x0, y0, x1, y1 = bounds(_plate(part).outline)
                problems.append(
                    f"{part.number}: {x1 - x0:.0f} x {y1 - y0:.0f} mm does not go on a sheet of {size[0]:.0f} x"
                    f" {size[1]:.0f} mm with {edge:g} mm left along its edge: find a larger sheet"
                )
        laid = _rectangles(small, room, gap, turnable)
        if true_shape_seconds and any(not _is_rectangle(_plate(part).outline) for part, _ in small):
            better = _true_shapes(small, room, gap, turnable, true_shape_seconds)
            if better is not None and (len(laid) > 1 or _reach(better) < _reach(laid[0]) - SAME):
                laid = [better]
        for one in laid:
            placed = tuple(replace(piece, x=piece.x + edge, y=piece.y + edge) for piece in one)
            sheets.append(_counted(bought[material, thickness, size], thickness, placed))
    return Nesting(tuple(sheets), tuple(problems))


def _plate(part: Part) -> Plate:
    assert isinstance(part.piece, Plate)
    return part.piece


def _stock_for(plate: Plate, stocks: Sequence[Stock]) -> tuple[Stock, float] | None:
    """Return the stock that a plate is cut from: of its thickness; for what is squeezed, the next thicker."""
    same = [s for s in stocks if s.material == plate.material]
    for stock in same:
        for thickness in stock.thicknesses:
            if abs(thickness - plate.thickness) < 1e-3:
                return stock, thickness
    if "gasket" in plate.role.lower():
        thicker = sorted((t, i) for i, s in enumerate(same) for t in s.thicknesses if t > plate.thickness)
        if thicker:
            return same[thicker[0][1]], thicker[0][0]
    return None


def _fits(part: Part, room: tuple[float, float], turnable: bool) -> bool:
    x0, y0, x1, y1 = bounds(_plate(part).outline)
    wide, tall = x1 - x0, y1 - y0
    level = wide <= room[0] + SAME and tall <= room[1] + SAME
    return level or (turnable and tall <= room[0] + SAME and wide <= room[1] + SAME)


def _is_rectangle(outline: Loop) -> bool:
    x0, y0, x1, y1 = bounds(outline)
    return abs(abs(area(outline)) - (x1 - x0) * (y1 - y0)) < 1e-3 * (x1 - x0) * (y1 - y0)


def _rectangles(
    pieces: Sequence[tuple[Part, int]], room: tuple[float, float], gap: float, turnable: bool
) -> list[list[Laid]]:
    """Return the pieces' enclosing rectangles laid on as few sheets as the rule finds, largest first.

    Every rectangle is grown by the gap to its right and top, and so is the sheet. Each goes where it leaves the least
    of the sheet's length in use, then lowest: what is left over is one piece at the sheet's end.
    """
    ordered = sorted(pieces, key=lambda p: (-_longest(p[0]), -abs(area(_plate(p[0]).outline)), p[0].number, p[1]))
    full = (0.0, 0.0, room[0] + gap, room[1] + gap)
    frees: list[list[tuple[float, float, float, float]]] = []
    laid: list[list[Laid]] = []
    for part, count in ordered:
        x0, y0, x1, y1 = bounds(_plate(part).outline)
        sizes = [(x1 - x0 + gap, y1 - y0 + gap, 0.0)]
        if turnable:
            sizes.append((y1 - y0 + gap, x1 - x0 + gap, 90.0))
        best: tuple[tuple[float, ...], int, float, float, float, float, float] | None = None
        for index in range(len(frees) + 1):
            if index == len(frees):
                if best is not None:
                    break
                frees.append([full])
                laid.append([])
            for fx, fy, gx, gy in frees[index]:
                for wide, tall, turn in sizes:
                    if fx + wide > gx + SAME or fy + tall > gy + SAME:
                        continue
                    # Ending further left wins; a new sheet only if no open one has room.
                    rank = (index, fx + wide, fy, fx)
                    if best is None or rank < best[0]:
                        best = (rank, index, fx, fy, wide, tall, turn)
        assert best is not None  # `_fits` saw to it
        _, index, x, y, wide, tall, turn = best
        frees[index] = _split(frees[index], (x, y, x + wide, y + tall))
        # The piece's lower left corner when turned by 90 degrees is its own lower right one.
        at = (x - x0, y - y0) if turn == 0 else (x + y1, y - x0)
        laid[index].append(Laid(part, count, at[0], at[1], turn))
    return [one for one in laid if one]


def _longest(part: Part) -> float:
    x0, y0, x1, y1 = bounds(_plate(part).outline)
    return max(x1 - x0, y1 - y0)


def _split(
    frees: Sequence[tuple[float, float, float, float]], taken: tuple[float, float, float, float]
) -> list[tuple[float, float, float, float]]:
    """Return the largest free rectangles after one was taken."""
    a, b, c, d = taken
    found = []
    for x0, y0, x1, y1 in frees:
        if a >= x1 - SAME or c <= x0 + SAME or b >= y1 - SAME or d <= y0 + SAME:
            found.append((x0, y0, x1, y1))
            continue
        found += [
            part
            for part in ((x0, y0, a, y1), (c, y0, x1, y1), (x0, y0, x1, b), (x0, d, x1, y1))
            if part[2] - part[0] > SAME and part[3] - part[1] > SAME
        ]
    kept: list[tuple[float, float, float, float]] = []
    for i, one in enumerate(found):
        inside = any(
            (j < i or other != one)
            and other[0] <= one[0] + SAME
            and other[1] <= one[1] + SAME
            and other[2] >= one[2] - SAME
            and other[3] >= one[3] - SAME
            for j, other in enumerate(found)
            if j != i
        )
        if not inside:
            kept.append(one)
    return kept


def _true_shapes(
    pieces: Sequence[tuple[Part, int]], room: tuple[float, float], gap: float, turnable: bool, seconds: int
) -> list[Laid] | None:
    """Return the pieces on one sheet by their true outlines, or None if the solver needs more than one sheet."""
    import shapely
    import spyrrow

    amount: dict[str, int] = defaultdict(int)
    by_number = {}
    for part, _ in pieces:
        amount[part.number] += 1
        by_number[part.number] = part
    items = []
    for number, part in by_number.items():
        # Grown by half the gap: no two pieces then come nearer than the whole.
        grown = shapely.Polygon(polygon(_plate(part).outline, _TRUE_SAGITTA)).buffer(gap / 2 + _TRUE_SAGITTA)
        corners = [(float(x), float(y)) for x, y in shapely.get_coordinates(grown.exterior)[:-1]]
        turns = [0.0, 90.0, 180.0, 270.0] if turnable else [0.0, 180.0]
        items.append(spyrrow.Item(number, corners, demand=amount[number], allowed_orientations=turns))
    problem = spyrrow.StripPackingInstance("sheet", strip_height=room[1] + gap, items=items)
    config = spyrrow.StripPackingConfig(total_computation_time=max(seconds, 1), seed=1, num_workers=1)
    solved = problem.solve(config)
    if solved.width > room[0] + gap:
        return None
    counted: dict[str, int] = defaultdict(int)
    laid = []
    for piece in sorted(solved.placed_items, key=lambda p: (p.id, p.translation)):
        counted[piece.id] += 1
        x, y = piece.translation
        laid.append(Laid(by_number[piece.id], counted[piece.id], x - gap / 2, y - gap / 2, float(piece.rotation)))
    # The solver's corner is the grown outlines' corner; settle everything against the sheet's own.
    low = np.min([bounds(piece.profile.outer)[:2] for piece in laid], axis=0)
    return [replace(piece, x=piece.x - float(low[0]), y=piece.y - float(low[1])) for piece in laid]


def _reach(laid: Sequence[Laid]) -> float:
    return max(bounds(piece.profile.outer)[2] for piece in laid)


def _counted(stock: Stock, thickness: float, laid: tuple[Laid, ...]) -> NestedSheet:
    wide, tall = stock.sheet_size
    profiles = [piece.profile for piece in laid]
    return NestedSheet(
        stock=stock.name,
        material=stock.material,
        thickness=thickness,
        size=(wide, tall),
        laid=laid,
        used=sum(abs(area(p.outer)) for p in profiles) / (wide * tall),
        cut_length=sum(p.cut_length() for p in profiles),
        pierces=sum(1 + len(p.holes) for p in profiles),
        left=wide - max(p.bounds()[2] for p in profiles),
    )
