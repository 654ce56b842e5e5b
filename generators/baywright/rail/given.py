"""What a job says of the motor and its cradle, filled up from the catalogue: nothing is left open."""

from dataclasses import dataclass

from baywright.finding import CannotBuild
from baywright.job.adapters import CradleRow, MotorRow
from baywright.job.catalogue import Catalogue
from baywright.job.messages import BadInput
from baywright.job.rails import Feet, LugPlate, MotorAsk, RailsAsk

_BOLT = "M10"


@dataclass(frozen=True, slots=True, kw_only=True)
class Motor:
    """The motor or motors; fields as in `MotorAsk`, mm, kg, N·m."""

    name: str
    length: float
    diameter: float
    mass: float
    centre: tuple[float, float, float]
    torque: float
    stand_off: float
    count: int
    pitch: float

    @property
    def fronts(self) -> tuple[float, ...]:
        """Where each motor's front end is, mm from the gearbox's face."""
        return tuple(self.stand_off + i * self.pitch for i in range(self.count))


@dataclass(frozen=True, slots=True, kw_only=True)
class LugSet:
    """Lugs: outer edge, holes (out, up) of one side, whether tapped, and the plates; mm."""

    edge: float
    holes: tuple[tuple[float, float], ...]
    tapped: bool
    plates: tuple[LugPlate, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """A request with its motor and cradle known."""

    ask: RailsAsk
    motor: Motor
    bolt: str
    lugs: LugSet | None
    feet: Feet | None


def given(ask: RailsAsk, catalogue: Catalogue) -> Given:
    """Return the request with the motor's and the cradle's figures taken from the catalogue where it leaves them open.

    Raises:
        CannotBuild: if the motor is unknown, has no cradle where one is needed, or two do not fit behind each other.
    """
    row = _row(ask.motor.part, catalogue)
    motor = _motor(ask.motor, row)
    cradle, pattern = ask.cradle, row.cradle if row is not None else None
    bolt = cradle.bolt or (pattern.bolt if pattern is not None and cradle.lugs is not None else _BOLT)
    lugs = None
    if cradle.lugs is not None:
        edge, holes = cradle.lugs.edge, cradle.lugs.holes
        if edge is None or holes is None:
            if pattern is None:
                raise CannotBuild(
                    "cradle.lugs",
                    "give edge and holes, or name a motor of the catalogue (motor.part) that has a cradle",
                )
            own = _mirrored(pattern, ask.motor.part or "")
            hole = catalogue.screw(pattern.bolt).clearance.medium
            edge = edge if edge is not None else max(x for x, _ in own) + hole / 2 + pattern.wall
            holes = holes if holes is not None else own
        lugs = LugSet(edge=edge, holes=tuple(holes), tapped=cradle.lugs.tapped, plates=tuple(cradle.lugs.plates))
    told = ask.model_copy(update={"motor": ask.motor.model_copy(update={"name": motor.name})})
    return Given(ask=told, motor=motor, bolt=bolt, lugs=lugs, feet=cradle.feet)


def _row(part: str | None, catalogue: Catalogue) -> MotorRow | None:
    if part is None:
        return None
    try:
        row = catalogue.row("motor", part)
    except BadInput as no:
        raise CannotBuild("motor.part", no.problems[0].message) from None
    assert isinstance(row, MotorRow)
    return row


def _motor(ask: MotorAsk, row: MotorRow | None) -> Motor:
    def of(key: str) -> float:
        """Return a figure from the request, else from the row; the model has made sure that one of them has it."""
        value = getattr(ask, key)
        found: float = value if value is not None else getattr(row, key)
        return found

    length = of("length")
    middle = row.centre if row is not None and row.centre is not None else length / 2
    pitch = ask.pitch or 0.0
    if ask.count > 1 and pitch < length:
        raise CannotBuild("motor.pitch", f"is {pitch:g} mm, less than the motor's own length of {length:g} mm")
    assert ask.stand_off is not None  # the model, or the adapter, has made sure
    return Motor(
        name=ask.name or (row.description or row.name if row is not None else "motor"),
        length=length,
        diameter=of("diameter"),
        mass=of("mass"),
        centre=ask.centre if ask.centre is not None else (middle, 0.0, 0.0),
        torque=of("torque"),
        stand_off=ask.stand_off,
        count=ask.count,
        pitch=pitch,
    )


def _mirrored(cradle: CradleRow, part: str) -> list[tuple[float, float]]:
    """Return the holes of one side of a motor's cradle, (out, up) mm; both sides must be mirror images."""
    right = sorted((x, y) for x, y in cradle.holes if x > 0)
    left = sorted((-x, y) for x, y in cradle.holes if x < 0)
    if len(right) < 2 or len(right) + len(left) != len(cradle.holes) or right != left:
        raise CannotBuild(
            "cradle.lugs",
            f"the cradle of motor '{part}' is not alike left and right, two holes or more a side: give edge and holes",
        )
    return right
