"""What a rule asks of a box beside its loads: sheet thickness, number and strength of mounts, edges, bolts."""

from collections.abc import Iterator

import numpy as np

from baywright.box.generate import BoxDesign
from baywright.finding import Finding, Verdict, at_least, at_most
from baywright.job.loads import G, LoadCase, MountRule, PlateRule
from baywright.strength.allow import Allow, Unchecked
from baywright.strength.bench import Bench
from baywright.strength.feet import on_bolts
from baywright.strength.path import Statics, Throw


def case_rules(design: BoxDesign, case: LoadCase) -> list[Finding]:
    """Return the findings on a load case's own rules; none if it has none."""
    found: list[Finding] = []
    if case.plates is not None:
        found += _plates(design, case, case.plates)
    if case.mounts is not None:
        found += _mounts(design, case, case.mounts)
    if case.edge_distance_d is not None:
        found.append(_edges(design, case, case.edge_distance_d))
    if case.apart_mass is not None:
        found.append(_apart(design, case, case.apart_mass))
    return found


def points_needed(rule: MountRule, mass: float) -> int:
    """Return how many mounts a rule asks for a mass in kg; a mass on a limit belongs to the heavier row."""
    return next((row.points for row in rule.points if mass < row.up_to), rule.points_above)


def _plates(design: BoxDesign, case: LoadCase, rule: PlateRule) -> Iterator[Finding]:
    style = design.layout.kit.style
    for name, thick, least in (
        ("floor", style.floor.thickness, rule.floor),
        ("walls", style.wall.thickness, rule.walls),
        ("lid", style.lid.thickness, rule.walls),
    ):
        ok = thick >= least - 1e-9
        text = f"{name} {thick:.3g} mm of aluminium, {case.name} asks {least:g} mm" + ("" if ok else ": thicker sheet")
        yield _finding(design, case, "sheet thickness", ok, text, rule.rule, thick, least, at_least(thick, least), "mm")


def _mounts(design: BoxDesign, case: LoadCase, rule: MountRule) -> Iterator[Finding]:
    """Yield number and strength of the mounts: by mass, or at the corners where the rule allows it and they are."""
    mass = design.mass_properties.mass
    have, need = sum(len(foot.bolts) for foot in design.feet), points_needed(rule, mass)
    ok, each, clause = have >= need, rule.each, rule.rule
    text = f"{have} bolts to the car, {case.name} asks {need} for {mass:.0f} kg"
    if rule.corners is not None:
        near = at_corners(design, rule.corners.within)
        text += f", or {rule.corners.least} within {rule.corners.within:g} mm of its corners, where {near} are"
        if not ok and near >= rule.corners.least:
            ok, have, need, clause = True, near, rule.corners.least, rule.corners.rule
            each = rule.corners.share * rule.corners.g * G * mass
    text += "" if ok else ": more feet, or more bolts in each"
    yield _finding(design, case, "mounts", ok, text, clause, have, need, at_least(have, need), "")
    if not design.feet:
        return
    statics = Statics(design)
    allow = Allow(design.layout.kit.catalogue, case, design.layout.kit.adhesive)
    worst: tuple[float, str] = (0.0, "")
    # One bolt of a foot at a time: the first, which is as near to the foot's end as any.
    first = np.array([number == 0 for foot in design.feet for number in range(len(foot.bolts))])
    try:
        for axis, sign in ((a, s) for a in range(3) for s in (1.0, -1.0)):
            forces = np.zeros((len(first), 3))
            forces[first, axis] = sign * each
            bench = Bench(statics, allow, Throw("", 0.0, np.zeros(3), f"{each / 1000:.3g} kN on each mount"))
            for done in on_bolts(bench, forces):
                if not done.advice and done.alone != "bond":
                    way = "+-"[sign < 0] + "xyz"[axis]
                    worst = max(worst, (done.use, f"{done.member}, {done.what}, pushed along {way}"))
    except Unchecked as no:
        yield _finding(design, case, "strength of mounts", True, str(no), clause, verdict="look")
        return
    ok = worst[0] <= 1
    text = f"{each / 1000:.3g} kN on each mount any way, screws alone: {worst[1]}, {100 * worst[0]:.0f} % used" + (
        "" if ok else "; a thicker and longer foot with a larger bolt"
    )
    use = 100 * worst[0]
    yield _finding(design, case, "strength of mounts", ok, text, clause, use, 100.0, at_most(use, 100.0), "%")


def at_corners(design: BoxDesign, within: float) -> int:
    """Return how many bolts to the car stand within some distance (mm) in plan of a corner of the box's panels."""
    length, width = design.layout.outside
    bolts = np.vstack([foot.bolts for foot in design.feet]) if design.feet else np.zeros((0, 3))
    off = np.hypot(np.abs(bolts[:, 0]) - length / 2, np.abs(bolts[:, 1]) - width / 2)
    return int((off <= within + 1e-9).sum())


def _edges(design: BoxDesign, case: LoadCase, least: float) -> Finding:
    have = design.layout.kit.style.joint_screw.edge_least_d
    ok = have >= least
    text = f"screws keep {have:g} d from edges, {case.name} asks {least:g} d" + ("" if ok else ": raise edge_least_d")
    return _finding(design, case, "edge distance by rule", ok, text, "", have, least, at_least(have, least), "d")


def _apart(design: BoxDesign, case: LoadCase, most: float) -> Finding:
    mass = design.layout.module.module.mass
    ok = design.layout.ask.count == 1 or mass <= most
    text = f"modules of {mass:g} kg; {case.name} wants a wall between groups of more than {most:g} kg" + (
        "" if ok else ", which this box has not: ask the rule's keeper"
    )
    verdict: Verdict = "pass" if ok else "look"
    return _finding(design, case, "inner walls", ok, text, case.apart_rule, mass, most, None, "kg", verdict=verdict)


def _finding(
    design: BoxDesign,
    case: LoadCase,
    check: str,
    ok: bool,
    text: str,
    rule: str,
    value: float | None = None,
    limit: float | None = None,
    margin: float | None = None,
    unit: str = "",
    verdict: Verdict | None = None,
) -> Finding:
    return Finding(
        subject=f"box {design.name}",
        check=check,
        verdict=verdict if verdict is not None else ("pass" if ok else "fail"),
        message=text,
        value=value,
        limit=limit,
        unit=unit,
        margin=margin,
        source=f"{case.source}; {rule}" if rule else case.source,
    )
