"""What must hold of an adapter along and about the shaft: depth, run-out, fits, machining, what is not known well."""

import numpy as np

from baywright.adapter.chance import ENOUGH, chance_of_passing
from baywright.adapter.design import AdapterDesign
from baywright.adapter.fit import pilot_limits
from baywright.adapter.measured import IN_95
from baywright.finding import Finding, Verdict, at_least, at_most
from baywright.job.patterns import PatternRow


def finding(design: AdapterDesign, check: str, verdict: Verdict, message: str, **more: object) -> Finding:
    """Return a finding about an adapter."""
    return Finding(subject=f"adapter {design.name}", check=check, verdict=verdict, message=message, **more)  # type: ignore[arg-type]


def check_shaft_line(design: AdapterDesign) -> list[Finding]:
    """Return the findings about depth stack, pilot bearing, run-out, fits, machining and sources."""
    checks = (_depth, _pilot_bearing, _run_out, _bored, _known, _passing)
    return [one for check in checks for one in check(design)]


def _depth(design: AdapterDesign) -> list[Finding]:
    if not design.depth.checks:
        return [
            finding(
                design,
                "depth stack",
                "look",
                f"the thickness of {design.depth.thickness:g} mm is as asked and was not checked against shaft, "
                "coupler and nose: describe the coupler",
            )
        ]
    found = []
    for check in design.depth.checks:
        verdict: Verdict = (
            "pass" if check.room(check.worst) >= -1e-9 else "look" if check.room(check.likely) >= 0 else "fail"
        )
        low = "" if check.least is None else f"{check.least:g}"
        high = "" if check.most is None else f"{check.most:g}"
        bound = f"{low} to {high}" if low and high else f"at least {low}" if low else f"at most {high}"
        off = f"± {check.worst:.1f} mm at worst (± {check.likely:.1f} likely)"
        text = f"{check.name} {check.value:.1f} {off}, {bound} mm asked"
        if verdict == "look":
            text += ": measure the parts that make it up once they are there"
        elif verdict == "fail":
            text += ": parts at their limits leave it; tighten tolerances or change thickness or coupler"
        room = check.room(check.worst)
        found.append(
            finding(
                design,
                check.name,
                verdict,
                text,
                value=check.value,
                limit=check.least if check.least is not None else check.most,
                unit="mm",
                margin=room / max(abs(check.value), 1.0),
                source=check.source,
            )
        )
    return found


def _pilot_bearing(design: AdapterDesign) -> list[Finding]:
    coupler = design.given.ask.coupler
    if not design.given.gearbox.needs_pilot or coupler is None:
        return []
    good = coupler.pilot is not None
    return [
        finding(
            design,
            "pilot bearing",
            "pass" if good else "fail",
            "the input shaft has one bearing only; its nose runs in the coupler's pilot bearing"
            if good
            else "the input shaft has one bearing only and nothing holds its nose: give the coupler a pilot bearing",
            source="needs_pilot of the gearbox",
        )
    ]


def _run_out(design: AdapterDesign) -> list[Finding]:
    budget = design.run_out
    found = [
        finding(
            design,
            "located",
            "fail",
            f"nothing but bolts in their holes locates the {side}: give its face dowels or a pilot",
            source="trade: locating features are dowels or a register",
        )
        for side in budget.unlocated
    ]
    worst, likely, suited = budget.worst, budget.likely, budget.suited
    face, limit = design.given.gearbox_face, budget.limit
    verdict: Verdict = "pass" if worst <= limit else "look" if min(likely, suited) <= limit else "fail"
    links = "; ".join(f"{o.what} {2 * o.offset:.3f}" for o in budget.offsets if o.offset)
    text = f"run-out {likely:.2f} mm likely, {worst:.2f} mm at worst (TIR); {links}"
    if verdict == "look" and likely <= limit:
        text += ": indicate it when it is together and correct with offset dowels if need be"
    elif verdict == "look":
        text += (
            f": measure the spigots and bore the plate to them with 0.02 mm of play, then {suited:.2f} mm are likely"
        )
    elif verdict == "fail":
        text += ": closer fits, or dowels reamed when the plate is indicated (indicated = 0.05)"
    found.append(
        finding(
            design,
            "run-out",
            verdict,
            text,
            value=worst,
            limit=limit,
            unit="mm",
            margin=at_most(worst, limit),
            source="0.13 mm TIR: a gearbox maker's adaptation sheet and alignment examples",
        )
    )
    if face.run_out is not None and design.given.gearbox.counterpart:
        value = budget.worst_at_plate
        good = value <= face.run_out
        found.append(
            finding(
                design,
                "flange run-out",
                "pass" if good else "look",
                f"the plate's step for the gearbox runs out {value:.2f} mm at worst (TIR), {face.run_out:g} mm are "
                "allowed" + ("" if good else ": indicate it to the motor's shaft and correct"),
                value=value,
                limit=face.run_out,
                unit="mm",
                margin=at_most(value, face.run_out),
                source=face.source,
            )
        )
    return found


def _known(design: AdapterDesign) -> list[Finding]:
    """Return what the design rests on that is from memory or not known."""
    given, found = design.given, []
    for side, name in (("motor", given.motor.pattern), ("gearbox", given.gearbox.pattern)):
        row = given.catalogue.row("pattern", name)
        if isinstance(row, PatternRow) and row.memory:
            found.append(
                finding(
                    design,
                    "source",
                    "look",
                    f"the {side}'s pattern '{name}' is from memory in part ({row.memory}): lay the paper template on "
                    "the part before anything is cut",
                    source=row.source,
                )
            )
    for side, face in (("motor", given.motor_face), ("gearbox", given.gearbox_face)):
        pilot = face.pilot
        if pilot is None:
            continue
        if not pilot.height:
            found.append(
                finding(
                    design,
                    "pilot height",
                    "look",
                    f"how high the {side}'s {'spigot' if pilot.male else 'recess'} is, is not known: "
                    f"{given.ask.pilot_height:g} mm are taken; measure it",
                    source="pilot_height, as asked",
                )
            )
        limits = pilot_limits(given.catalogue, pilot)
        for bores in design.bores:
            for bore in bores.bores:
                if bore.of == side and bore.play is not None and bore.limits is not None:
                    step = "spigot" if pilot.male else "recess"
                    plate, room = bore.limits, bore.play
                    found.append(
                        finding(
                            design,
                            "fit",
                            "pass",
                            f"{side}'s {step} {limits.least:.3f} to {limits.most:.3f}, plate {plate.least:.3f} to "
                            f"{plate.most:.3f} mm: play {room.least:+.3f} to {room.most:+.3f} mm, a {room.kind} fit",
                            value=room.most,
                            unit="mm",
                            source="ISO 286, or the flange's own limits",
                        )
                    )
    # One plate has its bores for both faces: the same fit is told once.
    return list({f.message: f for f in found}.values())


def _passing(design: AdapterDesign) -> list[Finding]:
    """Return the chance that all bolts pass where a face was measured."""
    found = []
    for holes, side in ((design.motor_holes, "motor"), (design.gearbox_holes, "gearbox")):
        bolts = [one for one in holes if one.thread is not None]
        zones = np.array([one.hole.position for one in bolts])
        if not len(bolts) or not zones.any():
            continue
        wide = np.array([one.cut if one.make == "clearance" else one.hole.diameter for one in bolts])
        size = np.array([one.thread.diameter for one in bolts if one.thread is not None])
        sigma = np.repeat(zones / (2 * IN_95), 2)
        chance = chance_of_passing(
            np.array([(one.hole.x, one.hole.y) for one in bolts]),
            np.diag(sigma**2),
            (wide - size) / 2,
            tuple(one.hole.name for one in bolts),
            cut=design.given.ask.placing / 2,
            located="free" if side in design.run_out.unlocated else "fixed",
        )
        good = chance.chance >= ENOUGH
        found.append(
            finding(
                design,
                "bolts pass",
                "pass" if good else "look",
                f"chance that all bolts of the {side} pass as its holes were measured: {100 * chance.chance:.1f} %"
                + ("" if good else f"; hole {chance.worst} stops most: measure it again or open its hole"),
                value=chance.chance,
                limit=ENOUGH,
                margin=at_least(chance.chance, ENOUGH),
                source="4000 simulated plates",
            )
        )
    return found


def _bored(design: AdapterDesign) -> list[Finding]:
    """Return what a cutter cannot finish."""
    machined = sorted({b.callout for bores in design.bores for b in bores.bores if b.machined})
    reamed = sum(one.make == "dowel" for one in (*design.motor_holes, *design.gearbox_holes))
    tapped = sum(
        len(line.points)
        for line in design.assembly.lines
        for layer in line.layers
        if layer.use == "tapped" and any(layer.mark == at.mark for at in design.plates)
    )
    sunk = sum(bool(one.sink) for one in (*design.motor_holes, *design.gearbox_holes))
    parts = [*machined]
    parts += [f"{reamed} dowel holes to ream"] if reamed else []
    parts += [f"{tapped} holes to tap"] if tapped else []
    parts += [f"{sunk} counterbores"] if sunk else []
    text = "nothing" if not parts else "; ".join(parts)
    return [finding(design, "machining after cutting", "pass", text, source="a cutter holds 0.1 mm: cut shops' guides")]
