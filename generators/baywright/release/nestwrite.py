"""Nested sheets as files: a DXF and a picture each, read back, and a table of all."""

import math
from collections import defaultdict
from pathlib import Path
from typing import Any

from baywright.piece.numbering import slug
from baywright.release import sheet
from baywright.release.drawing.svgpath import path_of
from baywright.release.dxf import thickness_text
from baywright.release.fault import ReleaseFault
from baywright.release.nesting import EDGE, GAP, NestedSheet, Nesting
from baywright.release.selfcheck import Checked, check_nested, write_checks
from baywright.release.table import write_table
from baywright.shape.loop import area, rectangle


def write_nesting(
    found: Nesting, folder: Path, version: str, revision: str, gap: float = GAP, edge: float = EDGE
) -> list[Path]:
    """Write a DXF and a picture of each sheet, the table of all and their checks into `folder`/nest; return the paths.

    Args:
        found: the sheets.
        folder: the release's folder.
        version: of the DXF format, "R2000" or later.
        revision: the release's letter.
        gap: metal asked between pieces, mm.
        edge: metal asked along a sheet's edge, mm.

    Raises:
        ReleaseFault: if a file does not hold, when read back, what was laid on the sheet.
    """
    inside = folder / "nest"
    inside.mkdir(exist_ok=True)
    paths: list[Path] = []
    checks: list[Checked] = []
    rows: list[tuple[object, ...]] = []
    numbers: dict[str, int] = defaultdict(int)
    for one in found.sheets:
        stem = f"{slug(one.material)}_{thickness_text(one.thickness)}mm"
        numbers[stem] += 1
        name = f"{stem}_sheet{numbers[stem]}_rev{slug(revision)}"
        path = inside / f"{name}.dxf"
        checks += check_nested(path, _write_dxf(one, path, version, revision), one.size, gap, edge)
        paths.append(path)
        paths.append(_write_svg(one, inside / f"{name}.svg", name))
        amount: dict[str, int] = defaultdict(int)
        for piece in one.laid:
            amount[piece.part.number] += 1
        rows.append(
            (
                name,
                one.stock,
                one.material,
                f"{one.thickness:g}",
                f"{one.size[0]:g} x {one.size[1]:g}",
                len(one.laid),
                f"{100 * one.used:.1f}",
                f"{one.cut_length / 1000:.2f}",
                one.pierces,
                f"{one.left:.0f}",
                "; ".join(f"{count} x {number}" for number, count in sorted(amount.items())),
            )
        )
    rows += [("", "", "", "", "", "", "", "", "", "", text) for text in found.problems]
    if checks:
        paths.append(write_checks(checks, inside))
    head = ("sheet", "stock", "material", "thickness mm", "sheet mm", "pieces", "used %", "cut m", "pierces", "left mm")
    return [*paths, write_table(inside / "nesting.csv", (*head, "pieces on it"), rows)]


def _write_dxf(one: NestedSheet, path: Path, version: str, revision: str) -> Any:
    """Write a sheet's drawing and return it as it was read back."""
    doc = sheet.drawing({k: sheet.LAYERS[k] for k in (sheet.OUTER_CUT, sheet.INNER_CUT, sheet.NOTE)}, version)
    total = 0.0
    for piece in one.laid:
        profile = piece.profile
        for loop in profile.holes:
            sheet.add_loop(doc, loop, sheet.INNER_CUT)
        sheet.add_loop(doc, profile.outer, sheet.OUTER_CUT)
        total += abs(area(profile.outer))
        x0, y0, x1, y1 = profile.bounds()
        height = max(min((x1 - x0) / (len(piece.part.number) + 1), (y1 - y0) / 3, 12.0), 2.0)
        sheet.add_text(doc, [piece.part.number], x0 + 3, (y0 + y1) / 2, height, sheet.NOTE)
    wide, tall = one.size
    sheet.add_loop(doc, rectangle(0, 0, wide, tall), sheet.NOTE)
    sheet.add_scale(doc, 0.0, -25.0, 8.0, sheet.NOTE)
    thick = thickness_text(one.thickness)
    text = [
        sheet.SCALE_TEXT,
        f"{one.material}, {thick} mm, {wide:g} x {tall:g} mm, revision {revision}; {len(one.laid)} pieces",
        f"{100 * one.used:.1f} % used, {one.cut_length / 1000:.2f} m to cut, {one.pierces} pierces",
        "drawn nominal; the single cut files count if they differ",
    ]
    sheet.add_text(doc, text, 0.0, -45.0, 12.0, sheet.NOTE)
    sheet.save(doc, path, (0.0, -110.0, wide, tall))
    again = sheet.read(path)
    loops = [sheet.loop_of_entity(e) for e in again.modelspace() if e.dxf.layer == sheet.OUTER_CUT]
    if len(loops) != len(one.laid) or not math.isclose(
        sum(abs(area(loop)) for loop in loops if loop is not None), total, rel_tol=1e-6
    ):
        raise ReleaseFault(path.name, "does not hold the pieces that were laid on the sheet")
    return again


def _write_svg(one: NestedSheet, path: Path, name: str) -> Path:
    path.write_text(nested_svg(one, name), encoding="utf-8", newline="\n")
    return path


def nested_svg(one: NestedSheet, title: str) -> str:
    """Return a picture of a sheet with its pieces as SVG text, with its axes."""
    wide, tall = one.size
    body = (
        f'<rect x="0" y="{-tall:g}" width="{wide:g}" height="{tall:g}" fill="#f4f1ea" stroke="#555" stroke-width="4"/>'
    )
    for piece in one.laid:
        profile = piece.profile
        shape = path_of([profile.outer, *profile.holes])
        body += f'<path d="{shape}" fill="#cfd6dc" fill-rule="evenodd" stroke="#1d2733" stroke-width="2"/>'
        x0, y0, x1, y1 = profile.bounds()
        upright = y1 - y0 > 1.5 * (x1 - x0)
        long, short = (y1 - y0, x1 - x0) if upright else (x1 - x0, y1 - y0)
        size = min(1.5 * long / len(piece.part.number), short * 0.7, 30.0)
        x, y = (x0 + x1) / 2, -(y0 + y1) / 2
        turn = f' transform="rotate(-90 {x:.1f} {y:.1f})"' if upright else ""
        body += f'<text x="{x:.1f}" y="{y + size * 0.35:.1f}" font-size="{size:.1f}" text-anchor="middle"{turn}>'
        body += f"{piece.part.number}</text>"
    body += '<path d="M-30 30h150M-30 30v-150" stroke="#8a3a12" stroke-width="6" fill="none"/>'
    for name, x, y in (("x", 135, 40), ("y", -40, -135)):
        body += f'<text x="{x}" y="{y}" font-size="36" fill="#8a3a12">{name}</text>'
    said = f"{title}: {len(one.laid)} pieces, {100 * one.used:.1f} % used, {one.cut_length / 1000:.2f} m to cut, "
    said += f"{one.pierces} pierces, {one.left:.0f} mm left at the end; {wide:g} x {tall:g} mm"
    body += f'<text x="200" y="52" font-size="34">{said}</text>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="-60 {-tall - 60:g} {wide + 120:g} {tall + 140:g}"'
        f' font-family="Helvetica, Arial, sans-serif" role="img" aria-label="{said}">{body}</svg>\n'
    )
