"""What metal, screws and adhesive may be asked to take, on one basis, written line by line into a calculation."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

from baywright.job.adapters import BoltSize
from baywright.job.catalogue import Catalogue
from baywright.job.loads import Basis, LoadCase
from baywright.job.shop import Adhesive, Material, ScrewSize, Strength
from baywright.mechanics.boltgroup import LEAST_EDGE, SHEAR_SHARE, bearing_factors
from baywright.strength.working import Working

# Class of every screw that the generator names, and of the bolts to the car that it asks for.
CLASS = "8.8"
_EC3 = "EN 1993-1-8 table 3.4, from memory"
_EC9 = "form of EN 1999-1-1 8.5.5, from memory"
_STRIP = "thread strip with nominal diameters (Alexander, VDI 2230), from memory"
_SHEAR = "shear strength 0.6 of tensile: EN 1999-1-1, from memory"


class Unchecked(ValueError):
    """Something could not be reckoned; the sentence says why and what to add."""


@dataclass(frozen=True, slots=True)
class Metal:
    """A metal at one thickness on one basis: moduli and strengths in MPa, and whose they are."""

    name: str
    e: float
    nu: float
    density: float
    expansion: float
    f_yield: float
    f_ultimate: float
    source: str


@dataclass(frozen=True, eq=False)
class Allow:
    """The strengths and factors of one load case."""

    catalogue: Catalogue
    case: LoadCase
    adhesive: Adhesive
    _metals: dict[tuple[str, float, bool], Metal] = field(default_factory=dict, repr=False)
    _lines: dict[tuple[object, ...], Working] = field(default_factory=dict, repr=False)

    @cached_property
    def basis(self) -> Basis:
        """The case's basis."""
        return self.catalogue.basis(self.case.basis)

    def metal(self, name: str, thickness: float, extruded: bool) -> Metal:
        """Return a metal's figures for a thickness (mm) of sheet or of an extrusion.

        Raises:
            Unchecked: if its row has no modulus, or no strength on the case's basis for that thickness.
        """
        key = (name, thickness, extruded)
        if key not in self._metals:
            self._metals[key] = self._metal(*key)
        return self._metals[key]

    def _metal(self, name: str, thickness: float, extruded: bool) -> Metal:
        row = self.catalogue.material(name)
        best = pick(row, self.basis.strengths, thickness, extruded)
        if best is None or row.E is None:
            raise Unchecked(
                f"material '{name}' has no {self.basis.strengths} strength for {thickness:g} mm, which the basis "
                f"'{self.basis.name}' takes: add one to shared/materials.toml"
            )
        source = f"{name}, {best.product}: {best.source}"
        nu, grows = row.nu if row.nu is not None else 0.33, row.expansion if row.expansion is not None else 0.0
        return Metal(name, row.E, nu, row.density, grows, best.f_yield, best.f_ultimate, source)

    def once(self, w: Working, key: tuple[object, ...], write: Callable[[Working], object]) -> dict[str, float]:
        """Add lines that a key names, and return their values: they are written once and kept, loads not in them."""
        lines = self._lines.get(key)
        if lines is None:
            lines = Working()
            write(lines)
            self._lines[key] = lines
        w.add(lines)
        return lines.values

    # --- metal --------------------------------------------------------------------------------------------------------

    def yield_(self, w: Working, metal: Metal) -> float:
        """Add the stress that a metal may bear in bending, MPa."""
        w.given("f_y", metal.f_yield, "MPa", "proof strength", metal.source)
        w.given("γ_y", self.basis.on_yield, "", f"factor on yield, {self.basis.name}", self.basis.source)
        return w.let("σ_Rd", "f_y / γ_y", "MPa", "what it may bear")

    # --- screws -------------------------------------------------------------------------------------------------------

    def screw(self, w: Working, size: str, grade: str = CLASS) -> tuple[float, float]:
        """Add what one screw takes in shear through its thread and in tension, N."""
        return self.fastener(w, self.catalogue.screw(size), grade, SHEAR_SHARE[grade])

    def fastener(self, w: Working, row: ScrewSize | BoltSize, grade: str, share: float) -> tuple[float, float]:
        """Add what one bolt of a row takes in shear through its thread (a share of its strength) and in tension, N."""

        def lines(w: Working) -> None:
            w.given("A_s", row.stress_area, "mm²", f"stress area of {row.name}", row.source)
            w.given("F_m", row.ultimate_load[grade], "N", f"its least breaking load, {grade}", row.source)
            w.let("f_ub", "F_m / A_s", "MPa", "its tensile strength")
            w.given("γ_f", self.basis.on_fastener, "", f"factor on fasteners, {self.basis.name}", self.basis.source)
            w.given("α_v", share, "", "share in shear through the thread", _EC3)
            w.let("F_v_Rd", "α_v * f_ub * A_s / γ_f", "N", "shear of one screw", _EC3)
            w.let("F_t_Rd", "0.9 * f_ub * A_s / γ_f", "N", "tension of one screw", _EC3)

        got = self.once(w, ("fastener", row.name, grade, share), lines)
        return got["F_v_Rd"], got["F_t_Rd"]

    def strip(self, w: Working, size: str, depth: float, metal: Metal, name: str = "F_s_Rd") -> float:
        """Add what a thread tapped `depth` mm deep in a metal holds before it strips, N."""
        row = self.catalogue.screw(size)

        def lines(w: Working) -> None:
            w.given("d", row.diameter, "mm", f"thread {size}")
            w.given("P", row.pitch, "mm", "its pitch")
            w.given("d_2", row.pitch_diameter, "mm", "its pitch diameter")
            w.given("L_e", depth, "mm", "thread engaged")
            self._ultimate(w, metal, "f_u_n", "γ_u")
            w.let("A_n", f"{math.pi:.6f} * d * L_e / P * (P / 2 + (d - d_2) / sqrt(3))", "mm²", "sheared metal", _STRIP)
            w.let(name, "0.6 * f_u_n * A_n / γ_u", "N", "the thread holds", _SHEAR)

        return self.once(w, ("strip", size, depth, metal, name), lines)[name]

    def bearing(
        self, w: Working, size: str, hole: float, thickness: float, metal: Metal, end: float, side: float, tag: str = ""
    ) -> float:
        """Add what the metal round one hole takes in bearing, N; `end` and `side` in mm from its centre to the edges.

        A hole nearer to an edge than the rule covers counts in proportion to what is left of the least distance.
        """
        row = self.catalogue.screw(size)

        def lines(w: Working) -> None:
            least = LEAST_EDGE * hole
            bolt = row.ultimate_load[CLASS] / row.stress_area
            alpha, k1 = bearing_factors(
                hole=hole, strength=metal.f_ultimate, bolt_strength=bolt, end=max(end, least), side=max(side, least)
            )
            w.given("d", row.diameter, "mm", f"thread {size}")
            w.given(f"t{tag}", thickness, "mm", "metal round the hole")
            w.given(f"d_0{tag}", hole, "mm", "hole")
            w.given(f"e_1{tag}", end, "mm", "edge distance along the force, at least")
            w.given(f"e_2{tag}", side, "mm", "edge distance across it, at least")
            near = min(1.0, end / least, side / least)
            w.given(f"α_b{tag}", alpha, "", "min(e1 / 3 d0, fub / fu, 1)", _EC9)
            w.given(f"k_1{tag}", k1, "", "min(2.8 e2 / d0 - 1.7, 2.5)", _EC9)
            w.given(f"η{tag}", near, "", "1, or what is left of the least edge distance 1.2 d0")
            self._ultimate(w, metal, f"f_u{tag}", "γ_u")
            formula = f"η{tag} * k_1{tag} * α_b{tag} * f_u{tag} * d * t{tag} / γ_u"
            w.let(f"F_b_Rd{tag}", formula, "N", f"bearing in {thickness:g} mm {metal.name}", _EC9)

        return self.once(w, ("bearing", size, hole, thickness, metal, end, side, tag), lines)[f"F_b_Rd{tag}"]

    def punch(self, w: Working, width: float, thickness: float, metal: Metal, tag: str = "p") -> float:
        """Add what a head or washer `width` mm across holds before it is pulled through a sheet, N."""

        def lines(w: Working) -> None:
            w.given(f"d_{tag}", width, "mm", "head or washer, across")
            w.given(f"t_{tag}", thickness, "mm", "sheet under it")
            self._ultimate(w, metal, f"f_u_{tag}", "γ_u")
            formula = f"0.6 * {math.pi:.6f} * d_{tag} * t_{tag} * f_u_{tag} / γ_u"
            w.let(f"B_{tag}_Rd", formula, "N", "pulled through the sheet", _EC3)

        return self.once(w, ("punch", width, thickness, metal, tag), lines)[f"B_{tag}_Rd"]

    def _ultimate(self, w: Working, metal: Metal, symbol: str, factor: str) -> None:
        w.given(symbol, metal.f_ultimate, "MPa", "tensile strength", metal.source)
        w.given(factor, self.basis.on_ultimate, "", f"factor on rupture, {self.basis.name}", self.basis.source)

    # --- adhesive -----------------------------------------------------------------------------------------------------

    def bond(self, w: Working) -> float:
        """Add the average shear stress that a bond may bear, MPa: the coupon's, warm, knocked down, over its factor.

        Raises:
            Unchecked: if the case is warmer than the adhesive's data reach.
        """
        return self.once(w, ("bond",), self._bond)["τ_Rd"]

    def _bond(self, w: Working) -> None:
        a, warm = self.adhesive, self.case.temperature
        if warm > a.hot_temperature or warm < a.service_temperature.least:
            raise Unchecked(
                f"adhesive '{a.name}' has no strength at {warm:g} °C: its data reach from "
                f"{a.service_temperature.least:g} to {a.hot_temperature:g} °C"
            )
        w.given("τ_23", a.shear_strength, "MPa", f"lap coupons of '{a.name}' at {a.cured_at:g} °C", a.source)
        if warm > a.cured_at:
            w.given("τ_h", a.hot_shear_strength, "MPa", f"lap coupons at {a.hot_temperature:g} °C", a.source)
            w.given("θ", warm, "°C", "temperature of the bond in this case")
            line = f"τ_23 - (τ_23 - τ_h) * (θ - {a.cured_at:g}) / {a.hot_temperature - a.cured_at:g}"
            w.let("τ_θ", line, "MPa", "coupon strength there, on a straight line")
        else:
            w.let("τ_θ", "τ_23", "MPa", "coupon strength at the bond's temperature")
        product = "τ_θ"
        for n, (cause, value) in enumerate(a.knock_down.items(), 1):
            w.given(f"k_{n}", value, "", f"knock-down: {cause}", a.source)
            product += f" * k_{n}"
        w.given("γ_a", self.basis.on_bond, "", f"factor on bonds, {self.basis.name}", self.basis.source)
        w.let("τ_Rd", f"{product} / γ_a", "MPa", "average shear that it may bear")


def pick(row: Material, basis: str, thickness: float, extruded: bool) -> Strength | None:
    """Return the strength of a material that is good for a form and a thickness (mm), or None.

    A row whose product names the other form is not taken; of those left, the one that covers the thickness most
    closely.
    """
    fits = [
        s
        for s in row.strengths
        if s.basis == basis
        and (s.thickness_most is None or thickness <= s.thickness_most + 1e-9)
        and (("extrusion" in s.product) == extruded or not any(f in s.product for f in ("extrusion", "sheet", "plate")))
    ]
    return min(fits, key=lambda s: (s.thickness_most or math.inf, s.f_yield), default=None)
