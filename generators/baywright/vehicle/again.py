"""Later weighings against what was reckoned: is something in the car that is on no list, or the other way round?"""

from collections.abc import Iterator, Mapping, Sequence
from math import hypot

from baywright.finding import Finding
from baywright.vehicle.car import Car, Item, Reading
from baywright.vehicle.limits import rating_findings
from baywright.vehicle.state import State

_SOURCE = "weighed less reckoned, against twice the standard uncertainty of both (JCGM 100:2008, from memory)"
_NAMES = {"stripped": "stripped", "after": "finished"}


def again_findings(car: Car, reckoned: Mapping[str, State], added: Sequence[Item]) -> Iterator[Finding]:
    """Yield how every later weighing agrees with its state as reckoned; a finished car's with its ratings too.

    Args:
        car: the car.
        reckoned: by "stripped" and "after", the state.
        added: what went in, boxes included.
    """
    for reading in car.again:
        state = reckoned[reading.when]
        out = () if car.when == "stripped" else car.removed
        yield _agreement(car, reading, state, (*out, *added) if reading.when == "after" else out)
        if reading.when == "after":
            mass = reading.front + reading.rear
            weighed = State(
                name="as weighed, finished",
                mass=mass,
                front=reading.front,
                rear=reading.rear,
                x=reading.rear / mass * car.wheelbase,
            )
            yield from rating_findings(car, weighed)


def _agreement(car: Car, reading: Reading, state: State, items: Sequence[Item]) -> Finding:
    front_error, rear_error = hypot(car.front_error, reading.front_error), hypot(car.rear_error, reading.rear_error)
    mass_error = hypot(front_error, rear_error)
    for item in items:
        mass, place = item.errors()
        behind = item.x / car.wheelbase
        moved = item.mass * place / car.wheelbase
        mass_error = hypot(mass_error, mass)
        front_error = hypot(front_error, mass * (1 - behind), moved)
        rear_error = hypot(rear_error, mass * behind, moved)
    front, rear = reading.front - state.front, reading.rear - state.rear
    off = front + rear
    # How many times its own 95 % each of the three is.
    worst = max(
        abs(d) / (2 * e) if e > 0 else 0.0 for d, e in ((off, mass_error), (front, front_error), (rear, rear_error))
    )
    name = _NAMES[reading.when]
    message = (
        f"{reading.front + reading.rear:.0f} kg {name} on the scales, {state.mass:.0f} kg reckoned: {off:+.0f} kg, "
        f"{front:+.0f} kg in front and {rear:+.0f} kg behind"
    )
    if worst <= 1:
        message += ": within what scales and list may be off"
    elif abs(off) > 2 * mass_error:
        x = rear * car.wheelbase / off
        what = "is in the car that is on no list" if off > 0 else "is on the list that is not in the car"
        message += f": as if {abs(off):.0f} kg at X = {x:.0f} mm {what}"
    else:
        message += ": the mass agrees, its place does not; measure again where the heavy things are"
    return Finding(
        subject="car",
        check=f"weighed {name}",
        verdict="pass" if worst <= 1 else "look",
        message=message,
        value=abs(off),
        limit=2 * mass_error,
        unit="kg",
        margin=1 - worst,
        source=_SOURCE,
    )
