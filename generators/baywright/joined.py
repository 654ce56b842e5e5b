"""Rails whose motor is joined to the gearbox by an adapter of the same job: one depth, one mass, one place."""

from typing import TYPE_CHECKING

import numpy as np

from baywright.finding import CannotBuild
from baywright.job.rails import Carried, RailsAsk
from baywright.rail.place import shaft_pose
from baywright.shape.pose import Pose, pose

if TYPE_CHECKING:
    from baywright.adapter.design import AdapterDesign

_SAME = 0.01  # mm


def joined(ask: RailsAsk, adapter: "AdapterDesign") -> tuple[RailsAsk, Pose]:
    """Return a request with what its adapter tells filled in, and the pose of the adapter in the vehicle's frame.

    The motor's front end stands off by the depth of the adapter's plates; the adapter's mass hangs on the mounts with
    the motor. In the balance it counts as the adapter's own.

    Raises:
        CannotBuild: if the adapter is for another motor, has a place of its own, or a lug plate is not where the
            adapter's plate is.
    """
    made = adapter.given.ask
    if ask.motor.part != made.motor:
        raise CannotBuild("motor.part", f"must be '{made.motor}', the motor of adapter '{adapter.name}'")
    if made.at is not None:
        raise CannotBuild("adapter", f"takes '{adapter.name}' to the shaft of these rails: leave out its own `at`")
    first, last = adapter.plates[0], adapter.plates[-1]
    depth = last.face("gearbox") - first.face("motor")
    lugs = ask.cradle.lugs
    if lugs is not None and made.lugs and adapter.given.motor.cradle is not None:
        fits = [p for p in lugs.plates if p.cleats == "gearbox" and abs(p.thickness - first.thickness) <= _SAME]
        if not any(abs(p.at + first.thickness) <= _SAME for p in fits):
            t = f"{first.thickness:g}"
            raise CannotBuild(
                "cradle.lugs",
                f"the lugs of adapter '{adapter.name}' are on its plate of {t} mm in front of the motor: "
                f'a lug plate must say {{ at = -{t}, thickness = {t}, cleats = "gearbox" }}',
            )
    rail = shaft_pose(ask.shaft)
    # From the motor's face z runs to the gearbox, y up; the rails' x runs from the gearbox's face to the motor.
    _, y, z = np.eye(3)
    stands = rail.after(pose(-y, z, (depth, 0.0, 0.0)))
    x0, y0, z0 = stands(adapter.metal.centroid).tolist()
    hung = Carried(name=f"adapter {adapter.name}", mass=adapter.metal.mass, at=(x0, y0, z0))
    motor = ask.motor.model_copy(update={"stand_off": depth})
    return ask.model_copy(update={"motor": motor, "carried": [*ask.carried, hung]}), stands
