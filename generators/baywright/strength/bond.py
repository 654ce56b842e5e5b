"""Bonds: how shear and peel pile up at the ends of a joint, and what a lap coupon tells of the adhesive.

Linear theories: Volkersen for shear, Goland and Reissner for the coupon's peel, a leg on an elastic layer (Hetényi,
beams on elastic foundation) for the peel of an angle. Peaks are held against the peaks that the same theories find in a
lap coupon when it breaks: so the theory's own exaggeration cancels.
"""

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from baywright.strength.allow import Allow, Metal
from baywright.strength.working import Working

# The lap coupon of ASTM D1002, mm: overlap and thickness of its aluminium (read in two texts); its modulus, MPa.
COUPON_OVERLAP, COUPON_THICKNESS, COUPON_E = 12.7, 1.6, 70_000.0

_VOLKERSEN = "Volkersen 1938, in textbooks on bonded joints"
_FOUNDATION = "leg on an elastic layer: Hetényi, beams on elastic foundation, from memory"


@dataclass(frozen=True, slots=True)
class Lap:
    """Two sheets that lap, held by a layer of adhesive.

    Attributes:
        overlap: along the force, mm.
        first: stiffness of the first sheet along the force: modulus times thickness, N/mm.
        second: of the second.
        shear_modulus: of the adhesive, MPa.
        thickness: of the adhesive, mm.
    """

    overlap: float
    first: float
    second: float
    shear_modulus: float
    thickness: float

    @property
    def decay(self) -> float:
        """Volkersen's λ, 1/mm: λ² = G / t · (1 / E1 t1 + 1 / E2 t2)."""
        return math.sqrt(self.shear_modulus / self.thickness * (1 / self.first + 1 / self.second))


def volkersen(lap: Lap, force: float, x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the shear stress (n,) MPa along a lap, x mm from its middle, under a force in N per mm of width.

    Source: Volkersen 1938. With ψ = E1 t1 / E2 t2: τ = F λ/2 [cosh λx / sinh(λl/2) + (ψ-1)/(ψ+1) sinh λx / cosh(λl/2)].
    """
    n, half, psi = lap.decay, lap.decay * lap.overlap / 2, lap.first / lap.second
    even = np.cosh(n * x) / math.sinh(half)
    odd = (psi - 1) / (psi + 1) * np.sinh(n * x) / math.cosh(half)
    return np.asarray(force * n / 2 * (even + odd))


def peak_factor(lap: Lap) -> float:
    """Return the largest shear stress of a lap over its average, at its worse end."""
    half, psi = lap.decay * lap.overlap / 2, lap.first / lap.second
    return float(half * (1 / math.tanh(half) + abs((psi - 1) / (psi + 1)) * math.tanh(half)))


def goland_reissner(
    force: float, overlap: float, thickness: float, e: float, nu: float, e_adhesive: float, bond: float
) -> float:
    """Return the largest peel stress (MPa) of a single lap of two equal sheets.

    Source: Goland and Reissner 1944, second approximation, from memory.

    Args:
        force: N per mm of width.
        overlap: mm.
        thickness: of each sheet, mm.
        e: modulus of the sheets, MPa.
        nu: their Poisson's ratio.
        e_adhesive: modulus of the adhesive, MPa.
        bond: its thickness, mm.
    """
    half = overlap / 2
    eccentric = math.tanh(half / thickness * math.sqrt(1.5 * (1 - nu**2) * force / (thickness * e)))
    k = 1 / (1 + 2 * math.sqrt(2) * eccentric)
    k_shear = k * half / thickness * math.sqrt(3 * (1 - nu**2) * force / (thickness * e))
    n = half / thickness * (6 * e_adhesive * thickness / (e * bond)) ** 0.25
    # Beyond this the hyperbolic functions outgrow the others by more than floats can show.
    u = 2 * min(n, 300.0)
    below = math.sinh(u) + math.sin(2 * n)
    moment = n**2 * k / 2 * (math.sinh(u) - math.sin(2 * n)) / below
    shear = n * k_shear * (math.cosh(u) + math.cos(2 * n)) / below
    return float(force * thickness / half**2 * (moment + shear))


def coupon_peaks(w: Working, allow: Allow, bond: float) -> tuple[float, float]:
    """Add what the coupon's own peaks are, over its average stress, and return those of shear and of peel."""
    a = allow.adhesive
    shear, peel = _coupon(a.shear_strength, a.shear_modulus, a.young_modulus, bond)
    what = f"coupon of ASTM D1002, {COUPON_OVERLAP:g} mm lap of {COUPON_THICKNESS:g} mm aluminium"
    w.given("κ_c", shear, "", f"peak over average shear in the {what}", _VOLKERSEN)
    w.given(
        "π_c",
        peel,
        "",
        "peak peel over average shear in the coupon as it breaks",
        "Goland and Reissner 1944, from memory",
    )
    return shear, peel


@cache
def _coupon(strength: float, shear_modulus: float, modulus: float, bond: float) -> tuple[float, float]:
    """Return the coupon's peaks of shear and of peel over its average shear, at the load that breaks it."""
    stiff = COUPON_E * COUPON_THICKNESS
    lap = Lap(COUPON_OVERLAP, stiff, stiff, shear_modulus, bond)
    force = strength * COUPON_OVERLAP
    peel = goland_reissner(force, COUPON_OVERLAP, COUPON_THICKNESS, COUPON_E, 0.33, modulus, bond)
    return peak_factor(lap), peel / strength


def bond_use(
    w: Working,
    allow: Allow,
    *,
    bond: float,
    area: float,
    overlap: float,
    leg: Metal,
    leg_thickness: float,
    wall: Metal,
    wall_thickness: float,
    shear: float | str,
    pull: float | str = 0.0,
    moment: float | str = 0.0,
    presses: bool = False,
    along: float = 1.0,
) -> float:
    """Add how much of a bond between an angle's leg (or a plate) and a wall is used, screws ignored; 1 = all.

    Args:
        w: the calculation.
        allow: the case's strengths.
        bond: the bond line, mm.
        area: bonded, screw holes taken out, mm².
        overlap: across the joint: the leg's width, mm.
        leg: the leg's metal.
        leg_thickness: mm.
        wall: the wall's metal.
        wall_thickness: mm.
        shear: force in the plane of the bond, N; this and the next two may be formulas of lines that `w` has.
        pull: force that pulls the leg off along its loaded edge, N.
        moment: moment that the leg's loaded edge gets from what it carries, N·mm.
        presses: whether that moment presses the loaded edge on, so that only the wave behind it pulls.
        along: length of the joint that takes pull and moment, mm.
    """
    a = allow.adhesive
    w.put("V", shear, "N", "shear force on the bond")
    w.given("A", area, "mm²", "bonded area, screw holes taken out")
    w.let("τ", "V / A", "MPa", "average shear")
    allow.bond(w)

    def peaks(w: Working) -> None:
        w.given("G_a", a.shear_modulus, "MPa", f"shear modulus of '{a.name}'", a.source)
        w.given("t_a", bond, "mm", "bond line")
        w.given("l", overlap, "mm", "overlap across the joint")
        for tag, metal, t in (("1", leg, leg_thickness), ("2", wall, wall_thickness)):
            w.given(f"E_{tag}", metal.e, "MPa", f"modulus of {metal.name}")
            w.given(f"ν_{tag}", metal.nu, "", "its Poisson's ratio")
            w.given(f"t_{tag}", t, "mm", "its thickness")
            # Sheared along the joint the sheets give way by their shear modulus; that is softer, so the peak is higher.
            w.let(f"S_{tag}", f"E_{tag} * t_{tag} / 2 / (1 + ν_{tag})", "N/mm", "shear stiffness, G t")
        w.let("λ", "sqrt(G_a / t_a * (1 / S_1 + 1 / S_2))", "1/mm", "decay of the shear", _VOLKERSEN)
        w.let("ψ", "S_1 / S_2", "", "stiffness of one over the other")
        line = "λ * l / 2 * (1 / tanh(λ * l / 2) + abs((ψ - 1) / (ψ + 1)) * tanh(λ * l / 2))"
        w.let("κ", line, "", "peak over average", _VOLKERSEN)
        coupon_peaks(w, allow, bond)

    allow.once(w, ("peaks", bond, overlap, leg, leg_thickness, wall, wall_thickness), peaks)
    w.let("u_1", "τ / τ_Rd", "", "used by average shear")
    w.let("u_2", "κ * τ / (κ_c * τ_Rd)", "", "used by the peak of shear, against the coupon's own peak")
    if not pull and not moment:
        return w.let("use", "max(u_1, u_2)", "", "share of the bond that is used, screws ignored")
    w.given("E_a", a.young_modulus, "MPa", f"modulus of '{a.name}'", a.source)
    w.given("b", along, "mm", "length of the joint that takes the pull")
    w.let("D", "E_1 * t_1**3 / 12 / (1 - ν_1**2)", "N·mm", "bending stiffness of the leg a mm", "plate theory")
    w.let("β", "sqrt(sqrt(E_a / t_a / (4 * D)))", "1/mm", "decay of the peel", _FOUNDATION)
    w.put("N", pull, "N", "pull on the leg's edge")
    w.put("M_e", moment, "N·mm", "moment on the leg's edge")
    # An edge moment that presses the edge on pulls a quarter wave behind: e^(-π/2) of it.
    w.given(
        "ρ", math.exp(-math.pi / 2) if presses else 1.0, "", "1, or exp(-π/2) where it presses the edge on", _FOUNDATION
    )
    w.let("σ", "2 * β * N / b + ρ * 2 * β**2 * M_e / b", "MPa", "peak of peel", _FOUNDATION)
    w.let("u_3", "σ / (π_c * τ_Rd)", "", "used by the peak of peel, against the coupon's own")
    return w.let("use", "max(u_1, hypot(u_2, u_3))", "", "share of the bond that is used, screws ignored")
