"""The strength review of a box: every member under every throw of the load cases, gathered into findings."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from weakref import WeakKeyDictionary

from baywright.box.generate import BoxDesign
from baywright.finding import Finding, Verdict
from baywright.job.loads import LoadCase
from baywright.mechanics.statics import NotHeld
from baywright.strength.allow import Allow, Unchecked
from baywright.strength.bench import Bench
from baywright.strength.carry import bearers
from baywright.strength.check import Calculation
from baywright.strength.feet import feet
from baywright.strength.floor_bars import floor_bars
from baywright.strength.hold import retention
from baywright.strength.insulation import touch
from baywright.strength.lifting import lifting
from baywright.strength.panels import panels
from baywright.strength.path import Statics, throws
from baywright.strength.rules import case_rules
from baywright.strength.service import pulse_finding, service
from baywright.strength.shell import shell
from baywright.strength.verdict import member_finding

# The load case of the shop's table that lift lugs are held against.
LIFTING = "lifting"

_Done = tuple[LoadCase, tuple[Calculation, ...], tuple[str, ...]]
_DONE: WeakKeyDictionary[BoxDesign, dict[str, _Done]] = WeakKeyDictionary()


def strength_findings(design: BoxDesign, cases: Sequence[LoadCase], motor_speed: float | None = None) -> list[Finding]:
    """Return what strength, stiffness and heat come to: one finding a member, from the case that governs it.

    A joint passes if its bond alone and its screws alone each carry everything; it is to be looked at if only one of
    them does. Results are kept for a design, so that they are reckoned once.

    Args:
        design: the box.
        cases: the load cases that it is held against.
        motor_speed: the motor's highest speed, 1/min, if it is known: a coupler shakes once a turn.
    """
    found = _crash_named(design, cases)
    by_member: dict[str, list[Calculation]] = defaultdict(list)
    for calculation in calculations(design, cases):
        by_member[calculation.member].append(calculation)
    for member, done in by_member.items():
        found.append(member_finding(f"box {design.name}", member, done))
    statics = Statics(design)
    for case in cases:
        found += [_finding(design, "strength data", "look", text) for text in _reckoned(statics, case)[2]]
        found += case_rules(design, case)
        if case.pulse is not None and design.feet:
            found.append(pulse_finding(design, case, _reckoned(statics, case)[1]))
    if not design.feet:
        text = "the box has no feet: how it is held in the car is not reckoned; give it feet or design its mounts"
        found.append(_finding(design, "mounting", "look", text))
    return list(dict.fromkeys(found)) + service(design, cases, motor_speed) + touch(design)


def calculations(design: BoxDesign, cases: Sequence[LoadCase]) -> tuple[Calculation, ...]:
    """Return every calculation of a box under the cases, members in the order of the load path; lift lugs come last."""
    statics = Statics(design)  # one for all cases: masses and areas are reckoned once
    held = list(cases)
    if any(line.joint == "lifting" for line in design.assembly.lines):
        hoisted = design.layout.kit.catalogue.load(LIFTING)
        # On the basis that the user judges the rest on: never mixed.
        held.append(hoisted.model_copy(update={"basis": cases[0].basis}) if cases else hoisted)
    return tuple(one for case in held for one in _reckoned(statics, case)[1])


def _reckoned(statics: Statics, case: LoadCase) -> _Done:
    design = statics.design
    kept = _DONE.setdefault(design, {})
    known = kept.get(case.name)
    if known is not None and known[0] == case:
        return known
    kit = design.layout.kit
    allow = Allow(kit.catalogue, case, kit.adhesive)
    found: list[Calculation] = []
    gaps: dict[str, None] = {}
    for throw in throws(case, design.layout.ask.yaw):
        bench = Bench(statics, allow, throw)
        for part in (lifting,) if case.name == LIFTING else _PARTS:
            if part is bearers and design.layout.carry != "ledges":
                continue
            if part is floor_bars and design.layout.carry == "ledges":
                continue
            try:
                found += part(bench)
            except (Unchecked, NotHeld) as no:
                gaps[f"under '{case.name}': {no}"] = None
    kept[case.name] = (case, tuple(found), tuple(gaps))
    return kept[case.name]


_PARTS: tuple[Callable[[Bench], Iterator[Calculation]], ...] = (retention, bearers, floor_bars, shell, panels, feet)


def _crash_named(design: BoxDesign, cases: Sequence[LoadCase]) -> list[Finding]:
    """Return a finding that says whether any case stands for a crash, and what a person should know of the cases."""
    crash = [case.name for case in cases if case.kind == "crash"]
    names = ", ".join(case.name for case in cases)
    if not crash:
        text = (
            f"held against {names}: no crash case, so that it stays put in a crash is not shown; "
            'add one, such as loads = ["workshop", "guideline-20g"]'
        )
        return [_finding(design, "load cases", "look", text, source="; ".join(c.source for c in cases))]
    remarks = "; ".join(dict.fromkeys(remark for case in cases for remark in case.remarks))
    text = f"held against {names}: steady forces, one way at a time, no approval" + (f"; {remarks}" if remarks else "")
    return [_finding(design, "load cases", "pass", text, source="; ".join(c.source for c in cases))]


def _finding(design: BoxDesign, check: str, verdict: Verdict, message: str, source: str = "") -> Finding:
    return Finding(subject=f"box {design.name}", check=check, verdict=verdict, message=message, source=source)
