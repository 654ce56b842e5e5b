"""The run-out budget: how far the input shaft may stand off the motor's shaft, added up from one to the other."""

import math
from dataclasses import dataclass

from baywright.adapter.bolting import Bolted
from baywright.adapter.bores import Bores
from baywright.adapter.fit import class_limits, play
from baywright.adapter.given import Given
from baywright.adapter.thread import thread_of
from baywright.shape.pattern import Pattern, Side

# The play that a recess has which is bored to a spigot as measured, mm: common practice, no source.
SUITED = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Offset:
    """One link of the chain: what may be off, by how much off centre (mm), on whose word; if it is a spigot's play."""

    what: str
    offset: float
    source: str
    play: bool = False


@dataclass(frozen=True, eq=False, kw_only=True)
class RunOut:
    """The chain from the motor's shaft to the gearbox's.

    Attributes:
        offsets: the links.
        limit: most run-out of the input shaft that is asked for, as full indicator movement, mm.
        plate: how many of the links, from the first, lead to the step that the plate offers the gearbox.
        unlocated: faces that neither spigot nor dowels locate, so that bolts alone do.
    """

    offsets: tuple[Offset, ...]
    limit: float
    plate: int
    unlocated: tuple[Side, ...]

    @property
    def worst_at_plate(self) -> float:
        """Full indicator movement, at worst, of the step that the plate offers the gearbox, mm."""
        return 2 * sum(o.offset for o in self.offsets[: self.plate])

    @property
    def suited(self) -> float:
        """The likely movement once recesses are bored to the spigots as measured, mm."""
        return 2 * math.sqrt(sum(min(o.offset, SUITED / 2 if o.play else o.offset) ** 2 for o in self.offsets))

    @property
    def worst(self) -> float:
        """Full indicator movement if every link is at its limit the same way, mm: twice the offset."""
        return 2 * sum(o.offset for o in self.offsets)

    @property
    def likely(self) -> float:
        """Full indicator movement as the root of the sum of squares, mm."""
        return 2 * math.sqrt(sum(o.offset**2 for o in self.offsets))


def run_out(
    given: Given,
    located: tuple[tuple[Side, Pattern, tuple[Bolted, ...], Bores], ...],
    joints: int,
) -> RunOut:
    """Return the budget of an adapter.

    Args:
        given: the rows.
        located: for motor and gearbox: its face, the plate's holes for it, and that plate's bores.
        joints: how many joints between plates lie on the way, each located by reamed dowels.
    """
    ask = given.ask
    shaft, face = given.motor.shaft.run_out, given.motor_face.run_out
    found = [
        Offset(
            what="motor's shaft to its spigot",
            offset=(shaft or face or 0.0) / 2,
            source=given.motor.source if shaft else (given.motor_face.source if face else "not known"),
        )
    ]
    links = {side: _locating(given, side, pattern, holes, bores) for side, pattern, holes, bores in located}
    found.append(links["motor"][0])
    unlocated = tuple(side for side, (_, free) in links.items() if free)
    if ask.indicated is not None:
        # The indicator turns with the one shaft and reads the other's step: whatever lies between is in its reading.
        found.append(
            Offset(
                what="plate as indicated before its dowels are reamed",
                offset=ask.indicated / 2,
                source="indicated, as asked: common practice, no source",
            )
        )
        return RunOut(offsets=tuple(found), limit=ask.run_out_limit, plate=len(found), unlocated=unlocated)
    found.append(
        Offset(
            what="placing of the gearbox's features on the plate from the motor's",
            offset=ask.placing / 2,
            source="placing, as asked: common practice, no source",
        )
    )
    for number in range(joints):
        pin = play(
            class_limits(given.catalogue, ask.dowel_hole, 8.0), class_limits(given.catalogue, ask.dowel_pin, 8.0)
        )
        found.append(
            Offset(
                what=f"dowels between plates, joint {number + 1}",
                offset=max(pin.most, 0.0) / 2,
                source=f"8 {ask.dowel_hole}/{ask.dowel_pin}, reamed together: ISO 286",
            )
        )
    plate = len(found)
    found.append(links["gearbox"][0])
    doubt = max((h.position for h in given.gearbox_face.dowels), default=0.0)
    if doubt:
        found.append(Offset(what="measured places of the dowels", offset=doubt / 2, source="readings: 19 times in 20"))
    found.append(
        Offset(
            what="gearbox's locating step to its input shaft",
            offset=given.gearbox.run_out / 2,
            source=given.gearbox.source if given.gearbox.run_out else "not known",
        )
    )
    return RunOut(offsets=tuple(found), limit=ask.run_out_limit, plate=plate, unlocated=unlocated)


def _locating(
    given: Given, side: Side, pattern: Pattern, holes: tuple[Bolted, ...], bores: Bores
) -> tuple[Offset, bool]:
    """Return how far a face may stand off the plate: by its dowels, its spigot, or nothing better than its bolts."""
    seats = [b for b in bores.bores if b.of == side and b.play is not None]
    options: list[tuple[float, str, str]] = []
    for seat in seats:
        assert seat.play is not None
        two = (
            2.0 if pattern.pilot is not None and not pattern.pilot.male else 1.0
        )  # a loose ring has play on both sides
        options.append(
            (two * max(seat.play.most, 0.0) / 2, f"{side}'s spigot in its bore", f"{seat.diameter:g} {seat.fit}")
        )
    if len(pattern.dowels) >= 2:
        d = pattern.dowels[0].diameter
        ask = given.ask
        pin = play(class_limits(given.catalogue, ask.dowel_hole, d), class_limits(given.catalogue, ask.dowel_pin, d))
        options.append((max(pin.most, 0.0) / 2, f"{side}'s dowels", f"{d:g} {ask.dowel_hole}/{ask.dowel_pin}"))
    if options:
        # Whichever fits closest holds; the other only follows.
        offset, what, fit = min(options)
        return Offset(what=what, offset=offset, source=f"{fit}: ISO 286", play="spigot" in what), False
    loose = []
    for one in holes:
        if one.thread is None:
            continue
        wide = one.cut if one.make == "clearance" else one.hole.diameter
        loose.append((wide - thread_of(given.catalogue, one.hole.thread).diameter) / 2)
    return (
        Offset(
            what=f"{side}'s bolts in their holes: nothing else locates it",
            offset=max(max(loose, default=0.0), 0.0),
            source="clearance holes",
        ),
        True,
    )
