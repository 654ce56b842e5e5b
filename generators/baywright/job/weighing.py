"""How the car was weighed in depth: scales, the raised axle, tyres, what it will carry, and the rules it must meet."""

from typing import Literal

from pydantic import Field, model_validator

from baywright.job.row import Row, Whole
from baywright.job.units import (
    MeasuredLength,
    MeasuredMass,
    PositiveMass,
    PositiveMeasuredLength,
    Power,
)


class Item(Row):
    """Something taken out, put in or carried: a mass (kg) at a place (mm, vehicle frame), each ± what is known.

    Without a tolerance a mass counts as good to 3 % and a place to 20 mm (one sigma): common practice, no source.

    Attributes:
        name: what it is.
        mass: as weighed.
        at: where its middle is: [X, Y, Z].
    """

    name: str
    mass: MeasuredMass
    at: tuple[MeasuredLength, MeasuredLength, MeasuredLength]

    @model_validator(mode="after")
    def _heavy(self) -> "Item":
        if self.mass.value <= 0:
            raise ValueError("mass must be more than 0")
        return self


class RaisedAxle(Row):
    """One axle raised and the other weighed, for the height of the centroid.

    Attributes:
        axle: the axle that was raised.
        by: how far its centre went up, mm.
        load: what then stood under the other axle, kg.
        radius: height of the wheels' centres above ground, car level, mm.
        radius_rear: of the rear wheels, if they differ.
    """

    axle: Literal["front", "rear"]
    by: PositiveMeasuredLength
    load: MeasuredMass
    radius: PositiveMeasuredLength
    radius_rear: PositiveMeasuredLength | None = None


class Tyres(Row):
    """Load indices of the tyres, the number before the speed letter on the side wall."""

    front: Whole = Field(ge=50, le=130)
    rear: Whole = Field(ge=50, le=130)


class Laden(Row):
    """A way in which the finished car will be used, and what it then carries."""

    name: str
    items: list[Item] = Field(min_length=1, max_length=500)


class Papers(Row):
    """What the car's papers say, for the rules that go by them.

    Attributes:
        kerb: mass of the original car, unladen, kg.
        power: of the original engine, kW.
    """

    kerb: PositiveMass | None = None
    power: Power | None = None
