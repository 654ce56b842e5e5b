"""What an adapter comes to, and how the motor is clocked in it."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from baywright.adapter.bolting import Bolted
from baywright.adapter.bores import Bores
from baywright.adapter.build import MOTOR, PlateAt
from baywright.adapter.clocking import Arc, Clockings, Discs, candidates, clockings
from baywright.adapter.depth import DepthStack
from baywright.adapter.given import Given
from baywright.adapter.runout import RunOut
from baywright.finding import CannotBuild
from baywright.piece.assembly import Assembly
from baywright.piece.plate import Plate
from baywright.shape.mass import MassProperties, combine
from baywright.shape.pattern import Pattern


@dataclass(frozen=True, eq=False, kw_only=True)
class AdapterDesign:
    """A finished adapter. Its frame: origin on the shaft in the motor's face, z to the gearbox, y up.

    Attributes:
        name: its name in the job.
        given: what it is made from.
        assembly: plates, rings, bolts, pins and the motor, drilled.
        plates: its plates and rings, from the motor on: marks, places, the side each is drawn as seen from.
        bores: of the plate that meets the motor, and of that which meets the gearbox (the same one where one will do).
        motor_holes: what the plate has for the motor's holes, the motor turned.
        gearbox_holes: what it has for the gearbox's.
        depth: the depth stack.
        clockings: every clocking that was tried.
        clocking: degrees that the motor is turned clockwise, seen from the motor.
        run_out: the run-out budget.
        why: why one plate would not do; "" where it does.
    """

    name: str
    given: Given
    assembly: Assembly
    plates: tuple[PlateAt, ...]
    bores: tuple[Bores, Bores]
    motor_holes: tuple[Bolted, ...]
    gearbox_holes: tuple[Bolted, ...]
    depth: DepthStack
    clockings: Clockings
    clocking: float
    run_out: RunOut
    why: str = ""

    @cached_property
    def metal(self) -> MassProperties:
        """Mass, centroid and inertia of what is made and its fasteners: everything but the motor."""
        return combine(p for mark, p in self.assembly.ledger() if mark != MOTOR)

    def piece(self, mark: str) -> Plate:
        """Return a plate by its mark."""
        piece = self.assembly.by_mark[mark].piece
        assert isinstance(piece, Plate)
        return piece

    @property
    def motor_face(self) -> Pattern:
        """The motor's face as it stands, seen from the motor."""
        return self.given.motor_face.turned(self.clocking)


def turned_holes(holes: tuple[Bolted, ...], angle: float) -> tuple[Bolted, ...]:
    """Return a face's holes turned clockwise by `angle` degrees."""
    if not holes:
        return holes
    turned = Pattern(name="", holes=tuple(one.hole for one in holes), seen_from="motor").turned(angle)
    return tuple(replace(one, hole=hole) for one, hole in zip(holes, turned.holes, strict=True))


def choose_clocking(given: Given, motor: Discs, gearbox: Discs) -> tuple[Clockings, float]:
    """Return every clocking that was tried and the one to build.

    Raises:
        CannotBuild: if none leaves the web that is asked, or every one puts a feature where it may not be.
    """
    ask = given.ask
    features = [Arc(f.name, *f.clocks) for f in given.motor.features]
    keep_out = [Arc(s.name, *s.clocks) for s in ask.keep_out]
    wanted = [Arc(w.feature, *w.clocks) for w in ask.wanted]
    known = {f.name for f in features}
    for number, w in enumerate(wanted, 1):
        if w.name not in known:
            named = ", ".join(sorted(known)) or "none"
            text = f"motor '{given.motor.name}' has no feature '{w.name}' (wanted {number}); it has: {named}"
            raise CannotBuild("wanted", text)
    if ask.clocking == "best":
        angles = candidates(features, wanted, given.motor_face.symmetry())
    else:
        angles = np.array([ask.clocking % 360.0])
    tried = clockings(motor, gearbox, angles, features, keep_out, wanted)
    ranked = tried.ranked(ask.least_web)
    if len(ranked):
        return tried, float(angles[ranked[0]])
    key = "clocking" if ask.clocking != "best" else "least_web"
    if not tried.legal.any():
        reasons = sorted(set(tried.blocked) - {""})
        place = f"at {angles[0]:g} deg" if len(angles) == 1 else "at every clocking"
        raise CannotBuild("clocking" if ask.clocking != "best" else "keep_out", f"{place} {'; or '.join(reasons[:3])}")
    best = int(np.argmax(np.where(tried.legal, tried.web, -np.inf)))
    one, other = (int(k) for k in tried.pair[best])
    raise CannotBuild(
        key,
        f"hole {motor.names[one]} of the motor and hole {gearbox.names[other]} of the gearbox leave "
        f"{tried.web[best]:.1f} mm of metal at {angles[best]:g} deg"
        + ("" if len(angles) == 1 else ", the best clocking")
        + f": {ask.least_web:g} mm are asked",
    )
