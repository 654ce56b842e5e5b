"""Weight and balance: the car as weighed, stripped, converted and laden."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from baywright.finding import Finding, Verdict, verdict_of
from baywright.shape.mass import MassProperties
from baywright.vehicle.again import again_findings
from baywright.vehicle.car import Car, Corners, Item, carried, inertia_about
from baywright.vehicle.limits import findings_of
from baywright.vehicle.state import State, as_weighed, changed, per_corner

KG_M2 = 1e-6  # kg·mm² to kg·m²


@dataclass(frozen=True, slots=True, kw_only=True)
class Inertia:
    """What the conversion adds to the car's inertia about its own centroid, kg·m².

    Attributes:
        roll: about the lengthwise axis.
        pitch: about the crosswise axis.
        yaw: about the upright axis.
        yaw_before: the car's own as a guess: m·a·b, with a and b from the centroid to the axles.
    """

    roll: float
    pitch: float
    yaw: float
    yaw_before: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """Weight and balance of a conversion.

    Attributes:
        car: the car's name.
        wheelbase: mm.
        before: as weighed.
        stripped: with everything taken out.
        after: converted, as `before` was weighed but for what changed.
        laden: the finished car in each of its laden cases.
        removed: what came out.
        added: what went in, boxes included.
        per_corner: what each wheel gained, kg; None if a track is unknown. It is what a spring supplier asks for.
        inertia: what the conversion adds; None if the car's height or an item's is not known.
        findings: what a person should read.
    """

    car: str
    wheelbase: float
    before: State
    stripped: State
    after: State
    laden: tuple[State, ...]
    removed: tuple[Item, ...]
    added: tuple[Item, ...]
    per_corner: Corners | None
    inertia: Inertia | None
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst verdict among the findings."""
        return verdict_of(self.findings)

    @property
    def share_change(self) -> float:
        """Change of the front share from before to after, points of %."""
        return self.after.front_share - self.before.front_share


def balance(car: Car, boxes: Iterable[tuple[str, MassProperties]] = ()) -> Balance:
    """Return the weight and balance of a car that carries boxes (name, mass properties in the vehicle's frame).

    Raises:
        ValueError: if the wheelbase or a load is not positive, or more comes out than the car weighs.
    """
    if not (car.wheelbase > 0 and car.front > 0 and car.rear > 0):
        raise ValueError(f"{car.name}: wheelbase and both axle loads must be more than 0")
    added = (*car.added, *(carried(name, body) for name, body in boxes))
    weighed = as_weighed(car)
    if car.when == "stripped":
        stripped, before = weighed, changed(car, weighed, "before", car.removed, 1)
    else:
        before, stripped = weighed, changed(car, weighed, "stripped", car.removed, -1)
    after = changed(car, stripped, "after", added, 1)
    laden = tuple(changed(car, after, case.name, case.items, 1) for case in car.laden)
    return Balance(
        car=car.name,
        wheelbase=car.wheelbase,
        before=before,
        stripped=stripped,
        after=after,
        laden=laden,
        removed=car.removed,
        added=added,
        per_corner=per_corner(car, [(-1, i) for i in car.removed] + [(1, i) for i in added]),
        inertia=_inertia(car, before, after, added),
        findings=(
            *car.findings,
            *findings_of(car, before, after, laden, added),
            *again_findings(car, {"stripped": stripped, "after": after}, added),
        ),
    )


def _inertia(car: Car, before: State, after: State, added: Sequence[Item]) -> Inertia | None:
    """Return what the conversion adds to the inertia about the centroid: exact, the car's own need not be known.

    About the old centroid the changes add up; the step to the new centroid takes off mass times distance squared.
    Items without mass properties count as points.
    """
    if before.z is None or after.z is None:
        return None
    centre = (before.x, before.y or 0.0, before.z)
    dx, dy, dz = after.x - before.x, (after.y or 0.0) - (before.y or 0.0), after.z - before.z
    sums = [0.0, 0.0, 0.0]
    for sign, items in ((-1, car.removed), (1, added)):
        for item in items:
            sums = [s + sign * i for s, i in zip(sums, inertia_about(item, centre), strict=True)]
    shifts = (dy * dy + dz * dz, dx * dx + dz * dz, dx * dx + dy * dy)
    roll, pitch, yaw = (KG_M2 * (s - after.mass * d) for s, d in zip(sums, shifts, strict=True))
    guess = KG_M2 * before.mass * before.x * (car.wheelbase - before.x)
    return Inertia(roll=roll, pitch=pitch, yaw=yaw, yaw_before=guess)
