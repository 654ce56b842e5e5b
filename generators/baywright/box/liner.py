"""The insulating liner: sheet on floor and walls, cut out where metal sits on them."""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from baywright.box.build import Build, X, Y, Z
from baywright.box.fittings import Fitted
from baywright.box.layout import Layout
from baywright.box.shell import Side, corner_span, sides
from baywright.piece.solid import Hole
from baywright.shape.loop import circle, rectangle
from baywright.shape.pose import cross, pose

# Strips narrower than this insulate nothing worth the work, mm (the shop's own choice).
_LEAST = 15.0

Rect = tuple[float, float, float, float]  # s low, z low, s high, z high


def add_liner(
    build: Build,
    layout: Layout,
    fitted: list[Fitted],
    wall_metal: dict[str, list[Rect]],
    floor_bars: list[tuple[float, float]],
) -> None:
    """Add the liner's pieces.

    Args:
        build: what the box consists of so far.
        layout: the box's numbers.
        fitted: fittings, which pass through the liner of the service wall.
        wall_metal: by wall, rectangles (s, z, mm) of ledges and doublers that sit on it.
        floor_bars: intervals in x (mm) that floor bars take of the floor.
    """
    kit, style, b = layout.kit, layout.kit.style, layout.bond
    t, material, cut = style.liner.thickness, style.liner.material, style.cut_back
    if t <= 0:
        return
    half_x = layout.inside[0] / 2 - b - kit.floor_angle.width - cut
    half_y = layout.inside[1] / 2 - b - kit.floor_angle.width - cut
    for number, (low, high) in enumerate(_between(-half_x, half_x, floor_bars), 1):
        where = pose(X, Y, (low, -half_y, style.floor.thickness))
        build.panel(
            f"liner floor {number}", "liner floor", where, (high - low, 2 * half_y), t, material, seen_from="above"
        )
    low_z, high_z = corner_span(layout)
    for key, side in sides(layout).items():
        half = side.half - b - kit.corner_angle.width - cut
        free = _free((-half, low_z, half, high_z), wall_metal.get(key, []), fitted if key == "service" else [])
        for number, rect in enumerate(free, 1):
            holes = _passages(rect, fitted) if key == "service" else []
            right = cross(Z, -side.out)  # seen from inside
            s0 = rect[0] if float(right @ side.along) > 0 else rect[2]
            where = pose(right, Z, side.at(0.0, s0, rect[1]))
            build.panel(
                f"liner {key} {number}",
                "liner wall",
                where,
                (rect[2] - rect[0], rect[3] - rect[1]),
                t,
                material,
                holes=[_passage_hole(h, rect, side, right, t) for h in holes],
                seen_from="inside",
            )


def _free(rect: Rect, metal: list[Rect], fitted: list[Fitted]) -> list[Rect]:
    """Return the strips of a wall's liner; a fitting that no strip holds whole is gone round like metal."""
    gone_round = list(metal)
    for _ in fitted:
        strips = _around(rect, gone_round)
        cut = next((r for one in fitted if (r := _room(one)) not in gone_round and _straddles(r, strips)), None)
        if cut is None:
            return strips
        gone_round.append(cut)
    return _around(rect, gone_round)


def _room(one: Fitted) -> Rect:
    """Return what a fitting takes of the liner, a millimetre clear all round."""
    body = one.row.body
    w, h = (body.diameter or 0.0, body.diameter or 0.0) if body.shape == "round" else (body.size or (0.0, 0.0))
    return (one.y - w / 2 - 1, one.z - h / 2 - 1, one.y + w / 2 + 1, one.z + h / 2 + 1)


def _straddles(room: Rect, strips: list[Rect]) -> bool:
    """Tell whether a room overlaps a strip without lying within it, a narrow rim left all round."""
    for s in strips:
        over = room[0] < s[2] and room[2] > s[0] and room[1] < s[3] and room[3] > s[1]
        within = s[0] + 2 < room[0] and room[2] < s[2] - 2 and s[1] + 2 < room[1] and room[3] < s[3] - 2
        if over and not within:
            return True
    return False


def _passages(rect: Rect, fitted: list[Fitted]) -> list[tuple[str, float, float, float, float]]:
    """Return what passes the liner as (shape, s, z, width, height), clear by a millimetre all round."""
    found: list[tuple[str, float, float, float, float]] = []
    for one in fitted:
        body = one.row.body
        w, h = (body.diameter, body.diameter) if body.shape == "round" else (body.size or (0.0, 0.0))
        if rect[0] < one.y < rect[2] and rect[1] < one.z < rect[3]:
            found.append((body.shape, one.y, one.z, (w or 0.0) + 2.0, (h or 0.0) + 2.0))
    return found


def _passage_hole(
    hole: tuple[str, float, float, float, float], rect: Rect, side: Side, right: NDArray[np.float64], t: float
) -> Hole:
    """Return a passage as a hole in the strip's own frame."""
    shape, s, z, w, h = hole
    x = s - rect[0] if float(right @ side.along) > 0 else rect[2] - s
    y = z - rect[1]
    loop = circle(x, y, w) if shape == "round" else rectangle(x - w / 2, y - h / 2, x + w / 2, y + h / 2)
    return Hole(face="top", loop=loop, depth=t, use="cut-out", callout="fitting passes")


def _between(low: float, high: float, bars: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return what is left of low…high beside the bars, strips too narrow left out."""
    out, start = [], low
    for a, b in sorted(bars):
        if a - start >= _LEAST:
            out.append((start, a))
        start = max(start, b)
    if high - start >= _LEAST:
        out.append((start, high))
    return out


def _around(rect: Rect, metal: list[Rect]) -> list[Rect]:
    """Return rectangles that fill `rect` without the metal: full-width bands, split beside what sits in a band."""
    levels = sorted({rect[1], rect[3], *(z for m in metal for z in (m[1], m[3]) if rect[1] < z < rect[3])})
    bands: list[list[Rect]] = []
    for low, high in pairwise(levels):
        taken = [(m[0], m[2]) for m in metal if m[1] < high and m[3] > low]
        bands.append([(a, low, b, high) for a, b in _between(rect[0], rect[2], taken)])
    # Strips of one width on top of each other are one strip.
    merged: list[Rect] = []
    for strip in (s for band in bands for s in band):
        below = next((m for m in merged if m[0] == strip[0] and m[2] == strip[2] and m[3] == strip[1]), None)
        if below is not None:
            merged[merged.index(below)] = (below[0], below[1], below[2], strip[3])
        else:
            merged.append(strip)
    return [m for m in merged if m[3] - m[1] >= _LEAST]
