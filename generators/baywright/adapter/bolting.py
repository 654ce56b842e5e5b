"""What each hole of a face becomes in the plate that meets it: clearance, tapped, reamed; heads, sinks, lengths."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from baywright.adapter.clocking import Discs
from baywright.adapter.engagement import CAREFUL_D
from baywright.adapter.given import Given
from baywright.adapter.thread import Thread
from baywright.finding import CannotBuild
from baywright.shape.pattern import Pattern, PatternHole, Side

Make = Literal["clearance", "tapped", "dowel"]

# Free room round a bolt's head for its washer and key, mm: common practice, no source.
HEAD_ROOM = 1.0
# Metal under a counterbored head, in diameters of its bolt, and at least this many mm: common practice, no source.
FLOOR_D, FLOOR_MM = 0.5, 4.0
# What a reamer takes off, mm on the diameter, and what a boring bar leaves itself: common practice, no source.
REAM_OFF, BORE_OFF = 0.3, 2.0
# The same where the reamed hole's place is found by indicating: its metal must stand wherever the plate is moved to.
INDICATED_OFF = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Bolted:
    """One hole of a face and what the plate has for it.

    Attributes:
        hole: the face's hole, seen from the motor.
        face: the part that it belongs to.
        make: what the plate's hole is.
        thread: of the bolt; None for a dowel.
        cut: diameter as it is cut or drilled in the plate, mm.
        head: the side of this plate that a bolt's head bears on; None if the head bears on the other part or there
            is none.
        sink: depth of the counterbore that hides the head, mm; 0 if the head stands free.
        sink_wide: diameter of that counterbore, mm.
        near: depth of the recess of its own face that it stands in, mm; 0 if in none.
        far: depth of the recess of the other face that it stands in, mm.
    """

    hole: PatternHole
    face: Side
    make: Make
    thread: Thread | None
    cut: float
    head: Side | None = None
    sink: float = 0.0
    sink_wide: float = 0.0
    near: float = 0.0
    far: float = 0.0

    def metal(self, thickness: float) -> float:
        """Return the length of plate that the bolt passes, recesses and counterbore taken off, mm."""
        return thickness - self.near - self.far - self.sink

    @property
    def head_wide(self) -> float:
        """Diameter of the bolt's head or washer, mm; 0 for a dowel."""
        if self.thread is None:
            return 0.0
        return self.thread.row.cap.head_diameter if self.sink else self.thread.row.washer.outside

    @property
    def head_high(self) -> float:
        """How far a free head stands out of the plate, washer included, mm."""
        if self.thread is None or self.head is None or self.sink:
            return 0.0
        return self.thread.row.cap.head_height + self.thread.row.washer.thickness

    @property
    def reach(self) -> float:
        """Radius that the hole with its counterbore takes of the plate, mm."""
        return max(self.cut, self.sink_wide) / 2


def bolted(given: Given, face: Pattern, side: Side, covered: tuple[float, float] | None) -> tuple[Bolted, ...]:
    """Return what the plate has for every hole of a face.

    A tapped hole of the face takes a bolt whose head bears on the plate's far side; a free hole has its bolt's head on
    the part itself and its thread in the plate; a dowel hole is reamed.

    Args:
        given: the rows.
        face: the face, seen from the motor.
        side: whose face it is.
        covered: inner and outer radius of what covers the plate's far side, mm, where heads must be sunk; None if
            nothing does.
    """
    found = []
    for hole in face.holes:
        if hole.kind == "dowel":
            moves = side == "gearbox" and given.ask.indicated is not None
            cut = hole.diameter - (INDICATED_OFF if moves else REAM_OFF)
            found.append(Bolted(hole=hole, face=side, make="dowel", thread=None, cut=cut))
            continue
        thread = given.thread(hole.thread)
        if hole.kind == "through":
            found.append(Bolted(hole=hole, face=side, make="tapped", thread=thread, cut=thread.row.tap_drill))
            continue
        far: Side = "gearbox" if side == "motor" else "motor"
        wide = thread.row.washer.outside / 2 + HEAD_ROOM
        hidden = covered is not None and hole.radius + wide > covered[0] and hole.radius - wide < covered[1]
        found.append(
            Bolted(
                hole=hole,
                face=side,
                make="clearance",
                thread=thread,
                cut=thread.row.clearance.medium,
                head=far,
                sink=thread.counterbore_depth if hidden else 0.0,
                sink_wide=thread.row.counterbore.diameter if hidden else 0.0,
            )
        )
    return tuple(found)


def discs(holes: tuple[Bolted, ...], least_web: float) -> Discs:
    """Return the room that holes take of a plate, for webs between two faces' holes.

    A head's seat must lie on metal, but needs no web round it: its disc is drawn in by the least web.
    """
    radii = [max(one.reach, one.head_wide / 2 - least_web if one.head else 0.0) for one in holes]
    return Discs(
        names=tuple(one.hole.name for one in holes),
        centres=np.array([(one.hole.x, one.hole.y) for one in holes], dtype=float).reshape(-1, 2),
        radii=np.array(radii, dtype=float),
    )


def least_thickness(holes: tuple[Bolted, ...]) -> float:
    """Return the least thickness of a plate with these holes, mm: a floor under every sunk head."""
    need = [
        one.near + one.far + one.sink + max(FLOOR_D * one.thread.diameter, FLOOR_MM)
        for one in holes
        if one.thread and one.sink
    ]
    return max(need, default=0.0)


def bolt_length(thread: Thread, grip: float, least: float, most: float, key: str, where: str) -> float:
    """Return the standard length of a bolt, mm: the shortest that engages two diameters, else the longest that goes in.

    Args:
        thread: the bolt's.
        grip: what it clamps, from under the head to the thread, mm.
        least: least engagement, mm.
        most: most that may stand in the thread, mm.
        key: the request's key, for the refusal.
        where: what it holds, for the refusal.

    Raises:
        CannotBuild: if no standard length does.
    """
    fitting = [n for n in thread.row.lengths if grip + least - 1e-9 <= n <= grip + most + 1e-9]
    if fitting:
        careful = [n for n in fitting if n >= grip + CAREFUL_D * thread.diameter - 1e-9]
        return float(min(careful) if careful else max(fitting))
    low, high = grip + least, grip + most
    text = f"{low:.1f} mm or more" if math.isinf(high) else f"{low:.1f} to {high:.1f} mm"
    raise CannotBuild(key, f"no standard {thread.name} bolt is {text} long, as the bolts of {where} must be")
