"""What every piece shares: faces that can be drilled, holes, and the simple bodies that clearances are taken from."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from baywright.shape.loop import Loop
from baywright.shape.pose import Pose

# What a hole is for. It decides the drawing's call-out and whether a cutter may finish it. A "bore" is an opening that
# the piece has by itself (a module's sleeve, a tube's inside): a screw passes, nothing is drilled.
Use = Literal["clearance", "tapped", "insert", "cut-out", "slot", "access", "lift", "fixing", "bore"]


@dataclass(frozen=True, eq=False, kw_only=True)
class Hole:
    """A hole through one face of a piece.

    Attributes:
        face: the face's name.
        loop: its edge in the face's own plane, (n, 3) mm.
        depth: how deep it goes from the face, mm.
        use: what it is for.
        callout: what the shop must know and a cut file cannot say, such as "M5 through".
        line: the screw line that asked for it, or "" for a cut-out of the piece itself.
    """

    face: str
    loop: Loop
    depth: float
    use: Use
    callout: str = ""
    line: str = ""


@dataclass(frozen=True, eq=False)
class Face:
    """A flat face that may be drilled.

    Attributes:
        pose: the face's frame in the piece's frame: x and y in the face, z out of the metal; origin at a corner.
        width: extent along x, mm.
        height: extent along y, mm.
        depth: thickness of the metal behind the face, mm.
        outline: the face's edge (n, 3) mm if it is not the plain rectangle width by height.
        held: sides where the metal goes on round a corner, so that they are no free edge: "low" (y = 0), "high".
    """

    pose: Pose
    width: float
    height: float
    depth: float
    outline: Loop | None = None
    held: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Block:
    """A rectangular body between two opposite corners (3,) mm."""

    low: NDArray[np.float64]
    high: NDArray[np.float64]

    def moved(self, pose: Pose) -> "Block":
        """Return the block seen from outside `pose`; a pose that is not a quarter turn gives the enclosing block."""
        middle, half = (self.low + self.high) / 2, (self.high - self.low) / 2
        centre, reach = pose(middle), np.abs(pose.turn) @ half
        return Block(centre - reach, centre + reach)


@dataclass(frozen=True, eq=False)
class Round:
    """A cylinder: from `start` (3,) mm along `axis` (3,) of unit length for `length` mm, `diameter` mm across."""

    start: NDArray[np.float64]
    axis: NDArray[np.float64]
    length: float
    diameter: float

    def moved(self, pose: Pose) -> "Round":
        """Return the cylinder seen from outside `pose`."""
        return Round(pose(self.start), pose.direction(self.axis), self.length, self.diameter)

    def enclosing(self) -> Block:
        """Return the block that just holds the cylinder, its axis along x, y or z or not."""
        end = self.start + self.axis * self.length
        across = self.diameter / 2 * np.sqrt(np.clip(1 - self.axis**2, 0, None))
        return Block(np.minimum(self.start, end) - across, np.maximum(self.start, end) + across)


Body = Block | Round


def enclosing(body: Body) -> Block:
    """Return the axis-aligned block that just holds a body."""
    return body if isinstance(body, Block) else body.enclosing()
