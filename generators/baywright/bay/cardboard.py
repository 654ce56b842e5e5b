"""A cardboard mock-up of a box: its outside to cut, fold and tape, to be offered up in the car before metal is cut."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.bay.outside import Marked, few_blocks
from baywright.piece.solid import Block, enclosing
from baywright.shape.loop import Loop, rectangle

Array = NDArray[np.float64]

SLOT = (30.0, 3.0)  # mm: for 25 mm tape drawn through
_IN = 15.0  # mm from the edge to the slot's middle
_BETWEEN = 250.0  # mm: at most between slots along an edge
_APART = 40.0  # mm between the shell and the lid on the sheet
_LEAST = 8.0  # mm: what stands out by less is not marked
# A tongue stands out by the first and is thinner than the second; it is glued on by the third; mm.
_FAR, _FLAT, _GLUE = 30.0, 15.0, 40.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Cardboard:
    """A mock-up laid flat, mm.

    Attributes:
        name: the box's.
        cut: outlines, each a closed loop: the shell, the lid.
        slots: loops cut out, for tape.
        folds: (n, 2, 2): lines to score, ends in plan.
        marks: loops to draw: where feet, lugs and fittings stand out.
        texts: (text, x, y, height): what to write where.
        size: over all, mm.
        thickness: of the board, mm.
    """

    name: str
    cut: tuple[Loop, ...]
    slots: tuple[Loop, ...]
    folds: Array
    marks: tuple[Loop, ...]
    texts: tuple[tuple[str, float, float, float], ...]
    size: tuple[float, float]
    thickness: float


def cardboard(name: str, bodies: Sequence[Marked], thickness: float = 4.0) -> Cardboard:
    """Return the mock-up of a box: floor with four walls to fold up, the lid, and a tongue for each thing like a foot.

    The sheet is seen from outside, as the floor is from below: x to the right, the box's +y down. The walls fold away.

    Score lines lie where the board's middle turns, so that the folded outside is the box's: a panel between two folds
    is a thickness shorter than outside (common practice, no source).

    Args:
        name: the box's.
        bodies: from `outside.outer_bodies`: the first is the case.
        thickness: of the board, mm; 4 mm is single-wall board of the usual kind (from memory).

    Raises:
        ValueError: if the board is too thick for the box, or has no thickness.
    """
    case = enclosing(bodies[0][1])
    long, wide, high = (case.high - case.low).tolist()
    if not 0.2 <= thickness <= min(long, wide, high) / 10:
        raise ValueError(f"board of {thickness:g} mm is no use for a box of {long:.0f} x {wide:.0f} x {high:.0f} mm")
    a, b, c = long - thickness, wide - thickness, high - 1.5 * thickness
    x0, x1, y0, y1 = -a / 2, a / 2, -b / 2, b / 2
    shell = np.array(
        [
            (x0, y0 - c), (x1, y0 - c), (x1, y0), (x1 + c, y0), (x1 + c, y1), (x1, y1),
            (x1, y1 + c), (x0, y1 + c), (x0, y1), (x0 - c, y1), (x0 - c, y0), (x0, y0),
        ]
    )  # fmt: skip
    lid_x = x1 + c + _APART + long / 2
    lid = rectangle(lid_x - long / 2, -wide / 2, lid_x + long / 2, wide / 2)
    folds = np.array([[(x0, y0), (x1, y0)], [(x1, y0), (x1, y1)], [(x1, y1), (x0, y1)], [(x0, y1), (x0, y0)]])
    slots = [*_upright_slots(a, b, c), *_top_slots(a, b, c), *_lid_slots(lid_x, long, wide, a, b)]
    blocks = few_blocks(bodies)
    marks, words = _standing_out(blocks, case, a, b, c, thickness)
    tongues, said = _tongues(blocks, case, lid_x - long / 2, -wide / 2 - _APART)
    words += said
    text = min(20.0, c / 8)
    words += [
        (f"{name}: floor, this side out", x0 + _IN, 0.0, text),
        ("wall left", x0 + 60, y1 + c / 2, text),
        ("wall right", x0 + 60, y0 - c / 2, text),
        ("service", x1 + 20, 0.0, text),
        ("blind", x0 - c + 20, 0.0, text),
        (f"{name}: lid", lid_x - long / 4, 0.0, text),
    ]
    cut = (np.column_stack([shell, np.zeros(len(shell))]), lid, *tongues)
    over_all = np.ptp(np.concatenate(cut)[:, :2], axis=0)
    return Cardboard(
        name=name,
        cut=cut,
        slots=tuple(slots),
        folds=folds,
        marks=tuple(marks),
        texts=tuple(words),
        size=(float(over_all[0]), float(over_all[1])),
        thickness=thickness,
    )


def _along(length: float) -> list[float]:
    """Return where slots stand along an edge that runs from 0, mm."""
    count = max(int(np.ceil(length / _BETWEEN)), 2)
    return [(i + 0.5) * length / count for i in range(count)]


def _slot(x: float, y: float, lies: bool) -> Loop:
    half_x, half_y = (SLOT[0] / 2, SLOT[1] / 2) if lies else (SLOT[1] / 2, SLOT[0] / 2)
    return rectangle(x - half_x, y - half_y, x + half_x, y + half_y)


def _upright_slots(a: float, b: float, c: float) -> list[Loop]:
    """Return pairs of slots on both sides of the four upright edges: what meets when folded lies at one height."""
    found = []
    for up in _along(c):
        for sx in (-1, 1):
            for sy in (-1, 1):
                found.append(_slot(sx * (a / 2 - _IN), sy * (b / 2 + up), lies=False))
                found.append(_slot(sx * (a / 2 + up), sy * (b / 2 - _IN), lies=True))
    return found


def _top_slots(a: float, b: float, c: float) -> list[Loop]:
    """Return slots along the top of the walls, for the lid."""
    found = [_slot(t - a / 2, s * (b / 2 + c - _IN), lies=True) for t in _along(a) for s in (-1, 1)]
    return found + [_slot(s * (a / 2 + c - _IN), t - b / 2, lies=False) for t in _along(b) for s in (-1, 1)]


def _lid_slots(at: float, long: float, wide: float, a: float, b: float) -> list[Loop]:
    found = [_slot(at + t - a / 2, s * (wide / 2 - _IN), lies=True) for t in _along(a) for s in (-1, 1)]
    return found + [_slot(at + s * (long / 2 - _IN), t - b / 2, lies=False) for t in _along(b) for s in (-1, 1)]


def _standing_out(
    blocks: Sequence[Block], case: Block, a: float, b: float, c: float, thickness: float
) -> tuple[list[Loop], list[tuple[str, float, float, float]]]:
    """Return where things stand out of the walls, as loops on the shell, and by how much, as words."""
    marks: list[Loop] = []
    words: list[tuple[str, float, float, float]] = []
    for block in blocks[1:]:
        over = np.concatenate([case.low - block.low, block.high - case.high])
        way = int(np.argmax(over))
        axis, sign = way % 3, 1.0 if way >= 3 else -1.0
        if over[way] <= _LEAST or axis == 2:
            continue
        other = 1 - axis
        # On the wall as seen from outside, where y runs down: along the wall's length, and up from the fold.
        low_z, high_z = (float(np.clip(z - thickness / 2, 0.0, c)) for z in (block.low[2], block.high[2]))
        edge = (a if axis == 0 else b) / 2
        s0, s1 = float(block.low[other]), float(block.high[other])
        if axis == 0:
            s0, s1 = -s1, -s0
        else:
            sign = -sign
        if high_z - low_z < 1.0:
            continue
        first, last = sorted((sign * (edge + low_z), sign * (edge + high_z)))
        loop = rectangle(first, s0, last, s1) if axis == 0 else rectangle(s0, first, s1, last)
        marks.append(loop)
        x, y = (first, (s0 + s1) / 2) if axis == 0 else (s0, (first + last) / 2)
        words.append((f"{over[way]:.0f}", x + 2, y, 8.0))
    return marks, words


def _tongues(
    blocks: Sequence[Block], case: Block, x: float, y: float
) -> tuple[list[Loop], list[tuple[str, float, float, float]]]:
    """Return a piece for each thin thing that stands far out of a wall (a foot's leg), and what to write on it."""
    found: list[Loop] = []
    words: list[tuple[str, float, float, float]] = []
    for block in blocks[1:]:
        over = np.concatenate([case.low - block.low, block.high - case.high])
        way = int(np.argmax(over))
        axis = way % 3
        if axis == 2 or over[way] < _FAR or block.high[2] - block.low[2] > _FLAT:
            continue
        other = 1 - axis
        wide, reach = float(block.high[other] - block.low[other]), float(over[way])
        found.append(rectangle(x, y - reach - _GLUE, x + wide, y))
        wall = {0: "blind", 1: "left", 3: "service", 4: "right"}[way]
        z, at = float(block.low[2]), float((block.low[other] + block.high[other]) / 2)
        words.append((f"{wall}, {'xy'[other]} {at:.0f}, z {z:.0f}: {reach:.0f} out", x + 2, y - 20, 5.0))
        x += max(wide, 110.0) + 10.0
    return found, words
