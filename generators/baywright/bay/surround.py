"""Everything that a box in a bay must keep clear of: the taped bay, its scan, its keep-outs, what moves in it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from baywright.bay.envelope import Bay
from baywright.bay.gaps import CLOSE, REACH, Gap, least_distance, least_gaps
from baywright.bay.grid import Grid, grid_of
from baywright.bay.scan import Scan
from baywright.bay.skin import Skin, of_bay
from baywright.bay.travel import Travel, travels
from baywright.piece.solid import Body
from baywright.shape.pose import Pose

Array = NDArray[np.float64]

# A box stands on what lies under it within this beyond the skin's trust, mm: a washer's thickness.
STANDS = 1.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Surround:
    """What surrounds a box.

    Attributes:
        bay: as taped; with a scan its spaces may be rough, but they bound where a box may be.
        scan: the bay's scan, if there is one.
        moving: skins of what moves, swept, if anything does.
        beside: skins of what else the job puts there: other boxes, motor and rails.
    """

    bay: Bay
    scan: Scan | None = None
    moving: tuple[Skin, ...] = ()
    beside: tuple[Skin, ...] = ()

    @cached_property
    def shut(self) -> tuple[Skin, ...]:
        """The skins with bonnet or boot lid shut."""
        return self._skins(open_top=False)

    @cached_property
    def opened(self) -> tuple[Skin, ...]:
        """The skins with bonnet or boot lid open: what a box meets on its way in and what hands and tools meet."""
        return self._skins(open_top=True)

    def _skins(self, open_top: bool) -> tuple[Skin, ...]:
        scanned = () if self.scan is None else (self.scan.skin,)
        return (of_bay(self.bay, open_top=open_top), *scanned, *self.moving, *self.beside)

    @property
    def region(self) -> tuple[Array, Array]:
        """The upright block (3,) to (3,) mm around the taped spaces."""
        outlines = np.concatenate([s.outline for s in self.bay.spaces])
        low, high = outlines.min(axis=0), outlines.max(axis=0)
        return np.append(low, self.bay.levels[0]), np.append(high, self.bay.levels[-1])

    def grid(self, step: float) -> Grid:
        """Return the bay as a grid of cells of `step` mm, taken where any skin is or the tape's space ends."""
        low, high = self.region
        whole = grid_of(low, high, step, None, self.bay)
        taken = whole.taken
        for skin in self.shut[1:]:
            taken = taken | grid_of(low, high, step, skin).taken
        return Grid(low, step, taken)


@dataclass(frozen=True, slots=True, kw_only=True)
class Nearest:
    """The least clearance of a box to one skin.

    Attributes:
        gap: the least distance, with both points.
        trust: the skin's, mm.
        against: the skin's name.
    """

    gap: Gap
    trust: float
    against: str

    @property
    def worst(self) -> float:
        """The distance less the trust, mm."""
        return self.gap.distance - self.trust


@dataclass(frozen=True, eq=False, kw_only=True)
class Standing:
    """How a box stands in its surround.

    Attributes:
        least: the least clearance, what it stands on left out; None if all is beyond `gaps.REACH`.
        pieces: the least of each piece within `gaps.CLOSE`, worst first.
        ways: how far it may shift to each side, with the trust of what it meets; in the order of `near.SIDES`. What it
            strikes already has none.
        stands: whether it stands on something below it.
        struck: number of places where it shares space with the skin.
    """

    least: Nearest | None
    pieces: tuple[Nearest, ...]
    ways: tuple[tuple[Travel, float, str], ...]
    stands: bool
    struck: int


def lowest(bodies: Sequence[tuple[str, Body]], pose: Pose) -> float:
    """Return the height of the lowest point of bodies at a pose, mm."""
    from baywright.bay.convex import shapes

    solid = shapes([b for _, b in bodies], pose)
    n = np.arange(len(solid))
    return float(solid.farthest(n, np.tile([0.0, 0.0, -1.0], (len(n), 1)))[:, 2].min())


def underfoot(bodies: Sequence[tuple[str, Body]], pose: Pose, skins: Sequence[Skin]) -> list[Skin]:
    """Return the skins without what a box stands on: all that lies no higher than its lowest point and the trust."""
    bottom = lowest(bodies, pose)
    return [s.above(bottom + s.trust + STANDS) for s in skins]


def standing(
    bodies: Sequence[tuple[str, Body]], pose: Pose, skins: Sequence[Skin], reach: float = REACH, ways: bool = True
) -> Standing:
    """Return how a box (mark, body in its own frame) stands at a pose among skins.

    What it stands on needs no clearance and is left out; see `underfoot`. A box that hangs over the floor keeps its
    clearance below too.
    """
    kept = underfoot(bodies, pose, skins)
    stands = any(
        len(k) < len(s) and least_distance(bodies, pose, s, s.trust + STANDS) <= s.trust + STANDS - 1e-9
        for k, s in zip(kept, skins, strict=True)
    )
    if not stands:
        kept = list(skins)
    pieces: dict[str, Nearest] = {}
    every: list[Nearest] = []
    shifts: dict[str, tuple[Travel, float, str]] = {}
    struck = 0
    for skin in kept:
        if not len(skin):
            continue
        found = least_gaps(bodies, pose, skin, reach, min(CLOSE, reach))
        struck += found.struck
        here = [Nearest(gap=g, trust=skin.trust, against=skin.name) for g in found.pieces]
        if found.least is not None:
            every.append(Nearest(gap=found.least, trust=skin.trust, against=skin.name))
        for one in here:
            held = pieces.get(one.gap.mark)
            if held is None or one.worst < held.worst:
                pieces[one.gap.mark] = one
        for t in travels(bodies, pose, skin, reach) if ways and not found.struck else ():
            known = shifts.get(t.side)
            if known is None or t.way - skin.trust < known[0].way - known[1]:
                shifts[t.side] = (t, skin.trust, skin.name)
    if stands:
        shifts.pop("below", None)  # what it stands on was left out above
    if struck:
        shifts.clear()  # out of what it is in already there is no telling which way is free
    return Standing(
        least=min(every, key=lambda n: n.worst, default=None),
        pieces=tuple(sorted(pieces.values(), key=lambda n: n.worst)),
        ways=tuple(shifts.values()),
        stands=stands,
        struck=struck,
    )


def worst_distance(bodies: Sequence[tuple[str, Body]], pose: Pose, skins: Sequence[Skin], reach: float) -> float:
    """Return the least distance less trust (mm) of bodies to any of some skins, at most `reach`; negative: may meet."""
    found = [least_distance(bodies, pose, s, reach + s.trust) - s.trust for s in skins if len(s)]
    return min([reach, *found])
