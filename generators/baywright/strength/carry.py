"""Bearers across the box, their end screws, and the ledges and floor angles that they lie on."""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from baywright.strength.bench import SPREAD, Bench
from baywright.strength.bond import bond_use
from baywright.strength.check import Calculation
from baywright.strength.path import BearerLoads
from baywright.strength.working import Working

_BEAM = "statics of a simply supported beam"


def bearers(b: Bench) -> Iterator[Calculation]:
    """Yield the checks of bearers, their ends and what they lie on: the worst bearer of a full row, for each."""
    loads = b.statics.bearers(b.throw.force)
    yield max((_bending(b, one) for one in loads), key=lambda c: c.use)
    yield from _ends_and_seats(b, loads)


def _net(b: Bench) -> tuple[float, float, float]:
    """Return a bearer's width and height and the tapped hole at its hold-downs, mm."""
    bar = b.kit.bearer
    return bar.width, bar.height, b.kit.size(b.layout.module.hold_screw).tap_drill


def _bending(b: Bench, one: BearerLoads) -> Calculation:
    wide, high, hole = _net(b)
    upright, level = (wide - hole) * high**2 / 6, (wide**3 - hole**3) * high / (6 * wide)
    even = max(0.0, -float(one.forces[:, 2].sum() + one.own[2])) * one.span / 8
    at = int((np.maximum(np.abs(one.moments), even) / upright + np.abs(one.side_moments) / level).argmax())
    w = Working()
    w.given("L", one.span, "mm", "length of the bearer, between the walls' angles")
    for i, (point, force) in enumerate(zip(one.points, one.forces, strict=True), 1):
        w.given(f"y_{i}", float(point[1]) + one.span / 2, "mm", f"hold-down {i} from its end")
        w.given(f"P_{i}", float(force[2]), "N", "upright force of the module there (hold-downs' calculation)")
        w.given(f"Q_{i}", float(force[0]), "N", "level force along the box there")
    w.given("G_z", float(one.own[2]), "N", "the bearer's own mass, thrown: upright")
    w.given("G_x", float(one.own[0]), "N", "level")
    for name, load, own in (("v", "P", "G_z"), ("h", "Q", "G_x")):
        parts = " + ".join(f"{load}_{i} * (L - y_{i})" for i in range(1, len(one.points) + 1))
        w.let(f"R_{name}", f"({parts}) / L + {own} / 2", "N", "share of the near end", _BEAM)
        before = "".join(
            f" - {load}_{i} * (y_{at + 1} - y_{i})"
            for i in range(1, len(one.points) + 1)
            if one.points[i - 1, 1] < one.points[at, 1]
        )
        line = f"abs(R_{name} * y_{at + 1}{before} - {own} * y_{at + 1}**2 / (2 * L))"
        w.let(f"M_{name}", line, "N·mm", f"bending under hold-down {at + 1}", _BEAM)
    total = " + ".join(f"P_{i}" for i in range(1, len(one.points) + 1))
    w.let("W", f"max(0, -({total} + G_z))", "N", "what presses down in all")
    w.let("M_e", "W * L / 8", "N·mm", "bending if the modules press evenly", _BEAM)
    w.given("b", wide, "mm", "width of the bar")
    w.given("t", high, "mm", "its thickness")
    w.given("d_h", hole, "mm", "tapped hole")
    w.let("Z_v", "(b - d_h) * t**2 / 6", "mm³", "section modulus upright, hole out")
    w.let("Z_h", "(b**3 - d_h**3) * t / (6 * b)", "mm³", "section modulus level, hole out")
    w.let("σ", "max(M_v, M_e) / Z_v + M_h / Z_h", "MPa", "bending stress")
    middle = (float(one.points[at, 0]), float(one.points[at, 1]), b.layout.support[0] + high)
    return b.stress(
        "bearers",
        one.mark,
        "bending",
        w,
        b.stock_metal(b.kit.bearer),
        help="a thicker or wider bearer",
        at=middle,
    )


def _ends_and_seats(b: Bench, loads: list[BearerLoads]) -> Iterator[Calculation]:
    ends = [(one, e) for one in loads for e in (0, 1)]
    worst = max((_end_screws(b, *end) for end in ends), key=lambda c: c.use)
    yield worst
    one, e = min(ends, key=lambda item: float(item[0].ends[item[1], 2]))
    if one.ends[e, 2] >= 0:
        return
    down = -float(one.ends[e, 2])
    for layer in (1, 2) if b.layout.layers > 1 else (1,):
        for seat in _seat(b, one, e, down, layer):
            yield seat
        # The end screws hold the bearer by themselves: with them the seat is not needed.
        yield replace(worst, member=seat.member, joint=seat.joint, alone="end screws")


def _end_screws(b: Bench, one: BearerLoads, e: int) -> Calculation:
    """Return the check of the two screws in a bearer's end: they carry everything, what it lies on ignored."""
    layout, kit, style = b.layout, b.kit, b.kit.style
    side = "left" if e == 0 else "right"
    line = b.line(f"{one.mark} to wall {side}")
    w = Working()
    _end_forces(w, one, e)
    high, lever = kit.bearer.height, kit.bearer.width / 2
    w.given("t", high, "mm", "thickness of the bearer: the level force acts on its top")
    w.given("s", lever, "mm", "between the two screws of an end")
    w.let("V", "hypot(R_x / 2, abs(R_z) / 2 + abs(R_x) * t / 2 / s)", "N", "shear of one screw, the couple included")
    w.let("N", "abs(Y) / 2", "N", "pull of one screw: the other end only presses")
    b.allow.screw(w, line.size)
    depth = (line.layers[-1].depth or 0.0) - 2 * kit.size(line.size).pitch
    b.allow.strip(w, line.size, depth, b.stock_metal(kit.bearer))
    z = float(line.points[0][2])
    end = min(z - layout.wall_bottom, layout.wall_top - z)
    hole = line.layers[0].diameter
    b.allow.bearing(w, line.size, hole, style.wall.thickness, b.wall_metal, end, end, "_w")
    b.allow.punch(w, line.head[0], style.wall.thickness, b.wall_metal)
    w.let("u_1", "V / F_v_Rd + N / (1.4 * F_t_Rd)", "", "shear and pull together", "EN 1993-1-8 table 3.4, from memory")
    w.let("u_2", "max(N / F_s_Rd, N / B_p_Rd)", "", "thread in the bar, head through the wall")
    w.let("u_3", "V / F_b_Rd_w", "", "bearing in the wall")
    w.let("use", "max(u_1, u_2, u_3)", "", "share that is used; over 1 fails")
    return b.made(
        "bearer ends",
        one.mark,
        "end screws, bond and ledge ignored",
        w,
        where=(one.mark, f"wall {side}"),
        at=_point(line.points[0]),
        help="a larger bearer screw, or thicker walls",
    )


def _end_forces(w: Working, one: BearerLoads, e: int) -> None:
    w.given("R_x", float(one.ends[e, 0]), "N", "level force along the box at the worst end (bearer's statics)", _BEAM)
    w.given("R_z", float(one.ends[e, 2]), "N", "upright force there, up positive", _BEAM)
    w.given("Y", float(one.ends[:, 1].sum()), "N", "force along the bearer, all of it", _BEAM)


def _seat(b: Bench, one: BearerLoads, e: int, down: float, layer: int) -> Iterator[Calculation]:
    """Yield what a ledge (or the floor angle, whose foot the floor holds) bears, by bond alone and by screws alone."""
    kit, style, side = b.kit, b.kit.style, "left" if e == 0 else "right"
    ledge = layer > 1
    stock = kit.ledge_angle if ledge else kit.floor_angle
    mark = f"ledge {layer} {side}" if ledge else f"floor angle {side}"
    member = "ledges" if ledge else "floor angles under bearers"
    metal, bearer = b.stock_metal(stock), one.mark.replace("1.", f"{layer}.", 1)
    at = (float(one.points[0, 0]), math.copysign(b.layout.inside[1] / 2, e - 0.5), b.layout.support[layer - 1])
    common: dict[str, Any] = {"where": (mark, bearer), "at": at, "joint": f"{member}, {mark}"}
    bent = Working()
    bent.given("R", down, "N", "the bearer presses down (bearer's statics)", _BEAM)
    bent.given("w_l", stock.width, "mm", f"leg of the {stock.name}")
    bent.given("t_l", stock.wall, "mm", "its thickness")
    bent.given("w_b", kit.bearer.width, "mm", "width of the bearer")
    bent.let("e", "w_l - t_l", "mm", "arm: the bearer sags and presses on the leg's toe")
    bent.let("b_e", "w_b + e", "mm", "length of leg that helps", SPREAD)
    if ledge:
        bent.let("σ", "6 * R * e / (b_e * t_l**2)", "MPa", "bending at the leg's root")
        # The leg must bear it however the ledge is held.
        leg = b.stress(member, mark, "leg in bending", bent, metal, help="a thicker or narrower ledge angle", **common)
        yield replace(leg, alone="bond")
        yield replace(leg, alone="screws")

    glued = Working()
    glued.given("R", down, "N", "the bearer presses down (bearer's statics)", _BEAM)
    glued.given("w_l", stock.width, "mm", f"leg of the {stock.name}")
    glued.given("t_l", stock.wall, "mm", "its thickness")
    spread = kit.bearer.width + stock.width - stock.wall
    hole = kit.clearance(style.bearer_screw.size)
    area = spread * stock.height - 2 * math.pi / 4 * hole**2
    bond_use(
        glued,
        b.allow,
        bond=style.bond_line,
        area=area,
        overlap=stock.height,
        leg=metal,
        leg_thickness=stock.wall,
        wall=b.wall_metal,
        wall_thickness=style.wall.thickness,
        shear="R",
        moment="R * (w_l - t_l / 2)" if ledge else 0.0,
        presses=True,
        along=spread,
    )
    yield b.made(
        member,
        mark,
        "bond alone",
        glued,
        alone="bond",
        help="a ledge angle with a longer upright leg" if ledge else "a floor angle with a longer upright leg",
        **common,
    )

    held = Working()
    held.given("R", down, "N", "the bearer presses down (bearer's statics)", _BEAM)
    held.given("n", 2, "", "screws of the angle that count: one on each side of the bearer")
    held.let("V", "R / n", "N", "shear of one")
    if ledge:
        held.given("w_l", stock.width, "mm", f"leg of the {stock.name}")
        held.given("t_l", stock.wall, "mm", "its thickness")
        held.given("z", (stock.wall + stock.width) / 2, "mm", "screws above the heel, on which the leg presses")
        held.let("N", "R * (w_l - t_l / 2) / z / n", "N", "pull of one, from the arm of the toe")
    else:
        held.given("N", 0.0, "N", "pull: none, the floor holds the leg")
    size = style.joint_screw.size
    b.allow.screw(held, size)
    b.allow.strip(held, size, stock.wall, metal)
    gauge = (stock.wall + stock.width) / 2
    b.allow.bearing(held, size, kit.clearance(size), style.wall.thickness, b.wall_metal, gauge, gauge, "_w")
    b.allow.bearing(held, size, kit.size(size).tap_drill, stock.wall, metal, stock.width - gauge, stock.width, "_l")
    held.let("u_1", "V / F_v_Rd + N / (1.4 * F_t_Rd)", "", "shear and pull", "EN 1993-1-8 table 3.4, from memory")
    held.let("u_2", "max(N / F_s_Rd, V / F_b_Rd_w, V / F_b_Rd_l)", "", "thread in the leg, bearing in wall and leg")
    held.let("use", "max(u_1, u_2)", "", "share of the screws that is used, bond ignored")
    yield b.made(
        member,
        mark,
        "its screws alone",
        held,
        alone="screws",
        help="a smaller pitch or a larger joint screw",
        **common,
    )


def _point(point: np.ndarray) -> tuple[float, float, float]:
    x, y, z = point.tolist()
    return (x, y, z)
