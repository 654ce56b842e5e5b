"""A drawing's own report: what a shop would trip over, found in the file as it was read back, not in the design."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from baywright.piece.cutting import Cutter, cutter_findings, inches
from baywright.piece.numbering import Part
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.release import sheet
from baywright.release.table import write_table
from baywright.shape.loop import Loop, area, bounds, polygon

NAME = "checks.csv"
# mm that a chord may leave its arc where shapes are compared.
_CHORD = 0.02
_CUT = (sheet.OUTER_CUT, sheet.INNER_CUT, sheet.CUT)
_HEAD = ("file", "check", "result", "found", "limit", "in words")


@dataclass(frozen=True, slots=True)
class Checked:
    """One check of one file: "holds", "look" or "FAILS", what was found, its limit, a sentence."""

    file: str
    check: str
    result: str
    found: str
    limit: str
    message: str


def self_check(path: Path, doc: Any, part: Part, cutter: Cutter) -> list[Checked]:
    """Return the report on a plate's cut file.

    Args:
        path: the file.
        doc: the file, read back.
        part: the plate, for its thickness and number only: its shape is taken from the file.
        cutter: what the cutter can do.
    """
    plate = part.piece
    assert isinstance(plate, Plate)
    loops, rows = _drawn(path, doc, _CUT)
    loops.sort(key=lambda one: -abs(area(one)))
    outer, holes = loops[0], loops[1:]
    as_read = replace(
        plate,
        outline=outer,
        holes=tuple(Hole(face="top", loop=one, depth=plate.thickness, use="cut-out") for one in holes),
    )
    for finding in cutter_findings(replace(part, piece=as_read), cutter):
        if finding.check == "units":
            continue
        unit = f" {finding.unit}" if finding.unit else ""
        rows.append(
            Checked(
                path.name,
                finding.check,
                {"pass": "holds", "look": "look", "fail": "FAILS"}[finding.verdict],
                "" if finding.value is None else f"{finding.value:.2f}{unit}",
                "" if finding.limit is None else f"{finding.limit:.2f}{unit}",
                finding.message.removeprefix(f"{part.number}: "),
            )
        )
    return rows


def check_nested(path: Path, doc: Any, size: tuple[float, float], gap: float, edge: float) -> list[Checked]:
    """Return the report on a nested sheet: what every file must hold, and its pieces apart and on the sheet.

    Args:
        path: the file.
        doc: the file, read back.
        size: of the stock sheet, mm.
        gap: metal asked between pieces, mm.
        edge: metal asked along the sheet's edge, mm.
    """
    import shapely

    loops, rows = _drawn(path, doc, _CUT)
    shapes = [shapely.Polygon(polygon(loop)) for loop in _loops_on(doc, sheet.OUTER_CUT)]
    inside = [shapely.Polygon(polygon(loop)) for loop in _loops_on(doc, sheet.INNER_CUT)]
    tree = shapely.STRtree(shapes)
    least = gap
    for k, shape in enumerate(shapes):
        for other in tree.query(shape.buffer(gap)):
            if other > k:
                least = min(least, shape.distance(shapes[other]))
    x0, y0, x1, y1 = shapely.union_all(shapes).bounds
    margin = min(x0, y0, size[0] - x1, size[1] - y1)
    astray = sum(not any(shapes[i].covers(hole) for i in tree.query(hole)) for hole in inside)
    told = "at least " if least >= gap else ""
    rows += [
        _row(
            path, "pieces apart", least >= gap - _CHORD, f"{told}{least:.2f} mm", f"{gap:g} mm", "metal between pieces"
        ),
        _row(path, "sheet's edge", margin >= edge - _CHORD, f"{margin:.2f} mm", f"{edge:g} mm", "metal along the edge"),
        _row(path, "holes in pieces", not astray, f"{astray} astray", "0", "every hole lies inside a piece"),
        _repeats(path, loops),
    ]
    return rows


def check_drilling(path: Path, doc: Any) -> list[Checked]:
    """Return the report on a drilling template: what every file must hold, and its holes on the metal."""
    edges = _loops_on(doc, sheet.NOTE)
    holes, rows = _drawn(path, doc, (sheet.DRILL,), edges)
    x0, y0, x1, y1 = bounds(edges[0])
    least = min((min(a - x0, b - y0, x1 - c, y1 - d) for a, b, c, d in map(bounds, holes)), default=math.inf)
    found = f"{least:.2f} mm" if holes else "no holes"
    rows += [_row(path, "on the metal", least > 0, found, "over 0 mm", "least metal from a hole to the face's edge")]
    rows.append(_repeats(path, holes))
    return rows


def _row(path: Path, check: str, good: bool, found: str, limit: str, message: str) -> Checked:
    return Checked(path.name, check, "holds" if good else "FAILS", found, limit, message)


def _loops_on(doc: Any, layer: str) -> list[Loop]:
    found = [sheet.loop_of_entity(entity) for entity in doc.modelspace() if entity.dxf.layer == layer]
    return [loop for loop in found if loop is not None]


def _drawn(path: Path, doc: Any, layers: Sequence[str], edges: Sequence[Loop] = ()) -> tuple[list[Loop], list[Checked]]:
    """Return the loops on the layers that metal is worked from, and what every file must hold.

    Args:
        path: the file.
        doc: the file, read back.
        layers: those that metal is worked from.
        edges: outlines on other layers that the file's size is told by; those on `layers` if none.
    """
    loops, texts, other = [], 0, 0
    for entity in doc.modelspace():
        if entity.dxf.layer not in layers:
            continue
        loop = sheet.loop_of_entity(entity)
        if loop is not None:
            loops.append(loop)
        elif not (entity.dxf.layer == sheet.DRILL and entity.dxftype() == "LINE"):  # centre marks
            other += 1
            texts += entity.dxftype() in ("TEXT", "MTEXT")
    reach = np.array([bounds(loop) for loop in (edges or loops)])
    wide, tall = (reach[:, 2:].max(axis=0) - reach[:, :2].min(axis=0)).tolist()
    metric = doc.header.get("$INSUNITS") == 4 and doc.header.get("$MEASUREMENT") == 1
    told = "millimetres in the file's head; measure the outline: both figures must be true in the cutter's software"
    rows = [
        _row(
            path, "closed", not other, f"{len(loops)} closed", "all", f"{other} open or foreign things on what is cut"
        ),
        _row(path, "text", not texts, f"{texts}", "0", "texts on what is cut; part numbers stand on other layers"),
        _row(path, "units", metric, f"{wide:.2f} x {tall:.2f} mm", f"{inches(wide)} x {inches(tall)} in", told),
    ]
    scale = _scale_line(doc)
    if scale is not None:
        right = abs(scale - sheet.SCALE) < 1e-6
        rows.append(_row(path, "scale line", right, f"{scale:g} mm", f"{sheet.SCALE:g} mm", sheet.SCALE_TEXT))
    return loops, rows


def _repeats(path: Path, loops: Sequence[Loop]) -> Checked:
    """Return the check that nothing is drawn twice: it would be cut twice."""
    seen = {tuple(np.round([*bounds(loop), abs(area(loop))], 4).tolist()) for loop in loops}
    twice = len(loops) - len(seen)
    return _row(path, "repeated edges", not twice, f"{twice}", "0", "edges drawn twice would be worked twice")


def _scale_line(doc: Any) -> float | None:
    """Return how long the file's scale line is, mm; None where the cutter wants outlines and nothing else."""
    for entity in doc.modelspace():
        if entity.dxf.layer == sheet.NOTE and entity.dxftype() == "LWPOLYLINE" and not entity.closed:
            points = np.array(list(entity.get_points("xy")))
            if len(points) == 6:
                return float(np.ptp(points[:, 0]))
    return None


def write_checks(rows: Sequence[Checked], folder: Path) -> Path:
    """Write the reports on a folder's cut files as one table and return its path."""
    told = [(one.file, one.check, one.result, one.found, one.limit, one.message) for one in rows]
    return write_table(folder / NAME, _HEAD, told)
