"""Where boxes, adapters and rails stand in the car, to set them out by: plan, side view and their places in a table."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.adapter.build import MOTOR
from baywright.adapter.design import AdapterDesign
from baywright.box.generate import BoxDesign
from baywright.piece.numbering import letters
from baywright.rail.design import RailDesign
from baywright.rail.setting_out import mount_rows
from baywright.release.drawing import dims
from baywright.release.drawing.box import outside_marks
from baywright.release.drawing.frame import BLOCK, EDGE_ROOM, LEFT, Rules, Title, fitting_scale, new_sheet, scale_text
from baywright.release.drawing.lines import Light, seen_lines
from baywright.release.drawing.paper import CENTRE, EDGE, GREY, THIN, Sheet
from baywright.shape.pose import Pose

Array = NDArray[np.float64]

A2 = (594.0, 420.0)  # mm, long side across (ISO 216): both views of a car at 1:10 with their table
_TABLES = 190.0  # mm of the sheet's width for the tables at the right
_ABOVE, _LEFT_SIDE = np.eye(3), np.array([(1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)])
# For the picture only: a tyre's radius and half its width, and what is shown beyond the axles and wheels, mm.
_TYRE, _TREAD, _BEYOND = 300.0, 80.0, 120.0
_POINTS = 700


@dataclass(frozen=True, eq=False, kw_only=True)
class Standing:
    """One thing in the car.

    Attributes:
        name: "box front", "rails motor".
        subject: its light meshes.
        pose: where it stands, vehicle frame.
        marks: the pieces that are drawn.
        places: what it is set out by: what each place is, the place (3,) in the vehicle's frame, the hole there.
    """

    name: str
    subject: Light
    pose: Pose
    marks: set[str]
    places: tuple[tuple[str, Array, str], ...]

    def seen(self, axes: Array) -> list[Array]:
        """Return its lines (2, 2) mm as seen in the car; rows of `axes` (3, 3) point right, up and out."""
        offset = axes[:2] @ self.pose.shift
        turned = axes @ self.pose.turn
        return [line + offset for line in seen_lines(self.subject, turned, marks=self.marks, points=_POINTS)]

    def reach(self) -> tuple[Array, Array]:
        """Return the least and most (3,) mm of what is drawn, vehicle frame."""
        found = [
            self.pose(where(self.subject.shapes[part.number][0]))
            for part in self.subject.parts
            if part.number in self.subject.shapes
            for mark, where in part.occurrences
            if mark in self.marks
        ]
        every = np.concatenate(found)
        return every.min(axis=0), every.max(axis=0)


def standing_box(design: BoxDesign, subject: Light) -> Standing:
    """Return a box with its feet's bolts."""
    places = [
        (f"foot bolt {n}", bolt, "slot" if foot.slotted else "round")
        for n, (foot, bolt) in enumerate(((f, b) for f in design.feet for b in design.pose(f.bolts)), 1)
    ]
    places.append(("origin, middle of the floor's underside", design.pose.shift, ""))
    return Standing(
        name=f"box {design.name}",
        subject=subject,
        pose=design.pose,
        marks=outside_marks(subject),
        places=tuple(places),
    )


def standing_adapter(design: AdapterDesign, subject: Light, pose: Pose, *, motor: bool) -> Standing:
    """Return an adapter with the ends of its shaft's line; the motor too if `motor`."""
    marks = {p.mark for p in [*design.assembly.placed, *design.assembly.fasteners()]}
    ends = pose(np.array([(0.0, 0.0, 0.0), (0.0, 0.0, design.depth.thickness)]))
    return Standing(
        name=f"adapter {design.name}",
        subject=subject,
        pose=pose,
        marks=marks if motor else marks - {MOTOR},
        places=(("shaft at the motor's face", ends[0], ""), ("shaft at the gearbox's face", ends[1], "")),
    )


def standing_rails(design: RailDesign, subject: Light) -> Standing:
    """Return a set of rails, its motor with it, and its mounts."""
    rows = mount_rows(design)
    return Standing(
        name=f"rails {design.name}",
        subject=subject,
        pose=design.pose,
        marks={p.mark for p in [*design.assembly.placed, *design.assembly.fasteners()]},
        places=tuple((f"mount {row.name}", design.located.places[row.name], row.hole) for row in rows),
    )


def setting_out_sheet(
    things: Sequence[Standing],
    car: str,
    wheelbase: float,
    tracks: tuple[float, float],
    job: str,
    revision: str,
    rules: Rules,
) -> Sheet:
    """Return the sheet that shows where everything stands: from above, from the left, and every place in a table.

    Args:
        things: what stands in the car.
        car: its name.
        wheelbase: mm.
        tracks: front and rear, mm.
        job: the job's title.
        revision: the release's letter.
        rules: how the workshop draws.
    """
    reaches = [thing.reach() for thing in things]
    half = max(tracks) / 2 + _TREAD + _BEYOND
    rear, front = np.array([wheelbase + _TYRE + _BEYOND, half, 2 * _TYRE]), np.array([-_TYRE - _BEYOND, -half, 0.0])
    low: Array = np.min(np.array([front, *(r[0] for r in reaches)]), axis=0)
    high: Array = np.max(np.array([rear, *(r[1] for r in reaches)]), axis=0)
    size = high - low
    room = (A2[0] - LEFT - EDGE_ROOM - _TABLES - 16.0, A2[1] - 2 * EDGE_ROOM - 70.0)
    scale = fitting_scale(float(size[0]), float(size[1] + size[2]), room)
    title = Title(
        what=f"setting out in {car}",
        number="setting-out",
        revision=revision,
        job=job,
        scale=scale,
        seen="from above, front at the left",
    )
    sheet = new_sheet(A2, title, rules)
    left = LEFT + 8.0 - float(low[0]) * scale
    top = A2[1] - EDGE_ROOM - 16.0
    plan = np.array([left, top - float(high[1]) * scale])
    side = np.array([left, top - float(size[1]) * scale - 34.0 - float(high[2]) * scale])
    _view(sheet, things, "FROM ABOVE, front at the left, the car's right at the top", _ABOVE, scale, plan, top + 5.0)
    _wheels_above(sheet, wheelbase, tracks, scale, plan, (float(low[0]), float(high[0])))
    over = float(side[1] + high[2] * scale) + 7.0
    _view(sheet, things, "FROM THE LEFT", _LEFT_SIDE, scale, side, over)
    _wheels_beside(sheet, wheelbase, scale, side, (float(low[0]), float(high[0])))
    _tables(sheet, things, reaches)
    return sheet


def _view(
    sheet: Sheet, things: Sequence[Standing], name: str, axes: Array, scale: float, shift: Array, top: float
) -> None:
    """Draw one view: each thing's lines, its letter and name, its places with their labels."""
    sheet.text(LEFT + 5.0, top, f"{name}, scale {scale_text(scale)}", 2.8, bold=True)
    crowd = dims.Crowd()
    wanted = []
    for index, thing in enumerate(things):
        lines = [line * scale + shift for line in thing.seen(axes)]
        sheet.lines(lines, EDGE)
        crowd.take(dims.crowd_of(lines))
        points = np.concatenate(lines)
        (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
        middle = (y0 + y1) / 2 if thing.name.startswith("box") else y1
        wanted.append((((x0 + x1) / 2, middle), f"{letters(index)}  {thing.name}"))
    spots: dict[tuple[int, int], tuple[tuple[float, float], list[str]]] = {}
    for index, thing in enumerate(things):
        for number, (_, place, _) in enumerate(thing.places, 1):
            u, v = (axes[:2] @ place * scale + shift).tolist()
            key = (round(u / 2.5), round(v / 2.5))
            spots.setdefault(key, ((u, v), []))[1].append(f"{letters(index)}{number}")
    for (u, v), _ in spots.values():
        dims.centre_mark(sheet, u, v, 1.8)
        crowd.add((u - 1.8, v - 1.8, u + 1.8, v + 1.8))
    for at, names in spots.values():
        dims.label(sheet, crowd, at, 1.8, ", ".join(names), 2.0)
    for at, text in wanted:
        dims.label(sheet, crowd, at, 0.4, text, 3.0)


def _wheels_above(
    sheet: Sheet, wheelbase: float, tracks: tuple[float, float], scale: float, shift: Array, ends: tuple[float, float]
) -> None:
    """Draw axles, wheels and middle plane from above, the wheelbase and the axes."""

    def at(x: float, y: float) -> tuple[float, float]:
        return float(x * scale + shift[0]), float(y * scale + shift[1])

    for x, track in ((0.0, tracks[0]), (wheelbase, tracks[1])):
        sheet.line([at(x, -track / 2), at(x, track / 2)], CENTRE)
        for y in (-track / 2, track / 2):
            u, v = at(x - _TYRE, y - _TREAD)
            sheet.box(u, v, 2 * _TYRE * scale, 2 * _TREAD * scale, GREY)
    sheet.line([at(ends[0], 0), at(ends[1], 0)], CENTRE)
    low = min(at(0, -t / 2 - _TREAD)[1] for t in tracks)
    feet = (at(0, -tracks[0] / 2)[1], at(0, -tracks[1] / 2)[1])
    dims.across(sheet, at(0, 0)[0], at(wheelbase, 0)[0], low - 7.0, f"wheelbase {dims.number(wheelbase)}", feet)
    dims.axes_arrows(sheet, at(ends[0], 0)[0] + 1.0, low - 7.0, "X", "Y")


def _wheels_beside(sheet: Sheet, wheelbase: float, scale: float, shift: Array, ends: tuple[float, float]) -> None:
    """Draw ground and wheels from the side, and the axes."""
    ground = float(shift[1])
    first, last = (float(x * scale + shift[0]) for x in ends)
    sheet.line([(first, ground), (last, ground)], THIN)
    for x in (0.0, wheelbase):
        u = float(x * scale + shift[0])
        sheet.circle(u, ground + _TYRE * scale, _TYRE * scale, GREY)
        dims.centre_mark(sheet, u, ground + _TYRE * scale, 3.0)
    dims.axes_arrows(sheet, first + 1.0, ground - 14.0, "X", "Z")
    sheet.text((first + last) / 2, ground - 4.0, "ground, car level at ride height", 2.0, "middle")


def _tables(sheet: Sheet, things: Sequence[Standing], reaches: Sequence[tuple[Array, Array]]) -> None:
    """Write how far each thing reaches, every place that it is set out by, and the diagonals, at the right."""
    x, y = A2[0] - EDGE_ROOM - _TABLES, A2[1] - EDGE_ROOM - 5.0
    for text in (
        "X behind the front axle's middle, Y right of the middle plane, Z above ground, mm.",
        "Offer one thing up before marking the next. Tyres are drawn at a usual size.",
    ):
        sheet.text(x, y - 2.0, text, 2.2, most=_TABLES - 4.0)
        y -= 4.2
    rows = []
    for index, (thing, (low, high)) in enumerate(zip(things, reaches, strict=True)):
        spans = [f"{a + 0.0:.0f} to {b + 0.0:.0f}" for a, b in zip(low, high, strict=True)]
        rows.append((letters(index), thing.name, *spans))
    sheet.text(x, y - 3.6, "Reaches", 2.4, bold=True)
    y = dims.table(sheet, x, y - 5.0, ("", "what", "X", "Y", "Z"), rows, (8, 50, 42, 42, 42), height=2.0, pitch=4.0)
    places = [
        (f"{letters(index)}{n}", f"{thing.name}: {what}", *(f"{v + 0.0:.1f}" for v in np.round(place, 1)), hole)
        for index, thing in enumerate(things)
        for n, (what, place, hole) in enumerate(thing.places, 1)
    ]
    told = [text for thing in things if (text := _diagonals(thing))]
    room = y - 10.0 - (EDGE_ROOM + BLOCK[1] + 6.0) - 4.2 * len(told) - 4.0
    pitch = min(4.0, room / (len(places) + 1))
    sheet.text(x, y - 5.6, "Set out by", 2.4, bold=True)
    head, widths = ("", "what", "X", "Y", "Z", "hole"), (8, 86, 20, 20, 20, 30)
    y = dims.table(sheet, x, y - 7.0, head, places, widths, height=min(2.0, 0.52 * pitch), pitch=pitch)
    for text in told:
        y -= 4.2
        sheet.text(x, y, text, 2.2, most=_TABLES - 4.0)


def _diagonals(thing: Standing) -> str:
    """Return the diagonals between a thing's outermost holes: equal when their pattern is square; "" without four."""
    spots = np.array([place for _, place, hole in thing.places if hole])
    if len(spots) < 4:
        return ""
    corners = [int(np.argmax(spots[:, :2] @ np.array(way))) for way in ((1, 1), (-1, -1), (1, -1), (-1, 1))]
    one, other = (float(np.linalg.norm(spots[corners[i]] - spots[corners[i + 1]])) for i in (0, 2))
    names = [f"{thing.places[k][0].removeprefix('mount ')}" for k in corners]
    return f"{thing.name}: diagonals {names[0]} to {names[1]} {one:.1f}, {names[2]} to {names[3]} {other:.1f}"
