"""What hangs on the hoist, and whether modules go into their box in the car one by one."""

from dataclasses import dataclass

from baywright.bay.outside import outer_bodies
from baywright.bay.straight import straight_up
from baywright.bay.surround import Surround, underfoot
from baywright.box.generate import BoxDesign
from baywright.shape.pose import Pose


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """What hangs on the hoist: what it is, and its mass, kg."""

    what: str
    mass: float


def lifts(box: BoxDesign) -> tuple[Lift, ...]:
    """Return what may hang on the hoist: the whole box, the box without its modules, one module, the lid."""
    whole = box.mass_properties.mass
    modules = sum(i.piece.mass_properties().mass for i in box.assembly.placed if i.piece.role == "module")
    # Coolant is in the modules; it goes in last either way.
    coolant = sum(i.piece.mass_properties().mass for i in box.assembly.placed if i.piece.role == "coolant")
    lid = sum(i.piece.mass_properties().mass for i in box.assembly.placed if i.mark == "lid")
    return (
        Lift(what="whole box", mass=whole),
        Lift(what="empty box", mass=whole - modules - coolant),
        Lift(what="one module", mass=box.layout.module.module.mass),
        Lift(what="lid", mass=lid),
    )


def modules_in(box: BoxDesign, pose: Pose, around: Surround) -> list[str]:
    """Return the modules that can't go straight down into the box where it stands in the car, bonnet or boot open.

    That they go down past the box's own parts is the box's own check.
    """
    skins = [s for s in underfoot(outer_bodies(box), pose, around.opened) if len(s)]
    top = max((float(s.bounds[1][2]) for s in skins), default=0.0)
    blocked = []
    for item in box.assembly.placed:
        if item.piece.role == "module":
            bodies = [(item.mark, b.moved(item.pose)) for b in item.piece.bodies()]
            if straight_up(bodies, pose, skins, top) < 0:
                blocked.append(item.mark)
    return blocked
