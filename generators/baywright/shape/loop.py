"""Closed loops of straight edges and arcs: what a cutter follows.

A loop is an (n, 3) float array: x, y, bulge. Row i is a corner and the edge that leaves it; the last edge returns to
the first corner. bulge = tan(included angle / 4): 0 is straight, positive turns counter-clockwise. Units: mm.
"""

import math
from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Loop: TypeAlias = NDArray[np.float64]

# Gauss-Legendre nodes on 0…1. Along a straight edge the integrands are polynomials of degree 4, along an arc of at most
# a full circle they are smooth trigonometric polynomials of degree 5: 24 nodes give both to the last digits of a float.
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)
_NODES = (_NODES + 1) / 2
_WEIGHTS = _WEIGHTS / 2

# How far two positions may differ and still be the same place: far below any shop's accuracy, above float noise. mm.
SAME = 1e-6


def loop_of(points: Sequence[Sequence[float]]) -> Loop:
    """Return a loop (n, 3) mm from corners given as (x, y) or (x, y, bulge).

    Raises:
        ValueError: if fewer than two corners are given, or two straight ones, or a number is not finite.
    """
    rows = [tuple(p) if len(p) == 3 else (*p, 0.0) for p in points]
    loop = np.array(rows, dtype=float).reshape(-1, 3)
    if not np.isfinite(loop).all():
        raise ValueError("a loop needs finite numbers")
    if len(loop) < 2 or (len(loop) == 2 and not loop[:, 2].any()):
        raise ValueError("a loop needs at least three corners, or two joined by an arc")
    return loop


def rectangle(x0: float, y0: float, x1: float, y1: float, radius: float = 0.0) -> Loop:
    """Return the rectangle between two opposite corners (mm), counter-clockwise, its corners rounded by `radius`."""
    x0, x1 = min(x0, x1), max(x0, x1)
    y0, y1 = min(y0, y1), max(y0, y1)
    if radius <= 0:
        return loop_of([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    if 2 * radius > min(x1 - x0, y1 - y0) + SAME:
        raise ValueError(f"corner radius {radius:g} mm is too large for {x1 - x0:g} x {y1 - y0:g} mm")
    quarter = math.tan(math.pi / 8)
    return _without_repeats(
        loop_of(
            [
                (x0 + radius, y0, 0),
                (x1 - radius, y0, quarter),
                (x1, y0 + radius, 0),
                (x1, y1 - radius, quarter),
                (x1 - radius, y1, 0),
                (x0 + radius, y1, quarter),
                (x0, y1 - radius, 0),
                (x0, y0 + radius, quarter),
            ]
        )
    )


def circle(x: float, y: float, diameter: float) -> Loop:
    """Return the circle round (x, y) as two half-circle edges, counter-clockwise (mm)."""
    r = diameter / 2
    return np.array([[x - r, y, 1.0], [x + r, y, 1.0]])


def slot(x: float, y: float, width: float, length: float, angle: float = 0.0) -> Loop:
    """Return a round-ended slot round (x, y): `length` over the ends along `angle` (degrees), `width` across (mm)."""
    if length <= width + SAME:
        return circle(x, y, width)
    half, r = (length - width) / 2, width / 2
    flat = loop_of([(-half, -r, 0), (half, -r, 1), (half, r, 0), (-half, r, 1)])
    return moved(flat, x, y, angle)


def as_circle(loop: Loop) -> tuple[float, float, float] | None:
    """Return (x, y, diameter) in mm if the loop is one true circle, else None."""
    if len(loop) != 2:
        return None
    (x0, y0, b0), (x1, y1, b1) = loop.tolist()
    if abs(abs(b0) - 1) > 1e-12 or abs(b0 - b1) > 1e-12:
        return None
    return (x0 + x1) / 2, (y0 + y1) / 2, math.hypot(x1 - x0, y1 - y0)


def moved(loop: Loop, dx: float, dy: float, angle: float = 0.0) -> Loop:
    """Return the loop turned by `angle` degrees about the origin, then shifted by (dx, dy) mm."""
    out = loop.copy()
    if angle:
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        out[:, :2] = loop[:, :2] @ np.array([[c, s], [-s, c]])
    out[:, :2] += (dx, dy)
    return out


def mapped(loop: Loop, matrix: NDArray[np.float64], shift: tuple[float, float] = (0.0, 0.0)) -> Loop:
    """Return the loop under an orthogonal 2x2 `matrix` and a shift (mm); a mirror flips the bulges, not the order."""
    out = loop.copy()
    out[:, :2] = loop[:, :2] @ np.asarray(matrix).T + np.asarray(shift)
    if np.linalg.det(matrix) < 0:
        out[:, 2] = -loop[:, 2]
    return out


def reversed_loop(loop: Loop) -> Loop:
    """Return the same loop walked the other way."""
    out = loop[::-1].copy()
    out[:-1, 2], out[-1, 2] = -loop[-2::-1, 2], -loop[-1, 2]  # an edge's bulge stands with the corner that it leaves
    return out


def counter_clockwise(loop: Loop) -> Loop:
    """Return the loop walked so that its area is positive."""
    return loop if area(loop) > 0 else reversed_loop(loop)


def clockwise(loop: Loop) -> Loop:
    """Return the loop walked so that its area is negative."""
    return reversed_loop(loop) if area(loop) > 0 else loop


def _next(loop: Loop) -> Loop:
    """Return each corner's successor, row by row."""
    return np.concatenate([loop[1:], loop[:1]])


def edge_samples(
    loops: Sequence[Loop],
) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Return x, y, dx/ds, dy/ds (each (edges, nodes), mm) along all edges of all loops at the quadrature nodes."""
    start = np.concatenate(loops)
    end = np.concatenate([_next(loop) for loop in loops])
    p, chord, bulge = start[:, :2], end[:, :2] - start[:, :2], start[:, 2]
    x = p[:, :1] + chord[:, :1] * _NODES
    y = p[:, 1:] + chord[:, 1:] * _NODES
    dx, dy = chord[:, :1] + np.zeros_like(x), chord[:, 1:] + np.zeros_like(y)
    bent = bulge != 0
    if bent.any():
        b, c = bulge[bent], chord[bent]
        # Centre = middle of the chord + its left normal times (1 - b²) / 4b.
        centre = p[bent] + c / 2 + np.column_stack([-c[:, 1], c[:, 0]]) * ((1 - b * b) / (4 * b))[:, None]
        spoke = p[bent] - centre
        turn = (4 * np.arctan(b))[:, None]
        cos, sin = np.cos(turn * _NODES), np.sin(turn * _NODES)
        rx = spoke[:, :1] * cos - spoke[:, 1:] * sin
        ry = spoke[:, :1] * sin + spoke[:, 1:] * cos
        x[bent], y[bent] = centre[:, :1] + rx, centre[:, 1:] + ry
        dx[bent], dy[bent] = -ry * turn, rx * turn
    return x, y, dx, dy


def moments(loops: Sequence[Loop]) -> NDArray[np.float64]:
    """Return area, ∫x, ∫y, ∫x², ∫y², ∫xy over the signed area of the loops (mm², mm³, mm⁴), arcs exact.

    Green's theorem, edge by edge: a loop walked clockwise counts negative, so an outline and reversed holes add up.
    """
    total = np.zeros(6)
    rounds, bent, corners, successors = [], [], [], []
    for loop in loops:
        round_ = as_circle(loop)
        if round_ is not None:
            rounds.append((*round_, loop[0, 2]))
        elif loop[:, 2].any():
            bent.append(loop)
        else:
            corners.append(loop)
            successors.append(_next(loop))
    if rounds:
        x, y, d, turn = np.array(rounds).T
        a, own = turn * np.pi / 4 * d * d, d * d / 16
        total += np.stack([a, a * x, a * y, a * (x * x + own), a * (y * y + own), a * x * y]).sum(axis=1)
    if corners:
        # Straight edges, closed form: each with the origin makes a triangle, whose moments are its corners' sums.
        x, y, _ = np.concatenate(corners).T
        u, v, _ = np.concatenate(successors).T
        twice = x * v - u * y
        total += np.stack(
            [
                twice / 2,
                twice * (x + u) / 6,
                twice * (y + v) / 6,
                twice * (x * x + x * u + u * u) / 12,
                twice * (y * y + y * v + v * v) / 12,
                twice * (2 * x * y + x * v + u * y + 2 * u * v) / 24,
            ]
        ).sum(axis=1)
    if bent:
        x, y, dx, dy = edge_samples(bent)
        terms = np.stack([x * dy, x * x * dy / 2, -y * y * dx / 2, x**3 * dy / 3, -(y**3) * dx / 3, x * x * y * dy / 2])
        total += (terms @ _WEIGHTS).sum(axis=1)
    return total


def area(loop: Loop) -> float:
    """Return the signed area in mm²: positive when walked counter-clockwise."""
    round_ = as_circle(loop)
    if round_ is not None:
        return math.copysign(math.pi / 4 * round_[2] ** 2, loop[0, 2])
    start, end = loop, _next(loop)
    chords = float((start[:, 0] * end[:, 1] - end[:, 0] * start[:, 1]).sum()) / 2
    b = loop[:, 2]
    bent = b != 0
    if not bent.any():
        return chords
    # Each arc adds the segment between itself and its chord: r²/2 (turn - sin turn), r = chord (1 + b²) / 4|b|.
    b, d = b[bent], (end - start)[bent, :2]
    turn, r2 = 4 * np.arctan(b), (d * d).sum(axis=1) * ((1 + b * b) / (4 * b)) ** 2
    return chords + float((r2 * (turn - np.sin(turn))).sum()) / 2


def lie(loop: Loop) -> tuple[float, float, float]:
    """Return the middle of a loop's area (x, y) and which way the area leans, mm.

    Outlines of one size and one area may still be each other's mirror image, or have a corner off at the other end: the
    middle of the area tells them apart, and where that is the same, its product moment over area and larger side.
    """
    round_ = as_circle(loop)
    if round_ is not None:
        return round_[0], round_[1], 0.0
    x0, y0, x1, y1 = bounds(loop)
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    metal, sx, sy, _, _, sxy = moments([moved(loop, -x, -y)]).tolist()
    return x + sx / metal, y + sy / metal, (sxy / metal - sx * sy / metal**2) / max(x1 - x0, y1 - y0)


def perimeter(loop: Loop) -> float:
    """Return the length of the loop in mm."""
    chord = _next(loop)[:, :2] - loop[:, :2]
    length = np.hypot(chord[:, 0], chord[:, 1])
    b = np.abs(loop[:, 2])
    bent = b > 0
    length[bent] *= (1 + b[bent] ** 2) / (2 * b[bent]) * 2 * np.arctan(b[bent])
    return float(length.sum())


def bounds(loop: Loop) -> tuple[float, float, float, float]:
    """Return (x least, y least, x most, y most) in mm, arcs included."""
    round_ = as_circle(loop)
    if round_ is not None:
        x, y, d = round_
        return x - d / 2, y - d / 2, x + d / 2, y + d / 2
    points = [loop[:, :2]]
    for x, y, r, start, turn in arcs(loop):
        for quarter in range(4):
            angle = quarter * math.pi / 2
            ahead = (angle - start) % (2 * math.pi) if turn > 0 else (start - angle) % (2 * math.pi)
            if ahead < abs(turn):
                points.append(np.array([[x + r * math.cos(angle), y + r * math.sin(angle)]]))
    every = np.concatenate(points)
    low, high = every.min(axis=0), every.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def arcs(loop: Loop) -> list[tuple[float, float, float, float, float]]:
    """Return each arc as (centre x, centre y, radius, start angle, turn): mm and radians, turn signed."""
    found = []
    for (x0, y0, b), (x1, y1, _) in zip(loop.tolist(), _next(loop).tolist(), strict=True):
        if b:
            k = (1 - b * b) / (4 * b)
            cx, cy = (x0 + x1) / 2 - (y1 - y0) * k, (y0 + y1) / 2 + (x1 - x0) * k
            found.append(
                (
                    cx,
                    cy,
                    math.hypot(x0 - cx, y0 - cy),
                    math.atan2(y0 - cy, x0 - cx),
                    4 * math.atan(b),
                )
            )
    return found


def polygon(loop: Loop, sagitta: float = 0.05) -> NDArray[np.float64]:
    """Return corners (m, 2) in mm of a polygon whose chords leave the arcs by at most `sagitta` mm."""
    points: list[tuple[float, float]] = []
    found = iter(arcs(loop))
    for x, y, bulge in loop.tolist():
        points.append((x, y))
        if bulge:
            cx, cy, r, start, turn = next(found)
            step = 2 * math.acos(1 - sagitta / r) if r > sagitta else math.pi / 2
            count = max(math.ceil(abs(turn) / step), 2)
            points += [
                (
                    cx + r * math.cos(start + turn * i / count),
                    cy + r * math.sin(start + turn * i / count),
                )
                for i in range(1, count)
            ]
    return np.array(points, dtype=float)


def contains(loop: Loop, x: float, y: float) -> bool:
    """Tell whether (x, y) mm lies inside the loop, arcs exact; a point on the edge itself may count either way."""
    if len(loop) == 4:
        (x0, y0, *_), (x1, y1, *_), (x2, y2, *_), (x3, y3, *_) = corners = loop.tolist()
        along = (x0 == x3 and y0 == y1 and x1 == x2 and y2 == y3) or (x0 == x1 and y1 == y2 and x2 == x3 and y3 == y0)
        if along and not any(bulge for *_, bulge in corners):  # a rectangle along the axes, by far the most common
            return bool(min(x0, x2) < x < max(x0, x2) and min(y0, y2) < y < max(y0, y2))
    if not loop[:, 2].any():
        (x0, y0, _), (x1, y1, _) = loop.min(axis=0).tolist(), loop.max(axis=0).tolist()
        if not (x0 < x < x1 and y0 < y < y1):
            return False
    start = loop[:, :2]
    chord, rel, b = _next(loop)[:, :2] - start, (x, y) - start, loop[:, 2]
    cross = chord[:, 0] * rel[:, 1] - chord[:, 1] * rel[:, 0]
    # A point on a chord (a circle's centre lies on both of its) counts as a hair to the right of and above itself,
    # everywhere alike, so that the two sides of a chord never both claim it, nor neither.
    dx, dy = chord.T
    left = (cross > 0) | ((cross == 0) & ((dy < 0) | ((dy == 0) & (dx > 0))))
    above = rel[:, 1] >= 0
    beyond = np.concatenate([above[1:], above[:1]])
    up, down = above & ~beyond, ~above & beyond
    winding = int((up & left).sum()) - int((down & ~left).sum())
    # An arc adds the segment between itself and its chord, on the right of the chord if it turns to the left.
    bent = b != 0
    if bent.any():
        b, d, r, left = b[bent], chord[bent], rel[bent], left[bent]
        spoke = r - d / 2 - np.column_stack([-d[:, 1], d[:, 0]]) * ((1 - b * b) / (4 * b))[:, None]
        radius = np.hypot(d[:, 0], d[:, 1]) * (1 + b * b) / (4 * np.abs(b))
        segment = (np.hypot(spoke[:, 0], spoke[:, 1]) < radius) & (left == (b < 0))
        winding += int(np.sign(b[segment]).sum())
    return winding != 0


def _without_repeats(loop: Loop) -> Loop:
    """Return the loop without straight edges of no length (a corner radius of half the side makes them)."""
    step = np.hypot(*(_next(loop)[:, :2] - loop[:, :2]).T)
    kept: Loop = loop[(step > SAME) | (loop[:, 2] != 0)]
    return kept
