"""The strength of a set of rails, told as findings: mounts, bars, bolts, hangers, natural frequency."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

from baywright.finding import Finding, at_least, at_most
from baywright.rail.design import Foot, Hanger, Saddle
from baywright.rail.loads import reaction
from baywright.rail.stress import Solved
from baywright.rail.told import FACTORED, finding, used

# A bolt that leans less than this from square needs no taper washer: the play of its hole, degrees (common practice,
# no source).
_SQUARE = 1.0
_PLATE = "a stiff washer on a clamped plate: limit analysis by Tresca's rule, first principles"
EQUILIBRIUM = "first principles: forces and moments balance"


def strength_findings(solved: Solved) -> list[Finding]:
    """Return every finding about loads, strength and stiffness."""
    return [*mount_findings(solved), *metal_findings(solved), *_cleats(solved), _frequency(solved)]


# --- mounts -----------------------------------------------------------------------------------------------------------


def mount_findings(solved: Solved) -> Iterator[Finding]:
    """Yield what the mounts hold, and how well."""
    design = solved.design
    torque = reaction(design.given)
    held = "what gears can give" if torque.torque < torque.grip else "what the tyres let through"
    yield finding(
        "torque reaction",
        "pass",
        f"the mounts hold {torque.torque:.0f} N·m about {torque.about}, both ways round: {held} "
        f"(gears {torque.geared:.0f}, tyres {torque.grip:.0f} N·m)",
        "first principles: motor torque times the gears bolted to it, tyre grip as a cap",
        value=torque.torque,
        unit="N·m",
    )
    yield finding(
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
    yield used(
        "mount bolt",
        solved.mount_bolt(hanger),
        "",
        f"{ask.bolt} at {name}",
        "add a mount near it",
        f"{source}, class {design.ask.shop.grade} taken for it",
        where,
    )
    yield used(
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
        yield finding(
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
        yield finding(
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
        yield finding(
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
        yield finding(
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


def metal_findings(solved: Solved) -> list[Finding]:
    """Return how much of bars, bolts and hangers is used: what a larger section would mend."""
    design = solved.design
    source = FACTORED.format(factor=solved.factor)
    found = []
    for bar in design.bars.values():
        metal = design.kit.metal(bar.stock.material, "section", bar.stock.wall)
        found.append(
            used(
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
        used(
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
    walls: list[Finding] = []
    for joint in design.joints:
        kind = joint.name.split()[0]
        text = f"{joint.size} bolts {joint.name.removesuffix(' bolts')}"
        use = solved.bolts(joint)
        bolts[kind].append(used("bolts", use, "", text, "use larger bolts (shop.bolt)", source, (joint.name,)))
        for ply in joint.plies:
            use = solved.bearing(joint, ply)
            text = f"holes of {joint.name} in {ply.mark}"
            where = (ply.mark, joint.name)
            holes[kind].append(used("bearing", use, "N", text, "use thicker metal", source, where))
            if ply.mark in design.bars and design.bars[ply.mark].stock.shape == "tube":
                text = f"wall of {ply.mark} at {joint.name}"
                cure = "use a section with a thicker wall"
                walls.append(used("wall pull", solved.wall(joint, ply), "N", text, cure, _PLATE, where))
    found += [_worst(group) for group in (*bolts.values(), *holes.values(), walls) if group]
    for hanger in design.hangers:
        found += _hanger(solved, hanger, source)
    return found


def _cleats(solved: Solved) -> list[Finding]:
    """Return how much of the worst cleat is used: it is the same for every section of the rails."""
    cure = "leave its angle out of shop.angle_sections, so that the next is taken"
    source = FACTORED.format(factor=solved.factor)
    found = []
    for joint in solved.design.joints:
        if joint.first == joint.second:
            mark = joint.name.removesuffix(" to lug")
            found.append(used("cleat stress", solved.cleat(joint), "MPa", mark, cure, source, (mark,)))
    return [_worst(found)] if found else []


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
    yield used("foot stress", solved.foot(hanger), "MPa", text, cure, source, where)
    yield used("foot bolts", solved.foot_bolts(hanger), "N", f"tension at {foot.mark}, by hand", cure, source, where)
    if isinstance(foot, Foot) and foot.gussets:
        weld = "EN 1993-1-8, 4.5.3.3 (from memory)"
        yield used("weld", solved.weld(hanger), "", f"gusset welds of {foot.mark}", "use a shorter arm", weld, where)
    if hanger.plate:
        cure = "list thicker plates in shop.plate_thicknesses"
        yield used("plate stress", solved.plate(hanger), "MPa", hanger.plate, cure, source, (hanger.plate,))
        limit = solved.design.ask.shop.reach_to_thickness * hanger.thickness
        yield finding(
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


def _frequency(solved: Solved) -> Finding:
    ask = solved.design.ask
    hertz = solved.model.frequencies()
    least = ask.shop.frequency_least
    listed = ", ".join(f"{f:.1f}" for f in hertz)
    return finding(
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
