"""A plate: a profile cut from sheet, and its thickness."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from baywright.piece.solid import Block, Face, Hole
from baywright.shape.loop import Loop, bounds
from baywright.shape.mass import MassProperties, prism
from baywright.shape.pose import Pose, shifted, turned
from baywright.shape.profile import Profile, profile


@dataclass(frozen=True, eq=False, kw_only=True)
class Plate:
    """A flat piece. Its frame: the profile in x-y, the metal from z = 0 to `thickness`; z = thickness is the seen side.

    Attributes:
        role: what it is, in the trade's words ("long wall").
        outline: its outer edge (n, 3) mm.
        holes: its holes, all through the face "top".
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
        """The outline and every hole as one profile (mm)."""
        return profile(self.outline, [hole.loop for hole in self.holes])

    def faces(self) -> dict[str, Face]:
        """Return its one drillable face, whose frame is the plate's own frame lifted to the seen side."""
        x0, y0, x1, y1 = bounds(self.outline)
        return {"top": Face(shifted(0, 0, self.thickness), x1 - x0, y1 - y0, self.thickness, self.outline)}

    def with_holes(self, holes: tuple[Hole, ...]) -> "Plate":
        """Return the plate with more holes."""
        return replace(self, holes=self.holes + holes)

    def mass_properties(self) -> MassProperties:
        """Return mass, centroid and inertia in the plate's frame, exact for its profile."""
        return prism(self.profile, 0.0, self.thickness, self.density)

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
