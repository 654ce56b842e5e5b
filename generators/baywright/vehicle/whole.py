"""Everything about a job's car at once: balance, pack, range, performance, rules, and what a person should read."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from baywright.box.kit import Kit
from baywright.box.layout import lay_out
from baywright.finding import CannotBuild, Finding, Verdict, verdict_of
from baywright.job.messages import BadInput
from baywright.job.parts import Module
from baywright.job.read import Job
from baywright.shape.mass import MassProperties
from baywright.shape.pose import turned
from baywright.vehicle.asked import car_of
from baywright.vehicle.balance import Balance, balance
from baywright.vehicle.car import Car
from baywright.vehicle.pack import BoxLoad, Pack, pack_of
from baywright.vehicle.pack_limits import pack_findings
from baywright.vehicle.performance import Chassis, Performance, chassis_of, compare, drive_findings
from baywright.vehicle.range import Ranges, range_finding, ranges
from baywright.vehicle.road import Losses, RoadLoad, road_of
from baywright.vehicle.rules import Profile, check_rules, profile


@dataclass(frozen=True, eq=False, kw_only=True)
class Vehicle:
    """A job's car, reckoned.

    Attributes:
        car: as weighed.
        balance: before, stripped, after, laden.
        load: road load with driver.
        losses: between pack and wheels.
        pack: None if no box holds a module, or boxes hold unlike modules.
        ranges: None without a pack.
        chassis: None if the job says nothing of the drive.
        motor: what the motor gives; None as above.
        engine: what the engine gave; None if its curve is not known.
        findings: what a person should read, the balance's among them.
    """

    car: Car
    balance: Balance
    load: RoadLoad
    losses: Losses
    pack: Pack | None
    ranges: Ranges | None
    chassis: Chassis | None
    motor: Performance | None
    engine: Performance | None
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst verdict among the findings."""
        return verdict_of(self.findings)


def vehicle(job: Job, carried: Sequence[tuple[str, MassProperties]]) -> Vehicle:
    """Return a job's car with what was made for it.

    Args:
        job: the job.
        carried: every generated thing as (name, mass properties in the vehicle's frame).

    Raises:
        BadInput: if figures of the job can't be true together, or a rule profile is unknown.
    """
    try:
        car = car_of(job.car)
        whole = balance(car, carried)
    except ValueError as error:
        raise BadInput([job.problem(("car",), str(error))]) from None
    findings = list(whole.findings)
    load, losses = road_of(job.asked.road, whole.after.mass, job.asked.drive)
    pack, notes = _pack(job)
    findings += notes
    reach = None
    if pack is not None:
        reach = ranges(pack.usable, load, losses)
        findings.append(range_finding(reach, job.asked.road.range_wanted))
    chassis = motor = engine = None
    drive = job.asked.drive
    if drive is not None:
        chassis = chassis_of(drive, load, whole.after.front_share, car.wheelbase, whole.after.z)
        then = whole.before
        lighter = road_of(job.asked.road, then.mass)[0]
        before = chassis_of(drive, lighter, then.front_share, car.wheelbase, then.z)
        motor, engine = compare(drive, chassis, _pack_power(pack, job), before)
        findings += drive_findings(motor, drive, engine)
    for name in job.car.rules:
        power = None if drive is None else drive.motor.count * drive.motor.continuous_power
        findings += check_rules(rule_profile(job, name), whole, car.ratings, power, job.car.papers.power)
    return Vehicle(
        car=car,
        balance=whole,
        load=load,
        losses=losses,
        pack=pack,
        ranges=reach,
        chassis=chassis,
        motor=motor,
        engine=engine,
        findings=tuple(findings),
    )


def _pack(job: Job) -> tuple[Pack | None, list[Finding]]:
    """Return the pack that the job's boxes make, and its findings."""
    modules: dict[str, Module] = {box.module: job.catalogue.module(box.module) for box in job.boxes.values()}
    if not modules:
        return None, []
    if len(modules) > 1:
        message = f"boxes hold unlike modules ({', '.join(sorted(modules))}), which can't share a string: not reckoned"
        return None, [
            Finding(
                subject="pack",
                check="modules",
                verdict="look",
                message=message,
                source="common practice, no source: only identical modules in one pack",
            )
        ]
    module = next(iter(modules.values())).electrical
    ask = job.asked.pack
    loads = [BoxLoad(name=name, count=box.count, at=_service_end(job, name)) for name, box in job.boxes.items()]
    try:
        pack = pack_of(module, loads, ask)
        return pack, pack_findings(pack, module, ask)
    except ValueError as error:
        raise BadInput([job.problem(("pack",), str(error))]) from None


def _service_end(job: Job, name: str) -> tuple[float, float, float]:
    """Return the middle of a box's service wall, where its cables leave, vehicle frame, mm."""
    ask = job.boxes[name]
    try:
        layout = lay_out(name, ask, Kit(job.catalogue.style(ask.style), job.catalogue))
    except CannotBuild:  # the design has said so; its place must do
        return ask.at
    x, y, z = turned("z", ask.yaw, ask.at)(np.array([layout.outside[0] / 2, 0.0, layout.wall_top / 2])).tolist()
    return x, y, z


def _pack_power(pack: Pack | None, job: Job) -> float | None:
    """Return what the pack gives the controller at its peak current, kW."""
    control = job.asked.pack.controller
    if pack is None or pack.sagged is None or control is None:
        return None
    return pack.sagged * control.count * control.peak_current / 1000


def rule_profile(job: Job, name: str) -> Profile:
    """Return a rule profile that a job names.

    Raises:
        BadInput: if there is none of this name, with the job's file and line.
    """
    try:
        return profile(name)
    except BadInput as bad:
        raise BadInput([job.problem(("car", "rules"), p.message) for p in bad.problems]) from None
