"""Bores and recesses: the opening for the coupler, and where the spigots of motor and gearbox sit."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from baywright.adapter.bolting import BORE_OFF, Bolted
from baywright.adapter.fit import CUT_HOLDS, Limits, Play, class_limits, pilot_limits, play
from baywright.adapter.given import Given
from baywright.finding import CannotBuild
from baywright.shape.pattern import Pilot, Side

# A recess is this much deeper than the spigot is high, mm: common practice, no source.
_DEEPER = 0.5
# How far a locating ring sits in the plate, its least wall, the metal under a recess, mm: common practice, no source.
_SEAT, _WALL, UNDER = 5.0, 4.0, 3.0
# Room round coupler and shaft, mm on the diameter: common practice, no source.
_ROOM = 6.0
# Diameters nearer than this are one bore, not a step, mm.
_ONE = 0.5
# Least metal between a flange's own holes and its own pilot, mm: its standard has drawn them so (cut shops' guides: 2).
OWN_WEB = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bore:
    """A round opening about the shaft.

    Attributes:
        what: in the trade's words.
        diameter: finished, mm.
        side: the side that a recess is sunk from; None right through.
        depth: of a recess, mm; 0 right through.
        limits: its finished limits where something must fit, else None.
        fit: how its limits are called.
        of: whose spigot sits in it; None for the opening itself.
        play: between it and the spigot, or None.
    """

    what: str
    diameter: float
    side: Side | None = None
    depth: float = 0.0
    limits: Limits | None = None
    fit: str = ""
    of: Side | None = None
    play: Play | None = None

    @property
    def machined(self) -> bool:
        """Whether a cutter cannot finish it: a blind recess, or a fit finer than a cut holds."""
        return self.side is not None or (self.limits is not None and self.limits.width < CUT_HOLDS)

    @property
    def cut(self) -> float:
        """Diameter as it is cut, mm: a fine through bore is cut under size and bored."""
        return self.diameter - BORE_OFF if self.machined and self.side is None else self.diameter

    @property
    def callout(self) -> str:
        """What the shop must know."""
        if self.limits is None:
            return self.what
        sizes = f"{self.limits.least:.3f} to {self.limits.most:.3f}"
        named = f"{self.diameter:g} {self.fit}".strip()
        how = f"recess {named} ({sizes})" if self.side else f"bore {named} ({sizes}), cut {self.cut:.1f}"
        return f"{how}: {self.what}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """A locating ring, half in the plate and half in the other part's recess, mm."""

    of: Side
    outer: Limits
    nominal: float
    inner: float
    width: float
    seat: float
    fit: str


@dataclass(frozen=True, eq=False, kw_only=True)
class Bores:
    """Every opening about the shaft of one plate, and the locating rings that sit in it."""

    bores: tuple[Bore, ...]
    rings: tuple[Ring, ...]

    @property
    def through(self) -> Bore:
        """The opening right through."""
        return next(b for b in self.bores if b.side is None)

    @property
    def sides(self) -> set[Side]:
        """The sides that recesses are sunk from."""
        return {b.side for b in self.bores if b.side is not None}

    def depth_from(self, side: Side) -> float:
        """Return the depth of the deepest recess of a side, mm."""
        return max((b.depth for b in self.bores if b.side == side), default=0.0)


def opening(given: Given) -> float:
    """Return the least bore that coupler and shaft need, mm."""
    coupler = given.ask.coupler
    return max(given.motor.shaft.diameter, coupler.diameter if coupler else 0.0) + _ROOM


def plan_bores(given: Given, pilots: Sequence[tuple[Side, Pilot | None]], holes: Sequence[Bolted]) -> Bores:
    """Return the bores of a plate.

    The narrowest spigot that leaves room for the coupler sits in the through bore, unless bolts stand in its way (a
    rabbet outside its bolts); wider ones get a recess from their own side. A part with a recess gets a locating ring.

    Args:
        given: the rows.
        pilots: the centring steps of the faces that the plate meets.
        holes: every hole of the plate, as far as its distance from the shaft.

    Raises:
        CannotBuild: if the coupler needs more room than a spigot leaves, or a bore asked for cuts into holes.
    """
    ask, need = given.ask, opening(given)
    males = [(side, p) for side, p in pilots if p is not None and p.male]
    free = 2 * min((one.hole.radius - one.reach - ask.least_web for one in holes), default=float("inf"))
    own = {
        side: 2
        * min((h.hole.radius - h.reach - (OWN_WEB if h.face == side else ask.least_web) for h in holes), default=0)
        for side, _ in pilots
    }
    if ask.bore is not None:
        if ask.bore < need - 1e-9:
            raise CannotBuild("bore", f"a bore of {ask.bore:g} mm is too narrow: coupler and shaft need {need:g} mm")
        if ask.bore > free:
            raise CannotBuild("bore", f"a bore of {ask.bore:g} mm cuts into the bolt holes: at most {free:.1f} mm")
        wide = ask.bore
    else:
        fitting = [p.diameter for side, p in males if need - 1e-9 <= p.diameter <= own[side] + 1e-3]
        wide = min(fitting, default=need)
    if wide > max(free, *(own[side] for side, p in males if abs(p.diameter - wide) < 1e-9), 0.0) + 1e-3:
        raise CannotBuild(
            _who(given),
            f"the opening for coupler and shaft, {wide:g} mm, cuts into the bolt holes: at most {free:.1f} mm",
        )
    found: list[Bore] = []
    rings: list[Ring] = []
    for side, pilot in pilots:
        if pilot is None:
            continue
        if not pilot.male:
            rings.append(_ring(given, side, pilot, wide))
            found.append(_ring_seat(given, rings[-1]))
            continue
        if pilot.diameter < wide - _ONE:
            raise CannotBuild(
                "bore" if ask.bore is not None else _who(given),
                f"the {side}'s spigot is {pilot.diameter:g} mm and the bore {wide:g} mm: nothing would centre it",
            )
        found.append(_recess(given, side, pilot, through=abs(pilot.diameter - wide) <= _ONE))
    if not any(b.side is None for b in found):
        found.append(Bore(what="opening for coupler and shaft", diameter=wide))
    return Bores(bores=tuple(found), rings=tuple(rings))


def radial_problem(holes: Sequence[Bolted], bores: Bores, thickness: float, least_web: float) -> str | None:
    """Return why a hole and a bore of one plate exclude each other, or None if none do."""
    for bore in bores.bores:
        for one in holes:
            r, reach, edge = one.hole.radius, one.reach, bore.diameter / 2
            name = f"hole {one.hole.name} of the {one.face}"
            if r - reach >= edge + (OWN_WEB if bore.of == one.face else least_web) - 1e-3:
                continue
            if bore.side is None:
                return f"{name} leaves {r - reach - edge:.1f} mm to the bore of {bore.diameter:g} mm"
            if r + reach > edge - _ONE:
                return f"{name} breaks into the edge of the {bore.diameter:g} mm recess for the {bore.of}'s spigot"
        if bore.side is not None and bore.depth + UNDER > thickness + 1e-9:
            return f"a recess {bore.depth:g} mm deep leaves less than {UNDER:g} mm of a {thickness:g} mm plate"
    if len(bores.sides) == 2 and sum(bores.depth_from(s) for s in ("motor", "gearbox")) + UNDER > thickness:
        return "the recesses from both sides meet"
    return None


def in_recesses(holes: Sequence[Bolted], bores: Bores) -> tuple[Bolted, ...]:
    """Return the holes with the recesses that they stand in."""
    found = []
    for one in holes:
        near = far = 0.0
        for bore in bores.bores:
            if bore.side is not None and one.hole.radius + one.reach < bore.diameter / 2:
                if bore.side == one.face:
                    near = max(near, bore.depth)
                else:
                    far = max(far, bore.depth)
        found.append(replace(one, near=near, far=far))
    return tuple(found)


def height_of(given: Given, pilot: Pilot) -> float:
    """Return a spigot's height or a recess's depth in mm: as known, else as asked."""
    return pilot.height or given.ask.pilot_height


def seat_limits(given: Given, side: Side, pilot: Pilot) -> tuple[Limits, str]:
    """Return the limits of the recess for a spigot, and their name.

    A plate that takes a bell made for a published housing has that housing's own recess.
    """
    row = given.motor if side == "motor" else given.gearbox
    if row.counterpart:
        from baywright.adapter.file import pattern_of

        housing = pattern_of(given.catalogue, row.pattern).pilot
        if housing is not None and not housing.male and abs(housing.diameter - pilot.diameter) < _ONE:
            return pilot_limits(given.catalogue, housing), housing.fit
    return class_limits(given.catalogue, given.ask.pilot_fit, pilot.diameter), given.ask.pilot_fit


def _recess(given: Given, side: Side, pilot: Pilot, through: bool) -> Bore:
    limits, fit = seat_limits(given, side, pilot)
    return Bore(
        what=f"{side}'s spigot",
        diameter=pilot.diameter,
        side=None if through else side,
        depth=0.0 if through else height_of(given, pilot) + _DEEPER,
        limits=limits,
        fit=fit,
        of=side,
        play=play(limits, pilot_limits(given.catalogue, pilot)),
    )


def _who(given: Given) -> str:
    """Return the key of what asks for the opening: the coupler, or the motor's own shaft."""
    return "motor" if given.ask.coupler is None else "coupler"


def _ring(given: Given, side: Side, pilot: Pilot, wide: float) -> Ring:
    """Return the locating ring for a part with a recess."""
    if pilot.diameter < wide + 2 * _WALL:
        raise CannotBuild(
            _who(given),
            f"the {side}'s recess is {pilot.diameter:g} mm and the bore {wide:g} mm: no room for a locating ring",
        )
    height = height_of(given, pilot) - _DEEPER
    return Ring(
        of=side,
        outer=class_limits(given.catalogue, "g6", pilot.diameter),
        nominal=pilot.diameter,
        inner=max(wide, pilot.diameter - 24.0),
        width=_SEAT + max(height, 1.0),
        seat=_SEAT,
        fit="g6",
    )


def _ring_seat(given: Given, ring: Ring) -> Bore:
    limits = class_limits(given.catalogue, given.ask.pilot_fit, ring.nominal)
    return Bore(
        what=f"locating ring for the {ring.of}'s recess",
        diameter=ring.nominal,
        side=ring.of,
        depth=ring.seat,
        limits=limits,
        fit=given.ask.pilot_fit,
        of=ring.of,
        play=play(limits, ring.outer),
    )
