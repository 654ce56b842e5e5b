"""What a cutter can and cannot cut: each plate's holes, webs and corners against the chosen cutter's limits.

Numbers only; no CAD library is imported, so a review can call it.
"""

import math
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from baywright.finding import Finding, Verdict, at_least
from baywright.piece.numbering import Part
from baywright.piece.plate import Plate
from baywright.shape.loop import Loop, as_circle, bounds, contains, polygon
from baywright.shape.reach import distance_to

MM_PER_INCH = 25.4
_FINE = 1e-3  # mm: how closely loops that are no circles are followed
_SHARP = 5.0  # degrees: an edge that turns more than this at a corner is not smooth
# Sizes at which a slip of units (inches or metres read as mm) is more likely than such a part. Common practice, no
# source.
_SMALL, _LARGE = 4.0, 6000.0


class Cutter(Protocol):
    """The limits of one cutting shop, as its profile in the shop's tables states them (mm)."""

    @property
    def name(self) -> str:
        """The cutter's name."""

    @property
    def least_hole_to_thickness(self) -> float:
        """Least hole as a multiple of the sheet's thickness."""

    @property
    def least_hole(self) -> float:
        """Least hole in any sheet, mm."""

    @property
    def least_web_to_thickness(self) -> float:
        """Least metal between holes, or between a hole and an edge, as a multiple of the thickness."""

    @property
    def least_web(self) -> float:
        """Least metal between holes in any sheet, mm."""

    @property
    def inner_corner_radius(self) -> float:
        """The radius that the cut leaves in inner corners, mm."""


def inches(mm: float) -> str:
    """Return a length in inches to a thousandth, as drawings give it."""
    return f"{mm / MM_PER_INCH:.3f}"


def cutter_findings(part: Part, cutter: Cutter) -> list[Finding]:
    """Return the checks of one plate against a cutter: size, least hole, least web, repeats, inner corners.

    An extrusion is sawn and drilled, not cut: it has no findings here.

    Args:
        part: the part; its findings' points are in the plate's own frame.
        cutter: the cutter's limits.
    """
    plate = part.piece
    if not isinstance(plate, Plate):
        return []
    loops = list(plate.profile.holes)
    return [
        _size(part, plate),
        *_least_hole(part, plate, loops, cutter),
        *_least_web(part, plate, loops, cutter),
        *_repeats(part, plate, loops),
        *_corners(part, plate, loops, cutter),
    ]


def _size(part: Part, plate: Plate) -> Finding:
    x0, y0, x1, y1 = bounds(plate.outline)
    wide, tall = x1 - x0, y1 - y0
    odd = min(wide, tall) < _SMALL or max(wide, tall) > _LARGE
    text = f"{wide:.2f} x {tall:.2f} mm ({inches(wide)} x {inches(tall)} in)"
    return Finding(
        subject=part.number,
        check="units",
        verdict="look" if odd else "pass",
        message=f"{part.number} measures {text}" + ("; is that the size that is meant?" if odd else ""),
        value=max(wide, tall),
        unit="mm",
        source="common practice, no source",
        where=(part.number,),
    )


def _least_hole(part: Part, plate: Plate, loops: list[Loop], cutter: Cutter) -> list[Finding]:
    if not loops:
        return []
    limit = max(cutter.least_hole, cutter.least_hole_to_thickness * plate.thickness)
    widths = [least_width(loop) for loop in loops]
    worst = int(np.argmin(widths))
    value = widths[worst]
    below = sum(width < limit - _FINE for width in widths)
    verdict: Verdict = "fail" if below else "pass"
    message = f"{part.number}: smallest hole {value:.2f} mm, {cutter.name} cuts {limit:.2f} mm and more in this sheet"
    if below:
        message += f"; {below} of {len(loops)} are smaller: mark them and drill, or choose another cutter"
    return [_finding(part, plate, "least hole", verdict, message, value, limit, cutter, _middle(loops[worst]))]


def _least_web(part: Part, plate: Plate, loops: list[Loop], cutter: Cutter) -> list[Finding]:
    if not loops:
        return []
    limit = max(cutter.least_web, cutter.least_web_to_thickness * plate.thickness)
    value, place, between = least_web(plate.outline, loops)
    if not math.isfinite(value):
        return []
    verdict: Verdict = "fail" if value < limit - _FINE else "pass"
    message = f"{part.number}: least metal {value:.2f} mm, {between}; {cutter.name} wants {limit:.2f} mm"
    if verdict == "fail":
        message += ": move or shrink one of them"
    return [_finding(part, plate, "least web", verdict, message, value, limit, cutter, place)]


def _repeats(part: Part, plate: Plate, loops: list[Loop]) -> list[Finding]:
    """Report loops that lie on each other: the torch would burn the same edge twice."""
    seen: dict[tuple[object, ...], int] = {}
    for loop in loops:
        ring = as_circle(loop)
        # Middles of edges too: the same corners joined by other arcs are another loop.
        key: tuple[object, ...] = (
            tuple(np.round(ring, 3).tolist())
            if ring is not None
            else tuple(sorted(map(tuple, np.round(polygon(loop, 0.5), 3).tolist())))
        )
        seen[key] = seen.get(key, 0) + 1
    twice = sum(count - 1 for count in seen.values())
    message = f"{part.number}: {len(loops) + 1} closed loops, " + (
        f"{twice} drawn more than once: remove the repeats" if twice else "none drawn twice"
    )
    return [
        Finding(
            subject=part.number,
            check="repeated edges",
            verdict="fail" if twice else "pass",
            message=message,
            value=float(twice),
            limit=0.0,
            source="common practice, no source",
            where=(part.number,),
        )
    ]


def _corners(part: Part, plate: Plate, loops: list[Loop], cutter: Cutter) -> list[Finding]:
    """Report sharp corners that point into the metal: the cut rounds them, and they start cracks."""
    radius = cutter.inner_corner_radius
    if radius <= 0:
        return []
    # Loops are walked with the metal on the left, so a corner that turns right points into the metal.
    places = [loop[i] for loop in (plate.profile.outer, *loops) for i in np.flatnonzero(corner_turns(loop) < -_SHARP)]
    if not places:
        return []
    message = (
        f"{part.number}: {len(places)} sharp inner corners, {cutter.name} leaves a radius of about {radius:.2f} mm;"
        " round them, or see that what goes in clears it"
    )
    at = (float(places[0][0]), float(places[0][1]))
    return [_finding(part, plate, "inner corners", "look", message, 0.0, radius, cutter, at)]


def _finding(
    part: Part,
    plate: Plate,
    check: str,
    verdict: Verdict,
    message: str,
    value: float,
    limit: float,
    cutter: Cutter,
    place: tuple[float, float],
) -> Finding:
    return Finding(
        subject=part.number,
        check=check,
        verdict=verdict,
        message=message,
        value=value,
        limit=limit,
        unit="mm",
        margin=at_least(value, limit),
        source=f"cutter profile '{cutter.name}'",
        where=(part.number,),
        at=(place[0], place[1], plate.thickness),
    )


def least_width(loop: Loop) -> float:
    """Return the narrowest width of a loop in mm: its diameter, or the least distance between parallel tangents."""
    ring = as_circle(loop)
    if ring is not None:
        return ring[2]
    points = polygon(loop, _FINE * 5)
    edge = np.roll(points, -1, axis=0) - points
    length = np.hypot(edge[:, 0], edge[:, 1])
    # The least width of a convex shape stands square to one of its edges.
    normal = np.column_stack([-edge[:, 1], edge[:, 0]])[length > 0] / length[length > 0, None]
    reach = points @ normal.T
    return float(np.ptp(reach, axis=0).min())


def least_web(outline: Loop, holes: list[Loop]) -> tuple[float, tuple[float, float], str]:
    """Return the least metal in mm between two holes or a hole and the edge, where it is, and between what.

    Negative where holes overlap or leave the outline.
    """
    rings = [as_circle(hole) for hole in holes]
    best: tuple[float, tuple[float, float], str] = (math.inf, (0.0, 0.0), "")
    at = [i for i, ring in enumerate(rings) if ring is not None]
    odd = [i for i, ring in enumerate(rings) if ring is None]
    round_holes: NDArray[np.float64] = np.array([ring for ring in rings if ring is not None]).reshape(-1, 3)
    centre, radius = round_holes[:, :2], round_holes[:, 2] / 2
    if len(at) > 1:
        gap = np.hypot(*(centre[:, None] - centre[None]).transpose(2, 0, 1)) - radius[:, None] - radius[None]
        np.fill_diagonal(gap, math.inf)
        i, j = divmod(int(np.argmin(gap)), len(at))
        best = (float(gap[i, j]), _between(centre[i], centre[j]), "between two holes")
    for loop, outer, text in [(outline, True, "between a hole and the edge")] + [
        (holes[k], False, "between a hole and a cut-out") for k in odd
    ]:
        if len(at):
            inside = np.array([contains(loop, x, y) for x, y in centre.tolist()])
            away = np.where(inside == outer, 1.0, -1.0) * distance_to(loop, centre) - radius
            i = int(np.argmin(away))
            if away[i] < best[0]:
                best = (float(away[i]), (float(centre[i, 0]), float(centre[i, 1])), text)
        for k in odd:
            if not outer and holes[k] is loop:
                continue
            points, other = polygon(holes[k], _FINE), polygon(loop, _FINE)
            away = np.concatenate([distance_to(loop, points), distance_to(holes[k], other)])
            sign = 1.0 if contains(loop, *points[0].tolist()) == outer else -1.0
            i = int(np.argmin(away))
            place = np.concatenate([points, other])[i]
            if sign * away[i] < best[0]:
                what = "between a cut-out and the edge" if outer else "between two cut-outs"
                best = (float(sign * away[i]), (float(place[0]), float(place[1])), what)
    return best


def corner_turns(loop: Loop) -> NDArray[np.float64]:
    """Return how far the path turns at each corner, in degrees, left positive; 0 where edges run on smoothly."""
    chord = np.roll(loop[:, :2], -1, axis=0) - loop[:, :2]
    heading = np.arctan2(chord[:, 1], chord[:, 0])
    half = 2 * np.arctan(loop[:, 2])  # a chord leaves its arc's tangent by half the included angle
    turn = (heading - half) - np.roll(heading + half, 1)
    degrees: NDArray[np.float64] = np.degrees((turn + math.pi) % (2 * math.pi) - math.pi)
    return degrees


def _middle(loop: Loop) -> tuple[float, float]:
    x, y = loop[:, :2].mean(axis=0).tolist()
    return x, y


def _between(a: NDArray[np.float64], b: NDArray[np.float64]) -> tuple[float, float]:
    x, y = ((a + b) / 2).tolist()
    return x, y
