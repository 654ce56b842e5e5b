"""The steps in which motor rails are set out, sawn, drilled, welded, bolted together and hung in the car."""

from collections.abc import Iterable

from baywright.piece.assembly import IN_CAR, Assembly
from baywright.piece.extrusion import Extrusion
from baywright.piece.joint import ScrewLine
from baywright.rail.design import RailDesign
from baywright.release.steps.step import Step, Table, screws_of


def rail_steps(design: RailDesign) -> list[Step]:
    """Return a set of rails' steps: set out on the car, made, hung dry with a dummy, then with the motor."""
    assembly = design.assembly
    motors = {mark for mark, _ in design.motors}
    bars = set(design.bars)
    welded = _welded(assembly)
    lines = list(assembly.lines)
    in_car = [line for line in lines if line.stage == IN_CAR]
    driven = [line for line in lines if line.screw is not None and line.stage != IN_CAR]
    to_motor = [line for line in driven if _marks([line]) & motors]
    cleats = {m for line in to_motor for m in _marks([line])} - motors - bars
    to_bars = [line for line in driven if line not in to_motor and _marks([line]) <= cleats | bars]
    crossing = [line for line in to_bars if not _marks([line]) & cleats]
    to_bars = [line for line in to_bars if line not in crossing]
    hanging = [line for line in driven if line not in to_motor and line not in to_bars and line not in crossing]
    frame = bars | cleats
    hung = (_marks(hanging) | _with(welded, _marks(hanging))) - frame
    steps = [_set_out(design), _saw(design)]
    if welded:
        steps.append(_weld(assembly, welded))
    there = frame
    if to_bars:
        steps.append(_bolting("Cleats on the rails", cleats, set(frame), to_bars))
    if crossing:
        steps.append(_bolting("Crossbars between the rails", set(), set(frame), crossing))
    if hanging:
        there = frame | hung
        steps.append(_bolting("What hangs on the mounts", hung, set(there), hanging))
    steps.append(_dry_hang(set(there)))
    if to_motor:
        there = there | motors
        steps.append(_motor(design, motors, set(there), to_motor))
    steps.append(_in_the_car(design, in_car, there))
    steps.append(_after(design))
    return steps


def _marks(lines: Iterable[ScrewLine]) -> set[str]:
    return {layer.mark for line in lines for layer in line.layers}


def _welded(assembly: Assembly) -> dict[str, set[str]]:
    """Return, by the piece that it is welded to, the marks of gussets and their welds: all of one mount."""
    found: dict[str, set[str]] = {}
    feet = [p.mark for p in assembly.placed if p.mark.startswith("foot ")]
    for foot in feet:
        mount = foot.removeprefix("foot ")
        own = {p.mark for p in assembly.placed if p.mark.startswith((f"gusset {mount} ", f"weld {mount} "))}
        if own:
            found[foot] = own
    return found


def _with(welded: dict[str, set[str]], marks: set[str]) -> set[str]:
    return {mark for foot, own in welded.items() if foot in marks for mark in own}


def _set_out(design: RailDesign) -> Step:
    count = len(design.mounts)
    return Step(
        "Set out on the car",
        [
            "Car level on stands, at ride height; mounts clean, threads chased, rubbers sound",
            f"Tape every distance of the setting-out drawing, mount to mount, all {count} mounts; write them on it",
            "String or laser from the crankshaft's centre to the tail: the motor's line, in plan and from the side",
            "Offer up a wooden or card dummy of the motor: bonnet, steering at both locks, exhaust, pedals",
            "Distances within what the job file says they may be off; if not, change the job file and begin again",
        ],
        fields=["worst distance off, mm", "least room, mm", "where", "done by", "date"],
        notes=["Nothing is sawn before this page is signed. The car itself is not cut or drilled."],
    )


def _saw(design: RailDesign) -> Step:
    assembly = design.assembly
    seen: dict[tuple[str, str, float], int] = {}
    for item in assembly.placed:
        if isinstance(item.piece, Extrusion):
            key = (item.piece.role, item.piece.stock.name, round(item.piece.length, 1))
            seen[key] = seen.get(key, 0) + 1
    tubes: dict[str, int] = {}
    for line in assembly.lines:
        for extra in line.along:
            if extra.piece.role in ("crush tube", "crossbar crush tube", "spacer"):
                tubes[extra.piece.name] = tubes.get(extra.piece.name, 0) + len(line.points)
    rows = [(role, stock, f"{length:.1f}", f"{count}", "") for (role, stock, length), count in seen.items()]
    rows += [("tube or spacer", name, "", f"{count}", "") for name, count in sorted(tubes.items())]
    return Step(
        "Saw and drill",
        [
            "Check each template's scale line; wrap it round the tube, edge on edge, its end on the sawn end",
            "Drill both walls from their own sides, pilot first; ream or file nothing to make a hole fit",
            "Crush tubes and spacers faced square, all of one joint equal within 0.1 mm",
            "Deburr inside and out; break all edges by 0.5 mm",
            "Prime bare steel inside the tubes' ends; leave clamped faces bare or thinly primed",
        ],
        tables=[Table(("piece", "from", "length, mm", "pieces", "done"), tuple(rows), (36.0, 92.0, 22.0, 18.0, 14.0))],
        fields=["lengths checked by", "templates checked by", "date"],
        notes=["A bolt through a tube without its crush tube flattens the tube and comes loose."],
    )


def _weld(assembly: Assembly, welded: dict[str, set[str]]) -> Step:
    marks = {mark for foot, own in welded.items() for mark in (foot, *own)}
    names: dict[str, int] = {}
    for mark in marks:
        item = assembly.by_mark[mark]
        if mark.startswith("weld "):
            names[getattr(item.piece, "name", "weld")] = names.get(getattr(item.piece, "name", "weld"), 0) + 1
    return Step(
        "Weld on the bench",
        [
            *(f"{count} × {name}" for name, count in sorted(names.items())),
            "By a welder qualified for it (ISO 9606-1); grinder and clamps ready, the foot held square",
            "Bright metal at every weld; tack, check square, then weld in short runs, ends returned round the corner",
            "Look at each weld: no undercut, crack or crater; dye or magnetic test if in doubt",
            "Let it cool in still air, then check the foot is flat and square; prime and paint",
        ],
        set(marks),
        set(marks),
        fields=["welder, certificate", "process, filler", "looked at by", "date"],
        notes=["Nothing is welded in the car: batteries, motor and control units do not outlive it."],
    )


def _bolting(title: str, new: set[str], there: set[str], lines: list[ScrewLine]) -> Step:
    return Step(
        title,
        [
            "Crush tubes and spacers in their places before the bolts",
            f"{screws_of(lines)} bolts in from the side drawn, washers under heads, new self-locking nuts",
            "All snug, check square, then to torque; mark each",
        ],
        new,
        there,
        lines=lines,
        fields=["torque wrench's number", "done by", "checked by"],
    )


def _dry_hang(there: set[str]) -> Step:
    return Step(
        "Hang it dry",
        [
            "Hang the bare rails on the mounts, bolts by hand: no bolt is forced, no mount pulled out of its place",
            "Line of the motor checked again with the dummy: in plan, from the side, and at the gearbox",
            "Measure the room to all that moves: steering at both locks, suspension at full bump and droop",
        ],
        set(),
        there,
        fields=["line off, mm", "least room, mm", "where", "done by"],
    )


def _motor(design: RailDesign, motors: set[str], there: set[str], lines: list[ScrewLine]) -> Step:
    mass = design.motor.mass
    return Step(
        "Motor into the rails",
        [
            f"Motor {mass:.0f} kg: rated lifting gear, slings that can't slip, nobody's hands under it",
            "Lower it between the cleats; lugs flat on their cleats, no gap drawn shut by a bolt (shim it)",
            f"{screws_of(lines)} bolts, new self-locking nuts, snug all round, then to torque; mark each",
        ],
        motors,
        there,
        lines=lines,
        fields=["shims", "torque wrench's number", "done by", "checked by"],
    )


def _in_the_car(design: RailDesign, lines: list[ScrewLine], there: set[str]) -> Step:
    doublers = {p.mark for p in design.assembly.placed if p.stage == IN_CAR}
    driven = [line for line in lines if line.screw is not None]
    studs = sum(len(line.points) for line in lines if line.screw is None)
    slots = [mount for mount in lines if any(layer.use == "slot" for layer in mount.layers)]
    return Step(
        "In the car",
        [
            f"The whole weighs {design.unit.mass:.0f} kg: hoist or trolley jack and stands rated for it",
            "Round holes first, then slots; every mount's bolt in by hand before any is tight",
            *([f"{studs} mounts have their own studs: washer and self-locking nut on each"] if studs else []),
            *([f"{len(slots)} slotted mounts settle last: tighten them with the weight on"] if slots else []),
            "Earth strap from motor to body, below 0.1 Ω (common practice, no source)",
        ],
        doublers,
        there | doublers,
        lines=driven,
        fields=["torque wrench's number", "motor to body, Ω", "fitted by", "checked by", "date"],
    )


def _after(design: RailDesign) -> Step:
    mounts = ", ".join(mount.name for mount in design.mounts)
    return Step(
        "First drive and after",
        [
            "Wheels blocked, brake on: a little torque each way; see how far the motor rocks, and that nothing touches",
            "Short drive, then look at every marked bolt, and for rubbed paint where something touched",
            "All bolts to torque again after the first 50 to 100 km (common practice, no source)",
            "At every service: rubbers, welds, marks",
        ],
        fields=["rocks each way, mm", "tightened again at, km", "touched anywhere", "checked by", "date"],
        notes=[f"Mounts: {mounts}."],
    )
