"""What of a box the bay sees: its case as one solid, what stands out of it, and the room that cables need outside."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from baywright.box.generate import BoxDesign
from baywright.box.layout import Layout
from baywright.piece.solid import Block, Body, enclosing
from baywright.shape.pose import Pose

CASE = "case"
ROOM = "room for "  # how the mark of a room for cables starts

Array = NDArray[np.float64]
Marked = tuple[str, Body]

_NEAR = 1e-6
# What stands out of the case by less than this counts as one slab a side where few bodies are wanted, mm: screw heads.
_THIN = 8.0


def case_of(box: BoxDesign) -> Block:
    """Return the block that floor, walls and lid fill together, in the box's frame."""
    return layout_case(box.layout)


def layout_case(layout: Layout) -> Block:
    """Return the same of a box that is only laid out."""
    long, wide = layout.outside
    top = layout.lid_under + layout.kit.style.lid.thickness
    return Block(np.array([-long / 2, -wide / 2, 0.0]), np.array([long / 2, wide / 2, top]))


def case_of_layout(layout: Layout) -> Block:
    """Return the case of a layout as a block in the box's frame, the stand-off of its feet below it included."""
    long, wide = layout.outside
    top = layout.lid_under + layout.kit.style.lid.thickness
    low = -layout.kit.style.feet.stand_off if layout.ask.feet else 0.0
    return Block(np.array([-long / 2, -wide / 2, low]), np.array([long / 2, wide / 2, top]))


def outer_bodies(box: BoxDesign, rooms: bool = False) -> list[Marked]:
    """Return every body that is seen from outside (mark, body in the box's frame), and the case as one solid.

    The case counts as solid, so that a thing inside it is no way through.

    Args:
        box: the box.
        rooms: whether the room that cables and hoses need outside counts as solid too.
    """
    case = case_of(box)
    found: list[Marked] = [(CASE, case)]
    for item in [*box.assembly.placed, *box.assembly.fasteners()]:
        for body in item.piece.bodies():
            there = body.moved(item.pose)
            around = enclosing(there)
            if (around.low <= case.low + _NEAR).any() or (around.high >= case.high - _NEAR).any():
                found.append((item.mark, there))
    if rooms:
        found += [(ROOM + name, block) for name, block in rooms_outside(box)]
    return found


def rooms_outside(box: BoxDesign) -> list[tuple[str, Block]]:
    """Return the rooms outside the case that cables, hoses and connectors need (name, block in the box's frame)."""
    case = case_of(box)
    out = []
    for space in box.spaces:
        beyond = (space.block.low < case.low - _NEAR).any() or (space.block.high > case.high + _NEAR).any()
        if beyond:
            out.append((f"{space.name.removesuffix(', outside')} ({space.of})", space.block))
    return out


def few_blocks(bodies: Sequence[Marked]) -> list[Block]:
    """Return few blocks that together hold all bodies, for a search: the case, a slab of heads a side, the rest each.

    The first body must be the case. The blocks hold a little more than the bodies, never less.
    """
    case = enclosing(bodies[0][1])
    thin: dict[tuple[int, int], list[Block]] = {}
    rest: list[Block] = []
    for _, body in bodies[1:]:
        around = enclosing(body)
        over = np.concatenate([case.low - around.low, around.high - case.high])
        ways = np.flatnonzero(over > _NEAR)
        if not len(ways):
            continue
        if len(ways) == 1 and over[ways[0]] <= _THIN:
            thin.setdefault((int(ways[0]) % 3, int(ways[0]) // 3), []).append(around)
        else:
            rest.append(around)
    slabs = [
        Block(np.min([b.low for b in several], axis=0), np.max([b.high for b in several], axis=0))
        for several in thin.values()
    ]
    kept: list[Block] = [case]
    # The largest first, so that what lies in another is left out.
    for block in sorted([*slabs, *rest], key=lambda b: -float(np.prod(b.high - b.low))):
        if not any((k.low <= block.low + _NEAR).all() and (k.high >= block.high - _NEAR).all() for k in kept):
            kept.append(block)
    return kept


def around_all(bodies: Sequence[Marked], pose: Pose) -> tuple[Array, Array]:
    """Return the lowest and the highest corner (3,) mm of the upright block around bodies at a pose."""
    blocks = [enclosing(body.moved(pose)) for _, body in bodies]
    return np.min([b.low for b in blocks], axis=0), np.max([b.high for b in blocks], axis=0)
