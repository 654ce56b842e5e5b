"""A section drawn on a sheet: cut pieces hatched, bond lines in colour, names in a column beside it."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from baywright.release.drawing.cut import Cut
from baywright.release.drawing.hatching import hatched
from baywright.release.drawing.paper import BOND, HATCH, THICK, THIN, Sheet

Names = dict[str, NDArray[np.float64]]


def draw_cuts(
    sheet: Sheet,
    cuts: Sequence[Cut],
    frame: Any,
    scale: float,
    shift: NDArray[np.float64],
    called: Callable[[Cut], str],
) -> Names:
    """Draw what a plane cuts, as far as it lies in a frame, and return a place (2,) on paper for each thing's name.

    Args:
        sheet: the sheet.
        cuts: what the plane cuts, mm along right and up.
        frame: a shapely area, mm along right and up: what lies outside is left out.
        scale: of the section.
        shift: (2,) mm on paper of the section's own origin.
        called: says what a cut thing is called; nothing is written for "".
    """
    import shapely

    names: Names = {}
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
        text = called(cut)
        if text and text not in names:
            spot = max(shapely.get_parts(area), key=lambda g: g.area).representative_point()
            names[text] = np.array([spot.x, spot.y]) * scale + shift
    return names


def callouts(
    sheet: Sheet,
    names: Mapping[str, NDArray[np.float64]],
    x: float,
    low: float,
    high: float,
    *,
    most: float = 100.0,
    height: float = 2.2,
) -> None:
    """Write names in a column with a line from each to what it names, set in an order in which no two lines cross.

    Args:
        sheet: the sheet.
        names: each name and the place (2,) mm that it is for.
        x: where the column starts, mm.
        low: its foot, mm.
        high: its top, mm.
        most: width of the column, mm.
        height: of the letters, mm.
    """
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
        sheet.text(x, float(end[1]) - 0.8, text, min(height, 0.6 * pitch), most=most)


def _cross(a: NDArray[np.float64], b: NDArray[np.float64], c: NDArray[np.float64], d: NDArray[np.float64]) -> bool:
    """Tell whether the lines from a to b and from c to d (2,) cross."""

    def side(p: NDArray[np.float64], q: NDArray[np.float64], r: NDArray[np.float64]) -> float:
        return float((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0
