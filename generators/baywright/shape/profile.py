"""A profile: one outline and the holes in it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from baywright.shape.loop import Loop, bounds, clockwise, counter_clockwise, moments, perimeter


@dataclass(frozen=True, eq=False)
class Profile:
    """An outline (counter-clockwise) and its holes (clockwise), each an (n, 3) loop in mm."""

    outer: Loop
    holes: tuple[Loop, ...] = ()

    def moments(self) -> NDArray[np.float64]:
        """Return area, ∫x, ∫y, ∫x², ∫y², ∫xy of the metal (mm², mm³, mm⁴)."""
        return self._moments

    @cached_property
    def _moments(self) -> NDArray[np.float64]:
        return moments([self.outer, *self.holes])

    def area(self) -> float:
        """Return the area of the metal in mm²."""
        return float(self.moments()[0])

    def bounds(self) -> tuple[float, float, float, float]:
        """Return (x least, y least, x most, y most) of the outline in mm."""
        return bounds(self.outer)

    def cut_length(self) -> float:
        """Return the length of all edges in mm: what the cutter travels."""
        return perimeter(self.outer) + sum(perimeter(hole) for hole in self.holes)


def profile(outer: Loop, holes: Sequence[Loop] = ()) -> Profile:
    """Return a profile with its loops turned the right way round."""
    return Profile(counter_clockwise(outer), tuple(clockwise(h) for h in holes))
