"""A comparison to look at: each changed piece over its old shape, and tables of everything that differs."""

from collections.abc import Sequence
from html import escape
from pathlib import Path
from typing import Any

import numpy as np

from baywright.release.compare import Change, Changes, key_of, shape_of
from baywright.release.drawing.svgpath import path_of
from baywright.release.table import write_table
from baywright.shape.loop import Loop, bounds


def overlay(change: Change) -> str:
    """Return a part's old and new shape over each other as SVG, one drawing a view; "" if there is nothing to lay over.

    What stayed is grey; what went is red and dashed, what came is blue.
    """
    if change.old is None or change.new is None:
        return ""
    pictures = []
    for view in sorted({*change.old.views, *change.new.views}):
        old, new = change.old.views.get(view, ()), change.new.views.get(view, ())
        if old and new and shape_of(old) == shape_of(new):
            continue
        pictures.append(_overlaid(view, old, new))
    return "".join(pictures)


def _overlaid(view: str, old: Sequence[Loop], new: Sequence[Loop]) -> str:
    keys = {key_of(loop) for loop in old}, {key_of(loop) for loop in new}
    both = [loop for loop in new if key_of(loop) in keys[0]]
    went = [loop for loop in old if key_of(loop) not in keys[1]]
    came = [loop for loop in new if key_of(loop) not in keys[0]]
    every = np.array([bounds(loop) for loop in (*old, *new)])
    (x0, y0), (x1, y1) = every[:, :2].min(axis=0), every[:, 2:].max(axis=0)
    reach = max(x1 - x0, y1 - y0)
    pad = 0.06 * reach + 2
    scale = 560 / (reach + 2 * pad)
    place = f"translate({(pad - x0) * scale:.2f} {(pad + y1) * scale:.2f}) scale({scale:.5f})"
    style = 'fill="none" vector-effect="non-scaling-stroke"'
    body = ""
    for loops, look in (
        (both, 'stroke="#888" stroke-width="1"'),
        (went, 'stroke="#b3261e" stroke-width="2" stroke-dasharray="6 3"'),
        (came, 'stroke="#1f5f8b" stroke-width="2"'),
    ):
        if loops:
            body += f'<path d="{path_of(loops)}" {style} {look}/>'
    wide, tall = (x1 - x0 + 2 * pad) * scale, (y1 - y0 + 2 * pad) * scale + 40
    text = f"{view + ': ' if view else ''}{len(went)} edges went, {len(came)} came, {len(both)} stayed"
    axes = (
        f'<path d="M12 {tall - 10:.0f}h26m-5 -4l5 4l-5 4M12 {tall - 10:.0f}v-22m-4 5l4 -5l4 5" fill="none"'
        f' stroke="#8a3a12" stroke-width="2"/><text x="44" y="{tall - 6:.0f}" font-size="12" fill="#8a3a12">x, y'
        " up</text>"
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {tall:.0f}" width="{wide:.0f}" role="img"'
        f' aria-label="{escape(text, True)}"><g transform="{place}">{body}</g>{axes}'
        f'<text x="110" y="{tall - 6:.0f}" font-size="12" fill="currentColor">{escape(text)}</text></svg>'
    )


def write_comparison(changes: Changes, folder: Path) -> list[Path]:
    """Write changes.html, with an overlay of every changed part, and changes.csv into a folder; return their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    rows = [(c.again, c.number, c.what, "; ".join(c.told)) for c in changes.pieces]
    table = write_table(folder / "changes.csv", ("to do", "number", "what", "how it differs"), rows)
    page = folder / "changes.html"
    page.write_text(_page(changes), encoding="utf-8", newline="\n")
    return [page, table]


def _page(changes: Changes) -> str:
    def cell(value: Any) -> str:
        return f"<td>{escape(str(value))}</td>"

    def row(values: Sequence[Any]) -> str:
        return "<tr>" + "".join(cell(v) for v in values) + "</tr>"

    def table(head: Sequence[str], rows: Sequence[Sequence[Any]]) -> str:
        if not rows:
            return "<p>Nothing.</p>"
        heads = "".join(f'<th scope="col">{escape(h)}</th>' for h in head)
        return f"<table><thead><tr>{heads}</tr></thead><tbody>{''.join(map(row, rows))}</tbody></table>"

    old, new = changes.old, changes.new
    title = f"{old.name} (revision {old.revision}) and {new.name} (revision {new.revision})"
    pieces = [(c.again, c.number, c.what, "; ".join(c.told)) for c in changes.pieces]
    pictures = "".join(
        f"<h3>{escape(c.number)}: {escape(c.again)}</h3><p>{escape('; '.join(c.told))}</p>{overlay(c)}"
        for c in changes.pieces
        if overlay(c)
    )
    style = (Path(__file__).parent / "report" / "page.css").read_text(encoding="utf-8")
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><link rel="icon" href="data:,">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>What changed</title><style>{style} td, thead th {{ text-align: left; }}</style></head><body><main>"
        f"<h1>What changed</h1><p>{escape(title)}</p>"
        + "".join(
            f"<h2>Rails {escape(name)}</h2>" + table(("end", "", "how"), rows) for name, rows in rail_tables(changes)
        )
        + "".join(f"<p>{escape(line)}</p>" for line in source_lines(changes))
        + f"<h2>Pieces</h2><p>{same_text(changes)}.</p>"
        + table(("to do", "number", "what", "how it differs"), pieces)
        + f"<h2>Over each other</h2><p>Grey stayed, red dashed went, blue came.</p>{pictures or '<p>Nothing.</p>'}"
        + "<h2>Bought</h2>"
        + table(
            ("list", "what", "before", "after", "unit"),
            [(g, n, f"{a:g}", f"{b:g}", u) for g, n, a, b, u in changes.bought],
        )
        + "<h2>Masses</h2>"
        + table(("thing", "kg before", "kg after", "centroid moved X, Y, Z, mm"), mass_rows(changes))
        + "<h2>Balance of the finished car</h2>"
        + table(("", "before", "after", "change"), balance_rows(changes))
        + "</main></body></html>\n"
    )


def same_text(changes: Changes) -> str:
    """Return how many made parts do not differ, in words."""
    return "1 made part is the same" if changes.same == 1 else f"{changes.same} made parts are the same"


def source_lines(changes: Changes) -> list[str]:
    """Return a line that names the files behind both that were changed; nothing if none was."""
    return [f"Changed between them: {', '.join(changes.sources)}."] if changes.sources else []


def rail_tables(changes: Changes) -> list[tuple[str, list[tuple[str, str, str]]]]:
    """Return for each set of rails that both have how its ends differ; a single set of each is one pair by any name."""
    from baywright.release.rail_ends import ends_beside

    one, other = changes.old.rails, changes.new.rails
    pairs = [(name, one[name], other[name]) for name in one if name in other]
    if not pairs and len(one) == len(other) == 1:
        (name, old), (also, new) = next(iter(one.items())), next(iter(other.items()))
        pairs = [(f"{name} and {also}", old, new)]
    return [(name, ends_beside(old, new)) for name, old, new in pairs]


def mass_rows(changes: Changes) -> list[tuple[str, str, str, str]]:
    """Return the masses that differ, as text."""
    rows = []
    for name, a, b, shift in changes.masses:
        moved = "" if shift is None else ", ".join(f"{v:+.1f}" for v in shift)
        rows.append((name, "none" if a is None else f"{a:.2f}", "none" if b is None else f"{b:.2f}", moved))
    return rows


def balance_rows(changes: Changes) -> list[tuple[str, str, str, str]]:
    """Return the finished car's figures before and after, as text."""
    rows = []
    for name, a, b, unit in changes.balance:
        change = "" if a is None or b is None else f"{b - a:+.1f}"
        texts = ["not known" if v is None else f"{v:.1f}" for v in (a, b)]
        rows.append((f"{name}, {unit}", *texts, change))
    return [(r[0], r[1], r[2], r[3]) for r in rows]
