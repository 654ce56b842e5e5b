"""How far what a step adds is drawn from its place, so that it is seen coming."""

from collections import defaultdict

import numpy as np
from numpy.typing import NDArray

from baywright.piece.assembly import IN_CAR, Assembly
from baywright.piece.extrusion import Extrusion
from baywright.piece.plate import Plate
from baywright.release.drawing.lines import is_lining
from baywright.release.steps.step import Step, fasteners_of


def pulled(assembly: Assembly, step: Step) -> dict[str, NDArray[np.float64]]:
    """Return how far (3,) mm new pieces and their screws are drawn from their places: off the faces they go on."""
    whole = assembly.bounds(fasteners=False)
    reach = float(np.linalg.norm(whole.high - whole.low)) * 0.11
    # What goes in from above is drawn over the open box, as far as it stood below its rim.
    lows = [b.low[2] for p in assembly.placed if p.mark in step.new for b in p.blocks()]
    there = [b.high[2] for p in assembly.placed if p.mark in step.there - step.new for b in p.blocks()]
    lift = max(max(there, default=0.0) - min(lows, default=0.0), 0.0) + 0.4 * reach
    moves: dict[str, NDArray[np.float64]] = {}
    for mark in step.new:
        item = assembly.by_mark.get(mark)
        if item is None:
            continue
        if item.piece.role == "fitting":
            moves[mark] = np.array([reach, 0.0, 0.0])
            continue
        if item.piece.role == "earth strap":
            continue
        if 0 < item.stage < IN_CAR or is_lining(item):
            moves[mark] = np.array([0.0, 0.0, lift])
            continue
        # A panel stays where it is, so that what goes on it can be seen coming; panels that close move outward.
        if isinstance(item.piece, Plate) and not any(item.mark == b.second for b in step.bonds):
            continue
        way = np.zeros(3)
        for bond in step.bonds:
            if mark == bond.second:
                way += bond.pose.turn[:, 2]
            elif mark == bond.first and isinstance(item.piece, Extrusion):
                way -= bond.pose.turn[:, 2]
        size = float(np.linalg.norm(way))
        if size > 1e-9:
            moves[mark] = way / size * reach
    moves |= _bolted_on(step, moves, reach)
    moves |= _carried_along(assembly, step, moves)
    own = fasteners_of(assembly, step.lines)
    for line in step.lines:
        head = line.layers[0].mark if line.layers else ""
        base = moves.get(head, np.zeros(3))
        for mark in own[line.name]:
            moves[mark] = base - line.direction * reach * 0.55
    return moves


def _carried_along(
    assembly: Assembly, step: Step, moves: dict[str, NDArray[np.float64]]
) -> dict[str, NDArray[np.float64]]:
    """Return the moves of pieces that were glued to one panel before and go with it."""
    partners: dict[str, set[str]] = defaultdict(set)
    for bond in assembly.bonds:
        if bond not in step.bonds:
            partners[bond.first].add(bond.second)
            partners[bond.second].add(bond.first)
    found = {}
    for mark in step.there - set(moves):
        held = partners[mark]
        if len(held) == 1 and (panel := next(iter(held))) in moves and isinstance(assembly.by_mark[panel].piece, Plate):
            found[mark] = moves[panel]
    return found


def _bolted_on(step: Step, moves: dict[str, NDArray[np.float64]], reach: float) -> dict[str, NDArray[np.float64]]:
    """Return the moves of pieces that are only screwed on: along their screws, off what is there already."""
    ways: dict[str, NDArray[np.float64]] = defaultdict(lambda: np.zeros(3))
    glued = {mark for bond in step.bonds for mark in (bond.first, bond.second)}
    for line in step.lines:
        marks = [layer.mark for layer in line.layers]
        for place, mark in enumerate(marks):
            if mark not in step.new or mark in moves or mark in glued:
                continue
            before = any(other not in step.new for other in marks[:place])
            after = any(other not in step.new for other in marks[place + 1 :])
            if before != after:
                ways[mark] += line.direction if before else -line.direction
            elif place < len(marks) - 1:  # of new pieces on one screw, what lies nearer its head stands further off
                ways[mark] -= line.direction * (len(marks) - 1 - place) / (len(marks) - 1)
    sizes = {mark: float(np.linalg.norm(way)) for mark, way in ways.items()}
    return {mark: ways[mark] / size * reach for mark, size in sizes.items() if size > 1e-9}
