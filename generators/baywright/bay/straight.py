"""Straight up: what bodies sweep on a straight way out of a bay, and how far that is from everything."""

from collections.abc import Sequence

import numpy as np

from baywright.bay.outside import Marked
from baywright.bay.skin import Skin
from baywright.bay.surround import worst_distance
from baywright.piece.solid import Block, Body, Round, enclosing
from baywright.shape.pose import Pose

_LOOK = 60.0  # mm: clearance beyond this is not told


def straight_up(bodies: Sequence[Marked], pose: Pose, skins: Sequence[Skin], top: float) -> float:
    """Return the least clearance (mm, less trust, at most 60) of all that bodies sweep on a straight way up.

    Exact for bodies that stand upright or lie along the axes; others sweep their enclosing block.
    """
    swept: list[tuple[str, Body]] = []
    for mark, body in bodies:
        there = body.moved(pose)
        upright = isinstance(body, Block) and np.abs(pose.turn[2, :2]).max() < 1e-9
        if upright and isinstance(body, Block):  # a yawed block stays a block in its own frame
            rise = max(top - float(pose(body.low)[2]), 0.0) + 1.0
            swept.append((mark, Block(body.low, body.high + np.array([0.0, 0.0, rise]))))
            continue
        back = pose.inverse()
        if isinstance(there, Round) and abs(there.axis[2]) > 1 - 1e-9:
            low = min(there.start[2], there.start[2] + there.axis[2] * there.length)
            foot = np.array([there.start[0], there.start[1], low])
            up = Round(foot, np.array([0.0, 0.0, 1.0]), max(top - low, 1.0) + 1.0, there.diameter)
            swept.append((mark, up.moved(back)))
            continue
        around = enclosing(there)
        if np.abs(pose.turn[2, :2]).max() < 1e-9:
            own = enclosing(body)
            rise = max(top - float(around.low[2]), 0.0) + 1.0
            swept.append((mark, Block(own.low, own.high + np.array([0.0, 0.0, rise]))))
        else:
            return _tilted_up(bodies, pose, skins, top)
    return worst_distance(swept, pose, skins, _LOOK)


def _tilted_up(bodies: Sequence[Marked], pose: Pose, skins: Sequence[Skin], top: float) -> float:
    """Return the same for a box that stands askew: its enclosing blocks in the vehicle's frame, swept."""
    swept: list[tuple[str, Body]] = []
    for mark, body in bodies:
        around = enclosing(body.moved(pose))
        high = np.array([around.high[0], around.high[1], max(top, around.high[2]) + 1.0])
        swept.append((mark, Block(around.low, high)))
    return worst_distance(swept, Pose(np.eye(3), np.zeros(3)), skins, _LOOK)
