"""What the bays of a job can take: every box generated, set in its bay and checked, by count and orientation."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.bay.fit import check_fit
from baywright.bay.measured import bay_of
from baywright.box.generate import BoxDesign, generate
from baywright.finding import CannotBuild, Finding
from baywright.job.drive import Road
from baywright.job.models import BoxAsk
from baywright.job.parts import Orientation
from baywright.job.read import Job
from baywright.piece.solid import Body
from baywright.shape.mass import MassProperties
from baywright.vehicle.balance import balance
from baywright.vehicle.car import Car
from baywright.vehicle.range import ranges
from baywright.vehicle.road import Array, road_of
from baywright.vehicle.split import Bare, BayChoices, Choice, Layouts, Limits, ReachOf
from baywright.vehicle.write_back import Value

# How many modules a box is tried with at most; the bay ends it sooner.
MOST_IN_A_BOX = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A box that was tried and does not go in: why."""

    box: str
    place: str
    count: int
    reason: str


def bodies_of(box: BoxDesign) -> list[tuple[str, Body]]:
    """Return every piece and fastener of a box as (mark, body in the box's frame)."""
    items = [*box.assembly.placed, *box.assembly.fasteners()]
    return [(item.mark, body.moved(item.pose)) for item in items for body in item.piece.bodies()]


def choices_of(
    job: Job, most: int = MOST_IN_A_BOX, orientations: bool = True, boxes: Sequence[str] | None = None
) -> tuple[list[BayChoices], list[Refused]]:
    """Return what the bay of each box of a job can take, and where each try ended.

    Every box keeps its style, place and stacking; its count rises from one until it no longer goes in, for each way its
    module may lie.

    Args:
        job: the job.
        most: largest count to try.
        orientations: whether to try the module's other orientations too.
        boxes: which boxes; all if None.

    Raises:
        BadInput: if a name in the job is unknown.
    """
    found, refused = [], []
    for name in job.boxes if boxes is None else boxes:
        ask = job.boxes[name]
        ways: Sequence[Orientation] = [ask.orientation]
        if orientations:
            allowed = job.catalogue.module(ask.module).orientations
            ways = [ask.orientation, *(o for o in allowed if o != ask.orientation)]
        choices: list[Choice] = []
        for way in ways:
            some, end = _stack(job, name, ask, way, most)
            choices += some
            refused += end
        found.append(BayChoices(bay=name, choices=tuple(choices)))
    return found, refused


def _stack(job: Job, name: str, ask: BoxAsk, way: Orientation, most: int) -> tuple[list[Choice], list[Refused]]:
    """Return the boxes of one orientation that go in, and what kept smaller and larger ones out.

    A low box may have no room for its fittings: counts below the first that can be made are passed over. Above it a box
    only grows, so that the first that does not go in ends the stack.
    """
    found: list[Choice] = []
    refused: list[Refused] = []
    for count in range(1, most + 1):
        try:
            box = generate(name, ask.model_copy(update={"count": count, "orientation": way}), job.catalogue)
        except CannotBuild as no:
            refused = [*refused[:1], Refused(box=name, place=way, count=count, reason=no.sentence)]
            if found:
                break
            continue
        worst = _in_the_way(job, name, ask, box)
        if worst is not None:
            refused = [
                *refused[:1],
                Refused(box=name, place=way, count=count, reason=f"{worst.check}: {worst.message}"),
            ]
            break
        whole = box.mass_properties.moved(box.pose)
        x, y, z = whole.centroid.tolist()
        found.append(Choice(place=way, count=count, mass=whole.mass, x=x, y=y, z=z))
    return found, refused


def _in_the_way(job: Job, name: str, ask: BoxAsk, box: BoxDesign) -> Finding | None:
    """Return what keeps a box out of its bay, or None."""
    if ask.bay is None:
        return None
    fit = check_fit(name, bodies_of(box), box.pose, bay_of(ask.bay, job.bays[ask.bay]))
    return next((f for f in fit.findings if f.verdict == "fail"), None)


def bare_of(car: Car, carried: Sequence[tuple[str, MassProperties]] = ()) -> Bare:
    """Return a car without its boxes, with everything else out and in.

    Args:
        car: the car.
        carried: what was made for it, the boxes apart, as (name, mass properties in the vehicle's frame).

    Raises:
        ValueError: if its figures can't be true together.
    """
    whole = balance(car, carried)
    state = whole.after
    return Bare(
        mass=state.mass,
        rear=state.rear,
        y_moment=state.mass * (state.y or 0.0),
        z=state.z,
        wheelbase=car.wheelbase,
        share_before=whole.before.front_share,
        laden=tuple((s.mass - state.mass, s.rear - state.rear) for s in whole.laden),
    )


def limits_of(car: Car, strings: int = 1, share: float | None = None, box: float | None = None) -> Limits:
    """Return the hard limits of a car: its plate, equal strings, and if wanted a most shift and a heaviest box."""
    r = car.ratings
    return Limits(front=r.front, rear=r.rear, gross=r.gross, step=strings, share=share, box=box)


def as_asked(job: Job, layouts: Layouts) -> int | None:
    """Return the layout that the job itself asks for; None if it does not go in or does not keep the limits."""
    wanted = []
    for name, choices in zip(layouts.bays, layouts.choices, strict=True):
        ask = job.boxes[name]
        same = [
            k for k, c in enumerate(choices) if c is not None and (c.count, c.place) == (ask.count, ask.orientation)
        ]
        if not same:
            return None
        wanted.append(same[0])
    found = np.nonzero((layouts.chosen == wanted).all(axis=1))[0]
    return int(found[0]) if len(found) else None


def changes_for(job: Job, layouts: Layouts, i: int) -> dict[str, dict[str, Value] | None]:
    """Return what layout i changes in the job's boxes, for `write_back`; None for a box that would hold nothing."""
    found: dict[str, dict[str, Value] | None] = {}
    for name, choice in layouts.picked(i).items():
        ask = job.boxes[name]
        if choice is None:
            found[name] = None
            continue
        keys: dict[str, Value] = {} if choice.count == ask.count else {"count": choice.count}
        if choice.place != ask.orientation:
            keys["orientation"] = choice.place
        found[name] = keys
    return found


def reach_of(road: Road, energy: float, usable: float) -> ReachOf:
    """Return the everyday range in km as a function of modules (n,) and the car's mass (n,) kg.

    Consumption is reckoned at a few masses and taken straight between them: it is all but linear.

    Args:
        road: the job's road load and losses.
        energy: of one module, kWh.
        usable: share of it that is used.
    """

    def reach(modules: NDArray[np.int64], mass: Array) -> Array:
        steps = np.linspace(float(mass.min()), float(mass.max()) + 1.0, 6)
        use = [ranges(1.0, *road_of(road, float(m))).everyday.per_km for m in steps]
        out: Array = 1000 * modules * energy * usable / np.interp(mass, steps, use)
        return out

    return reach
