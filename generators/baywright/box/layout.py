"""The box's governing numbers, from the inside out: modules, clearances, cavity, levels, outside."""

import math
from dataclasses import dataclass
from itertools import islice, product

import numpy as np
from numpy.typing import NDArray

from baywright.box.hold import hold_down
from baywright.box.kit import THIN_THREAD_PITCHES, Kit
from baywright.box.oriented import Oriented, oriented
from baywright.finding import CannotBuild
from baywright.job.models import BoxAsk


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
    style = kit.style
    module = oriented(kit.catalogue.module(ask.module), ask.orientation)
    carry = ask.carry or style.carry
    if carry == "tie rods" and not module.through:
        raise CannotBuild(
            "carry",
            f"tie rods need hold-down sleeves over the full height of module '{ask.module}' as it lies "
            f"'{ask.orientation}'; use carry = \"ledges\"",
        )
    mx, my, _ = module.size.tolist()
    layers = math.ceil(ask.count / (ask.columns * ask.rows))
    free = _free(ask, kit, module, carry)
    service = free.service if ask.service_depth is None else ask.service_depth
    if service < free.blind:
        raise CannotBuild(
            "service_depth",
            f"service_depth {service:g} mm leaves no room for the end's angle and clearance: "
            f"at least {free.blind:.1f} mm",
        )
    # Outside rounded up to whole millimetres: what is over goes to the service space and, evenly, to the sides.
    wall = style.wall.thickness
    needed = ask.rows * mx + (ask.rows - 1) * free.between_x + free.blind + service
    outside_x = math.ceil(needed + 2 * wall - 1e-9)
    outside_y = math.ceil(ask.columns * my + (ask.columns - 1) * free.between_y + 2 * free.side + 2 * wall - 1e-9)
    service += outside_x - 2 * wall - needed
    inside = (outside_x - 2 * wall, outside_y - 2 * wall)
    levels = _levels(kit, module, carry, layers)

    first_x = -inside[0] / 2 + free.blind + mx / 2
    first_y = -((ask.columns - 1) * (my + free.between_y)) / 2
    rows = [first_x + r * (mx + free.between_x) for r in range(ask.rows)]
    columns = [first_y + c * (my + free.between_y) for c in range(ask.columns)]
    slots = product(range(1, layers + 1), range(1, ask.rows + 1), range(1, ask.columns + 1))
    hold_x = sorted({round(float(x), 6) for x in module.holds[:, 0]})
    return Layout(
        name=name,
        ask=ask,
        kit=kit,
        module=module,
        carry=carry,
        flange=style.flange,
        layers=layers,
        places=tuple(
            (k, r, c, np.array([rows[r - 1], columns[c - 1], levels.bottoms[k - 1]]))
            for k, r, c in islice(slots, ask.count)
        ),
        support=levels.support,
        across_x=tuple(tuple(row + x for x in hold_x) for row in rows),
        inside=inside,
        outside=(float(outside_x), float(outside_y)),
        wall_top=levels.wall_top,
        lid_under=levels.wall_top + style.gasket.thickness * (1 - style.gasket.compression),
        service=service,
        lead_need=free.service,
        layer_gap=levels.gap,
    )


@dataclass(frozen=True, kw_only=True)
class _Free:
    """Free widths in plan, mm: beside the modules, between stacks, at the blind end, in the service space."""

    side: float
    between_y: float
    blind: float
    between_x: float
    service: float


@dataclass(frozen=True, kw_only=True)
class _Levels:
    """Heights, mm: under each layer's bearer or spacer, under its modules, the gap over them, the walls' top."""

    support: tuple[float, ...]
    bottoms: tuple[float, ...]
    gap: float
    wall_top: float


def _gaps(module: Oriented) -> list[float]:
    """Return the gaps that a module's data sheet asks along the box's x, y, z as it lies, mm."""
    asked: list[float] = (np.abs(module.pose.turn) @ np.array(module.module.gap, dtype=float)).tolist()
    return asked


def _free(ask: BoxAsk, kit: Kit, module: Oriented, carry: str) -> _Free:
    """Return the free widths in plan: what stands there, what passes, what cables need, whichever is most.

    Ledges' and flange's toes count at every N, so that a box's plan never depends on it.
    """
    style, b, bend = kit.style, kit.style.bond_line, kit.style.bend_factor
    mx, my, _ = module.size.tolist()
    gap_x, gap_y, _ = _gaps(module)
    legs = max(kit.corner_angle.wall, kit.floor_angle.wall, kit.flange_angle.wall)
    doublers = max(style.feet.doubler_thickness if ask.feet else 0.0, style.doubler.thickness if ask.lift else 0.0)
    stands_in = b + max(legs + _tip(kit), doublers + _tip_behind_doubler(kit))  # what walls carry on their inner faces
    behind = stands_in + style.tip_clearance
    lining = style.liner.thickness
    flange_toe = b + kit.flange_angle.width if style.flange == "in" else 0.0
    toes = max(flange_toe, b + kit.ledge_angle.width if carry == "ledges" else 0.0)
    # The bars that rods stand in lie between the floor angles and reach past each rod by its edge distance.
    rod_inset = my / 2 - float(module.holds[:, 1].max())
    for_rods = b + kit.floor_angle.width + style.cut_back + rod_edge(kit, module) - rod_inset
    # A bearer must clear the end floor angles, whose screws' tips stand up beside it.
    inset = mx / 2 - float(np.abs(module.holds[:, 0]).max())
    for_bearer = b + max(kit.floor_angle.width, kit.corner_angle.width) + style.cut_back + kit.bearer.width / 2 - inset
    blind = max(
        flange_toe + style.end_clearance,
        behind,
        for_bearer,
        lining + max(style.end_clearance, gap_x, module.need(0, -1, bend)),
    )
    inner_reach = max((kit.catalogue.fitting(f.fitting).inside_depth for f in ask.fittings), default=0.0)
    return _Free(
        side=max(
            toes + style.side_clearance,
            behind,
            lining + max(style.side_clearance, gap_y, module.need(1, 1, bend), module.need(1, -1, bend)),
            for_rods if carry == "tie rods" else 0.0,
        ),
        between_y=max(gap_y, module.need(1, 1, bend) + module.need(1, -1, bend)),
        blind=blind,
        between_x=max(
            gap_x, module.need(0, 1, bend), module.need(0, -1, bend), kit.bearer.width + style.cut_back - 2 * inset
        ),
        service=max(blind, max(lining, stands_in, inner_reach) + module.need(0, 1, bend)),
    )


def _levels(kit: Kit, module: Oriented, carry: str, layers: int) -> _Levels:
    """Return the heights: bearers lie on the floor angles' legs, then on ledges; rods stand in bars on the floor."""
    style, size_z = kit.style, float(module.size[2])
    need_up, gap_z = module.need(2, 1, style.bend_factor), _gaps(module)[2]
    on_floor = style.floor.thickness + style.bond_line
    gap = max(gap_z, need_up, style.layer_clearance)
    if carry == "ledges":
        over_head = max(0.0, module.seat + hold_down(kit, module).head[1] - size_z)
        gap = max(gap, over_head + style.layer_clearance if over_head else 0.0)
        thick = kit.bearer.height
        support = tuple(on_floor + kit.floor_angle.wall + k * (size_z + gap + thick) for k in range(layers))
        bottoms = tuple(z + thick for z in support)
        over = over_head
    else:
        support = bottoms = tuple(on_floor + kit.bearer.height + k * (size_z + gap) for k in range(layers))
        row = kit.size(module.hold_screw)
        nut = row.washer.thickness + row.nut.height + 2 * row.pitch
        over = kit.stock(style.clamp_bar).height + nut
    top = bottoms[-1] + size_z + over
    wall_top = top + max(style.layer_clearance, need_up - over, gap_z)
    # Cables and hoses that leave level pass under an inward flange's leg.
    level = [start[2] + wide / 2 for _, start, direction, wide in module.leads if direction[2] == 0]
    leg = kit.flange_angle.wall if style.flange == "in" else 0.0
    wall_top = max([wall_top, *(bottoms[-1] + float(z) + leg for z in level)])
    return _Levels(support=support, bottoms=bottoms, gap=gap, wall_top=math.ceil(wall_top * 2 - 1e-9) / 2)


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
