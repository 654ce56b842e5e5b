"""The sheet of the feet that gussets are welded into: views, welds, what a welder has to know."""

from collections.abc import Sequence

import numpy as np

from baywright.rail.design import Foot, Hanger, RailDesign
from baywright.rail.hold import INSET, WELD_LEG
from baywright.release.drawing import dims
from baywright.release.drawing.frame import A3, BLOCK, EDGE_ROOM, LEFT, Rules, Title, fitting_scale, new_sheet
from baywright.release.drawing.lines import Light, seen_apart
from baywright.release.drawing.paper import EDGE, Sheet


def weld_sheet(
    subject: Light, design: RailDesign, welded: Sequence[Hanger], job: str, revision: str, rules: Rules
) -> Sheet:
    """Return the sheet of the feet that gussets are welded into: each from its end and from its front, by itself."""
    numbers = {mark: part.number for part in subject.parts for mark, _ in part.occurrences}
    room = ((A3[0] - LEFT - EDGE_ROOM - 20) / len(welded), 90.0)
    feet = [h.foot for h in welded if isinstance(h.foot, Foot)]
    legs = max(max(f.stock.width, f.stock.height) for f in feet)
    scale = fitting_scale(max(max(f.length for f in feet), legs) + 20.0, legs + 10.0, room)
    title = Title(
        what="feet with gussets, welded on the bench",
        number=f"{design.name}-welds",
        revision=revision,
        job=job,
        quantity=len(welded),
        scale=scale,
        seen="from its end, then toward the bar",
        sheet="3 of 3",
    )
    sheet = new_sheet(A3, title, rules)
    for place, foot in enumerate(feet):
        name = welded[place].mount.name
        marks = {foot.mark, f"gusset {name} 1", f"gusset {name} 2"}
        x = LEFT + 10 + place * room[0]
        y = A3[1] - EDGE_ROOM - 10.0
        told = f"{foot.mark}: {', '.join(numbers[mark] for mark in sorted(marks))}"
        sheet.text(x, y, told, 2.5, bold=True, most=room[0] - 6)
        turned = np.array([foot.out, foot.up, np.cross(foot.out, foot.up)])
        front = np.array([np.cross(foot.up, foot.out), foot.up, foot.out])
        for axes in (turned, front):
            lines, _ = seen_apart(subject, axes, set(), marks=marks)
            every = np.concatenate(lines)
            shift = np.array([x + 6, y - 8]) - np.array([every[:, 0].min(), every[:, 1].max()]) * scale
            drawn = [line * scale + shift for line in lines]
            sheet.lines(drawn, EDGE)
            if axes is turned:
                words = f"fillets {WELD_LEG:g}, both sides, both legs"
                corner = np.array([foot.root @ foot.out, (foot.root - foot.gauge * foot.up) @ foot.up])
                u, v = ((corner + foot.wall + foot.gusset_side * 0.45) * scale + shift).tolist()
                dims.label(sheet, dims.crowd_of(drawn), (u, v), 0.5, words, 2.3)
            y += float(shift[1] + every[:, 1].min() * scale) - y - 8
    notes = (
        f"Fillets, leg {WELD_LEG:g} mm, on both sides of both legs of each gusset, all its length between the snipes.",
        f"Gussets {INSET:g} mm in from the ends of the angle: room for the outer fillet. Tack, square up, weld.",
        "By a welder qualified for it (ISO 9606-1); no undercut, no open ends: look at every weld, dye where in doubt.",
        "Drill the foot after welding, or check its holes: welding draws the legs together.",
    )
    for line, text in enumerate(notes):
        sheet.text(LEFT + 6, EDGE_ROOM + 34 - 5 * line, text, 2.3, most=A3[0] - LEFT - EDGE_ROOM - BLOCK[0] - 10)
    return sheet
