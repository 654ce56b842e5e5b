"""A set of rails' strength as an engineer writes it: every figure of its review, line by line.

The review reckons all load cases at once; here the case that governs is reckoned again, formula by formula.
What the frame of rails, hangers and mounts gives (its forces) is given: a matrix is no line on paper.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from baywright.mechanics.boltgroup import GAMMA_M2
from baywright.rail.bars import Bar
from baywright.rail.design import Hanger, Joint, Ply, RailDesign
from baywright.rail.loads import G, mount_axes, reaction, stiffness_of
from baywright.rail.shop import PITCH_HOLE
from baywright.rail.stress import Array, Solved, Use, least_apart, solve
from baywright.strength.check import Calculation
from baywright.strength.hangers import hanger_calculations
from baywright.strength.rail_lines import EC3, FRAME, UNFACTORED, case_of, fastener, told
from baywright.strength.working import Working

_ELASTIC = "elastic method for bolt groups: Shigley, Mechanical Engineering Design"
_SAINT = "first principles; torsion: Bredt for tubes, Saint-Venant for bars, from memory"
_TRESCA = "a stiff washer on a clamped plate: limit analysis by Tresca's rule, first principles"


def rail_calculations(design: RailDesign) -> list[Calculation]:
    """Return every strength figure of a set of rails as a calculation, each under the load case that governs it."""
    solved = solve(design)
    found = [one for hanger in design.hangers for one in _mount(solved, hanger)]
    found += [_bar(solved, bar) for bar in design.bars.values()]
    found.append(_sag(solved))
    for joint in design.joints:
        found.append(_bolts(solved, joint))
        for ply in joint.plies:
            found.append(_bearing(solved, joint, ply))
            if ply.mark in design.bars and design.bars[ply.mark].stock.shape == "tube":
                found.append(_wall(solved, joint, ply))
        if joint.first == joint.second:
            found.append(_cleat(solved, joint))
    found += [one for hanger in design.hangers for one in hanger_calculations(solved, hanger)]
    found.append(_frequency(solved))
    order = list(dict.fromkeys(one.member for one in found))
    return sorted(found, key=lambda one: order.index(one.member))


def _bolt_use(w: Working) -> None:
    w.let("use", "max(V / F_v_Rd + N / (1.4 * F_t_Rd), N / F_t_Rd)", "", "share that is used; over 1 fails", EC3)


# --- mounts -----------------------------------------------------------------------------------------------------------


def _mount(solved: Solved, hanger: Hanger) -> Iterator[Calculation]:
    """Yield what a mount's own bolt, the hole in the foot and the rubber come to."""
    mount = hanger.mount
    use = solved.mount_bolt(hanger)
    w = Working()
    _load(w, solved, case_of(solved, use))
    force = solved.mounts[mount.name][case_of(solved, use)]
    along = float(force @ mount.faces)
    w.given("R_a", along, "N", f"{mount.name} on its foot, along its bolt, pressing positive", UNFACTORED)
    w.given("R_t", float(np.linalg.norm(force - along * mount.faces)), "N", "the same, across its bolt")
    w.given("γ_F", solved.factor, "", "load factor", "shop.load_factor")
    w.let("V", "γ_F * R_t", "N", "shear of the bolt")
    w.let("N", "γ_F * max(-R_a, 0)", "N", "tension of the bolt: where the foot is pulled off the mount")
    fastener(w, solved, mount.ask.bolt)
    _bolt_use(w)
    what = f"{mount.ask.bolt} in shear and tension"
    yield told("mount bolt", mount.name, what, use, w, ("use", "", ""), "add a mount near it")

    use = solved.mount_bearing(hanger)
    w = Working()
    force = solved.mounts[mount.name][case_of(solved, use)] * solved.factor
    up = float(force @ hanger.foot.up)
    w.given("R", float(np.linalg.norm(force)), "N", f"{mount.name} on its foot", FRAME)
    w.given("R_u", up, "N", "of it square to the foot")
    w.let("V", "sqrt(R**2 - R_u**2)", "N", "across the hole")
    _hole(w, solved, solved.mount_ply(hanger), mount.ask.bolt, None)
    piece, what = hanger.foot.mark, f"hole of {mount.ask.bolt} of {mount.name}"
    yield told("bearing at mounts", piece, what, use, w, ("V", "F_b_Rd", "N"), "use a thicker angle")

    rubber = mount.ask.rubber
    if rubber is None:
        return
    gives = np.abs(solved.gives[mount.name]).max(axis=1)
    case = int(gives.argmax())
    use = Use(value=float(gives[case]), limit=rubber.travel, case=solved.cases[case].name, at=_point(mount.at))
    k = stiffness_of(mount, solved.design.ask.shop.rigid_mount_n_per_mm)
    w = Working()
    parts = mount_axes(mount).T @ solved.mounts[mount.name][case]
    for i, way in enumerate(("along its bolt", "across it", "across it, the other way")):
        w.given(f"R_{i + 1}", float(parts[i]), "N", f"{mount.name}'s force {way}, load factor not in", UNFACTORED)
    w.given("k_a", float(k[0]), "N/mm", "its stiffness along its bolt", rubber.source)
    w.given("k_t", float(k[1]), "N/mm", "its stiffness across", rubber.source)
    w.let("δ", "max(abs(R_1) / k_a, abs(R_2) / k_t, abs(R_3) / k_t)", "mm", "it gives")
    w.given("δ_most", rubber.travel, "mm", "it is linear to here", rubber.source)
    yield told("rubber", mount.name, "gives", use, w, ("δ", "δ_most", "mm"), "use a stiffer mount")


def _load(w: Working, solved: Solved, number: int) -> None:
    """Add what a load case throws at the whole unit: force F and torque T, load factor not in."""
    design, case = solved.design, solved.cases[number]
    drive, motor = design.given.ask.drive, design.given.motor
    mass = solved.model.body.mass
    w.given("m", mass, "kg", "motor, rails and what hangs on them")
    w.given(
        "a", float(np.linalg.norm(case.force)) / (mass * G), "g", f"thrown in '{case.name}', weight in", "job loads"
    )
    w.let("F", f"m * a * {G}", "N", "force at the unit's centre of mass")
    if not np.any(case.moment):
        return
    found = reaction(design.given)
    w.given("T_1", motor.torque, "N·m", "one motor's most torque")
    w.given("n_m", motor.count, "", "motors")
    w.given("i_1", drive.first_gear, "", "first gear")
    w.given("i_f", drive.final_drive, "", "final drive")
    w.given("μ", drive.grip, "", "grip of the tyres")
    w.given("m_d", drive.driven_mass, "kg", "on the driven wheels")
    w.given("r_w", drive.wheel_radius, "mm", "radius of the wheels")
    transaxle = drive.layout == "transaxle"
    principle = "first principles: what turns the wheels turns the unit back"
    w.let("T_g", "T_1 * n_m * i_1" + (" * i_f" if transaxle else ""), "N·m", "what the gears can give", principle)
    tyres = f"μ * m_d * {G} * r_w / 1000" + ("" if transaxle else " / i_f")
    w.let("T_t", tyres, "N·m", "what the tyres let through", principle)
    w.let("T", "min(T_g, T_t)", "N·m", f"torque that the mounts hold about {found.about}")


# --- bars -------------------------------------------------------------------------------------------------------------


def _bar(solved: Solved, bar: Bar) -> Calculation:
    """Return the stress of a bar where it is worst: bending, shear and torsion, its holes taken out."""
    use, section = solved.bar(bar), solved.model.sections[bar.mark]
    case = case_of(solved, use)
    ends = [end for end in solved.bar_ends(bar) if np.allclose(bar.point(end[0], 0.0, 0.0), use.at, atol=1e-9)]
    sheets = [_bar_at(solved, bar, forces[case], left.area, left.bending) for _, forces, left in ends]
    w = max(sheets, key=lambda one: one.values["σ_v"])  # on both sides of a joint the forces differ
    metal = solved.design.kit.metal(bar.stock.material, "section", bar.stock.wall)
    w.given("f_y", metal.f_yield, "MPa", f"yield of {metal.name}", metal.source)
    what = f"{bar.stock.name}: bending, shear and torsion together, {section.area:.0f} mm²"
    return told("bar stress", bar.mark, what, use, w, ("σ_v", "f_y", "MPa"), "use a larger section")


def _bar_at(solved: Solved, bar: Bar, forces: Array, area_left: float, bending_left: float) -> Working:
    section = solved.model.sections[bar.mark]
    w = Working()
    v_x, v_y, n, m_x, m_y, t = forces.tolist()
    w.given("N", abs(n), "N", "along the bar", FRAME)
    w.given("V_x", abs(v_x), "N", "across it, along the section's x", FRAME)
    w.given("V_y", abs(v_y), "N", "across it, along the section's y", FRAME)
    w.given("M_x", m_x, "N·mm", "bending about x", FRAME)
    w.given("M_y", m_y, "N·mm", "bending about y", FRAME)
    w.given("T", abs(t), "N·mm", "torsion", FRAME)
    drawn = "the profile as drawn, first principles"
    w.given("A", section.area, "mm²", f"area of {bar.stock.name}", drawn)
    w.given("I_x", section.ix, "mm⁴", "second moment about x", drawn)
    w.given("I_y", section.iy, "mm⁴", "second moment about y", drawn)
    w.given("A_vx", section.shear_x, "mm²", "force along x over its largest shear stress, V Q / (I b)", drawn)
    w.given("A_vy", section.shear_y, "mm²", "the same along y", drawn)
    w.given("W_t", section.torsion_modulus, "mm³", "torsion modulus", _SAINT)
    w.given("η_A", area_left, "", "what holes here leave of the area")
    w.given("η_W", bending_left, "", "what holes here leave of the second moments")
    w.let("σ_N", "N / (η_A * A)", "MPa", "direct stress")
    if section.round:
        w.given("r_o", section.round, "mm", "its radius")
        w.let("σ_b", "hypot(M_x, M_y) * r_o / (η_W * I_x)", "MPa", "bending stress")
    else:
        w.given("I_xy", section.ixy, "mm⁴", "product moment", drawn)
        w.let("D", "I_x * I_y - I_xy**2", "mm⁸", "for bending askew to the principal axes")
        w.let("κ_x", "(-M_y * I_x - M_x * I_xy) / D", "N/mm³", "stress grows along x by")
        w.let("κ_y", "(M_x * I_y + M_y * I_xy) / D", "N/mm³", "stress grows along y by")
        fibres = w.values["κ_x"] * section.corners[:, 0] + w.values["κ_y"] * section.corners[:, 1]
        x, y = section.corners[int(np.abs(fibres).argmax())].tolist()
        w.given("x_c", x, "mm", "the worst fibre from the centroid")
        w.given("y_c", y, "mm", "the same along y")
        w.let("σ_b", "abs(κ_x * x_c + κ_y * y_c) / η_W", "MPa", "bending stress", "first principles")
    w.let("τ", "(V_x / A_vx + V_y / A_vy + T / W_t) / η_A", "MPa", "shear, the largest of each added")
    w.let("σ_v", "sqrt((σ_N + σ_b)**2 + 3 * τ**2)", "MPa", "equivalent stress", "von Mises")
    return w


def _sag(solved: Solved) -> Calculation:
    """Return how far rails and hangers give at rest at the mount where it is most."""
    use, w = solved.sag(), Working()
    about, number = solved.model.frame.nodes[0], case_of(solved, solved.sag())
    hanger = min(solved.design.hangers, key=lambda h: float(np.linalg.norm(h.mount.at - np.array(use.at))))
    seat, arm = solved.model.seats[hanger.mount.name], hanger.mount.at - about
    body = solved.answer.motion[number, 0]
    for i, axis in enumerate("xyz"):
        w.given(f"s_{axis}", float(solved.answer.motion[number, seat, i]), "mm", f"the seat moves along {axis}", FRAME)
    stiff = body[:3] + np.cross(body[3:], arm)
    for i, axis in enumerate("xyz"):
        w.given(f"b_{axis}", float(stiff[i]), "mm", f"it would move along {axis} as one with the motor", FRAME)
    w.let("δ", "sqrt((s_x - b_x)**2 + (s_y - b_y)**2 + (s_z - b_z)**2)", "mm", "rails and hangers give")
    most = solved.design.ask.shop.deflection_most
    w.given("δ_most", most, "mm", "as much as the shop allows", "shop.deflection_most: common practice, no source")
    cure = "use a larger section or shorter hangers"
    return told("sag", hanger.mount.name, "between motor and mount, at rest", use, w, ("δ", "δ_most", "mm"), cure)


# --- bolts ------------------------------------------------------------------------------------------------------------


def _bolts(solved: Solved, joint: Joint) -> Calculation:
    use, w = solved.bolts(joint), Working()
    _bolt_force(w, solved, joint, case_of(solved, use), _nearest(joint, use))
    fastener(w, solved, joint.size)
    _bolt_use(w)
    what = f"{joint.size} in shear and tension, the worst of {len(joint.points)}"
    return told("bolts", joint.name, what, use, w, ("use", "", ""), "use larger bolts (shop.bolt)")


def _nearest(joint: Joint, use: Use) -> int:
    return int(np.linalg.norm(joint.points - np.array(use.at), axis=1).argmin())


def _bolt_force(w: Working, solved: Solved, joint: Joint, case: int, bolt: int) -> None:
    """Add the shear V and the tension N of one bolt of a joint under one case, N."""
    if joint.first == joint.second:
        _lug_force(w, solved, joint, case, bolt)
        return
    link = solved.answer.links[case, solved.model.joints[joint.name][bolt]] * solved.factor
    first = np.linalg.svd(joint.axis[None]).Vh[1]
    force = np.array([first, np.cross(joint.axis, first), joint.axis]) @ link[:3]
    tip = link[3:] - (link[3:] @ joint.axis) * joint.axis
    for i, way in enumerate(("across the bolt", "across the bolt, square to that", "along the bolt")):
        w.given(f"F_{i + 1}", float(force[i]), "N", f"force {way}", FRAME)
    w.given("M_t", float(np.linalg.norm(tip)), "N·mm", "moment that tips the part about its row of bolts", FRAME)
    w.given("c", max(joint.lever, 1.0), "mm", "from the bolts to the part's nearer edge")
    w.let("V", "hypot(F_1, F_2)", "N", "shear of the bolt")
    w.let("N", "abs(F_3) + M_t / c", "N", "tension of the bolt, either way round")


def _lug_force(w: Working, solved: Solved, joint: Joint, case: int, bolt: int) -> None:
    """Add the shear and the tension of a lug's bolt: a group that takes what the cleat takes from the rail."""
    force, moment, tip = (one[case] for one in solved.lug_load(joint))
    r = joint.points - joint.points.mean(axis=0)
    r = r - np.outer(r @ joint.axis, joint.axis)
    first = np.linalg.svd(r).Vh[0]  # the way the bolts lie apart most
    axes = np.array([first, np.cross(joint.axis, first), joint.axis])
    flat = r @ axes.T
    parts, turning = axes @ force, axes @ moment
    ways = ("along the bolts' row", "across the row", "along the bolts")
    for i, way in enumerate(ways):
        w.given(f"F_{i + 1}", float(parts[i]), "N", f"force on all of them, {way}", FRAME)
    for i, way in enumerate(ways[1:], 1):
        w.given(f"M_{i + 1}", float(turning[i]), "N·mm", f"moment about the axis {way}", FRAME)
    w.given("M_t", float(tip), "N·mm", "moment about the row that tips the part", FRAME)
    w.given("c", max(joint.lever, 1.0), "mm", "from the bolts to the part's nearer edge")
    w.given("n", len(flat), "", "bolts")
    w.given("r_1", float(flat[bolt, 0]), "mm", "the bolt from their middle, along the row")
    w.given("r_2", float(flat[bolt, 1]), "mm", "the same across it")
    w.given("S_1", float((flat[:, 0] ** 2).sum()), "mm²", "Σ r1²")
    w.given("S_2", float((flat[:, 1] ** 2).sum()), "mm²", "Σ r2²")
    turn = " - M_3 * r_2 / (S_1 + S_2)", " + M_3 * r_1 / (S_1 + S_2)"
    w.let("V_1", f"F_1 / n{turn[0]}", "N", "shear of the bolt along the row", _ELASTIC)
    w.let("V_2", f"F_2 / n{turn[1]}", "N", "shear of the bolt across the row", _ELASTIC)
    w.let("V", "hypot(V_1, V_2)", "N", "shear of the bolt")
    line = "F_3 / n - M_2 * r_1 / S_1"
    if w.values["S_2"] > 1e-9:
        w.given("M_1", float(turning[0]), "N·mm", "moment about the row that the group holds", FRAME)
        line += " + M_1 * r_2 / S_2"
    w.let("N", f"abs({line}) + M_t / c / n", "N", "tension of the bolt, either way round", _ELASTIC)


def _bearing(solved: Solved, joint: Joint, ply: Ply) -> Calculation:
    use, w = solved.bearing(joint, ply), Working()
    _bolt_force(w, solved, joint, case_of(solved, use), _nearest(joint, use))
    _hole(w, solved, ply, joint.size, least_apart(joint.points))
    what = f"holes of {joint.name}"
    return told("bearing", ply.mark, what, use, w, ("V", "F_b_Rd", "N"), "use thicker metal")


def _hole(w: Working, solved: Solved, ply: Ply, size: str, apart: float | None) -> None:
    """Add what the metal round one hole takes, F_b_Rd in N; `apart` mm to the next hole, None if there is none."""
    kit = solved.design.kit
    metal, row = kit.metal(ply.material, "shop.plate_material", ply.thickness), kit.row(size)
    edge = ply.edge if ply.edge is not None else 3.0 * ply.hole
    w.given("d_b", ply.bears, "mm", "what bears on the hole, across: bolt or crush tube")
    w.given("d_0", ply.hole, "mm", "hole")
    w.given("t", ply.thickness, "mm", f"metal of {ply.mark}")
    around = "nearest free edge" if ply.edge is not None else "no edge: the metal goes on round a corner, 3 d0 taken"
    w.given("e", edge, "mm", around)
    w.given("f_u", metal.f_ultimate, "MPa", f"tensile strength of {metal.name}", metal.source)
    w.given("f_ub1", row.ultimate_load[kit.shop.grade] / row.stress_area, "MPa", "tensile strength of the bolt")
    line = "min(e / (3 * d_0), f_ub1 / f_u, 1)"
    if apart is not None:
        w.given("p", max(apart, PITCH_HOLE * ply.hole), "mm", "to the next hole")
        line = "min(e / (3 * d_0), f_ub1 / f_u, 1, p / (3 * d_0) - 0.25)"
    w.let("α_b", line, "", "along the force", EC3)
    w.let("k_1", "min(2.8 * e / d_0 - 1.7, 2.5)", "", "across the force", EC3)
    w.given("γ_2", GAMMA_M2, "", "partial factor", "EN 1993-1-8, from memory")
    w.let("F_b_Rd", "k_1 * α_b * f_u * d_b * t / γ_2", "N", "bearing resistance", EC3)


def _wall(solved: Solved, joint: Joint, ply: Ply) -> Calculation:
    """Return the pull of a bolt on the wall of a tube, where its washer bears."""
    use, w, kit = solved.wall(joint, ply), Working(), solved.design.kit
    _bolt_force(w, solved, joint, case_of(solved, use), _nearest(joint, use))
    metal, bar = kit.metal(ply.material, "section", ply.thickness), solved.design.bars[ply.mark]
    wide = bar.half_w if abs(float(joint.axis @ bar.v)) > 0.5 else bar.half_v
    w.given("t", ply.thickness, "mm", "wall of the tube")
    w.given("f_y", metal.f_yield, "MPa", f"yield of {metal.name}", metal.source)
    w.given("R", wide - ply.thickness, "mm", "half the wall between its corners")
    w.given("r_w", kit.washer(joint.size), "mm", "radius of the washer", kit.row(joint.size).source)
    w.let("ρ", "max(R / r_w, 1.05)", "", "plate to washer")
    w.let("m_p", "f_y * t**2 / 4", "N", "plastic moment of 1 mm of wall")
    w.given("p", use.limit / (2 * np.pi * w.values["m_p"]), "", "so that the next line is 1", _TRESCA)
    w.let("one", "(p - 1) * ln(ρ * (p - 1) / p)", "", "at the edge the moment along the radius is -m_p", _TRESCA)
    w.let("N_Rd", "2 * π * m_p * p", "N", "pull that yields the wall", _TRESCA)
    cure = "use a section with a thicker wall"
    return told("wall pull", ply.mark, f"at {joint.name}", use, w, ("N", "N_Rd", "N"), cure)


def _cleat(solved: Solved, joint: Joint) -> Calculation:
    """Return the stress of the angle between a lug and its rail, at its worst place."""
    use, w = solved.cleat(joint), Working()
    case = case_of(solved, use)
    ply, force, moments, net = solved.cleat_load(joint)
    metal = solved.design.kit.metal(ply.material, "shop.angle_sections", ply.thickness)
    w.given("t", ply.thickness, "mm", f"its thickness, {ply.material}")
    w.given("L", solved.cleat_length(ply), "mm", "its length")
    w.given("L_n", net, "mm", "its length less a column of holes")
    places = ("heel", "bolts in the lug", "bolts in the rail")
    flat = np.abs(moments[:, case, 2]) / (net * ply.thickness**2 / 6)
    edge = np.hypot(moments[:, case, 0], moments[:, case, 1]) / (ply.thickness * w.values["L"] ** 2 / 6)
    worst = int((flat + edge).argmax())
    for i, axis in enumerate(("the shaft's way", "across the shaft", "the angle's length")):
        w.given(f"F_{i + 1}", float(force[case, i]), "N", f"force along {axis}", FRAME)
    for i, axis in enumerate(("the shaft's way", "the way across", "the angle's length")):
        w.given(
            f"M_{i + 1}", float(moments[worst, case, i]), "N·mm", f"moment about {axis} at its {places[worst]}", FRAME
        )
    w.let("σ_f", "6 * abs(M_3) / (L_n * t**2)", "MPa", "a leg bent flat")
    w.let("σ_e", "6 * hypot(M_1, M_2) / (t * L**2)", "MPa", "a leg bent on edge")
    w.let("σ_d", "sqrt(F_1**2 + F_2**2 + F_3**2) / (t * L_n)", "MPa", "direct")
    w.let("σ", "σ_f + σ_e + σ_d", "MPa", "all added, on the safe side")
    w.given("f_y", metal.f_yield, "MPa", f"yield of {metal.name}", metal.source)
    cure = "leave its angle out of shop.angle_sections, so that the next is taken"
    mark = joint.name.removesuffix(" to lug")
    return told("cleat stress", mark, f"at its {places[worst]}", use, w, ("σ", "f_y", "MPa"), cure)


# --- the whole --------------------------------------------------------------------------------------------------------


def _frequency(solved: Solved) -> Calculation:
    """Return the lowest natural frequency of the motor on its mounts against the least asked."""
    hertz, w = solved.model.frequencies(), Working()
    least = solved.design.ask.shop.frequency_least
    w.given("λ", float((2 * np.pi * hertz[0]) ** 2), "1/s²", "lowest root of det(K - λ M) = 0", UNFACTORED)
    w.let("f", "sqrt(λ) / (2 * π)", "Hz", "natural frequency", "first principles")
    w.given("f_least", least, "Hz", "least asked, well above the body's own 1 to 2 Hz", "shop.frequency_least")
    use = Use(value=least, limit=float(hertz[0]), case="swinging", at=_point(solved.model.body.centroid))
    one = told("natural frequency", "motor unit", "the slowest swing", use, w, ("f_least", "f", "Hz"), "stiffer mounts")
    return replace(one, advice=True, throw="free")


def _point(at: Array) -> tuple[float, float, float]:
    x, y, z = at.tolist()
    return x, y, z
