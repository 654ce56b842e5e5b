"""The job's own models: the car, its bays, and the boxes asked for."""

from pydantic import Field, field_validator, model_validator

from baywright.job.parts import Orientation, Point
from baywright.job.row import Row
from baywright.job.shop import Carry
from baywright.job.units import (
    Angle,
    Length,
    Measured,
    MeasuredLength,
    NonNegativeLength,
    PositiveLength,
    PositiveMass,
)

_SLUG = r"^[a-z0-9][a-z0-9-]{0,40}$"


class JobHead(Row):
    """What the job is called: a short name for folders and part numbers, a title, its revision."""

    name: str = Field(pattern=_SLUG, description="a short name of small letters, digits and hyphens")
    title: str = ""
    revision: str = Field(default="A", pattern=r"^[A-Za-z0-9]{1,4}$")
    customer: str = ""
    notes: str = ""


class Units(Row):
    """The units of numbers that carry none."""

    length: str = "mm"
    mass: str = "kg"
    angle: str = "deg"


class Axles(Row):
    """Axle loads as weighed, kg."""

    front: PositiveMass
    rear: PositiveMass


class Corners(Row):
    """Corner loads as weighed, kg."""

    front_left: PositiveMass
    front_right: PositiveMass
    rear_left: PositiveMass
    rear_right: PositiveMass


class Weighed(Row):
    """How the car was weighed: axles or corners, one of them; and the height of its centroid where it is known, mm."""

    state: str = "as it came, fluids in, no driver"
    axles: Axles | None = None
    corners: Corners | None = None
    centroid_height: MeasuredLength | None = None

    @model_validator(mode="after")
    def _one(self) -> "Weighed":
        if (self.axles is None) == (self.corners is None):
            raise ValueError(
                "give either axles {front, rear} or corners {front_left, front_right, rear_left, rear_right}"
            )
        return self


class Ratings(Row):
    """What the car may weigh: each axle and the whole, kg, from its plate."""

    front_axle: PositiveMass
    rear_axle: PositiveMass
    gross: PositiveMass


class Item(Row):
    """Something taken out of the car or put in: a mass (kg) at a place (mm, vehicle frame)."""

    name: str
    mass: PositiveMass
    at: Point


class Car(Row):
    """The car. Vehicle frame (ISO 4130): X rearward from the front axle, Y to the right, Z up from the ground; mm, kg."""

    name: str
    wheelbase: PositiveLength
    track_front: PositiveLength
    track_rear: PositiveLength
    weighed: Weighed
    ratings: Ratings
    removed: list[Item] = []
    added: list[Item] = []


def _above(low: Measured, high: Measured, what: str) -> None:
    if high.value <= low.value:
        raise ValueError(f"{what}: high ({high.value:g} mm) must be more than low ({low.value:g} mm)")


class BlockSpace(Row):
    """A rectangular part of a bay between two opposite corners (vehicle frame, mm, with the tape's tolerance)."""

    low: tuple[MeasuredLength, MeasuredLength, MeasuredLength]
    high: tuple[MeasuredLength, MeasuredLength, MeasuredLength]

    @model_validator(mode="after")
    def _ordered(self) -> "BlockSpace":
        for name, low, high in zip("xyz", self.low, self.high, strict=True):
            _above(low, high, name)
        return self


class Prism(Row):
    """An upright part of a bay over a plan outline, between two heights (vehicle frame, mm)."""

    plan: list[tuple[MeasuredLength, MeasuredLength]] = Field(min_length=3)
    low: MeasuredLength
    high: MeasuredLength

    @model_validator(mode="after")
    def _ordered(self) -> "Prism":
        _above(self.low, self.high, "z")
        return self


class KeepOut(BlockSpace):
    """Something in a bay that stays: steering column, hose, strut."""

    name: str


class Opening(Row):
    """The opening that a box goes down through: a rectangle or a plan outline (vehicle frame, mm)."""

    low: tuple[MeasuredLength, MeasuredLength] | None = None
    high: tuple[MeasuredLength, MeasuredLength] | None = None
    plan: list[tuple[MeasuredLength, MeasuredLength]] | None = Field(default=None, min_length=3)

    @model_validator(mode="after")
    def _one(self) -> "Opening":
        rectangle = self.low is not None and self.high is not None
        if rectangle == (self.plan is not None) or (self.low is None) != (self.high is None):
            raise ValueError("give either low and high [x, y], or a plan of at least three corners")
        if self.low is not None and self.high is not None:
            for name, low, high in zip("xy", self.low, self.high, strict=True):
                _above(low, high, name)
        return self


class Bay(Row):
    """A bay measured by tape: blocks and prisms joined, less the keep-outs; and the least clearance asked, mm.

    The default clearance, 10 mm, is a finger's width: common practice, no source.
    """

    description: str = ""
    blocks: list[BlockSpace] = []
    prisms: list[Prism] = []
    keep_outs: list[KeepOut] = []
    opening: Opening | None = None
    clearance: NonNegativeLength = 10.0

    @model_validator(mode="after")
    def _some(self) -> "Bay":
        if not self.blocks and not self.prisms:
            raise ValueError("a bay needs at least one block or prism")
        return self


class FittingAsk(Row):
    """A fitting asked for, and its place on the service wall (y from the middle, z from the underside, mm) if it matters."""

    fitting: str
    at: tuple[Length, Length] | None = None


class BoxAsk(Row):
    """A box asked for.

    Attributes:
        style: the shop's box style.
        module: the module.
        count: modules in all.
        columns: stacks side by side.
        rows: stacks end to end.
        orientation: how modules lie.
        carry: how layers are carried, if not as the style says.
        service_depth: depth of the service space, mm, if not as cables and fittings need.
        fittings: what the service end carries.
        bay: the bay it goes in, if any.
        at: the middle of the floor's underside in the vehicle frame, mm.
        yaw: turn about Z: at 0 the service end faces rearward, at 90 to the right; degrees.
        coolant: whether the modules are filled.
        lift: whether it has lift lugs.
        feet: whether it has feet.
    """

    style: str = "workshop"
    module: str
    count: int = Field(ge=1, le=60)
    columns: int = Field(default=1, ge=1, le=3)
    rows: int = Field(default=1, ge=1, le=3)
    orientation: Orientation = "flat"
    carry: Carry | None = None
    service_depth: PositiveLength | None = None
    fittings: list[FittingAsk] = Field(default=[], max_length=40)
    bay: str | None = None
    at: Point = (0.0, 0.0, 0.0)
    yaw: Angle = 0.0
    coolant: bool = True
    lift: bool = True
    feet: bool = True

    @field_validator("fittings", mode="before")
    @classmethod
    def _short(cls, value: object) -> object:
        """Let a fitting be named by its name alone."""
        if isinstance(value, list):
            return [{"fitting": one} if isinstance(one, str) else one for one in value]
        return value


class JobFile(Row):
    """A whole job file."""

    job: JobHead
    units: Units = Units()
    car: Car
    bays: dict[str, Bay] = {}
    boxes: dict[str, BoxAsk] = {}
    cutter: str = "laser-general"

    @field_validator("bays", "boxes")
    @classmethod
    def _names(cls, value: dict[str, object]) -> dict[str, object]:
        import re

        for name in value:
            if not re.match(_SLUG, name):
                raise ValueError(f"'{name}' names files: use small letters, digits and hyphens")
        return value
