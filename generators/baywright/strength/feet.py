"""The feet: bending of the lower leg, screws and bond to the wall, the bolt to the car, the car's own metal."""

import math
from collections.abc import Iterator

import numpy as np

from baywright.box.feet import Foot, bolt_reach
from baywright.box.shell import sides
from baywright.mechanics.boltgroup import BoltForces, group_forces
from baywright.mechanics.statics import Array
from baywright.piece.extrusion import Stock
from baywright.strength.bench import SPREAD, Bench
from baywright.strength.bond import bond_use
from baywright.strength.check import Calculation, worst_of_each
from baywright.strength.screws import ELASTIC, worst_screw
from baywright.strength.working import Working

# The car's floor where a box stands, if nothing better is known: 0.8 mm of mild steel, DC01, Rm 270 MPa (EN 10130).
CAR_SHEET, CAR_ULTIMATE = 0.8, 270.0
_CAR = "assumed: 0.8 mm sheet of mild steel DC01, Rm 270 MPa (EN 10130), from memory"
_SHARE = "elastic method: equal feet, slotted ones not along the box"


def feet(b: Bench) -> Iterator[Calculation]:
    """Yield the checks of the worst foot, for each of the ways that it can fail."""
    if not b.statics.feet:
        return
    forces = b.statics.on_feet(b.throw.force).forces
    yield from on_bolts(b, forces)


def on_bolts(b: Bench, forces: Array) -> Iterator[Calculation]:
    """Yield the checks of the worst foot under the forces (n, 3) N of the car on the box at each foot's bolt."""
    owners = [(foot, bolt) for foot in b.design.feet for bolt in foot.bolts]
    begun: dict[int, Working] = {}

    def begin(i: int) -> tuple[Foot, Array, Array, Working]:
        if i not in begun:
            begun[i] = Working()
            _reaction(b, begun[i], *owners[i], forces[i])
        return *owners[i], forces[i], begun[i]

    up = int(np.argmin(forces[:, 2]))
    if forces[up, 2] < 0:
        yield _leg(b, *begin(up))
        yield from _shell(b, *begin(up))
        yield _car_sheet(b, *begin(up))
    # Pulled, pressed and pushed aside a foot fails in different ways, so that none can be named the worst beforehand.
    every, whole = range(len(owners)), []
    for foot in b.design.feet:
        mine = [i for i in every if owners[i][0] is foot]
        start = begin(mine[0])[3] if len(mine) == 1 else _together(b, foot, forces[mine])
        whole.append((foot, forces[mine], start))
    yield from worst_of_each(one for each in whole for one in _upright(b, *each))
    yield from worst_of_each(_bolt(b, *begin(i)) for i in every)


def _reaction(b: Bench, w: Working, foot: Foot, bolt: Array, force: Array) -> None:
    """Add what the car does to the box at one bolt, as the elastic method gives it by hand, or as a rule imposes it."""
    if not b.throw.way:
        for axis, name in enumerate("xyz"):
            w.given(f"R_{name}", float(force[axis]), "N", f"on {foot.mark} along {name}: {b.throw.text}")
        return
    body = b.design.mass_properties
    places = np.array([support.at for support in b.statics.feet])
    middle = places.mean(axis=0)
    # Feet stand opposite each other: Σ x y is nothing, of all and of those in round holes.
    r, c, at = places - middle, body.centroid - middle, bolt - middle
    round_ = np.array([not f.slotted for f in b.design.feet for _ in f.bolts])
    w.given("m", body.mass, "kg", "the whole box")
    b.acceleration(w)
    for name in "xyz":
        w.let(f"F_{name}", f"m * a_{name}", "N", f"its force along {name}")
    w.given("n", len(places), "", "bolts to the car")
    w.given("n_r", int(round_.sum()), "", "of them in round holes: slots give way along the box")
    w.given("x_c", float(c[0]), "mm", "centre of mass from the bolts' middle, along the box")
    w.given("y_c", float(c[1]), "mm", "across")
    w.given("h", float(c[2]), "mm", "and above the bolts")
    w.given("x_i", float(at[0]), "mm", f"{foot.mark} from the bolts' middle, along")
    w.given("y_i", float(at[1]), "mm", "across")
    w.given("S_x", float((r[:, 0] ** 2).sum()), "mm²", "Σ x² of all bolts")
    w.given("S_y", float((r[:, 1] ** 2).sum()), "mm²", "Σ y² of all bolts")
    w.given("S_r", float((r[round_, 1] ** 2).sum()), "mm²", "Σ y² of those in round holes")
    w.let("M_x", "y_c * F_z - h * F_y", "N·mm", "moment about x")
    w.let("M_y", "h * F_x - x_c * F_z", "N·mm", "moment about y")
    w.let("M_z", "x_c * F_y - y_c * F_x", "N·mm", "moment about z")
    along = "-F_x / n_r + M_z * y_i / (S_x + S_r)" if not foot.slotted else "0 * F_x"
    w.let("R_x", along, "N", "the car on the box there, along", _SHARE)
    w.let("R_y", "-F_y / n - M_z * x_i / (S_x + S_r)", "N", "across", _SHARE)
    w.let("R_z", "-F_z / n - M_x * y_i / S_y + M_y * x_i / S_x", "N", "upright", _SHARE)


def _together(b: Bench, foot: Foot, forces: Array) -> Working:
    """Return what the car does to a foot with several bolts, at all of them (n, 3) N together."""
    w = Working()
    if b.throw.way:
        w.given("m", b.design.mass_properties.mass, "kg", "the whole box")
        b.acceleration(w)
    for axis, name in enumerate("xyz"):
        text = f"on {foot.mark} along {name}, its {len(forces)} bolts together: {b.throw.text}"
        w.given(f"R_{name}", float(forces[:, axis].sum()), "N", text, _SHARE if b.throw.way else "")
    return w


def _leg(b: Bench, foot: Foot, bolt: Array, force: Array, start: Working) -> Calculation:
    """Return the bending of the lower leg where the box pulls up and the bolt holds it down."""
    stock, length, count = _foot(b, foot)
    w = start.copy()
    w.let("T", "-R_z", "N", "pull on the bolt")
    w.given("c", bolt_reach(b.layout), "mm", "from the bolt to the upright leg's inner face")
    w.given("t", stock.wall, "mm", f"leg of the {stock.name}")
    w.given("L", length / count, "mm", "length of leg for this bolt")
    w.given("d_w", b.kit.size(b.kit.style.feet.bolt).washer.outside, "mm", "washer")
    w.let("b_e", "min(L, d_w + t + c)", "mm", "length that bends", SPREAD)
    w.let("M", "T * c", "N·mm", "bending at the upright leg: a cantilever", "beam tables")
    w.let("σ", "6 * M / (b_e * t**2)", "MPa", "bending stress")
    return b.stress(
        "feet, lower leg",
        foot.mark,
        "leg in bending",
        w,
        b.stock_metal(stock),
        help="heavier feet along the long walls, bolted near their leg; longer or more of them; a lower and wider box",
        at=_point(bolt),
    )


def _upright(b: Bench, foot: Foot, forces: Array, start: Working) -> Iterator[Calculation]:
    """Yield the joint of the upright leg and its wall, which hold all its bolts, by screws and by bond alone."""
    style, kit = b.kit.style, b.kit
    stock, length, _ = _foot(b, foot)
    metal, wall = b.stock_metal(stock), b.wall_metal
    out = _out(b, foot)
    upper, lower = b.line(f"{foot.mark} upper"), b.line(f"{foot.mark} lower")
    points, got = _on_screws(b, foot, forces)
    # The lower ones hold in the floor angle's leg, the upper ones in the doubler: the thinner counts for all.
    floor = kit.floor_angle
    tapped = b.stock_metal(floor)
    w = start.copy()
    w.given("n_s", len(points), "", "screws of the upright leg")
    b.allow.screw(w, upper.size)
    b.allow.strip(w, upper.size, min(floor.wall, style.feet.doubler_thickness), tapped)
    edge = float(lower.points[0][2]) - b.layout.wall_bottom
    b.allow.bearing(w, upper.size, upper.layers[0].diameter, style.wall.thickness, wall, edge, edge, "_w")
    b.allow.bearing(
        w, upper.size, upper.layers[0].diameter, stock.wall, metal, edge, 2 * kit.diameter(upper.size), "_f"
    )
    i = worst_screw(w.values, got, "F_b_Rd_w", "F_b_Rd_f")
    w.given("V", float(got.across[i]), "N", "shear of the worst one", ELASTIC)
    w.given("N", max(0.0, float(got.tension[i])), "N", "pull of the worst one", ELASTIC)
    w.let("u_1", "V / F_v_Rd + N / (1.4 * F_t_Rd)", "", "shear and pull together", "EN 1993-1-8 table 3.4, from memory")
    w.let("u_2", "N / F_s_Rd", "", "thread in the floor angle")
    w.let("u_3", "max(V / F_b_Rd_w, V / F_b_Rd_f)", "", "bearing in wall and foot; the doubler's help left out")
    w.let("use", "max(u_1, u_2, u_3)", "", "share of the screws that is used, bond ignored")
    common = {"where": (foot.mark, f"wall {foot.wall}"), "at": _point(foot.bolts[0]), "joint": "upright leg"}
    yield b.made(
        "feet, upright leg",
        foot.mark,
        "screws alone",
        w,
        alone="screws",
        help="larger foot screws, longer feet (more screws) or more feet",
        **common,
    )
    yield _pulled_angle(b, foot, float(np.maximum(got.tension[len(upper.points) :], 0.0).sum()), start)
    glued = start.copy()
    bolt = foot.bolts[0]
    arm = float(bolt @ out) - (sides(b.layout)[foot.wall].inner + style.wall.thickness + style.bond_line)
    outward = float((forces @ out).sum())
    # Held down by its bolt the foot turns about its heel, which is pressed on; pressed up by the car it is not turned.
    held_down = float(np.maximum(-forces[:, 2], 0.0).sum())
    moment = held_down * arm + abs(outward) * abs(float(bolt[2]) - b.layout.wall_bottom)
    level = "R_y" if foot.wall in ("blind", "service") else "R_x"
    glued.let("V_b", f"hypot({level}, R_z)", "N", "in the plane of the bond")
    bond_use(
        glued,
        b.allow,
        bond=style.bond_line,
        area=b.statics.bond_area(f"bond wall {foot.wall} / {foot.mark}"),
        overlap=stock.height - style.feet.stand_off - b.layout.wall_bottom,
        leg=metal,
        leg_thickness=stock.wall,
        wall=wall,
        wall_thickness=style.wall.thickness,
        shear=glued.values["V_b"],
        pull=max(0.0, outward),
        moment=moment,
        presses=outward <= 0,
        along=length,
    )
    yield b.made(
        "feet, upright leg", foot.mark, "bond alone", glued, alone="bond", help="longer feet or more of them", **common
    )


def _pulled_angle(b: Bench, foot: Foot, pull: float, start: Working) -> Calculation:
    """Return the bending of the floor angle's upright leg, which the foot's lower screws pull out with the wall."""
    stock, lower = b.kit.floor_angle, b.line(f"{foot.mark} lower")
    w = start.copy()
    w.given("N_l", pull, "N", "pull of the lower screws together", ELASTIC)
    w.given("t", stock.wall, "mm", f"leg of the {stock.name}")
    w.given(
        "c", float(lower.points[0][2]) - b.layout.wall_bottom - stock.wall, "mm", "from the screws to its other leg"
    )
    w.given("L", b.length(foot.mark), "mm", "length of the foot")
    w.let("b_e", "L + c", "mm", "length that bends", SPREAD)
    # The foot's own leg and the wall keep it flat where it is pulled, so it bends as a beam held straight at both ends.
    w.let("M", "N_l * c / 2", "N·mm", "bending at the root, held straight at both ends", "beam tables")
    w.let("σ", "6 * M / (b_e * t**2)", "MPa", "bending stress")
    mark = f"floor angle {foot.wall}"
    return b.stress(
        "wall and floor at the feet",
        mark,
        "floor angle's leg pulled by the foot's lower screws",
        w,
        b.stock_metal(stock),
        help="a thicker floor angle, or longer feet",
        where=(mark, foot.mark),
        at=_point(foot.bolts[0]),
    )


def _out(b: Bench, foot: Foot) -> Array:
    return sides(b.layout)[foot.wall].out


def _on_screws(b: Bench, foot: Foot, forces: Array) -> tuple[Array, BoltForces]:
    """Return the screws of an upright leg, upper row first, and what each takes of the forces (n, 3) at its bolts.

    Held down, the foot is held at its bolt; pressed up by the car it bears at its heel.
    """
    upper, lower = b.line(f"{foot.mark} upper"), b.line(f"{foot.mark} lower")
    points = np.vstack([upper.points, lower.points])
    out = _out(b, foot)
    middle, moment = foot.bolts.mean(axis=0), np.zeros(3)
    for bolt, force in zip(foot.bolts, forces, strict=True):
        bears = bolt + out * float((points[0] - bolt) @ out) if force[2] > 0 else bolt
        moment = moment + np.cross(bears - middle, force)
    return points, group_forces(points, out, forces.sum(axis=0), moment, middle)


def _shell(b: Bench, foot: Foot, bolt: Array, force: Array, start: Working) -> Iterator[Calculation]:
    """Yield what the foot's moment does to the wall above it and to the floor, which share it by stiffness.

    Wall and floor meet at the foot stiffly, through the floor angle; each is a strip whose far end is pinned.
    """
    layout, style = b.layout, b.kit.style
    stock, length, count = _foot(b, foot)
    wall, floor = b.wall_metal, b.sheet_metal(style.floor.material, style.floor.thickness)
    feet_here, side = sum(1 for other in b.design.feet if other.wall == foot.wall), sides(layout)[foot.wall]
    name_of = "end wall" if foot.wall in ("blind", "service") else "long wall"
    for part, metal in (("w", wall), ("f", floor)):
        w = start.copy()
        w.let("T", "-R_z", "N", "pull on the bolt")
        out = float(bolt @ side.out) - side.inner - style.wall.thickness / 2
        w.given("c_w", out, "mm", f"from the bolt to the middle of the {name_of}")
        w.given("k_b", count, "", "bolts of this foot")
        w.let("M_f", "k_b * T * c_w", "N·mm", "moment of the foot on the corner of wall and floor", "statics")
        for tag, sheet, of, span in (
            ("w", style.wall, wall, layout.wall_top - layout.wall_bottom),
            ("f", style.floor, floor, 2 * side.inner),
        ):
            name = "wall" if tag == "w" else "floor"
            w.given(f"E_{tag}", of.e, "MPa", f"modulus of the {name}, {of.name}")
            w.given(f"t_{tag}", sheet.thickness, "mm", f"thickness of the {name}")
            w.given(f"L_{tag}", span, "mm", f"span of the {name} to its far edge")
            w.let(f"k_{tag}", f"E_{tag} * t_{tag}**3 / L_{tag}", "N", "its stiffness against turning, in proportion")
        w.given("L", length, "mm", "length of the foot")
        w.given("h_f", stock.height - style.feet.stand_off, "mm", "height of its upright leg on the wall")
        w.given("b_f", 2 * side.half / feet_here, "mm", "width of wall for one foot")
        w.let("b_e", "min(L + h_f, b_f)", "mm", "width that bends", SPREAD)
        w.let("M", f"M_f * k_{part} / (k_w + k_f)", "N·mm", "its share of the moment")
        w.let("σ", f"6 * M / (b_e * t_{part}**2)", "MPa", "bending stress")
        mark = f"wall {foot.wall}" if part == "w" else "floor"
        yield b.stress(
            "wall and floor at the feet",
            mark,
            f"bending of the {name_of if part == 'w' else 'floor'} by the foot",
            w,
            metal,
            help="a thicker floor and walls, longer feet or more of them, or a lower and wider box (columns)",
            where=(mark, foot.mark),
            at=_point(bolt),
        )


def _bolt(b: Bench, foot: Foot, bolt: Array, force: Array, start: Working) -> Calculation:
    """Return the check of the bolt to the car: shear, pull with prying at the toe, bearing in the foot."""
    stock, length, count = _foot(b, foot)
    style, size = b.kit.style, b.kit.style.feet.bolt
    w = start.copy()
    w.let("V", "hypot(R_x, R_y)", "N", "shear")
    w.given("c", bolt_reach(b.layout) + stock.wall / 2, "mm", "from the bolt to the upright leg's middle")
    w.given(
        "c_t",
        stock.width - stock.wall - bolt_reach(b.layout),
        "mm",
        "from the bolt to the toe, about which the leg pries",
    )
    w.let("N", "max(0, -R_z) * (c + c_t) / c_t", "N", "pull with prying: lever about the toe", "statics")
    b.allow.screw(w, size)
    hole = b.kit.clearance(size)
    side = min(length / count / 2, float(w.values["c_t"]))
    b.allow.bearing(w, size, hole, stock.wall, b.stock_metal(stock), side, side)
    b.allow.punch(w, b.kit.size(size).washer.outside, stock.wall, b.stock_metal(stock))
    w.let("u_1", "max(V / F_v_Rd + N / (1.4 * F_t_Rd), N / F_t_Rd)", "", "shear and pull", "EN 1993-1-8, from memory")
    w.let("u_2", "max(V / F_b_Rd, N / B_p_Rd)", "", "bearing in the foot, washer through it")
    w.let("use", "max(u_1, u_2)", "", "share that is used; over 1 fails")
    return b.made(
        "bolts to the car",
        foot.mark,
        f"{style.feet.bolt} bolt, class 8.8",
        w,
        help="a larger bolt, or more feet",
        at=_point(bolt),
    )


def _car_sheet(b: Bench, foot: Foot, bolt: Array, force: Array, start: Working) -> Calculation:
    """Return how wide a plate must lie under the bolt behind a thin floor, against its washer."""
    stock, size = b.kit.stock(b.kit.style.feet.section), b.kit.style.feet.bolt
    w = start.copy()
    w.given("c", bolt_reach(b.layout) + stock.wall / 2, "mm", "from the bolt to the upright leg's middle")
    w.given("c_t", stock.width - stock.wall - bolt_reach(b.layout), "mm", "from the bolt to the toe")
    w.let("N", "max(0, -R_z) * (c + c_t) / c_t", "N", "pull with prying: lever about the toe", "statics")
    w.given("t_c", CAR_SHEET, "mm", "the car's sheet", _CAR)
    w.given("f_u_c", CAR_ULTIMATE, "MPa", "its tensile strength", _CAR)
    w.given("γ_u", b.allow.basis.on_ultimate, "", f"factor on rupture, {b.allow.basis.name}", b.allow.basis.source)
    need = w.let(
        "D",
        f"N * γ_u / (0.6 * {math.pi:.6f} * t_c * f_u_c)",
        "mm",
        "plate or washer needed behind the sheet",
        "EN 1993-1-8 table 3.4 punching, from memory",
    )
    have = w.given("D_w", b.kit.size(size).washer.outside, "mm", f"plain washer of {size}", "ISO 7089, from memory")
    w.let("use", "D / D_w", "", "over 1: a spreader plate is needed")
    return b.made(
        "car's floor under the bolts",
        foot.mark,
        "washer through thin sheet",
        w,
        demand=need,
        resistance=have,
        unit="mm",
        advice=True,
        help=f"a steel plate at least {math.ceil(need):d} mm across behind the sheet, better into a frame member",
        note=_CAR,
        at=_point(bolt),
    )


def _foot(b: Bench, foot: Foot) -> tuple[Stock, float, int]:
    return b.kit.stock(b.kit.style.feet.section), b.length(foot.mark), len(foot.bolts)


def _point(point: Array) -> tuple[float, float, float]:
    x, y, z = point.tolist()
    return (x, y, z)
