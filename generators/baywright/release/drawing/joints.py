"""Sections through a box's joints: every piece hatched and named, the bond lines in colour."""

from collections.abc import Sequence

import numpy as np

from baywright.box.generate import BoxDesign
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion
from baywright.release.drawing.cut import Cut, section
from baywright.release.drawing.cutview import callouts, draw_cuts
from baywright.release.drawing.frame import (
    A3,
    LEFT,
    Rules,
    Title,
    new_sheet,
    scale_text,
)
from baywright.release.drawing.lines import Light
from baywright.release.drawing.paper import GREY, Sheet
from baywright.release.raster import view_axes


def joints_sheet(
    design: BoxDesign, subject: Light, job: str, revision: str, rules: Rules, sheet_text: str = "2 of 2"
) -> Sheet:
    """Return the sections through a box's joints: foot of a wall, its top with lid and gasket, an upright corner."""
    layout = design.layout
    half_x, half_y = layout.outside[0] / 2, layout.outside[1] / 2
    high = layout.lid_under + layout.kit.style.lid.thickness
    floor_x = _screw_place(design, "floor angle right / wall right", 0)
    lid_x = _screw_place(design, "lid", 0)
    upright = _corner_height(design)
    across = view_axes(90, 0)
    cuts = [
        (
            "A",
            f"foot of the right wall, cut across at x = {floor_x:.1f}",
            across,
            np.array([floor_x, 0, 0]),
            (half_y - 17, 22.0),
        ),
        (
            "B",
            f"top of the right wall, cut across at x = {lid_x:.1f}",
            across,
            np.array([lid_x, 0, 0]),
            (half_y - 17, high - 22),
        ),
        (
            "C",
            f"upright corner, cut level at z = {upright:.1f}",
            view_axes(0, 90),
            np.array([0, 0, upright]),
            (half_x - 22, half_y - 22),
        ),
    ]
    title = Title(
        what=f"joints of battery box {design.name}",
        number=f"{design.name}-joints",
        revision=revision,
        job=job,
        material="as cut",
        scale=2.0,
        seen="sections",
        sheet=sheet_text,
    )
    sheet = new_sheet(A3, title, rules)
    window, scale = (34.0, 34.0), 2.0
    rooms = [(LEFT + 8, 164.0), (LEFT + 205, 164.0), (LEFT + 8, 58.0)]
    for (letter, text, axes, origin, middle), (x, y) in zip(cuts, rooms, strict=True):
        _section_view(
            sheet, design, section(subject, axes, origin), middle, window, scale, (x, y), f"{letter}-{letter}  {text}"
        )
    return sheet


def _screw_place(design: BoxDesign, joint: str, axis: int) -> float:
    """Return where, along an axis, a screw of a joint near the middle is; 0 if there is none."""
    places = [
        float(p[axis])
        for line in design.assembly.lines
        if line.joint == joint and line.screw is not None
        for p in line.points
        if joint != "lid" or p[1] > design.layout.outside[1] / 2 - 40
    ]
    return min(places, key=abs, default=0.0)


def _corner_height(design: BoxDesign) -> float:
    """Return a height where the corner angle at the service end, right, is screwed to the long wall."""
    heights = [
        float(p[2])
        for line in design.assembly.lines
        if line.joint == "corner angle service right / wall right"
        for p in line.points
    ]
    middle = design.layout.wall_top / 2
    return min(heights, key=lambda z: abs(z - middle), default=middle)


def _section_view(
    sheet: Sheet,
    design: BoxDesign,
    cuts: Sequence[Cut],
    middle: tuple[float, float],
    window: tuple[float, float],
    scale: float,
    place: tuple[float, float],
    name: str,
) -> None:
    """Draw a section in a window (mm, half sizes given by `window`) with its pieces named at the right."""
    import shapely

    frame = shapely.box(
        middle[0] - window[0] * 0.72,
        middle[1] - window[1] * 0.72,
        middle[0] + window[0] * 0.72,
        middle[1] + window[1] * 0.72,
    )
    x0, y0, x1, y1 = frame.bounds
    shift = np.array([place[0] - x0 * scale, place[1] - y0 * scale])
    names = draw_cuts(sheet, cuts, frame, scale, shift, lambda cut: _called(cut, design))
    sheet.area([shapely.get_coordinates(frame)[:-1] * scale + shift], GREY)
    sheet.text(place[0], place[1] + (y1 - y0) * scale + 3, f"{name}  ({scale_text(scale)})", 2.5, bold=True, most=185)
    callouts(sheet, names, place[0] + (x1 - x0) * scale + 12, place[1], place[1] + (y1 - y0) * scale)


def _called(cut: Cut, design: BoxDesign) -> str:
    """Return what a cut thing is called beside its section."""
    if cut.part is None:
        bond = next(b for b in design.assembly.bonds if b.name == cut.mark)
        return f"bond line {bond.thickness:g}, {bond.adhesive}"
    piece = cut.part.piece
    if isinstance(piece, Bought):
        return piece.name
    if isinstance(piece, Extrusion):
        return f"{piece.role}, {piece.stock.name}, {piece.material}"
    return f"{piece.role}, {piece.material}, {piece.thickness:g}"
