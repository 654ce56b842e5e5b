"""The shell's joints: corners, floor to walls, and the end walls' shear between them."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from baywright.box.shell import gauge_line
from baywright.strength.bench import Bench
from baywright.strength.bond import bond_use
from baywright.strength.check import Calculation, worst_of_each
from baywright.strength.floor_bars import rod_loads
from baywright.strength.panels import cut_share, hung_mass
from baywright.strength.screws import row_use
from baywright.strength.working import Working


def shell(b: Bench) -> Iterator[Calculation]:
    """Yield the checks of the shell's joints and of the end walls' shear."""
    if b.statics.feet:
        # One end has the larger force along the box, the other may have the larger ones across and upright.
        yield from worst_of_each(
            one for end in _ends(b) for one in (*_corner(b, end), *_floor_end(b, end), _end_shear(b, end))
        )
    yield from _floor_edge(b)


@dataclass(frozen=True)
class _End:
    """What the feet at one end do: the end's wall, N along x and across on all of it, N upright at its worse corner."""

    wall: str
    along: float
    across: float
    upright: float


def _ends(b: Bench) -> list[_End]:
    """Return what the feet at each end do.

    Feet on an end wall pull its two corners alike; those on the long walls each pull their own.
    """
    forces = b.statics.on_feet(b.throw.force).forces
    places = np.array([s.at for s in b.statics.feet])
    middle = places.mean(axis=0)
    ends = []
    for wall, sign in (("blind", -1.0), ("service", 1.0)):
        here = sign * (places[:, 0] - middle[0]) > 0
        along, across, upright = forces[here].sum(axis=0).tolist()
        corner = upright / 2
        if b.kit.style.feet.on == "long walls":
            right = here & (places[:, 1] > middle[1])
            each = [float(forces[half, 2].sum()) for half in (right, here & ~right)]
            corner = max(each, key=abs)
        ends.append(_End(wall, along, across, corner))
    return ends


def _corner(b: Bench, end: _End) -> Iterator[Calculation]:
    """Yield the worst corner angle: what one end's feet hold comes to the end wall through its two corners.

    Feet on the long walls hold those up directly; the end wall keeps the box from leaning, and what it shears across
    comes as an upright couple to its corners.
    """
    wall_name = end.wall
    kit, style = b.kit, b.kit.style
    stock = kit.corner_angle
    mark = f"corner angle {wall_name} right"
    high = b.length(mark)
    metal, wall = b.stock_metal(stock), b.wall_metal
    at = (math.copysign(b.layout.inside[0] / 2, 1 if wall_name == "service" else -1), b.layout.inside[1] / 2, high / 2)

    def demand(w: Working) -> None:
        w.given("R_c", end.upright, "N", f"upright force at one corner of the {wall_name} end (feet's statics)")
        w.given("R_y", end.across, "N", "the end's feet across")
        w.let("V_c", "abs(R_c)", "N", "one corner's share, along it")
        w.let("N_c", "abs(R_y) / 2", "N", "one corner's share, across: it pulls one leg off, the other is sheared")

    for leg in (f"wall right / {mark}", f"wall {wall_name} / {mark}"):
        long = leg.startswith("wall right")
        plate = "wall right" if long else f"wall {wall_name}"
        joint = f"corner, leg on the {'long' if long else 'end'} wall"
        glued = Working()
        demand(glued)
        bond_use(
            glued,
            b.allow,
            bond=style.bond_line,
            area=b.statics.bond_area(f"bond {leg}"),
            overlap=stock.width,
            leg=metal,
            leg_thickness=stock.wall,
            wall=wall,
            wall_thickness=style.wall.thickness,
            shear="V_c" if long else "hypot(V_c, N_c)",
            pull="N_c" if long else 0.0,
            along=high,
        )
        common = {"where": (mark, plate), "at": at, "joint": joint}
        yield b.made(
            "corner joints", mark, f"{joint}: bond alone", glued, alone="bond", help="a wider corner angle", **common
        )
        held = Working()
        demand(held)
        line = b.line(f"{mark} to {plate}")
        gauge = stock.width - gauge_line(stock)
        row_use(
            b,
            held,
            line,
            count=len(line.points),
            shear="V_c" if long else "hypot(V_c, N_c)",
            pull="N_c" if long else 0.0,
            near=(wall, style.wall.thickness, gauge_line(stock)),
            far=(metal, stock.wall, gauge),
        )
        yield b.made(
            "corner joints",
            mark,
            f"{joint}: screws alone",
            held,
            alone="screws",
            help="a smaller screw pitch or larger joint screws",
            **common,
        )
    w = Working()
    demand(w)
    w.given("t_l", stock.wall, "mm", f"leg of the {stock.name}")
    w.given("c", gauge_line(stock) - stock.wall / 2, "mm", "from the other leg's middle to the screws")
    w.given("H", high, "mm", "length of the angle")
    w.let("σ", "6 * N_c * c / 2 / (H * t_l**2)", "MPa", "bending of the leg, held straight at both", "beam tables")
    yield b.stress(
        "corner joints", mark, "leg in bending", w, metal, help="a thicker corner angle", where=(mark,), at=at
    )


def _floor_end(b: Bench, end: _End) -> Iterator[Calculation]:
    """Yield the joint of floor and floor angle through which the floor gives the level forces to the feet.

    On the long walls, those along the box come down the wall itself; those across leave the end wall for the floor by
    its angle, and the floor for the feet by the long ones.
    """
    w = Working()
    if b.kit.style.feet.on == "end walls":
        w.given("R_x", end.along, "N", f"the feet at the {end.wall} end do this along the box (feet's statics)")
        w.given("R_y", end.across, "N", "and across; the floor brings it as a stiff plate")
        yield from _floor_joint(b, f"floor angle {end.wall}", "floor to end angle", w, "hypot(R_x, R_y)", 0.0)
        return
    w.given("R_y", end.across, "N", f"the feet at the {end.wall} end do this across the box (feet's statics)")
    yield from _floor_joint(b, f"floor angle {end.wall}", "floor to end angle", w, "abs(R_y)", 0.0)
    forces = b.statics.on_feet(b.throw.force).forces
    side = Working()
    owners = [foot for foot in b.design.feet for _ in foot.bolts]
    both = [sum(f[1] for foot, f in zip(owners, forces, strict=True) if foot.wall == n) for n in ("right", "left")]
    side.given("R_y", float(max(both, key=abs)), "N", "the feet of one long wall do this across (feet's statics)")
    yield from _floor_joint(b, "floor angle right", "floor to long angle at the feet", side, "abs(R_y)", 0.0)


def _floor_edge(b: Bench) -> Iterator[Calculation]:
    """Yield the joint of floor and long floor angles, from which the floor hangs.

    Stacks on tie rods tip the floor too: across, onto one of the two angles; along, onto one end of both.
    """
    w = Working()
    b.acceleration(w)
    w.given("m", sum(hung_mass(b)), "kg", "what hangs on the floor, the end angles left out")
    shear, pull = "m * hypot(a_x, a_y) / 2", "max(0, -m * a_z) / 2"
    if b.layout.carry == "tie rods":
        loads = rod_loads(b)
        stands = [(row, at) for layer, row, _, at in b.layout.places if layer == 1]
        across = len(stands) * sum(one.tip for one in loads)
        along = sum(one.pull * x for row, _ in stands for one, x in zip(loads, b.layout.across_x[row - 1], strict=True))
        w.given("M_x", across, "N·mm", "the stacks tip the floor across (tie rods' statics)")
        w.given("M_y", abs(along), "N·mm", "and along, about its middle")
        w.given("b_f", b.layout.inside[1], "mm", "from one long angle to the other")
        w.given("L_f", b.length("floor angle right"), "mm", "length of one")
        pull = "max(0, -m * a_z / 2 + M_x / b_f + 6 * M_y / 2 / L_f)"
    yield from _floor_joint(b, "floor angle right", "floor to long angles", w, shear, pull)


def _floor_joint(
    b: Bench, mark: str, joint: str, start: Working, shear: str, pull: str | float
) -> Iterator[Calculation]:
    kit, style = b.kit, b.kit.style
    stock = kit.floor_angle
    metal, floor = b.stock_metal(stock), b.sheet_metal(style.floor.material, style.floor.thickness)
    line = b.line(f"{mark} to floor")
    common = {"where": (mark, "floor"), "joint": joint, "at": _middle(line.points)}
    glued = start.copy()
    bond_use(
        glued,
        b.allow,
        bond=style.bond_line,
        area=b.statics.bond_area(f"bond floor / {mark}"),
        overlap=stock.width,
        leg=metal,
        leg_thickness=stock.wall,
        wall=floor,
        wall_thickness=style.floor.thickness,
        shear=shear,
        pull=pull,
        along=b.length(mark),
    )
    yield b.made(
        "floor joints", mark, f"{joint}: bond alone", glued, alone="bond", help="a wider floor angle", **common
    )
    held = start.copy()
    gauge = gauge_line(stock)
    row_use(
        b,
        held,
        line,
        count=len(line.points),
        shear=shear,
        pull=pull,
        near=(floor, style.floor.thickness, gauge),
        far=(metal, stock.wall, stock.width - gauge),
    )
    yield b.made(
        "floor joints",
        mark,
        f"{joint}: screws alone",
        held,
        alone="screws",
        help="a smaller screw pitch or larger joint screws",
        **common,
    )


def _end_shear(b: Bench, end: _End) -> Calculation:
    """Return the end wall's shear in its own plane, which keeps the box from leaning across; its worst line is cut."""
    style, metal = b.kit.style, b.wall_metal
    w = Working()
    w.given("R_y", end.across, "N", f"the feet at the {end.wall} end do this across the box (feet's statics)")
    w.given("b", b.layout.inside[1], "mm", "width of the wall")
    w.given("t", style.wall.thickness, "mm", "its thickness")
    w.given("k_h", cut_share(b), "", "share of its width that the fittings' holes take, where they take most")
    w.let("τ", "abs(R_y) / (b * t * (1 - k_h))", "MPa", "shear in the net section", "statics")
    b.allow.yield_(w, metal)
    w.let("τ_Rd", "σ_Rd / sqrt(3)", "MPa", "what it may bear", "von Mises")
    w.let("use", "τ / τ_Rd", "", "share that is used; over 1 fails")
    return b.made(
        "end walls",
        "wall service",
        "shear in its plane, holes taken out",
        w,
        demand=w.values["τ"],
        resistance=w.values["τ_Rd"],
        unit="MPa",
        help="thicker walls, or fewer fittings side by side",
    )


def _middle(points: np.ndarray) -> tuple[float, float, float]:
    x, y, z = points.mean(axis=0).tolist()
    return (x, y, z)
