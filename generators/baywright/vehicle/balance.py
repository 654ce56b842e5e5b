"""Weight and balance: the car as weighed, stripped, and converted, against its ratings.

The lever rule: a mass m at x behind the front axle puts m·x/L on the rear axle and the rest on the front axle; what
comes out is a negative mass. Formulas as in any text on vehicle dynamics; by statics, without assumption.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from baywright.finding import Finding, Verdict, at_most, verdict_of
from baywright.shape.mass import MassProperties
from baywright.vehicle.car import Car, Corners, Item, Ratings, carried

# Shift of the front share beyond which a person should look, in points of %.
SHARE_LOOK = 2.0
SHARE_SOURCE = "common practice, no source: drivers feel 2 points"
# Loads nearer to a rating than this share of it deserve a look: axle scales are no better than about 1 %.
NEAR_RATING = 0.02
RATING_SOURCE = "common practice, no source: 2 % for the scales and what is forgotten"


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """Weight and balance of a conversion.

    Attributes:
        car: the car's name.
        wheelbase: mm.
        before: as weighed.
        stripped: with everything taken out.
        after: converted.
        removed: what came out.
        added: what went in, boxes included.
        findings: what a person should read.
    """

    car: str
    wheelbase: float
    before: State
    stripped: State
    after: State
    removed: tuple[Item, ...]
    added: tuple[Item, ...]
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
    before = as_weighed(car)
    stripped = changed(car, before, "stripped", car.removed, -1)
    after = changed(car, stripped, "after", added, 1)
    return Balance(
        car=car.name,
        wheelbase=car.wheelbase,
        before=before,
        stripped=stripped,
        after=after,
        removed=car.removed,
        added=added,
        findings=(
            *rating_findings(car.name, after, car.ratings),
            share_finding(car.name, before, after),
            *unknown_findings(car, (*car.removed, *added)),
        ),
    )


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
        name="before",
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

    The load of an item is shared between the axles by its lever arm, and within each axle between left and right by its
    arm to the tyres' middles. Stiff springs or a stiff body may move some of it across the diagonal; total, axle loads
    and centroid do not depend on that. An item without y counts in the middle; one without z makes the height unknown.

    Raises:
        ValueError: if nothing or less would remain on an axle.
    """
    length = car.wheelbase
    mass = state.mass + sign * sum(i.mass for i in items)
    rear = state.rear + sign * sum(i.mass * i.x / length for i in items)
    front = mass - rear
    if mass <= 0 or front <= 0 or rear <= 0:
        raise ValueError(
            f"{car.name}: {name}, {front:.0f} kg would stand on the front axle and {rear:.0f} kg on the rear axle; "
            "check masses and places"
        )
    y = z = corners = None
    if state.corners is not None and state.y is not None and car.track_front and car.track_rear:
        y = (state.mass * state.y + sign * sum(i.mass * (i.y or 0.0) for i in items)) / mass
        fl, fr, rl, rr = state.corners.as_tuple()
        for item in items:
            behind = item.x / length
            ahead_right = 0.5 + (item.y or 0.0) / car.track_front
            behind_right = 0.5 + (item.y or 0.0) / car.track_rear
            fl += sign * item.mass * (1 - behind) * (1 - ahead_right)
            fr += sign * item.mass * (1 - behind) * ahead_right
            rl += sign * item.mass * behind * (1 - behind_right)
            rr += sign * item.mass * behind * behind_right
        corners = Corners(front_left=fl, front_right=fr, rear_left=rl, rear_right=rr)
    heights = [i.z for i in items if i.z is not None]
    if state.z is not None and len(heights) == len(items):
        z = (state.mass * state.z + sign * sum(i.mass * h for i, h in zip(items, heights, strict=True))) / mass
    return State(name=name, mass=mass, front=front, rear=rear, x=rear / mass * length, y=y, z=z, corners=corners)


def rating_findings(subject: str, state: State, ratings: Ratings) -> list[Finding]:
    """Return what the car's plate says about a state: each axle and the whole car."""
    found = []
    for check, value, limit in (
        ("front axle load", state.front, ratings.front),
        ("rear axle load", state.rear, ratings.rear),
        ("gross mass", state.mass, ratings.gross),
    ):
        if limit is None:
            found.append(
                Finding(
                    subject=subject,
                    check=check,
                    verdict="look",
                    message=f"{value:.0f} kg {state.name}; no rating to hold it against: read it off the car's plate",
                    value=value,
                    unit="kg",
                    source=ratings.source,
                )
            )
            continue
        margin = at_most(value, limit)
        verdict: Verdict = "fail" if margin < 0 else "look" if margin < NEAR_RATING else "pass"
        words = {
            "fail": f"is {value - limit:.0f} kg over its rating of {limit:.0f} kg: take mass off, or move it",
            "look": f"is only {limit - value:.0f} kg under its rating of {limit:.0f} kg: weigh the finished car",
            "pass": f"is {limit - value:.0f} kg under its rating of {limit:.0f} kg",
        }
        found.append(
            Finding(
                subject=subject,
                check=check,
                verdict=verdict,
                message=f"{value:.0f} kg {state.name} {words[verdict]}",
                value=value,
                limit=limit,
                unit="kg",
                margin=margin,
                source=ratings.source if verdict != "look" else f"{ratings.source}; {RATING_SOURCE}",
            )
        )
    return found


def share_finding(subject: str, before: State, after: State) -> Finding:
    """Return what the change of the front share means."""
    change = after.front_share - before.front_share
    look = abs(change) > SHARE_LOOK
    message = f"{after.front_share:.1f} % on the front axle, {before.front_share:.1f} % before: {change:+.1f} points"
    if look:
        message += (
            f"; move mass {'rearward' if change > 0 else 'forward'}, or reckon with other springs and tyre pressures"
        )
    return Finding(
        subject=subject,
        check="front share",
        verdict="look" if look else "pass",
        message=message,
        value=change,
        limit=SHARE_LOOK,
        unit="points of %",
        margin=at_most(abs(change), SHARE_LOOK),
        source=SHARE_SOURCE,
    )


def unknown_findings(car: Car, items: Sequence[Item]) -> list[Finding]:
    """Return what is not known and therefore not reckoned."""
    found = []
    sides = [i.name for i in items if i.y is None]
    if car.corners is None or car.track_front is None or car.track_rear is None:
        found.append(
            _unknown(car.name, "left and right", "no corner was weighed or a track is missing: weigh each wheel", ())
        )
    elif sides:
        found.append(
            _unknown(
                car.name, "left and right", f"counted in the middle for want of a y: {', '.join(sides)}", tuple(sides)
            )
        )
    heights = [i.name for i in items if i.z is None]
    if car.height is None:
        message = "the height of the car's centroid is not known: weigh one axle with the other raised"
        found.append(_unknown(car.name, "centroid height", message, ()))
    elif heights:
        message = f"not reckoned, for want of a height of: {', '.join(heights)}"
        found.append(_unknown(car.name, "centroid height", message, tuple(heights)))
    return found


def _unknown(subject: str, check: str, message: str, where: tuple[str, ...]) -> Finding:
    return Finding(subject=subject, check=check, verdict="look", message=message, source="statics", where=where)
