"""Where boxes and their bolts stand in the car, to set them out by: a plan and a table."""

from collections.abc import Sequence

import numpy as np

from baywright.box.generate import BoxDesign
from baywright.release.drawing import dims
from baywright.release.drawing.box import BoxViews
from baywright.release.drawing.frame import (
    A3,
    BLOCK,
    EDGE_ROOM,
    LEFT,
    Rules,
    Title,
    fitting_scale,
    new_sheet,
)
from baywright.release.drawing.paper import CENTRE, EDGE, GREY, Sheet


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
