"""The car as weighed: axle and corner loads, ratings, what comes out and what goes in. Plain data, mm and kg.

Vehicle frame: X rearward from the front axle's centre, Y to the right, Z up from the ground. Errors are standard
uncertainties (one sigma); a tolerance ± a that a person gave counts as a / √3, a reading that may lie anywhere within
it with equal chance (JCGM 100:2008 "GUM", 4.3.7, from memory).
"""

from dataclasses import dataclass, field
from math import sqrt
from typing import Literal

import numpy as np

from baywright.finding import Finding
from baywright.shape.mass import MassProperties

# What a mass or a place may be off by where nobody said: common practice, no source. Share of the mass; mm.
MASS_ERROR = 0.03
PLACE_ERROR = 20.0
# A generated box: its metal is reckoned to 0.1 %, its wiring and its modules' scatter are not; it is set down by tape.
BOX_MASS_ERROR = 0.02
BOX_PLACE_ERROR = 5.0


def sigma(tolerance: float) -> float:
    """Return the standard uncertainty of a tolerance ±`tolerance`, in the same unit."""
    return tolerance / sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Corners:
    """Loads under the four wheels, kg."""

    front_left: float
    front_right: float
    rear_left: float
    rear_right: float

    def as_tuple(self) -> tuple[float, float, float, float]:
        """Return front left, front right, rear left, rear right, kg."""
        return self.front_left, self.front_right, self.rear_left, self.rear_right


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A thing that comes out of the car or goes into it.

    Attributes:
        name: what it is.
        mass: kg, positive either way.
        x: centroid behind the front axle, mm.
        y: centroid right of the middle, mm; None if nobody measured it.
        z: centroid above ground, mm; None if nobody measured it.
        mass_error: standard uncertainty, kg; None if nobody said: `MASS_ERROR`.
        place_error: standard uncertainty of each coordinate, mm; None if nobody said: `PLACE_ERROR`.
        body: mass properties in the vehicle's frame where they are known; None counts it as a point.
    """

    name: str
    mass: float
    x: float
    y: float | None = None
    z: float | None = None
    mass_error: float | None = None
    place_error: float | None = None
    body: MassProperties | None = None

    def errors(self) -> tuple[float, float]:
        """Return the standard uncertainties of mass (kg) and place (mm)."""
        mass = self.mass * MASS_ERROR if self.mass_error is None else self.mass_error
        return mass, PLACE_ERROR if self.place_error is None else self.place_error


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratings:
    """The most that each axle and the whole car may weigh, kg; None where the plate does not say.

    Attributes:
        front: front axle.
        rear: rear axle.
        gross: whole car, laden.
        kerb: whole car as its papers have it, unladen.
        source: where they are from.
    """

    front: float | None = None
    rear: float | None = None
    gross: float | None = None
    kerb: float | None = None
    source: str = "the car's plate"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tyres:
    """Load index of the tyres on each axle."""

    front: int
    rear: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LadenCase:
    """People and luggage that the finished car carries: "driver", "four up with luggage"."""

    name: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A later weighing: the state that stood on the scales ("stripped" or "after"), axle loads and wheels, kg."""

    when: Literal["stripped", "after"]
    front: float
    rear: float
    front_error: float
    rear_error: float
    corners: Corners | None = None
    state: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Car:
    """A car as weighed, what comes out of it and what goes in.

    Attributes:
        name: what the shop calls it.
        wheelbase: mm.
        when: whether it was weighed before anything came out, or stripped.
        front: load under the front axle, kg.
        rear: load under the rear axle, kg.
        front_error: standard uncertainty, kg.
        rear_error: standard uncertainty, kg.
        corners: loads under the wheels, where scales stood under all four.
        corner_error: standard uncertainty of each corner, kg.
        track_front: between the middles of the front tyres, mm; None if not measured.
        track_rear: between the middles of the rear tyres, mm; None if not measured.
        height: centroid above ground as weighed, mm; None if not known.
        height_error: standard uncertainty, mm.
        ratings: most axle loads and gross mass.
        tyres: load indices, if known.
        removed: what comes out.
        added: what goes in, the boxes apart.
        laden: how it will be used.
        state: what stood on the scales: "fuel full, driver out, tyres at 2.2 bar".
        again: later weighings, to hold what was reckoned against.
        findings: what the readings themselves showed: scatter of the scales, the height's uncertainty.
    """

    name: str
    wheelbase: float
    front: float
    rear: float
    when: Literal["before", "stripped"] = "before"
    front_error: float = 0.0
    rear_error: float = 0.0
    corners: Corners | None = None
    corner_error: float = 0.0
    track_front: float | None = None
    track_rear: float | None = None
    height: float | None = None
    height_error: float = 0.0
    ratings: Ratings = field(default_factory=Ratings)
    tyres: Tyres | None = None
    removed: tuple[Item, ...] = ()
    added: tuple[Item, ...] = ()
    laden: tuple[LadenCase, ...] = ()
    state: str = ""
    again: tuple[Reading, ...] = ()
    findings: tuple[Finding, ...] = ()


def carried(name: str, body: MassProperties) -> Item:
    """Return a body in the vehicle's frame (a box in its place) as an item that goes in."""
    x, y, z = body.centroid.tolist()
    return Item(
        name=name,
        mass=body.mass,
        x=x,
        y=y,
        z=z,
        mass_error=BOX_MASS_ERROR * body.mass,
        place_error=BOX_PLACE_ERROR,
        body=body,
    )


def inertia_about(item: Item, point: tuple[float, float, float]) -> tuple[float, float, float]:
    """Return an item's roll, pitch and yaw inertia about axes through `point` mm, kg·mm²; unknown y counts as 0.

    Its own inertia counts only where `body` is known; an unknown height counts as the point's own.
    """
    y = 0.0 if item.y is None else item.y
    z = point[2] if item.z is None else item.z
    dx, dy, dz = item.x - point[0], y - point[1], z - point[2]
    own = np.zeros(3) if item.body is None else np.diag(item.body.inertia)
    roll, pitch, yaw = (own + item.mass * np.array([dy * dy + dz * dz, dx * dx + dz * dz, dx * dx + dy * dy])).tolist()
    return roll, pitch, yaw
