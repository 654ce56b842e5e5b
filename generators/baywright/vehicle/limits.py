"""What the states of a car are held against: its plate, its tyres, and how it drove before."""

import tomllib
from collections.abc import Iterator, Sequence
from functools import cache

from baywright.finding import Finding, Verdict, at_most
from baywright.rooms import room
from baywright.vehicle.car import Car, Item, Tyres
from baywright.vehicle.state import State

# Shift of the front share beyond which a person should look, in points of %.
SHARE_LOOK = 2.0
SHARE_SOURCE = "common practice, no source: drivers feel 2 points"
# Loads nearer to a rating than this share of it deserve a look: axle scales are no better than about 1 %.
NEAR_RATING = 0.02
RATING_SOURCE = "common practice, no source: 2 % for the scales and what is forgotten"


def findings_of(
    car: Car, before: State, after: State, laden: Sequence[State], added: Sequence[Item]
) -> Iterator[Finding]:
    """Yield every finding about a converted car."""
    for state in (after, *laden):
        yield from rating_findings(car, state)
        yield from tyre_findings(car, state)
    yield share_finding(before, after)
    yield from unknown_findings(car, (*car.removed, *added))


def rating_findings(car: Car, state: State) -> Iterator[Finding]:
    """Yield what the car's plate says about a state: each axle and the whole car."""
    ratings = car.ratings
    for check, value, limit in (
        ("front axle load", state.front, ratings.front),
        ("rear axle load", state.rear, ratings.rear),
        ("gross mass", state.mass, ratings.gross),
    ):
        name = check if state.name == "after" else f"{check}, {state.name}"
        if limit is None:
            if state.name == "after":
                message = f"{value:.0f} kg after; no rating to hold it against: read it off the car's plate"
                yield Finding(
                    subject="car",
                    check=name,
                    verdict="look",
                    message=message,
                    value=value,
                    unit="kg",
                    source=ratings.source,
                )
            continue
        left = "; that much is left for people and luggage" if check == "gross mass" and state.name == "after" else ""
        yield _load_finding(name, f"{value:.0f} kg {state.name}", value, limit, "its rating", ratings.source, left)


def _load_finding(
    check: str, found: str, value: float, limit: float, what: str, source: str, left: str = ""
) -> Finding:
    margin = at_most(value, limit)
    verdict: Verdict = "fail" if margin < 0 else "look" if margin < NEAR_RATING else "pass"
    words = {
        "fail": f"is {value - limit:.0f} kg over {what} of {limit:.0f} kg: take mass off, or move it",
        "look": f"is only {limit - value:.0f} kg under {what} of {limit:.0f} kg: weigh the finished car",
        "pass": f"is {limit - value:.0f} kg under {what} of {limit:.0f} kg{left}",
    }
    return Finding(
        subject="car",
        check=check,
        verdict=verdict,
        message=f"{found} {words[verdict]}",
        value=value,
        limit=limit,
        unit="kg",
        margin=margin,
        source=f"{source}; {RATING_SOURCE}" if verdict == "look" else source,
    )


@cache
def tyre_table() -> tuple[dict[int, float], str]:
    """Return kg by load index, and the table's source."""
    data = tomllib.loads((room("shared") / "rules" / "tyre_loads.toml").read_text(encoding="utf-8"))
    return {int(index): float(load) for index, load in data["load"].items()}, str(data["source"])


def tyre_findings(car: Car, state: State) -> Iterator[Finding]:
    """Yield what the tyres say about a state: the heavier wheel of each axle, or half the axle."""
    if car.tyres is None:
        return
    for axle, index, load in _wheels(car.tyres, state):
        check = f"{axle} tyre load" if state.name == "after" else f"{axle} tyre load, {state.name}"
        table, source = tyre_table()
        if index not in table:
            yield Finding(
                subject="car",
                check=check,
                verdict="look",
                message=f"load index {index} is not in the table ({min(table)} to {max(table)}): look it up",
                source=source,
            )
            continue
        found = f"{load:.0f} kg {state.name} on the heavier {axle} tyre"
        yield _load_finding(check, found, load, table[index], f"what load index {index} carries,", source)


def _wheels(tyres: Tyres, state: State) -> Iterator[tuple[str, int, float]]:
    c = state.corners
    yield "front", tyres.front, state.front / 2 if c is None else max(c.front_left, c.front_right)
    yield "rear", tyres.rear, state.rear / 2 if c is None else max(c.rear_left, c.rear_right)


def share_finding(before: State, after: State) -> Finding:
    """Return what the change of the front share means."""
    change = after.front_share - before.front_share
    look = abs(change) > SHARE_LOOK
    message = f"{after.front_share:.1f} % on the front axle, {before.front_share:.1f} % before: {change:+.1f} points"
    if look:
        way = "rearward" if change > 0 else "forward"
        message += f"; move mass {way}, or reckon with other springs and tyre pressures"
    return Finding(
        subject="car",
        check="front share",
        verdict="look" if look else "pass",
        message=message,
        value=change,
        limit=SHARE_LOOK,
        unit="points of %",
        margin=at_most(abs(change), SHARE_LOOK),
        source=SHARE_SOURCE,
    )


def unknown_findings(car: Car, items: Sequence[Item]) -> Iterator[Finding]:
    """Yield what is not known and therefore not reckoned."""
    sides = tuple(i.name for i in items if i.y is None)
    if car.corners is None or car.track_front is None or car.track_rear is None:
        yield _unknown("left and right", "no corner was weighed or a track is missing: weigh each wheel")
    elif sides:
        yield _unknown("left and right", f"counted in the middle for want of a y: {', '.join(sides)}", sides)
    heights = tuple(i.name for i in items if i.z is None)
    if car.height is None:
        message = "the height of the car's centroid is not known: weigh one axle with the other raised"
        yield _unknown("centroid height", message)
    elif heights:
        message = f"not reckoned, for want of a height of: {', '.join(heights)}"
        yield _unknown("centroid height", message, heights)


def _unknown(check: str, message: str, where: tuple[str, ...] = ()) -> Finding:
    return Finding(subject="car", check=check, verdict="look", message=message, source="statics", where=where)
