"""The sheet of a box: three views and one from a corner, overall sizes, feet, mass and centroid."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.box.generate import BoxDesign
from baywright.release.drawing import dims
from baywright.release.drawing.frame import (
    A3,
    BLOCK,
    EDGE_ROOM,
    LEFT,
    SCALES,
    Rules,
    Title,
    new_sheet,
)
from baywright.release.drawing.lines import Light, is_lining, seen_lines
from baywright.release.drawing.paper import EDGE, THIN, Sheet
from baywright.release.raster import view_axes

Lines = list[NDArray[np.float64]]
_GAP = 26.0  # mm between views, sizes included
_MARGIN = 20.0  # mm from the border to the first view


@dataclass(frozen=True, eq=False)
class BoxViews:
    """A box as seen from its sides: lines (2, 2) mm along the viewer's right and up.

    Attributes:
        main: from the side that stands in the middle of the sheet.
        plan: from above.
        end: from the service end.
        corner: from a corner, to see it as a whole.
        flipped: whether x runs to the left in `main` and `plan`.
    """

    main: Lines
    plan: Lines
    end: Lines
    corner: Lines
    flipped: bool


def outside_marks(subject: Light) -> set[str]:
    """Return the marks of a box's pieces and fasteners that can be seen from outside."""
    inner = {"module", "bearer", "ledge", "earth strap", "spacer", "clamp bar", "floor bar"}
    return {
        item.mark
        for item in [*subject.assembly.placed, *subject.assembly.fasteners()]
        if item.piece.role not in inner and not is_lining(item) and not 0 < item.stage < 100
    }


def box_views(subject: Light, rules: Rules) -> BoxViews:
    """Return a box's views; what lies inside is left out.

    In first angle the box is seen from its +y side, so that the view of the service end stands at the right.
    """
    outside = outside_marks(subject)
    around = 180.0 if rules.angle == "first" else 0.0
    sides = [view_axes(around, 0), view_axes(around, 90), view_axes(90, 0)]
    main, plan, end = (seen_lines(subject, axes, marks=outside, points=600) for axes in sides)
    corner = seen_lines(subject, view_axes(35, 28), marks=outside, points=600)
    return BoxViews(main, plan, end, corner, rules.angle == "first")


def box_sheet(
    design: BoxDesign, views: BoxViews, job: str, revision: str, rules: Rules, sheet_text: str = "1 of 2"
) -> Sheet:
    """Return the drawing of a whole box: three views and a corner view, overall sizes, feet, mass and centroid."""
    spans = [_span(lines) for lines in (views.main, views.plan, views.end)]
    scale, places = _layout(spans, rules)
    mass = design.mass_properties
    title = Title(
        what=f"battery box {design.name}",
        number=f"{design.name}-box",
        revision=revision,
        job=job,
        material="bonded and screwed; see the parts' own sheets",
        mass=mass.mass,
        scale=scale,
        seen="from the +y side" if views.flipped else "from the -y side",
        sheet=sheet_text,
    )
    sheet = new_sheet(A3, title, rules)
    for lines, place in zip((views.main, views.plan, views.end), places, strict=True):
        sheet.lines([line * scale + place for line in lines], EDGE)
    _box_sizes(sheet, design, views, spans, places, scale)
    top_right = _free_corner(spans, places, scale)
    _corner_view(sheet, views.corner, top_right)
    _about(sheet, design)
    return sheet


def _span(lines: Lines) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    points = np.concatenate(lines)
    return points.min(axis=0), points.max(axis=0)


def _layout(
    spans: Sequence[tuple[NDArray[np.float64], NDArray[np.float64]]], rules: Rules
) -> tuple[float, list[NDArray[np.float64]]]:
    """Return the scale and where each view's own origin stands on the sheet: main, plan, end."""
    (m0, m1), (p0, p1), (e0, e1) = spans
    low_x, low_y, high_y = LEFT + _MARGIN, EDGE_ROOM + _MARGIN - 4, A3[1] - EDGE_ROOM - 12
    block_x, block_y = A3[0] - EDGE_ROOM - BLOCK[0] - 6, EDGE_ROOM + BLOCK[1] + 18
    for scale in SCALES:
        if scale > 1:
            continue
        column = max(m1[0] - m0[0], p1[0] - p0[0]) * scale
        tall = (m1[1] - m0[1] + p1[1] - p0[1]) * scale + _GAP
        left = low_x - min(m0[0], p0[0]) * scale
        end_x = low_x + column + _GAP
        # Over the title block or beside it: what stands low must end before it.
        first = rules.angle == "first"
        lowest = low_y if (low_x + column < block_x and first) else block_y
        if lowest + tall > high_y or end_x + (e1[0] - e0[0]) * scale > A3[0] - EDGE_ROOM - 14:
            continue
        if first:
            main = np.array([left, high_y - m1[1] * scale])
            plan = np.array([left, main[1] + m0[1] * scale - _GAP - p1[1] * scale])
        else:
            plan = np.array([left, high_y - p1[1] * scale])
            main = np.array([left, plan[1] + p0[1] * scale - _GAP - m1[1] * scale])
        return scale, [main, plan, np.array([end_x - e0[0] * scale, main[1]])]
    scale = SCALES[-1]
    return scale, [np.array([low_x, 200.0]), np.array([low_x, 120.0]), np.array([200.0, 200.0])]


def _box_sizes(
    sheet: Sheet,
    design: BoxDesign,
    views: BoxViews,
    spans: Sequence[tuple[NDArray[np.float64], NDArray[np.float64]]],
    places: Sequence[NDArray[np.float64]],
    scale: float,
) -> None:
    """Write overall sizes, panels and feet, and mark the centroid and the box's axes."""
    layout = design.layout
    sign = -1.0 if views.flipped else 1.0
    (main, plan, end), ((m0, m1), (p0, _), (e0, e1)) = places, spans
    length, width = layout.outside
    high = layout.lid_under + layout.kit.style.lid.thickness

    def at(place: NDArray[np.float64], u: float, v: float) -> tuple[float, float]:
        return float(place[0] + u * scale), float(place[1] + v * scale)

    number = dims.number
    (x0, y0), (x1, y1) = at(main, -length / 2, 0), at(main, length / 2, high)
    foot = at(main, 0, float(m0[1]))[1]
    dims.across(sheet, x0, x1, foot - 7, number(length), (y0, y0))
    dims.upward(sheet, y0, y1, at(main, float(m0[0]), 0)[0] - 6, number(high), (x0, x0))
    low, top = at(main, float(m0[0]), float(m0[1])), at(main, float(m1[0]), float(m1[1]))
    dims.across(sheet, low[0], top[0], foot - 14, number(float(m1[0] - m0[0])), (foot, foot))
    (u0, v0), (u1, _) = at(end, -width / 2, 0), at(end, width / 2, high)
    dims.across(sheet, u0, u1, foot - 7, number(width), (v0, v0))
    dims.upward(
        sheet,
        at(end, 0, float(e0[1]))[1],
        at(end, 0, float(e1[1]))[1],
        at(end, float(e1[0]), 0)[0] + 9,
        number(float(e1[1] - e0[1])),
        (u1, u1),
    )
    bolts = np.concatenate([f.bolts for f in design.feet]) if design.feet else np.zeros((0, 3))
    if len(bolts):
        xs, ys = np.unique(np.round(sign * bolts[:, 0], 6)), np.unique(np.round(sign * bolts[:, 1], 6))
        px, py = [at(plan, float(x), 0)[0] for x in xs], [at(plan, 0, float(y))[1] for y in ys]
        base = at(plan, 0, float(p0[1]))[1]
        if len(px) > 1:
            dims.across(sheet, px[0], px[-1], base - 7, f"{number(float(xs[-1] - xs[0]))} feet", (py[0], py[0]))
        if len(py) > 1:
            side = at(plan, float(p0[0]), 0)[0] - 6
            dims.upward(sheet, py[0], py[-1], side, f"{number(float(ys[-1] - ys[0]))} feet", (px[0], px[0]))
        for x, y, _ in bolts.tolist():
            u, v = at(plan, sign * x, sign * y)
            dims.centre_mark(sheet, u, v, 2.5)
    cx, cy, cz = design.mass_properties.centroid.tolist()
    for place, (u, v) in ((main, (sign * cx, cz)), (plan, (sign * cx, sign * cy)), (end, (cy, cz))):
        _centroid(sheet, *at(place, u, v))
    a, b = low[0] - (1 if views.flipped else 9), foot - 12
    dims.axes_arrows(sheet, a, b, "-x" if views.flipped else "x", "z")
    base = at(plan, 0, float(p0[1]))[1]
    dims.axes_arrows(
        sheet,
        a,
        base - 8 + (10 if views.flipped else 0),
        "-x" if views.flipped else "x",
        "-y" if views.flipped else "y",
    )


def _centroid(sheet: Sheet, x: float, y: float) -> None:
    angles = np.linspace(0, np.pi / 2, 7)
    for start in (0.0, np.pi):
        fan = np.column_stack([np.cos(angles + start), np.sin(angles + start)]) * 1.7
        sheet.area([np.vstack([np.zeros(2), fan]) + np.array([x, y])], None, (0.0, 0.0, 0.0))
    sheet.circle(x, y, 1.7, THIN)


def _free_corner(
    spans: Sequence[tuple[NDArray[np.float64], NDArray[np.float64]]],
    places: Sequence[NDArray[np.float64]],
    scale: float,
) -> tuple[float, float, float, float]:
    """Return the room at the right that no view takes and the notes leave: x0, y0, x1, y1."""
    (main, plan, end), ((_, m1), (_, p1), (e0, e1)) = places, spans
    end_low = float(end[1] + e0[1] * scale) - 24
    end_high = float(end[1] + e1[1] * scale) + 8
    column = float(max(main[0] + m1[0] * scale, plan[0] + p1[0] * scale)) + 16
    bottom, top = EDGE_ROOM + BLOCK[1] + 10, A3[1] - EDGE_ROOM - 6
    right = A3[0] - EDGE_ROOM - 6
    # Under the end view, over it, or at its right: the largest wins.
    beside = float(end[0] + e1[0] * scale) + 22
    rooms = [
        (column, bottom, right - _ABOUT, end_low),
        (column, end_high, right, top),
        (beside, max(bottom, end_low), right, top),
    ]
    return max(rooms, key=lambda r: max(r[2] - r[0], 0) * max(r[3] - r[1], 0))


_ABOUT = 62.0  # mm: width of the notes


def _corner_view(sheet: Sheet, lines: Lines, room: tuple[float, float, float, float]) -> None:
    low, high = _span(lines)
    scale = min((room[2] - room[0]) / (high[0] - low[0]), (room[3] - room[1] - 5) / (high[1] - low[1]))
    if scale <= 0.02:
        return
    shift = np.array([(room[0] + room[2]) / 2, (room[1] + room[3]) / 2]) - (low + high) / 2 * scale
    sheet.lines([line * scale + shift for line in lines], EDGE)


def _about(sheet: Sheet, design: BoxDesign) -> None:
    """Write what the box holds, weighs and how it is held together, above the title block at the right."""
    layout, style, mass = design.layout, design.layout.kit.style, design.mass_properties
    screws = sum(len(line.points) for line in design.assembly.lines if line.screw is not None)
    cx, cy, cz = mass.centroid.tolist()
    glue = design.assembly.adhesive_volume() / 1000
    lines = [
        f"{layout.ask.count} × {layout.ask.module}, {layout.layers} high, on {layout.carry}",
        f"mass {mass.mass:.1f} kg ready to fit, coolant {'in' if layout.ask.coolant else 'not in'}",
        f"centroid {cx:.1f}, {round(cy, 1) + 0.0:.1f}, {cz:.1f} from the box's origin",
        "origin: middle of the floor's underside, x to the service end",
        f"bond line {style.bond_line:g}, {style.adhesive}, {glue:.0f} ml in the joints",
        f"{screws} screws; panels linked by {len(design.straps)} earth straps",
        "dry fit and drill everything before bonding",
    ]
    x, y = A3[0] - EDGE_ROOM - 4 - _ABOUT, EDGE_ROOM + BLOCK[1] + 8 + 4 * (len(lines) - 1)
    for line in lines:
        sheet.text(x, y, line, 2.0, most=_ABOUT)
        y -= 4
