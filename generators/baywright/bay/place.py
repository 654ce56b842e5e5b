"""Where in a bay a box goes: every place on a grid, the best of them refined and confirmed exactly."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from baywright.bay.grid import Grid, turned_block, turns
from baywright.bay.outside import CASE, Marked, few_blocks
from baywright.bay.skin import Skin
from baywright.bay.surround import STANDS, Surround, lowest, underfoot, worst_distance
from baywright.bay.travel import travels
from baywright.piece.solid import Block, enclosing
from baywright.shape.pose import Pose, turned

Array = NDArray[np.float64]
Rank = Literal["margin", "near", "low"]

STEP = 10.0  # mm
# Places nearer to a better one than this, of the same turn, are the same place, mm.
_APART = 60.0
_LOOK = 80.0  # mm: clearance beyond this is no better
_MORE = 10  # places looked at beyond those wanted, where the grid was not sure of them
_FINEST = 1.0  # mm: the last step of the refinement


@dataclass(frozen=True, eq=False, kw_only=True)
class Place:
    """A place for a box.

    Attributes:
        pose: from the box's frame to the vehicle's.
        worst: mm: the least clearance less what tape and scan may be off, what it stands on left out; exact.
        asked: mm.
        centroid: (3,) mm of the box there.
        level: mm of room all round that the grid was sure of.
        stands: whether it stands on the bay's floor.
        turn: degrees about Z, and the tilt about the box's own y, degrees.
    """

    pose: Pose
    worst: float
    asked: float
    centroid: Array
    level: float
    stands: bool
    turn: tuple[float, float]

    @property
    def fits(self) -> bool:
        """Whether the clearance asked is there."""
        return self.worst >= self.asked - 1e-6


@dataclass(frozen=True, eq=False)
class Search:
    """What a search for places came to: how many places on the grid, and the best, confirmed."""

    tried: int
    possible: int
    places: tuple[Place, ...]


def find_places(
    bodies: Sequence[Marked],
    centroid: Array,
    around: Surround,
    *,
    clearance: float,
    rank: Rank = "margin",
    target: Array | None = None,
    any_way_up: bool = False,
    yaws: Sequence[float] = (0.0,),
    pitches: Sequence[float] = (0.0,),
    step: float = STEP,
    most: int = 5,
    refine: bool = True,
) -> Search:
    """Return the best places of a box in a bay.

    Every grid point is tried for each quarter turn and each small turn beside it; the box stands on the bay's floor or
    keeps its clearance below too, whichever is there. The best are moved to where the clearance is largest (`refine`)
    and confirmed by exact distances: a place that fails that is returned with the clearance it has.

    Args:
        bodies: from `outside.outer_bodies`: the first is the case.
        centroid: (3,) mm in the box's frame.
        around: the bay.
        clearance: asked, mm.
        rank: by "margin" (the largest least clearance), "near" (the centroid nearest to `target`), or "low".
        target: (3,) mm, vehicle frame, for "near".
        any_way_up: try all 24 turns, not only the four with the lid up.
        yaws: small turns about Z beside the quarter turns, degrees.
        pitches: small turns about the box's own y, degrees.
        step: of the grid, mm.
        most: how many places.
        refine: whether the best are moved between grid points.

    Raises:
        ValueError: if there is no target for "near", or the grid would be absurdly large.
    """
    if rank == "near" and target is None:
        raise ValueError("a search by nearness needs a target")
    grid = around.grid(step)
    trust = max(s.trust for s in around.shut)
    blocks = few_blocks(bodies)
    found: list[tuple[float, float, Pose, tuple[float, float]]] = []
    tried = possible = 0
    for quarter, yaw, pitch in product(turns(not any_way_up), yaws, pitches):
        turn = turned("z", yaw).turn @ quarter @ turned("y", pitch).turn
        square = yaw == 0.0 and pitch == 0.0
        parts = [turned_block(b, quarter) for b in blocks] if square else _cover(blocks, turn, step)
        tried += int(np.prod(grid.taken.shape))
        levels = _levels(grid, parts, clearance + trust)
        # The first holds every place that is sure; for the margin only the roomiest matter.
        for level, places in levels[-2:][::-1] if rank == "margin" else levels[:1]:
            possible += len(places)
            at = grid.at(places)
            score = _scores(rank, level, at + turn @ centroid, target)
            # Of thousands of equal places a few are looked at: the middle of their heap and the best by the rest.
            middle = np.linalg.norm(at - np.median(at, axis=0), axis=1)
            for i in np.lexsort((middle, -score))[: 4 * most].tolist():
                heading = float(np.degrees(np.arctan2(turn[1, 0], turn[0, 0])))
                found.append((float(score[i]), level, Pose(turn, at[i]), (round(heading, 6), pitch)))
    # What is sure on the grid comes before what only an exact check can tell.
    found.sort(key=lambda f: (f[1] < clearance + trust, -f[0]))
    confirmed: list[Place] = []
    seen: list[tuple[Pose, tuple[float, float]]] = []
    for _, level, pose, faces in found:
        if any(h == faces and np.linalg.norm(p.shift - pose.shift) < _APART for p, h in seen):
            continue
        seen.append((pose, faces))
        sure = level >= clearance + trust
        moved = refine and (rank == "margin" or not sure)
        confirmed.append(_confirmed(bodies, blocks, centroid, around.shut, pose, level, faces, clearance, moved))
        if sum(p.fits for p in confirmed) == most or len(confirmed) >= most + _MORE:
            break
    if rank == "margin":
        confirmed.sort(key=lambda p: -p.worst)
    confirmed = sorted(confirmed, key=lambda p: not p.fits)[:most]
    return Search(tried, possible, tuple(confirmed))


def _levels(grid: Grid, parts: Sequence[Block], asked: float) -> list[tuple[float, NDArray[np.int64]]]:
    """Return the places by the room all round that is sure there, least first; unsure ones only if none is sure."""
    found = []
    room = asked
    while True:
        places = grid.fits(parts, room, below=0.0)
        if not len(places):
            break
        found.append((room, places))
        room += grid.step
        if room > asked + _LOOK:
            break
    if not found:
        places = grid.fits(parts, asked, below=0.0, sure=False)
        if not len(places):
            return []
        found.append((asked - grid.step, places))
    return found


def _scores(rank: Rank, level: float, centroid: Array, target: Array | None) -> Array:
    if rank == "low":
        out: Array = -centroid[:, 2]
    elif rank == "near" and target is not None:
        out = -np.linalg.norm(centroid - target, axis=1)
    else:
        out = np.full(len(centroid), level)
    return out


def _cover(blocks: Sequence[Block], turn: Array, step: float) -> list[Block]:
    """Return upright blocks that cover blocks turned a little: each cut so fine that a part leans half a step."""
    lean = np.sort(np.abs(turn), axis=0)[:2].max(axis=0)  # of each own axis, the sine of how far it leans
    most = np.maximum(step / 2 / np.maximum(lean, 1e-6), step)
    found = []
    for block in blocks:
        size = block.high - block.low
        count = np.maximum(np.ceil(size / most), 1).astype(int)
        for cell in product(*(range(n) for n in count.tolist())):
            low = block.low + size * np.array(cell) / count
            part = Block(low, low + size / count)
            found.append(enclosing(part.moved(Pose(turn, np.zeros(3)))))
    return found


def _confirmed(
    bodies: Sequence[Marked],
    blocks: Sequence[Block],
    centroid: Array,
    skins: Sequence[Skin],
    pose: Pose,
    level: float,
    turn: tuple[float, float],
    asked: float,
    refine: bool,
) -> Place:
    """Return a place with its exact clearance, set down on the floor if one is near, moved to the middle if asked."""
    few = [(CASE, b) for b in blocks]
    pose, stands = set_down(bodies, pose, skins)
    if refine:
        pose = centred(few, pose, skins)
        pose, stands = set_down(bodies, pose, skins)
    worst = worst_distance(bodies, pose, underfoot(bodies, pose, skins) if stands else skins, _LOOK)
    return Place(
        pose=pose,
        worst=worst,
        asked=asked,
        centroid=pose(centroid),
        level=level,
        stands=stands,
        turn=turn,
    )


def set_down(bodies: Sequence[Marked], pose: Pose, skins: Sequence[Skin], most: float = 40.0) -> tuple[Pose, bool]:
    """Return the pose lowered onto what lies less than `most` mm below, and whether it stands on something then."""
    ways = [t.way for s in skins if len(s) for t in travels(bodies, pose, s, most, sides=("below",))]
    if not ways:
        bottom = lowest(bodies, pose)
        return pose, any(len(s.above(bottom + s.trust + STANDS)) < len(s) for s in skins) and _touches(
            bodies, pose, skins
        )
    # A hundredth above contact: what touches has no distance.
    return Pose(pose.turn, pose.shift - np.array([0.0, 0.0, max(min(ways) - 0.01, 0.0)])), True


def _touches(bodies: Sequence[Marked], pose: Pose, skins: Sequence[Skin]) -> bool:
    return worst_distance(bodies, pose, skins, STANDS) < STANDS


def centred(few: Sequence[Marked], pose: Pose, skins: Sequence[Skin]) -> Pose:
    """Return the pose shifted in plan to where the least clearance is largest, step by smaller step."""
    kept = underfoot(few, pose, skins)

    def room(p: Pose) -> float:
        return worst_distance(few, p, kept, _LOOK)

    best, step = room(pose), 8.0
    while step >= _FINEST:
        moved = False
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1)):
            there = Pose(pose.turn, pose.shift + np.array([dx, dy, 0.0]) * step)
            value = room(there)
            if value > best + 1e-3:
                pose, best, moved = there, value, True
                break
        if not moved:
            step /= 2
    return pose
