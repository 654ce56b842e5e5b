"""The assembly drawing of an adapter: each side as somebody stands there sees it, sections, depth stack and limits."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.adapter.build import MOTOR, PlateAt
from baywright.adapter.design import AdapterDesign
from baywright.job.catalogue import Catalogue
from baywright.piece.joint import ScrewLine
from baywright.release.drawing import dims
from baywright.release.drawing.adapter_depth import depth_sheet
from baywright.release.drawing.adapter_section import sections_sheet
from baywright.release.drawing.frame import A3, BLOCK, EDGE_ROOM, LEFT, Rules, Title, new_sheet
from baywright.release.drawing.items import Item, items_of
from baywright.release.drawing.lines import Light, seen_lines
from baywright.release.drawing.paper import CENTRE, DASHED, EDGE, GREY, THIN, Sheet
from baywright.release.tightening import tighten
from baywright.shape.loop import polygon
from baywright.shape.pattern import Side

Array = NDArray[np.float64]

COUNT = 4  # sheets of the drawing
# Rows point right, up and out of the paper: the frame has z to the gearbox and x to the right seen from there.
_FROM: dict[Side, Array] = {"motor": np.diag([-1.0, 1.0, -1.0]), "gearbox": np.eye(3)}
_STUB = 40.0  # mm of the motor that the view across the shaft shows
_TOP, _BELOW, _ASIDE = 20.0, 15.0, 16.0  # mm on paper kept for the name over a view and the sizes under and beside it
# Between the standard's 1:2 and 1:5 a plate of half a metre needs one more: ISO 5455 allows it (from memory).
_SCALES = (1.0, 0.5, 0.4, 1 / 3, 0.25, 0.2, 0.1, 0.05)
_ARC = 4.0  # mm on paper that arcs of the motor's features stand off the plate's edge


def adapter_sheets(
    design: AdapterDesign, subject: Light, catalogue: Catalogue, job: str, revision: str, rules: Rules
) -> list[Sheet]:
    """Return an adapter's assembly drawing: from the motor, from the gearbox, sections, depth stack and limits.

    Args:
        design: the adapter.
        subject: its light meshes, with its parts.
        catalogue: the shop's tables, for torques.
        job: the job's title.
        revision: the release's letter.
        rules: how the workshop draws.
    """
    items = items_of(design, subject)
    frame = _Frame(design, job, revision, rules)
    sides: tuple[Side, Side] = ("motor", "gearbox")
    sheets = [_face_sheet(frame, subject, items, catalogue, side) for side in sides]
    title = frame.title("3", "sections along the shaft", 0.5)
    sheets.append(sections_sheet(design, subject, items, title, rules))
    sheets.append(depth_sheet(design, frame.title("4", "depth stack", 1.0), rules))
    return sheets


@dataclass(frozen=True, eq=False)
class _Frame:
    """What all sheets of an adapter share."""

    design: AdapterDesign
    job: str
    revision: str
    rules: Rules

    def title(self, number: str, seen: str, scale: float) -> Title:
        design = self.design
        return Title(
            what=f"adapter {design.name}: {design.given.ask.motor} to {design.given.ask.gearbox}",
            number=f"{design.name}-adapter",
            revision=self.revision,
            job=self.job,
            material="as item list; each plate has its own sheet",
            mass=design.metal.mass,
            scale=scale,
            seen=seen,
            sheet=f"{number} of {COUNT}",
        )


def _face_sheet(frame: _Frame, subject: Light, items: Sequence[Item], catalogue: Catalogue, side: Side) -> Sheet:
    """Return the sheet that shows the adapter from one side, the motor's with a view across the shaft beside it."""
    design = frame.design
    axes = _FROM[side]
    marks = {p.mark for p in [*design.assembly.placed, *design.assembly.fasteners()]} - {MOTOR}
    flat = np.concatenate([_outline(design, at, side) for at in design.plates])
    low, high = flat.min(axis=0), flat.max(axis=0)
    across = side == "motor"
    deep = design.depth.thickness + _STUB + 20.0 if across else 0.0
    room = (A3[0] - LEFT - EDGE_ROOM - 2 * _ASIDE - (34.0 if across else 8.0), A3[1] - 2 * EDGE_ROOM - BLOCK[1] - 8.0)
    size = high - low
    free = (room[0], room[1] - _TOP - _BELOW)
    fitting = (s for s in _SCALES if (float(size[0]) + deep) * s <= free[0] and float(size[1]) * s <= free[1])
    scale = next(fitting, _SCALES[-1])
    sheet = new_sheet(A3, frame.title("1" if across else "2", f"seen from the {side}", scale), frame.rules)
    base = EDGE_ROOM + BLOCK[1] + 8.0
    used = (float(size[0]) + deep) * scale
    left = LEFT + _ASIDE + 4.0 + max((room[0] - used) / 2, 0.0)
    foot = base + _BELOW + max((room[1] - _TOP - _BELOW - float(size[1]) * scale) / 2, 0.0)
    shift = np.array([left, foot]) - low * scale
    lines = [line * scale + shift for line in seen_lines(subject, axes, marks=marks, points=1400)]
    crowd = dims.crowd_of(lines)
    sheet.lines(lines, EDGE)
    (x0, y0), (x1, y1) = (low * scale + shift).tolist(), (high * scale + shift).tolist()
    _about_shaft(sheet, crowd, design, side, scale, shift, (x0, y0, x1, y1))
    name = sheet.text(
        LEFT + 5.0, A3[1] - EDGE_ROOM - 7.0, f"SEEN FROM THE {side.upper()}, {side} taken off", 3.5, bold=True
    )
    crowd.add_text(name)
    dims.across(sheet, x0, x1, y0 - 9.0, dims.number(float(size[0])), (y0, y0))
    dims.upward(sheet, y0, y1, x0 - 9.0, dims.number(float(size[1])), (x0, x0))
    crowd.add((x0 - 14.0, y0 - 12.0, x1, y0 - 4.0))
    crowd.add((x0 - 14.0, y0, x0 - 6.0, y1))
    limits = (LEFT + 2.0, base + 2.0, x1 + _ASIDE, A3[1] - EDGE_ROOM - 4.0)
    if across:
        _across_view(sheet, crowd, frame, subject, marks, scale, (x1 + _ASIDE + 14.0, float(shift[1])))
    _features(sheet, crowd, design, side, scale, shift, limits)
    _numbers(sheet, crowd, design, items, side, scale, shift, limits)
    _item_list(sheet, design, items, catalogue)
    return sheet


def _outline(design: AdapterDesign, at: PlateAt, side: Side) -> Array:
    """Return a plate's outline (n, 2) mm as one side sees it, about the shaft."""
    sign = 1.0 if at.seen_from == side else -1.0
    edge: Array = polygon(design.piece(at.mark).outline) * (sign, 1.0)
    return edge


def _along(edge: Array) -> Array:
    """Return points (m, 2) all along a closed outline (n, 2), long sides included."""
    ends = np.roll(edge, -1, axis=0)
    return np.concatenate([edge + (ends - edge) * share for share in np.linspace(0, 1, 20, endpoint=False)])


def _about_shaft(
    sheet: Sheet,
    crowd: dims.Crowd,
    design: AdapterDesign,
    side: Side,
    scale: float,
    shift: Array,
    reach: tuple[float, float, float, float],
) -> None:
    """Draw the centre lines, the bolt circles of holes that stand on one, the motor's outline and which way is up."""
    x, y = shift.tolist()
    x0, y0, x1, y1 = reach
    middle = [np.array([(x0 - 4.0, y), (x1 + 4.0, y)]), np.array([(x, y0 - 3.0), (x, y1 + 4.0)])]
    sheet.lines(middle, CENTRE)
    crowd.take(dims.crowd_of(middle))
    faces = {"motor": design.motor_holes, "gearbox": design.gearbox_holes}
    for face, holes in faces.items():
        if face != side and len(design.plates) > 1:
            continue  # another plate hides it
        radii = {round(one.hole.radius, 2) for one in holes if one.make != "dowel"}
        if len(radii) == 1:
            sheet.circle(x, y, radii.pop() * scale, CENTRE)
    if side == "motor":
        sheet.circle(x, y, design.given.motor.diameter / 2 * scale, DASHED)
    tip = np.array([x, y1 + 15.0])
    sheet.line([(x, y1 + 8.5), (x, y1 + 15.0)], THIN)
    dims.arrow(sheet, tip, (0.0, 1.0))
    crowd.add_text(sheet.text(x + 2.0, y1 + 11.0, "UP", 3.0, bold=True))
    crowd.add((x - 1.0, y1 + 8.0, x + 1.0, y1 + 16.0))


def _features(
    sheet: Sheet,
    crowd: dims.Crowd,
    design: AdapterDesign,
    side: Side,
    scale: float,
    shift: Array,
    limits: tuple[float, float, float, float],
) -> None:
    """Draw where the motor's terminals, ports and feet stand, and where nothing of it may, as arcs off the edge."""
    sign = 1.0 if side == "motor" else -1.0
    edge = np.concatenate([_along(_outline(design, at, "motor")) for at in design.plates])
    clock = np.degrees(np.arctan2(edge[:, 0], edge[:, 1])) % 360
    far = np.hypot(edge[:, 0], edge[:, 1])
    turn = design.clocking
    arcs = [(f.name, f.clocks[0] + turn, f.clocks[1] + turn) for f in design.given.motor.features]
    arcs += [(f"keep clear: {s.name}", *s.clocks) for s in design.given.ask.keep_out]
    least = design.given.motor.diameter / 2
    labels = []
    for number, (name, start, end) in enumerate(arcs):
        wide = (end - start) % 360
        middle = start + wide / 2
        near = np.abs((clock - middle + 180) % 360 - 180) <= wide / 2 + 8
        radius = max(float(far[near].max(initial=least)), least) * scale + _ARC + 1.6 * (number % 2)
        angles = np.radians(start + np.linspace(0, wide, 25))
        arc = np.column_stack([sign * np.sin(angles), np.cos(angles)]) * radius + shift
        sheet.line(arc, THIN)
        crowd.take(dims.crowd_of([arc]))
        a = np.radians(middle)
        labels.append(((float(shift[0] + sign * np.sin(a) * radius), float(shift[1] + np.cos(a) * radius)), name))
    for at, name in labels:
        dims.label(sheet, crowd, at, 0.4, name, 2.2, limits)


def _numbers(
    sheet: Sheet,
    crowd: dims.Crowd,
    design: AdapterDesign,
    items: Sequence[Item],
    side: Side,
    scale: float,
    shift: Array,
    limits: tuple[float, float, float, float],
) -> None:
    """Write the item's number at every bolt, pin and plate that this side sees."""
    axes = _FROM[side]
    order = design.plates if side == "motor" else design.plates[::-1]
    for item in items:
        if item.line is None:
            continue
        for point in item.line.points:
            u, v = (axes[:2] @ point).tolist()
            if not _seen(design, order, item.line, side, u, v):
                continue
            at = (float(u * scale + shift[0]), float(v * scale + shift[1]))
            radius = max(item.line.diameter, 6.0) / 2 * scale
            dims.label(sheet, crowd, at, radius, str(item.number), 2.2, limits)


def _seen(design: AdapterDesign, order: Sequence[PlateAt], line: ScrewLine, side: Side, u: float, v: float) -> bool:
    """Tell whether the nearest plate with metal or a hole at a place is one that a line passes."""
    import shapely

    passed = {layer.mark for layer in line.layers}
    spot = shapely.Point(u, v)
    for at in order:
        if at.mark in passed:
            return True
        sign = 1.0 if at.seen_from == side else -1.0
        piece = design.piece(at.mark)
        metal = shapely.Polygon(
            polygon(piece.outline) * (sign, 1.0), [polygon(hole.loop) * (sign, 1.0) for hole in piece.holes]
        )
        if metal.contains(spot):
            return False
    return True


def _across_view(
    sheet: Sheet,
    crowd: dims.Crowd,
    frame: _Frame,
    subject: Light,
    marks: set[str],
    scale: float,
    place: tuple[float, float],
) -> None:
    """Draw the view across the shaft at the right of the view from the motor, with thicknesses.

    In third angle it is what stands at the motor's viewer's right, motor at the left; in first angle what stands at the
    left, motor at the right.
    """
    design = frame.design
    way = 1.0 if frame.rules.angle == "third" else -1.0
    axes = np.array([(0, 0, way), (0, 1, 0), (-way, 0, 0)], dtype=float)
    total = design.depth.thickness
    ends = (-_STUB, total) if way > 0 else (-total, _STUB)
    left, y = place
    shift = np.array([left - ends[0] * scale, y])
    lines = [line * scale + shift for line in seen_lines(subject, axes, marks=marks, points=1400)]
    sheet.lines(lines, EDGE)
    points = np.concatenate(lines)
    low, high = points.min(axis=0), points.max(axis=0)

    def at(z: float) -> float:
        return float(way * z * scale + shift[0])

    half = design.given.motor.diameter / 2 * scale
    stub = sorted((at(-_STUB), at(0.0)))
    sheet.box(stub[0], y - half, stub[1] - stub[0], 2 * half, GREY)
    sheet.line([(float(low[0]) - 3.0, y), (max(float(high[0]), stub[1]) + 3.0, y)], CENTRE)
    foot, top, here = float(low[1]), float(high[1]) + 3.0, 0.0
    sheet.text(at(0.0) - way * 2.0, top, "motor", 2.5, "end" if way > 0 else "start")
    sheet.text(at(total) + way * 2.0, top, "gearbox", 2.5, "start" if way > 0 else "end")
    for number, layer in enumerate(design.depth.layers):
        a, b = sorted((at(here), at(here + layer)))
        narrow = b - a < 10.0
        if not narrow or len(design.depth.layers) == 1:
            dims.across(sheet, a, b, foot - 7.0, dims.number(layer), (foot, foot))
        elif number == 0:
            text = " + ".join(dims.number(t) for t in design.depth.layers)
            sheet.text(at(total / 2), foot - 6.0, text, 2.2, "middle")
        here += layer
    if len(design.depth.layers) > 1:
        a, b = sorted((at(0.0), at(here)))
        dims.across(sheet, a, b, foot - 13.0, dims.number(here), (foot, foot))
    crowd.add((float(low[0]) - 4.0, float(low[1]) - 15.0, float(high[0]) + 6.0, top + 4.0))


def _item_list(sheet: Sheet, design: AdapterDesign, items: Sequence[Item], catalogue: Catalogue) -> None:
    """Write the list of items left of the title block: what each is, what its holes are, how tight."""
    rows = []
    for item in items:
        tight = ""
        if item.line is not None:
            told = tighten(item.line, design.assembly, catalogue)
            tight = f"{told.torque:.0f} N·m" if told.torque is not None else told.why
        rows.append((str(item.number), str(item.count), item.name, item.holes, tight))
    pitch = min(4.0, (BLOCK[1] - 6.0) / (len(rows) + 1))
    widths = (8.0, 7.0, 66.0, 58.0, 67.0)
    head = ("item", "off", "what", "in the plates", "tighten, dry")
    top = EDGE_ROOM + BLOCK[1] - 0.5
    height = min(2.0, pitch * 0.52)
    foot = dims.table(sheet, LEFT + 2.0, top, head, rows, widths, height=height, pitch=pitch)
    shop = design.given.ask
    text = f"Motor turned {design.clocking:g}° clockwise, seen from the motor, from its own drawing."
    text += f" Features of the gearbox's side within Ø{shop.placing:g} of those of the motor's side."
    sheet.text(LEFT + 2.0, min(foot - 3.2, top), text, 1.8, most=206.0)
