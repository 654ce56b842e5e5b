"""One variant of a box: its figures, and what its checks find."""

from typing import Any

from baywright.bay.fit import check_fit
from baywright.bay.measured import bay_of
from baywright.box.family import Member, member_of
from baywright.box.generate import BoxDesign, generate
from baywright.box.rules import check_box
from baywright.finding import CannotBuild, Finding, verdict_of, worst_first
from baywright.job.variants import Variants
from baywright.strength.box import strength_findings

# What a row of the result holds after the number and what is varied; lengths mm, masses kg.
FIGURES = (
    "made", "verdict", "length", "width", "height", "mass", "metal", "centroid_x", "centroid_y", "centroid_z",
    "sheet_m2", "screws", "adhesive_ml", "energy_kwh", "box_verdict", "fit_verdict", "fit_spare_mm",
    "strength_verdict", "strength_margin", "strength_member", "worst", "why",
)  # fmt: skip


def head(study: Variants) -> tuple[str, ...]:
    """Return the names of a row's figures."""
    return ("number", *study.keys, *FIGURES)


def row(study: Variants, number: int) -> list[str]:
    """Return a variant's row: its number from 1, its values, its figures; text, alike on every machine.

    A variant that can't be made says why; its figures stay empty.
    """
    begin = [str(number + 1), *(_told(value) for value in study.values(number))]
    ask, catalogue = study.box(number)
    try:
        design = generate(study.name, ask, catalogue)
    except CannotBuild as no:
        return [*begin, "no", *[""] * (len(FIGURES) - 2), f"{no.key}: {no.sentence}" if no.key else no.sentence]
    member = member_of(design)
    rules = check_box(design)
    strength = strength_findings(design, study.job.load_cases)
    fit, spare = _fit(study, design)
    every = worst_first([*rules, *strength, *fit])
    verdict = verdict_of(every)
    bad = every[0] if verdict != "pass" else None
    weakest = min((f for f in strength if f.margin is not None), key=lambda f: f.margin or 0.0, default=None)
    module = catalogue.module(ask.module).electrical
    energy = ask.count * module.nominal_voltage * module.capacity / 1000
    return [
        *begin, "yes", verdict, *_size(member), _figure(member.sheet), str(member.screws), _figure(member.adhesive),
        _figure(energy), verdict_of(rules), verdict_of(fit) if fit else "", _figure(spare), verdict_of(strength),
        _figure(None if weakest is None else weakest.margin), "" if weakest is None else weakest.check,
        "" if bad is None else bad.check, "" if bad is None else bad.message,
    ]  # fmt: skip


def _size(member: Member) -> list[str]:
    return [_figure(v) for v in (*member.outside, member.mass, member.metal, *member.centroid)]


def _fit(study: Variants, design: BoxDesign) -> tuple[tuple[Finding, ...], float | None]:
    """Return how a box stands in its bay, and the least that it has to spare over the clearance asked, mm."""
    ask = design.layout.ask
    if ask.bay is None:
        return (), None
    items = [*design.assembly.placed, *design.assembly.fasteners()]
    bodies = [(item.mark, body.moved(item.pose)) for item in items for body in item.piece.bodies()]
    found = check_fit(f"box {design.name}", bodies, design.pose, bay_of(ask.bay, study.job.bays[ask.bay]))
    return found.findings, min(c.nominal - c.needed for c in (*found.sides, *(c for _, c in found.keep_outs)))


def _figure(value: float | None) -> str:
    return "" if value is None else f"{value:.6g}"


def _told(value: Any) -> str:
    """Return a varied value as text: lists with spaces between."""
    if isinstance(value, list):
        return " ".join(_told(one) for one in value)
    if isinstance(value, dict):
        return " ".join(_told(one) for one in value.values())
    return f"{value:g}" if isinstance(value, float) else str(value)
