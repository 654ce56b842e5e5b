"""One plate for both faces."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from baywright.adapter.bolting import Bolted, bolted, discs, least_thickness
from baywright.adapter.bores import UNDER, Bores, in_recesses, plan_bores, radial_problem
from baywright.adapter.build import Build, PlateAt
from baywright.adapter.depth import Chain, DepthStack, fitting_stacks, spans_of
from baywright.adapter.design import AdapterDesign, choose_clocking, turned_holes
from baywright.adapter.engagement import least_engagement
from baywright.adapter.given import Given
from baywright.adapter.outline import check_pockets, outline, pocket_discs, pocket_loop, windows
from baywright.adapter.runout import run_out
from baywright.finding import CannotBuild
from baywright.shape.loop import Loop, circle
from baywright.shape.pattern import Pattern, Side

Disc = tuple[float, float, float]
# An opening of a plate: its loop, its depth (0 right through), its callout, "ring" for the opening about the shaft.
Opening = tuple[Loop, float, str, str]

PLATE = "adapter plate"
# How many stacks are tried, the best first, where bolts of standard length or recesses rule some out.
_TRIED = 40


def one_plate(given: Given, folder: Path) -> AdapterDesign:
    """Return an adapter of one plate.

    Raises:
        CannotBuild: if one plate cannot serve both faces; the sentence says why.
    """
    ask = given.ask
    motor_face, gearbox_face = given.motor_face, given.gearbox_face
    motor = bolted(given, motor_face, "motor", covered_by_gearbox(given))
    gearbox = bolted(given, gearbox_face, "gearbox", covered_by_motor(given))
    holes = (*motor, *gearbox)
    bores = plan_bores(given, [("motor", motor_face.pilot), ("gearbox", gearbox_face.pilot)], holes)
    motor, gearbox = in_recesses(motor, bores), in_recesses(gearbox, bores)
    holes = (*motor, *gearbox)
    sides = bores.sides | {one.head for one in holes if one.sink and one.head is not None}
    if len(sides) == 2:
        raise CannotBuild("plates", _both_sides(holes, bores))
    if any(one.make == "clearance" for one in motor) and any(one.sink and one.face == "gearbox" for one in gearbox):
        raise CannotBuild(
            "plates",
            "the motor's bolts are reached only before the gearbox is on, and the gearbox's only before the motor is",
        )
    seen_from: Side = "gearbox" if "gearbox" in sides else "motor"
    least_web = ask.least_web
    tried, turn = choose_clocking(given, discs(motor, least_web), discs(gearbox, least_web))
    motor = turned_holes(motor, turn)
    check_cradle(given, max(motor_radius(given), outer_radius(given, gearbox_face)), (*motor, *gearbox), bores)
    edge, openings = metal(given, (*motor, *gearbox), bores, folder, lugs=ask.lugs)

    def built(depth: DepthStack) -> AdapterDesign:
        problem = radial_problem(holes, bores, depth.thickness, least_web)
        if problem is not None:
            raise CannotBuild("plates", problem)
        at = PlateAt(PLATE, 0.0, depth.thickness, seen_from)
        build = Build(given)
        build.motor(bores)
        build.plate(at, PLATE, edge, openings)
        for ring in bores.rings:
            build.ring(ring, at)
        build.bolts(motor, at, "motor")
        build.bolts(gearbox, at, "gearbox")
        if ask.lugs and given.motor.cradle is not None:
            build.cradle(at)
        return AdapterDesign(
            name=given.name,
            given=given,
            assembly=build.done(given.name),
            plates=(at,),
            bores=(bores, bores),
            motor_holes=motor,
            gearbox_holes=gearbox,
            depth=with_spans(given, depth, bores.through.diameter / 2, edge, 0.0),
            clockings=tried,
            clocking=turn,
            run_out=run_out(given, (("motor", motor_face, motor, bores), ("gearbox", gearbox_face, gearbox, bores)), 0),
        )

    return first_that_builds(_stacks(given, holes, bores), built)


def first_that_builds(stacks: Sequence[DepthStack], built: Callable[[DepthStack], AdapterDesign]) -> AdapterDesign:
    """Return the design of the first stack that can be built.

    Raises:
        CannotBuild: if none can: what stood in the way of the first, which was the best otherwise.
    """
    first: CannotBuild | None = None
    for depth in stacks[:_TRIED]:
        try:
            return built(depth)
        except CannotBuild as no:
            first = first or no
    assert first is not None  # there is always a stack to try
    raise first


def covered_by_gearbox(given: Given) -> tuple[float, float]:
    """Return inner and outer radius of the bell's face, under which heads must be sunk, mm."""
    return given.gearbox.opening / 2, outer_radius(given, given.gearbox_face)


def covered_by_motor(given: Given) -> tuple[float, float]:
    """Return inner and outer radius that the motor covers, mm."""
    return 0.0, motor_radius(given)


def motor_radius(given: Given) -> float:
    """Return the motor's radius at and behind its face, mm."""
    return max(given.motor.diameter, given.motor_face.outer) / 2


def outer_radius(given: Given, face: Pattern) -> float:
    """Return a flange's outer radius, mm; where it is not known, its farthest bolt and one and a half diameters."""
    if face.outer:
        return face.outer / 2
    return max((h.radius + 1.5 * max(h.diameter, 8.0) for h in face.holes), default=0.0)


def check_cradle(given: Given, covers: float, holes: Sequence[Bolted], bores: Bores, more: Sequence[Disc] = ()) -> None:
    """Raise CannotBuild if the car's bolts have no place on the plate.

    Args:
        given: the rows.
        covers: radius within which something lies on the plate, mm.
        holes: the bolts' and dowels' holes of the plate.
        bores: its openings about the shaft.
        more: further discs (x, y, radius) in the way.
    """
    cradle = given.motor.cradle
    if not given.ask.lugs or cradle is None:
        return
    row = given.thread(cradle.bolt).row
    wide, seat, web = row.clearance.medium / 2, row.washer.outside / 2, given.ask.least_web
    widest = max(b.diameter for b in bores.bores) / 2
    taken = [(one.hole.x, one.hole.y, one.reach + web) for one in holes] + list(more)
    for x, y in cradle.holes:
        r = math.hypot(x, y)
        named = f"cradle hole at ({x:g}, {y:g}) of motor '{given.motor.name}'"
        if r - seat < covers:
            need = covers + seat
            raise CannotBuild(
                "lugs",
                f"the {named} lies under motor, bell or ring: it must be {need:.0f} mm off the shaft, not {r:.0f}; "
                "move the cradle out, or set lugs = false and carry the gearbox",
            )
        if r - wide < widest + web:
            raise CannotBuild("lugs", f"the {named} runs into the bore of {2 * widest:.0f} mm: move the cradle out")
        for a, b, away in taken:
            if math.hypot(x - a, y - b) < wide + away - 1e-6:
                raise CannotBuild("lugs", f"the {named} runs into the hole at ({a:.1f}, {b:.1f}): move the cradle")


def boss(given: Given, one: Bolted) -> Disc:
    """Return the disc (x, y, radius) of metal that a hole wants round it, mm."""
    d = one.thread.diameter if one.thread is not None else one.hole.diameter
    wide = max(given.ask.edge * d, one.reach + given.ask.least_web)
    return one.hole.x, one.hole.y, wide


def metal(
    given: Given, holes: Sequence[Bolted], bores: Bores, folder: Path, *, lugs: bool, more: Sequence[Disc] = ()
) -> tuple[Loop, list[Opening]]:
    """Return a plate's outline and its openings that belong to no bolt: bores, recesses, pockets, windows.

    Args:
        given: the rows.
        holes: the bolts' and dowels' holes.
        bores: the openings about the shaft.
        folder: where a drawing named by the request lies.
        lugs: whether the plate carries the cradle's holes.
        more: further discs that must lie in metal (joining screws).

    Raises:
        CannotBuild: if a pocket does not lie in the plate, or a drawn outline leaves too little metal.
    """
    ask, cradle = given.ask, given.motor.cradle
    bosses = [boss(given, one) for one in holes] + list(more)
    widest = max(b.diameter for b in bores.bores)
    extra: list[Disc] = [(0.0, 0.0, widest / 2 + ask.least_web)]
    for pocket in ask.pockets:
        extra += pocket_discs(pocket)
    if lugs and cradle is not None:
        wide = given.thread(cradle.bolt).row.clearance.medium / 2 + cradle.wall
        extra += [(x, y, wide) for x, y in cradle.holes]
    edge = outline(ask, bosses, extra, folder)
    check_pockets(edge, ask.pockets)
    openings: list[Opening] = []
    through = [b for b in bores.bores if b.side is None]
    # Spigots of one size share the bore.
    callout = "; ".join(dict.fromkeys(b.callout for b in through))
    openings.append((circle(0, 0, min(b.cut for b in through)), 0.0, callout, "ring"))
    openings += [(circle(0, 0, b.cut), b.depth, b.callout, "") for b in bores.bores if b.side is not None]
    pockets = [pocket_loop(p) for p in ask.pockets]
    openings += [(loop, 0.0, p.name, "") for loop, p in zip(pockets, ask.pockets, strict=True)]
    if ask.windows is not None:
        every = [(one.hole.x, one.hole.y, max(one.reach, one.head_wide / 2)) for one in holes]
        every += [(x, y, r) for x, y, r in more]
        if lugs and cradle is not None:
            every += [(x, y, given.thread(cradle.bolt).row.washer.outside / 2) for x, y in cradle.holes]
        table = np.array(every, dtype=float)
        # The outline's own lugs may reach far out: windows stay between the shaft and the bolts.
        rims = [b.diameter / 2 for b in bores.bores if b.side is not None]
        inner = bores.through.diameter / 2
        for loop in windows(edge, pockets, ask.windows, inner, table[:, :2], table[:, 2], rims):
            openings.append((loop, 0.0, "window", ""))
    return edge, openings


def needed_thickness(given: Given, holes: Sequence[Bolted], bores: Bores) -> float:
    """Return the least thickness of a plate, mm: floors under heads and recesses, thread for its bolts."""
    need = max(least_thickness(tuple(holes)), 6.0)
    for bore in bores.bores:
        if bore.side is not None:
            need = max(need, bore.depth + UNDER)
    for one in holes:
        if one.make == "tapped" and one.thread is not None:
            grade = given.bolt_class(one.thread)
            need = max(need, least_engagement(one.thread, grade, given.shear_strength) + one.near + one.far)
    return need


def with_spans(given: Given, depth: DepthStack, bore: float, edge: Loop, ring: float) -> DepthStack:
    """Return the stack with the parts of its diagram."""
    if given.ask.coupler is None:
        return depth
    reach = float(np.hypot(edge[:, 0], edge[:, 1]).max())
    chain = Chain(given.ask, given.motor, given.gearbox, given.ask.coupler)
    return replace(depth, spans=spans_of(chain, depth.layers, {"bore": bore, "plate": reach, "ring": ring}))


def _stacks(given: Given, holes: Sequence[Bolted], bores: Bores) -> list[DepthStack]:
    """Return the depth stacks of one plate that threads, heads and recesses allow, the best first."""
    ask, off = given.ask, given.ask.stock_tolerance
    need = needed_thickness(given, holes, bores)
    chain = Chain(ask, given.motor, given.gearbox, ask.coupler) if ask.coupler is not None else None
    if ask.thickness is not None:
        if ask.thickness < need - 1e-6:
            text = f"{ask.thickness:g} mm is too thin: threads, sunk heads and recesses need {need:.1f} mm"
            raise CannotBuild("thickness", text)
        layers = (ask.thickness,)
        return [DepthStack(layers=layers, tolerance=off, checks=chain.checks(layers) if chain else ())]
    assert chain is not None  # the model asks for a thickness or a coupler
    stacks: list[tuple[float, ...]] = [(t,) for t in given.thicknesses if t >= need - 1e-6]
    if not stacks:
        text = f"threads, sunk heads and recesses need {need:.1f} mm: the stock '{ask.stock}' has no plate so thick"
        raise CannotBuild("stock", text)
    return [DepthStack(layers=s, tolerance=off, checks=chain.checks(s)) for s in fitting_stacks(chain, stacks)]


def _both_sides(holes: Sequence[Bolted], bores: Bores) -> str:
    """Return why a plate would have to be machined from both sides."""
    reasons: dict[str, list[str]] = {"motor": [], "gearbox": []}
    for bore in bores.bores:
        if bore.side is not None:
            reasons[bore.side].append(f"the recess of {bore.diameter:g} mm")
    for one in holes:
        if one.sink and one.head is not None and "sunk heads" not in reasons[one.head]:
            reasons[one.head].append("sunk heads")
    return (
        f"it would be machined from both sides: {' and '.join(reasons['motor'])} from the motor's, "
        f"{' and '.join(reasons['gearbox'])} from the gearbox's"
    )
