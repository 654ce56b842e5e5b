"""The sheets of a box: views with sizes and feet, sections through its joints, and where it stands in the car."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.box.generate import BoxDesign
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion
from baywright.release.drawing import dims
from baywright.release.drawing.cut import Cut, section
from baywright.release.drawing.frame import (
    A3,
    BLOCK,
    EDGE_ROOM,
    LEFT,
    SCALES,
    Rules,
    Title,
    fitting_scale,
    new_sheet,
    scale_text,
)
from baywright.release.drawing.lines import Light, is_lining, seen_lines
from baywright.release.drawing.paper import BOND, CENTRE, EDGE, GREY, HATCH, THICK, THIN, Sheet
from baywright.release.drawing.part import hatched
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


def box_views(subject: Light, rules: Rules) -> BoxViews:
    """Return a box's views; what lies inside is left out.

    In first angle the box is seen from its +y side, so that the view of the service end stands at the right.
    """
    inner = {"module", "bearer", "ledge", "earth strap", "spacer", "clamp bar", "floor bar"}
    outside = {
        item.mark
        for item in [*subject.assembly.placed, *subject.assembly.fasteners()]
        if item.piece.role not in inner and not is_lining(item) and not 0 < item.stage < 100
    }
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
    names: dict[str, NDArray[np.float64]] = {}
    turn = 0
    for cut in cuts:
        area = shapely.Polygon()
        for ring in cut.rings:
            area = area.symmetric_difference(shapely.Polygon(ring).buffer(0))
        area = area.intersection(frame)
        if area.is_empty or area.area < 0.02:
            continue
        for part in shapely.get_parts(area):
            if part.geom_type != "Polygon":
                continue
            rings = [shapely.get_coordinates(r)[:-1] * scale + shift for r in (part.exterior, *part.interiors)]
            if cut.part is None:
                sheet.area(rings, BOND, BOND.colour)
            else:
                if not cut.bought:
                    flat = shapely.Polygon(rings[0], rings[1:])
                    sheet.lines(hatched(flat, 45.0 if turn % 2 else 135.0, 1.6 + 0.4 * (turn % 3)), HATCH)
                sheet.area(rings, THICK if not cut.bought else THIN)
        turn += cut.part is not None
        text = _called(cut, design)
        if text not in names:
            spot = max(shapely.get_parts(area), key=lambda g: g.area).representative_point()
            names[text] = np.array([spot.x, spot.y]) * scale + shift
    sheet.area([shapely.get_coordinates(frame)[:-1] * scale + shift], GREY)
    sheet.text(place[0], place[1] + (y1 - y0) * scale + 3, f"{name}  ({scale_text(scale)})", 2.5, bold=True, most=185)
    _callouts(sheet, names, place[0] + (x1 - x0) * scale + 12, place[1], place[1] + (y1 - y0) * scale)


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


def _callouts(sheet: Sheet, names: Mapping[str, NDArray[np.float64]], x: float, low: float, high: float) -> None:
    """Write names in a column with a line from each to what it names, set in an order in which no two lines cross."""
    texts = sorted(names, key=lambda n: -names[n][1])
    pitch = min(8.0, (high - low) / max(len(texts), 1))
    top = (high + low) / 2 + pitch * (len(texts) - 1) / 2
    ends = [np.array([x - 3, top - pitch * k + 0.8]) for k in range(len(texts))]
    for _ in range(len(texts)):
        for k in range(len(texts) - 1):
            if _cross(names[texts[k]], ends[k], names[texts[k + 1]], ends[k + 1]):
                texts[k], texts[k + 1] = texts[k + 1], texts[k]
    for text, end in zip(texts, ends, strict=True):
        spot = names[text]
        sheet.circle(float(spot[0]), float(spot[1]), 0.35, THICK)
        sheet.line([spot, end, end + np.array([2.2, 0.0])], THIN)
        sheet.text(x, float(end[1]) - 0.8, text, 2.2, most=100)


def _cross(a: NDArray[np.float64], b: NDArray[np.float64], c: NDArray[np.float64], d: NDArray[np.float64]) -> bool:
    """Tell whether the lines from a to b and from c to d (2,) cross."""

    def side(p: NDArray[np.float64], q: NDArray[np.float64], r: NDArray[np.float64]) -> float:
        return float((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def setting_out_sheet(
    boxes: Sequence[tuple[BoxDesign, BoxViews]],
    car: str,
    wheelbase: float,
    tracks: tuple[float, float],
    job: str,
    revision: str,
    rules: Rules,
) -> Sheet:
    """Return the plan of where boxes and their feet's bolts stand in the car, with a table to set them out by.

    Args:
        boxes: each box and its views.
        car: the car's name.
        wheelbase: mm.
        tracks: front and rear, mm.
        job: the job's title.
        revision: the release's letter.
        rules: how the workshop draws.
    """
    half = max(tracks) / 2 + 150
    low, high = np.array([-500.0, -half]), np.array([wheelbase + 500, half])
    rows, labels = [], []
    for design, _ in boxes:
        count = 0
        for foot in design.feet:
            for bolt in design.pose(foot.bolts).tolist():
                count += 1
                name = f"{design.name[:1].upper()}{count}" if len(boxes) > 1 else f"{count}"
                labels.append((name, bolt))
                rows.append(
                    (
                        name,
                        design.name,
                        f"{bolt[0]:.1f}",
                        f"{bolt[1]:.1f}",
                        f"{bolt[2]:.1f}",
                        "slot" if foot.slotted else "round",
                    )
                )
    if len({name for name, _ in labels}) < len(labels):
        labels = [(str(k), bolt) for k, (_, bolt) in enumerate(labels, 1)]
        rows = [(str(k), *row[1:]) for k, row in enumerate(rows, 1)]
    room = (A3[0] - LEFT - EDGE_ROOM - 20, A3[1] - 2 * EDGE_ROOM - BLOCK[1] - 44)
    size = high - low
    scale = fitting_scale(float(size[0]), float(size[1]), room)
    title = Title(
        what=f"setting out in {car}",
        number="setting-out",
        revision=revision,
        job=job,
        scale=scale,
        seen="from above, front at the left",
    )
    sheet = new_sheet(A3, title, rules)
    centre = np.array([LEFT + 10 + room[0] / 2, EDGE_ROOM + BLOCK[1] + 24 + room[1] / 2])
    shift = centre - (low + high) / 2 * scale

    def at(x: float, y: float) -> tuple[float, float]:
        return float(x * scale + shift[0]), float(y * scale + shift[1])

    crowd = dims.Crowd()
    for x, track in ((0.0, tracks[0]), (wheelbase, tracks[1])):
        sheet.line([at(x, -track / 2), at(x, track / 2)], CENTRE)
        for y in (-track / 2, track / 2):
            u, v = at(x - 300, y - 80)
            sheet.box(u, v, 600 * scale, 160 * scale, GREY)
    sheet.line([at(low[0], 0), at(high[0], 0)], CENTRE)
    for design, views in boxes:
        sign = -1.0 if views.flipped else 1.0
        stands = design.pose
        turn = stands.turn[:2, :2] * sign
        sheet.lines([(line @ turn.T + stands.shift[:2]) * scale + shift for line in views.plan], EDGE)
        u, v = at(float(stands.shift[0]), float(stands.shift[1]))
        text = sheet.text(u, v + 6, f"box {design.name}", 3.0, "middle", bold=True)
        crowd.add_text(text)
    for _, (x, y, _) in labels:
        u, v = at(x, y)
        dims.centre_mark(sheet, u, v, 2.2)
        crowd.add((u - 2, v - 2, u + 2, v + 2))
    for name, (x, y, _) in labels:
        dims.label(sheet, crowd, at(x, y), 2.0, name, 2.2)
    u0, v0 = at(0, -half)
    u1, _ = at(wheelbase, -half)
    dims.across(
        sheet,
        u0,
        u1,
        v0 - 6,
        f"wheelbase {dims.number(wheelbase)}",
        (at(0, -tracks[0] / 2)[1], at(0, -tracks[1] / 2)[1]),
    )
    a, b = at(low[0], low[1])
    dims.axes_arrows(sheet, a - 4, b - 8, "X", "Y")
    _bolt_table(sheet, rows)
    note = "X behind the front axle's middle, Y right of the middle plane, Z above ground, mm. "
    note += "Offer one box up before marking the next."
    y = A3[1] - EDGE_ROOM - 6
    sheet.text(LEFT + 4, y, note, 2.2)
    _diagonals(sheet, boxes, LEFT + 4, y - 5)
    return sheet


def _bolt_table(sheet: Sheet, rows: Sequence[Sequence[str]]) -> None:
    """Write the bolts' places left of the title block, in two columns where one is too long."""
    columns = 1 if len(rows) <= 8 else 2
    per = -(-len(rows) // columns)
    pitch = min(4.2, (BLOCK[1] - 3) / (per + 1))
    for column in range(columns):
        x = LEFT + 3 + column * 96
        some = rows[column * per : (column + 1) * per]
        head, widths = ("bolt", "box", "X", "Y", "Z", "hole"), (10, 24, 16, 16, 14, 12)
        dims.table(sheet, x, EDGE_ROOM + BLOCK[1] - 1, head, some, widths, height=min(2.0, pitch * 0.55), pitch=pitch)


def _diagonals(sheet: Sheet, boxes: Sequence[tuple[BoxDesign, BoxViews]], x: float, y: float) -> None:
    """Write the diagonals between each box's outermost bolts: equal when the pattern is square."""
    for design, _ in boxes:
        if len(design.feet) < 4:
            continue
        bolts = np.concatenate([foot.bolts for foot in design.feet])
        corners = [bolts[np.argmax(bolts[:, :2] @ np.array(way))] for way in ((1, 1), (-1, -1), (1, -1), (-1, 1))]
        one, other = (float(np.linalg.norm((corners[i] - corners[i + 1])[:2])) for i in (0, 2))
        sheet.text(x, y, f"box {design.name}: diagonals {one:.1f} and {other:.1f}", 2.2, most=92)
        y -= 4.5
