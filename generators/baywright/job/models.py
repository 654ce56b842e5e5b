"""The job's own models: the car, the boxes asked for, and the job file as a whole."""

import re
from typing import Literal

from pydantic import Field, field_validator, model_validator

from baywright.job.adapters import AdapterAsk
from baywright.job.bays import Bay
from baywright.job.drive import Drive, PackAsk, Road
from baywright.job.loads import LoadCase
from baywright.job.parts import Orientation, Point
from baywright.job.rails import RailsAsk
from baywright.job.row import Row, Whole, YesNo
from baywright.job.style import Carry
from baywright.job.units import (
    Angle,
    Length,
    MeasuredLength,
    MeasuredMass,
    NonNegativeMass,
    PositiveLength,
    PositiveMass,
)
from baywright.job.weighing import Item, Laden, Papers, RaisedAxle, Tyres
from baywright.job.workshop import Workshop

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
    """Axle loads as weighed, kg.

    Attributes:
        front: what the scales read under the front axle.
        rear: what the scales read under the rear axle.
    """

    front: PositiveMass
    rear: PositiveMass


class Corners(Row):
    """Corner loads as weighed, kg."""

    front_left: PositiveMass
    front_right: PositiveMass
    rear_left: PositiveMass
    rear_right: PositiveMass


class Scales(Row):
    """A weighing.

    Attributes:
        state: what stood on the scales.
        axles: axle loads, once or several times (bounce the car between), or
        corners: corner loads, once or several times.
        total: the whole car on one weighbridge, kg, if that was done too: it must agree.
        scale_tolerance: how far each pad may be off, ± kg; an axle counts as two pads.
    """

    state: str = "as it came, fluids in, no driver"
    axles: list[Axles] = Field(default=[], max_length=20)
    corners: list[Corners] = Field(default=[], max_length=20)
    total: MeasuredMass | None = None
    scale_tolerance: NonNegativeMass = 1.0

    @field_validator("axles", "corners", mode="before")
    @classmethod
    def _once(cls, value: object) -> object:
        """Let a single weighing stand without a list."""
        return [value] if isinstance(value, dict) else value

    @model_validator(mode="after")
    def _one(self) -> "Scales":
        if bool(self.axles) == bool(self.corners):
            raise ValueError(
                "give either axles {front, rear} or corners {front_left, front_right, rear_left, rear_right}"
            )
        return self

    @model_validator(mode="after")
    def _adds_up(self) -> "Scales":
        """Refuse a weighbridge that says something else than the axles or wheels together."""
        if self.total is not None:
            pads = [sum(c.__dict__.values()) for c in (self.corners or self.axles)]
            mean = sum(pads) / len(pads)
            allowed = 4 * self.scale_tolerance + max(self.total.tolerance, self.scale_tolerance)
            if abs(mean - self.total.value) > allowed:
                what = "corners" if self.corners else "axles"
                raise ValueError(
                    f"the {what} add up to {mean:.1f} kg, total says {self.total.value:.1f} kg: "
                    f"{abs(mean - self.total.value):.1f} kg apart, the scales allow {allowed:.1f} kg; weigh again"
                )
        return self


class Weighed(Scales):
    """How the car was weighed, and its centroid's height if that is known.

    Attributes:
        when: "before" anything came out, or "stripped": then what came out is added to tell what was before.
        centroid_height: above ground, mm, where it is known; or
        raised_axle: the weighing with one axle raised that tells it.
    """

    when: Literal["before", "stripped"] = "before"
    centroid_height: MeasuredLength | None = None
    raised_axle: RaisedAxle | None = None

    @model_validator(mode="after")
    def _one_height(self) -> "Weighed":
        if self.centroid_height is not None and self.raised_axle is not None:
            raise ValueError("give centroid_height or raised_axle, not both")
        return self


class WeighedAgain(Scales):
    """A later weighing, held against what was reckoned: the car "stripped" or finished ("after")."""

    when: Literal["stripped", "after"]


class Ratings(Row):
    """What the car may weigh, kg, from its plate.

    Attributes:
        front_axle: the most that may stand on the front axle.
        rear_axle: the most that may stand on the rear axle.
        gross: the most that the whole car may weigh.
    """

    front_axle: PositiveMass
    rear_axle: PositiveMass
    gross: PositiveMass


class Car(Row):
    """The car. Vehicle frame (ISO 4130): X rearward from the front axle, Y to the right, Z up from the ground.

    Attributes:
        name: what the car is called in reports, in quotes.
        wheelbase: between the axles, mm.
        track_front, track_rear: between the middles of the tyres, mm.
        weighed: the car on the scales before anything came out: a table [car.weighed] with axles or corners.
        weighed_again: later weighings.
        ratings: what it may weigh: { front_axle, rear_axle, gross } from its plate.
        removed, added: what comes out and what goes in, boxes, adapters and rails of the job apart.
        tyres: their load indices.
        laden: ways in which it will be used.
        papers: what its papers say.
        rules: names of rule profiles that it is held against.
    """

    name: str
    wheelbase: PositiveLength
    track_front: PositiveLength
    track_rear: PositiveLength
    weighed: Weighed
    weighed_again: list[WeighedAgain] = Field(default=[], max_length=10)
    ratings: Ratings
    removed: list[Item] = Field(default=[], max_length=500)
    added: list[Item] = Field(default=[], max_length=500)
    tyres: Tyres | None = None
    laden: list[Laden] = Field(default=[], max_length=20)
    papers: Papers = Papers()
    rules: list[str] = Field(default=[], max_length=10)


class FittingAsk(Row):
    """A fitting asked for; its place on the service wall, if it matters: y from the middle, z from the underside."""

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
    count: Whole = Field(ge=1, le=60)
    columns: Whole = Field(default=1, ge=1, le=3)
    rows: Whole = Field(default=1, ge=1, le=3)
    orientation: Orientation = "flat"
    carry: Carry | None = None
    service_depth: PositiveLength | None = None
    fittings: list[FittingAsk] = Field(default=[], max_length=40)
    bay: str | None = None
    at: Point = (0.0, 0.0, 0.0)
    yaw: Angle = 0.0
    coolant: YesNo = True
    lift: YesNo = True
    feet: YesNo = True

    @field_validator("fittings", mode="before")
    @classmethod
    def _short(cls, value: object) -> object:
        """Let a fitting be named by its name alone."""
        if isinstance(value, list):
            return [{"fitting": one} if isinstance(one, str) else one for one in value]
        return value


class JobFile(Row):
    """A whole job file; `baywright new` writes one to start from.

    Attributes:
        job: a table [job] with its name.
        car: a table [car]; `baywright new my-car.toml` writes one whole, with every line explained.
        bays, boxes, adapters, rails: by their names.
        cutter, loads: names of the catalogue's rows.
    """

    job: JobHead
    units: Units = Units()
    car: Car
    bays: dict[str, Bay] = Field(default={}, max_length=50)
    boxes: dict[str, BoxAsk] = Field(default={}, max_length=300)
    adapters: dict[str, AdapterAsk] = Field(default={}, max_length=50)
    rails: dict[str, RailsAsk] = Field(default={}, max_length=50)
    pack: PackAsk = PackAsk()
    road: Road = Road()
    drive: Drive | None = None
    cutter: str = "laser-general"
    loads: list[str] = Field(default=["workshop"], min_length=1, max_length=8)
    load_cases: dict[str, LoadCase] = Field(default={}, max_length=20)
    workshop: Workshop = Workshop()

    @field_validator("load_cases", mode="before")
    @classmethod
    def _called(cls, value: object) -> object:
        """Let the job's own load cases take their names from their keys."""
        if not isinstance(value, dict):
            return value
        return {key: {"name": key, **row} if isinstance(row, dict) else row for key, row in value.items()}

    @field_validator("bays", "boxes", "adapters", "rails")
    @classmethod
    def _names(cls, value: dict[str, object]) -> dict[str, object]:
        for name in value:
            if not re.match(_SLUG, name):
                raise ValueError(f"'{name}' names files: use small letters, digits and hyphens")
        return value
