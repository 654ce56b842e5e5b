"""The frame of every sheet: border, title block, projection symbol, general tolerances; and the scales in use."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from baywright.release.drawing.paper import CENTRE, THICK, THIN, Sheet

A4, A3 = (297.0, 210.0), (420.0, 297.0)  # mm, long side across (ISO 216)
LEFT, EDGE_ROOM = 20.0, 10.0  # mm of margin: room to file on the left (ISO 5457, from memory)
BLOCK = (180.0, 40.0)  # mm: the title block (ISO 7200's width, from memory)
# Scales of ISO 5455: enlarged, full size, reduced.
SCALES = (5.0, 2.0, 1.0, 1 / 2, 1 / 5, 1 / 10, 1 / 20, 1 / 50, 1 / 100)
# ISO 2768-1: permissible deviations of lengths in mm by class, for sizes up to those in the first row (from memory).
SIZES = (3.0, 6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0)
GENERAL: dict[str, tuple[float | None, ...]] = {
    "f": (0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, None),
    "m": (0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2.0),
    "c": (0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0, 4.0),
    "v": (None, 0.5, 1.0, 1.5, 2.5, 4.0, 6.0, 8.0),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """How the workshop draws.

    Attributes:
        angle: "first" or "third": where views stand (ISO 128-3, from memory: first in most of the world, third in
            North America).
        tolerance: class of ISO 2768-1 for sizes without one of their own.
        workshop: the workshop's name for the title block; left blank to write in by hand.
    """

    angle: Literal["first", "third"] = "first"
    tolerance: Literal["f", "m", "c", "v"] = "m"
    workshop: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Title:
    """What a title block says.

    Attributes:
        what: the piece or assembly in the trade's words.
        number: its part number.
        revision: the release's letter.
        job: the job's title.
        material: material and stock, or "".
        quantity: how many.
        mass: kg each.
        scale: of the main views.
        seen: which side the main view shows.
        sheet: this sheet's place, "1 of 3".
    """

    what: str
    number: str
    revision: str
    job: str
    material: str = ""
    quantity: int = 1
    mass: float | None = None
    scale: float = 1.0
    seen: str = ""
    sheet: str = "1 of 1"


def scale_text(scale: float) -> str:
    """Return a scale as drawings say it: "1:5", "2:1"."""
    return f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}"


def fitting_scale(width: float, height: float, room: tuple[float, float]) -> float:
    """Return the largest scale of ISO 5455 at which a thing (mm) goes into a room (mm on paper)."""
    for scale in SCALES:
        if width * scale <= room[0] and height * scale <= room[1]:
            return scale
    return SCALES[-1]


def new_sheet(size: tuple[float, float], title: Title, rules: Rules) -> Sheet:
    """Return a sheet with its border, title block and general tolerances."""
    sheet = Sheet(*size, title=f"{title.number}, {title.what}, revision {title.revision}")
    sheet.box(LEFT, EDGE_ROOM, size[0] - LEFT - EDGE_ROOM, size[1] - 2 * EDGE_ROOM, THICK)
    _block(sheet, size[0] - EDGE_ROOM - BLOCK[0], EDGE_ROOM, title, rules)
    return sheet


def _block(sheet: Sheet, x: float, y: float, title: Title, rules: Rules) -> None:
    """Draw the title block: four rows of named fields."""
    width, height = BLOCK
    sheet.box(x, y, width, height, THICK)
    rows = [y + height * k / 4 for k in range(5)]
    sheet.lines([[(x, r), (x + width, r)] for r in rows[1:-1]], THIN)
    mass = "" if title.mass is None else f"{title.mass:.3f} kg" if title.mass < 10 else f"{title.mass:.1f} kg"
    fields = [
        [(58.0, "workshop", rules.workshop), (76.0, "job", title.job), (46.0, "file under", title.number)],
        [(94.0, "what", title.what), (20.0, "revision", title.revision), (20.0, "sheet", title.sheet)],
        [(82.0, "material", title.material), (20.0, "pieces", f"{title.quantity}"), (32.0, "mass each", mass)],
        [(32.0, "drawn", ""), (32.0, "checked", ""), (32.0, "released", ""), (38.0, "date", "")],
    ]
    fields[1] += [(46.0, "main view", title.seen)]
    fields[2] += [(46.0, "scale", scale_text(title.scale))]
    fields[3] += [(46.0, f"{rules.angle}-angle projection", "")]
    for k, row in enumerate(fields):
        left, base = x, rows[3 - k]
        for place, (wide, name, text) in enumerate(row):
            if place:
                sheet.line([(left, base), (left, base + height / 4)], THIN)
            sheet.text(left + 1.2, base + 7.3, name, 1.4, most=wide - 2.4)
            big = name in ("what", "file under")
            sheet.text(left + 1.6, base + 2.0, text, 3.0 if big else 2.5, bold=big, most=wide - 3.2)
            left += wide
    _symbol(sheet, x + width - 22, rows[0] + 3.6, rules.angle)
    table = GENERAL[rules.tolerance]
    said = "; ".join(f"to {size:g} ±{value:g}" for size, value in zip(SIZES, table, strict=True) if value is not None)
    sheet.text(
        x + width - 1,
        y + height + 1.6,
        f"mm; sizes without a tolerance ISO 2768-{rules.tolerance}: {said}",
        1.8,
        "end",
        most=width - 2,
    )


def _symbol(sheet: Sheet, x: float, y: float, angle: str) -> None:
    """Draw the symbol of the projection: a cut cone from the side and from its small end (ISO 5456-2, from memory)."""
    cone, rings = (x - 8.0, x + 6.0) if angle == "first" else (x + 2.0, x - 6.0)
    sheet.area([np.array([(cone, y - 1.2), (cone + 7, y - 2.4), (cone + 7, y + 2.4), (cone, y + 1.2)])], THIN)
    sheet.circle(rings, y, 1.2, THIN)
    sheet.circle(rings, y, 2.4, THIN)
    sheet.lines([[(cone - 1, y), (cone + 8, y)], [(rings - 3.4, y), (rings + 3.4, y)]], CENTRE)
    sheet.line([(rings, y - 3.2), (rings, y + 3.2)], CENTRE)
