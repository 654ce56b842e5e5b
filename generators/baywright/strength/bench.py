"""What every check of a box works from: the box, its statics, one throw of one case, and that case's strengths."""

from dataclasses import dataclass
from typing import Any

from baywright.box.generate import BoxDesign
from baywright.box.kit import Kit
from baywright.box.layout import Layout
from baywright.job.loads import LoadCase
from baywright.piece.extrusion import Stock
from baywright.piece.joint import ScrewLine
from baywright.strength.allow import Allow, Metal
from baywright.strength.check import Calculation
from baywright.strength.path import Statics, Throw, length_of
from baywright.strength.working import Working

# How wide a leg or a sheet bends under a load that stands off its root: half the arm more on each side. The elastic
# peak at the root of a long plate is within a twentieth of this (finite elements, in the tests).
SPREAD = "load spreads 1 in 2 to each side: own finite elements"


@dataclass(frozen=True, eq=False)
class Bench:
    """One throw of one case on one box."""

    statics: Statics
    allow: Allow
    throw: Throw

    @property
    def design(self) -> BoxDesign:
        """The box."""
        return self.statics.design

    @property
    def layout(self) -> Layout:
        """Its governing numbers."""
        return self.design.layout

    @property
    def kit(self) -> Kit:
        """Its rows."""
        return self.layout.kit

    @property
    def case(self) -> LoadCase:
        """The load case."""
        return self.allow.case

    def length(self, mark: str) -> float:
        """Return the length of an extrusion by its mark, mm."""
        return length_of(self.design.assembly.by_mark[mark].piece)

    def stock_metal(self, stock: Stock) -> Metal:
        """Return the metal of a stock section at its wall's thickness."""
        thick = stock.height if stock.shape in ("bar", "rod") else stock.wall
        return self.allow.metal(stock.material, thick, extruded=True)

    def sheet_metal(self, name: str, thickness: float) -> Metal:
        """Return the metal of a sheet."""
        return self.allow.metal(name, thickness, extruded=False)

    @property
    def wall_metal(self) -> Metal:
        """The walls' metal."""
        wall = self.kit.style.wall
        return self.sheet_metal(wall.material, wall.thickness)

    def line(self, name: str) -> ScrewLine:
        """Return a screw line by its name."""
        return self.statics.lines[name]

    def acceleration(self, w: Working) -> None:
        """Add the throw's three components to a calculation."""
        source = f"load case '{self.case.name}', {self.throw.text}: {self.case.source}"
        beside = "box frame, x to the service end, z up; weight and load factor in"
        for axis, name in enumerate("xyz"):
            w.given(f"a_{name}", float(self.throw.force[axis]), "m/s²", f"throw along {name} ({beside})", source)

    def made(self, member: str, piece: str, what: str, w: Working, **more: Any) -> Calculation:
        """Return a finished calculation: its last line is "use", or `demand` over `resistance`."""
        use = w.values["use"]
        plain = {"demand": use, "resistance": 1.0, "unit": ""}
        return Calculation(
            member=member,
            piece=piece,
            what=what,
            case=self.case.name,
            throw=self.throw.text,
            use=use,
            working=w,
            **{"where": (piece,), **plain, **more},
        )

    def stress(
        self, member: str, piece: str, what: str, w: Working, metal: Metal, symbol: str = "σ", **more: Any
    ) -> Calculation:
        """Return a finished check of a bending stress, already a line of the calculation, against yield."""
        allowed = self.allow.yield_(w, metal)
        w.let("use", f"{symbol} / σ_Rd", "", "share that is used; over 1 fails")
        return self.made(
            member, piece, what, w, **{"demand": w.values[symbol], "resistance": allowed, "unit": "MPa", **more}
        )
