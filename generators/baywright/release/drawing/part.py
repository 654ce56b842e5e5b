"""The sheet of one made piece: views with overall sizes, every hole in a table, what a cut file can't say."""

from collections.abc import Sequence

import numpy as np

from baywright.piece.extrusion import Extrusion
from baywright.piece.numbering import Part
from baywright.piece.plate import Plate
from baywright.release.drawing import dims
from baywright.release.drawing.frame import (
    A3,
    A4,
    BLOCK,
    EDGE_ROOM,
    LEFT,
    Rules,
    Title,
    fitting_scale,
    new_sheet,
    scale_text,
)
from baywright.release.drawing.hatching import hatch
from baywright.release.drawing.paper import FINE, HATCH, THICK, THIN, Sheet
from baywright.release.drawing.sides import Spot, View, datum_of, face_views, plate_view, spots_of
from baywright.shape.loop import as_circle, bounds, polygon

_TABLE = (9.0, 15.0, 15.0)  # mm: columns of the hole table
_RULES = Rules()
_OPEN = 12.0  # mm on paper: half the width of an opening in which a label has room
_PITCH = 3.2  # mm from row to row
_FEW = 36  # holes that still go on a small sheet
_NAME = 8.0  # mm kept free above a view for its name
_DIMENSIONS = 17.0  # mm kept free beside a view for its sizes


def part_sheet(
    part: Part,
    job: str,
    revision: str,
    rules: Rules = _RULES,
    size: tuple[float, float] | None = None,
    *,
    bonded: bool = True,
) -> Sheet:
    """Return the drawing of a made piece.

    Args:
        part: a plate or an extrusion.
        job: the job's title.
        revision: the release's letter.
        rules: how the workshop draws.
        size: of the sheet, mm; the smaller on which everything is clear if None.
        bonded: whether its assembly is glued.
    """
    piece = part.piece
    assert isinstance(piece, Plate | Extrusion)
    views = [plate_view(piece)] if isinstance(piece, Plate) else face_views(piece)
    datum = datum_of(piece)
    spots, classes = spots_of(piece, views, datum)
    if size is None:
        size = A4 if len(spots) <= _FEW and len(classes) <= 6 else A3
    below = EDGE_ROOM + BLOCK[1] + 6
    columns = _columns(len(spots), size[1] - EDGE_ROOM - below - 6)
    room_x = (LEFT + 4, size[0] - EDGE_ROOM - columns * (sum(_TABLE) + 2) - 4)
    room_y = (below + 3, size[1] - EDGE_ROOM - 5)
    # A plate is drawn on edge beside its main view, at the same scale.
    beside, edge = (32.0, piece.thickness) if isinstance(piece, Plate) else (52.0, 0.0)
    gap = _DIMENSIONS
    # A view's width is written under it unless the next one below has the same.
    said = [k == len(views) - 1 or abs(v.width - views[k + 1].width) > 0.005 for k, v in enumerate(views)]
    between = sum(_NAME + (_DIMENSIONS - _NAME if k and said[k - 1] else 0.0) for k in range(len(views)))
    width = max(v.width for v in views)
    height = sum(v.height for v in views)
    scale = fitting_scale(
        width + edge, height, (room_x[1] - room_x[0] - gap - beside, room_y[1] - room_y[0] - gap - between)
    )
    title = Title(
        what=piece.role,
        number=part.number,
        revision=revision,
        job=job,
        material=f"{piece.material}, {_stock(piece)}",
        quantity=part.quantity,
        mass=piece.mass_properties().mass,
        scale=scale,
        seen=f"seen from {piece.seen_from}" if isinstance(piece, Plate) else "from outside the metal",
    )
    sheet = new_sheet(size, title, rules)
    crowd = dims.Crowd()
    used = gap + (width + edge) * scale + beside
    left = room_x[0] + gap + max((room_x[1] - room_x[0] - used) / 2, 0.0)
    free = room_y[1] - room_y[0] - gap - height * scale - between
    top = room_y[1] - max(free / 2, 0.0)
    limits = (room_x[0], room_y[0], room_x[1], room_y[1])
    places = []
    for k, view in enumerate(views):
        top -= _NAME + (_DIMENSIONS - _NAME if k and said[k - 1] else 0.0)
        origin = (left - view.low[0] * scale, top - view.height * scale - view.low[1] * scale)
        places.append(origin)
        _draw_view(sheet, crowd, view, origin, scale, named=isinstance(piece, Extrusion))
        top -= view.height * scale
    if isinstance(piece, Plate):
        _edge_view(sheet, crowd, piece, views[0], places[0], scale, rules)
    else:
        _section(sheet, crowd, piece, (left + width * scale + 12, top), beside - 12)
    _overall(sheet, crowd, views, places, scale, said)
    unlabelled: list[str] = []
    for spot in spots:
        ox, oy = places[spot.view]
        x0, y0, x1, y1 = bounds(spot.hole.loop)
        at = (ox + (x0 + x1) / 2 * scale, oy + (y0 + y1) / 2 * scale)
        reach = max(x1 - x0, y1 - y0) / 2 * scale
        found = dims.label(sheet, crowd, at, 3.0 if reach > _OPEN else reach, spot.label, limits=limits)
        unlabelled += [] if found else [spot.label]
    if spots:
        _tables(sheet, spots, size, columns, room_y[1], isinstance(piece, Plate))
    if unlabelled and size == A4:
        return part_sheet(part, job, revision, rules, A3, bonded=bonded)
    _notes(sheet, classes, piece, size, datum, unlabelled, bonded)
    if isinstance(piece, Plate):
        _datum_mark(sheet, places[0], datum, scale)
    return sheet


def _stock(piece: Plate | Extrusion) -> str:
    return (
        f"sheet {piece.thickness:g}" if isinstance(piece, Plate) else f"{piece.stock.name}, length {piece.length:.1f}"
    )


def _draw_view(
    sheet: Sheet, crowd: dims.Crowd, view: View, origin: tuple[float, float], scale: float, named: bool
) -> None:
    ox, oy = origin
    for loop in view.loops:
        sheet.area([polygon(loop, FINE / scale) * scale + (ox, oy)], THICK)
    for hole, _ in view.holes:
        ring = as_circle(hole.loop)
        x0, y0, x1, y1 = (v * scale for v in bounds(hole.loop))
        x, y, wide, tall = ox + (x0 + x1) / 2, oy + (y0 + y1) / 2, (x1 - x0) / 2, (y1 - y0) / 2
        reach = max(wide, tall)
        pen = THICK if reach > 1.5 else THIN
        if ring is not None:
            sheet.circle(x, y, ring[2] / 2 * scale, pen)
        else:
            sheet.area([polygon(hole.loop, FINE / scale) * scale + (ox, oy)], pen)
        more = min(1.0, 0.2 + 0.6 * reach)
        if reach > _OPEN:  # a large opening has room for its label; only its edges are in the way
            for side in _sides(x - wide, y - tall, 2 * wide, 2 * tall):
                crowd.add(side)
            dims.centre_mark(sheet, x, y, 3.0)
            crowd.add((x - 3, y - 3, x + 3, y + 3))
        else:
            dims.centre_mark(sheet, x, y, wide + more, tall + more)
            crowd.add((x - wide - more, y - tall - more, x + wide + more, y + tall + more))
    left, low = ox + view.low[0] * scale, oy + view.low[1] * scale
    for x0, y0, x1, y1 in _sides(left, low, view.width * scale, view.height * scale):
        crowd.add((x0 - 0.3, y0 - 0.3, x1 + 0.3, y1 + 0.3))
    if named:
        text = sheet.text(
            left,
            low + view.height * scale + 2.4,
            view.name if view.name.startswith("end") else f"{view.name}; end 0 at the left",
            2.2,
        )
        crowd.add_text(text)


def _sides(x: float, y: float, w: float, h: float) -> list[tuple[float, float, float, float]]:
    return [(x, y, x + w, y), (x, y + h, x + w, y + h), (x, y, x, y + h), (x + w, y, x + w, y + h)]


def _edge_view(
    sheet: Sheet,
    crowd: dims.Crowd,
    piece: Plate,
    view: View,
    origin: tuple[float, float],
    scale: float,
    rules: Rules,
) -> None:
    """Draw the plate on edge, at the right of the main view, blind holes dashed, with its thickness."""
    x = origin[0] + (view.low[0] + view.width) * scale + 14
    y = origin[1] + view.low[1] * scale
    thick = max(piece.thickness * scale, 0.5)
    high = view.height * scale
    sheet.box(x, y, thick, high, THICK)
    # In first angle the view from the left stands at the right, so that the seen side is its right edge.
    right = rules.angle == "first"
    for hole, depth in view.holes:
        if hole.depth < depth - 1e-6:
            _, y0, _, y1 = (v * scale for v in bounds(hole.loop))
            deep = hole.depth * scale
            start = x + thick - deep if right else x
            sheet.box(start, origin[1] + y0, deep, y1 - y0, HATCH)
    text = f"{piece.thickness:g}"
    dims.across(sheet, x, x + thick, y - 9, text, (y, y))
    mark = sheet.text(x + thick + 1.5 if right else x - 1.5, y + high + 1.5, "seen side", 1.8, "middle")
    crowd.add_text(mark)
    crowd.add((x - 6, y - 14, x + thick + 14, y + high))


def _section(sheet: Sheet, crowd: dims.Crowd, piece: Extrusion, place: tuple[float, float], room: float) -> None:
    """Draw the stock's section, hatched, with its sizes, at a scale of its own."""
    stock = piece.stock
    x0, y0, x1, y1 = stock.profile.bounds()
    scale = fitting_scale(x1 - x0, y1 - y0, (room - 14, 40.0))
    ox, oy = place[0] - x0 * scale, place[1] + 12 - y0 * scale
    rings = [polygon(loop, FINE / scale) * scale + (ox, oy) for loop in (stock.profile.outer, *stock.profile.holes)]
    sheet.lines(hatch(stock.profile, scale, (ox, oy)), HATCH)
    sheet.area(rings, THICK)
    dims.across(
        sheet, ox + x0 * scale, ox + x1 * scale, oy + y0 * scale - 7, dims.number(x1 - x0), (oy + y0 * scale,) * 2
    )
    dims.upward(
        sheet, oy + y0 * scale, oy + y1 * scale, ox + x1 * scale + 8, dims.number(y1 - y0), (ox + x1 * scale,) * 2
    )
    wall = f", wall {dims.number(stock.wall)}" if stock.shape in ("angle", "channel", "tube", "round tube") else ""
    text = sheet.text(ox + x0 * scale, oy + y1 * scale + 3, f"section {scale_text(scale)}{wall}", 2.2)
    crowd.add_text(text)
    crowd.add((ox + x0 * scale - 1, oy + y0 * scale - 12, ox + x1 * scale + 12, oy + y1 * scale + 1))


def _overall(
    sheet: Sheet,
    crowd: dims.Crowd,
    views: Sequence[View],
    places: Sequence[tuple[float, float]],
    scale: float,
    said: Sequence[bool],
) -> None:
    """Draw each view's height at its left, and its width under it where `said`."""
    for view, (ox, oy), wide in zip(views, places, said, strict=True):
        left, low = ox + view.low[0] * scale, oy + view.low[1] * scale
        dims.upward(sheet, low, low + view.height * scale, left - 8, dims.number(view.height), (left, left))
        crowd.add((left - 13, low - 3, left - 6, low + view.height * scale + 3))
        if wide:
            dims.across(sheet, left, left + view.width * scale, low - 7, dims.number(view.width), (low, low))
            crowd.add((left - 3, low - 8, left + view.width * scale + 3, low - 2.5))


def _columns(count: int, room: float) -> int:
    per = max(int(room / _PITCH) - 2, 1)
    return -(-count // per) if count else 0


def _tables(
    sheet: Sheet, spots: Sequence[Spot], size: tuple[float, float], columns: int, top: float, plate: bool
) -> None:
    """Draw the table of holes in as many columns as it takes, evenly filled, at the right."""
    per = -(-len(spots) // columns)
    wide = sum(_TABLE)
    head = ("hole", "x", "y") if plate else ("hole", "from end 0", "from edge")
    for column in range(columns):
        rows = [(spot.label, f"{spot.x:.2f}", f"{spot.y:.2f}") for spot in spots[column * per : (column + 1) * per]]
        x = size[0] - EDGE_ROOM - (columns - column) * (wide + 2)
        dims.table(sheet, x, top, head, rows, _TABLE, pitch=_PITCH)


def _notes(
    sheet: Sheet,
    classes: Sequence[tuple[str, str, str]],
    piece: Plate | Extrusion,
    size: tuple[float, float],
    datum: tuple[float, float, str],
    unlabelled: Sequence[str],
    bonded: bool,
) -> None:
    """Write what each class of hole is, from where positions are measured, and what every piece wants."""
    x, right = LEFT + 3, size[0] - EDGE_ROOM - BLOCK[0] - 3
    y = EDGE_ROOM + BLOCK[1] - 3.5
    lines = [f"{letter}  {count}  {said}" for letter, count, said in classes]
    end = " Deburr all edges."
    lines.append(f"Holes measured from {datum[2]} to their middles.{end}" if classes else end.strip())
    if bonded:
        lines.append("Bonded faces: no numbers, no coating, no oil.")
    if any(hole.use == "tapped" for hole in piece.holes):
        lines.append("Tapped holes are drawn as their tapping drill; no thread circle is cut.")
    if unlabelled:
        lines.append(f"No room for the labels {', '.join(unlabelled)}: find them by the table.")
    columns = 2 if len(lines) > 8 and right - x > 150 else 1
    wide, rows = (right - x) / columns, -(-len(lines) // columns)
    pitch = min(4.2, (BLOCK[1] - 5) / rows)
    for place, line in enumerate(lines):
        column, row = divmod(place, rows)
        sheet.text(x + column * wide, y - row * pitch, line, min(2.2, pitch * 0.6), most=wide - 3)


def _datum_mark(sheet: Sheet, origin: tuple[float, float], datum: tuple[float, float, str], scale: float) -> None:
    """Mark the point that positions are measured from, with the directions of x and y."""
    x, y = origin[0] + datum[0] * scale, origin[1] + datum[1] * scale
    angles = np.linspace(0, np.pi / 2, 9)
    for start in (0.0, np.pi):
        fan = np.column_stack([np.cos(angles + start), np.sin(angles + start)]) * 1.5
        sheet.area([np.vstack([np.zeros(2), fan]) + np.array([x, y])], None, (0.0, 0.0, 0.0))
    sheet.circle(x, y, 1.5, THIN)
    if datum[2].startswith("the lower"):
        dims.axes_arrows(sheet, x - 16, y - 16, "x", "y")
