"""Feet: brackets of heavy angle outside the end walls or along the long walls, with a doubler behind each."""

from dataclasses import dataclass
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from baywright.box.build import DRIVER_REACH, Build, Z
from baywright.box.carry import Taken
from baywright.box.layout import Layout
from baywright.box.shell import Side, corner_span, gauge_line, sides
from baywright.finding import CannotBuild
from baywright.piece.assembly import IN_CAR
from baywright.piece.joint import Layer, ScrewLine
from baywright.piece.solid import Use
from baywright.shape.pose import cross, pose

# Edge distance of a bracket's screws, times their diameter (handbooks on riveted aluminium: 2 d).
_EDGE_D = 2.0


@dataclass(frozen=True, eq=False)
class Foot:
    """A foot: its mark, its wall, its bolts in the box's frame (n, 3) mm, slotted or not."""

    mark: str
    wall: str
    bolts: NDArray[np.float64]
    slotted: bool


@dataclass(frozen=True)
class FootPlace:
    """A foot along its wall, mm from the wall's middle: the foot's middle, its length, its bolts."""

    along: float
    length: float
    bolts: tuple[float, ...]


def foot_walls(layout: Layout) -> tuple[str, str]:
    """Return the two walls that carry the feet."""
    return ("blind", "service") if layout.kit.style.feet.on == "end walls" else ("right", "left")


def foot_places(layout: Layout) -> list[FootPlace]:
    """Return the feet along each wall that carries them: from the plan alone, so equal for every N.

    Raises:
        CannotBuild: if not even two bolts a wall fit.
    """
    return _along_end(layout) if layout.kit.style.feet.on == "end walls" else _along_long(layout)


def bolt_reach(layout: Layout) -> float:
    """Return how far a foot's bolts stand out from its upright leg's outer face, mm.

    The gauge line's, unless the style says; a lid flange turned out over a long wall keeps a driver further out.
    """
    kit, feet = layout.kit, layout.kit.style.feet
    stock, washer = kit.stock(feet.section), kit.size(feet.bolt).washer.outside / 2
    reach = gauge_line(stock) - stock.wall if feet.bolt_from_leg is None else feet.bolt_from_leg
    if feet.on == "long walls":
        reach = max(reach, washer + kit.head(feet.screw, kit.style.joint_screw.head)[1] + 0.5)
        if layout.flange == "out":
            reach = max(reach, kit.flange_angle.width + washer + 1.0 - stock.wall)
    toe = stock.width - stock.wall - reach
    if toe < _EDGE_D * kit.diameter(feet.bolt) - 1e-6:
        raise CannotBuild(
            "feet",
            f"the feet's section '{stock.name}' is too narrow: {feet.bolt} bolts {reach:.1f} mm out from its upright "
            f"leg leave {toe:.1f} mm to the toe, at least {_EDGE_D * kit.diameter(feet.bolt):g} (2 d)",
        )
    return reach


def _along_end(layout: Layout) -> list[FootPlace]:
    """Return the feet along an end wall; a box too narrow for two has one over the whole width, with two bolts."""
    kit, feet = layout.kit, layout.kit.style.feet
    free = _free_half(layout, layout.inside[1])
    if 2 * free >= 2 * feet.length + kit.style.cut_back:
        outer = free - feet.length / 2
        count = max(feet.per_wall_least, ceil(2 * outer / feet.spacing_most) + 1)
        return [_place(layout, float(y)) for y in np.linspace(-outer, outer, count)]
    bolt = free - _EDGE_D * kit.diameter(feet.bolt)
    if bolt < 1.5 * kit.diameter(feet.bolt):
        raise CannotBuild(
            "feet", f"{2 * free:.0f} mm between the corner angles is too narrow for a foot; set feet = false"
        )
    return [FootPlace(0.0, 2 * free, (-bolt, bolt))]


def _along_long(layout: Layout) -> list[FootPlace]:
    """Return the feet along a long wall: as far out as the bearers' end screws let them, the rest evenly between."""
    kit, style, feet = layout.kit, layout.kit.style, layout.kit.style.feet
    outer = _free_half(layout, layout.inside[0]) - feet.length / 2
    head = kit.head(style.bearer_screw.size, style.bearer_screw.head)[0] / 2 + 1.0
    apart = 3.0 * max(kit.diameter(feet.screw), kit.diameter(style.bearer_screw.size))  # least pitch 3 d: handbooks
    keep = kit.bearer.width / 4 + max(head, apart - _EDGE_D * kit.diameter(feet.screw)) + feet.length / 2
    busy = [x for row in layout.across_x for x in row] if layout.carry == "ledges" else []
    legal = [
        x
        for x in sorted({*map(float, range(-floor(max(outer, 0)), floor(max(outer, 0)) + 1)), -outer, outer})
        if outer > 0 and all(abs(x - at) >= keep for at in busy)
    ]
    count = max(feet.per_wall_least, ceil(2 * outer / feet.spacing_most) + 1) if outer > 0 else 0
    chosen: list[float] = []
    # The outermost first: they hold the box against tipping.
    for target in sorted(np.linspace(-outer, outer, count), key=lambda x: -abs(x)):
        free = [x for x in legal if all(abs(x - other) >= feet.length + 2 * style.cut_back for other in chosen)]
        if not free:
            break
        chosen.append(min(free, key=lambda x: abs(x - float(target))))
    if len(chosen) < 2:
        raise CannotBuild(
            "feet",
            f"two feet {feet.length:g} mm long do not fit along a long wall between corner angles and bearers; shorten "
            "them in the style, set them on the end walls, or set feet = false",
        )
    return [_place(layout, x) for x in sorted(chosen)]


def _free_half(layout: Layout, inside: float) -> float:
    return inside / 2 - layout.bond - layout.kit.corner_angle.width - layout.kit.style.cut_back


def _place(layout: Layout, along: float) -> FootPlace:
    """Return a foot of the style's length with its bolts spread over it."""
    feet = layout.kit.style.feet
    if feet.bolts == 1:
        return FootPlace(along, feet.length, (along,))
    d = layout.kit.diameter(feet.bolt)
    reach = feet.length / 2 - max(_EDGE_D * d, feet.slot_length / 2 + d)
    if 2 * reach < 3.0 * d * (feet.bolts - 1):
        raise CannotBuild(
            "feet", f"{feet.bolts} {feet.bolt} bolts do not fit in a foot {feet.length:g} mm long; lengthen the feet"
        )
    return FootPlace(along, feet.length, tuple(float(along + x) for x in np.linspace(-reach, reach, feet.bolts)))


def add_feet(build: Build, layout: Layout) -> tuple[list[Foot], Taken]:
    """Add the feet: round holes at the blind end, slots along the box for the rest."""
    kit, style = layout.kit, layout.kit.style
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
    reach = bolt_reach(layout)
    places = foot_places(layout)
    found, taken = [], Taken()
    for key in foot_walls(layout):
        side = sides(layout)[key]
        taken.wall[key], taken.fixed[key] = [], []
        for number, place in enumerate(places, 1):
            slotted = key == "service" or (feet.on == "long walls" and number > 1)
            found.append(_foot(build, layout, side, key, number, place, reach, upper, slotted, taken))
    return found, taken


def _foot(
    build: Build,
    layout: Layout,
    side: Side,
    key: str,
    number: int,
    place: FootPlace,
    reach: float,
    upper: float,
    slotted: bool,
    taken: Taken,
) -> Foot:
    """Add one foot with its doubler, its screws and its bolts' holes."""
    kit, style, b = layout.kit, layout.kit.style, layout.bond
    feet, (low, _) = style.feet, corner_span(layout)
    stock, edge = kit.stock(feet.section), _EDGE_D * kit.diameter(feet.screw)
    y, length = place.along, place.length
    mark, doubler = f"foot {key} {number}", f"doubler {key} {number}"
    heel = side.at(style.wall.thickness + b, y - length / 2, -feet.stand_off)
    build.angle(mark, "foot", stock, heel, side.along, Z, side.out, length)
    build.bond(side.mark, mark)
    span = (low, low + 2 * edge)
    add_doubler(build, layout, side, doubler, "foot doubler", y, length, span, feet.doubler_thickness)
    gaps = ceil((length - 2 * edge) / style.joint_screw.pitch_most)
    columns = [float(c) for c in np.linspace(y - length / 2 + edge, y + length / 2 - edge, gaps + 1)]
    face = stock.wall + b + style.wall.thickness
    # On the angle's gauge line, or nearer its heel where that leaves the toe too little for this screw.
    lower = layout.wall_bottom + min(gauge_line(kit.floor_angle), kit.floor_angle.height - edge)
    for row, height, into, thread in (
        ("upper", upper, doubler, feet.doubler_thickness),
        ("lower", lower, f"floor angle {key}", kit.floor_angle.wall),
    ):
        build.screws(
            f"{mark} {row}",
            mark,
            [side.at(face, c, height) for c in columns],
            -side.out,
            through=[mark, side.mark],
            into=into,
            thread=thread,
            grip=face + b,
            size=feet.screw,
            head=style.joint_screw.head,
        )
    beside = kit.head(style.joint_screw.size, style.joint_screw.head)[0] / 2 + 1.0
    taken.wall[key].append((y - length / 2 - beside, y + length / 2 + beside))
    taken.fixed[key] += columns
    out = style.wall.thickness + b + stock.wall + reach
    bolts = np.array([side.at(out, s, -feet.stand_off + stock.wall) for s in place.bolts])
    row_ = kit.size(feet.bolt)
    use: Use = "slot" if slotted else "clearance"
    slot = feet.slot_length if slotted else 0.0
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
                    mark, use, kit.clearance(feet.bolt), f"clearance for {feet.bolt}, to the car", slot, (1.0, 0.0, 0.0)
                ),
            ),
            head=(row_.washer.outside, row_.washer.thickness + row_.cap.head_height),
            driver=DRIVER_REACH,
            stage=IN_CAR,
        )
    )
    return Foot(mark, key, bolts, slotted)


def feet_top(layout: Layout) -> float:
    """Return up to where feet on the long walls take them, doublers included, mm over the floor's underside; else 0."""
    feet = layout.kit.style.feet
    if not layout.ask.feet or feet.on != "long walls":
        return 0.0
    doubler = corner_span(layout)[0] + 2 * _EDGE_D * layout.kit.diameter(feet.screw)
    return max(layout.kit.stock(feet.section).height - feet.stand_off, doubler)


def add_doubler(
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
