"""The review of a set of rails: every finding about space, strength, rocking and the mounts as measured."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Literal

from baywright.finding import Finding, Verdict, at_least, at_most, verdict_of
from baywright.piece.check import edge_findings, web_findings
from baywright.piece.scene import scene
from baywright.rail.clear import keep_boxes, rocking, rooms
from baywright.rail.design import Foot, Hanger, RailDesign, Saddle
from baywright.rail.loads import reaction
from baywright.rail.oriented import blocked, overlaps
from baywright.rail.stress import Solved, Use, solve

# A bolt that leans less than this from square needs no taper washer: the play of its hole, degrees (common practice,
# no source).
_SQUARE = 1.0
# A reading that the others check by less than this share is hardly checked (surveying textbooks: 0.1).
_CHECKED = 0.1

FACTORED = "loads times {factor:g} against yield, or against EN 1993-1-8 table 3.4 (from memory)"
ROCKING = "clearance asked by the job; a finger's width, 10 to 15 mm: cut shops' and builders' guides"
EQUILIBRIUM = "first principles: forces and moments balance"


def assumptions(design: RailDesign) -> tuple[str, ...]:
    """Return what the strength figures rest on, one sentence each."""
    shop = design.ask.shop
    return (
        "The motor unit is stiff; all mass, the rails' own too, sits in it.",
        f"Every load is multiplied by {shop.load_factor:g}; the load cases are common practice, no source.",
        "The mounts share loads by their stiffness and that of rails and hangers; they hold by forces, not by moments.",
        f"A rigid mount gives as {shop.rigid_mount_n_per_mm:g} N/mm and a bolted joint as "
        f"{shop.bolt_stiffness_n_per_mm:g} N/mm: guesses of the usual order.",
        "Bolts carry shear by themselves: friction under their heads is not counted.",
        f"Bolts, and the mounts' own bolts and studs, are taken as of class {shop.grade}.",
        "Sections are drawn with sharp corners; rounded tubes have 2 to 6 % less.",
        "The car's own metal round its mounts is not checked. Fatigue is not checked: look for cracks at services.",
        "A keep-out that is not in the job is not seen: the chassis beside a mount, pipes, the exhaust.",
    )


def holds(design: RailDesign) -> bool:
    """Tell whether everything that depends on the section holds its loads."""
    return verdict_of(_strength(solve(design))) != "fail"


def check_rails(design: RailDesign) -> list[Finding]:
    """Return every finding about a set of rails."""
    solved = solve(design)
    found = [*_measured(design), *_mounts(solved), *_strength(solved), *_moving(solved), *_made(design)]
    return [replace(f, subject=f"rails {design.name}") for f in found]


def _finding(
    check: str,
    verdict: Verdict,
    message: str,
    source: str,
    where: Sequence[str] = (),
    *,
    value: float | None = None,
    limit: float | None = None,
    unit: str = "",
    margin: float | None = None,
    at: tuple[float, float, float] | None = None,
) -> Finding:
    return Finding(
        subject="",
        check=check,
        verdict=verdict,
        message=message,
        value=value,
        limit=limit,
        unit=unit,
        margin=margin,
        source=source,
        where=tuple(where),
        at=at,
    )


def _used(check: str, use: Use, unit: str, thing: str, cure: str, source: str, where: Sequence[str]) -> Finding:
    """Return the finding about a use: fails over its limit."""
    ok = use.share <= 1.0
    told = f"{use.value:.0f} {unit}" if unit not in ("", "mm") else f"{use.value:.2f} {unit}".strip()
    note = f" ({use.note})" if use.note else ""
    return _finding(
        check,
        "pass" if ok else "fail",
        f"{thing}: {told} in '{use.case}'{note}" + ("" if ok else f"; {cure}"),
        source,
        where,
        value=use.value,
        limit=use.limit,
        unit=unit,
        margin=at_most(use.value, use.limit),
        at=use.at,
    )


# --- the mounts as measured -------------------------------------------------------------------------------------------


def _measured(design: RailDesign) -> Iterator[Finding]:
    """Yield what the tape says: residuals, what nothing checks, and whether slots and holes take up what it missed."""
    source = "least squares of the readings, each to its tolerance"
    readings = design.located.readings
    for r in readings:
        off = abs(r.residual)
        if off > r.tolerance:
            yield _finding(
                "tape",
                "look",
                f"{r.what} reads {r.value:.0f} mm, the others make it {r.fitted:.0f} mm: measure it again",
                source,
                (r.first,),
                value=off,
                limit=r.tolerance,
                unit="mm",
                margin=at_most(off, r.tolerance),
            )
    loose = sorted({r.first for r in readings if r.checked < _CHECKED})
    if loose:
        yield _finding(
            "tape",
            "look",
            f"a mistake in the readings of {', '.join(loose)} would not show: measure one more diagonal to each",
            source,
            loose,
        )
    elif readings:
        worst = max(readings, key=lambda r: abs(r.residual) / r.tolerance)
        yield _finding(
            "tape",
            "pass",
            f"{len(readings)} readings agree; the worst is {worst.what}, {worst.residual:+.1f} mm",
            source,
            (worst.first,),
            value=abs(worst.residual),
            limit=worst.tolerance,
            unit="mm",
            margin=at_most(abs(worst.residual), worst.tolerance),
        )
    shop, kit = design.ask.shop, design.kit
    for hanger in design.hangers:
        mount = hanger.mount
        play = (kit.hole(mount.ask.bolt) - kit.diameter(mount.ask.bolt)) / 2 + (shop.slot if mount.slotted else 0.0)
        if mount.spread > play + 1e-9:
            how = "slot" if mount.slotted else "round hole"
            yield _finding(
                "mount place",
                "look",
                f"{mount.name} may be {mount.spread:.1f} mm off, its foot's {how} takes up {play:.1f} mm: offer the "
                "foot up and mark its hole from the car before drilling",
                source,
                (mount.name, hanger.foot.mark),
                value=mount.spread,
                limit=play,
                unit="mm",
                margin=at_most(mount.spread, play),
            )


# --- mounts -----------------------------------------------------------------------------------------------------------


def _mounts(solved: Solved) -> Iterator[Finding]:
    design = solved.design
    torque = reaction(design.given)
    held = "what gears can give" if torque.torque < torque.grip else "what the tyres let through"
    yield _finding(
        "torque reaction",
        "pass",
        f"the mounts hold {torque.torque:.0f} N·m about {torque.about}, both ways round: {held} "
        f"(gears {torque.geared:.0f}, tyres {torque.grip:.0f} N·m)",
        "first principles: motor torque times the gears bolted to it, tyre grip as a cap",
        value=torque.torque,
        unit="N·m",
    )
    yield _finding(
        "equilibrium",
        "pass" if solved.rounding < 1e-6 else "fail",
        f"the mounts' forces balance the loads to {solved.rounding:.1e} of the largest",
        EQUILIBRIUM,
        value=solved.rounding,
        limit=1e-6,
        margin=at_most(solved.rounding, 1e-6),
    )
    for hanger in design.hangers:
        yield from _mount(solved, hanger)


def _mount(solved: Solved, hanger: Hanger) -> Iterator[Finding]:
    design, mount = solved.design, hanger.mount
    ask, kit, name = mount.ask, design.kit, mount.name
    source = FACTORED.format(factor=solved.factor)
    where = (name, hanger.foot.mark)
    yield _used(
        "mount bolt",
        solved.mount_bolt(hanger),
        "",
        f"{ask.bolt} at {name}",
        "add a mount near it",
        f"{source}, class {design.ask.shop.grade} taken for it",
        where,
    )
    yield _used(
        "bearing",
        solved.mount_bearing(hanger),
        "N",
        f"hole of {ask.bolt} in {hanger.foot.mark}",
        "use a thicker angle",
        source,
        where,
    )
    if ask.rubber is not None:
        gives = abs(solved.gives[name]).max(axis=1)
        case = int(gives.argmax())
        ok = gives[case] <= ask.rubber.travel
        yield _finding(
            "rubber",
            "pass" if ok else "fail",
            f"{name} gives {gives[case]:.1f} mm in '{solved.cases[case].name}', linear to {ask.rubber.travel:g} mm"
            + ("" if ok else ": use a stiffer mount"),
            ask.rubber.source,
            where,
            value=float(gives[case]),
            limit=ask.rubber.travel,
            unit="mm",
            margin=at_most(float(gives[case]), ask.rubber.travel),
        )
    if hanger.lean > _SQUARE:
        yield _finding(
            "lean",
            "look",
            f"{name}'s bolt leans {hanger.lean:.1f} degrees from square to its foot: put taper washers on both sides",
            "square taper washers take 8 % (4.6 degrees) or 14 % (8 degrees): DIN 434, DIN 435, from memory",
            where,
            value=hanger.lean,
            limit=design.ask.shop.lean_most,
            unit="deg",
            margin=at_most(hanger.lean, design.ask.shop.lean_most),
        )
    if ask.fixing == "hole" and ask.behind == "closed":
        yield _finding(
            "nut behind",
            "look",
            f"no nut can be put behind {name}: fit a captive nut plate or a steel insert of the bolt's strength first",
            "common practice, no source",
            where,
        )
    if ask.fixing == "stud" and ask.stud is not None:
        row = kit.row(ask.bolt)
        need = hanger.foot.wall + row.washer.thickness + kit.diameter(ask.bolt) + 2 * row.pitch
        ok = ask.stud >= need
        yield _finding(
            "stud",
            "pass" if ok else "fail",
            f"{name}'s stud stands out {ask.stud:g} mm; foot, washer, nut and two threads need {need:.1f} mm"
            + ("" if ok else ": fit a longer stud"),
            "two threads past the nut: common practice, no source",
            where,
            value=ask.stud,
            limit=need,
            unit="mm",
            margin=at_least(ask.stud, need),
        )


# --- strength ---------------------------------------------------------------------------------------------------------


def _strength(solved: Solved) -> list[Finding]:
    design = solved.design
    source = FACTORED.format(factor=solved.factor)
    found = []
    for bar in design.bars.values():
        metal = design.kit.metal(bar.stock.material, "section", bar.stock.wall)
        found.append(
            _used(
                "bar stress",
                solved.bar(bar),
                "MPa",
                f"{bar.mark} ({bar.stock.name})",
                "use a larger section",
                f"loads times {solved.factor:g} against yield: {metal.source}",
                (bar.mark,),
            )
        )
    found.append(
        _used(
            "sag",
            solved.sag(),
            "mm",
            "rails and hangers between motor and mounts",
            "use a larger section or shorter hangers",
            "shop.deflection_most: common practice, no source",
            tuple(design.bars),
        )
    )
    bolts: dict[str, list[Finding]] = defaultdict(list)
    holes: dict[str, list[Finding]] = defaultdict(list)
    for joint in design.joints:
        kind = joint.name.split()[0]
        text = f"{joint.size} bolts {joint.name.removesuffix(' bolts')}"
        use = solved.bolts(joint)
        bolts[kind].append(_used("bolts", use, "", text, "use larger bolts (shop.bolt)", source, (joint.name,)))
        for ply in joint.plies:
            use = solved.bearing(joint, ply)
            text = f"holes of {joint.name} in {ply.mark}"
            where = (ply.mark, joint.name)
            holes[kind].append(_used("bearing", use, "N", text, "use thicker metal", source, where))
    found += [_worst(group) for group in (*bolts.values(), *holes.values())]
    for hanger in design.hangers:
        found += _hanger(solved, hanger, source)
    return found


def _worst(group: Sequence[Finding]) -> Finding:
    """Return the finding of least margin; it says how many it speaks for."""
    worst = min(group, key=lambda f: f.margin if f.margin is not None else 0.0)
    return worst if len(group) == 1 else replace(worst, message=f"{worst.message} (the worst of {len(group)} like it)")


def _hanger(solved: Solved, hanger: Hanger, source: str) -> Iterator[Finding]:
    foot, where = hanger.foot, (hanger.foot.mark, hanger.mount.name)
    if isinstance(foot, Saddle):
        text, cure = f"{foot.mark} ({foot.wall:g} mm)", "list thicker plates in shop.plate_thicknesses"
    else:
        text, cure = f"{foot.mark} ({foot.stock.name})", "list larger angles in shop.angle_sections"
    yield _used("foot stress", solved.foot(hanger), "MPa", text, cure, source, where)
    yield _used("foot bolts", solved.foot_bolts(hanger), "N", f"tension at {foot.mark}, by hand", cure, source, where)
    if isinstance(foot, Foot) and foot.gussets:
        weld = "EN 1993-1-8, 4.5.3.3 (from memory)"
        yield _used("weld", solved.weld(hanger), "", f"gusset welds of {foot.mark}", "use a shorter arm", weld, where)
    if hanger.plate:
        cure = "list thicker plates in shop.plate_thicknesses"
        yield _used("plate stress", solved.plate(hanger), "MPa", hanger.plate, cure, source, (hanger.plate,))
        limit = solved.design.ask.shop.reach_to_thickness * hanger.thickness
        yield _finding(
            "hanger length",
            "pass" if hanger.free <= limit else "fail",
            f"{hanger.plate} stands {hanger.free:.0f} mm free, {hanger.free / hanger.thickness:.1f} thicknesses",
            "shop.reach_to_thickness: common practice, no source",
            (hanger.plate,),
            value=hanger.free,
            limit=limit,
            unit="mm",
            margin=at_most(hanger.free, limit),
        )


# --- rocking and clearance --------------------------------------------------------------------------------------------


def _moving(solved: Solved) -> Iterator[Finding]:
    design, ask = solved.design, solved.design.ask
    hertz = solved.model.frequencies()
    least = ask.shop.frequency_least
    listed = ", ".join(f"{f:.1f}" for f in hertz)
    yield _finding(
        "natural frequency",
        "pass" if hertz[0] >= least else "look",
        f"the motor swings on its mounts at {listed} Hz"
        + ("" if hertz[0] >= least else ": the softest mounts are too soft"),
        "shop.frequency_least: well above the body's own 1 to 2 Hz on its springs: common practice, no source",
        value=float(hertz[0]),
        limit=least,
        unit="Hz",
        margin=at_least(float(hertz[0]), least),
    )
    rocks = rocking(solved)
    yield _finding(
        "rocking",
        "pass",
        f"full torque turns the motor by {rocks.angle:.2f} degrees either way; in '{rocks.case}' it moves by up to "
        f"{rocks.moves:.1f} mm from rest",
        "stiffness of mounts, hangers and rails",
        tuple(mark for mark, _ in design.motors),
        value=rocks.angle,
        unit="deg",
    )
    for room in rooms(solved, keep_boxes(design)):
        worst = room.left - room.slack
        verdict: Literal["pass", "look", "fail"] = (
            "fail" if room.left < ask.clearance else "look" if worst < ask.clearance else "pass"
        )
        cure = {
            "pass": "",
            "look": f"; the tape's ±{room.slack:g} mm decides: measure it again",
            "fail": f"; {ask.clearance:g} mm asked: move it, or use stiffer mounts",
        }[verdict]
        yield _finding(
            "clear of " + room.name,
            verdict,
            f"{room.mark} is {room.at_rest:.1f} mm from it at rest, {room.left:.1f} mm when the motor rocks{cure}",
            ROCKING,
            (room.mark, room.name),
            value=room.left,
            limit=ask.clearance,
            unit="mm",
            margin=at_least(worst, ask.clearance),
            at=room.at,
        )


# --- the pieces -------------------------------------------------------------------------------------------------------


def _made(design: RailDesign) -> Iterator[Finding]:
    met = overlaps(design.assembly)
    pairs = sorted({tuple(sorted((a.item.mark, b.item.mark))) for a, b in met})
    view = scene(design.assembly)
    if not pairs:
        count = len({s.item.mark for s in view.bodies})
        yield _finding("overlap", "pass", f"none of {count} pieces and fasteners overlap", "the pieces as drawn")
    for first, second in pairs:
        yield _finding("overlap", "fail", f"'{first}' and '{second}' overlap", "the pieces as drawn", (first, second))
    yield from edge_findings(design.assembly)
    yield from web_findings(design.assembly)
    shut = blocked(design.assembly)
    if not shut:
        heads = sum(len(line.points) for line in design.assembly.lines if line.screw is not None)
        yield _finding("driver access", "pass", f"a driver reaches all {heads} heads", "the pieces as drawn")
    for line, other, point in shut:
        x, y, z = point.tolist()
        yield _finding(
            "driver access",
            "fail",
            f"'{other}' stands over a head of '{line}': no driver gets at it",
            "the pieces as drawn",
            (line, other),
            at=(x, y, z),
        )
