"""Insulation and touch, as a check list: the liner, live parts and metal, what a finger can reach."""

import numpy as np

from baywright.box.generate import BoxDesign
from baywright.finding import Finding, Verdict, at_least

# Poles stand out of a module and their lugs turn: so much air to bare metal is asked until the pack's own creepage is
# known (the pack's findings name it), mm. Common practice, no source.
AIR = 10.0


def touch(design: BoxDesign) -> list[Finding]:
    """Return the check list: liner, poles to metal, finger-safe fittings. The earth path has findings of its own."""
    return [_liner(design), _poles(design), _fingers(design)]


def _liner(design: BoxDesign) -> Finding:
    kit = design.layout.kit
    row = kit.catalogue.material(kit.style.liner.material)
    there = any(p.piece.role.startswith("liner") for p in design.assembly.placed)
    ok = there and not row.conductive
    if not there:
        text = "no liner: modules and leads lie beside bare metal; give the style a liner thickness"
    elif row.conductive:
        text = f"the liner's material '{row.name}' conducts: choose an insulating sheet"
    else:
        text = f"floor and walls are lined with {kit.style.liner.thickness:g} mm {row.name}, cut out where angles sit"
    return _finding(design, "liner", "pass" if ok else "fail", text, row.source)


def _poles(design: BoxDesign) -> Finding:
    """Return how near a module's poles come to walls and lid in a straight line."""
    layout = design.layout
    half = np.array(layout.inside) / 2
    nearest, who = np.inf, ""
    names = {t.name for t in layout.module.module.terminals}
    for layer, row, column, at in layout.places:
        for name, start, _, _ in layout.module.leads:
            if name not in names:
                continue
            pole = at + start
            gaps = [*(half - np.abs(pole[:2])), layout.lid_under - pole[2]]
            if min(gaps) < nearest:
                nearest, who = float(min(gaps)), f"pole '{name}' of module {layer}.{row}.{column}"
    if not np.isfinite(nearest):
        return _finding(design, "poles to metal", "look", "the module's row names no terminals: measure by hand")
    ok = nearest >= AIR
    text = f"{who} is {nearest:.0f} mm from wall or lid" + (
        "; creepage along surfaces is in the pack's findings" if ok else f": cover it, or leave {AIR:g} mm"
    )
    return Finding(
        subject=f"box {design.name}",
        check="poles to metal",
        verdict="pass" if ok else "look",
        message=text,
        value=nearest,
        limit=AIR,
        unit="mm",
        margin=at_least(nearest, AIR),
        source="common practice, no source",
    )


def _fingers(design: BoxDesign) -> Finding:
    live = [f.row.name for f in design.fitted if f.row.kind in ("power gland", "service disconnect")]
    text = (
        f"to see to when fitted: {', '.join(dict.fromkeys(live))} finger-safe (a jointed finger of 12 mm reaches "
        "nothing live) with and without the mating part; lid closed by tools only"
        if live
        else "no power fitting named: leads out of the box must be finger-safe (a jointed finger of 12 mm)"
    )
    return _finding(design, "finger-safe", "look" if not live else "pass", text, "IPXXB of IEC 60529, from memory")


def _finding(design: BoxDesign, check: str, verdict: Verdict, text: str, source: str = "") -> Finding:
    return Finding(subject=f"box {design.name}", check=check, verdict=verdict, message=text, source=source)
