"""The box's governing numbers, from the inside out: modules, clearances, cavity, levels, outside."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.box.kit import LOADED_THREAD_D, THIN_THREAD_PITCHES, Kit
from baywright.box.oriented import Oriented, oriented
from baywright.finding import CannotBuild
from baywright.job.models import BoxAsk
from baywright.piece.bought import Bought


@dataclass(frozen=True, eq=False, kw_only=True)
class Layout:
    """Where everything of a box is, in the box's frame: origin mid-floor on its underside, x to the service end, z up.

    Lengths in mm. `places` holds (layer, row, column) from 1 and the module's position (3,) on its underside's middle.
    """

    name: str
    ask: BoxAsk
    kit: Kit
    module: Oriented
    carry: str
    flange: str
    layers: int
    places: tuple[tuple[int, int, int, NDArray[np.float64]], ...]
    support: tuple[float, ...]  # z of each layer's bearer (or spacer) underside
    across_x: tuple[tuple[float, ...], ...]  # per row: the x of its bearers or rod pairs
    inside: tuple[float, float]
    outside: tuple[float, float]
    wall_top: float
    lid_under: float
    service: float  # depth of the service space between the modules' end and the service wall
    lead_need: float  # what cables and fittings would need of it
    layer_gap: float

    @property
    def bond(self) -> float:
        """The bond line."""
        return self.kit.style.bond_line

    @property
    def wall_bottom(self) -> float:
        """Where the walls stand: on the floor's top and its bond line."""
        return self.kit.style.floor.thickness + self.bond

    @property
    def modules_end(self) -> float:
        """Where the modules' face towards the service end is, along x."""
        return self.inside[0] / 2 - self.service


def lay_out(name: str, ask: BoxAsk, kit: Kit) -> Layout:
    """Return the layout of a box.

    Raises:
        CannotBuild: if it cannot be: the sentence names the key to change.
    """
    style, b = kit.style, kit.style.bond_line
    module = oriented(kit.catalogue.module(ask.module), ask.orientation)
    carry = ask.carry or style.carry
    if carry == "tie rods" and not module.through:
        raise CannotBuild(
            "carry",
            f"tie rods need hold-down sleeves over the full height of module '{ask.module}' as it lies "
            f"'{ask.orientation}'; use carry = \"ledges\"",
        )
    mx, my, mz = module.size.tolist()
    gap = np.abs(module.pose.turn) @ np.array(module.module.gap, dtype=float)
    stacks = ask.columns * ask.rows
    layers = math.ceil(ask.count / stacks)

    bend = style.bend_factor
    tip = _tip(kit)  # how far a wall screw's tip stands out of an angle's leg
    legs = max(kit.corner_angle.wall, kit.floor_angle.wall, kit.flange_angle.wall)
    doublers = max(style.feet.doubler_thickness if ask.feet else 0.0, style.doubler.thickness if ask.lift else 0.0)
    stands_in = b + max(legs + tip, doublers + _tip_behind_doubler(kit))  # what a wall carries on its inner face
    behind = stands_in + style.tip_clearance
    flange_toe = b + kit.flange_angle.width if style.flange == "in" else 0.0
    lining = style.liner.thickness

    # Sides, in y. Ledges' and flange's toes count at every N, so that a box's plan never depends on it.
    toes = max(flange_toe, b + kit.ledge_angle.width if carry == "ledges" else 0.0)
    side = max(
        toes + style.side_clearance,
        behind,
        lining + max(style.side_clearance, float(gap[1])),
        *(lining + module.need(1, sign, bend) for sign in (-1, 1)),
        # The bars that rods stand in lie between the floor angles and reach past each rod by its edge distance.
        b + kit.floor_angle.width + style.cut_back + rod_edge(kit, module) - (my / 2 - float(module.holds[:, 1].max()))
        if carry == "tie rods"
        else 0.0,
    )
    between_y = max(float(gap[1]), module.need(1, 1, bend) + module.need(1, -1, bend))
    inside_y = ask.columns * my + (ask.columns - 1) * between_y + 2 * side

    # Ends, in x. A bearer must clear the end floor angles, whose screws' tips stand up beside it.
    bar_half = kit.bearer.width / 2
    inset = mx / 2 - float(np.abs(module.holds[:, 0]).max())
    for_bearer = b + max(kit.floor_angle.width, kit.corner_angle.width) + style.cut_back + bar_half - inset
    blind = max(
        flange_toe + style.end_clearance,
        behind,
        for_bearer,
        lining + max(style.end_clearance, float(gap[0]), module.need(0, -1, bend)),
    )
    between_x = max(
        float(gap[0]), module.need(0, 1, bend), module.need(0, -1, bend), kit.bearer.width + style.cut_back - 2 * inset
    )
    inner_reach = max((kit.catalogue.fitting(f.fitting).inside_depth for f in ask.fittings), default=0.0)
    lead_need = max(blind, max(lining, stands_in, inner_reach) + module.need(0, 1, bend))
    service = lead_need if ask.service_depth is None else ask.service_depth
    if service < blind:
        raise CannotBuild(
            "service_depth",
            f"service_depth {service:g} mm leaves no room for the end's angle and clearance: at least {blind:.1f} mm",
        )
    inside_x = ask.rows * mx + (ask.rows - 1) * between_x + blind + service

    # Outside rounded up to whole millimetres: what is over goes to the service space and, evenly, to the sides.
    wall = style.wall.thickness
    outside_x, outside_y = math.ceil(inside_x + 2 * wall - 1e-9), math.ceil(inside_y + 2 * wall - 1e-9)
    service += outside_x - 2 * wall - inside_x
    inside_x, inside_y = outside_x - 2 * wall, outside_y - 2 * wall

    # Levels, in z. Bearers lie on the floor angles' legs, then on ledges; rods stand in bars bonded to the floor.
    held = hold_down(kit, module) if carry == "ledges" else None
    over_head = max(0.0, module.seat + held.head[1] - mz) if held else 0.0
    layer_gap = max(
        float(gap[2]),
        module.need(2, 1, bend),
        style.layer_clearance,
        over_head + style.layer_clearance if over_head else 0.0,
    )
    floor = style.floor.thickness
    if carry == "ledges":
        first, thick = floor + b + kit.floor_angle.wall, kit.bearer.height
        support = [first + k * (mz + layer_gap + thick) for k in range(layers)]
        bottoms = [z + thick for z in support]
        top = bottoms[-1] + mz + max(over_head, 0.0)
    else:
        first = floor + b + kit.bearer.height
        support = [first + k * (mz + layer_gap) for k in range(layers)]
        bottoms = support
        row = kit.size(module.hold_screw)
        nut = row.washer.thickness + row.nut.height + 2 * row.pitch
        top = bottoms[-1] + mz + kit.stock(style.clamp_bar).height + nut
    wall_top = top + max(style.layer_clearance, module.need(2, 1, bend) - (top - bottoms[-1] - mz), float(gap[2]))
    wall_top = math.ceil(wall_top * 2 - 1e-9) / 2
    squeezed = style.gasket.thickness * (1 - style.gasket.compression)

    start_x = -inside_x / 2 + blind + mx / 2
    start_y = -((ask.columns - 1) * (my + between_y)) / 2
    slots = [
        (layer, row, column)
        for layer in range(1, layers + 1)
        for row in range(1, ask.rows + 1)
        for column in range(1, ask.columns + 1)
    ][: ask.count]
    places = tuple(
        (
            layer,
            row,
            column,
            np.array(
                [
                    start_x + (row - 1) * (mx + between_x),
                    start_y + (column - 1) * (my + between_y),
                    bottoms[layer - 1],
                ]
            ),
        )
        for layer, row, column in slots
    )
    hold_x = sorted({round(float(x), 6) for x in module.holds[:, 0]})
    across = tuple(tuple(start_x + r * (mx + between_x) + x for x in hold_x) for r in range(ask.rows))
    return Layout(
        name=name,
        ask=ask,
        kit=kit,
        module=module,
        carry=carry,
        flange=style.flange,
        layers=layers,
        places=places,
        support=tuple(support),
        across_x=across,
        inside=(inside_x, inside_y),
        outside=(float(outside_x), float(outside_y)),
        wall_top=wall_top,
        lid_under=wall_top + squeezed,
        service=service,
        lead_need=lead_need,
        layer_gap=layer_gap,
    )


def rod_edge(kit: Kit, module: Oriented) -> float:
    """Return how far a bar reaches past the axis of a rod in it: 2 d (the edge rule of sheet joints), mm."""
    return 2.0 * kit.diameter(module.hold_screw)


def _tip(kit: Kit) -> float:
    """Return how far the tip of a wall's joint screw stands out of the thinnest angle leg behind it, mm."""
    style = kit.style
    size = style.joint_screw.size
    leg = min(kit.corner_angle.wall, kit.floor_angle.wall, kit.flange_angle.wall)
    grip = style.wall.thickness + style.bond_line
    length = kit.screw_length(size, grip, max(leg, THIN_THREAD_PITCHES * kit.size(size).pitch))
    return length - grip - leg


def _tip_behind_doubler(kit: Kit) -> float:
    """Return how far the tip of a foot's or lift lug's screw stands out of its doubler, mm."""
    style, most = kit.style, 0.0
    for bracket, doubler in ((style.feet, style.feet.doubler_thickness), (style.lift, style.doubler.thickness)):
        grip = kit.stock(bracket.section).wall + style.wall.thickness + 2 * style.bond_line
        most = max(most, kit.screw_length(bracket.screw, grip, doubler) - grip - doubler)
    return most


@dataclass(frozen=True, eq=False)
class HoldDown:
    """What holds a module down to its bearer.

    Attributes:
        piece: the screw with its washer; where no standard length reaches, a threaded rod cut to length with a nut.
        length: of the screw or rod under its washer's underside, mm.
        head: diameter and height of head or nut and washer, mm.
        engaged: depth of the tapped hole in the bearer, mm.
    """

    piece: Bought
    length: float
    head: tuple[float, float]
    engaged: float


def hold_down(kit: Kit, module: Oriented) -> HoldDown:
    """Return the hold-down of a module: a standard screw that engages 1.5 d and ends in its bearer, else a cut rod.

    What stood out below a bearer would meet the floor, or the head below.
    """
    size, style, bar = module.hold_screw, kit.style.hold_screw_head, kit.bearer.height
    d, row = kit.diameter(size), kit.size(size)
    washer = row.washer.thickness
    grip = module.seat + washer
    fits = [float(n) for n in row.lengths if grip + LOADED_THREAD_D * d <= n + 1e-9 and n <= grip + bar + 1e-9]
    if not fits:
        engaged = min(bar, LOADED_THREAD_D * d)
        rod = kit.tie_rod(size, module.seat, engaged)
        wide, high = row.nut.width * 2 / math.sqrt(3), washer + row.nut.height + 2 * row.pitch
        depth = min(bar, engaged + 2 * row.pitch)
        return HoldDown(rod, module.seat + engaged, (max(wide, row.washer.outside), high), depth)
    whole = fits[0]
    wide, high = kit.head(size, style)
    reach = whole - grip
    return HoldDown(
        kit.screw(size, style, whole, washer=True),
        whole - washer,
        (max(wide, row.washer.outside), high + washer),
        min(bar, reach + 2 * row.pitch),
    )
