"""Room that must stay free in and at a box; of it, what modules' cables and hoses need to leave and bend."""

from dataclasses import dataclass

import numpy as np

from baywright.box.layout import Layout
from baywright.box.shell import Side
from baywright.piece.solid import Block


@dataclass(frozen=True, eq=False)
class Space:
    """Room that must stay free: a name, whose it is (a mark, which may stand in it), and the block (mm)."""

    name: str
    of: str
    block: Block


def lead_spaces(layout: Layout) -> list[Space]:
    """Return the room that each module's cables and hoses need to leave and bend, as blocks."""
    bend = layout.kit.style.bend_factor
    spaces = []
    for layer, row, column, at in layout.places:
        for name, start, direction, wide in layout.module.leads:
            tip = start + direction * bend * wide
            across = wide / 2 * (1 - np.abs(direction))
            low, high = np.minimum(start, tip) - across, np.maximum(start, tip) + across
            mark = f"module {layer}.{row}.{column}"
            spaces.append(Space(f"{mark} {name}", mark, Block(at + low, at + high)))
    return spaces


def beside(spaces: list[Space], side: Side, depth: float, radius: float, low: float) -> list[tuple[float, float]]:
    """Return the intervals (mm along a wall) in which an upright round thing would stand in one of some rooms.

    Args:
        spaces: the rooms.
        side: the wall.
        depth: where the thing's axis is outward of the wall's inner face, mm (negative: inside).
        radius: the thing's, mm.
        low: height of its lower end, mm.
    """
    found = []
    for space in spaces:
        ends = np.array([space.block.low, space.block.high])
        out, along = np.sort(ends @ side.out) - side.inner, np.sort(ends @ side.along)
        if space.block.high[2] > low and out[0] < depth + radius and out[1] > depth - radius:
            found.append((float(along[0]) - radius, float(along[1]) + radius))
    return found
