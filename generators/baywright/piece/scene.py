"""What stands where in an assembly, as arrays: every body of every piece and fastener, and which of them overlap."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.piece.assembly import Assembly, Placed
from baywright.piece.joint import Layer, ScrewLine
from baywright.piece.plate import Plate
from baywright.piece.solid import Block, Body, Round, enclosing
from baywright.shape.loop import as_circle, bounds

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
    owner = {line.name: line for line in assembly.lines}
    for item in assembly.fasteners():
        name, number = _line_and_number(item.mark, owner)
        found += [
            Standing(item, body.moved(item.pose), item.stage, owner[name], number) for body in item.piece.bodies()
        ]
    blocks = [enclosing(s.body) for s in found]
    return Scene(tuple(found), np.array([b.low for b in blocks]), np.array([b.high for b in blocks]))


def _line_and_number(mark: str, owner: dict[str, ScrewLine]) -> tuple[str, int]:
    """Return a fastener's line and number from its mark, "LINE NUMBER" or "LINE NUMBER ROLE"."""
    words = mark.split(" ")
    for cut in range(len(words) - 1, 0, -1):
        name = " ".join(words[:cut])
        if name in owner and words[cut].isdigit():
            return name, int(words[cut])
    raise ValueError(f"'{mark}' belongs to no screw line")


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
    thread = float(screw.line.size[1:]) if layer.use == "tapped" and screw.line.size else 0.0
    return screw.body.diameter <= max(layer.diameter, thread) + TOUCH


def _passes(body: Standing, plate: Standing) -> bool:
    """Tell whether a body passes a plate through one of its holes, wholly within the hole's edge."""
    if not isinstance(plate.item.piece, Plate):
        return False
    back = plate.item.pose.inverse()
    seen = body.body.moved(back)
    flat = enclosing(seen)
    for hole in plate.item.piece.holes:
        x0, y0, x1, y1 = bounds(hole.loop)
        if not (x0 - TOUCH <= flat.low[0] and y0 - TOUCH <= flat.low[1] and flat.high[0] <= x1 + TOUCH):
            continue
        if flat.high[1] > y1 + TOUCH:
            continue
        circle = as_circle(hole.loop)
        if circle is None:
            return True
        x, y, d = circle
        if isinstance(seen, Round) and abs(abs(seen.axis[2]) - 1) < TOUCH:
            off = float(np.hypot(seen.start[0] - x, seen.start[1] - y))
            return off + seen.diameter / 2 <= d / 2 + TOUCH
        corners = np.array([[u, v] for u in (flat.low[0], flat.high[0]) for v in (flat.low[1], flat.high[1])])
        return bool((np.hypot(*(corners - (x, y)).T) <= d / 2 + TOUCH).all())
    return False


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


def gap(body: Body, block: Block) -> float:
    """Return the distance in mm between a body's enclosing block and a block; 0 if they touch or overlap."""
    own = enclosing(body)
    return float(np.linalg.norm(np.maximum(np.maximum(block.low - own.high, own.low - block.high), 0.0)))


def shanks(view: Scene) -> Sequence[Standing]:
    """Return the slenderest body of every screw: its shank."""
    best: dict[str, Standing] = {}
    for s in view.bodies:
        if s.line is not None and s.item.piece is s.line.screw and isinstance(s.body, Round):
            held = best.get(s.item.mark)
            if held is None or (isinstance(held.body, Round) and s.body.length > held.body.length):
                best[s.item.mark] = s
    return list(best.values())
