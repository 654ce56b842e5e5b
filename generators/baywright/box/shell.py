"""The shell: floor, walls, corner angles, floor angles and the lid flange, bonded and screwed."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.box.build import Build, X, Y, Z
from baywright.box.layout import Layout
from baywright.finding import CannotBuild
from baywright.piece.extrusion import Stock
from baywright.piece.solid import Hole
from baywright.piece.spread import spread
from baywright.shape.pose import cross, pose

# An upright angle shorter than this holds no screw at both legs' edge distances.
_LEAST_CORNER = 20.0


@dataclass(frozen=True, eq=False)
class Side:
    """One wall as the rest of the box sees it.

    Attributes:
        mark: "wall right", "wall left", "wall service" or "wall blind".
        out: direction (3,) out of the box.
        along: direction (3,) along the wall, X or Y.
        inner: distance of its inner face from the box's middle, mm.
        half: half the cavity's extent along the wall, mm.
    """

    mark: str
    out: NDArray[np.float64]
    along: NDArray[np.float64]
    inner: float
    half: float

    def at(self, depth: float, s: float, z: float) -> NDArray[np.float64]:
        """Return the point `depth` mm outward of the inner face, `s` along the wall from its middle, at height z."""
        return self.out * (self.inner + depth) + self.along * s + Z * z


def sides(layout: Layout) -> dict[str, Side]:
    """Return the four walls by name: "right", "left", "service", "blind"."""
    half_x, half_y = layout.inside[0] / 2, layout.inside[1] / 2
    return {
        "right": Side("wall right", Y, X, half_y, half_x),
        "left": Side("wall left", -Y, X, half_y, half_x),
        "service": Side("wall service", X, Y, half_x, half_y),
        "blind": Side("wall blind", -X, Y, half_x, half_y),
    }


def gauge_line(stock: Stock) -> float:
    """Return where screws stand on an angle's leg: the middle of its clear flat, mm from the heel."""
    return (stock.wall + stock.width) / 2


def add_panels(build: Build, layout: Layout, service_holes: tuple[Hole, ...]) -> None:
    """Add floor and walls: two long walls at full length, two end walls between them, all standing on the floor."""
    style, b = layout.kit.style, layout.bond
    length, width = layout.outside
    wall, z0 = style.wall, layout.wall_bottom
    high = layout.wall_top - z0
    build.panel(
        "floor",
        "floor",
        pose(X, -Y, (-length / 2, width / 2, style.floor.thickness)),
        (length, width),
        style.floor.thickness,
        style.floor.material,
        seen_from="below",
    )
    for side in sides(layout).values():
        long = side.mark in ("wall right", "wall left")
        half = length / 2 if long else side.half - b
        right = cross(Z, side.out)  # to the right along the wall, seen from outside
        build.panel(
            side.mark,
            "long wall" if long else "end wall",
            pose(right, Z, side.out * side.inner - right * half + Z * z0),
            (2 * half, high),
            wall.thickness,
            wall.material,
            holes=service_holes if side.mark == "wall service" else (),
        )
        build.bond("floor", side.mark)
    for end in ("wall service", "wall blind"):
        for long_ in ("wall right", "wall left"):
            build.bond(end, long_)


def add_floor_angles(build: Build, layout: Layout) -> None:
    """Add the angles along the foot of the walls; the end ones run between the long ones."""
    kit, b, cut = layout.kit, layout.bond, layout.kit.style.cut_back
    stock = kit.floor_angle
    for key, side in sides(layout).items():
        half = side.half - cut if key in ("right", "left") else side.half - b - stock.width - cut
        heel = side.at(-b, -half, layout.wall_bottom)
        mark = f"floor angle {key}"
        build.angle(mark, "floor angle", stock, heel, side.along, Z, -side.out, 2 * half)
        build.bond(side.mark, mark)
        build.bond("floor", mark)


def add_corners(build: Build, layout: Layout) -> None:
    """Add the upright angles inside the four corners, between floor angles and flange, with their screws."""
    kit, b = layout.kit, layout.bond
    stock, joint = kit.corner_angle, kit.style.joint_screw
    low, high = corner_span(layout)
    if high - low < _LEAST_CORNER:
        raise CannotBuild(
            "style",
            f"the walls are {layout.wall_top - layout.wall_bottom:.0f} mm high: between floor angle and lid flange "
            f"only {high - low:.0f} mm are left for the corner angles (at least {_LEAST_CORNER:g}); use smaller angles",
        )
    walls = sides(layout)
    rule, line = build.pitch(), gauge_line(stock)
    tight = spread(low, high, rule)
    staggered = spread(low, high, rule, shift=rule.most / 4)
    for end in ("service", "blind"):
        for long in ("right", "left"):
            e, s = walls[end], walls[long]
            mark = f"corner angle {end} {long}"
            heel = e.out * (e.inner - b) + s.out * (s.inner - b) + Z * low
            build.angle(mark, "corner angle", stock, heel, Z, -e.out, -s.out, high - low)
            build.bond(s.mark, mark)
            build.bond(e.mark, mark)
            into_long = s.out * (s.inner + kit.style.wall.thickness) + e.out * (e.inner - b - line)
            into_end = e.out * (e.inner + kit.style.wall.thickness) + s.out * (s.inner - b - line)
            for side, base, heights in ((s, into_long, tight), (e, into_end, staggered)):
                build.screws(
                    f"{mark} to {side.mark}",
                    f"{mark} / {side.mark}",
                    base + np.outer(heights, Z),
                    -side.out,
                    [side.mark],
                    mark,
                    stock.wall,
                    size=joint.size,
                    head=joint.head,
                    grip=kit.style.wall.thickness + b,
                )


def corner_span(layout: Layout) -> tuple[float, float]:
    """Return the heights (mm) between which corner angles, doublers and wall liners have the walls to themselves."""
    kit, cut = layout.kit, layout.kit.style.cut_back
    low = layout.wall_bottom + kit.floor_angle.height + cut
    # An outward flange's screws end in the wall here, so the inside stays free behind it too.
    high = layout.wall_top - kit.flange_angle.height - cut
    return low, high


def screw_floor_angles(
    build: Build,
    layout: Layout,
    wall_busy: dict[str, list[tuple[float, float]]],
    wall_fixed: dict[str, list[float]],
    floor_busy: dict[str, list[tuple[float, float]]],
) -> None:
    """Add the screws of the floor angles, through the walls and up through the floor, the two legs staggered.

    Args:
        build: what the box consists of so far.
        layout: the box's numbers.
        wall_busy: by wall, intervals (mm along it) that wall screws stay out of.
        wall_fixed: by wall, screws that its floor angle has already (bearers', feet's).
        floor_busy: by wall, intervals that floor screws stay out of.
    """
    kit, b, cut = layout.kit, layout.bond, layout.kit.style.cut_back
    stock, joint, style = kit.floor_angle, kit.style.joint_screw, kit.style
    rule, line = build.pitch(), gauge_line(stock)
    for key, side in sides(layout).items():
        half = side.half - cut if key in ("right", "left") else side.half - b - stock.width - cut
        mark = f"floor angle {key}"
        places = spread(-half, half, rule, keep_out=wall_busy.get(key, ()), fixed=wall_fixed.get(key, ()))
        points = [side.at(style.wall.thickness, s, layout.wall_bottom + line) for s in places]
        build.screws(
            f"{mark} to {side.mark}",
            f"{mark} / {side.mark}",
            points,
            -side.out,
            [side.mark],
            mark,
            stock.wall,
            grip=style.wall.thickness + b,
            size=joint.size,
            head=joint.head,
        )
        places = spread(-half, half, rule, keep_out=floor_busy.get(key, ()), shift=rule.most / 4)
        build.screws(
            f"{mark} to floor",
            f"{mark} / floor",
            [side.at(-b - line, s, 0.0) for s in places],
            Z,
            ["floor"],
            mark,
            stock.wall,
            grip=style.floor.thickness + b,
            size=joint.size,
            head=joint.head,
        )
