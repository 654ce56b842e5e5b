"""The top of the box: flange angles, gasket, lid, and the inserts that the lid's screws go into."""

from dataclasses import dataclass, replace

import numpy as np

from baywright.box.build import Build, X, Y, Z
from baywright.box.layout import Layout
from baywright.box.leads import beside, lead_spaces
from baywright.box.shell import gauge_line, sides
from baywright.finding import CannotBuild
from baywright.piece.assembly import LID
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.piece.spread import spread
from baywright.shape.loop import rectangle
from baywright.shape.pose import pose

# Free room between an insert's flange, the gasket and the next metal, mm (the shop's own choice).
_AIR = 1.0


@dataclass(frozen=True)
class FlangeLine:
    """Where things are on the flange, mm from the angle's heel: the inserts' line and the gasket's two edges."""

    inserts: float
    seal: tuple[float, float]


def flange_line(layout: Layout) -> FlangeLine:
    """Return where inserts and gasket run on the flange's upper leg: the screws outside the seal line.

    Raises:
        CannotBuild: if the leg is too narrow for both.
    """
    kit, style = layout.kit, layout.kit.style
    stock, ring = kit.flange_angle, kit.catalogue.insert(style.lid_screw.insert).flange_diameter
    if layout.flange == "in":
        inserts = stock.wall + ring / 2 + _AIR
        seal = (inserts + ring / 2 + _AIR, inserts + ring / 2 + _AIR + style.gasket.width)
        spare = stock.width - seal[1]
    else:
        seal = (_AIR / 2, _AIR / 2 + style.gasket.width)
        inserts = seal[1] + ring / 2 + _AIR
        spare = stock.width - inserts - kit.catalogue.insert(style.lid_screw.insert).edge_distance
    if spare < 0:
        raise CannotBuild(
            "style",
            f"the flange angle '{stock.name}' is {-spare:.1f} mm too narrow for a {style.gasket.width:g} mm gasket "
            f"beside its inserts; use a wider angle or a narrower gasket",
        )
    return FlangeLine(inserts, seal)


def add_top(build: Build, layout: Layout) -> None:
    """Add flange angles with their wall screws, gasket ring, lid, inserts and lid screws."""
    kit, style, b = layout.kit, layout.kit.style, layout.bond
    stock, joint, lid = kit.flange_angle, style.joint_screw, style.lid_screw
    inward = layout.flange == "in"
    place = flange_line(layout)
    ring = kit.catalogue.insert(lid.insert).flange_diameter
    near = (ring + kit.diameter(joint.size)) / 2 + _AIR
    edge = kit.catalogue.insert(lid.insert).edge_distance
    rule = build.pitch()
    lid_rule = replace(rule, most=lid.pitch_most, edge=max(edge, rule.edge))
    squeezed = layout.lid_under - layout.wall_top
    grip = style.lid.thickness + squeezed
    tips = layout.lid_under + style.lid.thickness - kit.length_into_insert(lid.size, grip, lid.insert)
    rooms = lead_spaces(layout)
    heads: list[np.ndarray] = []
    for key, side in sides(layout).items():
        long = key in ("right", "left")
        if inward:
            half = side.half - style.cut_back if long else side.half - b - stock.width - style.cut_back
            depth, leg, toward = -b, -side.out, -1.0
        else:
            half = layout.outside[0 if long else 1] / 2 + b + (stock.width if long else -style.cut_back)
            depth, leg, toward = style.wall.thickness + b, side.out, 1.0
        mark = f"lid flange {key}"
        heel = side.at(depth, -half, layout.wall_top)
        build.angle(mark, "lid flange", stock, heel, side.along, -Z, leg, 2 * half)
        build.bond(side.mark, mark)
        line = depth + toward * place.inserts
        # Inserts and tips stand down into the box beside the topmost modules' cables.
        eyes = spread(-half, half, lid_rule, keep_out=beside(rooms, side, line, ring / 2, tips))
        heads += [side.at(line, s, layout.lid_under + style.lid.thickness) for s in eyes]
        build.inserted(
            f"lid to {mark}",
            "lid",
            heads[-len(eyes) :],
            -Z,
            "lid",
            mark,
            grip=grip,
            size=lid.size,
            head=lid.head,
            insert=lid.insert,
            stage=LID,
        )
        # The wall's own end is where an outward flange's joint ends too.
        reach = half if inward else min(half, side.half - b)
        where = spread(-reach, reach, rule, keep_out=[(s - near, s + near) for s in eyes])
        z = layout.wall_top - gauge_line(stock)
        head_at = style.wall.thickness if inward else style.wall.thickness + b + stock.wall
        build.screws(
            f"{mark} to {side.mark}",
            f"{mark} / {side.mark}",
            [side.at(head_at, s, z) for s in where],
            -side.out,
            [side.mark if inward else mark],
            mark if inward else side.mark,
            stock.wall if inward else style.wall.thickness,
            size=joint.size,
            head=joint.head,
            grip=(style.wall.thickness if inward else stock.wall) + b,
        )
    _add_gasket(build, layout, place, squeezed)
    over = 0.0 if inward else b + stock.width
    size = (layout.outside[0] + 2 * over, layout.outside[1] + 2 * over)
    corner = (-size[0] / 2, -size[1] / 2, layout.lid_under)
    build.panel(
        "lid", "lid", pose(X, Y, corner), size, style.lid.thickness, style.lid.material, seen_from="above", stage=LID
    )


def _add_gasket(build: Build, layout: Layout, place: FlangeLine, squeezed: float) -> None:
    """Add the gasket as one ring, inside the line of the lid's screws, drawn at its squeezed thickness."""
    style, b = layout.kit.style, layout.bond
    half = [layout.inside[0] / 2, layout.inside[1] / 2]
    if layout.flange == "in":
        outer = [h - b - place.seal[0] for h in half]
        inner = [h - b - place.seal[1] for h in half]
    else:
        beyond = style.wall.thickness + b
        outer = [h + beyond + place.seal[1] for h in half]
        inner = [h + beyond + place.seal[0] for h in half]
    opening = Hole(face="top", loop=rectangle(-inner[0], -inner[1], *inner), depth=squeezed, use="cut-out", line="ring")
    gasket = Plate(
        role="gasket",
        outline=rectangle(-outer[0], -outer[1], *outer),
        holes=(opening,),
        thickness=squeezed,
        material=style.gasket.material,
        density=build.kit.density(style.gasket.material) / (1 - style.gasket.compression),
        seen_from="above",
    )
    build.put("gasket", gasket, pose(X, Y, (0, 0, layout.wall_top)), stage=LID)
