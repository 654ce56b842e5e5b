"""What the road asks of a car: rolling, air and inertia; at steady speeds and over drive schedules."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from baywright.job.drive import Drive, Road
from baywright.rooms import room
from baywright.vehicle.motor_map import PowerTrain, power_train

Array = NDArray[np.float64]

GRAVITY = 9.80665  # m/s², standard (ISO 80000-3)
CYCLES = ("udds", "hwfet")
MILE = 1.609344  # km
_KMH = 3.6


@dataclass(frozen=True, slots=True, kw_only=True)
class RoadLoad:
    """What resists the car.

    Attributes:
        mass: with driver, kg.
        drag_area: drag coefficient times frontal area, m².
        rolling: rolling resistance coefficient.
        air_density: kg/m³.
        rotating: share of the mass that turning parts add to its inertia.
    """

    mass: float
    drag_area: float
    rolling: float
    air_density: float = 1.2
    rotating: float = 0.0

    def force(self, speed: Array | float, slope: float = 0.0) -> Array:
        """Return the force in N that holds a steady speed (m/s) up a slope (rise over run)."""
        v = np.asarray(speed, dtype=float)
        run = 1.0 / np.sqrt(1.0 + slope * slope)
        out: Array = (
            self.mass * GRAVITY * run * (self.rolling + slope) + 0.5 * self.air_density * self.drag_area * v * v
        )
        return out


@dataclass(frozen=True, slots=True, kw_only=True)
class Losses:
    """What is lost between pack and wheels.

    Attributes:
        driving: efficiency from the pack to the wheels.
        regeneration: efficiency from the wheels to the pack.
        share: share of the braking that the motor takes.
        most: most that it takes, kW at the wheels.
        auxiliary: steady, kW.
        train: motor map and gears; None where `driving` and `regeneration` hold at every moment.
    """

    driving: float = 0.85
    regeneration: float = 0.70
    share: float = 0.6
    most: float = 20.0
    auxiliary: float = 0.3
    train: PowerTrain | None = None

    def drawn(self, power: Array, speed: Array) -> Array:
        """Return the power out of the pack (W; negative into it) for a power at the wheels at road speeds (m/s)."""
        back = np.minimum(-power * self.share, 1000 * self.most)
        if self.train is None:
            out, into = power / self.driving, back * self.regeneration
        else:
            forth = self.train.efficiency(np.maximum(power, 0.0), speed)
            out, into = power / forth, back * self.train.efficiency(np.maximum(back, 0.0), speed)
        drawn: Array = np.where(power >= 0, out, -into) + 1000 * self.auxiliary
        return drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class Trip:
    """Energy over a drive schedule.

    Attributes:
        name: the schedule.
        km: its length.
        hours: its duration.
        driving: energy at the wheels where the car is driven, kWh.
        braking: energy at the wheels where it is braked, kWh, negative.
        pack: energy out of the pack, kWh.
    """

    name: str
    km: float
    hours: float
    driving: float
    braking: float
    pack: float

    @property
    def per_km(self) -> float:
        """Energy out of the pack, Wh/km."""
        return 1000.0 * self.pack / self.km


def road_of(asked: Road, mass: float, drive: Drive | None = None) -> tuple[RoadLoad, Losses]:
    """Return road load and losses of a job's car that weighs `mass` kg without driver, its motor's map if any."""
    load = RoadLoad(
        mass=mass + asked.driver,
        drag_area=asked.drag_area,
        rolling=asked.rolling,
        air_density=asked.air_density,
        rotating=asked.rotating,
    )
    return load, Losses(
        driving=asked.driving_efficiency,
        regeneration=asked.regeneration_efficiency,
        share=asked.regeneration_share,
        most=asked.regeneration_power,
        auxiliary=asked.auxiliary,
        train=None if drive is None else power_train(drive),
    )


@cache
def cycle(name: str) -> tuple[Array, Array]:
    """Return a drive schedule as times (n,) s and speeds (n,) m/s.

    Raises:
        ValueError: if there is no schedule of this name.
    """
    if name not in CYCLES:
        raise ValueError(f"no drive schedule '{name}'; known: {', '.join(CYCLES)}")
    table = np.loadtxt(room("shared") / "cycles" / f"{name}.csv", delimiter=",", skiprows=1)
    return table[:, 0], table[:, 1]


def wheel_power(load: RoadLoad, time: Array, speed: Array) -> tuple[Array, Array, Array]:
    """Return power at the wheels (W), seconds and metres of each step of a drive schedule.

    Each step counts with its mean speed and its mean acceleration (trapezoids).
    """
    step = np.diff(time)
    mean = (speed[1:] + speed[:-1]) / 2
    inertia = load.mass * (1 + load.rotating) * np.diff(speed) / step
    power: Array = (load.force(mean) + inertia) * mean
    return power, step, mean * step


def trip(load: RoadLoad, losses: Losses, name: str) -> Trip:
    """Return the energy that a drive schedule takes.

    Raises:
        ValueError: if there is no schedule of this name.
    """
    power, seconds, metres = wheel_power(load, *cycle(name))
    pack = losses.drawn(power, metres / seconds)
    kwh = seconds / 3.6e6
    return Trip(
        name=name,
        km=float(metres.sum()) / 1000,
        hours=float(seconds.sum()) / 3600,
        driving=float((np.maximum(power, 0) * kwh).sum()),
        braking=float((np.minimum(power, 0) * kwh).sum()),
        pack=float((pack * kwh).sum()),
    )


def steady(load: RoadLoad, losses: Losses, speed: Array | float, slope: float = 0.0) -> Array:
    """Return the energy out of the pack in Wh/km at steady speeds (km/h), more than 0.

    Downhill the motor takes its share of what would be braking.
    """
    v = np.asarray(speed, dtype=float) / _KMH
    power = load.force(v, slope) * v
    out: Array = losses.drawn(power, v) / (v * _KMH)
    return out
