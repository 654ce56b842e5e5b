"""What the motor does to its mounts: weight as it is thrown about, and the reaction of its torque."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.mechanics.statics import Support, share
from baywright.rail.given import Given
from baywright.rail.place import Mount
from baywright.shape.mass import MassProperties
from baywright.shape.pose import Pose

Array = NDArray[np.float64]

G = 9.80665  # m/s², standard gravity


@dataclass(frozen=True, eq=False, kw_only=True)
class Case:
    """One load case on the motor unit, in the rail frame, load factor not in.

    Attributes:
        name: its name; torque cases come twice, once for each way round.
        force: (3,) N at the unit's centre of mass.
        moment: (3,) N·mm about it.
    """

    name: str
    force: Array
    moment: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Reaction:
    """The torque that the mounts have to hold.

    Attributes:
        torque: N·m.
        geared: what motor and gears could give, N·m.
        grip: what the tyres let through, N·m.
        about: "the shaft" or "the axle".
    """

    torque: float
    geared: float
    grip: float
    about: str


def reaction(given: Given) -> Reaction:
    """Return the torque that the mounts have to hold.

    Not the motor's own: a unit that turns a propshaft is turned back by what the propshaft gets, motor torque times
    first gear, about the shaft; one that turns the wheels by that times the final drive, about the axle. Neither can be
    more than the tyres hold (first principles).
    """
    drive, motor = given.ask.drive, given.motor
    torque = motor.torque * motor.count
    wheels = drive.grip * drive.driven_mass * G * drive.wheel_radius / 1000.0
    if drive.layout == "transaxle":
        geared, grip, about = torque * drive.first_gear * drive.final_drive, wheels, "the axle"
    else:
        geared, grip, about = torque * drive.first_gear, wheels / drive.final_drive, "the shaft"
    return Reaction(torque=min(geared, grip), geared=geared, grip=grip, about=about)


def cases(given: Given, pose: Pose, mass: float) -> list[Case]:
    """Return the load cases on a unit of `mass` kg, each torque case both ways round.

    Standing still comes first, whatever the job lists.
    """
    back = pose.inverse()
    found_torque = reaction(given)
    axis = np.array([1.0, 0.0, 0.0]) if found_torque.about == "the shaft" else back.direction(np.array([0.0, 1.0, 0.0]))
    none = np.zeros(3)
    found = [Case(name="at rest", force=back.direction(np.array([0.0, 0.0, -mass * G])), moment=none)]
    for case in given.ask.loads:
        force = back.direction(np.array(case.felt, dtype=float) * mass * G)
        if case.torque == "none":
            found.append(Case(name=case.name, force=force, moment=none))
            continue
        for sign, word in ((1.0, "one way round"), (-1.0, "the other way round")):
            moment = axis * sign * found_torque.torque * 1000.0
            found.append(Case(name=f"{case.name}, torque {word}", force=force, moment=moment))
    return found


def stiffness_of(mount: Mount, rigid: float) -> Array:
    """Return a mount's stiffness (3,) N/mm: along its bolt, and twice across."""
    rubber = mount.ask.rubber
    if rubber is None:
        return np.full(3, rigid)
    return np.array([rubber.along_n_per_mm, rubber.across_n_per_mm, rubber.across_n_per_mm])


def mount_axes(mount: Mount) -> Array:
    """Return a mount's directions (3, 3) as columns: its bolt first."""
    side = np.eye(3)[int(np.abs(mount.faces).argmin())]
    across = side - (side @ mount.faces) * mount.faces
    across = across / np.linalg.norm(across)
    return np.column_stack([mount.faces, across, np.cross(mount.faces, across)])


def supports(mounts: Sequence[Mount], rigid: float) -> list[Support]:
    """Return the mounts as supports of a stiff body."""
    return [Support(name=m.name, at=m.at, axes=mount_axes(m), stiffness=stiffness_of(m, rigid)) for m in mounts]


def mount_forces(mounts: Sequence[Mount], rigid: float, body: MassProperties, listed: Sequence[Case]) -> Array:
    """Return the forces (cases, mounts, 3) N of the mounts on a stiff unit, shared by their stiffness."""
    force, moment = np.array([c.force for c in listed]), np.array([c.moment for c in listed])
    return share(supports(mounts, rigid), force, moment, body.centroid).forces
