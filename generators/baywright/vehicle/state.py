"""The car in one state, and how what goes in and comes out changes it.

The lever rule: a mass m at x behind the front axle puts m·x/L on the rear axle and the rest on the front axle; what
comes out is a negative mass. Formulas as in any text on vehicle dynamics; by statics, without assumption.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from baywright.vehicle.car import Car, Corners, Item


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """The car in one state: kg and mm, vehicle frame.

    Attributes:
        name: "before", "stripped", "after", or a laden case.
        mass: whole car.
        front: front axle.
        rear: rear axle.
        x: centroid behind the front axle.
        y: centroid right of the middle; None if no corner was weighed or a track is unknown.
        z: centroid above ground; None if the car's height or an item's is not known.
        corners: loads under the wheels; None where y is.
    """

    name: str
    mass: float
    front: float
    rear: float
    x: float
    y: float | None = None
    z: float | None = None
    corners: Corners | None = None

    @property
    def front_share(self) -> float:
        """Share of the mass on the front axle, %."""
        return 100.0 * self.front / self.mass

    @property
    def left_share(self) -> float | None:
        """Share of the mass on the left wheels, %; None if corners are not known."""
        c = self.corners
        return None if c is None else 100.0 * (c.front_left + c.rear_left) / self.mass

    @property
    def cross(self) -> float | None:
        """Cross weight: share on front right and rear left together, %; None if corners are not known."""
        c = self.corners
        return None if c is None else 100.0 * (c.front_right + c.rear_left) / self.mass


def as_weighed(car: Car) -> State:
    """Return the state that stood on the scales."""
    mass = car.front + car.rear
    y = None
    corners = car.corners
    if corners is not None and car.track_front is not None and car.track_rear is not None:
        moment = (corners.front_right - corners.front_left) * car.track_front / 2
        moment += (corners.rear_right - corners.rear_left) * car.track_rear / 2
        y = moment / mass
    return State(
        name=car.when,
        mass=mass,
        front=car.front,
        rear=car.rear,
        x=car.rear / mass * car.wheelbase,
        y=y,
        z=car.height,
        corners=corners if y is not None else None,
    )


def changed(car: Car, state: State, name: str, items: Sequence[Item], sign: int) -> State:
    """Return a state with items put in (`sign` 1) or taken out (-1).

    An item without y counts in the middle; one without z makes the height unknown.

    Raises:
        ValueError: if nothing or less would remain on an axle.
    """
    mass = state.mass + sign * sum(i.mass for i in items)
    rear = state.rear + sign * sum(i.mass * i.x / car.wheelbase for i in items)
    front = mass - rear
    if mass <= 0 or front <= 0 or rear <= 0:
        most = max(items, key=lambda i: i.mass)
        raise ValueError(
            f"{car.name}: {name}, {front:.0f} kg would stand on the front axle and {rear:.0f} kg on the rear axle; "
            f"check masses and places, first of '{most.name}' with {most.mass:.0f} kg at X = {most.x:.0f} mm, and what "
            f"was weighed: {car.front:.0f} kg in front, {car.rear:.0f} kg behind"
        )
    y = z = corners = None
    gained = per_corner(car, [(sign, i) for i in items])
    if state.corners is not None and state.y is not None and gained is not None:
        y = (state.mass * state.y + sign * sum(i.mass * (i.y or 0.0) for i in items)) / mass
        corners = Corners(*(a + b for a, b in zip(state.corners.as_tuple(), gained.as_tuple(), strict=True)))
    heights = [i.z for i in items if i.z is not None]
    if state.z is not None and len(heights) == len(items):
        z = (state.mass * state.z + sign * sum(i.mass * h for i, h in zip(items, heights, strict=True))) / mass
    return State(name=name, mass=mass, front=front, rear=rear, x=rear / mass * car.wheelbase, y=y, z=z, corners=corners)


def per_corner(car: Car, items: Sequence[tuple[int, Item]]) -> Corners | None:
    """Return what signed items add to each wheel, kg; None if a track is unknown.

    The load of an item is shared between the axles by its lever arm, and within each axle between left and right by its
    arm to the tyres' middles. Stiff springs or a stiff body may move some of it across the diagonal; total, axle loads
    and centroid do not depend on that.
    """
    if car.track_front is None or car.track_rear is None:
        return None
    fl = fr = rl = rr = 0.0
    for sign, item in items:
        rear = sign * item.mass * item.x / car.wheelbase
        front = sign * item.mass - rear
        front_right = 0.5 + (item.y or 0.0) / car.track_front
        rear_right = 0.5 + (item.y or 0.0) / car.track_rear
        fl, fr = fl + front * (1 - front_right), fr + front * front_right
        rl, rr = rl + rear * (1 - rear_right), rr + rear * rear_right
    return Corners(fl, fr, rl, rr)
