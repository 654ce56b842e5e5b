"""How motor and rails stand in a bay as measured: hangers and mounts reach through its walls and do not count."""

from collections.abc import Sequence
from dataclasses import replace

from baywright.bay.envelope import Bay
from baywright.bay.fit import check_fit
from baywright.finding import Finding
from baywright.piece.solid import Body
from baywright.rail.clear import rocking
from baywright.rail.design import RailDesign
from baywright.rail.stress import solve

# What must lie inside; hangers go to the chassis, which is the bay's wall or beyond it.
_INSIDE = ("motor", "rail", "crossbar", "cleat")


def inner_bodies(design: RailDesign) -> list[tuple[str, Body]]:
    """Return (mark, body in the rail frame) of motors, bars and cleats."""
    return [
        (item.mark, body.moved(item.pose))
        for item in design.assembly.placed
        if item.piece.role in _INSIDE
        for body in item.piece.bodies()
    ]


def bay_findings(design: RailDesign, bay: Bay, bodies: Sequence[tuple[str, Body]]) -> list[Finding]:
    """Return whether motor and rails lie in a bay, and the room left on each side when the motor rocks.

    What must stay free in the bay is looked at with the rails' own keep-outs, at any angle.

    Args:
        design: the rails.
        bay: the measured bay, vehicle frame.
        bodies: `inner_bodies`.
    """
    moves = rocking(solve(design)).moves
    asked = max(bay.clearance, design.ask.clearance)
    wanted = replace(bay, clearance=asked + moves, keep_outs=())
    found = []
    for f in check_fit(f"rails {design.name}", bodies, design.pose, wanted).findings:
        if f.check.startswith("clearance "):
            found.append(replace(f, message=f"{f.message} ({asked:g} mm, and {moves:.1f} mm that the motor rocks)"))
        elif f.check == "inside the bay":
            cure = "move it, turn it, or take fewer modules"
            found.append(replace(f, message=f.message.replace(cure, "measure it again, or take other rails or motor")))
    return found
