"""The cradle's end of the rails, equal for every car: motors on the shaft, and what bolts them to the rails."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.finding import CannotBuild
from baywright.job.rails import Feet, LugPlate
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion, Stock
from baywright.piece.joint import Layer
from baywright.piece.solid import Block, Body, Round
from baywright.rail.bars import Bar
from baywright.rail.build import Build, Lot
from baywright.rail.design import UNIT, Joint
from baywright.rail.given import Given, LugSet
from baywright.rail.lay import bar_ply, free_ply
from baywright.rail.reasons import Reasons, Step
from baywright.rail.shop import PITCH_HOLE, Kit
from baywright.shape.pose import Pose, cross, shifted

Array = NDArray[np.float64]
X, Y, Z = np.eye(3)

# Gap between a lug's edge and the rail beside it, mm: room for paint and a rough edge (common practice, no source).
_BESIDE = 1.0
# Cleats are taken to be up to so thick when the rails' place is fixed, mm.
_LEG = 8.0


@dataclass(frozen=True, eq=False)
class RailLine:
    """Where the rails' centre lines are: distance from the shaft sideways, height above it, mm."""

    out: float
    height: float


def motor_piece(given: Given, kit: Kit) -> Bought:
    """Return the motor: a cylinder, and its lugs or feet; its frame has x along the shaft from its front end."""
    m, d2 = given.motor, kit.edge(given.bolt)
    bodies: list[Body] = [Round(np.zeros(3), X, m.length, m.diameter)]
    lugs, feet = given.lugs, given.feet
    if lugs is not None:
        # The plate between motor and lug, as far in as it is sure to reach.
        y0 = min(min(y for y, _ in lugs.holes) - d2, 0.35 * m.diameter)
        z0, z1 = _span([z for _, z in lugs.holes], d2)
        for plate in lugs.plates:
            a, b = _plate_span(plate)
            bodies += [
                Block(np.array([a, min(s * y0, s * lugs.edge), z0]), np.array([b, max(s * y0, s * lugs.edge), z1]))
                for s in (-1, 1)
            ]
    if feet is not None:
        for x in feet.holes:
            bodies += [
                Block(
                    np.array([x - d2, s * feet.out - d2, feet.height]),
                    np.array([x + d2, s * feet.out + d2, feet.height + feet.thickness]),
                )
                for s in (-1, 1)
            ]
    return Bought(
        role="motor",
        name=m.name,
        mass=m.mass,
        centre=np.array(m.centre, dtype=float),
        bodies_=tuple(bodies),
        source="the job and its catalogue",
        group="motor",
    )


def _span(values: list[float], more: float) -> tuple[float, float]:
    return min(values) - more, max(values) + more


def _plate_span(plate: LugPlate) -> tuple[float, float]:
    """Return where a lug plate starts and ends along the shaft, mm from the motor's front end."""
    t = plate.thickness
    return (plate.at - t, plate.at) if plate.cleats == "tail" else (plate.at, plate.at + t)


def rail_line(given: Given, stock: Stock, kit: Kit) -> RailLine:
    """Return where the rails' centre lines run for a section, from the cradle alone."""
    probe = _probe(given, stock)
    lugs, feet = given.lugs, given.feet
    if lugs is not None:
        height = sum(z for _, z in lugs.holes) / len(lugs.holes)
        inner = -probe.side(-1, kit, kit.shop.bolt).seat
        # Far enough out for a nut between the holes and a cleat's leg, whatever cleat it will be.
        nearest = lugs.edge - max(y for y, _ in lugs.holes)
        beside = max(_BESIDE, math.ceil(_LEG + kit.access(given.bolt) - nearest))
        return RailLine(lugs.edge + beside + inner, height)
    assert feet is not None
    cap = probe.cap(1, kit, given.bolt)
    if cap is None:
        raise CannotBuild(
            "section", f"'{stock.name}' has no face on top for the motor's feet: use a tube, a channel or an angle"
        )
    # An open section's bolts stand off its middle, clear of the web.
    return RailLine(feet.out - (cap.low + cap.high) / 2, feet.height - probe.half_w)


def web_side(given: Given, stock: Stock) -> int:
    """Return which way the web of a rail stands: out (+1), or in (-1) where the motor's lugs are bolted to it."""
    return -1 if given.lugs is not None and stock.shape in ("channel", "angle") else 1


def _probe(given: Given, stock: Stock) -> Bar:
    """Return a piece of the right rail, to ask it for its faces."""
    web = web_side(given, stock)
    return Bar(mark="", role="", stock=stock, centre=np.zeros(3), u=X, v=Y, w=Z, outward=web, low=0.0, high=1.0)


def put_motors(build: Build, given: Given) -> list[tuple[str, float]]:
    """Place the motors and return (mark, front end along the shaft)."""
    piece, lot, found = motor_piece(given, build.kit), Lot(), []
    for number, x in enumerate(given.motor.fronts, 1):
        mark = "motor" if given.motor.count == 1 else f"motor {number}"
        lot.put(mark, piece, shifted(x, 0.0, 0.0))
        found.append((mark, x))
    build.add(lot)
    return found


def hold_motors(build: Build, given: Given, rails: dict[int, Bar], motors: list[tuple[str, float]]) -> list[Joint]:
    """Add what holds every motor to the rails, and return the joints.

    Args:
        build: where it goes.
        given: the request.
        rails: by sign of y.
        motors: (mark, front end).
    """
    joints: list[Joint] = []
    for mark, x in motors:
        for sign, rail in rails.items():
            if given.lugs is not None:
                for number, plate in enumerate(given.lugs.plates, 1):
                    joints += _cleat(build, given.lugs, given.bolt, plate, number, mark, x, sign, rail)
            elif given.feet is not None:
                joints.append(_foot(build, given.feet, given.bolt, mark, x, sign, rail))
    return joints


def _foot(build: Build, feet: Feet, size: str, mark: str, front: float, sign: int, rail: Bar) -> Joint:
    """Bolt a motor's feet of one side down onto a rail."""
    kit, lot = build.kit, Lot()
    seat = rail.cap(1, kit, size)
    across = float(sign * feet.out - rail.centre @ rail.v)
    if seat is None or not seat.low - 1e-6 <= across <= seat.high + 1e-6:
        raise CannotBuild(
            "section",
            f"'{rail.stock.name}' is too narrow for the feet's {size} bolts: use a wider section or smaller bolts",
        )
    places = [front + x for x in feet.holes]
    deep = abs(seat.seat - seat.far)
    name = f"{mark} feet {rail.mark}"
    # Heads below the rail, where a driver has room; nuts, if any, on top of the feet.
    foot = (
        Layer(mark, "tapped", kit.row(size).tap_drill, f"{size} tapped")
        if feet.tapped
        else Layer(mark, "clearance", kit.hole(size), f"clearance for {size}")
    )
    line = build.bolts(
        lot,
        name,
        f"{mark} to {rail.mark}",
        [rail.point(u, across, seat.far) for u in places],
        rail.w,
        [build.wall_layer(rail, seat, size), foot],
        deep if feet.tapped else deep + feet.thickness,
        size=size,
        nut=not feet.tapped,
        engaged=feet.thickness,
        sleeves=[(0.0, deep)] if seat.sleeved else [],
    )
    if seat.sleeved:
        build.far_walls(lot, line, rail, seat.turned(), rail.w)
    rail.take([("w", u, across, seat.hole) for u in places])
    build.add(lot)
    return Joint(
        name=name,
        first=UNIT,
        second=rail.mark,
        points=np.array([rail.point(u, across, seat.seat) for u in places]),
        axis=rail.w,
        size=size,
        plies=(bar_ply(build, rail, seat, size),),
        lever=min(rail.half_v, kit.edge(size)),
    )


def _cleat(
    build: Build, lugs: LugSet, size: str, plate: LugPlate, number: int, motor: str, front: float, sign: int, rail: Bar
) -> list[Joint]:
    """Add the angle that holds one lug to the rail beside it, and return its two joints."""
    reasons = Reasons()
    for name in build.kit.shop.angle_sections:
        stock = build.kit.stock(name, "shop.angle_sections")
        if stock.shape != "angle":
            raise CannotBuild("shop.angle_sections", f"'{name}' is no angle")
        for swapped in (False, True) if stock.width != stock.height else (False,):
            lot = Lot()
            try:
                found = _try_cleat(build, lot, lugs, size, plate, number, motor, front, sign, rail, stock, swapped)
            except CannotBuild as no:
                reasons.say(Step.LEVEL, no.sentence)
                continue
            clash = build.clash(lot)
            if clash is None:
                build.add(lot)
                joints, holes = found
                rail.take(holes)
                return joints
            reasons.say(Step.SPACE, clash.text)
    raise CannotBuild("cradle.lugs", f"no angle of the shop's list holds the lugs of plate {number}: {reasons.text}")


def _try_cleat(
    build: Build,
    lot: Lot,
    lugs: LugSet,
    size: str,
    plate: LugPlate,
    number: int,
    motor: str,
    front: float,
    sign: int,
    rail: Bar,
    stock: Stock,
    swapped: bool,
) -> tuple[list[Joint], list[tuple[str, float, float, float]]]:
    """Lay out one cleat of one section in `lot`; raises `CannotBuild` with the reason where it does not do."""
    kit, bolt, t = build.kit, build.kit.shop.bolt, stock.wall
    leg_lug, leg_rail = (stock.height, stock.width) if swapped else (stock.width, stock.height)
    way = 1.0 if plate.cleats == "tail" else -1.0
    face_x = front + plate.at
    inward = -sign  # the side of the rail that looks at the motor
    seat = rail.side(inward, kit, bolt)
    hole = seat.hole
    face_y = abs(float(rail.centre @ Y) + seat.seat)
    away = [face_y - y for y, _ in lugs.holes]
    if min(away) < t + kit.access(size):
        raise CannotBuild("", f"a {size} nut does not fit between the hole and the {t:g} mm leg of '{stock.name}'")
    if max(away) + kit.edge(size) > leg_lug + 1e-6:
        raise CannotBuild("", f"'{stock.name}' does not reach over the holes")
    # Bolts of the lug.
    lug_points = np.array([[face_x, sign * y, z] for y, z in lugs.holes])
    which = motor.removeprefix("motor").strip()
    name = f"cleat {which}{'.' if which else ''}{number} {rail.mark.removeprefix('rail ')}"
    own = Layer(name, "clearance", kit.hole(size), f"clearance for {size}")
    if lugs.tapped:
        line = build.bolts(
            lot,
            f"{name} to lug",
            f"{motor} to {rail.mark}",
            lug_points + way * t * X,
            -way * X,
            [own, Layer(motor, "tapped", kit.row(size).tap_drill, f"{size} tapped")],
            t,
            size=size,
            nut=False,
            engaged=plate.thickness,
        )
        stack = kit.head_stack(size)
    else:
        line = build.bolts(
            lot,
            f"{name} to lug",
            f"{motor} to {rail.mark}",
            lug_points - way * plate.thickness * X,
            way * X,
            [Layer(motor, "clearance", kit.hole(size), f"clearance for {size}"), own],
            plate.thickness + t,
            size=size,
        )
        stack = line.length - kit.row(size).washer.thickness - plate.thickness - t
    # Bolts of the rail: beyond the lug's nuts along the shaft.
    first, last = t + stack + kit.washer(bolt) + 1.0, leg_rail - kit.edge(bolt)
    if last < first - 1e-6:
        raise CannotBuild("", f"'{stock.name}' is too short for a bolt beside the lug's nuts")
    pitch = PITCH_HOLE * hole
    columns = [first, last] if last - first >= pitch else [last]
    rows = [seat.low, seat.high] if seat.high - seat.low >= pitch else [(seat.low + seat.high) / 2]
    if len(rows) == 2 and seat.high - seat.low > 60.0:
        rows = [-30.0, 30.0]
    if len(columns) * len(rows) < 2:
        raise CannotBuild("", f"'{stock.name}' takes a single bolt into '{rail.mark}': two are needed")
    height = float(rail.centre @ Z)
    low, high = _span([z for _, z in lugs.holes], kit.edge(size))
    low, high = min(low, height + rows[0] - kit.edge(bolt)), max(high, height + rows[-1] + kit.edge(bolt))
    if low - height < seat.clear[0] or high - height > seat.clear[1]:
        raise CannotBuild("", f"the cleat is too high to lie inside '{rail.stock.name}'")
    # The angle stands upright: its lug leg runs to the motor, its rail leg along the shaft.
    to_lug, to_rail = -sign * Y, way * X
    x, y = (to_rail, to_lug) if swapped else (to_lug, to_rail)
    z = cross(x, y)
    start = np.array([face_x, sign * face_y, low if z[2] > 0 else high])
    lot.put(name, Extrusion(role="cleat", stock=stock, length=high - low), Pose(np.column_stack([x, y, z]), start))
    places = [(face_x + way * c, r) for c in columns for r in rows]
    for u, r in places:
        if not rail.free_for("v", u, r, hole, PITCH_HOLE):
            raise CannotBuild("", "its bolts would be too near to others in the rail")
    # Heads outside, where a driver has room beside the motor; the nuts inside are held by a spanner.
    deep, back = abs(seat.seat - seat.far), seat.turned()
    line = build.bolts(
        lot,
        f"{name} to rail",
        f"{motor} to {rail.mark}",
        [rail.point(u, seat.far, r) for u, r in places],
        -sign * Y,
        [build.wall_layer(rail, seat, bolt), Layer(name, "clearance", kit.hole(bolt), f"clearance for {bolt}")],
        t + deep,
        size=bolt,
        sleeves=[(0.0, deep)] if seat.sleeved else [],
    )
    if seat.sleeved:
        build.far_walls(lot, line, rail, back, rail.v)
    joints = [
        Joint(
            name=line.name,
            first=UNIT,
            second=rail.mark,
            points=np.array([[u, sign * face_y, height + r] for u, r in places]),
            axis=sign * Y,
            size=bolt,
            plies=(
                bar_ply(build, rail, seat),
                free_ply(build, name, t, stock.material),
            ),
            lever=min(rail.half_w, kit.edge(bolt)),
        ),
        Joint(
            name=f"{name} to lug",
            first=UNIT,
            second=UNIT,
            points=lug_points,
            axis=way * X,
            size=size,
            plies=(free_ply(build, name, t, stock.material, size),),
            lever=kit.edge(size),
        ),
    ]
    return joints, [("v", u, r, hole) for u, r in places]
