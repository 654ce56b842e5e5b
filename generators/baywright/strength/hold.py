"""Module retention: hold-down screws into bearers, or tie rods into floor bars."""

from collections.abc import Iterator

import numpy as np

from baywright.box.hold import hold_down
from baywright.strength.allow import CLASS, Unchecked
from baywright.strength.bench import Bench
from baywright.strength.check import Calculation
from baywright.strength.screws import ELASTIC, worst_screw
from baywright.strength.working import Working


def retention(b: Bench) -> Iterator[Calculation]:
    """Yield the check of the worst hold-down of a module, or of the worst tie rod of a stack."""
    layout, kit = b.layout, b.kit
    rods = layout.carry == "tie rods"
    count = layout.layers if rods else 1
    size, bar = layout.module.hold_screw, kit.bearer
    depth = bar.height if rods else hold_down(kit, layout.module).length - layout.module.seat
    w, limits = Working(), Working()
    b.allow.screw(limits, size)
    b.allow.strip(limits, size, depth, b.stock_metal(bar))
    _forces(b, w, count, limits)
    b.allow.screw(w, size)
    b.allow.strip(w, size, depth, b.stock_metal(bar))
    w.let("N", "max(T, 0)", "N", "pull on it; pressure goes through the module")
    w.let("u_1", "V / F_v_Rd + N / (1.4 * F_t_Rd)", "", "shear and pull together", "EN 1993-1-8 table 3.4, from memory")
    w.let("u_2", "N / F_s_Rd", "", "thread in the bar")
    w.let("use", "max(u_1, u_2)", "", "share that is used; over 1 fails")
    name = "tie rods" if rods else "module hold-downs"
    piece = "tie rods 1.1.1" if rods else "hold-down 1.1.1.1"
    thread = w.values["u_2"] > w.values["u_1"]
    yield b.made(
        name,
        piece,
        "thread in the bar" if thread else "shear and pull",
        w,
        where=(piece,),
        help="a thicker bar" if thread else "more or larger hold-downs: another module or orientation",
    )
    if rods and layout.layers > 1:
        yield _gap_bending(b, size)


def _forces(b: Bench, w: Working, count: int, limits: Working) -> None:
    """Add shear V and pull T of the hold-down that is worst by what one may take."""
    s, layout = b.statics, b.layout
    try:
        got = s.on_hold_downs(b.throw.force, count)
    except ValueError as no:
        raise Unchecked(
            f"module '{layout.module.module.name}' as it lies '{layout.ask.orientation}' has hold-downs in one line: "
            f"{no}; choose another orientation or carry"
        ) from None
    b.acceleration(w)
    holds = s.holds[:, :2]
    middle = holds.mean(axis=0)
    r = holds - middle
    worst = worst_screw(limits.values, got)
    pitch = float(layout.module.size[2]) + layout.layer_gap
    w.given(
        "m", count * s.module_mass, "kg", "one module with coolant" if count == 1 else f"a stack of {count} modules"
    )
    for axis in "xyz":
        w.let(f"F_{axis}", f"m * a_{axis}", "N", f"its force along {axis}")
    w.given("x_c", float(s.module_centre[0] - middle[0]), "mm", "its centre of mass from the hold-downs' middle")
    w.given("y_c", float(s.module_centre[1] - middle[1]), "mm", "and across")
    w.given("h", float(s.module_centre[2]) + pitch * (count - 1) / 2, "mm", "its centre of mass above the bar")
    w.given("n", len(holds), "", "hold-downs")
    w.given("x_i", float(r[worst, 0]), "mm", "the worst one from their middle, along")
    w.given("y_i", float(r[worst, 1]), "mm", "and across")
    w.given("S_x", float((r[:, 0] ** 2).sum()), "mm²", "Σ x²")
    w.given("S_y", float((r[:, 1] ** 2).sum()), "mm²", "Σ y²")
    w.let("M_x", "y_c * F_z - h * F_y", "N·mm", "moment about x")
    w.let("M_y", "h * F_x - x_c * F_z", "N·mm", "moment about y")
    w.let("M_z", "x_c * F_y - y_c * F_x", "N·mm", "moment about z")
    even = abs(float((r[:, 0] * r[:, 1]).sum())) < 1e-6 and w.values["S_x"] > 0 and w.values["S_y"] > 0
    if even:
        w.let("T", "F_z / n + M_x * y_i / S_y - M_y * x_i / S_x", "N", "pull on the worst one", ELASTIC)
    else:
        w.given("T", float(got.tension[worst]), "N", "pull on the worst one (pattern askew: solved)", ELASTIC)
    w.let("V_x", "F_x / n - M_z * y_i / (S_x + S_y)", "N", "shear along", ELASTIC)
    w.let("V_y", "F_y / n + M_z * x_i / (S_x + S_y)", "N", "shear across", ELASTIC)
    w.let("V", "hypot(V_x, V_y)", "N", "shear on the worst one")


def _gap_bending(b: Bench, size: str) -> Calculation:
    """Return the check of the rods where they cross the lowest gap between layers: bent, and pulled as those tip."""
    layout, row = b.layout, b.kit.size(size)
    above = b.statics.on_hold_downs(b.throw.force, layout.layers - 1)
    w = Working()
    b.acceleration(w)
    w.given("m", b.statics.module_mass, "kg", "one module with coolant")
    w.given("k", layout.layers - 1, "", "layers above the lowest gap")
    w.given("n", len(b.statics.holds), "", "rods of a stack")
    w.let("V", "k * m * hypot(a_x, a_y) / n", "N", "shear across the gap, each rod")
    w.given("g", layout.layer_gap, "mm", "the gap")
    w.let("M", "V * g / 2", "N·mm", "bending, held straight at both ends of the gap", "beam tables")
    w.given("d_3", row.minor_diameter, "mm", f"core of {size}", "ISO 724")
    w.given(
        "N", max(0.0, float(above.tension.max())), "N", "pull there of the worst rod: the layers above tip", ELASTIC
    )
    w.given("F_p", row.proof_load[CLASS], "N", f"proof load, class {CLASS}", "ISO 898-1")
    w.given("A_s", row.stress_area, "mm²", "stress area", "ISO 898-1")
    w.let("σ", f"32 * M / ({np.pi:.6f} * d_3**3) + N / A_s", "MPa", "bending in the core, and the pull")
    w.given("γ_f", b.allow.basis.on_fastener, "", f"factor on fasteners, {b.allow.basis.name}", b.allow.basis.source)
    allowed = w.let("σ_Rd", "F_p / A_s / γ_f", "MPa", "what it may bear")
    w.let("use", "σ / σ_Rd", "", "share that is used; over 1 fails")
    return b.made(
        "tie rods",
        "tie rods 1.1.1",
        "bending across the gap between layers",
        w,
        demand=w.values["σ"],
        resistance=allowed,
        unit="MPa",
        help="ledges instead of rods, or fewer layers",
    )
