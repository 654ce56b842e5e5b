"""The common pattern: the holes of the rails that hold a motor, as seen from that motor, equal for every car."""

from dataclasses import dataclass

import numpy as np

from baywright.piece.extrusion import Extrusion
from baywright.rail.design import RailDesign
from baywright.rail.unrolled import face_names
from baywright.shape.loop import bounds


@dataclass(frozen=True, slots=True, order=True)
class CradleHole:
    """A hole of a rail for what holds the motor.

    Attributes:
        motor: which motor, 1 for the one at the gearbox.
        rail: mark of the rail.
        face: what the face looks at: "inboard", "top" and so on.
        behind: of the hole's middle behind the motor's front end along the shaft, mm.
        out: from the shaft sideways, whichever side the rail is on, mm.
        up: above the shaft, square to it, mm.
        hole: diameter, mm.
    """

    motor: int
    rail: str
    face: str
    behind: float
    out: float
    up: float
    hole: float


def cradle_pattern(design: RailDesign) -> list[CradleHole]:
    """Return every hole of the rails that holds a motor, sorted; places to a thousandth of a mm."""
    fronts = dict(design.motors)
    numbers = {mark: number for number, mark in enumerate(fronts, 1)}
    # A line of bolts between a motor and a rail says in its joint which motor.
    motors = {line.name: line.joint.split(" to ")[0] for line in design.assembly.lines}
    found = []
    for mark, bar in design.bars.items():
        item = design.assembly.by_mark[mark]
        assert isinstance(item.piece, Extrusion)
        faces, names = item.piece.faces(), face_names(bar, design.sides)
        for hole in item.piece.holes:
            motor = motors[hole.line]
            if motor not in fronts:
                continue
            x0, y0, x1, y1 = bounds(hole.loop)
            stands = item.pose.after(faces[hole.face].pose)
            x, y, z = stands(np.array([(x0 + x1) / 2, (y0 + y1) / 2, 0.0])).round(3).tolist()
            behind, size = round(x - fronts[motor], 3), round(x1 - x0, 3)
            found.append(CradleHole(numbers[motor], mark, names[hole.face], behind + 0.0, abs(y), z + 0.0, size))
    return sorted(found)
