"""The lift lugs, while the box hangs on them: their leg in bending, their screws; their bond is not counted."""

from collections.abc import Iterator

import numpy as np

from baywright.box.shell import gauge_line, sides
from baywright.mechanics.boltgroup import group_forces
from baywright.mechanics.statics import Array
from baywright.strength.bench import SPREAD, Bench
from baywright.strength.check import Calculation
from baywright.strength.screws import ELASTIC, worst_screw
from baywright.strength.working import Working

_TWO = "four slings on a stiff box: two on a diagonal take all of it; common practice, no source"


def lifting(b: Bench) -> Iterator[Calculation]:
    """Yield the checks of one lift lug, slings upright, two of the four carrying."""
    eyes = [line for line in b.design.assembly.lines if line.joint == "lifting"]
    if not eyes:
        return
    mark = "lift lug right 1"
    stock, lift = b.kit.stock(b.kit.style.lift.section), b.kit.style.lift
    eye: Array = next(line for line in eyes if line.name == f"{mark} eye").points[0]
    start = Working()
    start.given("m", b.design.mass_properties.mass, "kg", "the whole box")
    source = f"load case '{b.case.name}', {b.throw.text}: {b.case.source}"
    start.given("a", float(np.linalg.norm(b.throw.force)), "m/s²", "with the jerk of the hoist", source)
    start.given("n", 2, "", "lugs that carry", _TWO)
    start.let("F", "m * a / n", "N", "on one eye, upward")
    x, y, z = eye.tolist()
    w = start.copy()
    w.given("c", gauge_line(stock) - stock.wall, "mm", "from the eye to the upright leg")
    w.given("L", lift.length, "mm", "length of the lug")
    w.given("t", stock.wall, "mm", f"leg of the {stock.name}")
    w.given("d_e", lift.hole, "mm", "hole that the sling's shackle or eye bolt pulls on")
    w.let("b_e", "min(L, d_e + t + c)", "mm", "length that bends", SPREAD)
    w.let("σ", "6 * F * c / (b_e * t**2)", "MPa", "bending at the upright leg: a cantilever", "beam tables")
    help_ = "a thicker section for the lift lugs, or straps under the box"
    yield b.stress("lift lugs", mark, "leg in bending", w, b.stock_metal(stock), help=help_, at=(x, y, z))
    held, line = start.copy(), b.line(f"{mark} screws")
    got = group_forces(line.points, sides(b.layout)["right"].out, start.values["F"] * np.eye(3)[2], np.zeros(3), eye)
    style = b.kit.style
    b.allow.screw(held, line.size)
    doubler = b.sheet_metal(style.doubler.material, style.doubler.thickness)
    b.allow.strip(held, line.size, style.doubler.thickness, doubler)
    edge = 2 * b.kit.diameter(line.size)
    b.allow.bearing(held, line.size, line.layers[0].diameter, style.wall.thickness, b.wall_metal, edge, edge, "_w")
    i = worst_screw(held.values, got, "F_b_Rd_w")
    held.given("V", float(got.across[i]), "N", "shear of the worst screw", ELASTIC)
    held.given("N", max(0.0, float(got.tension[i])), "N", "its pull: the lug turns about its middle", ELASTIC)
    shear_pull = "EN 1993-1-8 table 3.4, from memory"
    held.let("u_1", "V / F_v_Rd + N / (1.4 * F_t_Rd)", "", "shear and pull together", shear_pull)
    held.let("u_2", "max(N / F_s_Rd, V / F_b_Rd_w)", "", "thread in the doubler, bearing in the wall")
    held.let("use", "max(u_1, u_2)", "", "share that is used, the bond not counted; over 1 fails")
    yield b.made("lift lugs", mark, "screws alone", held, help="larger screws for the lift lugs", at=(x, y, z))
