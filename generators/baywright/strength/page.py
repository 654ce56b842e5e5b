"""Strength on paper: the load path as a drawing, cases side by side, and calculation sheets, as one HTML page."""

from collections.abc import Iterator, Sequence
from html import escape
from typing import TypeAlias

from baywright.adapter.design import AdapterDesign
from baywright.box.generate import BoxDesign
from baywright.finding import Verdict
from baywright.job.loads import LoadCase
from baywright.rail.design import RailDesign
from baywright.rail.rules import assumptions
from baywright.strength.adapter import adapter_sheets
from baywright.strength.box import calculations
from baywright.strength.check import Calculation
from baywright.strength.picture import force_svg
from baywright.strength.rails import rail_calculations
from baywright.strength.verdict import governing, side_by_side

# The members in the order that a load meets them, row by row; those of one row share it or do one thing together.
_LEDGES = (
    ("module hold-downs",),
    ("bearers",),
    ("bearer ends", "ledges", "floor angles under bearers"),
    ("long walls",),
)
_RODS = (("tie rods",), ("floor bars",), ("floor",))
_SHELL = (
    ("corner joints", "floor joints"),
    ("end walls", "wall and floor at the feet"),
    ("feet, upright leg",),
    ("feet, lower leg",),
    ("bolts to the car", "car's floor under the bolts"),
)
# What has strength sheets.
Made: TypeAlias = BoxDesign | AdapterDesign | RailDesign
_COLOUR = {"pass": "#2f7d32", "look": "#b26a00", "fail": "#b3261e"}
_WIDE, _HIGH, _GAP_X, _GAP_Y = 190, 40, 14, 22
_STYLE = """
body { font: 14px/1.4 system-ui, sans-serif; margin: 2em auto; max-width: 70em; color: #1a1a1a }
table { border-collapse: collapse; margin: .5em 0 1.5em } td, th { padding: .15em .7em; text-align: left;
vertical-align: top; border-bottom: 1px solid #ddd } td.n { font-family: ui-monospace, monospace }
.pass { color: #2f7d32 } .look { color: #b26a00 } .fail { color: #b3261e; font-weight: bold } .s { color: #666 }
td.pass, td.look, td.fail { white-space: nowrap }
h2 { margin-top: 2em } @media print { h2 { break-before: page } }
"""


def load_path(design: BoxDesign) -> list[tuple[str, ...]]:
    """Return the load path of a box from its modules to the car: rows of members, in the order a load meets them."""
    carried = _LEDGES if design.layout.carry == "ledges" else _RODS
    return [("modules",), *carried, *(_SHELL if design.feet else ()), ("car",) if design.feet else ("its mounts",)]


def path_svg(design: BoxDesign, cases: Sequence[LoadCase]) -> str:
    """Return the load path as an SVG drawing: each member with its governing use and verdict."""
    table = side_by_side(calculations(design, cases))
    rows = load_path(design)
    width = max(len(row) for row in rows) * (_WIDE + _GAP_X) + _GAP_X
    height = len(rows) * (_HIGH + _GAP_Y) + _GAP_Y
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        f'font-family="sans-serif" font-size="12" role="img" aria-label="load path of box {escape(design.name)}">'
    ]
    for i, row in enumerate(rows):
        y = _GAP_Y / 2 + i * (_HIGH + _GAP_Y)
        start = (width - len(row) * (_WIDE + _GAP_X) + _GAP_X) / 2
        if i:
            x, top = width / 2, y - _GAP_Y
            parts.append(f'<path d="M{x:g} {top:g} V{y - 5:g} m-4 -5 l4 6 l4 -6" fill="none" stroke="#555"/>')
        for j, member in enumerate(row):
            parts += _node(member, table.get(member, {}), start + j * (_WIDE + _GAP_X), y)
    return "\n".join([*parts, "</svg>\n"])


def _node(member: str, cases: dict[str, tuple[Calculation, Verdict]], x: float, y: float) -> Iterator[str]:
    if not cases:
        colour, under = "#555", ""
    else:
        one, verdict = max(cases.values(), key=lambda item: (("pass", "look", "fail").index(item[1]), item[0].use))
        colour, under = _COLOUR[verdict], f"{verdict}, {100 * one.use:.0f} %, {one.case}"
    yield f'<rect x="{x:g}" y="{y:g}" width="{_WIDE}" height="{_HIGH}" rx="4" fill="white" stroke="{colour}"/>'
    middle = x + _WIDE / 2
    yield f'<text x="{middle:g}" y="{y + (17 if under else 25):g}" text-anchor="middle">{escape(member)}</text>'
    if under:
        yield (
            f'<text x="{middle:g}" y="{y + 32:g}" text-anchor="middle" font-size="10" fill="{colour}">'
            f"{escape(under)}</text>"
        )


def sheets_of(design: Made, cases: Sequence[LoadCase]) -> Sequence[Calculation]:
    """Return every calculation of a box or an adapter under the cases, or of rails under their own."""
    if isinstance(design, RailDesign):
        return rail_calculations(design)
    return adapter_sheets(design, cases) if isinstance(design, AdapterDesign) else calculations(design, cases)


def strength_page(design: Made, cases: Sequence[LoadCase], cautions: Sequence[str]) -> str:
    """Return the strength sheets of a box, an adapter or a set of rails as one HTML page.

    Cautions come first, then a box's load path, cases side by side (of rails: what the figures rest on, and every
    figure), then every member's governing calculation line by line.

    Args:
        design: the box, the adapter or the rails.
        cases: the load cases; rails have their own.
        cautions: what stands at the head of every sheet.
    """
    done = sheets_of(design, cases)
    if isinstance(design, RailDesign):
        title, head = f"Strength of rails {design.name}", [*_rests_on(design), *_every(done)]
    else:
        head = list(_side_by_side(done, cases))
        if isinstance(design, BoxDesign):
            head = ["<h3>Load path</h3>", force_svg(design, cases), path_svg(design, cases), *head]
        title = f"Strength of {'box' if isinstance(design, BoxDesign) else 'adapter'} {design.name}"
    body = [f"<h1>{escape(title)}</h1>", *(f"<p><em>{escape(text)}</em></p>" for text in cautions), *head]
    by_member: dict[str, list[Calculation]] = {}
    for one in done:
        by_member.setdefault(one.member, []).append(one)
    for of in by_member.values():
        body += _sheet(*governing(of))
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{escape(title)}</title>'
        f"<style>{_STYLE}</style></head>\n<body>\n" + "\n".join(body) + "\n</body></html>\n"
    )


def _rests_on(design: RailDesign) -> Iterator[str]:
    yield "<h3>What the figures rest on</h3><ul>"
    yield from (f"<li>{escape(one)}</li>" for one in assumptions(design))
    yield "</ul>"


def _every(done: Sequence[Calculation]) -> Iterator[str]:
    yield "<h3>Every figure, in the load case that governs it</h3>"
    yield "<table><tr><th>check</th><th>of</th><th>what</th><th>load case</th><th>used</th></tr>"
    for one in done:
        word = governing([one])[1]
        cells = "".join(f"<td>{escape(text)}</td>" for text in (one.member, one.piece, one.what, one.case))
        yield f'<tr>{cells}<td class="{word}">{word}, {100 * one.use:.0f} %</td></tr>'
    yield "</table>"


def _side_by_side(done: Sequence[Calculation], cases: Sequence[LoadCase]) -> Iterator[str]:
    yield "<h3>Cases side by side, share used</h3>"
    yield from _table(done, cases)
    for c in cases:
        yield (
            f"<p><b>{escape(c.name)}</b>: {escape(c.description)}; {escape(c.source)}. Basis: {escape(c.basis)}. "
            f"{escape('; '.join(c.remarks))}</p>"
        )


def _table(done: Sequence[Calculation], cases: Sequence[LoadCase]) -> Iterator[str]:
    names = list(dict.fromkeys([*(c.name for c in cases), *(one.case for one in done)]))
    yield "<table><tr><th>member</th>" + "".join(f"<th>{escape(name)}</th>" for name in names) + "</tr>"
    for member, by_case in side_by_side(done).items():
        cells = []
        for name in names:
            found = by_case.get(name)
            cells.append(
                "<td></td>" if found is None else f'<td class="{found[1]}">{found[1]}, {100 * found[0].use:.0f} %</td>'
            )
        yield f"<tr><td>{escape(member)}</td>{''.join(cells)}</tr>"
    yield "</table>"


def _sheet(one: Calculation, verdict: Verdict, more: str) -> Iterator[str]:
    yield f"<h2>{escape(one.member)}</h2>"
    said = f"{one.piece}: {one.what}, {one.throw}, case {one.case}"
    rest = "; ".join(text for text in (more, one.note, one.help if one.use > 1 else "") if text)
    yield f'<p>{escape(said)}. <span class="{verdict}">{verdict}, {100 * one.use:.0f} % used</span>. {escape(rest)}</p>'
    yield "<table><tr><th></th><th></th><th>what it is</th><th>source</th></tr>"
    for symbol, text, meaning, source in one.working.lines():
        yield (
            f'<tr><td class="n">{escape(symbol)}</td><td class="n">= {escape(text)}</td><td>{escape(meaning)}</td>'
            f'<td class="s">{escape(source)}</td></tr>'
        )
    yield "</table>"
