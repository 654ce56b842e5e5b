"""A bought piece: an envelope, a mass and a centre of mass. It is never cut."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from baywright.piece.solid import Body, enclosing
from baywright.shape.mass import MassProperties, block


@dataclass(frozen=True, eq=False, kw_only=True)
class Bought:
    """A bought thing, drawn as simple bodies.

    Attributes:
        role: what it is, in the trade's words ("module", "screw").
        name: what to order.
        mass: kg, each.
        centre: its centre of mass (3,) mm in its own frame; the middle of its bodies if not given.
        bodies_: blocks and cylinders that stand for it, in its own frame; none for a liquid or an allowance.
        source: where its figures are from.
        group: which list of the bill of materials it stands in ("screws", "fittings"…).
    """

    role: str
    name: str
    mass: float
    centre: NDArray[np.float64] | None = None
    bodies_: tuple[Body, ...] = ()
    source: str = ""
    group: str = "bought"
    note: str = field(default="")

    def bodies(self) -> tuple[Body, ...]:
        """Return the bodies that stand for it, in its own frame."""
        return self.bodies_

    def mass_properties(self) -> MassProperties:
        """Return mass, centroid and inertia: an even block of its enclosing size, its centre where it is stated."""
        if not self.bodies_:
            centre = np.zeros(3) if self.centre is None else self.centre
            return MassProperties(self.mass, centre, np.zeros((3, 3)))
        blocks = [enclosing(body) for body in self.bodies_]
        low, high = (
            np.min([b.low for b in blocks], axis=0),
            np.max([b.high for b in blocks], axis=0),
        )
        even = block(self.mass, low, high)
        return even if self.centre is None else MassProperties(self.mass, self.centre, even.inertia)

    def size_text(self) -> str:
        """Return its name: what to order."""
        return self.name
