"""Feet, saddles, plates and welds of a set of rails, line by line: the mount's forces on them as short beams."""

from collections.abc import Iterator

from baywright.rail.design import Foot, Hanger, Saddle
from baywright.rail.hold import GAMMA_M2, SNIPE, WELD_BETA, WELD_LEG, WELD_THROAT, bolt_line_stress, plate_lengths
from baywright.rail.hold import root_stress as root_of
from baywright.rail.shop import Metal
from baywright.rail.stress import Solved, Use
from baywright.strength.check import Calculation
from baywright.strength.rail_lines import FRAME, case_of, fastener, told
from baywright.strength.working import Working

_BEAM = "a short beam, first principles"
_WELD = "EN 1993-1-8, 4.5.3.3, from memory"


def hanger_calculations(solved: Solved, hanger: Hanger) -> Iterator[Calculation]:
    """Yield the strength figures of what bridges from a bar to one mount."""
    yield _foot(solved, hanger)
    yield _foot_bolts(solved, hanger)
    if isinstance(hanger.foot, Foot) and hanger.foot.gussets:
        yield _weld(solved, hanger)
    if hanger.plate:
        yield _plate(solved, hanger)
        yield _length(solved, hanger)


def _forces(w: Working, solved: Solved, hanger: Hanger, use: Use) -> int:
    """Add the sizes of the mount's forces on its foot under the case that governs; return that case."""
    case, demand = case_of(solved, use), solved.demand(hanger)
    w.given("F_u", float(demand.up[case]), "N", f"{hanger.mount.name} on {hanger.foot.mark}, square to its seat", FRAME)
    w.given("F_l", float(demand.along[case]), "N", "the same along the foot", FRAME)
    w.given("F_o", float(demand.out[case]), "N", "the same out from the bar", FRAME)
    return case


def _yield(w: Working, metal: Metal) -> None:
    w.given("f_y", metal.f_yield, "MPa", f"yield of {metal.name}", metal.source)


def _foot(solved: Solved, hanger: Hanger) -> Calculation:
    foot, use, w = hanger.foot, solved.foot(hanger), Working()
    case, demand = _forces(w, solved, hanger, use), solved.demand(hanger)
    w.given("t", foot.wall, "mm", f"thickness of {foot.mark}, {foot.material}")
    if isinstance(foot, Saddle):
        cure, what = "list thicker plates in shop.plate_thicknesses", "where it leaves what it bears on"
        _saddle_lines(w, foot)
    else:
        cure = "list larger angles in shop.angle_sections"
        at_root = bool(root_of(foot, demand)[case] >= bolt_line_stress(foot, demand)[case])
        what = "at the root of the leg to the mount" if at_root else "at its bolts"
        (_root_lines if at_root else _bolt_lines)(w, foot)
    _yield(w, solved.design.kit.metal(foot.material, "shop.angle_sections", foot.wall))
    return told("foot stress", foot.mark, what, use, w, ("σ", "f_y", "MPa"), cure)


def _saddle_lines(w: Working, saddle: Saddle) -> None:
    w.given("b", saddle.width, "mm", "its width there")
    w.given("e", saddle.free, "mm", "from there to the mount's bolt")
    w.given("a", saddle.arm, "mm", "from its own bolts to the mount's bolt")
    w.given("o", abs(saddle.offset), "mm", "the mount's bolt off the middle of them, along the bar")
    w.let("σ_u", "6 * F_u * e / (b * t**2)", "MPa", "bent flat", _BEAM)
    w.let("σ_w", "6 * (F_l * a + F_o * o) / (t * b**2)", "MPa", "bent on edge", _BEAM)
    w.let("σ", "σ_u + σ_w + F_o / (t * b)", "MPa", "all added, on the safe side", _BEAM)


def _modulus(w: Working, foot: Foot, width: str, depth: float) -> None:
    """Add the section modulus W of a leg, its gussets as ribs `depth` mm deep."""
    if not foot.gussets or depth <= 0:
        w.let("W", f"{width} * t**2 / 6", "mm³", "section modulus of the strip", _BEAM)
        return
    w.given("g", foot.gussets, "mm", "thickness of each of two gussets")
    w.given("h", depth, "mm", "depth of the gussets here")
    w.let("A_f", f"{width} * t", "mm²", "area of the strip")
    w.let("A_r", "2 * g * h", "mm²", "area of the gussets")
    w.let("z_c", "(A_f * t / 2 + A_r * (t + h / 2)) / (A_f + A_r)", "mm", "their centroid from the leg's flat side")
    w.let("I_f", f"{width} * t**3 / 12 + A_f * (z_c - t / 2)**2", "mm⁴", "second moment of the strip", "parallel axes")
    w.let("I_r", "2 * g * h**3 / 12 + A_r * (t + h / 2 - z_c)**2", "mm⁴", "of the gussets", "parallel axes")
    w.let("W", "(I_f + I_r) / max(z_c, t + h - z_c)", "mm³", "section modulus of both", _BEAM)


def _root_lines(w: Working, foot: Foot) -> None:
    w.given("a", foot.arm, "mm", "from the face that it is bolted to, to the mount's bolt")
    w.given("d", foot.hole, "mm", "hole for the mount's bolt")
    w.given("e_1", foot.ends[0], "mm", "from the mount's bolt to one end of the angle")
    w.given("e_2", foot.ends[1], "mm", "to the other end")
    w.given("L", foot.length, "mm", "length of the angle")
    w.let("e", "a - t", "mm", "from the mount's bolt to the root")
    spread = "the force spreads at 45 degrees: common practice, no source"
    w.let("b", "min(e_1, e + d) + min(e_2, e + d)", "mm", "width that carries", spread)
    _modulus(w, foot, "b", foot.gusset_side)
    w.let("σ_u", "F_u * e / W", "MPa", "bent flat", _BEAM)
    w.let("σ_l", "6 * F_l * e / (t * L**2)", "MPa", "bent on edge", _BEAM)
    w.let("σ", "σ_u + σ_l + F_o / (t * max(L - d, 1))", "MPa", "all added, on the safe side", _BEAM)


def _bolt_lines(w: Working, foot: Foot) -> None:
    w.given("a", foot.arm, "mm", "from the face that it is bolted to, to the mount's bolt")
    w.given("c", foot.gauge, "mm", "from its seat to its bolts")
    w.given("L", foot.length, "mm", "length of the angle")
    w.given("d", foot.hole, "mm", "hole")
    w.let("b", "L - 2 * d", "mm", "length less two holes")
    _modulus(w, foot, "b", max(foot.gusset_side - (foot.gauge - foot.wall), 0.0) if foot.gussets else 0.0)
    w.let("M", "F_u * a + F_o * c", "N·mm", "moment at the bolts", "statics")
    w.let("σ", "M / W + (F_u + F_l) / (t * b)", "MPa", "all added, on the safe side", _BEAM)


def _foot_bolts(solved: Solved, hanger: Hanger) -> Calculation:
    foot, use, w = hanger.foot, solved.foot_bolts(hanger), Working()
    _forces(w, solved, hanger, use)
    w.given("a", foot.arm, "mm", "from its bolts' face to the mount's bolt")
    if isinstance(foot, Saddle):
        w.given("g", foot.gap + foot.wall, "mm", "its seat from the bar: spacers and thickness")
        w.given("s", foot.support, "mm", "half the width that it bears on")
        w.given("o", abs(foot.offset), "mm", "the mount's bolt off the middle of its bolts, along the bar")
        w.given("p", foot.apart, "mm", "its bolts from each other")
        w.let("N_1", "(F_u * a + F_o * g) / s / 2", "N", "one bolt, tipping about the edge it bears on", "statics")
        w.let("N", "N_1 + F_u * (0.5 + o / p)", "N", "and its part of the pull: the more loaded of two", "statics")
        cure = "list thicker plates in shop.plate_thicknesses"
    else:
        w.given("c", foot.gauge, "mm", "from its seat to its bolts")
        w.given("h", foot.reach, "mm", "length of the leg that it is bolted by")
        w.let("z", "min(c, h - c)", "mm", "lever: to heel or toe, the nearer")
        w.let("N", "((F_u * a + F_o * c) / z + F_o) / 2", "N", "each of two bolts", "statics")
        cure = "list larger angles in shop.angle_sections"
    fastener(w, solved, solved.design.kit.shop.bolt)
    return told("foot bolts", foot.mark, "tension of its bolts by hand", use, w, ("N", "F_t_Rd", "N"), cure)


def _weld(solved: Solved, hanger: Hanger) -> Calculation:
    foot, use, w = hanger.foot, solved.weld(hanger), Working()
    assert isinstance(foot, Foot)
    shop = solved.design.ask.shop
    metal = solved.design.kit.metal(shop.plate_material, "shop.plate_material", foot.gussets)
    _forces(w, solved, hanger, use)
    w.given("a", foot.arm, "mm", "from the face that it is bolted to, to the mount's bolt")
    w.given("t", foot.wall, "mm", f"thickness of {foot.mark}")
    w.given("h", foot.gusset_side, "mm", "legs of the gussets")
    w.given("s", SNIPE, "mm", "cut off their corners")
    w.given("l_w", WELD_LEG, "mm", "leg of the fillets", "common practice, no source")
    w.given("k_w", WELD_THROAT, "", "throat of a fillet by its leg", _WELD)
    w.given("f_u", metal.f_ultimate, "MPa", f"tensile strength of {metal.name}", metal.source)
    w.given("β_w", WELD_BETA, "", "correlation factor of S235", "EN 1993-1-8, table 4.1, from memory")
    w.given("γ_M2", GAMMA_M2, "", "partial factor", _WELD)
    w.let("M", "F_u * (a - t)", "N·mm", "moment at the root, all by the gussets", "statics")
    w.let("F_w", "M / (2 / 3 * h)", "N", "pull on the welds of one leg", "statics")
    w.let("L_w", "2 * 2 * max(h - s, 1) / 2", "mm", "two gussets, both sides, the outer half of each counted")
    w.let("R_w", "f_u / (sqrt(3) * β_w * γ_M2) * k_w * l_w * L_w", "N", "what they take", _WELD)
    return told("weld", foot.mark, "gusset welds", use, w, ("F_w", "R_w", "N"), "use a shorter arm")


def _plate(solved: Solved, hanger: Hanger) -> Calculation:
    shop, use, w = solved.design.ask.shop, solved.plate(hanger), Working()
    metal = solved.design.kit.metal(shop.plate_material, "shop.plate_material", hanger.thickness)
    long = plate_lengths(hanger, solved.design.bars[hanger.bar])
    _forces(w, solved, hanger, use)
    w.given("t", hanger.thickness, "mm", f"thickness of {hanger.plate}")
    w.given("b", hanger.width, "mm", "its width, square to the line from bar to foot")
    w.given("d", solved.design.kit.hole(shop.bolt), "mm", "hole")
    w.given("a", hanger.foot.arm, "mm", "from the plate to the mount's bolt")
    w.given("e", long["free"], "mm", "from the foot's bolts to the bar's bolts")
    w.given("o", long["offset"], "mm", "the foot's middle off the plate's bolts, along the bar")
    w.given("h", long["heel"], "mm", "from the bar's centre line to the mount's seat")
    w.let("b_n", "max(b - 2 * d, 1)", "mm", "width less two holes")
    w.let("M_f", "F_u * (a + t / 2) + F_o * h", "N·mm", "moment that bends it flat", "statics")
    w.let("M_e", "F_u * o + F_l * max(h, e)", "N·mm", "moment that bends it on edge", "statics")
    w.let("σ_f", "6 * M_f / (b_n * t**2)", "MPa", "bent flat", _BEAM)
    w.let("σ_e", "6 * M_e / (t * b_n**2)", "MPa", "bent on edge", _BEAM)
    w.let("σ", "σ_f + σ_e + (F_u + F_l) / (t * b_n)", "MPa", "all added, on the safe side", _BEAM)
    _yield(w, metal)
    cure = "list thicker plates in shop.plate_thicknesses"
    return told("plate stress", hanger.plate, "between foot and bar", use, w, ("σ", "f_y", "MPa"), cure)


def _length(solved: Solved, hanger: Hanger) -> Calculation:
    w, ratio = Working(), solved.design.ask.shop.reach_to_thickness
    w.given("e", hanger.free, "mm", f"{hanger.plate} stands free between bar and foot")
    w.given("t", hanger.thickness, "mm", "its thickness")
    w.given("q", ratio, "", "thicknesses that it may stand free", "shop.reach_to_thickness: common practice, no source")
    w.let("e_most", "q * t", "mm", "as far as it may stand")
    x, y, z = hanger.plate_root.tolist()
    use = Use(value=hanger.free, limit=ratio * hanger.thickness, case=solved.cases[0].name, at=(x, y, z))
    return told("hanger length", hanger.plate, "free length", use, w, ("e", "e_most", "mm"))
