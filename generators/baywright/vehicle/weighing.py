"""The scales: several weighings made into one, and the height of the centroid by raising an axle."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import asin, degrees, hypot, sqrt, tan

import numpy as np
from numpy.typing import NDArray

from baywright.finding import Finding, Verdict
from baywright.job.units import Measured
from baywright.vehicle.car import Corners, sigma

# Scatter of repeated weighings, as a share of the whole car's weight, beyond which springs and tyres did not settle.
SCATTER_LOOK = 0.005
# Four times that is no settling: a reading was written down wrong, or something lay on the car.
SCATTER_FAIL = 4 * SCATTER_LOOK
SCATTER_SOURCE = "common practice, no source: bounce the car between weighings, friction in the springs lies"
# How high an axle must be raised for the test to say anything, mm (guides on weighing cars, read at second hand).
LEAST_RAISE = 250.0
# Uncertainty of the height (95 %) beyond which the number should not be used for anything but a guess, mm.
HEIGHT_LOOK = 50.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighing:
    """Repeated weighings made into one.

    Attributes:
        corners: mean loads, kg.
        scatter: sample standard deviation of each wheel's readings, kg; None of a single weighing.
        error: standard uncertainty of the means, kg: the scatter over the root of the count, and the scales.
        count: how many weighings.
        findings: what a person should read.
    """

    corners: Corners
    scatter: Corners | None
    error: Corners
    count: int
    findings: tuple[Finding, ...]

    @property
    def axle_errors(self) -> tuple[float, float]:
        """Standard uncertainties of front and rear axle load, kg."""
        e = self.error
        return hypot(e.front_left, e.front_right), hypot(e.rear_left, e.rear_right)


def averaged(subject: str, readings: Sequence[Corners], scale_slack: float) -> Weighing:
    """Return the mean of several weighings with its scatter.

    Args:
        subject: the car's name.
        readings: loads under the four wheels, each time after bouncing the car.
        scale_slack: how far each pad may be off, ± kg.

    Raises:
        ValueError: if there is no reading.
    """
    if not readings:
        raise ValueError(f"{subject}: there is no weighing")
    table = np.array([r.as_tuple() for r in readings])
    mean = table.mean(axis=0)
    spread = table.std(axis=0, ddof=1) if len(table) > 1 else np.zeros(4)
    error = np.hypot(spread / sqrt(len(table)), sigma(scale_slack))
    return Weighing(
        corners=_corners(mean),
        scatter=_corners(spread) if len(table) > 1 else None,
        error=_corners(error),
        count=len(table),
        findings=(_scatter_finding(table),),
    )


def averaged_axles(
    subject: str, readings: Sequence[tuple[float, float]], scale_slack: float
) -> tuple[tuple[float, float, float, float], Finding]:
    """Return the mean front and rear axle load of several weighings, their standard uncertainties, and the scatter.

    Args:
        subject: the car's name.
        readings: (front, rear), kg, each time after bouncing the car.
        scale_slack: how far each of the two pads under an axle may be off, ± kg.

    Raises:
        ValueError: if there is no reading.
    """
    if not readings:
        raise ValueError(f"{subject}: there is no weighing")
    table = np.array(readings)
    spread = table.std(axis=0, ddof=1) if len(table) > 1 else np.zeros(2)
    error = np.hypot(spread / sqrt(len(table)), sqrt(2.0) * sigma(scale_slack))
    front, rear = table.mean(axis=0).tolist()
    front_error, rear_error = error.tolist()
    return (front, rear, front_error, rear_error), _scatter_finding(table)


def _corners(loads: NDArray[np.float64]) -> Corners:
    fl, fr, rl, rr = loads.tolist()
    return Corners(fl, fr, rl, rr)


def _scatter_finding(table: NDArray[np.float64]) -> Finding:
    if len(table) == 1:
        return Finding(
            subject="car",
            check="weighing",
            verdict="look",
            message="weighed once: weigh three times, bouncing the car between, to see whether the springs settle",
            source=SCATTER_SOURCE,
        )
    spread = table.std(axis=0, ddof=1)
    worst = float(spread.max())
    whole = float(table.sum(axis=1).mean())
    limit = SCATTER_LOOK * whole
    verdict: Verdict = "fail" if worst > SCATTER_FAIL * whole else "look" if worst > limit else "pass"
    names = (
        ("front axle", "rear axle") if table.shape[1] == 2 else ("front left", "front right", "rear left", "rear right")
    )
    place = int(spread.argmax())
    message = f"{len(table)} weighings scatter by {worst:.1f} kg at the worst place, {names[place]}"
    if verdict == "look":
        message += "; roll the car, bounce it, check tyre pressures and level floor, and weigh again"
    if verdict == "fail":
        told = " ".join(f"{v:g}" for v in table[:, place])
        message += f" ({told} kg): one of them is wrong; look at the ticket, or weigh again"
    return Finding(
        subject="car",
        check="weighing",
        verdict=verdict,
        message=message,
        value=worst,
        limit=limit,
        unit="kg",
        margin=(limit - worst) / limit,
        source=SCATTER_SOURCE,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RaisedAxle:
    """One axle raised, the other weighed: suspension blocked solid, tyres hard, brakes off, wheels free to roll.

    Attributes:
        raised: the axle that was raised.
        by: how far its centre went up, mm.
        load: what then stood under the other axle, kg.
        radius_front: height of the front wheel's centre above ground, loaded and level, mm.
        radius_rear: the same of the rear wheel.
    """

    raised: str
    by: Measured
    load: Measured
    radius_front: Measured
    radius_rear: Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class Height:
    """The centroid's height.

    Attributes:
        value: above ground, mm.
        error: standard uncertainty, mm.
        angle: how far the car was tilted, degrees.
        shares: what each reading adds to the uncertainty, as (name, share of the variance), largest first.
        findings: what a person should read.
    """

    value: float
    error: float
    angle: float
    shares: tuple[tuple[str, float], ...]
    findings: tuple[Finding, ...]


def raised_height(
    subject: str, wheelbase: Measured, loads: tuple[float, float], load_errors: tuple[float, float], test: RaisedAxle
) -> Height:
    """Return the height of the centroid from weighing one axle with the other raised.

    h = r + L dW / (W tan a), a = asin(H / L), where dW is what the weighed axle gains (moments about the raised axle's
    centre; the formula as three texts on vehicle dynamics print it). r is the height of the wheels' centres, of unlike
    wheels interpolated at the centroid.

    Args:
        subject: the car's name.
        wheelbase: L, mm.
        loads: level loads under the front and the rear axle, kg.
        load_errors: their standard uncertainties, kg.
        test: the readings.

    Raises:
        ValueError: if the axle was not raised, or by as much as the wheelbase, or the weighed axle got so much lighter
            that the centroid would lie below the ground.
    """
    length, high = wheelbase.value, test.by.value
    if test.raised not in ("front", "rear"):
        raise ValueError(f"{subject}: raised says which axle: 'front' or 'rear', not '{test.raised}'")
    if high <= 0:
        raise ValueError(
            f"{subject}: an axle raised by {high:g} mm tells no height: raise it {LEAST_RAISE:g} mm or more"
        )
    if high >= length:
        raise ValueError(f"{subject}: an axle can't be raised by {high:g} mm on a wheelbase of {length:g} mm")
    readings = (
        ("wheelbase", length, sigma(wheelbase.tolerance)),
        ("front load", loads[0], load_errors[0]),
        ("rear load", loads[1], load_errors[1]),
        ("height raised", high, sigma(test.by.tolerance)),
        ("load with the axle raised", test.load.value, sigma(test.load.tolerance)),
        ("front radius", test.radius_front.value, sigma(test.radius_front.tolerance)),
        ("rear radius", test.radius_rear.value, sigma(test.radius_rear.tolerance)),
    )
    values, errors = (np.array([r[i] for r in readings]) for i in (1, 2))
    value = _height(values, test.raised)
    if value <= 0:
        weighed, level = ("rear", loads[1]) if test.raised == "front" else ("front", loads[0])
        raise ValueError(
            f"{subject}: with the {test.raised} axle raised the {weighed} axle must gain load; it went from "
            f"{level:.0f} kg to {test.load.value:.0f} kg: check which axle was weighed"
        )
    slopes = np.array([_slope(values, i, test.raised) for i in range(len(values))])
    parts = (slopes * errors) ** 2
    error = float(np.sqrt(parts.sum()))
    order = np.argsort(-parts, kind="stable")
    shares = tuple((readings[i][0], float(parts[i] / parts.sum())) for i in order) if error > 0 else ()
    angle = degrees(asin(high / length))
    return Height(
        value=value,
        error=error,
        angle=angle,
        shares=shares,
        findings=_height_findings(value, error, high, shares),
    )


def _height(v: NDArray[np.float64], raised: str) -> float:
    length, front, rear, high, load, radius_front, radius_rear = v.tolist()
    mass = front + rear
    gain = load - (rear if raised == "front" else front)
    radius = radius_front + (radius_rear - radius_front) * rear / mass
    return float(radius + length * gain / (mass * tan(asin(high / length))))


def _slope(values: NDArray[np.float64], i: int, raised: str) -> float:
    """Return the height's change with reading i (central difference: the formula is smooth)."""
    step = np.zeros(len(values))
    step[i] = 1e-4 * max(abs(values[i]), 1.0)
    return float((_height(values + step, raised) - _height(values - step, raised)) / (2 * step[i]))


def _height_findings(
    value: float, error: float, high: float, shares: Sequence[tuple[str, float]]
) -> tuple[Finding, ...]:
    source = "moments about the raised axle; uncertainty after JCGM 100:2008 (from memory)"
    wide = 2 * error > HEIGHT_LOOK
    message = f"{value:.0f} mm above ground, ± {2 * error:.0f} mm (95 %)"
    if wide and shares:
        message += (
            f"; {shares[0][0]} makes {100 * shares[0][1]:.0f} % of it: measure that better, or raise the axle more"
        )
    found = [
        Finding(
            subject="car",
            check="centroid height",
            verdict="look" if wide else "pass",
            message=message,
            value=value,
            unit="mm",
            source=source,
        )
    ]
    if high < LEAST_RAISE:
        found.append(
            Finding(
                subject="car",
                check="raised axle",
                verdict="look",
                message=f"raised by {high:.0f} mm only: raise it {LEAST_RAISE:g} mm or more, small errors grow large",
                value=high,
                limit=LEAST_RAISE,
                unit="mm",
                margin=(high - LEAST_RAISE) / LEAST_RAISE,
                source="guides on weighing cars, read at second hand: at least 250 mm",
            )
        )
    return tuple(found)
