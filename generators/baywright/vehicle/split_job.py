"""What a split needs of a job: the car without boxes, its limits, its range; and what a layout changes in the job."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from baywright.job.drive import Drive, Road
from baywright.job.models import BoxAsk
from baywright.job.read import Job
from baywright.shape.mass import MassProperties
from baywright.vehicle.balance import balance
from baywright.vehicle.car import Car, Item, carried, inertia_about
from baywright.vehicle.limits import tyre_table
from baywright.vehicle.pack import BoxLoad, pack_of
from baywright.vehicle.pack_limits import pack_findings
from baywright.vehicle.range import ranges
from baywright.vehicle.road import Array, road_of
from baywright.vehicle.rules import Profile
from baywright.vehicle.split import Bare, Bound, Choice, Layouts, Limits, Load, ReachOf, Three
from baywright.vehicle.write_back import Value

# Totals of modules beyond this no car carries.
_MOST_MODULES = 240


def bare_of(car: Car, made: Sequence[tuple[str, MassProperties]] = ()) -> Bare:
    """Return a car without its boxes, with everything else out and in.

    Args:
        car: the car.
        made: what was made for it, the boxes apart, as (name, mass properties in the vehicle's frame).

    Raises:
        ValueError: if its figures can't be true together.
    """
    whole = balance(car, made)
    before, state = whole.before, whole.after
    c = state.corners
    centre: Three | None = None
    if before.z is not None and state.z is not None:
        centre = (before.x, before.y or 0.0, before.z)
    changes = [(-1, i) for i in car.removed] + [(1, i) for i in car.added]
    changes += [(1, carried(name, body)) for name, body in made]
    known = c is not None and car.track_front is not None and car.track_rear is not None
    return Bare(
        mass=state.mass,
        rear=state.rear,
        y_moment=state.mass * (state.y or 0.0),
        z=state.z,
        wheelbase=car.wheelbase,
        share_before=whole.before.front_share,
        laden=tuple(_load(car, case.items) for case in car.laden),
        tracks=(car.track_front, car.track_rear) if known and car.track_front and car.track_rear else None,
        tilt=(0.0, 0.0) if c is None else (c.front_right - c.front_left, c.rear_right - c.rear_left),
        centre=centre,
        inertia=(0.0, 0.0, 0.0) if centre is None else _about(changes, centre),
    )


def _load(car: Car, items: Sequence[Item]) -> Load:
    """Return what a laden case adds."""
    rear = [i.mass * i.x / car.wheelbase for i in items]
    front = [i.mass - r for i, r in zip(items, rear, strict=True)]
    sides = [2 * (i.y or 0.0) for i in items]
    return Load(
        mass=sum(i.mass for i in items),
        rear=sum(rear),
        tilt_front=sum(f * s for f, s in zip(front, sides, strict=True)) / (car.track_front or 1.0),
        tilt_rear=sum(r * s for r, s in zip(rear, sides, strict=True)) / (car.track_rear or 1.0),
    )


def _about(changes: Sequence[tuple[int, Item]], centre: Three) -> Three:
    """Return what signed items add to the inertia about a point, kg·mm²."""
    total = np.zeros(3)
    for sign, item in changes:
        total += sign * np.array(inertia_about(item, centre))
    roll, pitch, yaw = total.tolist()
    return roll, pitch, yaw


def limits_of(car: Car, strings: int = 1, share: float | None = None, box: float | None = None) -> Limits:
    """Return the hard limits of a car: plate, tyres, equal strings, and if wanted a most shift and a heaviest box."""
    r, t = car.ratings, car.tyres
    table = tyre_table()[0]
    return Limits(
        front=r.front,
        rear=r.rear,
        gross=r.gross,
        front_tyre=None if t is None else table.get(t.front),
        rear_tyre=None if t is None else table.get(t.rear),
        step=strings,
        share=share,
        box=box,
    )


def rule_limits(limits: Limits, rules: Profile, car: Car) -> Limits:
    """Return limits with what a rule profile asks on top: the review would fail what breaks it."""
    bounds = list(limits.bounds)
    gross, front, rear = limits.gross, limits.front, limits.rear
    for one in rules.limits:
        name = f"{one.quantity} ({rules.name})"
        if one.quantity == "front share change":
            bounds.append(Bound(name=name, of="share change", least=one.least, most=one.most))
        elif one.quantity == "kerb mass change" and car.ratings.kerb is not None:
            low, high = (None if e is None else car.ratings.kerb * (1 + e / 100) for e in (one.least, one.most))
            bounds.append(Bound(name=name, of="mass", least=low, most=high))
        elif one.quantity == "laden mass":
            gross = _tighter(gross, one.most, car.ratings.gross)
        elif one.quantity == "front axle load":
            front = _tighter(front, one.most, car.ratings.front)
        elif one.quantity == "rear axle load":
            rear = _tighter(rear, one.most, car.ratings.rear)
    return replace(limits, bounds=tuple(bounds), gross=gross, front=front, rear=rear)


def _tighter(limit: float | None, percent: float | None, rating: float | None) -> float | None:
    """Return the lesser of a limit and so many per cent of a rating, kg."""
    if percent is None or rating is None:
        return limit
    return min(percent / 100 * rating, np.inf if limit is None else limit)


def forbidden_totals(job: Job, module: str) -> dict[str, frozenset[int]]:
    """Return the totals of modules whose voltage the controller, the charger or the fuse does not bear, by the check.

    The review's own checks are asked, with every module in one box: cables between boxes change it by a volt or less.
    """
    electrical, ask = job.catalogue.module(module).electrical, job.asked.pack
    broken: dict[str, set[int]] = {}
    for count in range(ask.strings, _MOST_MODULES + 1, ask.strings):
        try:
            found = pack_findings(pack_of(electrical, [BoxLoad(name="all", count=count)], ask), electrical, ask)
            names = [f.check for f in found if f.verdict == "fail" and f.unit == "V"]
        except ValueError:  # more volts than any table has
            names = ["voltage in no table"]
        for name in names:
            broken.setdefault(name, set()).add(count)
    return {name: frozenset(totals) for name, totals in broken.items()}


def as_asked(job: Job, layouts: Layouts) -> int | None:
    """Return the layout that the job itself asks for; None if it does not go in or does not keep the limits."""
    wanted = []
    for name, choices in zip(layouts.bays, layouts.choices, strict=True):
        ask = job.boxes[name]
        same = [k for k, c in enumerate(choices) if c is not None and not _differs(ask, c)]
        if not same:
            return None
        wanted.append(same[0])
    found = np.nonzero((layouts.chosen == wanted).all(axis=1))[0]
    return int(found[0]) if len(found) else None


def _differs(ask: BoxAsk, choice: Choice) -> dict[str, Value]:
    """Return the keys that a choice changes in a box."""
    found: dict[str, Value] = {}
    for key, value in choice.keys.items():
        now = getattr(ask, key)
        if value != (list(now) if isinstance(now, tuple) else now):
            found[key] = value
    return found


def changes_for(job: Job, layouts: Layouts, i: int) -> dict[str, dict[str, Value] | None]:
    """Return what layout i changes in the job's boxes, for `write_back`; None for a box that would hold nothing."""
    found: dict[str, dict[str, Value] | None] = {}
    units = job.asked.units
    for name, choice in layouts.picked(i).items():
        if choice is None:
            found[name] = None
            continue
        keys = _differs(job.boxes[name], choice)
        # A job in inches reads a bare number as inches: say the unit then.
        at, yaw = keys.get("at"), keys.get("yaw")
        if isinstance(at, list) and units.length != "mm":
            keys["at"] = [f"{v} mm" for v in at]
        if yaw is not None and units.angle != "deg":
            keys["yaw"] = f"{yaw} deg"
        found[name] = keys
    return found


def reach_of(road: Road, energy: float, usable: float, drive: Drive | None = None) -> ReachOf:
    """Return the everyday range in km as a function of modules (n,) and the car's mass (n,) kg.

    Consumption is reckoned at a few masses and taken straight between them: it is all but linear.

    Args:
        road: the job's road load and losses.
        energy: of one module, kWh.
        usable: share of it that is used.
        drive: motor and gears, if they are known.
    """

    def reach(modules: NDArray[np.int64], mass: Array) -> Array:
        steps = np.linspace(float(mass.min()), float(mass.max()) + 1.0, 6)
        use = [ranges(1.0, *road_of(road, float(m), drive)).everyday.per_km for m in steps]
        out: Array = 1000 * modules * energy * usable / np.interp(mass, steps, use)
        return out

    return reach
