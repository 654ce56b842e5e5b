"""Feet and lift lugs: brackets outside a wall, with a doubler behind it."""

from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from baywright.box.build import Build, X, Z
from baywright.box.carry import Taken
from baywright.box.layout import Layout
from baywright.box.shell import Side, corner_span, gauge_line, sides
from baywright.finding import CannotBuild
from baywright.piece.assembly import IN_CAR
from baywright.piece.joint import Layer, ScrewLine
from baywright.shape.pose import cross, pose

# Edge distance of a bracket's screws, times their diameter (handbooks on riveted aluminium: 2 d).
_EDGE_D = 2.0
# Distance between the two rows of a bracket's screws, mm: over 3 d of M6 (the least pitch of handbooks).
_ROWS = 19.0


@dataclass(frozen=True, eq=False)
class Foot:
    """A foot: its mark, its end wall, its bolts in the box's frame (n, 3) mm, slotted or not."""

    mark: str
    wall: str
    bolts: NDArray[np.float64]
    slotted: bool


@dataclass(frozen=True)
class FootPlace:
    """A foot along its end wall, mm from the wall's middle: the foot's middle, its length, its bolts."""

    along: float
    length: float
    bolts: tuple[float, ...]


def foot_places(layout: Layout) -> list[FootPlace]:
    """Return the feet along each end wall: from the width alone, so equal for every N.

    A box too narrow for two feet has one over the whole free width, with two bolts.

    Raises:
        CannotBuild: if not even that fits.
    """
    kit, feet = layout.kit, layout.kit.style.feet
    free = layout.inside[1] / 2 - layout.bond - kit.corner_angle.width - layout.kit.style.cut_back
    if 2 * free >= 2 * feet.length + layout.kit.style.cut_back:
        outer = free - feet.length / 2
        count = max(feet.per_end_least, ceil(2 * outer / feet.spacing_most) + 1)
        return [FootPlace(float(y), feet.length, (float(y),)) for y in np.linspace(-outer, outer, count)]
    bolt = free - _EDGE_D * kit.diameter(feet.bolt)
    if bolt < 1.5 * kit.diameter(feet.bolt):
        raise CannotBuild(
            "feet", f"{2 * free:.0f} mm between the corner angles is too narrow for a foot; set feet = false"
        )
    return [FootPlace(0.0, 2 * free, (-bolt, bolt))]


def add_feet(build: Build, layout: Layout) -> tuple[list[Foot], Taken]:
    """Add the feet on both end walls: round holes at the blind end, slots along the box at the service end."""
    kit, style, b = layout.kit, layout.kit.style, layout.bond
    feet = style.feet
    stock, d = kit.stock(feet.section), kit.diameter(feet.screw)
    edge = _EDGE_D * d
    low, _ = corner_span(layout)
    upper = low + edge
    top = stock.height - feet.stand_off
    if top < upper + edge - 1e-6:
        raise CannotBuild(
            "feet",
            f"the feet's section '{stock.name}' is too low: its screws above the floor angle need a leg of "
            f"{upper + edge + feet.stand_off:.1f} mm",
        )
    under = kit.head(style.joint_screw.size, style.joint_screw.head)[1]
    if feet.stand_off <= under:
        raise CannotBuild("feet", f"stand_off {feet.stand_off:g} mm: the floor's screw heads stand down {under:g} mm")
    found, taken = [], Taken()
    for key in ("blind", "service"):
        side, slotted = sides(layout)[key], key == "service"
        taken.wall[key], taken.fixed[key] = [], []
        for number, place in enumerate(foot_places(layout), 1):
            y, length = place.along, place.length
            mark = f"foot {key} {number}"
            heel = side.at(style.wall.thickness + b, y - length / 2, -feet.stand_off)
            build.angle(mark, "foot", stock, heel, side.along, Z, side.out, length)
            build.bond(side.mark, mark)
            doubler = f"doubler {key} {number}"
            _doubler(
                build, layout, side, doubler, "foot doubler", y, length, (low, low + 2 * edge), feet.doubler_thickness
            )
            gaps = ceil((length - 2 * edge) / style.joint_screw.pitch_most)
            columns = [float(c) for c in np.linspace(y - length / 2 + edge, y + length / 2 - edge, gaps + 1)]
            face = stock.wall + b + style.wall.thickness
            build.screws(
                f"{mark} upper",
                mark,
                [side.at(face, c, upper) for c in columns],
                -side.out,
                through=[mark, side.mark],
                into=doubler,
                thread=feet.doubler_thickness,
                grip=face + b,
                size=feet.screw,
                head=style.joint_screw.head,
            )
            # On the angle's gauge line, or nearer its heel where that leaves the toe too little for this screw.
            lower = layout.wall_bottom + min(gauge_line(kit.floor_angle), kit.floor_angle.height - edge)
            build.screws(
                f"{mark} lower",
                mark,
                [side.at(face, c, lower) for c in columns],
                -side.out,
                through=[mark, side.mark],
                into=f"floor angle {key}",
                thread=kit.floor_angle.wall,
                grip=face + b,
                size=feet.screw,
                head=style.joint_screw.head,
            )
            beside = kit.head(style.joint_screw.size, style.joint_screw.head)[0] / 2 + 1.0
            taken.wall[key].append((y - length / 2 - beside, y + length / 2 + beside))
            taken.fixed[key] += columns
            out = style.wall.thickness + b + gauge_line(stock)
            bolts = np.array([side.at(out, s, -feet.stand_off + stock.wall) for s in place.bolts])
            hole = kit.clearance(feet.bolt)
            row = kit.size(feet.bolt)
            build.lines.append(
                ScrewLine(
                    name=f"{mark} bolt",
                    joint="feet to car",
                    screw=None,
                    size=feet.bolt,
                    length=0.0,
                    points=bolts,
                    direction=-Z,
                    layers=(
                        Layer(
                            mark,
                            "slot" if slotted else "clearance",
                            hole,
                            f"{feet.bolt} to car",
                            feet.slot_length if slotted else 0.0,
                            (1.0, 0.0, 0.0),
                        ),
                    ),
                    head=(row.washer.outside, row.washer.thickness + row.cap.head_height),
                    driver=100.0,
                    stage=IN_CAR,
                )
            )
            found.append(Foot(mark, key, bolts, slotted))
    return found, taken


def add_lift_lugs(build: Build, layout: Layout, centre_x: float) -> list[tuple[float, float]]:
    """Add four lugs on the long walls, in pairs the same distance before and behind the centroid, high above it.

    Returns the intervals in x (mm) that their doublers take of the top of the long walls.
    """
    kit, style, b = layout.kit, layout.kit.style, layout.bond
    lift = style.lift
    stock, d = kit.stock(lift.section), kit.diameter(lift.screw)
    edge, t = _EDGE_D * d, style.doubler.thickness
    low, high = corner_span(layout)
    if layout.carry == "ledges" and layout.layers > 1:
        low = layout.support[-1] - kit.ledge_angle.wall + kit.ledge_angle.height + style.cut_back
    head = kit.head(style.joint_screw.size, style.joint_screw.head)[0] / 2
    under = (
        layout.wall_top - gauge_line(kit.flange_angle) - head - 1.0
        if layout.flange == "in"
        else layout.wall_top - kit.flange_angle.height - style.cut_back
    )
    first = min(high - edge, under - stock.wall - kit.head(lift.screw, style.joint_screw.head)[0] / 2 - 1.0)
    rows = [first, first - _ROWS] if first - _ROWS - edge >= low else [first]
    if rows[-1] - edge < low - 1e-6 or under - stock.height > rows[-1] - edge + 1e-6:
        raise CannotBuild(
            "lift",
            f"the walls leave {high - low:.0f} mm for the lift lugs' doublers, too little; set lift = false and lift "
            "the box by straps under it",
        )
    reach = layout.inside[0] / 2 - b - kit.corner_angle.width - style.cut_back - lift.length / 2
    spread_ = min(layout.outside[0] / 4, reach - abs(centre_x))
    if spread_ < lift.length / 2 + style.cut_back:
        raise CannotBuild("lift", "the long walls are too short for two lift lugs; set lift = false")
    centre = round(centre_x)
    spread_ = float(int(spread_))
    for key in ("right", "left"):
        side = sides(layout)[key]
        for number, x in enumerate((centre - spread_, centre + spread_), 1):
            mark, doubler = f"lift lug {key} {number}", f"lift doubler {key} {number}"
            heel = side.at(style.wall.thickness + b, x - lift.length / 2, under)
            build.angle(mark, "lift lug", stock, heel, X, -Z, side.out, lift.length)
            build.bond(side.mark, mark)
            span = (rows[-1] - edge, rows[0] + edge)
            _doubler(build, layout, side, doubler, "lift doubler", x, lift.length, span, t)
            columns = [x - lift.length / 2 + edge, x + lift.length / 2 - edge]
            face = stock.wall + b + style.wall.thickness
            build.screws(
                f"{mark} screws",
                mark,
                [side.at(face, c, z) for z in rows for c in columns],
                -side.out,
                [mark, side.mark],
                doubler,
                t,
                size=lift.screw,
                head=style.joint_screw.head,
                grip=face + b,
            )
            eye = side.at(style.wall.thickness + b + gauge_line(stock), x, under)
            build.lines.append(
                ScrewLine(
                    name=f"{mark} eye",
                    joint="lifting",
                    screw=None,
                    size="",
                    length=0.0,
                    points=np.array([eye]),
                    direction=-Z,
                    layers=(Layer(mark, "lift", lift.hole, "lifting eye"),),
                    stage=IN_CAR,
                )
            )
    half = lift.length / 2 + style.cut_back
    return [(x - half, x + half) for x in (centre - spread_, centre + spread_)]


def _doubler(
    build: Build,
    layout: Layout,
    side: Side,
    mark: str,
    role: str,
    s: float,
    length: float,
    span: tuple[float, float],
    thickness: float,
) -> None:
    """Add a doubler plate on a wall's inner face about `s` along it, between two heights, bonded."""
    right = cross(Z, -side.out)  # to the right along the wall, seen from inside
    # The plate's z = 0 is its bonded face, so its seen side looks into the box.
    where = pose(right, Z, side.at(-layout.bond, s, span[0]) - right * length / 2)
    build.panel(
        mark, role, where, (length, span[1] - span[0]), thickness, layout.kit.style.doubler.material, seen_from="inside"
    )
    build.bond(side.mark, mark)
