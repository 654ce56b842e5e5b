"""A cut file's own report: what a cutter would trip over, found in the file as it was read back, not in the design."""

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
from baywright.shape.loop import area, bounds

NAME = "checks.csv"
_CUT = (sheet.OUTER_CUT, sheet.INNER_CUT, sheet.CUT)
_HEAD = ("file", "check", "result", "found", "limit", "in words")


@dataclass(frozen=True, slots=True)
class Checked:
    """One check of one cut file: "holds", "look" or "FAILS", what was found, its limit, a sentence."""

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
    loops, other, texts = [], [], 0
    for entity in doc.modelspace():
        if entity.dxf.layer not in _CUT:
            continue
        loop = sheet.loop_of_entity(entity)
        if loop is not None:
            loops.append(loop)
        else:
            other.append(entity.dxftype())
            texts += entity.dxftype() in ("TEXT", "MTEXT")
    loops.sort(key=lambda one: -abs(area(one)))
    outer, holes = loops[0], loops[1:]
    x0, y0, x1, y1 = bounds(outer)

    def row(check: str, good: bool, found: str, limit: str, message: str) -> Checked:
        return Checked(path.name, check, "holds" if good else "FAILS", found, limit, message)

    metric = doc.header.get("$INSUNITS") == 4 and doc.header.get("$MEASUREMENT") == 1
    rows = [
        row("closed", not other, f"{len(loops)} closed", "all", f"{len(other)} open or foreign things on what is cut"),
        row("text", not texts, f"{texts}", "0", "texts on the layers that are cut; part numbers stand on other layers"),
        row(
            "units",
            metric,
            f"{x1 - x0:.2f} x {y1 - y0:.2f} mm",
            f"{inches(x1 - x0)} x {inches(y1 - y0)} in",
            "millimetres in the file's head; measure the outline: both figures must be true in the cutter's software",
        ),
    ]
    scale = _scale_line(doc)
    if scale is not None:
        right = abs(scale - sheet.SCALE) < 1e-6
        rows.append(row("scale line", right, f"{scale:g} mm", f"{sheet.SCALE:g} mm", sheet.SCALE_TEXT))
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
