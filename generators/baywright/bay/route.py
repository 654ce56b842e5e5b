"""The way in: straight down if that goes, else a path of shifts and turns found by a planner.

The planner (see `planner`) checks every step against the skin with the box made larger by the clearance asked and by
half of what the step moves any of its points, so nothing is passed between two checks. A path found is gone through
once more by exact distances of every piece, which share nothing with the planner's own check. That no path was found
proves nothing: the time or the tries ran out.
"""

import time
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from baywright.bay.outside import CASE, Marked, around_all, few_blocks
from baywright.bay.planner import Planner, between, measure
from baywright.bay.skin import Skin
from baywright.bay.straight import straight_up
from baywright.bay.surround import Surround, underfoot, worst_distance
from baywright.shape.pose import Pose

Array = NDArray[np.float64]

_LOOK = 60.0  # mm: clearance on the way beyond this is not told
_CHECKED = 10.0  # mm: the most that any point of the box moves between two exact checks of a path found


@dataclass(frozen=True, eq=False, kw_only=True)
class Route:
    """How a thing goes in.

    Attributes:
        method: "straight down", "planned", "not found" or "blocked" (its own place is not free).
        frames: poses from above the car down to its place, or fewer if it was not found.
        worst: the least clearance on the way less what tape and scan may be off, mm; None if not found.
        at_frame: at which frame, or on the way from it to the next, that is.
        asked: the clearance on the way that was asked, mm.
        tries: samples drawn by the planner.
        seconds: how long it took.
        said: what a person should know.
    """

    method: str
    frames: tuple[Pose, ...]
    worst: float | None
    at_frame: int
    asked: float
    tries: int
    seconds: float
    said: str

    @property
    def found(self) -> bool:
        """Whether a way in was found."""
        return self.method in ("straight down", "planned")


def way_in(
    bodies: Sequence[Marked],
    pose: Pose,
    around: Surround,
    *,
    clearance: float = 3.0,
    tries: int = 40_000,
    seconds: float = 600.0,
    seed: int = 1,
) -> Route:
    """Return the way of a box (from `outside.outer_bodies`, the case first) from above the car to its place.

    Args:
        bodies: mark and body in the box's frame.
        pose: its place.
        around: the bay, its bonnet or lid open.
        clearance: to keep on the way, mm; what the box stands on at its place is left out there.
        tries: the most samples for the planner: one seed gives one answer on every machine.
        seconds: the most time for the planner: a stop for those who wait, which a slow machine meets earlier.
        seed: of its random numbers.
    """
    start = time.monotonic()
    skins = [s for s in underfoot(bodies, pose, around.opened) if len(s)]
    top = max(float(s.bounds[1][2]) for s in around.opened if len(s))
    least = worst_distance(bodies, pose, skins, _LOOK)
    straight = straight_up(bodies, pose, skins, top)
    spent = time.monotonic() - start
    if straight >= clearance:
        high = Pose(pose.turn, pose.shift + np.array([0.0, 0.0, _above(bodies, pose, top)]))
        low = Pose(pose.turn, (pose.shift + high.shift) / 2)
        said = f"goes straight down through the opening with {straight:.1f} mm to spare at worst"
        return Route(
            method="straight down",
            frames=(high, low, pose),
            worst=straight,
            at_frame=2,
            asked=clearance,
            tries=0,
            seconds=spent,
            said=said,
        )
    if least < clearance:
        said = f"its own place leaves {least:.1f} mm, less than the {clearance:g} mm asked on the way: nothing to plan"
        return _none("blocked", clearance, 0, spent, said)
    planner = Planner(bodies, pose, skins, clearance, top, np.random.default_rng(seed))
    path = planner.run(start + seconds, tries)
    if path is None:
        said = (
            f"no path found in {planner.tried} tries: that is no proof that there is none; allow more, another seed, "
            "less clearance on the way, or offer up a cardboard box"
        )
        return _none("not found", clearance, planner.tried, time.monotonic() - start, said)
    path = path[::-1]
    worst, at_frame = _tightest(planner, path, bodies, skins)
    if worst < 0:  # only a fault of the planner's own check could bring this about
        said = f"the path found is {-worst:.1f} mm too near by the exact check: not to be used; try another seed"
        return _none("not found", clearance, planner.tried, time.monotonic() - start, said)
    frames = tuple(planner.pose(q) for q in path)
    where = f"at frame {at_frame + 1}" if at_frame == len(path) - 1 else f"from frame {at_frame + 1} on"
    return Route(
        method="planned",
        frames=frames,
        worst=worst,
        at_frame=at_frame,
        asked=clearance,
        tries=planner.tried,
        seconds=time.monotonic() - start,
        said=f"goes in by shifts and turns, {len(frames)} frames; tightest {where}: {worst:.1f} mm, checked exactly "
        f"at every {_CHECKED:g} mm of the way or where nothing nearer can be missed",
    )


def _tightest(
    planner: Planner, path: Sequence[Array], bodies: Sequence[Marked], skins: Sequence[Skin]
) -> tuple[float, int]:
    """Return the least clearance on a planner's path (mm, less what tape and scan may be off), and from which frame on.

    No point of the box moves more between two checks than `_CHECKED`, or than the box has more to spare at the first of
    them than the least found: a distance cannot shrink faster than the box moves.
    """
    worst, at_frame, unseen = np.inf, len(path) - 1, 0.0
    around = [(CASE, block) for block in few_blocks(bodies)]  # quick: all of the box is within them
    for number, (a, b) in reversed(list(enumerate(pairwise(path)))):  # from the place up: tight places come first
        far = float(measure(a, b, planner.arm)[0])
        count = max(int(np.ceil(far / _CHECKED)), 1)
        for k in range(count, -1 if number == 0 else 0, -1):
            unseen -= far / count
            if unseen > 0:
                continue
            pose = planner.pose(between(a, b, k / count))
            spare = worst_distance(around, pose, skins, _LOOK)
            if spare < worst:
                spare = worst_distance(bodies, pose, skins, min(worst + _CHECKED, _LOOK))
            if spare < worst:
                worst, at_frame = spare, number + (k == count)
            unseen = max(spare - worst, 0.0)
    return worst, at_frame


def _none(method: str, clearance: float, tries: int, seconds: float, said: str) -> Route:
    return Route(
        method=method, frames=(), worst=None, at_frame=0, asked=clearance, tries=tries, seconds=seconds, said=said
    )


def _above(bodies: Sequence[Marked], pose: Pose, top: float) -> float:
    """Return how far bodies at a pose must go up to be over everything, mm."""
    low, _ = around_all(bodies, pose)
    return max(top - float(low[2]), 0.0) + 20.0
