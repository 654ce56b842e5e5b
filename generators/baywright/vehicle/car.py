"""The car as weighed: axle and corner loads, ratings, what comes out and what goes in. Plain data, mm and kg.

Vehicle frame: X rearward from the front axle's centre, Y to the right, Z up from the ground.
"""

from dataclasses import dataclass

import numpy as np

from baywright.shape.mass import MassProperties


@dataclass(frozen=True, slots=True, kw_only=True)
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
        mass_slack: how far the mass may be off, kg.
        place_slack: how far each coordinate may be off, mm.
        body: mass properties in the vehicle's frame where they are known; None counts it as a point.
    """

    name: str
    mass: float
    x: float
    y: float | None = None
    z: float | None = None
    mass_slack: float = 0.0
    place_slack: float = 0.0
    body: MassProperties | None = None


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
class Car:
    """A car before its conversion.

    Attributes:
        name: what the shop calls it.
        wheelbase: mm.
        front: load under the front axle, kg.
        rear: load under the rear axle, kg.
        front_slack: how far the front reading may be off, kg.
        rear_slack: how far the rear reading may be off, kg.
        corners: loads under the wheels, where scales stood under all four.
        track_front: between the middles of the front tyres, mm; None if not measured.
        track_rear: between the middles of the rear tyres, mm; None if not measured.
        height: centroid above ground as weighed, mm; None if not known.
        height_slack: how far the height may be off, mm.
        ratings: most axle loads and gross mass.
        removed: what comes out.
        added: what goes in, the boxes apart.
        state: what stood on the scales: "fuel full, driver out, tyres at 2.2 bar".
    """

    name: str
    wheelbase: float
    front: float
    rear: float
    front_slack: float = 0.0
    rear_slack: float = 0.0
    corners: Corners | None = None
    track_front: float | None = None
    track_rear: float | None = None
    height: float | None = None
    height_slack: float = 0.0
    ratings: Ratings = Ratings()
    removed: tuple[Item, ...] = ()
    added: tuple[Item, ...] = ()
    state: str = ""


def carried(name: str, body: MassProperties) -> Item:
    """Return a body in the vehicle's frame (a box in its place) as an item that goes in."""
    x, y, z = body.centroid.tolist()
    return Item(name=name, mass=body.mass, x=x, y=y, z=z, body=body)


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
