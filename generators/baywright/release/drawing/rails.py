"""The setting-out drawing of motor rails: plan and side view as the car has them, and all that a fitter measures."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from baywright.rail.clear import keep_boxes
from baywright.rail.design import Foot, RailDesign
from baywright.rail.hold import INSET, WELD_LEG
from baywright.rail.setting_out import diagonals, mount_rows
from baywright.release.drawing import dims
from baywright.release.drawing.frame import (
    A3,
    EDGE_ROOM,
    LEFT,
    Rules,
    Title,
    fitting_scale,
    new_sheet,
    scale_text,
)
from baywright.release.drawing.lines import Light, light, seen_apart
from baywright.release.drawing.paper import CENTRE, EDGE, GREY, THICK, Pen, Sheet
from baywright.release.drawing.rail_welds import weld_sheet
from baywright.release.tightening import tighten

Array = NDArray[np.float64]

_VIEWS = 204.0  # mm of the sheet's width for the views; the tables stand at their right
_HEAD = 7.0  # mm over each view for its name
_BELOW = 17.0  # mm under each view for its dimensions
_ASIDE = 18.0  # mm beside each view for its dimensions
_KEEP = Pen(0.25, (1.6, 0.9), (0.7, 0.1, 0.1))
_PITCH = 3.7  # mm: rows of the tables


@dataclass(frozen=True, eq=False)
class _View:
    """A view: its name, the axes of the car that run across and up the paper, and their turn (3, 3) from the car."""

    name: str
    across: str
    up: str
    axes: Array


_X, _Y, _Z = np.eye(3)
_ABOVE = _View("FROM ABOVE", "X", "Y", np.array([_X, _Y, _Z]))
_LEFT = _View("FROM THE LEFT", "X", "Z", np.array([_X, _Z, -_Y]))
_FRONT = _View("FROM THE FRONT", "-Y", "Z", np.array([-_Y, _Z, -_X]))


def rails_sheets(design: RailDesign, job: str, revision: str, rules: Rules) -> list[Sheet]:
    """Return the setting-out drawing of a set of rails: plan with mounts, then side and front with bars and bolts.

    Args:
        design: the rails.
        job: the job's title.
        revision: the release's letter.
        rules: how the workshop draws.
    """
    subject = light(design.assembly)
    low, high = _reach(subject, design)
    wide, deep, tall = (high - low).tolist()
    room = (_VIEWS - _ASIDE - 6.0, A3[1] - 2 * EDGE_ROOM - 6.0)
    scale = min(
        fitting_scale(wide, deep, (room[0], room[1] - _HEAD - _BELOW)),
        fitting_scale(max(wide, deep), 2 * tall, (room[0], room[1] - 2 * (_HEAD + _BELOW))),
    )
    welded = [h for h in design.hangers if isinstance(h.foot, Foot) and h.foot.gussets]
    count = 3 if welded else 2
    sheets = []
    for number, views in enumerate(((_ABOVE,), (_LEFT, _FRONT)), 1):
        title = Title(
            what=f"setting out: motor rails {design.name}",
            number=f"{design.name}-setting-out",
            revision=revision,
            job=job,
            mass=design.metal.mass,
            scale=scale,
            seen=views[0].name.lower(),
            sheet=f"{number} of {count}",
        )
        sheet = new_sheet(A3, title, rules)
        top = A3[1] - EDGE_ROOM - 4.0
        for view in views:
            corners = np.array([low, high]) @ view.axes.T
            least, most = corners.min(axis=0)[:2], corners.max(axis=0)[:2]
            base = top - _HEAD - float(most[1]) * scale
            left = LEFT + 6.0 + _ASIDE - float(least[0]) * scale
            sheet.text(LEFT + 6.0, top - 4.0, f"{view.name}, scale {scale_text(scale)}", 2.6, bold=True)
            _draw(sheet, subject, design, view, scale, np.array([left, base]))
            top = base + float(least[1]) * scale - _BELOW
        (_mount_tables if number == 1 else _metal_tables)(_Column(sheet), design)
        sheets.append(sheet)
    if welded:
        sheets.append(weld_sheet(subject, design, welded, job, revision, rules))
    return sheets


def _reach(subject: Light, design: RailDesign) -> tuple[Array, Array]:
    """Return the least and most (3,) mm of everything that is drawn, vehicle frame."""
    seen = [np.array([design.located.places[h.mount.name] for h in design.hangers])]
    seen += [box.moved(design.pose).corners() for _, box, _ in keep_boxes(design)]
    seen += [_shaft(design)]
    for part in subject.parts:
        if part.number in subject.shapes:
            vertices = subject.shapes[part.number][0]
            seen += [design.pose(where(vertices)) for _, where in part.occurrences]
    every = np.vstack(seen)
    return every.min(axis=0), every.max(axis=0)


def _shaft(design: RailDesign) -> Array:
    """Return the ends (2, 3) mm of the shaft's line as drawn, vehicle frame."""
    last = max(x for _, x in design.motors) + design.given.motor.length
    return design.pose(np.array([[-60.0, 0.0, 0.0], [last + 40.0, 0.0, 0.0]]))


def _draw(sheet: Sheet, subject: Light, design: RailDesign, view: _View, scale: float, shift: Array) -> None:
    """Draw one view: what is seen of rails and motor, keep-outs, shaft and mounts, with dimensions."""
    axes = view.axes

    def at(point: Array) -> tuple[float, float]:
        x, y = (axes[:2] @ point * scale + shift).tolist()
        return x, y

    offset = axes[:2] @ design.pose.shift
    rails, motors = seen_apart(subject, axes @ design.pose.turn, {mark for mark, _ in design.motors}, points=1400)
    drawn = [[(line + offset) * scale + shift for line in lines] for lines in (motors, rails)]
    sheet.lines(drawn[0], GREY)
    sheet.lines(drawn[1], EDGE)
    crowd = dims.crowd_of(drawn[1])
    labels = []
    for name, box, _ in keep_boxes(design):
        ring = _hull(box.moved(design.pose).corners() @ axes[:2].T) * scale + shift
        sheet.area([ring], _KEEP)
        x, y = ring.mean(axis=0).tolist()
        labels.append(((x, y), 0.4, name))
    ends = _shaft(design)
    if view is not _FRONT:
        sheet.line([at(ends[0]), at(ends[1])], CENTRE)
        across = np.array([view.axes[1] * s * 70.0 for s in (-1, 1)])
        # The gearbox's face is square to the shaft.
        across = across - np.outer(across @ design.pose.turn[:, 0], design.pose.turn[:, 0])
        sheet.line([at(design.pose.shift + across[0]), at(design.pose.shift + across[1])], THICK)
    dims.centre_mark(sheet, *at(design.pose.shift), 3.0)
    labels.append((at(design.pose.shift), 2.2, "crank centre on the gearbox's face"))
    places, spots = design.located.places, dict[tuple[int, int], list[str]]()
    for hanger in design.hangers:
        u, v = at(places[hanger.mount.name])
        spots.setdefault((round(u / 3), round(v / 3)), []).append(hanger.mount.name)
        sheet.circle(u, v, 1.3, THICK)
        dims.centre_mark(sheet, u, v, 2.4)
        crowd.add((u - 2, v - 2, u + 2, v + 2))
    labels += [(at(places[names[0]]), 1.8, ", ".join(names)) for names in spots.values()]
    limits = (LEFT + 6.0 + 10.0, EDGE_ROOM + 2.0, LEFT + _VIEWS, A3[1] - EDGE_ROOM - 9.0)
    low = min(float(line[:, 1].min()) for lines in drawn for line in lines)
    _dimensions(sheet, crowd, design, view, scale, shift, low)
    for place, radius, text in labels:
        dims.label(sheet, crowd, place, radius, text, 2.0, limits)


def _dimensions(
    sheet: Sheet, crowd: dims.Crowd, design: RailDesign, view: _View, scale: float, shift: Array, low: float
) -> None:
    """Dimension mounts and crank centre across the paper under the view, and up the paper at its left."""
    places = np.array([design.located.places[h.mount.name] for h in design.hangers] + [design.pose.shift])
    flat = places @ view.axes[:2].T
    paper = flat * scale + shift
    base, aside = low - 9.0, LEFT + 6.0 + 9.0
    for axis in (0, 1):
        steps = _steps(flat[:, axis], 7.0 / scale)
        for a, b in pairwise(steps):
            text, ends = f"{b - a:.1f}", (a * scale + float(shift[axis]), b * scale + float(shift[axis]))
            if axis == 0:
                dims.across(sheet, *ends, base, text, _foot(paper, 0, ends, 1))
            else:
                dims.upward(sheet, *ends, aside, text, _foot(paper, 1, ends, 0))
    x0, x1 = (float(v) for v in (paper[:, 0].min(), paper[:, 0].max()))
    crowd.add((x0, base - 1.0, x1, base + 4.0))
    dims.axes_arrows(sheet, LEFT + 8.0 if view is not _FRONT else LEFT + 19.0, base - 7.0, view.across, view.up)


def _steps(values: Array, least: float) -> list[float]:
    """Return the different values, those nearer than `least` to the one before left out, tenths of a mm."""
    steps: list[float] = []
    for value in sorted(round(float(v), 1) for v in values):
        if not steps or value - steps[-1] > least:
            steps.append(value)
    return steps


def _foot(paper: Array, axis: int, ends: tuple[float, float], other: int) -> tuple[float, float]:
    """Return where the extension lines of a dimension start: at the lowest of the points that each is of."""
    first, second = (float(paper[np.abs(paper[:, axis] - end) < 0.2, other].min()) for end in ends)
    return first, second


def _hull(points: Array) -> Array:
    """Return the convex hull (k, 2) of a few points."""
    from shapely import MultiPoint, get_coordinates

    ring: Array = get_coordinates(MultiPoint(points).convex_hull)
    return ring[:-1]


class _Column:
    """The column of tables beside the views, written from the top down."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet, self.x, self.y = sheet, LEFT + _VIEWS + 4.0, A3[1] - EDGE_ROOM - 4.0

    def table(self, name: str, head: Sequence[str], rows: Sequence[Sequence[str]], widths: Sequence[float]) -> None:
        """Write a table under its name."""
        self.sheet.text(self.x, self.y - 3.0, name, 2.3, bold=True)
        self.y = dims.table(self.sheet, self.x, self.y - 4.4, head, rows, widths, height=1.8, pitch=_PITCH) - 2.6

    def says(self, text: str) -> None:
        """Write a line of text."""
        self.sheet.text(self.x, self.y - 2.6, text, 1.9, most=A3[0] - EDGE_ROOM - self.x - 2.0)
        self.y -= 3.8


def _mount_tables(column: _Column, design: RailDesign) -> None:
    """Write where everything is in the car, and how the feet sit on the mounts."""
    origin, shaft = design.pose.shift, design.pose.turn[:, 0]
    rise = float(np.degrees(np.arcsin(shaft[2])))
    a, b, c = (f"{v + 0.0:.1f}" for v in origin.round(1).tolist())
    motor = design.given.motor
    count = "" if motor.count == 1 else f"{motor.count} × "
    column.says("Car's frame, mm: X behind the front axle, Y to the right, Z above ground at ride height, car level.")
    column.says(f"Crank centre on the gearbox's face: X {a}, Y {b}, Z {c}.")
    column.says(f"Shaft toward the {design.ask.shaft.toward}: rises {rise:+.2f}°, {_swing(design)}.")
    column.says(f"{count}{motor.name}, front end {motor.stand_off:g} from the gearbox's face along the shaft.")
    rows = mount_rows(design)
    places = design.located.places
    away = {r.name: [f"{v + 0.0:.1f}" for v in (places[r.name] - origin).round(1).tolist()] for r in rows}
    column.table(
        "Mounts: the middle of the face that a foot sits on",
        ("mount", "X", "Y", "Z", "known to", "from crank: X", "Y", "Z"),
        [(r.name, *r.place, r.spread, *away[r.name]) for r in rows],
        (34, 18, 18, 18, 16, 24, 20, 20),
    )
    column.table(
        "Feet",
        ("mount", "bolt of the car's mount", "hole in the foot", "hangs on", "lean", "taper washers"),
        [(r.name, r.bolt, r.hole, r.bar, r.lean, "both sides" if _tapered(r.lean) else "-") for r in rows],
        (34, 40, 32, 26, 16, 20),
    )
    pairs = [(f"{one} - {other}", f"{d:.1f}") for one, other, d in diagonals(design)]
    half = -(-len(pairs) // 2)
    joined = [(*pairs[i], *(pairs[i + half] if i + half < len(pairs) else ("", ""))) for i in range(half)]
    column.table("Tape from mount to mount, before drilling", ("between", "mm") * 2, joined, (60, 24, 60, 24))
    if design.located.readings:
        worst = sorted(design.located.readings, key=lambda r: -abs(r.residual) / r.tolerance)[:12]
        column.table(
            "Tape readings as adjusted, those that fit worst first",
            ("reading", "read", "fitted", "off", "good to"),
            [(r.what, f"{r.value:.0f}", f"{r.fitted:.1f}", f"{r.residual:+.1f}", f"±{r.tolerance:g}") for r in worst],
            (84, 21, 21, 21, 21),
        )
    column.says("Round holes keep the shaft where it was; slots at the other end take up what the tape missed.")
    column.says("Offer the rails up on the car, motor in place, before any foot is drilled for its mount.")


def _metal_tables(column: _Column, design: RailDesign) -> None:
    """Write what the bars are, how tight the bolts are, and how it all goes together."""
    column.table(
        "Bars, sawn square",
        ("bar", "section", "length, mm", "ends"),
        [(b.mark, b.stock.name, f"{b.high - b.low:.0f}", "deburred; drain open") for b in design.bars.values()],
        (34, 60, 24, 50),
    )
    column.table("Tighten, dry threads", ("bolts", "of", "N·m", "by"), _torques(design), (16, 66, 14, 72))
    column.sheet.text(column.x, column.y - 3.0, "Goes together", 2.3, bold=True)
    column.y -= 5.0
    for number, text in enumerate(_steps_told(design), 1):
        column.says(f"{number}. {text}")


def _steps_told(design: RailDesign) -> list[str]:
    """Return the order of work, only what this set needs."""
    roles = {item.piece.role for item in (*design.assembly.placed, *design.assembly.fasteners())}
    told = ["Saw the bars, drill them by their templates, square to the face, deburr inside too."]
    if "crush tube" in roles or "crossbar crush tube" in roles:
        told.append("Crush tubes: saw to the bar's measured width, +0.2 / 0; their holes a light push fit.")
    if "gusset" in roles:
        leg = f"{WELD_LEG:g} mm"
        told.append(
            f"Gussets: {INSET:g} mm in from the foot's ends, fillets {leg} both sides, on the bench; then drill."
        )
    told.append("Paint all steel; only a thin primer where faces touch, sealant between steel and aluminium.")
    told.append("Cleats to the motor's lugs and rails to the cleats, finger tight." if "cleat" in roles else "")
    told.append("Motor's feet onto the rails, finger tight." if "cleat" not in roles else "")
    told.append("Crossbars onto the rails, finger tight." if "crossbar" in roles else "")
    told.append("Hang the motor from lifting gear, bring it to the gearbox, dowels home, then the mounts' bolts.")
    told.append("Tighten: gearbox first, round holes, slots, cradle last. Mark every bolt; again after 100 km.")
    told.append("Look at clearances at both steering locks, on its wheels, at full bump and droop.")
    return [text for text in told if text]


def _tapered(lean: str) -> bool:
    return lean != "-" and float(lean.rstrip("°")) > 1.0


def _swing(design: RailDesign) -> str:
    """Return how the shaft swings from straight along or across the car, seen from above."""
    x, y, _ = design.pose.turn[:, 0].tolist()
    off = float(np.degrees(np.arctan2(y, abs(x)) if abs(x) > abs(y) else np.arctan2(x, abs(y))))
    if abs(off) < 0.005:
        return "no swing"
    toward = ("right" if off > 0 else "left") if abs(x) > abs(y) else ("rear" if off > 0 else "front")
    return f"swings {abs(off):.2f}° to the {toward}"


def _torques(design: RailDesign) -> list[tuple[str, str, str, str]]:
    """Return how tight each kind of bolt is, as (size, what it holds, N·m, why); alike ones together."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for line in design.assembly.lines:
        if line.screw is None and not line.along:
            continue
        what = "mounts" if line.joint == "mounts" else line.joint.split()[0]
        tight = tighten(line, design.assembly, design.kit.catalogue)
        whats = found.setdefault((line.size, tight.told or "-", tight.why), [])
        if what not in whats:
            whats.append(what)
    return [(size, ", ".join(whats), torque, why) for (size, torque, why), whats in found.items()]
