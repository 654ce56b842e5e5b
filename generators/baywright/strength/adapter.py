"""An adapter under its motor: bolts of both faces, and the plate bent by a motor that hangs from it."""

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import suppress

import numpy as np

from baywright.adapter.bolting import Bolted
from baywright.adapter.design import AdapterDesign
from baywright.finding import Finding
from baywright.job.loads import LoadCase
from baywright.mechanics.boltgroup import SHEAR_SHARE
from baywright.strength.allow import Allow, Metal, Unchecked
from baywright.strength.check import Calculation
from baywright.strength.path import Throw, throws
from baywright.strength.verdict import member_finding
from baywright.strength.working import Working

_ELASTIC = "elastic method for bolt groups: Shigley, Mechanical Engineering Design"
_HALF = "even bolts on a circle: the middle of a half circle's pull lies at 2 r / π; statics"
# Share of a bolt's strength that counts in shear where its class has no row: that of the brittle ones.
_LEAST_SHARE = 0.5


def adapter_findings(design: AdapterDesign, cases: Sequence[LoadCase]) -> list[Finding]:
    """Return what an adapter's bolts and plates come to if the motor hangs from them alone: one finding a member."""
    subject = f"adapter {design.name}"
    by_member: dict[str, list[Calculation]] = defaultdict(list)
    found = []
    for case in cases:
        try:
            for one in adapter_calculations(design, case):
                by_member[one.member].append(one)
        except Unchecked as no:
            text = f"under '{case.name}': {no}"
            found.append(Finding(subject=subject, check="strength data", verdict="look", message=text))
    return [*(member_finding(subject, member, done) for member, done in by_member.items()), *found]


def adapter_sheets(design: AdapterDesign, cases: Sequence[LoadCase]) -> list[Calculation]:
    """Return what of an adapter could be reckoned under the cases; `adapter_findings` says what could not."""
    found = []
    for case in cases:
        with suppress(Unchecked):
            found += adapter_calculations(design, case)
    return found


def adapter_calculations(design: AdapterDesign, case: LoadCase) -> list[Calculation]:
    """Return every calculation of an adapter under a case, its mounts and the tail of its motor left out.

    The shaft lies along the car, the gearbox behind the motor, turned as the adapter's `yaw` says.

    Raises:
        Unchecked: if a strength is missing.
    """
    kit = design.given.catalogue
    # No adhesive here: any row of the table serves, none of its figures is asked for.
    allow = Allow(kit, case, kit.adhesive(kit.names("adhesive")[0]))
    return [one for throw in throws(case, design.given.ask.yaw) for one in _under(design, allow, throw)]


def _under(design: AdapterDesign, allow: Allow, throw: Throw) -> Iterator[Calculation]:
    first = design.plates[0]
    metal = allow.metal(design.given.material.name, first.thickness, extruded=False)
    for side, holes in (("motor", design.motor_holes), ("gearbox", design.gearbox_holes)):
        bolts = [one for one in holes if one.thread is not None]
        if len(bolts) < 3:
            raise Unchecked(f"the {side}'s face has {len(bolts)} bolts: fewer than three do not hold a motor")
        yield _bolts(design, allow, throw, side, bolts)
    yield _plate(design, allow, throw, metal)


def _loads(design: AdapterDesign, w: Working, throw: Throw, allow: Allow, side: str) -> None:
    """Add the motor's forces: F across the shaft, A along it, M at the face of that side."""
    row, case = design.given.motor, allow.case
    source = f"load case '{case.name}', {throw.text}: {case.source}"
    w.given("m", row.mass, "kg", f"motor '{row.name}'", row.source)
    along, across = float(throw.force[0]), float(math.hypot(throw.force[1], throw.force[2]))
    w.given("a_a", along, "m/s²", "throw along the shaft, to the gearbox positive; load factor in", source)
    w.given("a_t", across, "m/s²", "throw across the shaft, weight and load factor in", source)
    centre = row.centre if row.centre is not None else row.length / 2
    w.given("c_m", centre, "mm", "its centre of mass behind its face", row.source)
    w.given("d_p", 0.0 if side == "motor" else design.depth.thickness, "mm", f"from its face to the {side}'s face")
    w.let("F", "m * a_t", "N", "force across the shaft")
    w.let("A", "max(0, -m * a_a)", "N", "pull along the shaft, away from the gearbox")
    w.let("M", "F * (c_m + d_p)", "N·mm", "overhang: the motor's tail unsupported, its mounts left out", "statics")


def _group(w: Working, bolts: Sequence[Bolted]) -> None:
    r = np.array([(one.hole.x, one.hole.y) for one in bolts])
    r = r - r.mean(axis=0)
    # Overhang may point any way: the stiffness across the weakest way, and the farthest bolt.
    weakest = float(np.linalg.eigvalsh(r.T @ r)[0])
    w.given("n", len(bolts), "", "bolts")
    w.given("r_m", float(np.linalg.norm(r, axis=1).max()), "mm", "the farthest bolt from their middle")
    w.given("S", weakest, "mm²", "Σ of distances squared, the weakest way")
    w.given("S_p", float((r * r).sum()), "mm²", "Σ r²")


def _bolts(design: AdapterDesign, allow: Allow, throw: Throw, side: str, bolts: Sequence[Bolted]) -> Calculation:
    w = Working()
    _loads(design, w, throw, allow, side)
    _group(w, bolts)
    row = design.given.motor
    w.given("T_m", 1000 * row.torque, "N·mm", "the motor's most torque, held by the bolts at the same time", row.source)
    w.let("N", "A / n + M * r_m / S", "N", "pull of the worst bolt", _ELASTIC)
    w.let("V", "F / n + T_m * r_m / S_p", "N", "shear of the worst bolt, friction left out", _ELASTIC)
    weakest = min((one.thread for one in bolts if one.thread is not None), key=lambda t: t.row.stress_area)
    grade = design.given.bolt_class(weakest)
    allow.fastener(w, weakest.row, grade, SHEAR_SHARE.get(grade, _LEAST_SHARE))
    line = "max(V / F_v_Rd + N / (1.4 * F_t_Rd), N / F_t_Rd)"
    w.let("use", line, "", "share that is used; over 1 fails", "EN 1993-1-8 table 3.4, from memory")
    return Calculation(
        member=f"bolts to the {side}",
        piece=f"{len(bolts)} x {weakest.name}",
        what=f"{weakest.name}, class {grade}: overhang, throw and torque together",
        case=allow.case.name,
        throw=throw.text,
        demand=w.values["use"],
        resistance=1.0,
        unit="",
        use=w.values["use"],
        working=w,
        where=(design.plates[0 if side == "motor" else -1].mark,),
        help="a stronger class of bolt, and a mount under the motor's tail",
        note="thread engagement has a check of its own",
    )


def _plate(design: AdapterDesign, allow: Allow, throw: Throw, metal: Metal) -> Calculation:
    """Return the bending of the plate between the two bolt circles: the pulling half as a strip."""
    w = Working()
    _loads(design, w, throw, allow, "motor")
    first = design.plates[0]
    circles = [
        float(np.mean([one.hole.radius for one in holes if one.thread is not None]))
        for holes in (design.motor_holes, design.gearbox_holes)
    ]
    w.given("r_1", circles[0], "mm", "radius of the motor's bolts")
    w.given("r_2", circles[1], "mm", "radius of the gearbox's bolts")
    w.given("t", first.thickness, "mm", f"thickness of {first.mark}")
    w.let("P", "M / (4 / 3.141593 * min(r_1, r_2)) + A / 2", "N", "pull of the upper half of the inner circle", _HALF)
    w.let("e", "abs(r_2 - r_1)", "mm", "from one circle to the other")
    w.let(
        "b", "2 * min(r_1, r_2)", "mm", "width of the strip: the inner circle's diameter", "common practice, no source"
    )
    w.let("σ", "6 * P * e / (b * t**2)", "MPa", "bending of that half as a strip, a cantilever")
    allowed = allow.yield_(w, metal)
    w.let("use", "σ / σ_Rd", "", "share that is used; over 1 fails")
    return Calculation(
        member="plate under the motor's overhang",
        piece=first.mark,
        what="bending between the bolt circles",
        case=allow.case.name,
        throw=throw.text,
        demand=w.values["σ"],
        resistance=allowed,
        unit="MPa",
        use=w.values["use"],
        working=w,
        where=(first.mark,),
        help="a thicker plate, and a mount under the motor's tail",
    )
