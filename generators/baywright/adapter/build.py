"""Collects the plates, bolts and pins of one adapter, in the assembly's frame.

The assembly's origin lies on the shaft's centre line in the motor's face; z runs towards the gearbox and y up, so x
runs to the right for somebody at the gearbox. A plate drawn as seen from the motor stands turned about y: its own x
and the assembly's x are opposite. `here` and `stands` are the only places that know it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from baywright.adapter import bought
from baywright.adapter.bolting import Bolted, bolt_length
from baywright.adapter.bores import Bores, Ring
from baywright.adapter.engagement import LEAST_D, least_engagement
from baywright.adapter.given import Given
from baywright.adapter.thread import Thread
from baywright.finding import CannotBuild
from baywright.piece.assembly import Assembly, Placed, drilled
from baywright.piece.joint import Layer, ScrewLine
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.shape.loop import Loop, circle, mapped
from baywright.shape.pattern import Side
from baywright.shape.pose import Pose, shifted, turned

MOTOR = "motor"
_MIRROR = np.diag([-1.0, 1.0])
# Straight room over a head that a key with its socket needs, mm: common practice, no source.
_KEY = 60.0
# How far a pin stands in the part it locates and in the plate, in its diameters, and at least, mm: common practice, no
# source.
_PIN_OUT, _PIN_IN, _PIN_LEAST = 1.0, 2.0, 8.0
# Threads short of a hole's bottom that a bolt must stop, in pitches.
_SHORT = 2.0


def here(points: NDArray[np.float64], z: float) -> NDArray[np.float64]:
    """Return points (n, 3) of the assembly for places (n, 2) seen from the motor, at a height z."""
    out = np.empty((len(points), 3))
    out[:, 0], out[:, 1], out[:, 2] = 0.0 - points[:, 0], points[:, 1], z
    return out


def stands(seen_from: Side, z: float, thickness: float) -> Pose:
    """Return where a plate stands whose motor side lies at z, by the side that it is drawn as seen from."""
    if seen_from == "gearbox":
        return shifted(0, 0, z)
    return turned("y", 180, (0.0, 0.0, z + thickness))


@dataclass(frozen=True, slots=True)
class PlateAt:
    """A plate's mark, where its motor side lies, its thickness and the side it is drawn as seen from."""

    mark: str
    z: float
    thickness: float
    seen_from: Side

    def face(self, side: Side) -> float:
        """Return z of one of its sides, mm."""
        return self.z if side == "motor" else self.z + self.thickness


@dataclass(eq=False)
class Build:
    """What has been put together so far."""

    given: Given
    placed: list[Placed] = field(default_factory=list)
    lines: list[ScrewLine] = field(default_factory=list)

    def plate(
        self,
        at: PlateAt,
        role: str,
        outline: Loop,
        openings: Sequence[tuple[Loop, float, str, str]],
    ) -> None:
        """Place a plate.

        Args:
            at: where.
            role: what it is.
            outline: its edge, seen from the motor, mm.
            openings: loops seen from the motor, their depths (0 right through), callouts, and "ring" for the one that
                makes the plate a ring to clearances.
        """
        turn = _MIRROR if at.seen_from == "gearbox" else None

        def seen(loop: Loop) -> Loop:
            return loop if turn is None else mapped(loop, turn)

        holes = tuple(
            Hole(
                face="top",
                loop=seen(loop),
                depth=depth or at.thickness,
                use="cut-out",
                callout=text,
                line=line,
            )
            for loop, depth, text, line in openings
        )
        piece = Plate(
            role=role,
            outline=seen(outline),
            holes=holes,
            thickness=at.thickness,
            material=self.given.material.name,
            density=self.given.material.density,
            seen_from=f"the {at.seen_from}",
        )
        self.placed.append(Placed(at.mark, piece, stands(at.seen_from, at.z, at.thickness)))

    def motor(self, bores: Bores) -> None:
        """Place the motor's envelope, its spigot no wider than its bore is before it is bored to size."""
        pilot = self.given.motor_face.pilot
        spigot = None
        if pilot is not None and pilot.male:
            cut = min((b.cut for b in bores.bores if b.of == "motor"), default=pilot.diameter)
            spigot = (min(pilot.diameter, cut), pilot.height or self.given.ask.pilot_height)
        self.placed.append(Placed(MOTOR, bought.motor(self.given.motor, spigot), shifted()))

    def ring(self, ring: Ring, at: PlateAt) -> None:
        """Place a locating ring in its plate's recess."""
        z = at.face(ring.of) - ring.seat if ring.of == "gearbox" else at.face(ring.of) + ring.seat - ring.width
        low, high = ring.outer.least, ring.outer.most
        where = PlateAt(f"locating ring, {ring.of}", z, ring.width, "motor")
        text = f"turn {ring.nominal:g} {ring.fit} ({low:.3f} to {high:.3f}) outside; inside clears the coupler"
        self.plate(where, "locating ring", circle(0, 0, ring.nominal), [(circle(0, 0, ring.inner), 0.0, text, "ring")])

    def bolts(self, holes: Sequence[Bolted], at: PlateAt, side: Side) -> None:
        """Add the bolts and pins of one face to the plate that meets it."""
        groups: dict[tuple[str, str, float, float, float, float], list[Bolted]] = {}
        for one in holes:
            key = (one.make, one.thread.name if one.thread else "", one.hole.diameter, one.sink, one.near, one.far)
            groups.setdefault(key, []).append(one)
        seen: dict[str, int] = {}
        for group in groups.values():
            word = f"{side} {'dowels' if group[0].make == 'dowel' else 'bolts'}"
            seen[word] = seen.get(word, 0) + 1
            name = word if seen[word] == 1 else f"{word} {seen[word]}"
            make = {"dowel": self._pins, "clearance": self._through, "tapped": self._tapped}[group[0].make]
            make(name, group, at, side)

    def _through(self, name: str, group: list[Bolted], at: PlateAt, side: Side) -> None:
        """Bolts through the plate into the part's own threads."""
        first = group[0]
        thread, head = first.thread, first.head
        assert thread is not None
        assert head is not None
        depth = min((one.hole.depth for one in group if one.hole.depth), default=0.0)
        most = depth - _SHORT * thread.row.pitch if depth else math.inf
        under = 0.0 if first.sink else thread.row.washer.thickness
        grip = first.metal(at.thickness) + under
        length = bolt_length(thread, grip, min(LEAST_D * thread.diameter, most), most, "stock", f"the {side}")
        layers = [Layer(at.mark, "clearance", first.cut, f"{thread.name} clearance")]
        if first.sink:
            floor = " from the recess's floor" if first.far else ""
            text = f"counterbore {first.sink_wide:g} x {first.sink:.1f} deep{floor} for {thread.name} cap head"
            layers.insert(0, Layer(at.mark, "access", first.sink_wide, text, depth=first.far + first.sink))
        if side == "motor":
            layers.append(Layer(MOTOR, "tapped", thread.row.tap_drill, f"{thread.name}, the motor's own"))
        way = -1.0 if head == "gearbox" else 1.0
        spot = Spot(places_of(group), at.face(head) + way * (first.far + first.sink), way)
        self.screws(name, f"plate to {side}", thread, length, spot, tuple(layers), washer=not first.sink)

    def _tapped(self, name: str, group: list[Bolted], at: PlateAt, side: Side) -> None:
        """Bolts through the part's flange into threads in the plate."""
        first = group[0]
        thread = first.thread
        assert thread is not None
        flange = self.given.motor.flange if side == "motor" else self.given.gearbox.flange
        if flange is None:
            text = f"motor '{self.given.motor.name}' has free holes: its row must say how thick its flange is"
            raise CannotBuild("motor", text)
        least = least_engagement(thread, self.given.bolt_class(thread), self.given.shear_strength)
        grip = flange + thread.row.washer.thickness
        length = bolt_length(
            thread, grip, least, first.metal(at.thickness), "stock", f"the {side} (thread in the plate)"
        )
        layers = [Layer(at.mark, "tapped", thread.row.tap_drill, f"{thread.name} tapped through")]
        if side == "motor":
            layers.insert(0, Layer(MOTOR, "bore", first.hole.diameter, f"{thread.name}, the motor's own"))
        way = 1.0 if side == "motor" else -1.0
        spot = Spot(places_of(group), at.face(side) + way * (first.near - flange), way)
        self.screws(name, f"{side} to plate", thread, length, spot, tuple(layers), washer=True)

    def _pins(self, name: str, group: list[Bolted], at: PlateAt, side: Side) -> None:
        """Dowel pins, pressed into the plate, sliding into the part."""
        d = group[0].hole.diameter
        out = max(_PIN_OUT * d, _PIN_LEAST)
        length = bought.pin_length(d, out + min(_PIN_LEAST, at.thickness), out + min(at.thickness, _PIN_IN * d))
        ask = self.given.ask
        text = f"ream {d:g} {ask.dowel_hole} from {group[0].cut:.1f}; pin {ask.dowel_pin} pressed in"
        if side == "gearbox" and ask.indicated is not None:
            text = f"{text}; last, bolted up and indicated to {ask.indicated:g} TIR"
        way = 1.0 if side == "gearbox" else -1.0
        self.lines.append(
            ScrewLine(
                name=name,
                joint=f"plate on {side}, located",
                screw=bought.pin(d, length, ask.dowel_pin, self.given.steel.density, group[0].cut),
                size="",
                length=length,
                points=here(places_of(group), at.face(side) - way * (length - out)),
                direction=np.array([0.0, 0.0, way]),
                layers=(Layer(at.mark, "fixing", group[0].cut, text),),
            )
        )

    def screws(
        self,
        name: str,
        joint: str,
        thread: Thread,
        length: float,
        spot: "Spot",
        layers: tuple[Layer, ...],
        *,
        washer: bool,
    ) -> None:
        """Add one line of like bolts.

        Args:
            name: of the line.
            joint: what it holds.
            thread: the bolts'.
            length: under the head, mm.
            spot: where they stand and which way they point.
            layers: what they pass through, from the head on.
            washer: whether one lies under each head.
        """
        grade, row = self.given.bolt_class(thread), thread.row
        wide = row.washer.outside if washer else row.cap.head_diameter
        high = row.cap.head_height + (row.washer.thickness if washer else 0.0)
        self.lines.append(
            ScrewLine(
                name=name,
                joint=joint,
                screw=bought.bolt(thread, length, grade, self.given.steel.density, washer),
                size=thread.name,
                length=length,
                points=here(spot.places, spot.z),
                direction=np.array([0.0, 0.0, spot.way]),
                layers=layers,
                head=(wide, high),
                driver=_KEY,
            )
        )

    def cradle(self, at: PlateAt) -> None:
        """Add the holes by which the car carries the motor: the car's own bolts pass them."""
        row = self.given.motor.cradle
        assert row is not None
        thread = self.given.thread(row.bolt)
        wide = thread.row.clearance.medium
        self.lines.append(
            ScrewLine(
                name="cradle",
                joint="plate to the car",
                screw=None,
                size=thread.name,
                length=0.0,
                points=here(np.array(row.holes), at.z),
                direction=np.array([0.0, 0.0, 1.0]),
                layers=(Layer(at.mark, "clearance", wide, f"{thread.name} clearance, the car's own bolts"),),
            )
        )

    def done(self, name: str) -> Assembly:
        """Return the assembly, drilled."""
        return drilled(Assembly(name=name, placed=tuple(self.placed), lines=tuple(self.lines)))


@dataclass(frozen=True, eq=False, slots=True)
class Spot:
    """Where bolts stand: places (n, 2) seen from the motor, z under their heads, and the way they point along z."""

    places: NDArray[np.float64]
    z: float
    way: float


def places_of(holes: Sequence[Bolted]) -> NDArray[np.float64]:
    """Return the places (n, 2) mm of holes, seen from the motor."""
    return np.array([(one.hole.x, one.hole.y) for one in holes], dtype=float).reshape(-1, 2)
