"""Fittings on the service end: where they go, their cut-outs, their bodies and the room that they keep free."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from baywright.box.build import Build, Y, Z
from baywright.box.feet import FootPlace
from baywright.box.layout import Layout
from baywright.box.leads import Space
from baywright.box.shell import corner_span, sides
from baywright.finding import CannotBuild
from baywright.job.parts import Fitting
from baywright.piece.bought import Bought
from baywright.piece.solid import Block, Body, Hole, Round
from baywright.shape.loop import Loop, circle, rectangle
from baywright.shape.pose import pose

# Web between two fittings' keep-outs, and from a keep-out to an angle, mm (the shop's own choice).
_BETWEEN = 3.0


@dataclass(frozen=True, eq=False)
class Fitted:
    """A fitting and its place on the service wall: mark, catalogue row, y and z of its cut-out's centre, mm."""

    mark: str
    row: Fitting
    y: float
    z: float


@dataclass(frozen=True)
class _Wall:
    """The free part of the service wall, mm: half its width, its heights, and what the feet take of it.

    High up, only the way of a driver down to the feet's bolts is taken; low down, the feet's own legs and doublers.
    """

    half: float
    low: float
    high: float
    aisles: tuple[tuple[float, float], ...]
    legs: tuple[tuple[float, float], ...]
    foot_top: float

    def lanes(self, bottom: float) -> list[tuple[float, float]]:
        """Return the intervals along the wall that are free for a row whose bottom is at this height."""
        return _lanes(-self.half, self.half, self.aisles if bottom >= self.foot_top else self.legs)

    def widest(self) -> float:
        """Return the widest lane high up."""
        return max(b - a for a, b in _lanes(-self.half, self.half, self.aisles))


def place_fittings(layout: Layout, feet: list[FootPlace]) -> list[Fitted]:
    """Return the fittings' places: those with `at` where asked, the rest in rows over the wall.

    Args:
        layout: the box's numbers.
        feet: the feet along the service wall; nothing may overhang the way of a driver to their bolts.

    Raises:
        CannotBuild: if one does not fit on the wall, or two want the same place.
    """
    wall = _wall(layout, feet)
    asked = [
        (Fitted(f"fitting {n} {f.fitting}", layout.kit.catalogue.fitting(f.fitting), 0.0, 0.0), f.at)
        for n, f in enumerate(layout.ask.fittings, 1)
    ]
    done: list[Fitted] = []
    for one, at in asked:
        if at is not None:
            done.append(_where_asked(replace(one, y=float(at[0]), z=float(at[1])), done, wall))
    rows = _rows([one for one, at in asked if at is None], wall, done)
    # What height is left, above the feet, goes between the rows.
    bottom = min((one.z - one.row.keep_out[1] / 2 for row in rows for one in row), default=wall.high)
    spare = 0.0 if done else max(0.0, bottom - max(wall.low, wall.foot_top)) / (len(rows) + 1)
    for number, row in enumerate(rows, 1):
        done += [replace(one, z=round(one.z - number * spare, 1)) for one in row]
    return sorted(done, key=lambda f: int(f.mark.split()[1]))


def _wall(layout: Layout, feet: list[FootPlace]) -> _Wall:
    kit, style = layout.kit, layout.kit.style
    low, high = corner_span(layout)
    aisle = kit.size(style.feet.bolt).washer.outside / 2 + _BETWEEN
    return _Wall(
        half=layout.inside[1] / 2 - layout.bond - kit.corner_angle.width - _BETWEEN,
        low=low + _BETWEEN,
        high=high - _BETWEEN,
        aisles=tuple((y - aisle, y + aisle) for foot in feet for y in foot.bolts),
        legs=tuple((f.along - f.length / 2 - _BETWEEN, f.along + f.length / 2 + _BETWEEN) for f in feet),
        foot_top=kit.stock(style.feet.section).height - style.feet.stand_off + _BETWEEN if feet else 0.0,
    )


def _where_asked(one: Fitted, done: list[Fitted], wall: _Wall) -> Fitted:
    """Return a fitting whose place was asked, if it can stand there."""
    name, (w, h) = one.row.name, one.row.keep_out
    half, low, high = wall.half + _BETWEEN, wall.low - _BETWEEN, wall.high + _BETWEEN
    at = f"'{name}' at {one.y:g}, {one.z:g} mm"
    if abs(one.y) + w / 2 > half or one.z - h / 2 < low or one.z + h / 2 > high:
        raise CannotBuild(
            "fittings",
            f"{at} needs {w:g} x {h:g} mm: it leaves the free part of the service wall, "
            f"y within ±{half:.0f}, z {low:.0f} to {high:.0f} mm",
        )
    if one.z - h / 2 < wall.foot_top and any(one.y - w / 2 < b and one.y + w / 2 > a for a, b in wall.legs):
        raise CannotBuild("fittings", f"{at} stands on a foot of the box; move it up")
    clash = next((o for o in done if _overlap(o, one)), None)
    if clash is not None:
        raise CannotBuild("fittings", f"{at} overlaps the room of '{clash.row.name}'")
    return one


def _rows(rest: list[Fitted], wall: _Wall, done: list[Fitted]) -> list[list[Fitted]]:
    """Return fittings in rows from the top of the wall down, the tallest first, each row spread over its lanes."""
    waiting = sorted(rest, key=lambda f: (-f.row.keep_out[1], -f.row.keep_out[0], int(f.mark.split()[1])))
    rows: list[list[Fitted]] = []
    top = wall.high
    while waiting:
        first, tall = waiting[0].row, waiting[0].row.keep_out[1]
        if top - tall < wall.low - 1e-9:
            raise CannotBuild(
                "fittings",
                f"'{first.name}' ({first.keep_out[0]:g} x {tall:g} mm with its room) does not fit on the service wall: "
                f"{wall.widest():.0f} mm wide between the feet's bolts and {max(0.0, top - wall.low):.0f} mm high are "
                "left; ask for fewer fittings, a wider box (columns) or more layers",
            )
        row: list[Fitted] = []
        for low, high in wall.lanes(top - tall):
            row += [replace(one, z=round(top - tall / 2, 1)) for one in _fill(waiting, low, high)]
        if not row:
            raise CannotBuild(
                "fittings",
                f"'{first.name}' needs {first.keep_out[0]:g} mm along the service wall; beside the feet "
                f"{max(b - a for a, b in wall.lanes(top - tall)):.0f} mm are free at its height; ask for fewer "
                "fittings, a wider box (columns) or more layers",
            )
        crowded = next((one for one in row if any(_overlap(o, one) for o in done)), None)
        if crowded is not None:
            raise CannotBuild(
                "fittings",
                f"no room is left for '{crowded.row.name}' beside the fittings placed by `at`; give it an `at` too",
            )
        rows.append(row)
        top -= tall + _BETWEEN
    return rows


def _fill(waiting: list[Fitted], low: float, high: float) -> list[Fitted]:
    """Take from the waiting list what fits in a lane side by side, and return it spread evenly over the lane."""
    taken, used = [], 0.0
    for one in list(waiting):
        width = one.row.keep_out[0]
        if low + used + width <= high + 1e-9:
            taken.append(one)
            waiting.remove(one)
            used += width + _BETWEEN
    free = (high - low - sum(one.row.keep_out[0] for one in taken)) / (len(taken) + 1)
    placed, y = [], low + free
    for one in taken:
        placed.append(replace(one, y=round(y + one.row.keep_out[0] / 2, 1)))
        y += one.row.keep_out[0] + free
    return placed


def wall_holes(layout: Layout, fitted: list[Fitted]) -> tuple[Hole, ...]:
    """Return the cut-outs and fixing holes in the service wall's own frame (seen from outside)."""
    origin_y, origin_z = layout.inside[1] / 2 - layout.bond, layout.wall_bottom
    t = layout.kit.style.wall.thickness
    holes = []
    for one in fitted:
        x, y = one.y + origin_y, one.z - origin_z
        loop = _cut_out(one.row, x, y)
        holes.append(Hole(face="top", loop=loop, depth=t, use="cut-out", callout=one.row.name))
        if one.row.fixing is not None:
            fix = one.row.fixing
            holes += [
                Hole(
                    face="top",
                    loop=circle(x + u, y + v, fix.hole),
                    depth=t,
                    use="fixing",
                    callout=f"{fix.screw} for {one.row.name}",
                )
                for u, v in fix.positions
            ]
    return tuple(holes)


def add_fittings(build: Build, layout: Layout, fitted: list[Fitted]) -> list[Space]:
    """Add the fittings' bodies and return the room that each keeps free outside and inside the wall."""
    side = sides(layout)["service"]
    t = layout.kit.style.wall.thickness
    spaces = []
    for one in fitted:
        row = one.row
        where = pose(Y, Z, side.at(t, one.y, one.z))  # x along the wall, y up, z outward, at the wall's outer face
        bodies: list[Body] = [_body(row, 0.0, row.outside.depth)]
        if row.cut_out.shape == "round":
            bodies.append(Round(np.array([0, 0, -t]), np.array([0, 0, 1.0]), t, row.cut_out.diameter or 0.0))
        else:
            w, h = row.cut_out.size or (0.0, 0.0)
            # Two blocks across each other fill the opening but for the squares at its rounded corners.
            r = row.cut_out.corner_radius
            for u, v in ((w / 2 - r, h / 2), (w / 2, h / 2 - r)) if r else ((w / 2, h / 2),):
                bodies.append(Block(np.array([-u, -v, -t]), np.array([u, v, 0.0])))
        if row.inside.depth > 0:
            bodies.append(_body(row, -t - row.inside.depth, -t))
        piece = Bought(
            role="fitting", name=row.name, mass=row.mass, bodies_=tuple(bodies), source=row.source, group="fittings"
        )
        build.put(one.mark, piece, where)
        w, h = row.keep_out
        outside = Block(np.array([-w / 2, -h / 2, 0.0]), np.array([w / 2, h / 2, row.outside_depth]))
        inside = Block(np.array([-w / 2, -h / 2, -t - row.inside_depth]), np.array([w / 2, h / 2, -t]))
        spaces.append(Space(f"{row.name}, outside", one.mark, outside.moved(where)))
        if row.inside_depth > 0:
            spaces.append(Space(f"{row.name}, inside", one.mark, inside.moved(where)))
    return spaces


def _lanes(low: float, high: float, aisles: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the intervals of low…high that no aisle takes, wide enough to hold anything."""
    lanes, start = [], low
    for a, b in sorted(aisles):
        if a > start:
            lanes.append((start, min(a, high)))
        start = max(start, b)
    lanes.append((start, high))
    return [(a, b) for a, b in lanes if b - a > _BETWEEN] or [(low, low)]


def _overlap(a: Fitted, b: Fitted) -> bool:
    (aw, ah), (bw, bh) = a.row.keep_out, b.row.keep_out
    return abs(a.y - b.y) < (aw + bw) / 2 - 1e-9 and abs(a.z - b.z) < (ah + bh) / 2 - 1e-9


def _cut_out(row: Fitting, x: float, y: float) -> Loop:
    if row.cut_out.shape == "round":
        return circle(x, y, row.cut_out.diameter or 0.0)
    w, h = row.cut_out.size or (0.0, 0.0)
    return rectangle(x - w / 2, y - h / 2, x + w / 2, y + h / 2, row.cut_out.corner_radius)


def _body(row: Fitting, low: float, high: float) -> Body:
    if row.body.shape == "round":
        return Round(np.array([0, 0, low]), np.array([0, 0, 1.0]), high - low, row.body.diameter or 0.0)
    w, h = row.body.size or (0.0, 0.0)
    return Block(np.array([-w / 2, -h / 2, low]), np.array([w / 2, h / 2, high]))
