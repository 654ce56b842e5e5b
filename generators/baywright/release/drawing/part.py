"""The sheet of one made piece: views with overall sizes, every hole in a table, what a cut file can't say."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.piece.extrusion import Extrusion
from baywright.piece.numbering import Part, letters
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
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
from baywright.release.drawing.paper import FINE, HATCH, THICK, THIN, Sheet
from baywright.release.drilling import drilled_faces, from_heel
from baywright.shape.loop import Loop, as_circle, bounds, polygon
from baywright.shape.profile import Profile

_TABLE = (9.0, 15.0, 15.0)  # mm: columns of the hole table
_RULES = Rules()
_OPEN = 12.0  # mm on paper: half the width of an opening in which a label has room
_PITCH = 3.2  # mm from row to row
_FEW = 36  # holes that still go on a small sheet
_NAME = 8.0  # mm kept free above a view for its name
_DIMENSIONS = 17.0  # mm kept free beside a view for its sizes


@dataclass(frozen=True, slots=True)
class _View:
    """One drilled side: its name, size in mm, holes in its own x-y with what they are, edges to draw."""

    name: str
    width: float
    height: float
    low: tuple[float, float]
    loops: tuple[Loop, ...]
    holes: tuple[tuple[Hole, float], ...]  # with the metal's depth behind each


@dataclass(frozen=True, slots=True)
class _Spot:
    """A hole in the table: its label, its view, its middle on the view's axes, the hole."""

    label: str
    view: int
    x: float
    y: float
    hole: Hole


def part_sheet(
    part: Part, job: str, revision: str, rules: Rules = _RULES, size: tuple[float, float] | None = None
) -> Sheet:
    """Return the drawing of a made piece.

    Args:
        part: a plate or an extrusion.
        job: the job's title.
        revision: the release's letter.
        rules: how the workshop draws.
        size: of the sheet, mm; the smaller on which everything is clear if None.
    """
    piece = part.piece
    assert isinstance(piece, Plate | Extrusion)
    views = [_plate_view(piece)] if isinstance(piece, Plate) else _faces(piece)
    datum = _datum(piece)
    spots, classes = _spots(piece, views, datum)
    if size is None:
        size = A4 if len(spots) <= _FEW and len(classes) <= 6 else A3
    below = EDGE_ROOM + BLOCK[1] + 6
    columns = _columns(len(spots), size[1] - EDGE_ROOM - below - 6)
    room_x = (LEFT + 4, size[0] - EDGE_ROOM - columns * (sum(_TABLE) + 2) - 4)
    room_y = (below + 3, size[1] - EDGE_ROOM - 5)
    beside = 34.0 if isinstance(piece, Plate) else 52.0
    gap = _DIMENSIONS
    # A view's width is written under it unless the next one below has the same.
    said = [k == len(views) - 1 or abs(v.width - views[k + 1].width) > 0.005 for k, v in enumerate(views)]
    between = sum(_NAME + (_DIMENSIONS - _NAME if k and said[k - 1] else 0.0) for k in range(len(views)))
    width = max(v.width for v in views)
    height = sum(v.height for v in views)
    scale = fitting_scale(width, height, (room_x[1] - room_x[0] - gap - beside, room_y[1] - room_y[0] - gap - between))
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
    used = gap + width * scale + beside
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
        return part_sheet(part, job, revision, rules, A3)
    _notes(sheet, classes, piece, size, datum, unlabelled)
    if isinstance(piece, Plate):
        _datum_mark(sheet, places[0], datum, scale)
    return sheet


def _stock(piece: Plate | Extrusion) -> str:
    return (
        f"sheet {piece.thickness:g}" if isinstance(piece, Plate) else f"{piece.stock.name}, length {piece.length:.1f}"
    )


def _plate_view(piece: Plate) -> _View:
    x0, y0, x1, y1 = bounds(piece.outline)
    holes = tuple((hole, piece.thickness) for hole in piece.holes)
    return _View("", x1 - x0, y1 - y0, (x0, y0), (piece.outline,), holes)


def _faces(piece: Extrusion) -> list[_View]:
    """Return a view of each drilled side, or of the first one where nothing is drilled."""
    found = [
        _View(
            name,
            face.width,
            face.height,
            (0.0, 0.0),
            (_rectangle(face.width, face.height),),
            tuple((h, face.depth) for h in holes),
        )
        for name, face, holes in drilled_faces(piece)
    ]
    if found:
        return found
    faces = piece.faces()
    if not faces:  # round stock
        return [
            _View("side", piece.length, piece.stock.width, (0, 0), (_rectangle(piece.length, piece.stock.width),), ())
        ]
    name, face = next(iter(faces.items()))
    return [_View(name, face.width, face.height, (0.0, 0.0), (_rectangle(face.width, face.height),), ())]


def _rectangle(width: float, height: float) -> Loop:
    return np.array([(0, 0, 0), (width, 0, 0), (width, height, 0), (0, height, 0)], dtype=float)


def _datum(piece: Plate | Extrusion) -> tuple[float, float, str]:
    """Return where positions are measured from: a real lower left corner, else the plate's own origin."""
    if isinstance(piece, Extrusion):
        return (
            0.0,
            0.0,
            "end 0 and the heel" if piece.stock.shape in ("angle", "channel") else "end 0 and the lower edge",
        )
    x0, y0, _, _ = bounds(piece.outline)
    corner = np.hypot(piece.outline[:, 0] - x0, piece.outline[:, 1] - y0).min() < 0.01
    return (x0, y0, "the lower left corner") if corner else (0.0, 0.0, "the plate's origin")


def _spots(
    piece: Plate | Extrusion, views: Sequence[_View], datum: tuple[float, float, str]
) -> tuple[list[_Spot], list[tuple[str, str, str]]]:
    """Return every hole with its label, and the classes: letter, size, what for."""
    groups: dict[tuple[str, str], list[tuple[int, float, float, Hole]]] = {}
    for index, view in enumerate(views):
        for hole, depth in view.holes:
            x0, y0, x1, y1 = bounds(hole.loop)
            x, y = (x0 + x1) / 2, (y0 + y1) / 2
            if isinstance(piece, Extrusion):
                y = y if view.name.startswith("end") else from_heel(piece, view.name, y)
            through = hole.depth >= depth - 1e-6
            said = (
                hole.callout if hole.callout.startswith(hole.use) else ", ".join(filter(None, (hole.use, hole.callout)))
            )
            said += "" if through or " deep" in said else f", {hole.depth:g} deep"
            groups.setdefault((hole_size(hole.loop), said), []).append((index, x - datum[0], y - datum[1], hole))
    spots, classes = [], []
    for order, ((size, said), members) in enumerate(sorted(groups.items(), key=lambda g: (-len(g[1]), g[0]))):
        letter = letters(order)
        members.sort(key=lambda m: (m[0], round(m[1], 3), round(m[2], 3)))
        several = len(members) > 1
        spots += [_Spot(f"{letter}{n if several else ''}", i, x, y, h) for n, (i, x, y, h) in enumerate(members, 1)]
        classes.append((letter, f"{len(members)} × {size}", said))
    return spots, classes


def hole_size(loop: Loop) -> str:
    """Return a hole's size as a drawing calls it out: "Ø5.5", "slot 9 × 16", "60 × 40"."""
    ring = as_circle(loop)
    if ring is not None:
        return f"Ø{dims.number(ring[2])}"
    if len(loop) == 4 and np.isclose(np.abs(loop[:, 2]), [0, 1, 0, 1]).all():
        step = np.hypot(*(np.roll(loop[:, :2], -1, axis=0) - loop[:, :2]).T)
        return f"slot {dims.number(step[1])} × {dims.number(step[0] + step[1])}"
    x0, y0, x1, y1 = bounds(loop)
    return f"{dims.number(x1 - x0)} × {dims.number(y1 - y0)}"


def _draw_view(
    sheet: Sheet, crowd: dims.Crowd, view: _View, origin: tuple[float, float], scale: float, named: bool
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
    view: _View,
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


def hatch(
    shape: Profile, scale: float, shift: tuple[float, float], angle: float = 45.0, gap: float = 2.0
) -> list[NDArray[np.float64]]:
    """Return hatching lines (2, 2) mm on paper for a profile drawn at a scale from `shift`, `gap` mm apart."""
    import shapely

    area = shapely.Polygon(
        polygon(shape.outer, FINE / scale) * scale, [polygon(h, FINE / scale) * scale for h in shape.holes]
    )
    return [line + shift for line in hatched(area, angle, gap)]


def hatched(area: object, angle: float = 45.0, gap: float = 2.0) -> list[NDArray[np.float64]]:
    """Return hatching lines (2, 2) over a shapely area."""
    import shapely

    a = np.radians(angle)
    along, normal = np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])
    corners = shapely.get_coordinates(area)
    if not len(corners):
        return []
    low, high = (corners @ normal).min(), (corners @ normal).max()
    first, last = (corners @ along).min() - 1, (corners @ along).max() + 1
    offsets = np.arange(np.ceil(low / gap) * gap + gap / 2, high, gap)
    lines = [shapely.LineString([normal * o + along * first, normal * o + along * last]) for o in offsets]
    cut = shapely.get_parts(shapely.intersection(shapely.MultiLineString(lines), area)) if lines else []
    return [shapely.get_coordinates(line) for line in cut if line.length > 0.05]


def _overall(
    sheet: Sheet,
    crowd: dims.Crowd,
    views: Sequence[_View],
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
    sheet: Sheet, spots: Sequence[_Spot], size: tuple[float, float], columns: int, top: float, plate: bool
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
) -> None:
    """Write what each class of hole is, from where positions are measured, and what every piece wants."""
    x, right = LEFT + 3, size[0] - EDGE_ROOM - BLOCK[0] - 3
    y = EDGE_ROOM + BLOCK[1] - 3.5
    lines = [f"{letter}  {count}  {said}" for letter, count, said in classes]
    end = " Deburr all edges."
    lines.append(f"Holes measured from {datum[2]} to their middles.{end}" if classes else end.strip())
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
