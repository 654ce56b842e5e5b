"""How the car pulls: force by gear against grip and slope, 0 to 100 km/h, top speed; the old engine beside it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import pi
from typing import Literal

import numpy as np

from baywright.finding import Finding, Verdict, at_least, at_most
from baywright.job.drive import Drive, Engine, MotorAsk
from baywright.vehicle.road import GRAVITY, Array, RoadLoad

# What turning parts add to the mass in a gear: 0.04 + 0.0025 times the square of gear times final drive
# (T. D. Gillespie, Fundamentals of Vehicle Dynamics, chapter 2, from memory).
WHEELS, ENGINE = 0.04, 0.0025
SHIFT = 0.7  # s without drive for each change of gear; common practice, no source
START_SLOPE = 0.20  # a car should start on it, laden; common practice, no source
_SPEEDS = np.linspace(0.0, 300.0, 3001)  # km/h
_KMH = 3.6
_SOURCE = "torque times ratio times efficiency over tyre radius, held to grip; road load of rolling and air"


@dataclass(frozen=True, slots=True, kw_only=True)
class Chassis:
    """What puts force on the road.

    Attributes:
        load: road load, with driver.
        front_share: share of the mass on the front axle, 0 to 1.
        wheelbase: mm.
        height: centroid above ground, mm; None leaves weight transfer out.
        driven: driven axle.
        grip: friction of tyre on road.
        final: final drive ratio.
        ratios: by gear.
        radius: of the tyre, loaded, mm.
        efficiency: from the motor's shaft to the wheels.
    """

    load: RoadLoad
    front_share: float
    wheelbase: float
    height: float | None
    driven: Literal["front", "rear", "both"]
    grip: float
    final: float
    ratios: tuple[float, ...]
    radius: float
    efficiency: float

    def most_force(self) -> float:
        """Return the force in N at which the driven tyres spin on a level road, weight transfer counted.

        Rear: F = μ m g s / (1 - μ h/L); front: F = μ m g s / (1 + μ h/L), s the share on the driven axle (any text on
        vehicle dynamics).
        """
        weight = self.load.mass * GRAVITY
        if self.driven == "both":
            return self.grip * weight
        share = self.front_share if self.driven == "front" else 1 - self.front_share
        shift = 0.0 if self.height is None else self.grip * self.height / self.wheelbase
        most = 1 - shift if self.driven == "rear" else 1 + shift
        return min(self.grip * weight * share / most, self.grip * weight) if most > 0 else self.grip * weight

    def turns(self, speed: Array, ratio: float) -> Array:
        """Return the shaft's speed in rev/min at road speeds (km/h)."""
        out: Array = speed / _KMH * 1000 / self.radius * ratio * self.final * 30 / pi
        return out


@dataclass(frozen=True, slots=True, kw_only=True)
class GearRow:
    """What one gear gives.

    Attributes:
        gear: from 1.
        ratio: of the gearbox.
        force: at the wheels from rest, N, held to grip.
        axle_torque: at the driven axle, N·m: what mounts must bear.
        spins: whether it would spin the tyres.
        slope: steepest start, rise over run.
        limit: speed at which the shaft turns its most, km/h.
        top: speed on a level road, km/h.
        time: 0 to 100 km/h staying in this gear, s; None if it does not get there.
    """

    gear: int
    ratio: float
    force: float
    axle_torque: float
    spins: bool
    slope: float
    limit: float
    top: float
    time: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Performance:
    """What a motor or an engine gives in a car.

    Attributes:
        name: "motor" or "engine".
        gears: by gear.
        time: 0 to 100 km/h with the best gear at every speed, changes counted, s; None if it does not get there.
        shifts: changes of gear on the way.
        top: best speed on a level road, km/h.
        shaft_torque: most at the shaft, N·m.
        power: most at the shaft, kW.
    """

    name: str
    gears: tuple[GearRow, ...]
    time: float | None
    shifts: int
    top: float
    shaft_torque: float
    power: float


Torque = Callable[[Array], Array]


def motor_torque(motor: MotorAsk, power: float | None = None) -> Torque:
    """Return the motors' torque (N·m) by speed (rev/min): level to its corner, then at `power` (kW) or its peak.

    Motors in line on one shaft turn alike: their torques and powers add up.
    """
    most = motor.count * motor.peak_power if power is None else power

    def torque(turns: Array) -> Array:
        out: Array = np.minimum(motor.count * motor.peak_torque, most * 30_000 / pi / np.maximum(turns, 1e-9))
        return np.where(turns <= motor.most_speed, out, 0.0)

    return torque


def engine_torque(engine: Engine) -> Torque:
    """Return the engine's torque by speed; below its first speed the clutch slips, above its last it gives nothing."""

    def torque(turns: Array) -> Array:
        out: Array = np.interp(np.maximum(turns, engine.speeds[0]), engine.speeds, engine.torques)
        return np.where(turns <= engine.speeds[-1], out, 0.0)

    return torque


def chassis_of(asked: Drive, load: RoadLoad, front_share: float, wheelbase: float, height: float | None) -> Chassis:
    """Return the chassis of a job's drive; the front share in %, as the balance gives it."""
    gears = asked.gears
    return Chassis(
        load=load,
        front_share=front_share / 100,
        wheelbase=wheelbase,
        height=height,
        driven=gears.driven,
        grip=asked.grip,
        final=gears.final,
        ratios=tuple(gears.ratios),
        radius=gears.tyre_radius,
        efficiency=gears.efficiency,
    )


def performance(name: str, chassis: Chassis, burst: Torque, lasting: Torque, most_speed: float) -> Performance:
    """Return what a source of torque gives in a car.

    Args:
        name: what it is.
        chassis: the car.
        burst: torque (N·m) by speed (rev/min) for a start and a run to 100 km/h.
        lasting: the same for as long as one likes: it sets the top speed.
        most_speed: the shaft's most, rev/min.
    """
    turns = np.linspace(1.0, most_speed, 2000)
    rows = tuple(
        _gear(number, ratio, chassis, burst, lasting, most_speed) for number, ratio in enumerate(chassis.ratios, 1)
    )
    time, shifts = _run(chassis, burst, range(len(chassis.ratios)))
    torque = burst(turns)
    return Performance(
        name=name,
        gears=rows,
        time=time,
        shifts=shifts,
        top=max(row.top for row in rows),
        shaft_torque=float(torque.max()),
        power=float((torque * turns).max() * pi / 30_000),
    )


def compare(
    asked: Drive, chassis: Chassis, pack_power: float | None = None, before: Chassis | None = None
) -> tuple[Performance, Performance | None]:
    """Return what the motor gives, and what the engine gave if its curve is known.

    Args:
        asked: the job's drive.
        chassis: the car.
        pack_power: most that the pack gives, kW; None if it is not what holds the motor back.
        before: the car that the engine drove; the same as now if None.
    """
    motor = asked.motor
    burst, lasting = (
        motor.count * power if pack_power is None else min(motor.count * power, pack_power)
        for power in (motor.peak_power, motor.continuous_power)
    )
    name = "motor" if motor.count == 1 else f"{motor.count} motors"
    new = performance(name, chassis, motor_torque(motor, burst), motor_torque(motor, lasting), motor.most_speed)
    if asked.engine is None:
        return new, None
    old = engine_torque(asked.engine)
    return new, performance("engine", before or chassis, old, old, asked.engine.speeds[-1])


def forces(chassis: Chassis, torque: Torque, ratio: float, speed: Array) -> Array:
    """Return the force at the wheels in N in a gear at road speeds (km/h), before grip."""
    out: Array = (
        torque(chassis.turns(speed, ratio)) * ratio * chassis.final * chassis.efficiency / chassis.radius * 1000
    )
    return out


def _gear(number: int, ratio: float, chassis: Chassis, burst: Torque, lasting: Torque, most_speed: float) -> GearRow:
    start = float(forces(chassis, burst, ratio, np.array([0.5]))[0])
    grip = chassis.most_force()
    held = min(start, grip)
    limit = most_speed * pi / 30 / (ratio * chassis.final) * chassis.radius / 1000 * _KMH
    spare = forces(chassis, lasting, ratio, _SPEEDS) - chassis.load.force(_SPEEDS / _KMH)
    slow = np.nonzero(spare < 0)[0]
    top = float(_SPEEDS[slow[0]]) if len(slow) else float(_SPEEDS[-1])
    weight = chassis.load.mass * GRAVITY
    sine = min(held / weight - chassis.load.rolling, 0.999)
    time, _ = _run(chassis, burst, [number - 1])
    return GearRow(
        gear=number,
        ratio=ratio,
        force=held,
        axle_torque=held * chassis.radius / 1000,
        spins=start > grip,
        slope=max(sine, 0.0) / (1 - max(sine, 0.0) ** 2) ** 0.5,
        limit=limit,
        top=min(top, limit),
        time=time,
    )


def _run(chassis: Chassis, torque: Torque, gears: Sequence[int]) -> tuple[float | None, int]:
    """Return the seconds from rest to 100 km/h with some gears at hand, and how often they change.

    Of every choice of gears, each used where it pulls most, the quickest: a change that does not pay is not made.
    """
    speed = np.linspace(0.0, 100.0, 2001)
    grip, resist = chassis.most_force(), chassis.load.force(speed / _KMH)
    pulls = []
    for gear in gears:
        ratio = chassis.ratios[gear]
        inertia = chassis.load.mass * (1 + WHEELS + ENGINE * (ratio * chassis.final) ** 2)
        pulls.append((np.minimum(forces(chassis, torque, ratio, speed), grip) - resist) / inertia)
    runs = []
    for count in range(1, len(pulls) + 1):
        for chosen in combinations(range(len(pulls)), count):
            best = np.max([pulls[k] for k in chosen], axis=0)
            if (best > 0).all():
                shifts = int((np.diff(np.argmax([pulls[k] for k in chosen], axis=0)) != 0).sum())
                runs.append((float(np.trapezoid(1 / best, speed / _KMH)) + SHIFT * shifts, shifts))
    return min(runs) if runs else (None, 0)


def drive_findings(car: Performance, asked: Drive, engine: Performance | None) -> list[Finding]:
    """Return what a person should read: slope, tyres, gearbox."""
    found = []
    best = max(car.gears, key=lambda row: row.slope)
    margin = at_least(best.slope, START_SLOPE)
    message = f"{100 * best.slope:.0f} % in gear {best.gear}"
    if margin < 0:
        message += f"; {100 * START_SLOPE:.0f} % is wise: more torque, or a shorter gear"
    found.append(
        Finding(
            subject="car",
            check="starting on a slope",
            verdict="pass" if margin >= 0 else "look",
            message=message,
            value=100 * best.slope,
            limit=100 * START_SLOPE,
            unit="%",
            margin=margin,
            source=f"{_SOURCE}; limit: common practice, no source",
        )
    )
    spinning = [row.gear for row in car.gears if row.spins]
    if spinning:
        gears = ", ".join(str(g) for g in spinning)
        found.append(
            Finding(
                subject="car",
                check="grip",
                verdict="look",
                message=f"full torque spins the tyres in gear {gears}: let it come on slowly, or use a longer gear",
                source=f"{_SOURCE}; friction {asked.grip:g} from the job",
            )
        )
    if asked.most_road_speed is not None:
        over = [row for row in car.gears if row.limit >= asked.most_road_speed]
        verdict: Verdict = "pass" if over else "fail"
        fastest = max(row.limit for row in car.gears)
        words = (
            f"gear {over[0].gear} lets the motor turn within its limit at {asked.most_road_speed:.0f} km/h"
            if over
            else f"the motor turns its most at {fastest:.0f} km/h; {asked.most_road_speed:.0f} km/h asked"
        )
        found.append(
            Finding(
                subject="car",
                check="motor speed",
                verdict=verdict,
                message=words,
                value=fastest,
                limit=asked.most_road_speed,
                unit="km/h",
                margin=at_least(fastest, asked.most_road_speed),
                source="the motor's most speed and the gears",
            )
        )
    if engine is not None:
        margin = at_most(car.shaft_torque, engine.shaft_torque)
        verdict = "pass" if margin >= 0 else "look"
        message = f"{car.shaft_torque:.0f} N·m against the engine's {engine.shaft_torque:.0f} N·m"
        if margin < 0:
            message += ": the gearbox never took that; limit the torque in the low gears, or find its rating"
        found.append(
            Finding(
                subject="car",
                check="gearbox torque",
                verdict=verdict,
                message=message,
                value=car.shaft_torque,
                limit=engine.shaft_torque,
                unit="N·m",
                margin=margin,
                source="common practice, no source: a gearbox takes what it took before",
            )
        )
    return found
