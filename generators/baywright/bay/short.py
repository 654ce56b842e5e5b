"""Why a bay takes not one more module: the arrangement that comes nearest, and which way it is too long by how much."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.bay.grid import Grid, turned_block, turns
from baywright.bay.outside import CASE, case_of_layout, few_blocks, outer_bodies
from baywright.bay.pack import Stand, packed
from baywright.bay.surround import Surround, underfoot
from baywright.bay.travel import travels
from baywright.box.generate import generate
from baywright.box.layout import Layout
from baywright.finding import CannotBuild
from baywright.job.catalogue import Catalogue
from baywright.job.models import BoxAsk
from baywright.piece.solid import Block
from baywright.shape.pose import Pose

Array = NDArray[np.float64]
Fits = Callable[[Sequence[Block]], bool]

_LOOKED_AT = 6  # arrangements built in full to say what one more lacks
_KEPT = 24  # kept for that by their cases alone: not all can be built
_FAR_MORE = 9  # modules: far more than fits comes no nearer than a little more
_SIDES = {"x": "length along the car", "y": "width across the car", "z": "height"}


@dataclass(frozen=True, kw_only=True)
class Short:
    """Why not one more: the arrangement that comes nearest, and what it lacks.

    Attributes:
        count: one more than go in.
        says: the arrangement in words.
        lacks: mm by direction ("x", "y", "z" of the vehicle): 0 where it goes in.
        most: whether that is an upper bound; else it is what the best place found lacks exactly.
    """

    count: int
    says: str
    lacks: dict[str, float]
    most: bool = False

    def sentence(self) -> str:
        """Return the answer as a sentence."""
        about = "at most " if self.most else ""
        parts = [f"{about}{mm:.0f} mm of {_SIDES[axis]}" for axis, mm in self.lacks.items() if mm > 0.5]
        lack = " and ".join(parts) or "a few millimetres somewhere: try `baywright place` on a finer grid"
        return f"{self.count} modules ({self.says}) would lack {lack}"


@dataclass(frozen=True, eq=False)
class Beside:
    """Boxes that stay while one more, or one that is larger, is tried beside them.

    Attributes:
        stands: how each may stand; none for a bay that one box has for itself.
        count: modules in them.
        gap: between boxes, mm.
    """

    stands: tuple[list[Stand], ...]
    count: int
    gap: float


def short_of(
    choices: Sequence[tuple[BoxAsk, Layout]],
    beside: Sequence[Beside],
    grid: Grid,
    around: Surround,
    best: int,
    catalogue: Catalogue,
) -> Short | None:
    """Return the arrangement of more modules that lacks least, and what it lacks, feet, lugs and fittings included.

    Args:
        choices: arrangements of one box.
        beside: what each is tried beside.
        grid: of the bay.
        around: the bay.
        best: modules that go in.
        catalogue: the shop's tables.
    """
    room = around.bay.clearance + max(s.trust for s in around.shut)
    extent = np.array(grid.taken.shape) * grid.step - (2 * room, 2 * room, room)
    rough: list[tuple[float, int, BoxAsk, Layout, Array, Beside]] = []
    for others in beside:
        fits = _fits_of(grid, room, others)
        for one, layout in choices:
            if best < one.count + others.count <= best + _FAR_MORE:
                for turn in turns(True)[::2]:  # a half turn changes nothing for the case
                    # Only what lacks less than the nearest few found so far matters.
                    limit = rough[_KEPT - 1][0] if len(rough) >= _KEPT else np.inf
                    lacks = _lacks(fits, [turned_block(case_of_layout(layout), turn)], extent, limit)
                    if lacks is not None:
                        rough.append((sum(lacks.values()), one.count, one, layout, turn, others))
                        rough.sort(key=lambda r: r[:2])
    found: Short | None = None
    built = 0
    for least, _, one, layout, turn, others in rough:
        if built == _LOOKED_AT or (found is not None and least > sum(found.lacks.values())):
            break
        try:
            blocks = few_blocks(outer_bodies(generate(layout.name, one, catalogue)))
        except CannotBuild:
            continue
        built += 1
        fits, alone = _fits_of(grid, room, others), not others.stands
        for whole in (turn, -turn @ np.diag([1.0, 1.0, -1.0])):
            parts = [turned_block(b, whole) for b in blocks]
            lacks = _lacks(fits, parts, extent)
            if lacks is None:
                continue
            if alone and len(lacks) == 1:
                ((name, rough_lack),) = lacks.items()
                exact = _exactly(grid, parts, "xyz".index(name), rough_lack, room, around)
                lacks = {name: rough_lack if exact is None else exact}
            if found is None or sum(lacks.values()) < sum(found.lacks.values()):
                most = not alone or len(lacks) > 1
                found = Short(count=best + 1, says=_said(one, layout, others), lacks=lacks, most=most)
    return found


def _said(one: BoxAsk, layout: Layout, others: Beside) -> str:
    text = f"{one.columns} side by side, {one.rows} end to end, {layout.layers} high, lying {one.orientation}"
    return f"a box of {one.count}, {text}" + (f", beside {others.count} in the rest" if others.stands else "")


def _fits_of(grid: Grid, room: float, others: Beside) -> Fits:
    """Return what tells whether a box's blocks go in beside others, on the grid for sure."""

    def fits(parts: Sequence[Block]) -> bool:
        places = grid.fits(parts, room, below=0.0)
        if not others.stands or not len(places):
            return len(places) > 0
        free = np.zeros([n + 1 for n in grid.taken.shape[:2]], dtype=bool)
        free[places[:, 0], places[:, 1]] = True
        low, high = np.min([b.low[:2] for b in parts], axis=0), np.max([b.high[:2] for b in parts], axis=0)
        return packed([*others.stands, [Stand(low, high, free)]], grid.step, others.gap) is not None

    return fits


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


def _lacks(fits: Fits, blocks: Sequence[Block], extent: Array, limit: float = np.inf) -> dict[str, float] | None:
    """Return by how many mm a box is too long in each direction; one direction alone if that is enough, else more.

    As the grid is sure of it: up to two cells too many. `extent` (3,) mm is what the bay measures at most. None if it
    is more than `limit` mm, or far too much.
    """
    size = blocks[0].high - blocks[0].low

    def goes(cuts: Array) -> bool:
        parts = list(blocks)
        for axis in range(3):
            if cuts[axis] > 0:
                parts = shortened(parts, axis, float(cuts[axis]))
        return fits(parts)

    def least(axis: int, cuts: Array) -> float:
        """Return the least cut along an axis with which it goes in, the others as they are; infinite if none does."""
        low, high = 0.0, min(float(size[axis] - 20.0), limit)
        for first in (True, *[False] * 20):
            middle = high if first else (low + high) / 2
            trial = cuts.copy()
            trial[axis] = middle
            good = goes(trial)
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
    if np.isfinite(limit):
        return None
    # Not one direction alone: shorten each as far as the bay's own extent asks, then the rest where it helps most.
    low, high = np.min([b.low for b in blocks], axis=0), np.max([b.high for b in blocks], axis=0)
    over = np.maximum(high - low - extent, 0.0)
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
