"""A plate: a profile cut from sheet, and its thickness."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from baywright.piece.solid import Block, Face, Hole
from baywright.shape.loop import SAME, Loop, area, bounds, contains
from baywright.shape.mass import MassProperties, combine, prism
from baywright.shape.pose import Pose, shifted, turned
from baywright.shape.profile import Profile, profile


@dataclass(frozen=True, eq=False, kw_only=True)
class Plate:
    """A flat piece. Its frame: the profile in x-y, the metal from z = 0 to `thickness`; z = thickness is the seen side.

    Attributes:
        role: what it is, in the trade's words ("long wall").
        outline: its outer edge (n, 3) mm.
        holes: its holes, all from the face "top": through, or to a depth.
        thickness: mm. For a compressed gasket, the compressed thickness.
        material: the material's name in the shop's tables.
        density: kg/m³ over `thickness`.
        seen_from: the side that a cut file shows, such as "outside".
    """

    role: str
    outline: Loop
    holes: tuple[Hole, ...] = ()
    thickness: float
    material: str
    density: float
    seen_from: str = "outside"

    @cached_property
    def profile(self) -> Profile:
        """The outline and every hole that goes right through as one profile (mm): what a cutter cuts."""
        return profile(self.outline, [hole.loop for hole in self.holes if self._through(hole)])

    def _through(self, hole: Hole) -> bool:
        return hole.depth >= self.thickness - SAME

    def pockets(self) -> list[tuple[Profile, Hole]]:
        """Return what blind holes take out beyond the deeper ones within them (a bore in a counterbore), with the hole.

        Each profile (mm) is drawn down from the seen side to the hole's depth.
        """
        found = []
        for hole in self.holes:
            if not self._through(hole):
                inside = [h.loop for h in self.holes if h.depth > hole.depth + SAME and _within(h.loop, hole.loop)]
                # Of loops in loops, only the outermost count: the others lie in metal that is already away.
                outermost = [a for a in inside if not any(b is not a and _within(a, b) for b in inside)]
                found.append((profile(hole.loop, outermost), hole))
        return found

    def faces(self) -> dict[str, Face]:
        """Return its one drillable face, whose frame is the plate's own frame lifted to the seen side."""
        x0, y0, x1, y1 = bounds(self.outline)
        return {"top": Face(shifted(0, 0, self.thickness), x1 - x0, y1 - y0, self.thickness, self.outline)}

    def with_holes(self, holes: tuple[Hole, ...]) -> "Plate":
        """Return the plate with more holes."""
        return replace(self, holes=self.holes + holes)

    def mass_properties(self) -> MassProperties:
        """Return mass, centroid and inertia in the plate's frame, exact for its profile and its blind holes."""
        return self._mass_properties

    @cached_property
    def _mass_properties(self) -> MassProperties:
        whole = prism(self.profile, 0.0, self.thickness, self.density)
        pockets = self.pockets()
        if not pockets:
            return whole
        top = self.thickness
        return combine([whole, *(prism(p, top - h.depth, top, -self.density) for p, h in pockets)])

    def bodies(self) -> tuple[Block, ...]:
        """Return the blocks it fills, holes not taken out; a ring as four bars, others as one block."""
        x0, y0, x1, y1 = bounds(self.outline)
        opening = next((bounds(h.loop) for h in self.holes if h.use == "cut-out" and h.line == "ring"), None)
        if opening is None:
            return (Block(np.array([x0, y0, 0.0]), np.array([x1, y1, self.thickness])),)
        u0, v0, u1, v1 = opening
        bars = [(x0, y0, x1, v0), (x0, v1, x1, y1), (x0, v0, u0, v1), (u1, v0, x1, v1)]
        return tuple(Block(np.array([a, b, 0.0]), np.array([c, d, self.thickness])) for a, b, c, d in bars)

    def turns(self) -> tuple[Pose, ...]:
        """Return the half turns that put the plate's bounding block back in its own place."""
        x0, y0, x1, y1 = bounds(self.outline)
        t = self.thickness
        return (
            shifted(),
            turned("z", 180, (x0 + x1, y0 + y1, 0.0)),
            turned("x", 180, (0.0, y0 + y1, t)),
            turned("y", 180, (x0 + x1, 0.0, t)),
        )

    def size_text(self) -> str:
        """Return its size as a cut list says it."""
        x0, y0, x1, y1 = bounds(self.outline)
        return f"{x1 - x0:.2f} x {y1 - y0:.2f} x {self.thickness:g}"


def _within(inner: Loop, outer: Loop) -> bool:
    """Tell whether a loop lies inside a larger one; the loops of a plate's holes never cross."""
    return abs(area(inner)) < abs(area(outer)) and contains(outer, float(inner[0, 0]), float(inner[0, 1]))
