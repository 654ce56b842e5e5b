"""Half sections of an adapter along its shaft: through the bores, and through each kind of bolt and pin."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from baywright.adapter.build import MOTOR
from baywright.adapter.design import AdapterDesign
from baywright.piece.bought import Bought
from baywright.piece.numbering import letters
from baywright.piece.plate import Plate
from baywright.release.drawing import dims
from baywright.release.drawing.cut import Cut, section
from baywright.release.drawing.cutview import callouts, draw_cuts
from baywright.release.drawing.frame import A3, BLOCK, EDGE_ROOM, LEFT, Rules, Title, new_sheet, scale_text
from baywright.release.drawing.items import Item
from baywright.release.drawing.lines import Light
from baywright.release.drawing.paper import CENTRE, DASHED, GREY, Sheet
from baywright.shape.loop import polygon

Array = NDArray[np.float64]

_OVER = 24.0  # mm along the shaft shown beyond the plates on either side
_BAND = 22.0  # mm shown off a bolt's middle, along the radius
_NAMES = 62.0  # mm on paper for the names at the right of a section
_COLUMNS = (LEFT + 5.0, LEFT + 150.0, LEFT + 272.0)  # mm: where the sections' columns start


def sections_sheet(design: AdapterDesign, subject: Light, items: Sequence[Item], title: Title, rules: Rules) -> Sheet:
    """Return the sheet of half sections, motor at the left in each."""
    sheet = new_sheet(A3, title, rules)
    top = A3[1] - EDGE_ROOM - 6.0
    sheet.text(
        _COLUMNS[0], top - 2.5, "HALF SECTIONS ALONG THE SHAFT, motor at the left, gearbox at the right", 3.0, bold=True
    )
    _bores(sheet, design, subject, items, top - 12.0)
    total = design.depth.thickness
    scale = 1.0 if total <= 45 else 0.5 if total <= 110 else 0.2
    lines = [item for item in items if item.line is not None]
    tall = 2 * _BAND * scale
    pitch = max(tall + 13.0, 27.0)
    per = max(int((top - 8.0 - EDGE_ROOM - BLOCK[1] - 8.0) / pitch), 1)
    wide = (total + 2 * _OVER) * scale
    for number, item in enumerate(lines[: 2 * per]):
        column, row = divmod(number, per)
        x, y = _COLUMNS[1 + column], top - 13.0 - row * pitch - tall
        _bolt(sheet, design, subject, items, item, letters(number + 1), scale, (x, y, wide, tall))
    return sheet


def _plane(clock: float) -> Array:
    """Return axes (3, 3) of a half plane at a clock position: right along the shaft to the gearbox, up off the shaft.

    Clock positions count as seen from the motor, where the assembly's x runs to the left.
    """
    a = np.radians(clock)
    up = np.array([-np.sin(a), np.cos(a), 0.0])
    right = np.array([0.0, 0.0, 1.0])
    return np.array([right, up, np.cross(right, up)])


def _clock(point: Array) -> float:
    return float(np.degrees(np.arctan2(-point[0], point[1])) % 360)


def _clear_clock(design: AdapterDesign) -> float:
    """Return the clock position that is farthest from every hole: the bores are seen undisturbed there."""
    taken = [_clock(p) for line in design.assembly.lines for p in line.points]
    for at in design.plates:
        sign = 1.0 if at.seen_from == "gearbox" else -1.0
        for hole in design.piece(at.mark).holes:
            x, y = polygon(hole.loop).mean(axis=0).tolist()
            if np.hypot(x, y) > 1e-3:
                taken.append(_clock(np.array([sign * x, y])))
    tried = np.arange(0.0, 360.0, 1.0)
    off = np.abs((tried[:, None] - np.array(taken or [0.0])[None] + 180) % 360 - 180).min(axis=1)
    return float(tried[int(off.argmax())])


def _bores(sheet: Sheet, design: AdapterDesign, subject: Light, items: Sequence[Item], top: float) -> None:
    """Draw the half section through the bores, from the shaft's centre line to the plates' edge, with thicknesses."""
    import shapely

    clock, total = _clear_clock(design), design.depth.thickness
    cuts = section(subject, _plane(clock), np.zeros(3))
    reach = max(float(np.hypot(*polygon(design.piece(at.mark).outline).T).max()) for at in design.plates)
    there = [
        float(ring[:, 1].max())
        for cut in cuts
        if isinstance(getattr(cut.part, "piece", None), Plate)
        for ring in cut.rings
    ]
    high = min(max(there, default=reach), reach) + 6.0
    room = top - 8.0 - (EDGE_ROOM + BLOCK[1] + 34.0)
    wide = total + 2 * _OVER
    scale = next(s for s in (1.0, 0.5, 0.2, 0.1) if (high * s <= room and wide * s <= 76.0) or s == 0.1)
    x, low = _COLUMNS[0] + 6.0, top - 8.0 - high * scale
    shift = np.array([x + _OVER * scale, low])
    frame = shapely.box(-_OVER, 0.0, total + _OVER, high)
    names = draw_cuts(sheet, cuts, frame, scale, shift, lambda cut: _called(cut, items))
    for bores, at in zip(design.bores, (design.plates[0], design.plates[-1]), strict=True):
        for bore in bores.bores:
            edge = at.face(bore.side) if bore.side else None
            z = (
                at.z + at.thickness / 2
                if edge is None
                else edge + (-1 if bore.side == "gearbox" else 1) * bore.depth / 2
            )
            text = f"Ø{bore.diameter:g} {bore.fit}".strip() + f", {bore.what}"
            if bore.limits is not None:
                text += f", {bore.limits.least:.3f} to {bore.limits.most:.3f}"
            text += f", {bore.depth:g} deep" if bore.side else ""
            names.setdefault(text, np.array([z, bore.diameter / 2]) * scale + shift)
    sheet.line([(x - 4.0, low), (x + wide * scale + 4.0, low)], CENTRE)
    name = f"A-A  bores, cut at {clock:.0f}° clockwise from the top, seen from the motor  ({scale_text(scale)})"
    sheet.text(_COLUMNS[0], top - 4.0, name, 2.2, bold=True, most=138.0)
    column = x + wide * scale + 8.0
    callouts(sheet, names, column, low, low + high * scale, most=_COLUMNS[1] - column - 6.0, height=2.0)
    here = 0.0
    for layer in design.depth.layers:
        a, b = (float(shift[0] + z * scale) for z in (here, here + layer))
        dims.across(sheet, a, b, low - 8.0, dims.number(layer), (low, low))
        here += layer
    if len(design.depth.layers) > 1:
        ends = (float(shift[0]), float(shift[0] + here * scale))
        dims.across(sheet, *ends, low - 16.0, dims.number(here), (low, low))
    sheet.text(x, low - 23.0, "motor's face at the left", 1.8)


def _bolt(
    sheet: Sheet,
    design: AdapterDesign,
    subject: Light,
    items: Sequence[Item],
    item: Item,
    letter: str,
    scale: float,
    window: tuple[float, float, float, float],
) -> None:
    """Draw the section through the first of a line's bolts or pins in a window (x, y, width, height; mm)."""
    import shapely

    assert item.line is not None
    x, y, wide, tall = window
    point = item.line.points[0]
    clock, radius = _clock(point), float(np.hypot(point[0], point[1]))
    cuts = section(subject, _plane(clock), np.zeros(3))
    low = radius - _BAND
    frame = shapely.box(-_OVER, low, design.depth.thickness + _OVER, radius + _BAND)
    shift = np.array([x + _OVER * scale, y - low * scale])
    names = draw_cuts(sheet, cuts, frame, scale, shift, lambda cut: _called(cut, items))
    flange = design.given.gearbox.flange
    if item.line.joint == "gearbox to plate" and flange:
        start = float(design.depth.thickness * scale + shift[0])
        end = min(start + flange * scale, x + wide)
        sheet.area([np.array([(start, y), (end, y), (end, y + tall), (start, y + tall)])], DASHED)
        names["bell's flange"] = np.array([(start + end) / 2, y + 0.9 * tall])
    axis = float(radius * scale + shift[1])
    sheet.line([(x - 1.5, axis), (x + wide + 1.5, axis)], CENTRE)
    sheet.box(x, y, wide, tall, GREY)
    told = f"{letter}-{letter}  item {item.number}, at {clock:.0f}°, {radius:.1f} off the shaft  ({scale_text(scale)})"
    sheet.text(x, y + tall + 5.2, told, 2.2, bold=True, most=wide + 8.0 + _NAMES)
    sheet.text(x, y + tall + 1.8, item.holes, 1.9, most=wide + 8.0 + _NAMES)
    column = x + wide + 7.0
    callouts(sheet, names, column, y, y + tall, most=min(_NAMES, A3[0] - EDGE_ROOM - 2.0 - column), height=1.9)


def _called(cut: Cut, items: Sequence[Item]) -> str:
    """Return what a cut thing is called beside its section: its item's number and name."""
    if cut.mark == MOTOR:
        return "motor"
    if cut.part is None:
        return ""
    for item in items:
        if item.mark and item.mark == cut.mark:
            return f"{item.number}  {cut.mark}"
        if item.line is not None and cut.mark.startswith(f"{item.line.name} ") and isinstance(cut.part.piece, Bought):
            rest = cut.mark.removeprefix(f"{item.line.name} ")
            if rest.split(" ")[0].isdigit():
                return f"{item.number}  {item.line.name}"
    return ""
