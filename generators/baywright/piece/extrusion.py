"""An extrusion: a stock section sawn to length and drilled through its faces."""

from collections import defaultdict
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from baywright.piece.solid import Block, Face, Hole
from baywright.shape.loop import area, circle, counter_clockwise, rectangle
from baywright.shape.mass import MassProperties, combine, prism
from baywright.shape.pose import Pose, pose, shifted, turned
from baywright.shape.profile import Profile, profile

_X, _Y, _Z = np.eye(3)


@dataclass(frozen=True, eq=False, kw_only=True)
class Stock:
    """A stock section in its own x-y plane, corners sharp: angle, bar, tube, channel, round tube or rod.

    Attributes:
        name: the section's name in the shop's tables.
        shape: the kind of section.
        width: extent along x, mm (an angle's first leg, a bar's broad side).
        height: extent along y, mm.
        wall: thickness of its walls, mm (a bar's own thickness is `height`).
        material: the material's name.
        density: kg/m³.
        stock_length: the length it is bought in, mm.
    """

    name: str
    shape: str
    width: float
    height: float
    wall: float
    material: str
    density: float
    stock_length: float

    @cached_property
    def profile(self) -> Profile:
        """The section's profile (mm): heel or corner at the origin; round sections about the origin."""
        w, h, t = self.width, self.height, self.wall
        if self.shape == "angle":
            return profile(np.array([(0, 0, 0), (w, 0, 0), (w, t, 0), (t, t, 0), (t, h, 0), (0, h, 0)], dtype=float))
        if self.shape == "channel":
            corners = [(0, 0), (w, 0), (w, t), (t, t), (t, h - t), (w, h - t), (w, h), (0, h)]
            return profile(np.array([(x, y, 0) for x, y in corners], dtype=float))
        if self.shape == "bar":
            return profile(rectangle(0, 0, w, h))
        if self.shape == "tube":
            return profile(rectangle(0, 0, w, h), [rectangle(t, t, w - t, h - t)])
        if self.shape == "round tube":
            return profile(circle(0, 0, w), [circle(0, 0, w - 2 * t)])
        return profile(circle(0, 0, w))

    def rectangles(self) -> list[tuple[float, float, float, float]]:
        """Return the section as rectangles (x0, y0, x1, y1) mm that share no area, a round one as a square."""
        w, h, t = self.width, self.height, self.wall
        if self.shape == "angle":
            return [(0, 0, w, t), (0, t, t, h)]
        if self.shape == "channel":
            return [(0, 0, w, t), (0, t, t, h - t), (0, h - t, w, h)]
        if self.shape == "tube":
            return [(0, 0, w, t), (0, h - t, w, h), (0, t, t, h - t), (w - t, t, w, h - t)]
        if self.shape in ("round tube", "rod"):
            return [(-w / 2, -w / 2, w / 2, w / 2)]
        return [(0, 0, w, h)]


@dataclass(frozen=True, eq=False, kw_only=True)
class Extrusion:
    """A length of stock. Its frame: the section in x-y, the length along z from 0.

    Attributes:
        role: what it is, in the trade's words ("corner angle").
        stock: the section.
        length: mm.
        holes: drilled through its faces; a face's frame has x along the length.
    """

    role: str
    stock: Stock
    length: float
    holes: tuple[Hole, ...] = ()

    @property
    def material(self) -> str:
        """The material's name."""
        return self.stock.material

    @property
    def thickness(self) -> float:
        """The thickness of the section's walls, mm; of a bar, its own."""
        return self.stock.wall if self.stock.shape in ("angle", "channel", "tube", "round tube") else self.stock.height

    def faces(self) -> dict[str, Face]:
        """Return its drillable faces: flat walls from outside, and both ends of a bar.

        An angle's legs are "leg x" and "leg y"; a channel's "web", "flange low" and "flange high"; a tube's "low",
        "high", "left" and "right"; a bar's "low" and "high", "end 0" and "end 1". The frame's x runs along the length.
        """
        s, n = self.stock, self.length
        w, h, t = s.width, s.height, s.wall
        low = Face(pose(_Z, -_X, (w, 0, 0)), n, w, t)  # seen from below: y of the face runs from x = w to 0
        left = Face(pose(_Z, _Y, (0, 0, 0)), n, h, t)
        high = Face(pose(_Z, _X, (0, h, 0)), n, w, t)
        right = Face(pose(_Z, -_Y, (w, h, 0)), n, h, t)
        both = ("low", "high")
        if s.shape == "angle":
            return {"leg x": replace(low, held=("high",)), "leg y": replace(left, held=("low",))}
        if s.shape == "channel":
            return {
                "flange low": replace(low, held=("high",)),
                "web": replace(left, held=both),
                "flange high": replace(high, held=("low",)),
            }
        if s.shape == "tube":
            return {
                name: replace(face, held=both)
                for name, face in (("low", low), ("left", left), ("high", high), ("right", right))
            }
        if s.shape == "bar":
            ends = {
                "end 0": Face(pose(_Y, _X, (0, 0, 0)), h, w, n),
                "end 1": Face(pose(_X, _Y, (0, 0, n)), w, h, n),
            }
            return {"low": replace(low, depth=h), "high": replace(high, depth=h), **ends}
        return {}

    def with_holes(self, holes: tuple[Hole, ...]) -> "Extrusion":
        """Return the extrusion with more holes."""
        return replace(self, holes=self.holes + holes)

    def mass_properties(self) -> MassProperties:
        """Return mass, centroid and inertia in its own frame, holes taken out exactly."""
        return self._mass_properties

    @cached_property
    def _mass_properties(self) -> MassProperties:
        whole = prism(self.stock.profile, 0.0, self.length, self.stock.density)
        faces, grouped = self.faces(), defaultdict(list)
        for hole in self.holes:
            grouped[hole.face, hole.depth].append(counter_clockwise(hole.loop))
        removed = [
            prism(Profile(loops[0], tuple(loops[1:])), -depth, 0.0, self.stock.density)
            .moved(faces[face].pose)
            .times(-1)
            for (face, depth), loops in grouped.items()
        ]
        return combine([whole, *removed])

    def bodies(self) -> tuple[Block, ...]:
        """Return the blocks it fills, holes not taken out."""
        return tuple(
            Block(np.array([x0, y0, 0.0]), np.array([x1, y1, self.length]))
            for x0, y0, x1, y1 in self.stock.rectangles()
        )

    def turns(self) -> tuple[Pose, ...]:
        """Return the turns that put the undrilled length back in its own place."""
        s, n = self.stock, self.length
        if s.shape == "angle":
            swap = Pose(np.array([[0.0, 1, 0], [1, 0, 0], [0, 0, -1]]), np.array([0, 0, n], dtype=float))
            return (shifted(), swap) if s.width == s.height else (shifted(),)
        if s.shape == "channel":
            return (shifted(), turned("x", 180, (0, s.height, n)))
        if s.shape in ("bar", "tube"):
            return (
                shifted(),
                turned("z", 180, (s.width, s.height, 0)),
                turned("x", 180, (0, s.height, n)),
                turned("y", 180, (s.width, 0, n)),
            )
        return (shifted(), turned("x", 180, (0, 0, n)))

    def volume(self) -> float:
        """Return the volume of metal in mm³."""
        return self.stock.profile.area() * self.length - sum(abs(area(h.loop)) * h.depth for h in self.holes)

    def size_text(self) -> str:
        """Return its size as a cut list says it."""
        return f"{self.stock.name} x {self.length:.1f}"
