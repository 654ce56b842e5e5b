"""How sure the weight and balance is: every reading shaken by its uncertainty, many times over.

Monte Carlo propagation of distributions (JCGM 101:2008, from memory). Readings count as independent and normal. The
same seed gives the same bands.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.shape.mass import MassProperties
from baywright.vehicle.car import Car, Item, carried

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Band:
    """The middle and the 95 % interval of a quantity."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Spread:
    """How sure one state is: kg, mm, %.

    Attributes:
        name: the state.
        mass: whole car.
        front: front axle.
        rear: rear axle.
        front_share: share on the front axle.
        x: centroid behind the front axle.
        y: centroid right of the middle; None if not known.
        z: centroid above ground; None if not known.
        plan: covariance (2, 2) mm² of x and y; None if y is not known.
        side: covariance (2, 2) mm² of x and z; None if z is not known.
    """

    name: str
    mass: Band
    front: Band
    rear: Band
    front_share: Band
    x: Band
    y: Band | None
    z: Band | None
    plan: Array | None
    side: Array | None


@dataclass(frozen=True, eq=False, kw_only=True)
class Scatter:
    """How sure a balance is.

    Attributes:
        before: as weighed.
        stripped: with everything out.
        after: converted.
        laden: the finished car in each of its laden cases.
        share_change: change of the front share, points of %.
        over: chance (0 to 1) that a rating is exceeded by the finished car, its laden cases included: front axle, rear
            axle, whole car.
        count: how many draws.
        seed: of the random numbers.
    """

    before: Spread
    stripped: Spread
    after: Spread
    laden: tuple[Spread, ...]
    share_change: Band
    over: dict[str, float]
    count: int
    seed: int


@dataclass(frozen=True, eq=False)
class _Sums:
    """Mass and its moments, (n,) each: kg, kg·mm."""

    mass: Array
    x: Array
    y: Array
    z: Array


def scatter(car: Car, boxes: Iterable[tuple[str, MassProperties]] = (), count: int = 20_000, seed: int = 0) -> Scatter:
    """Return the 95 % bands of a car's balance with boxes (name, mass properties in the vehicle's frame) in it.

    Raises:
        ValueError: if fewer than 100 draws are asked for.
    """
    if count < 100:
        raise ValueError(f"{count} draws tell no 95 % band: ask for 100 or more")
    dice = np.random.default_rng(seed)
    added = (*car.added, *(carried(name, body) for name, body in boxes))
    sides = car.corners is not None and car.track_front is not None and car.track_rear is not None
    heights = car.height is not None
    weighed = _weighed(car, dice, count)
    # What was not weighed follows from what was.
    other = _with(weighed, car.removed, 1 if car.when == "stripped" else -1, dice)
    before, stripped = (other, weighed) if car.when == "stripped" else (weighed, other)
    after = _with(stripped, added, 1, dice)
    high_other = heights and all(i.z is not None for i in car.removed)
    high_before, high_stripped = (high_other, heights) if car.when == "stripped" else (heights, high_other)
    high_in = high_stripped and all(i.z is not None for i in added)
    share = [100 * (1 - s.x / s.mass / car.wheelbase) for s in (before, after)]
    laden = [_with(after, case.items, 1, dice) for case in car.laden]
    ratings = {"front axle": car.ratings.front, "rear axle": car.ratings.rear, "whole car": car.ratings.gross}
    states = (after, *laden)
    loads = {
        "front axle": np.max([s.mass - s.x / car.wheelbase for s in states], axis=0),
        "rear axle": np.max([s.x / car.wheelbase for s in states], axis=0),
        "whole car": np.max([s.mass for s in states], axis=0),
    }
    return Scatter(
        before=_spread("before", before, car.wheelbase, sides, high_before),
        stripped=_spread("stripped", stripped, car.wheelbase, sides, high_stripped),
        after=_spread("after", after, car.wheelbase, sides, high_in),
        laden=tuple(
            _spread(case.name, sums, car.wheelbase, sides, high_in and all(i.z is not None for i in case.items))
            for case, sums in zip(car.laden, laden, strict=True)
        ),
        share_change=_band(share[1] - share[0]),
        over={name: float((loads[name] > most).mean()) for name, most in ratings.items() if most is not None},
        count=count,
        seed=seed,
    )


def _weighed(car: Car, dice: np.random.Generator, count: int) -> _Sums:
    noise = dice.standard_normal((5, count))
    if car.corners is not None:
        fl, fr, rl, rr = (load + car.corner_error * e for load, e in zip(car.corners.as_tuple(), noise, strict=False))
        front, rear = fl + fr, rl + rr
        y = (fr - fl) * (car.track_front or 0.0) / 2 + (rr - rl) * (car.track_rear or 0.0) / 2
    else:
        front, rear = car.front + car.front_error * noise[0], car.rear + car.rear_error * noise[1]
        y = np.zeros(count)
    mass = front + rear
    return _Sums(mass, rear * car.wheelbase, y, mass * ((car.height or 0.0) + car.height_error * noise[4]))


def _with(sums: _Sums, items: Sequence[Item], sign: int, dice: np.random.Generator) -> _Sums:
    mass, x, y, z = sums.mass, sums.x, sums.y, sums.z
    for item in items:
        noise = dice.standard_normal((4, len(mass)))
        mass_error, place_error = item.errors()
        m = sign * (item.mass + mass_error * noise[0])
        mass = mass + m
        x = x + m * (item.x + place_error * noise[1])
        y = y + m * ((item.y or 0.0) + place_error * noise[2])
        z = z + m * ((item.z or 0.0) + place_error * noise[3])
    return _Sums(mass, x, y, z)


def _spread(name: str, sums: _Sums, wheelbase: float, sides: bool, heights: bool) -> Spread:
    x, y, z = sums.x / sums.mass, sums.y / sums.mass, sums.z / sums.mass
    rear = sums.x / wheelbase
    return Spread(
        name=name,
        mass=_band(sums.mass),
        front=_band(sums.mass - rear),
        rear=_band(rear),
        front_share=_band(100 * (1 - x / wheelbase)),
        x=_band(x),
        y=_band(y) if sides else None,
        z=_band(z) if heights else None,
        plan=np.cov(x, y) if sides else None,
        side=np.cov(x, z) if heights else None,
    )


def _band(values: Array) -> Band:
    low, middle, high = np.quantile(values, (0.025, 0.5, 0.975)).tolist()
    return Band(low, middle, high)
