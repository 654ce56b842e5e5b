"""The depth stack of an adapter as a drawing, and what a machinist holds and an assembler measures."""

from collections.abc import Iterable
from itertools import combinations

import numpy as np

from baywright.adapter.bolting import Bolted
from baywright.adapter.bores import Bore
from baywright.adapter.depth import Check
from baywright.adapter.design import AdapterDesign
from baywright.release.drawing import dims
from baywright.release.drawing.frame import A3, BLOCK, EDGE_ROOM, LEFT, Rules, Title, fitting_scale, new_sheet
from baywright.release.drawing.hatching import hatched
from baywright.release.drawing.paper import CENTRE, DASHED, EDGE, GREY, HATCH, Sheet

_VIEW = 196.0  # mm of the sheet's width for the diagram; the tables stand at its right
# How flat and parallel the faces of a plate are to be, mm: common practice, no source.
FACES = 0.05
_CHECKED = 4  # distances between holes that are worth a caliper, for each face


def depth_sheet(design: AdapterDesign, title: Title, rules: Rules) -> Sheet:
    """Return the sheet of the depth stack, the bores' limits, distances to check and the run-out budget."""
    sheet = new_sheet(A3, title, rules)
    top = A3[1] - EDGE_ROOM - 6.0
    sheet.text(LEFT + 5.0, top - 2.5, "DEPTH STACK, motor at the left", 3.0, bold=True)
    _diagram(sheet, design, top - 8.0)
    _tables(sheet, design, LEFT + _VIEW + 6.0, top)
    return sheet


def _diagram(sheet: Sheet, design: AdapterDesign, top: float) -> None:
    """Draw what lies where along the shaft as half a section, plates, bell and motor cut short."""
    import shapely

    spans = [s for s in design.depth.spans if s.kind != "gap"]
    if not spans:
        text = f"{design.depth.thickness:g} mm as asked; the job describes no coupler: measure all depths on the parts."
        sheet.text(LEFT + 5.0, top - 8.0, text, 2.2, most=_VIEW - 8.0)
        return
    low, high = min(s.start for s in spans), max(s.end for s in spans)
    reach = max((s.outer for s in spans if s.kind not in ("motor", "plate", "bell")), default=40.0) * 1.9
    scale = fitting_scale(high - low, reach, (_VIEW - 16.0, 110.0))
    left = LEFT + 8.0 + ((_VIEW - 16.0) - (high - low) * scale) / 2
    base = top - 34.0 - reach * scale
    shift = np.array([left - low * scale, base])
    high_y = base + reach * scale
    big: list[tuple[tuple[float, float], str]] = []
    small: list[tuple[tuple[float, float], str]] = []
    for number, span in enumerate(spans):
        x0, x1 = (float(z * scale + shift[0]) for z in (span.start, span.end))
        outer = min(span.outer, reach)
        y0, y1 = base + min(span.inner, reach) * scale, base + outer * scale
        short = span.outer > reach
        if y1 - y0 < 0.1:  # a ring that lies wholly beyond the cut
            big.append(((x0 + 0.2 * (x1 - x0), y1 + 0.5), f"{span.name}, farther out"))
            continue
        ring = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
        pen = GREY if span.kind in ("motor", "bell") else EDGE
        if span.kind == "plate":
            sheet.lines(hatched(shapely.Polygon(ring), 45.0 if number % 2 else 135.0, 2.0), HATCH)
        sheet.area([ring], pen)
        if short:
            sheet.line([(x0, y1), (x1, y1)], DASHED)
        place = big if span.kind in ("motor", "plate", "bell") else small
        share = 0.2 if short else 0.5
        place.append(((x0 + share * (x1 - x0), y1 if short else (y0 + y1) / 2), span.name))
    sheet.line([(left - 3.0, base), (left + (high - low) * scale + 3.0, base)], CENTRE)
    _names(sheet, big, base + reach * scale + 24.0, 1.0, left, left + (high - low) * scale)
    _names(sheet, small, base - 22.0, -1.0, left, left + (high - low) * scale)
    here = 0.0
    for layer in design.depth.layers:
        a, b = (float(z * scale + shift[0]) for z in (here, here + layer))
        dims.across(sheet, a, b, high_y + 6.0, dims.number(layer), (high_y, high_y))
        here += layer
    gap = next((s for s in design.depth.spans if s.kind == "gap"), None)
    ends = (float(shift[0]), float(here * scale + shift[0]))
    if len(design.depth.layers) > 1:
        dims.across(sheet, *ends, high_y + 13.0, dims.number(here), (high_y, high_y))
    if gap is not None:
        a, b = (float(z * scale + shift[0]) for z in (gap.start, gap.end))
        dims.across(sheet, a, b, base - 9.0, f"gap {gap.end - gap.start:.1f}", (base, base))


def _names(
    sheet: Sheet, places: list[tuple[tuple[float, float], str]], y: float, way: float, left: float, right: float
) -> None:
    """Write names side by side at a height, each with a line to its place."""
    from baywright.release.drawing.paper import THICK, THIN, text_width

    ordered = sorted(places)
    widths = [text_width(name, 2.1) + 3.0 for _, name in ordered]
    spare = max((right - left) - sum(widths), 0.0) / max(len(widths), 1)
    x = (left + right) / 2 - (sum(widths) + spare * len(widths)) / 2
    for ((u, v), name), wide in zip(ordered, widths, strict=True):
        middle = x + (wide + spare) / 2
        sheet.circle(u, v, 0.35, THICK)
        sheet.line([(u, v), (middle, y - way * 0.6)], THIN)
        sheet.text(middle, y + (0.6 if way > 0 else -3.0), name, 2.1, "middle")
        x += wide + spare


def _tables(sheet: Sheet, design: AdapterDesign, x: float, top: float) -> None:
    """Write the limits to hold and the distances to measure, from the top down, at the right."""
    room = A3[0] - EDGE_ROOM - 3.0 - x
    y = top

    def table(name: str, head: tuple[str, ...], rows: list[tuple[str, ...]], shares: tuple[float, ...]) -> None:
        nonlocal y
        if not rows:
            return
        sheet.text(x, y - 2.6, name, 2.2, bold=True, most=room)
        widths = [share / sum(shares) * room for share in shares]
        y = dims.table(sheet, x, y - 4.0, head, rows, widths, height=1.8, pitch=3.5) - 2.4

    bores = list(dict.fromkeys(bore for some in design.bores for bore in some.bores))
    table(
        "Bores: finish last, in one setting",
        ("bore", "Ø", "limits", "depth"),
        [_bore(b) for b in bores],
        (70, 26, 34, 40),
    )
    table(
        "Check with pins in the holes: middle to middle, mm",
        ("from", "to", "distance", "measured"),
        [*_distances("motor", design.motor_holes), *_distances("gearbox", design.gearbox_holes)],
        (50, 50, 30, 30),
    )
    table(
        "Depth, mm",
        ("what", "reckoned", "least", "most", "at worst", "measured"),
        [_depth(check) for check in design.depth.checks],
        (52, 30, 18, 18, 34, 22),
    )
    budget = design.run_out
    table(
        "Run-out budget: what each link may be off centre, mm",
        ("link", "off", "by"),
        [(one.what, f"{one.offset:.3f}", one.source) for one in budget.offsets],
        (84, 14, 66),
    )
    low = EDGE_ROOM + BLOCK[1] - 4.0
    for text in (
        f"Full indicator movement: {budget.likely:.2f} likely, {budget.worst:.2f} at worst; {budget.limit:g} allowed.",
        f"Faces of every plate flat and parallel within {FACES:g} (common practice, no source).",
        f"Gearbox's features placed within Ø{design.given.ask.placing:g} of the motor's.",
        "Holes' places: each plate's own sheet and hole table. Sizes with limits are measured, not cut.",
        "Take the spigots' own sizes first: bore to what you measured, within the limits.",
    ):
        sheet.text(LEFT + 3.0, low, text, 2.2, most=A3[0] - EDGE_ROOM - BLOCK[0] - LEFT - 8.0)
        low -= 4.6


def _bore(bore: Bore) -> tuple[str, ...]:
    limits = "as cut" if bore.limits is None else f"{bore.limits.least:.3f} to {bore.limits.most:.3f}"
    deep = "through" if bore.side is None else f"{bore.depth:g} from the {bore.side}'s side"
    return bore.what, f"{bore.diameter:g} {bore.fit}".strip(), limits, deep


def _depth(check: Check) -> tuple[str, ...]:
    low, high = (("" if v is None else f"{v:g}") for v in (check.least, check.most))
    if check.room(check.worst) >= 0:
        said = "holds"
    else:
        said = "measure" if check.room(check.likely) >= 0 else "NOT MET"
    return check.name, f"{check.value:.1f} ± {check.worst:.1f}", low, high, said, ""


def _distances(side: str, holes: Iterable[Bolted]) -> list[tuple[str, ...]]:
    """Return distances of a face worth measuring: between dowels, from each to the shaft, the longest between bolts."""
    pins = [(one.hole.name, np.array([one.hole.x, one.hole.y])) for one in holes if one.make == "dowel"]
    bolts = [(one.hole.name, np.array([one.hole.x, one.hole.y])) for one in holes if one.make != "dowel"]
    rows: list[tuple[str, ...]] = [
        (f"{side} {a}", f"{side} {b}", f"{np.hypot(*(p - q)):.2f}", "") for (a, p), (b, q) in combinations(pins, 2)
    ]
    rows += [(f"{side} {a}", "shaft's centre", f"{np.hypot(*p):.2f}", "") for a, p in pins]
    pairs = sorted(combinations(bolts, 2), key=lambda two: -round(float(np.hypot(*(two[0][1] - two[1][1]))), 3))
    rows += [(f"{side} {a}", f"{side} {b}", f"{np.hypot(*(p - q)):.2f}", "") for (a, p), (b, q) in pairs]
    return rows[: max(_CHECKED, len(pins) + 2)]
