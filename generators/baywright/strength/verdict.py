"""From calculations to a verdict: what governs a member, cases side by side, one finding a member."""

from collections import defaultdict
from collections.abc import Sequence

from baywright.finding import Finding, Verdict
from baywright.strength.check import Calculation

# Over this share a member that passes is worth a look (the shop's own choice).
_NEAR = 0.9

_ALONE = {"bond": "the bond", "screws": "the screws", "end screws": "the bearers' end screws"}


def governing(done: Sequence[Calculation]) -> tuple[Calculation, Verdict, str]:
    """Return the calculation that governs a member, the verdict, and what else must be said.

    Of several means that may each carry a joint alone, the best counts towards failing and the worst towards a look.
    """
    alone, joints = _by_joint(done)
    worst = _worst(alone, joints)
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
    return every, "look" if worst.use > _NEAR and not worst.advice else "pass", ""


def _by_joint(
    done: Sequence[Calculation],
) -> tuple[list[Calculation], dict[tuple[str, str, str], dict[str, Calculation]]]:
    """Return what must hold by itself, and by joint the worst of each of the means that may carry it alone."""
    joints: dict[tuple[str, str, str], dict[str, Calculation]] = defaultdict(dict)
    alone: list[Calculation] = []
    for one in done:
        if not one.joint:
            alone.append(one)
            continue
        means = joints[one.case, one.throw, one.joint]
        if one.alone not in means or one.use > means[one.alone].use:
            means[one.alone] = one
    return alone, joints


def _worst(alone: Sequence[Calculation], joints: dict[tuple[str, str, str], dict[str, Calculation]]) -> Calculation:
    best = [min(means.values(), key=lambda c: c.use) for means in joints.values()]
    return max([*alone, *best], key=lambda c: c.use)


def carried(done: Sequence[Calculation]) -> Calculation | None:
    """Return what is used most where each joint is carried by the best of its means; None if there is nothing."""
    alone, joints = _by_joint([one for one in done if not one.advice])
    return _worst(alone, joints) if alone or joints else None


def side_by_side(done: Sequence[Calculation]) -> dict[str, dict[str, tuple[Calculation, Verdict]]]:
    """Return by member and by case what governs and the verdict: the table that holds cases against each other."""
    table: dict[str, dict[str, list[Calculation]]] = defaultdict(lambda: defaultdict(list))
    for one in done:
        table[one.member][one.case].append(one)
    return {member: {case: governing(of)[:2] for case, of in cases.items()} for member, cases in table.items()}


def member_finding(subject: str, member: str, done: Sequence[Calculation]) -> Finding:
    """Return the one finding of a member: what governs under which case, and how the other cases stand."""
    one, verdict, more = governing(done)
    cases = side_by_side(done)[member]
    others = [f"{case} {word}, {100 * found.use:.0f} %" for case, (found, word) in cases.items() if case != one.case]
    amount = f"{_amount(one.demand)} against {_amount(one.resistance)} {one.unit}, " if one.unit else ""
    text = f"{one.what} under {one.throw} ({one.case}): {amount}{100 * one.use:.0f} % used"
    if more:
        text += f"; {more}"
    if verdict == "fail" or (verdict == "look" and (one.advice or not more)):
        text += f"; {one.help}" if one.help else ""
    if one.note:
        text += f" ({one.note})"
    if others:
        text += f"; other cases: {'; '.join(others)}"
    sources = dict.fromkeys(step.source for step in one.working.steps if step.source)
    return Finding(
        subject=subject,
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
