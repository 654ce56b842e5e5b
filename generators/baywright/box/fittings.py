"""Fittings on the service end: where they go, their cut-outs, their bodies and the room that they keep free."""

from dataclasses import dataclass, replace

import numpy as np

from baywright.box.build import Build, Y, Z
from baywright.box.feet import FootPlace
from baywright.box.layout import Layout
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


@dataclass(frozen=True, eq=False)
class Space:
    """Room that must stay free: a name, whose it is (a mark, which may stand in it), and the block (mm)."""

    name: str
    of: str
    block: Block


def place_fittings(layout: Layout, feet: list[FootPlace]) -> list[Fitted]:
    """Return the fittings' places: those with `at` where asked, the rest in rows from the top of the wall down.

    Args:
        layout: the box's numbers.
        feet: the feet along the service wall; nothing may overhang the way of a driver to their bolts.

    Raises:
        CannotBuild: if one does not fit on the wall, or two want the same place.
    """
    kit, style = layout.kit, layout.kit.style
    half = layout.inside[1] / 2 - layout.bond - kit.corner_angle.width - _BETWEEN
    low, high = corner_span(layout)
    low, high = low + _BETWEEN, high - _BETWEEN
    aisle = kit.size(style.feet.bolt).washer.outside / 2 + _BETWEEN
    # High up, only the way of a driver down to the feet's bolts is taken; low down, the feet's own legs and doublers.
    lanes = _lanes(-half, half, [(y - aisle, y + aisle) for foot in feet for y in foot.bolts])
    legs = [(f.along - f.length / 2 - _BETWEEN, f.along + f.length / 2 + _BETWEEN) for f in feet]
    low_lanes = _lanes(-half, half, legs)
    foot_top = kit.stock(style.feet.section).height - style.feet.stand_off + _BETWEEN if feet else 0.0
    asked = [(f.fitting, kit.catalogue.fitting(f.fitting), f.at) for f in layout.ask.fittings]
    done: list[Fitted] = []
    for number, (name, row, at) in enumerate(asked, 1):
        if at is None:
            continue
        one = Fitted(f"fitting {number} {name}", row, float(at[0]), float(at[1]))
        w, h = row.keep_out
        if abs(one.y) + w / 2 > half + _BETWEEN or one.z - h / 2 < low - _BETWEEN or one.z + h / 2 > high + _BETWEEN:
            raise CannotBuild(
                "fittings",
                f"'{name}' at {one.y:g}, {one.z:g} mm needs {w:g} x {h:g} mm: it leaves the free part of the service "
                f"wall, y within ±{half + _BETWEEN:.0f}, z {low - _BETWEEN:.0f} to {high + _BETWEEN:.0f} mm",
            )
        if one.z - h / 2 < foot_top and any(one.y - w / 2 < b and one.y + w / 2 > a for a, b in legs):
            raise CannotBuild(
                "fittings", f"'{name}' at {one.y:g}, {one.z:g} mm stands on a foot of the box; move it up"
            )
        clash = next((o for o in done if _overlap(o, one)), None)
        if clash is not None:
            raise CannotBuild(
                "fittings", f"'{name}' at {one.y:g}, {one.z:g} mm overlaps the room of '{clash.row.name}'"
            )
        done.append(one)
    rest = sorted(
        ((n, name, row) for n, (name, row, at) in enumerate(asked, 1) if at is None),
        key=lambda item: (-item[2].keep_out[1], -item[2].keep_out[0], item[0]),
    )
    fixed = len(done)
    top = high
    waiting = list(rest)
    rows: list[list[Fitted]] = []
    while waiting:
        tall = waiting[0][2].keep_out[1]
        if top - tall < low - 1e-9:
            n, name, row = waiting[0]
            raise CannotBuild(
                "fittings",
                f"'{name}' ({row.keep_out[0]:g} x {row.keep_out[1]:g} mm with its room) does not fit on the service "
                f"wall: {max(b - a for a, b in lanes):.0f} mm wide between the feet's bolts and "
                f"{max(0.0, top - low):.0f} mm high are left; ask for fewer fittings, a wider box (columns) or more "
                "layers",
            )
        placed_here: list[Fitted] = []
        for low_y, high_y in lanes if top - tall >= foot_top else low_lanes:
            y = low_y
            taken = []
            for item in list(waiting):
                w = item[2].keep_out[0]
                if y + w <= high_y + 1e-9:
                    taken.append(item)
                    waiting.remove(item)
                    y += w + _BETWEEN
            free = (high_y - low_y) - sum(i[2].keep_out[0] for i in taken)
            y = low_y + free / (len(taken) + 1)
            for n, name, row in taken:
                w, _ = row.keep_out
                placed_here.append(Fitted(f"fitting {n} {name}", row, round(y + w / 2, 1), round(top - tall / 2, 1)))
                y += w + free / (len(taken) + 1)
        if not placed_here:
            n, name, row = waiting[0]
            raise CannotBuild(
                "fittings",
                f"'{name}' needs {row.keep_out[0]:g} mm along the service wall; "
                f"{max(b - a for a, b in lanes):.0f} mm are free between the feet's bolts and the corner angles",
            )
        for one in placed_here:
            if any(_overlap(o, one) for o in done[:fixed]):
                raise CannotBuild(
                    "fittings",
                    f"no room is left for '{one.row.name}' beside the fittings placed by `at`; give it an `at` too",
                )
        rows.append(placed_here)
        top -= tall + _BETWEEN
    # What height is left, above the feet, goes between the rows.
    spare = 0.0 if fixed else max(0.0, top + _BETWEEN - max(low, foot_top)) / (len(rows) + 1)
    for number, row_here in enumerate(rows, 1):
        done += [replace(one, z=round(one.z - number * spare, 1)) for one in row_here]
    return sorted(done, key=lambda f: int(f.mark.split()[1]))


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
            bodies.append(Block(np.array([-w / 2, -h / 2, -t]), np.array([w / 2, h / 2, 0.0])))
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


def _lanes(low: float, high: float, aisles: list[tuple[float, float]]) -> list[tuple[float, float]]:
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
