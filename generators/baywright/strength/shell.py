"""The shell: corner joints, the floor's joint, floor, walls and lid as plates, the lid's inserts."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from baywright.box.shell import gauge_line
from baywright.strength.allow import Metal
from baywright.strength.bench import Bench
from baywright.strength.bond import bond_use
from baywright.strength.check import Calculation
from baywright.strength.plate import Patch, Plate, supported
from baywright.strength.screws import row_use
from baywright.strength.working import Working

_NAVIER = "Navier's series, edges simply supported: Timoshenko and Woinowsky-Krieger"


def shell(b: Bench) -> Iterator[Calculation]:
    """Yield the checks of the shell's joints and panels."""
    if b.statics.feet:
        end = _worst_end(b)
        yield from _corner(b, end)
        yield from _floor_end(b, end)
    yield from _floor_edge(b)
    yield _floor(b)
    yield _long_wall(b)
    yield _end_wall(b)
    yield _lid(b)
    if b.throw.force[2] > 0:
        yield _lid_screws(b)


def hung_mass(b: Bench) -> tuple[float, float]:
    """Return what hangs on the floor: its own sheet and liner, and what stands on it by rods (kg each)."""
    own = b.statics.mass_of("floor", "liner floor")
    if b.layout.carry != "tie rods":
        return own, 0.0
    rods = sum(
        line.screw.mass * len(line.points)
        for line in b.design.assembly.lines
        if line.joint == "tie rods" and line.screw is not None
    )
    return own, rods + b.statics.mass_of("module", "coolant", "floor bar", "clamp bar", "spacer")


# --- joints -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _End:
    """What the feet at one end do: the end's wall, N along x and across on all of it, N upright at its worse corner."""

    wall: str
    along: float
    across: float
    upright: float


def _worst_end(b: Bench) -> _End:
    """Return the end whose feet do most.

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
        ends.append((float(np.linalg.norm(forces[here].sum(axis=0))) + abs(corner), _End(wall, along, across, corner)))
    return max(ends, key=lambda item: item[0])[1]


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
    """Yield the joint of floor and long floor angles, from which the floor hangs."""
    w = Working()
    b.acceleration(w)
    w.given("m", sum(hung_mass(b)), "kg", "what hangs on the floor, the end angles left out")
    shear, pull = "m * hypot(a_x, a_y) / 2", "max(0, -m * a_z) / 2"
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


# --- panels -----------------------------------------------------------------------------------------------------------


def _panel(
    b: Bench,
    member: str,
    mark: str,
    plate: Plate,
    metal: Metal,
    mass: float,
    push: float,
    patches: list[Patch],
    what: str,
    help_: str,
) -> Calculation:
    """Return the check of a panel under its own mass (kg, thrown `push` N per kg square to it) and patches."""
    w = Working()
    b.acceleration(w)
    w.given("a", plate.a, "mm", "its long way between supports")
    w.given("b", plate.b, "mm", "the other way")
    w.given("t", plate.thickness, "mm", "thickness")
    w.given("E", plate.e, "MPa", f"modulus of {metal.name}")
    w.given("ν", plate.nu, "", "Poisson's ratio")
    w.given("m", mass, "kg", "mass that the panel carries evenly")
    w.given("g_n", push, "m/s²", "throw square to it")
    q = w.let("q", "m * abs(g_n) / (a * b)", "MPa", "even pressure")
    for i, p in enumerate(patches, 1):
        w.given(f"P_{i}", p.force, "N", f"push over {p.u:.0f} x {p.v:.0f} mm at {p.x:.0f}, {p.y:.0f} mm from a corner")
    bent = supported(plate, q, patches)
    w.given("w_m", bent.deflection, "mm", "largest deflection", _NAVIER)
    w.given("σ", bent.stress, "MPa", f"largest bending stress, at {bent.at[0]:.0f}, {bent.at[1]:.0f} mm", _NAVIER)
    w.let("k_w", "w_m / (t / 2)", "", "over 1 the plate is past small deflections")
    past = w.values["k_w"] > 1
    note = (
        f"bends {bent.deflection:.1f} mm, over half its thickness: it stretches too, so the linear stress overstates"
        if past
        else ""
    )
    return b.stress(
        member,
        mark,
        what + (", large deflection" if past else ""),
        w,
        metal,
        help=help_,
        note=note,
    )


def _floor(b: Bench) -> Calculation:
    layout, style = b.layout, b.kit.style
    metal = b.sheet_metal(style.floor.material, style.floor.thickness)
    own, _ = hung_mass(b)
    patches = []
    if layout.carry == "tie rods":
        got = b.statics.on_hold_downs(b.throw.force, layout.layers)
        for x in layout.across_x[0]:
            holds = [i for i, h in enumerate(layout.module.holds) if abs(layout.places[0][3][0] + h[0] - x) < 1e-6]
            force = abs(float(got.tension[holds].sum())) * layout.ask.columns
            long = b.length("floor bar 1.1")
            patches.append(Patch(x + layout.inside[0] / 2, layout.inside[1] / 2, b.kit.bearer.width, long, force))
    plate = Plate(*layout.inside, style.floor.thickness, metal.e, metal.nu)
    return _panel(
        b,
        "floor",
        "floor",
        plate,
        metal,
        own,
        float(b.throw.force[2]),
        patches,
        "plate between the walls",
        "a thicker floor, or ledges instead of rods" if patches else "a thicker floor",
    )


def _long_wall(b: Bench) -> Calculation:
    layout, style = b.layout, b.kit.style
    metal, low = b.wall_metal, layout.wall_bottom
    across = float(b.throw.force[1])
    patches = []
    if layout.carry == "ledges":
        one = b.statics.bearers(b.throw.force)
        for layer in range(2, layout.layers + 1):
            rows = sorted({r for k, r, _, _ in layout.places if k == layer})
            for row in rows:
                for x, loads in zip(layout.across_x[row - 1], one, strict=True):
                    z = layout.support[layer - 1] - b.kit.ledge_angle.wall + b.kit.ledge_angle.height / 2 - low
                    patches.append(
                        Patch(
                            x + layout.inside[0] / 2,
                            z,
                            b.kit.bearer.width + 2 * b.kit.ledge_angle.width,
                            b.kit.ledge_angle.height,
                            abs(float(loads.ends[0, 1])),
                        )
                    )
    mass = b.statics.lined_mass("wall right", "liner right")
    plate = Plate(layout.inside[0], layout.wall_top - low, style.wall.thickness, metal.e, metal.nu)
    what = "plate between floor, corners and flange" + (", bearers pushing through the ledges" if patches else "")
    return _panel(
        b, "long walls", "wall right", plate, metal, mass, across, patches, what, "thicker walls, or fewer layers"
    )


def _end_wall(b: Bench) -> Calculation:
    layout, style, metal = b.layout, b.kit.style, b.wall_metal
    mass = b.statics.lined_mass("wall service", "liner service") + sum(f.row.mass for f in b.design.fitted)
    plate = Plate(layout.inside[1], layout.wall_top - layout.wall_bottom, style.wall.thickness, metal.e, metal.nu)
    what = "plate between floor, corners and flange, cut-outs left out"
    push = float(b.throw.force[0])
    return _panel(b, "end walls", "wall service", plate, metal, mass, push, [], what, "thicker walls")


def _lid(b: Bench) -> Calculation:
    layout, style = b.layout, b.kit.style
    metal = b.sheet_metal(style.lid.material, style.lid.thickness)
    mass = b.statics.mass("lid")
    plate = Plate(*layout.inside, style.lid.thickness, metal.e, metal.nu)
    push = float(b.throw.force[2])
    return _panel(b, "lid", "lid", plate, metal, mass, push, [], "plate on its gasket", "a thicker lid")


def _lid_screws(b: Bench) -> Calculation:
    """Return the check of the lid's screws and inserts when the box is thrown up."""
    kit, style = b.kit, b.kit.style
    row = kit.catalogue.insert(style.lid_screw.insert)
    stock = kit.flange_angle
    lines = [line for line in b.design.assembly.lines if line.joint == "lid"]
    w = Working()
    b.acceleration(w)
    w.given("m", b.statics.mass("lid"), "kg", "the lid")
    w.given("n", sum(len(line.points) for line in lines), "", "its screws")
    w.given("k_n", 2.0, "", "the worst one takes twice its share: common practice, no source")
    w.let("N", "k_n * m * a_z / n", "N", "pull of one; the gasket's own push apart")
    b.allow.screw(w, style.lid_screw.size)
    lid = b.sheet_metal(style.lid.material, style.lid.thickness)
    b.allow.punch(w, kit.head(style.lid_screw.size, style.lid_screw.head)[0], style.lid.thickness, lid)
    b.allow.punch(w, row.flange_diameter, stock.wall, b.stock_metal(stock), "f")
    parts = "N / F_t_Rd, N / B_p_Rd, N / B_f_Rd"
    if row.pull_out is not None:
        w.given("F_i", row.pull_out, "N", f"pull-out of insert '{row.name}'", row.source)
        w.let("F_i_Rd", "F_i / γ_f", "N", "pull-out it may bear")
        parts += ", N / F_i_Rd"
    w.let("use", f"max({parts})", "", "share that is used; over 1 fails")
    note = "" if row.pull_out is not None else f"the pull-out of insert '{row.name}' is not in its row: ask its maker"
    return b.made(
        "lid screws",
        "lid",
        "pull on screws and inserts",
        w,
        help="a smaller lid screw pitch",
        note=note,
        at=_middle(lines[0].points),
    )


def _middle(points: np.ndarray) -> tuple[float, float, float]:
    x, y, z = points.mean(axis=0).tolist()
    return (x, y, z)
