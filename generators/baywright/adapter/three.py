"""Plate, ring and plate: for faces whose bolts would stand in each other's way on one plate."""

import math
from dataclasses import dataclass
from itertools import product
from pathlib import Path

import numpy as np

from baywright.adapter import bought
from baywright.adapter.bolting import HEAD_ROOM, REAM_OFF, Bolted, bolt_length, bolted, discs
from baywright.adapter.bores import Bores, in_recesses, opening, plan_bores, radial_problem
from baywright.adapter.build import Build, PlateAt, Spot, here
from baywright.adapter.depth import Chain, DepthStack, fitting_stacks
from baywright.adapter.design import AdapterDesign, choose_clocking, turned_holes
from baywright.adapter.engagement import least_engagement
from baywright.adapter.given import Given
from baywright.adapter.one import (
    Disc,
    check_cradle,
    first_that_builds,
    metal,
    motor_radius,
    needed_thickness,
    outer_radius,
    with_spans,
)
from baywright.adapter.runout import run_out
from baywright.adapter.thread import Thread
from baywright.finding import CannotBuild
from baywright.piece.joint import Layer, ScrewLine
from baywright.shape.loop import circle
from baywright.shape.pattern import Side

# Room round heads in the ring, along and across the shaft, mm; most pitch of the joining screws, mm, and least count;
# the dowels between the plates, mm: common practice, no source.
_OVER, _ROUND, _PITCH, _FEWEST, _DOWEL = 1.0, 2.0, 95.0, 6, 8.0

MARKS = ("motor plate", "ring", "gearbox plate")


@dataclass(frozen=True, eq=False, kw_only=True)
class Join:
    """How the three are held together.

    Attributes:
        thread: of the joining screws.
        radius: of their circle, mm.
        clocks: their clock positions, degrees.
        dowels: those of the dowels.
        head: the side that the heads stand on.
        ring: inner and outer radius of the ring, mm.
    """

    thread: Thread
    radius: float
    clocks: tuple[float, ...]
    dowels: tuple[float, float]
    head: Side
    ring: tuple[float, float]

    def places(self, clocks: tuple[float, ...]) -> np.ndarray:
        """Return places (n, 2) mm on the joining circle, seen from the motor."""
        a = np.radians(clocks)
        return np.column_stack([self.radius * np.sin(a), self.radius * np.cos(a)])


def three_plates(given: Given, folder: Path, why: str) -> AdapterDesign:
    """Return an adapter of plate, ring and plate.

    Raises:
        CannotBuild: if that does not serve either.
    """
    ask = given.ask
    motor_face, gearbox_face = given.motor_face, given.gearbox_face
    motor, gearbox = bolted(given, motor_face, "motor", None), bolted(given, gearbox_face, "gearbox", None)
    near = plan_bores(given, [("motor", motor_face.pilot)], motor)
    far = plan_bores(given, [("gearbox", gearbox_face.pilot)], gearbox)
    motor, gearbox = in_recesses(motor, near), in_recesses(gearbox, far)
    join = _join(given, motor, gearbox, near, far)
    # On plates of their own the two patterns cannot meet: only the motor's features say how it may stand.
    tried, turn = choose_clocking(given, discs(motor, ask.least_web), discs((), ask.least_web))
    motor = turned_holes(motor, turn)
    joining = _joining_discs(given, join)
    edge, openings = metal(given, motor, near, folder, lugs=ask.lugs, more=joining)
    far_edge, far_openings = metal(given, gearbox, far, folder, lugs=False, more=joining)
    inner, outer = join.ring
    check_cradle(given, max(motor_radius(given), outer), motor, near, joining)
    _check_ring_pockets(given, inner, outer)

    def built(depth: DepthStack) -> AdapterDesign:
        t1, tr, t3 = depth.layers
        for holes, bores, t in ((motor, near, t1), (gearbox, far, t3)):
            problem = radial_problem(holes, bores, t, ask.least_web)
            if problem is not None:
                raise CannotBuild("plates", problem)
        ats = (
            PlateAt(MARKS[0], 0.0, t1, "motor"),
            PlateAt(MARKS[1], t1, tr, "motor"),
            PlateAt(MARKS[2], t1 + tr, t3, "gearbox" if "gearbox" in far.sides else "motor"),
        )
        build = Build(given)
        build.motor(near)
        build.plate(ats[0], MARKS[0], edge, openings)
        text = "opening round the bolts' heads"
        build.plate(ats[1], MARKS[1], circle(0, 0, 2 * outer), [(circle(0, 0, 2 * inner), 0.0, text, "ring")])
        build.plate(ats[2], MARKS[2], far_edge, far_openings)
        for bores, at in ((near, ats[0]), (far, ats[2])):
            for ring in bores.rings:
                build.ring(ring, at)
        build.bolts(motor, ats[0], "motor")
        build.bolts(gearbox, ats[2], "gearbox")
        _add_joint(build, join, ats)
        if ask.lugs and given.motor.cradle is not None:
            build.cradle(ats[0])
        wide = min(near.through.diameter, far.through.diameter) / 2
        return AdapterDesign(
            name=given.name,
            given=given,
            assembly=build.done(given.name),
            plates=ats,
            bores=(near, far),
            motor_holes=motor,
            gearbox_holes=gearbox,
            depth=with_spans(given, depth, wide, edge, inner),
            clockings=tried,
            clocking=turn,
            run_out=run_out(given, (("motor", motor_face, motor, near), ("gearbox", gearbox_face, gearbox, far)), 2),
            why=why,
        )

    return first_that_builds(_stacks(given, motor, gearbox, near, far, join), built)


def _join(given: Given, motor: tuple[Bolted, ...], gearbox: tuple[Bolted, ...], near: Bores, far: Bores) -> Join:
    """Return the joining circle: outside everything in the ring, its heads clear of motor or gearbox."""
    ask = given.ask
    holes = (*motor, *gearbox)
    largest = max((one.thread.diameter for one in holes if one.thread is not None), default=8.0)
    thread = given.thread("M12" if largest > 12.5 else "M10" if largest > 9 else "M8")
    row = thread.row
    inner = max(one.hole.radius + max(one.reach, one.head_wide / 2 if one.head else 0.0) for one in holes)
    bores = [b.diameter / 2 for b in (*near.bores, *far.bores)]
    inner = max(inner + _ROUND, opening(given) / 2, *(b + ask.least_web for b in bores))
    hole = max(row.clearance.medium, _DOWEL) / 2
    # The head's seat stays on metal inside the ring's circle as well.
    radius = inner + max(ask.least_web + hole, row.washer.outside / 2)
    seat = row.washer.outside / 2 + HEAD_ROOM
    need = {"motor": motor_radius(given) + seat, "gearbox": outer_radius(given, given.gearbox_face) + seat}
    head: Side = "motor" if need["motor"] <= need["gearbox"] else "gearbox"
    radius = math.ceil(max(radius, need[head]))
    count = max(_FEWEST, 2 * math.ceil(math.pi * radius / _PITCH))
    step = 360.0 / count
    # Two dowels that are not opposite each other: the plates go together one way only.
    dowels = (step, step * (count // 2 + 2))
    return Join(
        thread=thread,
        radius=radius,
        clocks=tuple(step / 2 + step * k for k in range(count)),
        dowels=dowels,
        head=head,
        ring=(inner, radius + max(ask.edge * thread.diameter, hole + ask.least_web)),
    )


def _stacks(
    given: Given, motor: tuple[Bolted, ...], gearbox: tuple[Bolted, ...], near: Bores, far: Bores, join: Join
) -> list[DepthStack]:
    """Return the stacks of three that threads, heads and recesses allow, the best first."""
    ask, off = given.ask, given.ask.stock_tolerance
    grade = given.bolt_class(join.thread)
    thread_need = least_engagement(join.thread, grade, given.shear_strength)
    first = max(needed_thickness(given, motor, near), thread_need if join.head == "gearbox" else 0.0)
    last = max(needed_thickness(given, gearbox, far), thread_need if join.head == "motor" else 0.0)
    heads = sum(max((one.head_high for one in holes), default=0.0) for holes in (motor, gearbox))
    middle = heads + _OVER if heads else 6.0
    chain = Chain(ask, given.motor, given.gearbox, ask.coupler) if ask.coupler is not None else None
    stock = given.thicknesses
    plates = [(a, c) for a in stock for c in stock if a >= first - 1e-6 and c >= last - 1e-6]
    rings = [b for b in stock if b >= middle - 1e-6]
    if not plates or (ask.thickness is None and not rings):
        raise CannotBuild(
            "stock",
            f"the plates must be {first:.1f} and {last:.1f} mm and the ring {middle:.1f} mm or more: stock "
            f"'{ask.stock}' has nothing so thick",
        )
    if ask.thickness is not None:
        found = _split(ask.thickness, plates, stock, middle)
    else:
        assert chain is not None  # the model asks for a thickness or a coupler
        found = fitting_stacks(chain, [(a, b, c) for (a, c), b in product(plates, rings)])
    return [DepthStack(layers=s, tolerance=off, checks=chain.checks(s) if chain else ()) for s in found]


def _split(
    total: float, plates: list[tuple[float, float]], stock: tuple[float, ...], middle: float
) -> list[tuple[float, ...]]:
    """Return threes of thicknesses that make up a total: first those of stock alone, then with a ring faced to suit."""
    found: list[tuple[float, ...]] = [(a, total - a - c, c) for a, c in plates if total - a - c >= middle - 1e-6]
    if not found:
        need = min(a + c for a, c in plates) + middle
        raise CannotBuild("thickness", f"{total:g} mm is too thin for plate, ring and plate: they need {need:.1f} mm")

    def faced(s: tuple[float, ...]) -> bool:
        return not any(abs(s[1] - b) < 1e-6 for b in stock)

    # The thinnest plates that serve leave the most room for heads in the ring.
    return sorted(found, key=lambda s: (faced(s), s[0] + s[2], abs(s[0] - s[2])))


def _joining_discs(given: Given, join: Join) -> list[Disc]:
    """Return discs (x, y, radius) of metal round joining screws and their dowels."""
    wide = max(given.ask.edge * join.thread.diameter, join.thread.row.clearance.medium / 2 + given.ask.least_web)
    return [(float(x), float(y), wide) for x, y in join.places((*join.clocks, *join.dowels))]


def _check_ring_pockets(given: Given, inner: float, outer: float) -> None:
    """Raise CannotBuild for a pocket that the ring lies across."""
    for number, pocket in enumerate(given.ask.pockets, 1):
        r = math.hypot(*pocket.at)
        half = pocket.diameter / 2 if pocket.diameter else math.hypot(*(pocket.size or (0.0, 0.0))) / 2
        if r + half > inner - 1e-6 and r - half < outer + 1e-6:
            raise CannotBuild(
                "pockets",
                f"pocket {number} ({pocket.name}) lies across the ring, {inner:.0f} to {outer:.0f} mm off the shaft",
            )


def _add_joint(build: Build, join: Join, ats: tuple[PlateAt, PlateAt, PlateAt]) -> None:
    """Add joining screws and the dowels that the three are reamed for together."""
    given, thread = build.given, join.thread
    order = ats if join.head == "motor" else ats[::-1]
    near, middle, last = order
    way = 1.0 if join.head == "motor" else -1.0
    grip = near.thickness + middle.thickness + thread.row.washer.thickness
    least = least_engagement(thread, given.bolt_class(thread), given.shear_strength)
    length = bolt_length(thread, grip, least, last.thickness, "stock", "the joint of the plates")
    clear = thread.row.clearance.medium
    layers = (
        Layer(near.mark, "clearance", clear, f"{thread.name} clearance"),
        Layer(middle.mark, "clearance", clear, f"{thread.name} clearance"),
        Layer(last.mark, "tapped", thread.row.tap_drill, f"{thread.name} tapped through"),
    )
    spot = Spot(join.places(join.clocks), near.face(join.head), way)
    build.screws("joining screws", "plates and ring", thread, length, spot, layers, washer=True)
    total = ats[2].face("gearbox")
    pin = bought.pin_length(_DOWEL, total - ats[2].thickness + 4.0, total)
    ask = given.ask
    text = f"ream {_DOWEL:g} {ask.dowel_hole} through all three together from {_DOWEL - REAM_OFF:.1f}"
    build.lines.append(
        ScrewLine(
            name="joining dowels",
            joint="plates and ring, located",
            screw=bought.pin(_DOWEL, pin, ask.dowel_pin, given.steel.density, _DOWEL - REAM_OFF),
            size="",
            length=pin,
            points=here(join.places(join.dowels), 0.0),
            direction=np.array([0.0, 0.0, 1.0]),
            layers=tuple(Layer(at.mark, "fixing", _DOWEL - REAM_OFF, text) for at in ats),
        )
    )
