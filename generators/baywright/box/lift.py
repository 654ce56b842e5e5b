"""Lift lugs: angles high on the long walls, each with an eye, and a doubler behind the wall."""

import numpy as np

from baywright.box.build import Build, X, Z
from baywright.box.feet import add_doubler, feet_top, foot_places
from baywright.box.layout import Layout
from baywright.box.shell import corner_span, gauge_line, sides
from baywright.finding import CannotBuild
from baywright.piece.assembly import IN_CAR
from baywright.piece.joint import Layer, ScrewLine

# Edge distance of a bracket's screws, times their diameter (handbooks on riveted aluminium: 2 d).
_EDGE_D = 2.0
# Distance between the two rows of a lug's screws, mm: over 3 d of M6 (the least pitch of handbooks).
_ROWS = 19.0
# How much wider than its washer a foot's bolt needs a socket's way, each side, mm (common practice, no source).
_SOCKET = 2.0


def add_lift_lugs(build: Build, layout: Layout, centre_x: float) -> list[tuple[float, float]]:
    """Add four lugs on the long walls, in pairs the same distance before and behind the centroid, high above it.

    Returns the intervals in x (mm) that their doublers take of the top of the long walls.
    """
    kit, style, b = layout.kit, layout.kit.style, layout.bond
    lift = style.lift
    stock, d = kit.stock(lift.section), kit.diameter(lift.screw)
    edge, t = _EDGE_D * d, style.doubler.thickness
    low, high = corner_span(layout)
    if layout.carry == "ledges" and layout.layers > 1:
        low = layout.support[-1] - kit.ledge_angle.wall + kit.ledge_angle.height + style.cut_back
    low = max(low, feet_top(layout) + style.cut_back)
    head = kit.head(style.joint_screw.size, style.joint_screw.head)[0] / 2
    under = (
        layout.wall_top - gauge_line(kit.flange_angle) - head - 1.0
        if layout.flange == "in"
        else layout.wall_top - kit.flange_angle.height - style.cut_back
    )
    first = min(high - edge, under - stock.wall - kit.head(lift.screw, style.joint_screw.head)[0] / 2 - 1.0)
    rows = [first, first - _ROWS] if first - _ROWS - edge >= low else [first]
    on_feet = under - stock.height < feet_top(layout)
    if on_feet or rows[-1] - edge < low - 1e-6 or under - stock.height > rows[-1] - edge + 1e-6:
        raise CannotBuild(
            "lift",
            f"the walls leave {high - low:.0f} mm for the lift lugs, too little; set lift = false and lift "
            "the box by straps under it",
        )
    reach = layout.inside[0] / 2 - b - kit.corner_angle.width - style.cut_back - lift.length / 2
    spread_ = min(layout.outside[0] / 4, reach - abs(centre_x))
    if spread_ < lift.length / 2 + style.cut_back:
        raise CannotBuild("lift", "the long walls are too short for two lift lugs; set lift = false")
    centre = round(centre_x)
    # A long extension on a foot's bolt passes beside the lugs, where that is possible.
    bolts = [x for place in foot_places(layout) for x in place.bolts] if feet_top(layout) else []
    beside = lift.length / 2 + kit.size(style.feet.bolt).washer.outside / 2 + _SOCKET
    tried = range(int(spread_), int(lift.length / 2 + style.cut_back), -1)
    clear = [s for s in tried if all(abs(centre + side * s - x) >= beside for side in (-1, 1) for x in bolts)]
    spread_ = float(clear[0] if clear else int(spread_))
    for key in ("right", "left"):
        side = sides(layout)[key]
        for number, x in enumerate((centre - spread_, centre + spread_), 1):
            mark, doubler = f"lift lug {key} {number}", f"lift doubler {key} {number}"
            heel = side.at(style.wall.thickness + b, x - lift.length / 2, under)
            build.angle(mark, "lift lug", stock, heel, X, -Z, side.out, lift.length)
            build.bond(side.mark, mark)
            span = (rows[-1] - edge, rows[0] + edge)
            add_doubler(build, layout, side, doubler, "lift doubler", x, lift.length, span, t)
            columns = [x - lift.length / 2 + edge, x + lift.length / 2 - edge]
            face = stock.wall + b + style.wall.thickness
            build.screws(
                f"{mark} screws",
                mark,
                [side.at(face, c, z) for z in rows for c in columns],
                -side.out,
                [mark, side.mark],
                doubler,
                t,
                size=lift.screw,
                head=style.joint_screw.head,
                grip=face + b,
            )
            eye = side.at(style.wall.thickness + b + gauge_line(stock), x, under)
            build.lines.append(
                ScrewLine(
                    name=f"{mark} eye",
                    joint="lifting",
                    screw=None,
                    size="",
                    length=0.0,
                    points=np.array([eye]),
                    direction=-Z,
                    layers=(Layer(mark, "lift", lift.hole, "lifting eye"),),
                    stage=IN_CAR,
                )
            )
    half = lift.length / 2 + style.cut_back
    return [(x - half, x + half) for x in (centre - spread_, centre + spread_)]
