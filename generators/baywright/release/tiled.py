"""Drilling templates spread over pages that any office prints: full size, register crosses, a bar to measure."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from baywright.adapter.template import FOOT, MARGIN, PAPERS, Tiling, register_places, tiling
from baywright.piece.extrusion import Extrusion
from baywright.piece.numbering import Part, slug
from baywright.rail.unrolled import Strip, unrolled
from baywright.release.drawing import dims
from baywright.release.drawing.paper import CENTRE, THIN, Pen, Sheet, write_pdf
from baywright.shape.loop import as_circle, bounds, polygon

Array = NDArray[np.float64]

_ROUND = 12.0  # mm of paper round the unrolled faces: room for their names and the size of holes near the edge
_CUT, _FOLD = Pen(0.3), Pen(0.2, (3.0, 1.0, 0.5, 1.0))
_CROSS = Pen(0.15, (), (0.17, 0.44, 0.54))
_BAR = 100.0  # mm


def write_tiled(
    parts: Sequence[Part],
    folder: Path,
    name: str,
    revision: str,
    papers: Sequence[str],
    faces: Mapping[str, Mapping[str, str]] | None = None,
) -> list[Path]:
    """Write the templates of every drilled extrusion as one PDF for each paper, and return the paths.

    Args:
        parts: of one assembly.
        folder: the assembly's folder in the release; the files go into its folder `drill`.
        name: the assembly's.
        revision: the release's letter.
        papers: names in `PAPERS`.
        faces: by a piece's mark, what its faces look at in the car; their own names if not told.
    """
    told = faces or {}
    drilled = [
        part for part in parts if isinstance(part.piece, Extrusion) and part.piece.holes and unrolled(part.piece)
    ]
    if not drilled:
        return []
    inside = folder / "drill"
    inside.mkdir(exist_ok=True)
    paths = []
    for paper in dict.fromkeys(papers):
        pages = [page for part in drilled for page in tiled_template(part, revision, paper, _names(part, told))]
        path = inside / f"{slug(name)}-templates-{paper}_rev{slug(revision)}.pdf"
        paths.append(write_pdf(pages, path, f"{name}: drilling templates 1:1 on {paper}, revision {revision}"))
    return paths


def _names(part: Part, told: Mapping[str, Mapping[str, str]]) -> Mapping[str, str]:
    return next((told[mark] for mark, _ in part.occurrences if mark in told), {})


def tiled_template(part: Part, revision: str, paper: str, names: Mapping[str, str]) -> list[Sheet]:
    """Return the pages of one extrusion's template, from end 0 on.

    Args:
        part: a drilled extrusion.
        revision: the release's letter.
        paper: a name in `PAPERS`; it lies on its long side.
        names: what each face looks at in the car, by the face's own name.
    """
    piece = part.piece
    assert isinstance(piece, Extrusion)
    strips = unrolled(piece)
    high = strips[-1].low + strips[-1].face.height
    tiles = tiling((-_ROUND, -_ROUND, piece.length + _ROUND, high + _ROUND), paper, lying=True)
    return [
        _page(part, piece, strips, names, tiles, column, row, revision, paper)
        for row in range(tiles.rows)
        for column in range(tiles.columns)
    ]


def _page(
    part: Part,
    piece: Extrusion,
    strips: Sequence[Strip],
    names: Mapping[str, str],
    tiles: Tiling,
    column: int,
    row: int,
    revision: str,
    paper: str,
) -> Sheet:
    import shapely

    height, width = PAPERS[paper]
    number, total = row * tiles.columns + column + 1, tiles.columns * tiles.rows
    sheet = Sheet(width, height, f"{part.number}, page {number} of {total}")
    left, right, low, top = tiles.window(column, row)
    shift = np.array([MARGIN - left, MARGIN + FOOT - low])
    window = shapely.box(left, low, right, top)
    crowd = dims.Crowd()

    def draw(points: Any, pen: Pen) -> None:
        for line in shapely.get_parts(shapely.intersection(shapely.LineString(points), window)):
            found = shapely.get_coordinates(line)
            if len(found) > 1:
                sheet.line(found + shift, pen)
                crowd.take(dims.crowd_of([found + shift]))

    limits = (MARGIN + 1.0, MARGIN + FOOT + 1.0, MARGIN + tiles.width - 1.0, MARGIN + FOOT + tiles.height - 1.0)
    for u, v in register_places(tiles, column, row):
        draw([(u - 4, v), (u + 4, v)], _CROSS)
        draw([(u, v - 4), (u, v + 4)], _CROSS)
    n, joined = piece.length, piece.stock.shape != "bar"
    wanted: list[tuple[tuple[float, float], float, str]] = []
    for k, strip in enumerate(strips):
        foot, head = strip.low, strip.low + strip.face.height
        for edge, fold in ((foot, joined and k > 0), (head, joined and k < len(strips) - 1)):
            draw([(0, edge), (n, edge)], _FOLD if fold else _CUT)
        for end in (0.0, n):
            draw([(end, foot), (end, head)], _CUT)
        for hole, loop in strip.holes:
            ring = polygon(loop, 0.02)
            draw(np.vstack([ring, ring[:1]]), THIN)
            x0, y0, x1, y1 = bounds(loop)
            x, y = (x0 + x1) / 2, (y0 + y1) / 2
            reach = max(x1 - x0, y1 - y0) / 2 + 3.0
            draw([(x - reach, y), (x + reach, y)], Pen(CENTRE.width))
            draw([(x, y - reach), (x, y + reach)], Pen(CENTRE.width))
            if left <= x <= right and low <= y <= top:
                circle = as_circle(hole.loop)
                size = f"Ø{circle[2]:g}" if circle else f"{y1 - y0:g} × {x1 - x0:g}"
                wanted.append(((x + shift[0], y + shift[1]), reach, f"{size} at {x:.1f}"))
    for at, reach, text in wanted:
        dims.label(sheet, crowd, at, reach, text, 1.8, limits)
    for strip in strips:
        foot, head = max(strip.low, low), min(strip.low + strip.face.height, top)
        if head - foot < 6.0:
            continue  # no more than a strip of it: the next page names it
        middle = (foot + head) / 2 - 1.5
        at = (float(max(left, 0.0) + shift[0]) + 12.0, float(middle + shift[1]))
        own = names.get(strip.name)
        dims.label(sheet, crowd, at, 0.4, f"{own.upper()} ({strip.name})" if own else strip.name, 2.2, limits)
    _foot(sheet, part, piece, revision, (number, total, column + 1, tiles.columns), joined)
    return sheet


def _foot(
    sheet: Sheet, part: Part, piece: Extrusion, revision: str, place: tuple[int, int, int, int], joined: bool
) -> None:
    """Write the foot of a page: the piece, the page's place, how to print and wrap it, a bar to measure."""
    number, total, column, columns = place
    y = MARGIN + 3.0
    sheet.line([(MARGIN, y), (MARGIN + _BAR, y)], Pen(0.35))
    for k in range(int(_BAR // 10) + 1):
        sheet.line([(MARGIN + 10 * k, y), (MARGIN + 10 * k, y + (5.0 if k % 5 == 0 else 3.0))], THIN)
    room = sheet.width - 2 * MARGIN
    told = f"{_BAR:g} mm ({_BAR / 25.4:.3f} in): measure this bar; print at 100 %, do not fit to page"
    sheet.text(MARGIN + _BAR + 4.0, y, told, 2.0, most=room - _BAR - 6.0)
    name = f"{part.number}, {piece.role}, {part.quantity} off, revision {revision}: {piece.size_text()} mm"
    sheet.text(MARGIN, y + 17.0, name, 2.8, bold=True, most=room - 62.0)
    page = f"page {number} of {total}: {column} of {columns} along the length"
    sheet.text(sheet.width - MARGIN, y + 17.0, page, 2.2, "end", most=58.0)
    wraps = "; wrap it round, printed side out, corners on the dash-dotted lines" if joined else ""
    glued = "glue cross on cross; " if total > 1 else ""
    text = f"End 0 at the left, seen from outside the metal. Cut round, {glued}lay end 0 on the sawn end{wraps}."
    sheet.text(MARGIN, y + 11.5, text, 2.0, most=room)
