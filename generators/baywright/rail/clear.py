"""How far the motor rocks, and what is left of the room to everything that must stay clear."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.rail.design import RailDesign
from baywright.rail.oriented import Box, box_of, distance
from baywright.rail.stress import Solved
from baywright.shape.pose import Pose

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rocking:
    """How far the motor turns about the shaft (or axle) under its torque, from how it stands at rest.

    Attributes:
        angle: degrees, the larger of both ways round.
        moves: the most that any corner of the motor moves in any load case, mm.
        case: the case in which it does.
    """

    angle: float
    moves: float
    case: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What is left between the rails or the motor and one thing.

    Attributes:
        name: the thing.
        mark: the piece that is nearest.
        at_rest: mm, as measured.
        slack: how far the measurement may be off, mm.
        eaten: how far the piece moves, mm.
        at: (x, y, z) mm, rail frame.
    """

    name: str
    mark: str
    at_rest: float
    slack: float
    eaten: float
    at: tuple[float, float, float]

    @property
    def left(self) -> float:
        """What is left when the motor rocks, as measured, mm."""
        return self.at_rest - self.eaten


def moved(solved: Solved, points: Array) -> Array:
    """Return how far points (n, 3) of the motor unit move from rest in every load case, (cases, n, 3) mm."""
    about = solved.model.frame.nodes[0]
    motion = solved.answer.motion[:, 0] - solved.answer.motion[0, 0]
    out: Array = motion[:, None, :3] + np.cross(motion[:, None, 3:], points[None] - about)
    return out


def rocking(solved: Solved) -> Rocking:
    """Return how far the motor rocks."""
    design = solved.design
    turn = solved.answer.motion[:, 0, 3:] - solved.answer.motion[0, 0, 3:]
    loaded = np.array([float(np.linalg.norm(c.moment)) > 0 for c in solved.cases])
    axis = next((c.moment / np.linalg.norm(c.moment) for c in solved.cases if np.linalg.norm(c.moment) > 0), None)
    angle = float(np.abs(turn[loaded] @ axis).max()) if axis is not None else 0.0
    corners = np.vstack([box.corners() for _, box in _motor_boxes(design)])
    shift = np.linalg.norm(moved(solved, corners), axis=2).max(axis=1)
    case = int(shift.argmax())
    return Rocking(angle=math.degrees(angle), moves=float(shift[case]), case=solved.cases[case].name)


def rooms(solved: Solved, things: list[tuple[str, Box, float]]) -> list[Room]:
    """Return what is left to each of some things (name, box in the rail frame, slack mm).

    How far the nearest pieces move, whichever way, is taken off: a little more than they move toward the thing.
    """
    design = solved.design
    own = [(p.mark, box_of(body, p.pose)) for p in design.assembly.placed for body in p.piece.bodies()]
    own += [(p.mark, box_of(body, p.pose)) for p in design.assembly.fasteners() for body in p.piece.bodies()]
    own = [(mark, box) for mark, box in own if not mark.startswith("doubler")]
    corners = np.array([box.corners() for _, box in own])
    moves = np.linalg.norm(moved(solved, corners.reshape(-1, 3)), axis=2).max(axis=0).reshape(len(own), 8).max(axis=1)
    found = []
    for name, thing, slack in things:
        apart = np.array([_at_least(box, thing) for _, box in own])
        near: Room | None = None
        for i in np.argsort(apart - moves, kind="stable"):
            if near is not None and apart[i] - moves[i] > near.left:
                break
            gap, place = distance(own[i][1], thing)
            if near is None or gap - moves[i] < near.left:
                x, y, z = place.tolist()
                near = Room(name=name, mark=own[i][0], at_rest=gap, slack=slack, eaten=float(moves[i]), at=(x, y, z))
        if near is not None:
            found.append(near)
    return found


def _at_least(box: Box, thing: Box) -> float:
    """Return a distance that two boxes are apart at least: between the balls round them."""
    return float(np.linalg.norm(box.centre - thing.centre) - np.linalg.norm(box.half) - np.linalg.norm(thing.half))


def _motor_boxes(design: RailDesign) -> list[tuple[str, Box]]:
    marks = {mark for mark, _ in design.motors}
    return [
        (p.mark, box_of(body, p.pose)) for p in design.assembly.placed if p.mark in marks for body in p.piece.bodies()
    ]


def keep_boxes(design: RailDesign) -> list[tuple[str, Box, float]]:
    """Return the design's keep-outs as (name, box in the rail frame, slack mm)."""
    back: Pose = design.pose.inverse()
    out = []
    for thing in design.keep_outs:
        low, high = np.array([c.value for c in thing.low]), np.array([c.value for c in thing.high])
        slack = max(c.tolerance for c in (*thing.low, *thing.high))
        out.append((thing.name, Box((low + high) / 2, np.eye(3), (high - low) / 2).moved(back), slack))
    return out
