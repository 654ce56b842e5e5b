"""How many modules go in a bay, in how many boxes, how they lie, and why not one more."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from baywright.bay.grid import Grid, turned_block, turns
from baywright.bay.outside import CASE, few_blocks, outer_bodies
from baywright.bay.place import STEP, set_down
from baywright.bay.surround import Surround, underfoot, worst_distance
from baywright.bay.travel import travels
from baywright.box.generate import BoxDesign, generate
from baywright.box.kit import Kit
from baywright.box.layout import Layout, lay_out
from baywright.finding import CannotBuild
from baywright.job.catalogue import Catalogue
from baywright.job.models import BoxAsk
from baywright.piece.solid import Block
from baywright.shape.pose import Pose

Array = NDArray[np.float64]

_MOST_STACKS = 3  # as many columns and rows as a box may have
_MOST_LAYERS = 12
_LOOKED_AT = 6  # arrangements built in full to say what one more lacks
_SIDES = {"x": "length along the car", "y": "width across the car", "z": "height"}


@dataclass(frozen=True, eq=False, kw_only=True)
class Filled:
    """One box of an answer.

    Attributes:
        ask: what to ask for: count, columns, rows, orientation.
        design: the box.
        pose: where it stands, vehicle frame.
        worst: its least exact clearance less what tape and scan may be off, mm.
    """

    ask: BoxAsk
    design: BoxDesign
    pose: Pose
    worst: float


@dataclass(frozen=True, kw_only=True)
class Short:
    """Why not one more: the arrangement that comes nearest, and what it lacks.

    Attributes:
        count: modules it would hold.
        says: its arrangement in words.
        lacks: mm by direction ("x", "y", "z" of the vehicle): 0 where it goes in.
    """

    count: int
    says: str
    lacks: dict[str, float]

    def sentence(self) -> str:
        """Return the answer as a sentence."""
        parts = [f"{mm:.0f} mm of {_SIDES[axis]}" for axis, mm in self.lacks.items() if mm > 0.5]
        lack = " and ".join(parts) or "a few millimetres somewhere: try `baywright place` on a finer grid"
        return f"{self.count} modules ({self.says}) would lack {lack}"


@dataclass(frozen=True, eq=False, kw_only=True)
class Fill:
    """How many modules a bay takes.

    Attributes:
        count: modules in all.
        boxes: what holds them.
        short: why a single box takes no more; None if the search's own limits ended it.
        tried: arrangements looked at.
    """

    count: int
    boxes: tuple[Filled, ...]
    short: Short | None
    tried: int


def fill(
    name: str, ask: BoxAsk, catalogue: Catalogue, around: Surround, *, most_boxes: int = 1, step: float = STEP
) -> Fill:
    """Return how many modules of a box's style and kind a bay takes.

    Every number of columns, rows and layers and every way the module may lie is laid out and tried at every grid place
    in four turns; the fullest that goes in is built in full and its place confirmed by exact distances. Further boxes
    are put in what room the ones before leave: the fullest first, so a better split in unlike boxes may exist.

    Args:
        name: for the boxes.
        ask: style, module, fittings; its count and arrangement do not matter.
        catalogue: the shop's tables.
        around: the bay; its own clearance is kept.
        most_boxes: how many boxes may be used.
        step: of the grid, mm.
    """
    grid = around.grid(step)
    kit = Kit(catalogue.style(ask.style), catalogue)
    choices = sorted(_choices(name, ask, kit), key=lambda c: (-c[0].count, c[0].columns * c[0].rows))
    room = around.bay.clearance + max(s.trust for s in around.shut)
    boxes: list[Filled] = []
    count = 0
    for number in range(most_boxes):
        found = None
        last = number == most_boxes - 1
        for one, layout in choices:
            if _goes_in(grid, layout, room):
                found = _built(name, one, catalogue, around, grid, room, aside=not last)
                if found is not None:
                    break
        if found is None:
            break
        boxes.append(found)
        count += found.ask.count
        for block in few_blocks(outer_bodies(found.design, rooms=True)):
            there = turned_block(block, found.pose.turn)
            there = Block(there.low + found.pose.shift - around.bay.clearance, there.high + found.pose.shift)
            grid = grid.filled(Block(there.low, there.high + around.bay.clearance))
    best = boxes[0].ask.count if boxes else 0
    return Fill(
        count=count, boxes=tuple(boxes), short=_short(choices, around, step, room, best, catalogue), tried=len(choices)
    )


def _choices(name: str, ask: BoxAsk, kit: Kit) -> Iterator[tuple[BoxAsk, Layout]]:
    """Yield every arrangement that can be laid out at all, full layers only."""
    module = kit.catalogue.module(ask.module)
    stacks = range(1, _MOST_STACKS + 1)
    for orientation, columns, rows, layers in product(module.orientations, stacks, stacks, range(1, _MOST_LAYERS + 1)):
        count = columns * rows * layers
        if count > 60:
            continue
        one = ask.model_copy(
            update={"count": count, "columns": columns, "rows": rows, "orientation": orientation, "bay": None}
        )
        try:
            yield one, lay_out(name, one, kit)
        except CannotBuild:
            break


def _case(layout: Layout) -> Block:
    long, wide = layout.outside
    top = layout.lid_under + layout.kit.style.lid.thickness
    # It stands on its feet: the floor is that much higher.
    low = -layout.kit.style.feet.stand_off if layout.ask.feet else 0.0
    return Block(np.array([-long / 2, -wide / 2, low]), np.array([long / 2, wide / 2, top]))


def _goes_in(grid: Grid, layout: Layout, room: float) -> bool:
    case = _case(layout)
    return any(len(grid.fits([turned_block(case, t)], room, below=0.0, sure=False)) for t in turns(True)[::2])


def _built(
    name: str,
    one: BoxAsk,
    catalogue: Catalogue,
    around: Surround,
    grid: Grid,
    room: float,
    aside: bool,
) -> Filled | None:
    """Return an arrangement built and placed, if it goes in with its feet, fittings and cables; else None.

    With `aside` it stands in a corner, to leave room for another, not in the middle of the room there is.
    """
    try:
        box = generate(name, one, catalogue)
    except CannotBuild:
        return None
    bodies = outer_bodies(box, rooms=True)
    blocks = few_blocks(bodies)
    for sure in (True, False):
        for turn in turns(True):
            places = grid.fits([turned_block(b, turn) for b in blocks], room, below=0.0, sure=sure)
            if not len(places):
                continue
            at = grid.at(places)
            goal = at.min(axis=0) if aside else np.median(at, axis=0)
            # The lowest first, then those nearest to where it should stand.
            order = np.lexsort((np.linalg.norm(at - goal, axis=1), at[:, 2]))
            for i in order[: 1 if sure else 6].tolist():
                pose, stands = set_down([(CASE, b) for b in blocks], Pose(turn, at[i]), around.shut)
                skins = underfoot(bodies, pose, around.shut) if stands else list(around.shut)
                worst = worst_distance(bodies, pose, skins, 60.0)
                if worst >= around.bay.clearance - 1e-6:
                    return Filled(ask=one, design=box, pose=pose, worst=worst)
    return None


def _short(
    choices: Sequence[tuple[BoxAsk, Layout]],
    around: Surround,
    step: float,
    room: float,
    best: int,
    catalogue: Catalogue,
) -> Short | None:
    """Return the arrangement of more modules that lacks least, and what it lacks, feet, lugs and fittings included."""
    grid = around.grid(step)
    rough: list[tuple[float, int, BoxAsk, Layout, Array]] = []
    for one, layout in choices:
        # Far more than fits comes no nearer than a little more.
        if best < one.count <= best + 3 * _MOST_STACKS:
            for turn in turns(True)[::2]:  # a half turn changes nothing for the case
                lacks = _lacks(grid, [turned_block(_case(layout), turn)], room)
                if lacks is not None:
                    rough.append((sum(lacks.values()), one.count, one, layout, turn))
    found: Short | None = None
    rough.sort(key=lambda r: r[:2])
    for least, _, one, layout, turn in rough[:_LOOKED_AT]:
        if found is not None and least > sum(found.lacks.values()):
            break
        try:
            blocks = few_blocks(outer_bodies(generate(layout.name, one, catalogue)))
        except CannotBuild:
            continue
        for whole in (turn, -turn @ np.diag([1.0, 1.0, -1.0])):
            parts = [turned_block(b, whole) for b in blocks]
            lacks = _lacks(grid, parts, room)
            if lacks is None:
                continue
            if len(lacks) == 1:
                ((name, rough_lack),) = lacks.items()
                exact = _exactly(grid, parts, "xyz".index(name), rough_lack, room, around)
                lacks = {name: rough_lack if exact is None else exact}
            says = f"{one.columns} side by side, {one.rows} end to end, {layout.layers} high, lying {one.orientation}"
            if found is None or sum(lacks.values()) < sum(found.lacks.values()):
                found = Short(count=one.count, says=says, lacks=lacks)
    return found


def shortened(blocks: Sequence[Block], axis: int, cut: float) -> list[Block]:
    """Return a box's blocks made `cut` mm shorter on an axis: out of the middle, or of the height above the floor."""

    def moved(value: float) -> float:
        if axis == 2:
            return value if value <= 0 else max(value - cut, 0.0)
        return float(np.sign(value)) * max(abs(value) - cut / 2, 0.0)

    out = []
    for block in blocks:
        low, high = block.low.copy(), block.high.copy()
        low[axis], high[axis] = moved(float(low[axis])), moved(float(high[axis]))
        out.append(Block(low, high))
    return out


def _lacks(grid: Grid, blocks: Sequence[Block], room: float) -> dict[str, float] | None:
    """Return by how many mm a box is too long in each direction; one direction alone if that is enough, else more.

    As the grid is sure of it: up to two cells too many.
    """
    size = blocks[0].high - blocks[0].low

    def fits(cuts: Array) -> bool:
        parts = list(blocks)
        for axis in range(3):
            if cuts[axis] > 0:
                parts = shortened(parts, axis, float(cuts[axis]))
        return len(grid.fits(parts, room, below=0.0)) > 0

    def least(axis: int, cuts: Array) -> float:
        """Return the least cut along an axis with which it goes in, the others as they are; infinite if none does."""
        low, high = 0.0, float(size[axis] - 20.0)
        for first in (True, *[False] * 20):
            middle = high if first else (low + high) / 2
            trial = cuts.copy()
            trial[axis] = middle
            good = fits(trial)
            if first and not good:
                return np.inf
            if not first:
                low, high = (low, middle) if good else (middle, high)
            if high - low < 1.0:
                break
        return high

    names = "xyz"
    single = [(least(a, np.zeros(3)), a) for a in range(3)]
    cut, axis = min(single)
    if cut < size[axis] / 2:
        return {names[axis]: cut}
    # Not one direction alone: shorten each as far as the bay's own extent asks, then the rest where it helps most.
    low, high = np.min([b.low for b in blocks], axis=0), np.max([b.high for b in blocks], axis=0)
    over = np.maximum(high - low - (np.array(grid.taken.shape) * grid.step - (2 * room, 2 * room, room)), 0.0)
    if (over > size / 2).any():
        return None
    rest = [(least(a, over), a) for a in range(3)]
    cut, axis = min(rest)
    if not np.isfinite(cut) or cut > size[axis] / 2:
        return None
    over[axis] = max(cut, over[axis])
    return {names[a]: float(over[a]) for a in range(3) if over[a] > 0.5}


def _exactly(
    grid: Grid, blocks: Sequence[Block], axis: int, rough: float, room: float, around: Surround
) -> float | None:
    """Return by how much a box is short along an axis at the best place of a shortened one, by exact distances, mm."""
    parts = shortened(blocks, axis, rough)
    places = grid.fits(parts, room, below=0.0, sure=True)
    if not len(places):
        return None
    at = grid.at(places)
    ways = (("front", "rear"), ("left", "right"), ("below", "above"))[axis]
    most = 0.0
    marked = [(CASE, b) for b in parts]
    order = np.argsort(np.linalg.norm(at - np.median(at, axis=0), axis=1))
    for i in order[:8].tolist():
        pose = Pose(np.eye(3), at[i])
        gained = 0.0
        for side in ways:
            keep = 0.0 if side == "below" else around.bay.clearance
            # Sideways, what the box stands on does not count: it would only be lifted over it.
            skins = around.shut if axis == 2 else underfoot(marked, pose, around.shut)
            seen = [
                t.way - keep - (0.0 if side == "below" else s.trust)
                for s in skins
                if len(s)
                for t in travels(marked, pose, s, 400.0, sides=(side,))
            ]
            gained += min(seen, default=400.0)
        most = max(most, gained)
    return max(rough - most, 0.0)
