"""A hanger's pieces and bolts in their places: foot, plate, gussets, doubler, and the bolt of the car's mount."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.piece.assembly import IN_CAR
from baywright.piece.extrusion import Extrusion
from baywright.piece.joint import Along, Layer, ScrewLine
from baywright.piece.plate import Plate
from baywright.rail.bars import Bar, Seat
from baywright.rail.build import Build, Lot
from baywright.rail.design import Foot, Hanger, Joint, Ply, Saddle
from baywright.rail.hold import INSET, SNIPE, WELD_LEG
from baywright.rail.place import Mount
from baywright.shape.hull import hull_of_discs
from baywright.shape.loop import loop_of, rectangle
from baywright.shape.pose import Pose, cross

Array = NDArray[np.float64]

# More than the least edge round a plate's bolts, mm: an edge check that walks chords of its arcs still finds 2 d.
ROUND = 0.5
_BY_MAKER = "the car's own stud, thread or rubber: by its maker's sheet"
_NOSE = 8.0  # mm left square at a gusset's points, where a weld would burn a sharp one away


@dataclass(frozen=True, eq=False, kw_only=True)
class Option:
    """One way to hang a bar on a mount, all sizes settled.

    Attributes:
        mass: of its metal, kg: what decides between options that hold.
        seat: the face of the bar.
        side: sign of the bar's side.
        rows: places of the bar's bolts across its face, mm; with `columns` a grid, or pairs for a foot without plate.
        columns: places of the bar's bolts along it, mm.
        plate: thickness of the plate, 0 for a foot straight on the bar, mm.
        face: where the foot's bolted leg lies across the bar, mm.
        swapped: whether the angle's x leg is the one that is bolted on.
        foot: the foot.
        shift: of the foot's middle from the mount, along the foot, mm.
        bolts: places of the foot's two bolts along it, from the mount, mm.
        lean: of the mount's bolt out of square, degrees.
    """

    mass: float
    seat: Seat
    side: int
    rows: tuple[float, ...]
    columns: tuple[float, ...]
    plate: float
    face: float
    swapped: bool
    foot: Foot
    shift: float
    bolts: tuple[float, float]
    lean: float

    def holes(self) -> list[tuple[str, float, float, float]]:
        """Return the holes in the bar, as `Bar.bolts` keeps them."""
        grid = (
            [(u, w) for u in self.columns for w in self.rows]
            if self.plate
            else zip(self.columns, self.rows, strict=True)
        )
        return [("v", u, w, self.seat.hole) for u, w in grid]


def lay_hanger(build: Build, lot: Lot, bar: Bar, mount: Mount, option: Option) -> tuple[Hanger, list[Joint]]:
    """Place an option's pieces and bolts in `lot`; return the hanger and its joints."""
    foot = option.foot
    heel = mount.at + bar.v * (option.face - float(bar.own(mount.at)[1]))
    x, y = (foot.up, foot.out) if option.swapped else (foot.out, foot.up)
    z = cross(x, y)
    start = heel + foot.along * option.shift - z * foot.length / 2
    angle = Extrusion(role="hanger foot", stock=foot.stock, length=foot.length)
    lot.put(foot.mark, angle, Pose(np.column_stack([x, y, z]), start))
    points = np.array([heel + foot.up * foot.gauge + foot.along * b for b in option.bolts])
    if option.plate:
        hanger, joints = _plated(build, lot, bar, mount, option, points)
    else:
        hanger, joints = _straight(build, lot, bar, mount, option, points)
    mount_bolt(build, lot, mount, foot)
    if foot.gussets:
        _gussets(build, lot, mount, foot, heel + foot.along * option.shift)
    return hanger, joints


def _straight(
    build: Build, lot: Lot, bar: Bar, mount: Mount, option: Option, points: Array
) -> tuple[Hanger, list[Joint]]:
    """Bolt the foot straight to the bar."""
    foot, seat, bolt = option.foot, option.seat, build.kit.shop.bolt
    t, deep = foot.stock.wall, abs(seat.seat - seat.far)
    line = build.bolts(
        lot,
        f"{foot.mark} bolts",
        f"hanger {mount.name}",
        points + foot.out * t,
        -foot.out,
        [_clearance(build, foot.mark), build.wall_layer(bar, seat, bolt)],
        t + deep,
        size=bolt,
        sleeves=[(t, deep)] if seat.sleeved else [],
    )
    if seat.sleeved:
        build.far_walls(lot, line, bar, seat, bar.v)
    joint = Joint(
        name=line.name,
        first=foot.mark,
        second=bar.mark,
        points=points,
        axis=foot.out,
        size=bolt,
        plies=(free_ply(build, foot.mark, t, foot.stock.material), bar_ply(build, bar, seat)),
        lever=min(foot.gauge, foot.reach - foot.gauge),
    )
    hanger = Hanger(
        mount=mount,
        bar=bar.mark,
        foot=foot,
        plate_root=foot.root,
        lean=option.lean,
    )
    return hanger, [joint]


def _plated(
    build: Build, lot: Lot, bar: Bar, mount: Mount, option: Option, points: Array
) -> tuple[Hanger, list[Joint]]:
    """Bolt a plate to the bar and the foot to the plate."""
    kit, bolt = build.kit, build.kit.shop.bolt
    foot, seat, tp, t = option.foot, option.seat, option.plate, option.foot.stock.wall
    mark, material, outer = f"plate {mount.name}", kit.shop.plate_material, bar.v * option.side
    middle = float(np.mean(option.columns))
    # Seen from outside the bar: z of the plate looks away from it.
    where = Pose(np.column_stack([-bar.u * option.side, bar.w, outer]), bar.point(middle, seat.seat, 0.0))
    on_bar = np.array([bar.point(u, seat.seat, w) for u in option.columns for w in option.rows])
    discs = where.inverse()(np.vstack([on_bar, points]))[:, :2]
    plate = Plate(
        role="hanger plate",
        outline=hull_of_discs(discs, np.full(len(discs), kit.edge(bolt) + ROUND)),
        thickness=tp,
        material=material,
        density=kit.metal(material, "shop.plate_material", tp).density,
        seen_from="outside the rail",
    )
    lot.put(mark, plate, where)
    deep = abs(seat.seat - seat.far)
    line = build.bolts(
        lot,
        f"{mark} bolts",
        f"hanger {mount.name}",
        on_bar + outer * tp,
        -outer,
        [_clearance(build, mark), build.wall_layer(bar, seat, bolt)],
        tp + deep,
        size=bolt,
        sleeves=[(tp, deep)] if seat.sleeved else [],
    )
    if seat.sleeved:
        build.far_walls(lot, line, bar, seat, bar.v)
    build.bolts(
        lot,
        f"{foot.mark} bolts",
        f"hanger {mount.name}",
        points + foot.out * t,
        -foot.out,
        [_clearance(build, foot.mark), _clearance(build, mark)],
        t + tp,
        size=bolt,
    )
    own = free_ply(build, mark, tp, material)
    between = abs(option.bolts[1] - option.bolts[0])
    hanger = Hanger(
        mount=mount,
        bar=bar.mark,
        foot=foot,
        plate=mark,
        thickness=tp,
        width=min(float(np.ptp(option.columns)), between) + 2 * kit.edge(bolt),
        free=abs(float(bar.own(foot.root)[2])) - bar.half_w,
        plate_root=on_bar.mean(axis=0),
        lean=option.lean,
    )
    return hanger, [
        Joint(
            name=line.name,
            first=mark,
            second=bar.mark,
            points=on_bar,
            axis=outer,
            size=bolt,
            plies=(own, bar_ply(build, bar, seat)),
            lever=bar.half_w - max(abs(r) for r in option.rows),
        ),
        Joint(
            name=f"{foot.mark} bolts",
            first=foot.mark,
            second=mark,
            points=points,
            axis=foot.out,
            size=bolt,
            plies=(free_ply(build, foot.mark, t, foot.stock.material), own),
            lever=min(foot.gauge, foot.reach - foot.gauge),
        ),
    ]


def _clearance(build: Build, mark: str) -> Layer:
    bolt = build.kit.shop.bolt
    return Layer(mark, "clearance", build.kit.hole(bolt), f"clearance for {bolt}")


def free_ply(build: Build, mark: str, thickness: float, material: str, size: str = "") -> Ply:
    """Return the ply of a plate or an angle, whose holes keep the shop's edge distance."""
    kit, thread = build.kit, size or build.kit.shop.bolt
    return Ply(
        mark=mark,
        thickness=thickness,
        hole=kit.hole(thread),
        bears=kit.diameter(thread),
        material=material,
        edge=kit.edge(thread),
    )


def bar_ply(build: Build, bar: Bar, seat: Seat, size: str = "") -> Ply:
    """Return the ply of a bar at one of its faces, which goes on round the corners."""
    thread = size or build.kit.shop.bolt
    return Ply(
        mark=bar.mark,
        thickness=seat.wall,
        hole=seat.hole,
        bears=seat.hole if seat.sleeved else build.kit.diameter(thread),
        material=bar.stock.material,
        edge=None,
    )


def mount_bolt(build: Build, lot: Lot, mount: Mount, foot: Foot | Saddle, *, from_behind: bool = False) -> None:
    """Add the bolt, nut and doubler of the mount itself; a foot at the slotted end moves along its angle.

    The bolt's head is on the foot, or, where a bar lies over it, behind the car's metal.
    """
    kit, ask, size, t = build.kit, mount.ask, mount.ask.bolt, foot.wall
    hole, row = kit.hole(size), kit.row(size)
    slot = hole + 2 * kit.shop.slot if mount.slotted and kit.shop.slot > 0 else 0.0
    x, y, z = foot.along.tolist()
    text = f"{size} of the car's mount '{mount.name}'"
    layers = [Layer(foot.mark, "slot" if slot else "clearance", hole, text, slot, (x, y, z))]
    name, top = f"mount {mount.name}", mount.at + foot.up * t
    if ask.fixing == "stud":
        nut = ScrewLine(
            name=name,
            joint="mounts",
            screw=None,
            size=size,
            length=0.0,
            points=top[None],
            direction=foot.up,
            layers=tuple(layers),
            along=(Along(kit.nut(size), 0.0),),
            head=(row.washer.outside, 0.0),
            stage=IN_CAR,
            tight_by=_BY_MAKER,
        )
        lot.lines.append(nut)
        return
    nutted, grip = ask.fixing == "hole" and ask.behind == "open", t
    if nutted:
        grip += ask.metal
        if ask.metal < kit.shop.doubler_under:
            layers.append(_doubler(build, lot, mount, foot, hole))
            grip += kit.shop.plate_thicknesses[0]
    start, way = top[None], -foot.up
    if from_behind:
        start, way = (top - foot.up * grip)[None], foot.up
        layers.reverse()
    build.bolts(
        lot,
        name,
        "mounts",
        start,
        way,
        layers,
        grip,
        size=size,
        nut=nutted,
        engaged=0.0 if nutted else 1.5 * kit.diameter(size),
        stage=IN_CAR,
        tight_by=_BY_MAKER if ask.rubber is not None or ask.fixing != "hole" else "",
    )


def _doubler(build: Build, lot: Lot, mount: Mount, foot: Foot | Saddle, hole: float) -> Layer:
    """Add a square plate behind the car's thin metal, and return its layer."""
    kit, size = build.kit, mount.ask.bolt
    thick, side, material = kit.shop.plate_thicknesses[0], 6.0 * kit.diameter(size), kit.shop.plate_material
    piece = Plate(
        role="doubler",
        outline=rectangle(-side / 2, -side / 2, side / 2, side / 2, 8.0),
        thickness=thick,
        material=material,
        density=kit.metal(material, "shop.plate_material", thick).density,
        seen_from="the hanger",
    )
    turn = np.column_stack([foot.along, cross(foot.up, foot.along), foot.up])
    mark = f"doubler {mount.name}"
    lot.put(mark, piece, Pose(turn, mount.at - foot.up * (mount.ask.metal + thick)), stage=IN_CAR)
    return Layer(mark, "clearance", hole, f"clearance for {size}")


def _gussets(build: Build, lot: Lot, mount: Mount, foot: Foot, heel: Array) -> None:
    """Add two gussets near the ends of a foot, and their welds."""
    kit, side, thick = build.kit, foot.gusset_side, foot.gussets
    material, t = kit.shop.plate_material, foot.stock.wall
    piece = Plate(
        role="gusset",
        outline=loop_of([(SNIPE, 0), (side, 0), (side, _NOSE), (_NOSE, side), (0, side), (0, SNIPE)]),
        thickness=thick,
        material=material,
        density=kit.metal(material, "shop.plate_material", thick).density,
        seen_from="either side",
    )
    z = cross(foot.out, foot.up)
    for number, offset in ((1, foot.length / 2 - INSET - thick), (2, INSET - foot.length / 2)):
        base = heel + (foot.out + foot.up) * t + z * offset
        lot.put(f"gusset {mount.name} {number}", piece, Pose(np.column_stack([foot.out, foot.up, z]), base))
        # A fillet on both sides of both legs.
        weld = kit.weld(WELD_LEG, 4 * (side - SNIPE), np.zeros(3))
        lot.put(f"weld {mount.name} {number}", weld, Pose(np.eye(3), base))
