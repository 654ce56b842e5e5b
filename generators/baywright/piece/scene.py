"""What stands where in an assembly, as arrays: every body of every piece and fastener, and which of them overlap."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.piece.assembly import Assembly, Placed, screw_pose
from baywright.piece.joint import Layer, ScrewLine
from baywright.piece.plate import Plate
from baywright.piece.solid import Block, Body, Round, enclosing
from baywright.shape.loop import Loop, bounds, polygon
from baywright.shape.pose import Pose
from baywright.shape.reach import room_inside

TOUCH = 1e-6  # mm: bodies that share less than this only touch


@dataclass(frozen=True, eq=False)
class Standing:
    """One body where it stands: whose it is, when it is fitted, and the screw line it belongs to (None: a piece)."""

    item: Placed
    body: Body
    stage: int
    line: ScrewLine | None
    number: int


@dataclass(frozen=True, eq=False)
class Scene:
    """Every body of an assembly, and their enclosing blocks as arrays low, high (n, 3) mm."""

    bodies: tuple[Standing, ...]
    low: NDArray[np.float64]
    high: NDArray[np.float64]

    def near(self, block: Block, reach: float = 0.0) -> list[int]:
        """Return the indices of bodies whose enclosing block comes within `reach` mm of a block."""
        hit = ((self.low < block.high + reach - TOUCH) & (self.high > block.low - reach + TOUCH)).all(axis=1)
        return [int(i) for i in np.flatnonzero(hit)]


def scene(assembly: Assembly) -> Scene:
    """Return the scene of an assembly: pieces first, then fasteners line by line."""
    found = [Standing(p, body.moved(p.pose), p.stage, None, 0) for p in assembly.placed for body in p.piece.bodies()]
    blocks = [enclosing(s.body) for s in found]
    low, high = [np.array([b.low for b in blocks])], [np.array([b.high for b in blocks])]
    for line in assembly.lines:
        turn = screw_pose(line)
        pieces = [(line.screw, 0.0, "")] if line.screw is not None else []
        pieces += [(extra.piece, extra.offset, f" {extra.piece.role}") for extra in line.along]
        for piece, offset, role in pieces:
            points = line.points + line.direction * offset
            items = [
                Placed(f"{line.name} {number}{role}", piece, Pose(turn, point), line.stage)
                for number, point in enumerate(points, 1)
            ]
            # A line's screws are all alike: one is laid along the line, the others are its shifted copies.
            for body in piece.bodies():
                laid = body.moved(Pose(turn, np.zeros(3)))
                block = enclosing(laid)
                low.append(block.low + points)
                high.append(block.high + points)
                found += [
                    Standing(item, _shifted(laid, point), line.stage, line, number)
                    for number, (item, point) in enumerate(zip(items, points, strict=True), 1)
                ]
    return Scene(tuple(found), np.concatenate(low), np.concatenate(high))


def _shifted(body: Body, by: NDArray[np.float64]) -> Body:
    if isinstance(body, Block):
        return Block(body.low + by, body.high + by)
    return Round(body.start + by, body.axis, body.length, body.diameter)


def overlapping(view: Scene) -> list[tuple[Standing, Standing]]:
    """Return every pair of bodies of two things that share space, screws in their own holes and threads apart.

    Blocks, and cylinders along the axes, are compared exactly; other cylinders by their enclosing block. A body that
    passes a hole of a plate within its edge does not share space with it.
    """
    # Sorting by one coordinate leaves each body a short run of candidates.
    axis = int(np.argmax(np.ptp(view.low, axis=0)))
    order = np.argsort(view.low[:, axis], kind="stable")
    low, high = view.low[order], view.high[order]
    until = np.searchsorted(low[:, axis], high[:, axis] - TOUCH)
    found = []
    for i in range(len(order)):
        run = slice(i + 1, until[i])
        hit = ((low[run] < high[i] - TOUCH) & (high[run] > low[i] + TOUCH)).all(axis=1)
        for j in np.flatnonzero(hit):
            a, b = view.bodies[order[i]], view.bodies[order[i + 1 + j]]
            if a.item is not b.item and _share(a, b):
                found.append((a, b))
    return found


def _share(a: Standing, b: Standing) -> bool:
    if a.line is not None and a.line is b.line and a.number == b.number:
        return False
    if _own_hole(a, b) or _own_hole(b, a):
        return False
    if not bodies_share(a.body, b.body):
        return False
    return not (_passes(a, b) or _passes(b, a))


def _own_hole(screw: Standing, piece: Standing) -> bool:
    """Tell whether a fastener's body lies in a hole (or thread) that its line has in the piece."""
    if screw.line is None or piece.line is not None or not isinstance(screw.body, Round):
        return False
    layer: Layer | None = next((x for x in screw.line.layers if x.mark == piece.item.mark), None)
    if layer is None:
        return False
    thread = screw.line.diameter if layer.use == "tapped" else 0.0
    return screw.body.diameter <= max(layer.diameter, layer.recess, thread) + TOUCH


def _passes(body: Standing, plate: Standing) -> bool:
    """Tell whether a body passes a plate through one of its holes, wholly within the hole's edge."""
    piece = plate.item.piece
    if not isinstance(piece, Plate):
        return False
    seen = body.body.moved(plate.item.pose.inverse())
    lowest = enclosing(seen).low[2]
    return any(
        # A blind hole lets in no more than its depth.
        (hole.depth >= piece.thickness - TOUCH or lowest >= piece.thickness - hole.depth - TOUCH)
        and _within(seen, hole.loop)
        for hole in piece.holes
    )


def _within(seen: Body, loop: Loop) -> bool:
    """Tell whether a body, seen along z, lies within a loop's edge; what is no upright cylinder counts as its block."""
    flat = enclosing(seen)
    (x0, y0), (x1, y1) = flat.low[:2].tolist(), flat.high[:2].tolist()
    left, low, right, high = bounds(loop)
    if x0 < left - TOUCH or y0 < low - TOUCH or x1 > right + TOUCH or y1 > high + TOUCH:
        return False  # nearly all holes of a plate, at a glance
    if isinstance(seen, Round) and abs(abs(seen.axis[2]) - 1) < TOUCH:
        return float(room_inside(loop, seen.start[None, :2])[0]) >= seen.diameter / 2 - TOUCH
    if not (room_inside(loop, np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])) >= -TOUCH).all():
        return False
    # Metal may reach in between the corners of the rectangle.
    edge = polygon(loop)
    return not ((edge > flat.low[:2] + TOUCH) & (edge < flat.high[:2] - TOUCH)).all(axis=1).any()


def bodies_share(a: Body, b: Body) -> bool:
    """Tell whether two bodies share more than their surface; exact for blocks and cylinders along the axes."""
    first, second = enclosing(a), enclosing(b)
    if not ((first.low < second.high - TOUCH) & (second.low < first.high - TOUCH)).all():
        return False
    if isinstance(a, Block) and isinstance(b, Block):
        return True
    if isinstance(a, Block) or isinstance(b, Block):
        cylinder, block = (b, a) if isinstance(a, Block) else (a, b)
        assert isinstance(cylinder, Round)
        k = _along(cylinder)
        if k is None:
            return True
        side = enclosing(block)
        apart = np.maximum(np.maximum(side.low - cylinder.start, cylinder.start - side.high), 0.0)
        apart[k] = 0.0
        return bool(np.linalg.norm(apart) < cylinder.diameter / 2 - TOUCH)
    i, j = _along(a), _along(b)
    if i is None or j is None:
        return True
    if i == j:
        apart = a.start - b.start
        apart[i] = 0.0
        return bool(np.linalg.norm(apart) < (a.diameter + b.diameter) / 2 - TOUCH)
    return _crossed(a, first, i, b, second, j)


def _crossed(a: Round, a_box: Block, i: int, b: Round, b_box: Block, j: int) -> bool:
    """Tell whether two cylinders along different axes share space.

    Along the third axis each leaves a chord whose half-length follows from how far the other keeps from its axis; they
    share space exactly if the chords overlap.
    """
    k = 3 - i - j
    off_j = max(b_box.low[j] - a.start[j], a.start[j] - b_box.high[j], 0.0)
    off_i = max(a_box.low[i] - b.start[i], b.start[i] - a_box.high[i], 0.0)
    if off_j >= a.diameter / 2 or off_i >= b.diameter / 2:
        return False
    chords = np.sqrt((a.diameter / 2) ** 2 - off_j**2) + np.sqrt((b.diameter / 2) ** 2 - off_i**2)
    return bool(abs(a.start[k] - b.start[k]) < chords - TOUCH)


def _along(cylinder: Round) -> int | None:
    """Return which axis a cylinder runs along, or None."""
    k = int(np.argmax(np.abs(cylinder.axis)))
    return k if abs(abs(cylinder.axis[k]) - 1) < TOUCH else None


def shanks(view: Scene) -> list[int]:
    """Return the indices of every screw's shank: the longest of its cylinders."""
    best: dict[str, int] = {}
    for index, s in enumerate(view.bodies):
        if s.line is not None and s.item.piece is s.line.screw and isinstance(s.body, Round):
            held = best.get(s.item.mark)
            longest = 0.0 if held is None else view.bodies[held].body.length  # type: ignore[union-attr]
            if s.body.length > longest:
                best[s.item.mark] = index
    return list(best.values())
