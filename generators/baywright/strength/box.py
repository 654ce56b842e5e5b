"""The strength review of a box: every member under every throw of the load cases, gathered into findings."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from weakref import WeakKeyDictionary

from baywright.box.generate import BoxDesign
from baywright.finding import Finding, Verdict
from baywright.job.loads import LoadCase
from baywright.strength.allow import Allow, Unchecked
from baywright.strength.bench import Bench
from baywright.strength.carry import bearers
from baywright.strength.check import Calculation
from baywright.strength.feet import feet
from baywright.strength.floor_bars import floor_bars
from baywright.strength.hold import retention
from baywright.strength.insulation import touch
from baywright.strength.path import Statics, throws
from baywright.strength.rules import case_rules
from baywright.strength.service import service
from baywright.strength.shell import shell
from baywright.strength.statics import NotHeld

# Over this share a member that passes is worth a look (the shop's own choice).
_NEAR = 0.9

_ALONE = {"bond": "the bond", "screws": "the screws", "end screws": "the bearers' end screws"}

_Done = tuple[LoadCase, tuple[Calculation, ...], tuple[str, ...]]
_DONE: WeakKeyDictionary[BoxDesign, dict[str, _Done]] = WeakKeyDictionary()


def strength_findings(design: BoxDesign, cases: Sequence[LoadCase]) -> list[Finding]:
    """Return what strength, stiffness and heat come to: one finding a member, from the case that governs it.

    A joint passes if its bond alone and its screws alone each carry everything; it is to be looked at if only one of
    them does. Results are kept for a design, so that they are reckoned once.
    """
    found = _crash_named(design, cases)
    by_member: dict[str, list[Calculation]] = defaultdict(list)
    for calculation in calculations(design, cases):
        by_member[calculation.member].append(calculation)
    for member, done in by_member.items():
        found.append(_member(design, member, done))
    for case in cases:
        found += [_finding(design, "strength data", "look", text) for text in _reckoned(design, case)[2]]
        found += case_rules(design, case)
    if not design.feet:
        text = "the box has no feet: how it is held in the car is not reckoned; give it feet or design its mounts"
        found.append(_finding(design, "mounting", "look", text))
    return list(dict.fromkeys(found)) + service(design, cases) + touch(design)


def calculations(design: BoxDesign, cases: Sequence[LoadCase]) -> tuple[Calculation, ...]:
    """Return every calculation of a box under the cases, members in the order of the load path."""
    return tuple(one for case in cases for one in _reckoned(design, case)[1])


def _reckoned(design: BoxDesign, case: LoadCase) -> _Done:
    kept = _DONE.setdefault(design, {})
    known = kept.get(case.name)
    if known is not None and known[0] == case:
        return known
    kit = design.layout.kit
    statics, allow = Statics(design), Allow(kit.catalogue, case, kit.adhesive)
    found: list[Calculation] = []
    gaps: dict[str, None] = {}
    for throw in throws(case, design.layout.ask.yaw):
        bench = Bench(statics, allow, throw)
        for part in _PARTS:
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


_PARTS: tuple[Callable[[Bench], Iterator[Calculation]], ...] = (retention, bearers, floor_bars, shell, feet)


def governing(done: Sequence[Calculation]) -> tuple[Calculation, Verdict, str]:
    """Return the calculation that governs a member, the verdict, and what else must be said.

    Of several means that may each carry a joint alone, the best counts towards failing and the worst towards a look.
    """
    joints: dict[tuple[str, str, str], dict[str, Calculation]] = defaultdict(dict)
    alone: list[Calculation] = []
    for one in done:
        if not one.joint:
            alone.append(one)
            continue
        means = joints[one.case, one.throw, one.joint]
        if one.alone not in means or one.use > means[one.alone].use:
            means[one.alone] = one
    best = [min(means.values(), key=lambda c: c.use) for means in joints.values()]
    worst = max([*alone, *best], key=lambda c: c.use)
    if worst.use > 1:
        return worst, "look" if worst.advice else "fail", ""
    lame = [
        (bad, good)
        for means in joints.values()
        for bad in means.values()
        for good in [min(means.values(), key=lambda c: c.use)]
        if bad.use > 1
    ]
    if lame:
        bad, good = max(lame, key=lambda pair: pair[0].use)
        return bad, "look", f"{_ALONE[good.alone]} alone would carry it, {100 * good.use:.0f} % used"
    every = max(done, key=lambda c: c.use)
    return every, "look" if every.use > _NEAR and not every.advice else "pass", ""


def side_by_side(done: Sequence[Calculation]) -> dict[str, dict[str, tuple[Calculation, Verdict]]]:
    """Return by member and by case what governs and the verdict: the table that holds cases against each other."""
    table: dict[str, dict[str, list[Calculation]]] = defaultdict(lambda: defaultdict(list))
    for one in done:
        table[one.member][one.case].append(one)
    return {member: {case: governing(of)[:2] for case, of in cases.items()} for member, cases in table.items()}


def _member(design: BoxDesign, member: str, done: Sequence[Calculation]) -> Finding:
    one, verdict, more = governing(done)
    cases = side_by_side(done)[member]
    others = [f"{case} {word}, {100 * found.use:.0f} %" for case, (found, word) in cases.items() if case != one.case]
    amount = f"{_amount(one.demand)} against {_amount(one.resistance)} {one.unit}, " if one.unit else ""
    text = f"{one.what} under {one.throw} ({one.case}): {amount}{100 * one.use:.0f} % used"
    if more:
        text += f"; {more}"
    if verdict == "fail" or (verdict == "look" and (one.advice or not more)):
        text += f"; {one.help}" if one.help else ""
    if one.note and (verdict != "pass" or "large" in one.what or not one.note.startswith(("half", "the feet"))):
        text += f" ({one.note})"
    if others:
        text += f"; other cases: {'; '.join(others)}"
    sources = dict.fromkeys(step.source for step in one.working.steps if step.source)
    return Finding(
        subject=f"box {design.name}",
        check=member,
        verdict=verdict,
        message=text,
        value=one.demand if one.unit else 100 * one.use,
        limit=one.resistance if one.unit else 100.0,
        unit=one.unit or "%",
        margin=1 - one.use,
        source="; ".join(list(sources)[:6]),
        where=one.where,
        at=one.at,
    )


def _amount(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"


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
