"""The pack's wiring, the drive and the road load as a job asks for them."""

from itertools import pairwise
from typing import Literal

from pydantic import Field, model_validator

from baywright.job.parts import Point
from baywright.job.row import Number, Row, Whole
from baywright.job.units import (
    Area,
    Current,
    Distance,
    NonNegativeLength,
    PositiveLength,
    PositiveMass,
    Power,
    Speed,
    Torque,
    Voltage,
)

Share = Number


class Controller(Row):
    """The motor controller: its voltage window (V), what it draws (A), where it sits (vehicle frame, mm).

    Two motors in line mostly have a controller each: `count` of them draw so many times its current from one pack.
    """

    count: Whole = Field(default=1, ge=1, le=4)
    least_voltage: Voltage
    most_voltage: Voltage
    continuous_current: Current
    peak_current: Current
    regeneration_current: Current | None = None
    at: Point | None = None

    @model_validator(mode="after")
    def _ordered(self) -> "Controller":
        if self.most_voltage <= self.least_voltage:
            raise ValueError("most_voltage must be more than least_voltage")
        if self.peak_current < self.continuous_current:
            raise ValueError("peak_current must be at least continuous_current")
        return self


class Charger(Row):
    """The charger: the most voltage it gives (V) and its power (kW)."""

    most_voltage: Voltage
    power: Power


class PowerCable(Row):
    """The power cable: copper cross section (mm²), what its insulation and its surroundings may be (degrees C)."""

    area: Area
    insulation_temperature: Number = Field(default=105.0, ge=60, le=200)
    surroundings_temperature: Number = Field(default=40.0, ge=-20, le=120)


class Fuse(Row):
    """A string's fuse: rating (A), voltage (V DC) and the current it can break (A)."""

    rating: Current
    voltage: Voltage
    breaking: Current | None = None


class PackAsk(Row):
    """How the boxes' modules make a pack.

    Attributes:
        strings: strings in parallel, each with its own fuse.
        usable: share of the energy that is used.
        controller: the motor controller.
        charger: the charger.
        cable: the power cable.
        fuse: the fuse of each string.
        pollution_degree: IEC 60664-1: 2 dry inside a sealed box, 3 where it may get damp.
        material_group: IEC 60664-1, by tracking index: I, II, III.
        monitor: where the board that watches every cell group sits (vehicle frame, mm), if it is one for all boxes.
        creepage: least creepage distance as built, mm.
        air_gap: least clearance through air from live parts to metal as built, mm.
        isolation_kohm: isolation resistance as measured, kilo-ohm.
    """

    strings: Whole = Field(default=1, ge=1, le=50)
    usable: Share = Field(default=0.8, gt=0, le=1)
    controller: Controller | None = None
    charger: Charger | None = None
    cable: PowerCable | None = None
    fuse: Fuse | None = None
    pollution_degree: Literal[2, 3] = 3
    material_group: Literal["I", "II", "III"] = "III"
    monitor: Point | None = None
    creepage: NonNegativeLength | None = None
    air_gap: NonNegativeLength | None = None
    isolation_kohm: Number | None = Field(default=None, ge=0)


class Road(Row):
    """What the car resists with, and what it uses on the way.

    What is not said is a small classic's (common practice, no source): 1.5 m² in front with a drag coefficient of 0.43,
    radial tyres, motor and controller at 0.90, gears at 0.95.

    Attributes:
        drag_area: drag coefficient times frontal area, m².
        rolling: rolling resistance coefficient.
        air_density: kg/m³.
        rotating: share of the mass that wheels, shafts and motor add to its inertia.
        driver: mass of driver and load in the car, kg.
        auxiliary: lights, pumps, heater, steady, kW.
        driving_efficiency: from the pack to the wheels, unless the drive's motor has a map.
        regeneration_efficiency: from the wheels to the pack, likewise.
        regeneration_share: share of the braking that the driven axle's motor takes.
        regeneration_power: most it takes, kW at the wheels.
        range_wanted: everyday range that was promised, km ("60 mi" works too).
    """

    drag_area: Number = Field(default=0.64, gt=0, le=10)
    rolling: Number = Field(default=0.012, gt=0, le=0.1)
    air_density: Number = Field(default=1.2, gt=0.5, le=1.6)
    rotating: Share = Field(default=0.04, ge=0, le=0.5)
    driver: PositiveMass = 75.0
    auxiliary: Power = 0.3
    driving_efficiency: Share = Field(default=0.85, gt=0, le=1)
    regeneration_efficiency: Share = Field(default=0.70, ge=0, le=1)
    regeneration_share: Share = Field(default=0.6, ge=0, le=1)
    regeneration_power: Power = 20.0
    range_wanted: Distance | None = None


class Gears(Row):
    """The gearbox that stays: ratios by gear, final drive, tyre radius (mm), driven axle."""

    ratios: list[Number] = Field(min_length=1, max_length=8)
    final: Number = Field(gt=0, le=20)
    tyre_radius: PositiveLength
    driven: Literal["front", "rear", "both"] = "rear"
    efficiency: Share = Field(default=0.94, gt=0, le=1)


class Engine(Row):
    """A torque curve: speeds (rev/min) with torques (N·m), rising; between them it is straight."""

    speeds: list[Number] = Field(min_length=2, max_length=60)
    torques: list[Torque] = Field(min_length=2, max_length=60)

    @model_validator(mode="after")
    def _ordered(self) -> "Engine":
        if len(self.speeds) != len(self.torques):
            raise ValueError("as many torques as speeds are needed")
        if any(b <= a for a, b in pairwise(self.speeds)):
            raise ValueError("speeds must rise")
        return self


class MotorMap(Row):
    """What of its power a motor passes on, its controller counted: by speed (rev/min) and torque (N·m), off its sheet.

    Attributes:
        speeds: rising.
        torques: rising.
        efficiency: a row for each torque, in it a share (0 to 1) for each speed.
    """

    speeds: list[Number] = Field(min_length=2, max_length=60)
    torques: list[Torque] = Field(min_length=2, max_length=60)
    efficiency: list[list[Share]] = Field(min_length=2, max_length=60)

    @model_validator(mode="after")
    def _fits(self) -> "MotorMap":
        for name, values in (("speeds", self.speeds), ("torques", self.torques)):
            if any(b <= a for a, b in pairwise(values)):
                raise ValueError(f"{name} must rise")
        if len(self.efficiency) != len(self.torques) or any(len(r) != len(self.speeds) for r in self.efficiency):
            raise ValueError(
                f"efficiency needs {len(self.torques)} rows, one a torque, of {len(self.speeds)} shares, one a speed"
            )
        if any(not 0 < e <= 1 for row in self.efficiency for e in row):
            raise ValueError("each efficiency is a share: more than 0, at most 1")
        return self


class MotorAsk(Row):
    """The motor: peak torque (N·m) up to its corner, power (kW), and the most speed it may turn (rev/min).

    Attributes:
        count: identical motors in line on one shaft: torque and power are so many times one motor's.
        map: its efficiency, of one motor; without it the road's constant ones count.
    """

    count: Whole = Field(default=1, ge=1, le=4)
    map: MotorMap | None = None
    peak_torque: Torque = Field(gt=0)
    peak_power: Power
    continuous_power: Power
    most_speed: Number = Field(gt=0, le=30_000)

    @model_validator(mode="after")
    def _ordered(self) -> "MotorAsk":
        if self.continuous_power > self.peak_power:
            raise ValueError("continuous_power must be at most peak_power")
        return self


class Drive(Row):
    """What drives the car: motor, gears, grip; and the engine that came out, for comparison."""

    motor: MotorAsk
    gears: Gears
    grip: Number = Field(default=0.8, gt=0, le=1.5)
    engine: Engine | None = None
    most_road_speed: Speed | None = None
