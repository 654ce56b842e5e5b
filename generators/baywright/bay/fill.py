"""How many modules go in a bay, in how many boxes, how they lie."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import combinations, combinations_with_replacement, product

import numpy as np
from numpy.typing import NDArray

from baywright.bay.grid import turned_block, turns
from baywright.bay.outside import CASE, Marked, case_of_layout, few_blocks, outer_bodies
from baywright.bay.pack import Spot, Stand, packed
from baywright.bay.place import STEP, centred, set_down
from baywright.bay.short import Beside, Short, short_of
from baywright.bay.skin import Skin, of_bodies
from baywright.bay.surround import Surround, underfoot, worst_distance
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
_LOOK = 60.0  # mm: clearance beyond this is no better
_TRIES = 6  # places of a single box, each way round, looked at exactly where the grid is not sure


@dataclass(frozen=True, eq=False, kw_only=True)
class Filled:
    """One box of an answer.

    Attributes:
        ask: what to ask for: count, columns, rows, orientation.
        design: the box.
        pose: where it stands, vehicle frame.
        worst: its least exact clearance, to the bay less what tape and scan may be off, and to other boxes, mm.
    """

    ask: BoxAsk
    design: BoxDesign
    pose: Pose
    worst: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Fill:
    """How many modules a bay takes.

    Attributes:
        count: modules in all.
        boxes: what holds them.
        short: why it takes no more; None if the search's own limits ended it.
        tried: sets of boxes looked at.
    """

    count: int
    boxes: tuple[Filled, ...]
    short: Short | None
    tried: int


def fill(
    name: str,
    ask: BoxAsk,
    catalogue: Catalogue,
    around: Surround,
    *,
    most_boxes: int = 1,
    step: float = STEP,
    said: Callable[[str], None] = lambda text: None,
) -> Fill:
    """Return how many modules of a box's style and kind a bay takes.

    Every number of columns, rows and layers and every way the module may lie is laid out; every set of up to
    `most_boxes` of them, unlike ones too, is tried from the most modules down (of sets with as many, the fewest boxes
    first), each box at every grid place in four turns, boxes beside each other (see `pack`). The first set that goes in
    is built in full and confirmed by exact distances, several boxes after being moved apart between grid points.
    Several boxes count as going in only where the grid is sure of it: what has less than two steps a box to spare may
    be missed.

    Args:
        name: for the boxes.
        ask: style, module, fittings; its count and arrangement do not matter.
        catalogue: the shop's tables.
        around: the bay; its own clearance is kept, between boxes too.
        most_boxes: how many boxes may be used.
        step: of the grid, mm.
        said: is told how far the search is.
    """
    search = _Search(name, ask, catalogue, around, step)
    boxes: tuple[Filled, ...] = ()
    tried = 0
    for several in search.sets(most_boxes):
        tried += 1
        said(f"{sum(c.ask.count for c in several)} modules in {len(several)} boxes, set {tried}")
        found = search.stood(several)
        if found is not None:
            boxes = found
            break
        search.never.add(several)
    best = sum(b.ask.count for b in boxes)
    said("one more")
    choices = [(c.ask, c.layout) for c in search.every]
    short = short_of(choices, search.beside(boxes, most_boxes), search.grid, around, best, catalogue)
    return Fill(count=best, boxes=boxes, short=short, tried=tried)


@dataclass(eq=False)
class _Choice:
    """An arrangement of one box, and what is found out about it as the search asks."""

    ask: BoxAsk
    layout: Layout
    may: list[Stand] = field(default_factory=list)  # by its case alone, wherever it may go between grid points
    bodies: list[Marked] = field(default_factory=list)
    design: BoxDesign | None = None
    unfit: bool = False
    stands: dict[bool, list[Stand]] = field(default_factory=dict)  # by whether the grid is sure
    heights: dict[tuple[bool, int], NDArray[np.int64]] = field(default_factory=dict)


class _Search:
    """The sets of boxes that may go in a bay, and where they stand."""

    def __init__(self, name: str, ask: BoxAsk, catalogue: Catalogue, around: Surround, step: float) -> None:
        self.name, self.catalogue, self.around = name, catalogue, around
        self.grid = around.grid(step)
        self.gap = around.bay.clearance
        self.room = self.gap + max(s.trust for s in around.shut)
        kit = Kit(catalogue.style(ask.style), catalogue)
        self.every = [_Choice(one, layout) for one, layout in _choices(name, ask, kit)]
        self.never: set[tuple[_Choice, ...]] = set()  # sets that do not go in: no set that holds one does

    def sets(self, most: int) -> Iterator[tuple[_Choice, ...]]:
        """Yield the sets of boxes that may go in by their cases alone: most modules first, then fewest boxes."""
        near = max(self.room - self.grid.step / 2, 0.0)  # what lies between grid points is no farther from one
        for choice in self.every:
            case = case_of_layout(choice.layout)
            choice.may = [s for s, _ in self._stands([case], near, sure=False)]
        alone = [c for c in self.every if any(s.free.any() for s in c.may)]
        alone.sort(key=lambda c: -c.ask.count)
        sets = [s for n in range(1, most + 1) for s in combinations_with_replacement(alone, n)]
        sets.sort(key=lambda s: (-sum(c.ask.count for c in s), len(s)))
        gap = max(self.gap - self.grid.step, 0.0)
        for one in sets:
            if any(c.unfit for c in one) or any(part in self.never for part in _parts(one)):
                continue
            if len(one) > 1 and packed([c.may for c in one], self.grid.step, gap) is None:
                self.never.add(one)
                continue
            yield one

    def beside(self, boxes: Sequence[Filled], most: int) -> list[Beside]:
        """Return what one more may be tried beside: all boxes but one, each in turn, or all if one more is allowed."""
        of = {c.design: c for c in self.every if c.design is not None}
        kinds = [of[b.design] for b in boxes]
        kept = [kinds[:k] + kinds[k + 1 :] for k in range(len(kinds)) if kinds[k] not in kinds[:k]]
        if len(kinds) < most:
            kept.append(kinds)
        return [
            Beside(tuple(c.stands[True] for c in rest), sum(c.ask.count for c in rest), self.gap)
            for rest in kept or [[]]
        ]

    def _stands(self, blocks: Sequence[Block], room: float, sure: bool) -> list[tuple[Stand, NDArray[np.int64]]]:
        """Return of a box in each quarter turn where it may stand in plan, and the lowest height (nx, ny) there."""
        found = []
        for turn in turns(True):
            parts = [turned_block(b, turn) for b in blocks]
            places = self.grid.fits(parts, room, below=0.0, sure=sure)
            height = np.full([n + 1 for n in self.grid.taken.shape[:2]], np.iinfo(np.int64).max)
            np.minimum.at(height, (places[:, 0], places[:, 1]), places[:, 2])
            low = np.min([b.low[:2] for b in parts], axis=0)
            high = np.max([b.high[:2] for b in parts], axis=0)
            found.append((Stand(low, high, height < np.iinfo(np.int64).max), height))
        return found

    def _made(self, choice: _Choice) -> bool:
        """Build a choice in full, once; tell whether it can be built."""
        if choice.design is None and not choice.unfit:
            try:
                choice.design = generate(self.name, choice.ask, self.catalogue)
            except CannotBuild:
                choice.unfit = True
                return False
            choice.bodies = outer_bodies(choice.design, rooms=True)
            blocks = few_blocks(choice.bodies)
            for sure in (True, False):
                found = self._stands(blocks, self.room, sure)
                choice.stands[sure] = [s for s, _ in found]
                choice.heights |= {(sure, turn): h for turn, (_, h) in enumerate(found)}
            choice.unfit = not any(s.free.any() for s in choice.stands[False])
        return not choice.unfit

    def stood(self, several: Sequence[_Choice]) -> tuple[Filled, ...] | None:
        """Return a set of boxes where it stands, confirmed exactly; None if it can't be built or does not go in."""
        if not all(self._made(c) for c in several):
            return None
        for sure in (True, False) if len(several) == 1 else (True,):
            for spots in self._spots(several, sure):
                found = self._confirmed(several, spots, sure)
                if found is not None:
                    return found
        return None

    def _spots(self, several: Sequence[_Choice], sure: bool) -> Iterator[tuple[Spot, ...]]:
        """Yield places on the grid for a set: of one box the lowest, then those in the middle; of several just one."""
        if len(several) > 1:
            spots = packed([c.stands[sure] for c in several], self.grid.step, self.gap)
            if spots is not None:
                yield spots
            return
        (one,) = several
        for turn, stand in enumerate(one.stands[sure]):
            at = np.argwhere(stand.free)
            if len(at):
                height = one.heights[sure, turn][at[:, 0], at[:, 1]]
                order = np.lexsort((np.linalg.norm(at - np.median(at, axis=0), axis=1), height))
                for i in order[: 1 if sure else _TRIES].tolist():
                    yield (Spot(turn, *at[i].tolist()),)

    def _confirmed(self, several: Sequence[_Choice], spots: Sequence[Spot], sure: bool) -> tuple[Filled, ...] | None:
        """Return boxes set down, moved apart and measured exactly; None if any is nearer to anything than asked."""
        quarter = turns(True)
        poses, stands = [], []
        for choice, spot in zip(several, spots, strict=True):
            height = int(choice.heights[sure, spot.turn][spot.i, spot.j])
            (at,) = self.grid.at(np.array([[spot.i, spot.j, height]]))
            blocks = [(CASE, b) for b in few_blocks(choice.bodies)]
            pose, down = set_down(blocks, Pose(quarter[spot.turn], at), self.around.shut)
            poses.append(pose)
            stands.append(down)
        # Where the grid is sure there is room to move in: twice each, as a box that moved makes room for another.
        for k in (*range(len(several)), *range(len(several))) if len(several) > 1 else ():
            few = [(CASE, b) for b in few_blocks(several[k].bodies)]
            poses[k] = centred(few, poses[k], [*self.around.shut, *self._others(several, poses, k)])
        worst = self._worst(several, poses, stands)
        if min(worst) < self.gap - 1e-6:
            return None
        return tuple(
            Filled(ask=c.ask, design=c.design, pose=pose, worst=w)
            for c, pose, w in zip(several, poses, worst, strict=True)
            if c.design is not None
        )

    def _others(self, several: Sequence[_Choice], poses: Sequence[Pose], k: int) -> list[Skin]:
        return [
            of_bodies([(CASE, b) for b in few_blocks(c.bodies)], pose)
            for n, (c, pose) in enumerate(zip(several, poses, strict=True))
            if n != k
        ]

    def _worst(self, several: Sequence[_Choice], poses: Sequence[Pose], stands: Sequence[bool]) -> list[float]:
        found = []
        for k, (choice, pose) in enumerate(zip(several, poses, strict=True)):
            # What hangs over the floor keeps its clearance below too.
            kept = underfoot(choice.bodies, pose, self.around.shut) if stands[k] else self.around.shut
            skins = [*kept, *self._others(several, poses, k)]
            found.append(worst_distance(choice.bodies, pose, skins, _LOOK))
        return found


def _parts(several: tuple[_Choice, ...]) -> set[tuple[_Choice, ...]]:
    """Return every set of one or more of some boxes, in their order."""
    return {part for n in range(1, len(several) + 1) for part in combinations(several, n)}


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
