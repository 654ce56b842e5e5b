"""What is nearest to a box on each side: walls, ceilings and floors of the bay, keep-outs, the rim of the opening."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from baywright.bay.envelope import SAME, Array, Bay, Upright, rim_of, walls_of, within
from baywright.bay.solids import Distances, Solids, distances
from baywright.finding import Verdict

FRONT, REAR, LEFT, RIGHT, ABOVE, BELOW = SIDES = ("front", "rear", "left", "right", "above", "below")
_BY_AXIS = (FRONT, REAR, LEFT, RIGHT, BELOW, ABOVE)  # -X, +X, -Y, +Y, -Z, +Z

# A box whose lowest piece is within this of the bay's floor stands on it, mm: a washer's thickness.
_STANDS = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance:
    """The least clearance on one side, or to one thing.

    Attributes:
        side: the side of the box on which it is: one of `SIDES`.
        nominal: as measured, mm; negative: how far the box reaches into it.
        worst: with the tape's slack against the box, mm.
        needed: mm.
        mark: the piece of the box that is nearest.
        against: the measurement that is nearest.
        at: the place on the wall (x, y, z) mm, vehicle frame.
    """

    side: str
    nominal: float
    worst: float
    needed: float
    mark: str
    against: str
    at: tuple[float, float, float]

    @property
    def verdict(self) -> Verdict:
        """Pass if even the tape's worst leaves what is needed; look if only the tape's slack decides."""
        if self.nominal < self.needed - SAME:
            return "fail"
        return "pass" if self.worst >= self.needed - SAME else "look"


@dataclass(frozen=True, eq=False)
class Pairs:
    """Clearances of p pairs of a piece and a wall.

    Attributes:
        nominal: (p,) mm.
        worst: (p,) mm.
        toward: (p, 3) unit vectors from piece to wall.
        at: (p, 3) mm.
        marks: (p,) names of pieces.
        against: (p,) names of measurements.
    """

    nominal: Array
    worst: Array
    toward: Array
    at: Array
    marks: NDArray[np.object_]
    against: NDArray[np.object_]

    def sides(self) -> NDArray[np.int64]:
        """Return (p,) the side each is on, as an index of -X, +X, -Y, +Y, -Z, +Z."""
        axis = np.abs(self.toward).argmax(axis=1)
        side: NDArray[np.int64] = axis * 2 + (self.toward[np.arange(len(axis)), axis] > 0)
        return side

    def clearance(self, i: int, needed: float) -> Clearance:
        """Return pair `i` as a clearance."""
        x, y, z = self.at[i].tolist()
        return Clearance(
            side=_BY_AXIS[int(self.sides()[i])],
            nominal=float(self.nominal[i]),
            worst=float(self.worst[i]),
            needed=needed,
            mark=str(self.marks[i]),
            against=str(self.against[i]),
            at=(x, y, z),
        )

    def least(self, needed: float) -> tuple[Clearance, ...]:
        """Return the least clearance at the tape's worst on each side that has one, in the order of `SIDES`."""
        side = self.sides()
        found = {}
        for code, word in enumerate(_BY_AXIS):
            rows = np.nonzero(side == code)[0]
            if len(rows):
                best = rows[np.lexsort((self.nominal[rows], self.worst[rows]))[0]]
                found[word] = self.clearance(int(best), needed)
        return tuple(found[word] for word in SIDES if word in found)


class Slabs:
    """How solids stand in the slabs of a bay between its levels.

    Attributes:
        low: (s,) mm.
        high: (s,) mm.
        cut: (n, s) whether a wall of the slab cuts the solid's plan.
        held: (n, s) whether the slab's plan holds the solid's plan whole.
        overlap: (n, s) whether the solid reaches into the slab in height.
        lost: (n,) whether the solid lies wholly outside the bay.
    """

    def __init__(self, solid: Solids, bay: Bay, d: Distances) -> None:
        """Find how `solid` stands in `bay`, whose walls are `d` from it."""
        self.low, self.high = bay.levels[:-1], bay.levels[1:]
        self.cut = np.stack([d.cut[:, np.abs(bay.walls.low - low) <= SAME].any(axis=1) for low in self.low], axis=1)
        self.held = ~self.cut & _some_point(solid, bay)
        reach = np.minimum(self.high[None], solid.high[:, None]) - np.maximum(self.low[None], solid.low[:, None])
        self.overlap = reach > SAME
        self.lost = ~((self.held | self.cut) & self.overlap).any(axis=1)


def _some_point(solid: Solids, bay: Bay) -> NDArray[np.bool_]:
    """Tell (n, s) whether some inner point of each plan is free: where no wall cuts it, then all of it is."""
    centre = solid.outline.mean(axis=1)
    found = np.zeros((len(centre), len(bay.levels) - 1), dtype=bool)
    # Several points, none in a special place, so that a seam between two spaces cannot run through all of them.
    for i, share in enumerate((0.0, 0.137, 0.271)):
        corner = solid.outline[:, i % solid.outline.shape[1]]
        found |= bay.free(centre + share * (corner - centre) + share * 0.5 * solid.round[:, None])
    return found


def to_bay(solid: Solids, bay: Bay) -> tuple[tuple[Clearance, ...], bool]:
    """Return the least clearance of a box to the bay's walls, ceilings and floors on each side, and whether it is in.

    A box that stands on the floor needs no clearance below; the slack of that floor then counts above.
    """
    walls = bay.walls
    d = distances(solid, walls)
    state = Slabs(solid, bay, d)
    over, under = _level_pairs(solid, bay, state, up=True), _level_pairs(solid, bay, state, up=False)
    least = float(under.nominal.min()) if len(under.nominal) else np.inf
    stands = -SAME <= least <= _STANDS
    gap_up, gap_down = walls.low[None] - solid.high[:, None], solid.low[:, None] - walls.high[None]
    # A wall whose line runs over or under a plan without meeting it in height is the edge of a ceiling or a floor.
    counts = ~(d.cut & (np.maximum(gap_up, gap_down) >= -SAME))
    if stands:  # what lies beside the floor it stands on, deeper down, is no wall to it
        counts &= gap_down < -SAME
    beside = _pairs(solid, walls.names, counts, d)
    sides = joined([beside, over, under]).least(bay.clearance)
    if stands:
        below = next(c for c in sides if c.side == BELOW)
        slack = below.nominal - below.worst
        sides = tuple(
            replace(c, needed=0.0, worst=c.nominal)
            if c.side == BELOW
            else replace(c, worst=c.worst - slack)
            if c.side == ABOVE
            else c
            for c in sides
        )
    return sides, all(c.nominal >= -SAME for c in sides) and not state.lost.any()


def _pairs(solid: Solids, names: Sequence[str], counts: NDArray[np.bool_], d: Distances) -> Pairs:
    """Return the pairs of solids and walls that count (n, m)."""
    i, j = np.nonzero(counts)
    marks, against = np.array(solid.names, dtype=object), np.array(names, dtype=object)
    return Pairs(d.nominal[i, j], d.worst[i, j], d.toward[i, j], d.at[i, j], marks[i], against[j])


def _level_pairs(solid: Solids, bay: Bay, state: Slabs, up: bool) -> Pairs:
    """Return the clearance of each solid to the nearest ceiling (`up`) or floor that does not let its plan through."""
    n = len(solid.low)
    low = np.concatenate([[-np.inf], state.low, bay.levels[-1:]])
    high = np.concatenate([bay.levels[:1], state.high, [np.inf]])
    edge = np.ones((n, 1), dtype=bool)
    # A plan that a wall cuts in a slab that the solid reaches into is that wall's business.
    shut = np.concatenate([edge, ~state.held & ~(state.cut & state.overlap), edge], axis=1)
    level = low if up else high
    gap = low[None] - solid.high[:, None] if up else solid.low[:, None] - high[None]
    starts = low[None] > solid.low[:, None] + SAME if up else high[None] < solid.high[:, None] - SAME
    gap = np.where(shut & starts, gap, np.inf)
    slab = gap.argmin(axis=1)
    rows = np.nonzero(np.isfinite(gap[np.arange(n), slab]))[0]
    slab = slab[rows]
    faces = {s: bay.face(float(level[s]), top=up) for s in set(slab.tolist())}
    nominal = gap[rows, slab]
    return Pairs(
        nominal,
        nominal - np.array([faces[int(s)][0] for s in slab]),
        np.tile([0.0, 0.0, 1.0 if up else -1.0], (len(rows), 1)),
        np.column_stack([solid.outline[rows].mean(axis=1), level[slab]]),
        np.array([solid.names[r] for r in rows], dtype=object),
        np.array([faces[int(s)][1] for s in slab], dtype=object),
    )


def to_thing(solid: Solids, thing: Upright, clearance: float) -> Clearance:
    """Return the least clearance of a box to one thing that must stay free."""
    walls = walls_of(thing)
    d = distances(solid, walls, around=True)
    n = np.arange(len(solid.low))
    struck = d.cut.any(axis=1)
    # Into it: the shortest way out; clear of it: the nearest side.
    j = np.where(struck, np.where(d.cut, d.nominal, -np.inf).argmax(axis=1), d.nominal.argmin(axis=1))
    nominal, worst, toward = d.nominal[n, j], d.worst[n, j], d.toward[n, j]
    swallowed = ~struck & within(solid.outline.mean(axis=1), thing.outline)
    if swallowed.any():  # no side cuts the plan, yet it is in there
        reach = np.einsum("nkc,mc->nmk", solid.outline - walls.ends[0, 0], walls.out)
        reach = reach.max(axis=2) - ((walls.ends[:, 0] - walls.ends[0, 0]) * walls.out).sum(axis=1)
        # Sides round a corner that bends in may have the box on their free side already: no way out through those.
        reach = np.where(reach > 0, reach, np.inf) + solid.round[:, None]
        depth = reach.min(axis=1)
        j = np.where(swallowed, reach.argmin(axis=1), j)
        over, under = thing.low - solid.high, solid.low - thing.high
        rise = np.maximum(over, under)
        rise_slack = np.where(over >= under, thing.low_slack, thing.high_slack)
        nominal = np.where(swallowed, np.maximum(-depth, rise), nominal)
        worst = np.where(swallowed, np.maximum(-depth - walls.slack[j], rise - rise_slack), worst)
        lift = np.column_stack([np.zeros((len(n), 2)), np.where(over >= under, 1.0, -1.0)])
        flat = np.column_stack([walls.out[j], np.zeros(len(n))])
        toward = np.where(swallowed[:, None], np.where((rise >= -depth)[:, None], lift, flat), toward)
    best = int(np.lexsort((nominal, worst))[0])
    upright = abs(toward[best, 2]) > 0.99
    face = (thing.low_side if toward[best, 2] > 0 else thing.high_side) if upright else thing.sides[int(j[best])]
    pairs = Pairs(
        nominal[best : best + 1],
        worst[best : best + 1],
        toward[best : best + 1],
        d.at[best, j[best]][None],
        np.array([solid.names[best]], dtype=object),
        np.array([face], dtype=object),
    )
    return pairs.clearance(0, clearance if thing.clearance is None else thing.clearance)


def way_in(solid: Solids, bay: Bay) -> tuple[tuple[Clearance, ...], bool | None]:
    """Return the least clearances on the straight way down through the opening, and whether the box goes in.

    Without an opening: nothing and None.
    """
    if bay.opening is None:
        return (), None
    height = bay.opening.height
    swept = solid.up_to(height)
    found = []
    blocked = False
    for walls in (rim_of(bay.opening), bay.walls):
        d = distances(swept, walls).sideways(walls)
        meets = (swept.low[:, None] < walls.high[None] - SAME) & (walls.low[None] < swept.high[:, None] - SAME)
        meets &= (solid.low < height - SAME)[:, None]
        blocked |= bool((d.cut & meets).any())
        found.append(_pairs(swept, walls.names, meets, d))
    state = Slabs(swept, bay, d)
    ahead = state.overlap & (state.high[None] > solid.high[:, None] + SAME)
    blocked |= bool((ahead & ~state.held).any())
    below = solid.low < height - SAME
    blocked |= not within(solid.outline.mean(axis=1)[below], bay.opening.outline).all()
    ways = list(joined(found).least(bay.clearance))
    for thing in bay.keep_outs:
        if thing.low < height:
            c = to_thing(swept, thing, bay.clearance)
            if c.side not in (ABOVE, BELOW) or c.nominal < 0:
                ways.append(c)
    blocked |= any(c.nominal < -SAME for c in ways)
    return tuple(ways), not blocked


def joined(parts: Sequence[Pairs]) -> Pairs:
    """Return several sets of pairs as one."""
    fields = ("nominal", "worst", "toward", "at", "marks", "against")
    return Pairs(*(np.concatenate([getattr(p, field) for p in parts]) for field in fields))
