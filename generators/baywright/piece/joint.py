"""Joints: bonds between two faces, and lines of screws through a stack of pieces. Holes follow from joints."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from baywright.piece.bought import Bought
from baywright.piece.solid import Use
from baywright.shape.loop import Loop
from baywright.shape.pose import Pose


@dataclass(frozen=True, eq=False, kw_only=True)
class Bond:
    """Two faces held by adhesive.

    Attributes:
        name: unique in its assembly.
        first: the mark of the piece whose face is at z = 0 of `pose`.
        second: the mark of the piece whose face is at z = `thickness`.
        region: the bonded area in the x-y plane of `pose`, (n, 3) mm.
        pose: the bond's frame in the assembly.
        thickness: the bond line, mm.
        adhesive: the adhesive's name.
        density: kg/m³ of the cured adhesive.
    """

    name: str
    first: str
    second: str
    region: Loop
    pose: Pose
    thickness: float
    adhesive: str
    density: float


@dataclass(frozen=True, eq=False)
class Layer:
    """One piece that a screw passes through.

    Attributes:
        mark: the piece's mark.
        use: what its hole is for.
        diameter: the hole, mm.
        callout: what the shop must know ("M5 through").
        slot: overall length of a slot along `slot_along` in the assembly, mm; 0 for a round hole.
        slot_along: direction (3,) of the slot.
        depth: how deep the hole goes, mm; None for right through the face's metal.
        recess: diameter that the piece leaves free where the head sits in it, and on out, mm; 0 if it has no recess.
    """

    mark: str
    use: Use
    diameter: float
    callout: str = ""
    slot: float = 0.0
    slot_along: tuple[float, float, float] = (1.0, 0.0, 0.0)
    depth: float | None = None
    recess: float = 0.0


@dataclass(frozen=True, eq=False)
class Along:
    """A bought thing on each screw's axis: a washer, an insert, a nut, `offset` mm from under the head."""

    piece: Bought
    offset: float


@dataclass(frozen=True, eq=False, kw_only=True)
class ScrewLine:
    """A row of equal screws through the same pieces.

    Attributes:
        name: unique in its assembly.
        joint: what it holds, in the trade's words; it groups lines on the shop's sheets.
        screw: the screw, its head above z = 0 of its own frame and its shank below; None for holes that the car's own
            bolts will pass (feet).
        size: the thread ("M5").
        length: of the screw, mm.
        points: (n, 3) mm, on the surface under the heads.
        direction: (3,) of unit length, from head to tip.
        layers: what it passes through, from the head on.
        along: washers, inserts and nuts on its axis.
        head: head's (or washer's) diameter and height, mm.
        driver: the length a driver needs straight above the head, mm.
        stage: when it is driven, as `Placed.stage`: what is fitted later is not in the driver's way.
        tight_by: who says how tight, in words, where it is not the shop's to reckon; "" where it is.
    """

    name: str
    joint: str
    screw: Bought | None
    size: str
    length: float
    points: NDArray[np.float64]
    direction: NDArray[np.float64]
    layers: tuple[Layer, ...]
    along: tuple[Along, ...] = ()
    head: tuple[float, float] = (0.0, 0.0)
    driver: float = 0.0
    stage: int = 0
    tight_by: str = ""

    @property
    def diameter(self) -> float:
        """The thread's nominal diameter in mm: of "M5", or of an inch thread such as "3/8-16"; 0 without a thread."""
        if self.size.startswith("M"):
            return float(self.size[1:])
        return float(Fraction(self.size.split("-")[0])) * 25.4 if self.size else 0.0
