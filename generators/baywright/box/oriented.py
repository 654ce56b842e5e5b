"""A module as it lies in the box: flat, on its side or on end."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.finding import CannotBuild
from baywright.job.parts import Module
from baywright.piece.bought import Bought
from baywright.piece.solid import Block
from baywright.shape.pose import Pose, shifted, turned

_AXES = {"x": 0, "y": 1, "z": 2}


def exit_direction(exit_: str) -> NDArray[np.float64]:
    """Return the unit vector (3,) of an exit such as "+x" or "-z"."""
    out = np.zeros(3)
    out[_AXES[exit_[1]]] = 1.0 if exit_[0] == "+" else -1.0
    return out


@dataclass(frozen=True, eq=False)
class Oriented:
    """A module in its orientation; its frame has the origin in the middle of the underside, x along the box, z up.

    Attributes:
        module: the catalogue's row.
        size: (3,) mm as it lies.
        pose: from the module's own frame to this one.
        holds: vertical hold-down positions (n, 2) mm.
        seat: height above the underside at which a hold-down's head rests, mm.
        recess: diameter that is free above a lower seat for head, washer and driver, mm; 0 for a sleeve to the top.
        hold_screw: the hold-down's thread.
        through: whether the hold-downs are sleeves over the full height, as tie rods need.
        leads: what leaves it: (name, start (3,) mm, direction (3,), outside diameter mm) of cables and hoses.
    """

    module: Module
    size: NDArray[np.float64]
    pose: Pose
    holds: NDArray[np.float64]
    seat: float
    recess: float
    hold_screw: str
    through: bool
    leads: tuple[tuple[str, NDArray[np.float64], NDArray[np.float64], float], ...]

    def need(self, axis: int, sign: int, bend_factor: float) -> float:
        """Return the free space in mm that its cables and hoses need on one side to leave and bend."""
        most = 0.0
        face = (0.0 if sign < 0 else self.size[2]) if axis == 2 else sign * self.size[axis] / 2
        for _, start, direction, wide in self.leads:
            if direction[axis] == sign:
                most = max(most, bend_factor * wide - sign * (face - start[axis]))
        return float(most)

    def bought(self) -> Bought:
        """Return the module as a bought piece in this frame."""
        half = self.size / 2
        body = Block(np.array([-half[0], -half[1], 0.0]), np.array([half[0], half[1], self.size[2]]))
        return Bought(
            role="module",
            name=self.module.name,
            mass=self.module.mass,
            centre=self.pose(np.array(self.module.centre_of_mass)),
            bodies_=(body,),
            source=self.module.source,
            group="modules",
        )


def oriented(module: Module, orientation: str) -> Oriented:
    """Return the module laid as asked; cables and hoses that leave along its length point to the service end.

    Raises:
        CannotBuild: if the module may not lie so, or has no hold-down that is upright then.
    """
    if orientation not in module.orientations:
        raise CannotBuild(
            "orientation",
            f"module '{module.name}' may not lie '{orientation}': its data sheet allows "
            + ", ".join(module.orientations),
        )
    size = np.array(module.size, dtype=float)
    if orientation == "flat":
        lay, upright = shifted(), "z"
    elif orientation == "side":
        lay, upright = turned("x", 90, (0.0, size[2] / 2, size[1] / 2)), "y"
    else:
        lay, upright = turned("y", -90, (size[2] / 2, 0.0, size[0] / 2)), "x"
    exits = [*(t.exit for t in module.terminals), *(p.exit for p in module.ports)]
    ends = [exit_direction(exit_) for exit_ in exits]
    if sum(float(lay.direction(d)[0]) for d in ends) < 0:
        lay = turned("z", 180).after(lay)
    out = np.abs(lay.turn) @ size
    group = next((h for h in module.hold_downs if h.axis == upright), None)
    if group is None:
        raise CannotBuild(
            "orientation",
            f"module '{module.name}' has no hold-down holes that stand upright when it lies '{orientation}'",
        )
    plane = [a for a in "xyz" if a != upright]
    own = np.zeros((len(group.positions), 3))
    for i, name in enumerate(plane):
        own[:, _AXES[name]] = [p[i] for p in group.positions]
    leads = tuple(
        (name, lay(np.array(at, dtype=float)), lay.direction(exit_direction(exit_)), wide)
        for name, at, exit_, wide in (
            *((t.name, t.at, t.exit, t.cable) for t in module.terminals),
            *((p.name, p.at, p.exit, p.hose) for p in module.ports),
        )
    )
    full = float(size[_AXES[upright]])
    return Oriented(
        module=module,
        size=out,
        pose=lay,
        holds=lay(own)[:, :2],
        seat=group.seat,
        recess=group.recess or 0.0,
        hold_screw=group.screw,
        through=group.seat >= full - 1e-6,
        leads=leads,
    )
