"""Where the shaft is, and the mounts as seen along it.

The rail frame: origin at the crankshaft's centre on the gearbox's face, x along the shaft toward the motor, z up
(square to the shaft, in its upright plane), y level. Rails run along x, so that everything but a leaning foot stands
square.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.finding import CannotBuild
from baywright.job.rails import MountAsk, ShaftAsk
from baywright.rail.measure import Located
from baywright.shape.pose import Pose, cross

Array = NDArray[np.float64]

# Names of directions in the vehicle's frame (X rearward, Y right, Z up).
WAYS = {
    "front": (-1.0, 0.0, 0.0),
    "rear": (1.0, 0.0, 0.0),
    "left": (0.0, -1.0, 0.0),
    "right": (0.0, 1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}
UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, eq=False, kw_only=True)
class Mount:
    """A mount in the rail frame.

    Attributes:
        name: its name in the job.
        ask: what the job says of it.
        at: (3,) mm: the middle of the face that a foot sits on.
        faces: (3,) of unit length: away from the car's metal.
        spread: how far it may be off, mm.
        slotted: whether its foot is slotted.
    """

    name: str
    ask: MountAsk
    at: Array
    faces: Array
    spread: float
    slotted: bool = False


def shaft_pose(ask: ShaftAsk) -> Pose:
    """Return the pose from the rail frame to the vehicle's.

    Raises:
        CannotBuild: if the second point of the shaft is too near to the first, or lies the other way.
    """
    centre, way = np.array(ask.centre, dtype=float), np.array(WAYS[ask.toward])
    if ask.second is not None:
        run = np.array(ask.second, dtype=float) - centre
        length = float(np.linalg.norm(run))
        if length < 50.0:
            raise CannotBuild(
                "shaft.second",
                f"is {length:.0f} mm from the centre: too near to give a direction, take one further off",
            )
        x = run / length
        if float(x @ way) < np.cos(np.radians(20.0)):
            raise CannotBuild(
                "shaft.second", f"does not lie toward the {ask.toward} of the centre, within 20 degrees: check both"
            )
    else:
        swing, rise = np.radians(ask.swing), np.radians(ask.rise)
        # Seen from above with X rearward and Y to the right, a clockwise turn takes X toward -Y.
        level = np.array(
            [way[0] * np.cos(swing) + way[1] * np.sin(swing), way[1] * np.cos(swing) - way[0] * np.sin(swing)]
        )
        x = np.array([*(level * np.cos(rise)), np.sin(rise)])
    y = cross(UP, x)
    y = y / np.linalg.norm(y)
    return Pose(np.column_stack([x, y, cross(x, y)]), centre)


def side_names(pose: Pose) -> tuple[str, str]:
    """Return what the car calls the sides of the rail frame at y < 0 and y > 0: "left", "right", or "front", "rear"."""
    y = pose.turn[:, 1]
    low, high = ("front", "rear") if abs(y[0]) > abs(y[1]) else ("left", "right")
    return (low, high) if y[0 if low == "front" else 1] > 0 else (high, low)


def mounts_of(asked: dict[str, MountAsk], located: Located, pose: Pose) -> list[Mount]:
    """Return the mounts in the rail frame, those at the gearbox's end with round holes, the others slotted.

    The half of the mounts (by their places along the shaft) that is nearer to the gearbox's face keeps the motor where
    it is; slots in the other feet take up what the tape missed.
    """
    back = pose.inverse()
    found = []
    for name, ask in asked.items():
        way = np.array(WAYS[ask.faces] if isinstance(ask.faces, str) else ask.faces, dtype=float)
        found.append(
            Mount(
                name=name,
                ask=ask,
                at=back(located.places[name]),
                faces=back.direction(way / np.linalg.norm(way)),
                spread=located.spread[name],
            )
        )
    order = sorted(found, key=lambda m: (abs(float(m.at[0])), m.name))
    kept = {m.name for m in order[: max(len(order) // 2, 1)]}
    return [
        Mount(name=m.name, ask=m.ask, at=m.at, faces=m.faces, spread=m.spread, slotted=m.name not in kept)
        for m in found
    ]
