"""Rule profiles: what a finished car must meet where it is registered, as data; the local code decides."""

from functools import cache
from typing import Literal

from pydantic import Field, model_validator

from baywright.finding import Finding, Verdict
from baywright.job.faults import read_as
from baywright.job.messages import BadInput, Problem, shown, unknown
from baywright.job.row import Named, Number, Row
from baywright.job.toml import read_toml
from baywright.rooms import room
from baywright.vehicle.balance import Balance
from baywright.vehicle.car import Ratings
from baywright.vehicle.state import State

Quantity = Literal["kerb mass change", "front share change", "power", "laden mass", "front axle load", "rear axle load"]
_UNITS = {"front share change": "points of %"}
_NEEDS = {
    "kerb mass change": "car.papers.kerb, the original car's kerb mass",
    "power": "car.papers.power, the original engine's power, and the motor's",
    "laden mass": "car.ratings.gross",
    "front axle load": "car.ratings.front_axle",
    "rear axle load": "car.ratings.rear_axle",
}
CAUTION = "the local code and a licensed engineer decide"


class Limit(Row):
    """A quantity and what it must lie between: %, or points of % for the front share's change."""

    quantity: Quantity
    least: Number | None = None
    most: Number | None = None

    @model_validator(mode="after")
    def _some(self) -> "Limit":
        if self.least is None and self.most is None:
            raise ValueError("a limit needs least or most")
        if self.least is not None and self.most is not None and self.least > self.most:
            raise ValueError("least must not be more than most")
        return self


class Profile(Named):
    """A rule profile: limits, and remarks that no number can hold."""

    limits: list[Limit] = Field(min_length=1)
    remarks: list[str] = Field(default=[])


@cache
def profiles() -> dict[str, Profile]:
    """Return every rule profile of the shop by name.

    Raises:
        BadInput: if a file of profiles is wrong, with file, line and key.
    """
    found: dict[str, Profile] = {}
    for file in sorted((room("shared") / "rules").glob("profiles*.toml")):
        data, lines = read_toml(file)
        for name, row in data.items():
            if name in found:
                raise BadInput(
                    [Problem(shown(file), lines.get((name,)), name, "another file has this profile already")]
                )
            found[name] = read_as(Profile, {"name": name, **row}, file=file, lines=lines, at=(name,))
    return found


def profile(name: str) -> Profile:
    """Return a rule profile.

    Raises:
        BadInput: if there is none of this name.
    """
    known = profiles()
    if name not in known:
        raise BadInput([Problem("rules", None, "", unknown("rule profile", name, known))])
    return known[name]


def check_rules(
    rules: Profile, whole: Balance, ratings: Ratings, power: float | None = None, power_before: float | None = None
) -> list[Finding]:
    """Return what a rule profile says about a converted car.

    Args:
        rules: the profile.
        whole: the car's balance.
        ratings: the car's ratings and kerb mass.
        power: of the motor, continuous, kW; None if not known.
        power_before: of the original engine, kW; None if not known.
    """
    return [_finding(rules, limit, whole, ratings, power, power_before) for limit in rules.limits]


def _finding(
    rules: Profile, limit: Limit, whole: Balance, ratings: Ratings, power: float | None, power_before: float | None
) -> Finding:
    value = _value(limit.quantity, whole, ratings, power, power_before)
    check = f"{limit.quantity} ({rules.name})"
    unit = _UNITS.get(limit.quantity, "%")
    source = f"{rules.source}; {CAUTION}"
    if value is None:
        message = f"not reckoned: give {_NEEDS[limit.quantity]}"
        return Finding(subject="car", check=check, verdict="look", message=message, unit=unit, source=source)
    low, high = limit.least, limit.most
    over = high is not None and value > high
    under = low is not None and value < low
    verdict: Verdict = "fail" if over or under else "pass"
    # The nearer end of the span; its margin as a share of the limit itself.
    ends = [(abs(end) or 1.0, sign * (end - value), end) for end, sign in ((low, -1), (high, 1)) if end is not None]
    size, room_left, end = min(ends, key=lambda e: e[1] / e[0])
    span = " to ".join(f"{e:g}" for e in (low, high) if e is not None)
    words = "at most " if low is None else "at least " if high is None else ""
    message = f"{value:+.1f}" if "change" in limit.quantity else f"{value:.1f}"
    message += f" {unit}; {words}{span} {unit} asked"
    if verdict == "fail":
        message += f": over by {value - high:.1f}" if over and high is not None else ""
        message += f": under by {low - value:.1f}" if under and low is not None else ""
    return Finding(
        subject="car",
        check=check,
        verdict=verdict,
        message=message,
        value=value,
        limit=end,
        unit=unit,
        margin=room_left / size,
        source=source,
    )


def _value(
    quantity: Quantity, whole: Balance, ratings: Ratings, power: float | None, power_before: float | None
) -> float | None:
    states: tuple[State, ...] = (whole.after, *whole.laden)
    if quantity == "kerb mass change":
        return None if ratings.kerb is None else 100 * (whole.after.mass / ratings.kerb - 1)
    if quantity == "front share change":
        return whole.share_change
    if quantity == "power":
        return None if power is None or power_before is None else 100 * power / power_before
    loads, most = {
        "laden mass": ([s.mass for s in states], ratings.gross),
        "front axle load": ([s.front for s in states], ratings.front),
        "rear axle load": ([s.rear for s in states], ratings.rear),
    }[quantity]
    return None if most is None else 100 * max(loads) / most
