"""Sharing modules out between bays: every way to do it, what the car's limits leave, which are worth a look."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from baywright.vehicle.road import Array
from baywright.vehicle.unbeaten import unbeaten
from baywright.vehicle.write_back import Value

# Above this many ways the tables would not fit in a small machine's memory.
MOST_LAYOUTS = 8_000_000
_KG_M2 = 1e-6  # kg·mm² to kg·m²

# Range in km from the number of modules (n,) and the car's mass (n,) kg.
ReachOf = Callable[[NDArray[np.int64], Array], Array]
Flags = NDArray[np.bool_]
# (3,) about the axes X, Y, Z: roll, pitch, yaw.
Three = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One box that a bay can take.

    Attributes:
        place: how and where: "flat", "on end, against the bulkhead".
        count: modules.
        mass: of the whole box, kg.
        x: its centroid behind the front axle, mm.
        y: right of the middle, mm.
        z: above ground, mm.
        inertia: its own about its centroid, kg·mm².
        keys: what a job's box says for it, by key.
    """

    place: str
    count: int
    mass: float
    x: float
    y: float
    z: float
    inertia: Three = (0.0, 0.0, 0.0)
    keys: Mapping[str, Value] = field(default_factory=dict, hash=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class BayChoices:
    """What a bay can take, by any count and place; leaving it empty is always one more choice."""

    bay: str
    choices: tuple[Choice, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What a laden case adds: kg, on the rear axle, and on the right wheel of each axle more than on its left one."""

    mass: float
    rear: float
    tilt_front: float = 0.0
    tilt_rear: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bare:
    """The car without its boxes: stripped, with motor and all else in.

    Attributes:
        mass: kg.
        rear: load on the rear axle, kg.
        y_moment: mass times centroid right of the middle, kg·mm.
        z: centroid above ground, mm; None if not known.
        wheelbase: mm.
        share_before: front share before the conversion, %.
        laden: what each laden case adds.
        tracks: front and rear, mm; None if the wheels' own loads are not known.
        tilt: how much more the right wheel of the front and of the rear axle carries than the left one, kg.
        centre: the car's centroid before the conversion, mm; None if its height is not known.
        inertia: what came out and went in, the boxes apart, adds about that centre, kg·mm².
    """

    mass: float
    rear: float
    y_moment: float
    z: float | None
    wheelbase: float
    share_before: float
    laden: tuple[Load, ...] = ()
    tracks: tuple[float, float] | None = None
    tilt: tuple[float, float] = (0.0, 0.0)
    centre: Three | None = None
    inertia: Three = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """A span that a rule profile sets: of the finished car's mass (kg), or the front share's change (points of %)."""

    name: str
    of: Literal["mass", "share change"]
    least: float | None = None
    most: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What a layout must keep.

    Attributes:
        front: front axle rating, kg.
        rear: rear axle rating, kg.
        gross: gross rating, kg.
        front_tyre: what a front tyre carries, kg.
        rear_tyre: what a rear tyre carries, kg.
        share: most change of the front share, points of %; None for no limit.
        least: fewest modules in all.
        most: most modules in all; None for no limit.
        step: the total must be a multiple of it (strings in parallel).
        box: heaviest box that the shop can lift, kg; None for no limit.
        bounds: what rule profiles ask beyond that.
        totals: totals of modules that something else forbids, by its name: a controller's window.
    """

    front: float | None = None
    rear: float | None = None
    gross: float | None = None
    front_tyre: float | None = None
    rear_tyre: float | None = None
    share: float | None = None
    least: int = 1
    most: int | None = None
    step: int = 1
    box: float | None = None
    bounds: tuple[Bound, ...] = ()
    totals: Mapping[str, frozenset[int]] = field(default_factory=dict)


@dataclass(frozen=True, eq=False, kw_only=True)
class Layouts:
    """Every layout that keeps the limits, n of them over b bays.

    Attributes:
        bays: names.
        choices: by bay, its choices; None is the empty bay.
        chosen: (n, b) index into the bay's choices.
        modules: (n,) in all.
        mass: (n,) finished car, kg.
        front: (n,) front axle, kg.
        rear: (n,) rear axle, kg.
        y: (n,) centroid right of the middle, mm.
        z: (n,) centroid above ground, mm; NaN if not known.
        share_change: (n,) change of the front share, points of %.
        inertia: (n, 3) what the conversion adds about roll, pitch and yaw axes, kg·m²; NaN if not known.
        range: (n,) km.
        tried: how many layouts there are without limits.
        dropped: how many broke each limit, alone or with others; tyres are asked only where all else is kept.
        trade: indices of the layouts that no other beats in range, change of share and height at once.
    """

    bays: tuple[str, ...]
    choices: tuple[tuple[Choice | None, ...], ...]
    chosen: NDArray[np.int16]
    modules: NDArray[np.int64]
    mass: Array
    front: Array
    rear: Array
    y: Array
    z: Array
    share_change: Array
    inertia: Array
    range: Array
    tried: int
    dropped: dict[str, int]
    trade: NDArray[np.int64]

    def counts(self, i: int) -> dict[str, int]:
        """Return the modules in each bay of layout i."""
        return {bay: 0 if c is None else c.count for bay, c in self.picked(i).items()}

    def picked(self, i: int) -> dict[str, Choice | None]:
        """Return the choice for each bay of layout i."""
        rows = zip(self.bays, self.choices, self.chosen[i].tolist(), strict=True)
        return {bay: choices[k] for bay, choices, k in rows}

    def nearest(self) -> int | None:
        """Return the layout with the least change of the front share, the farthest of equals; None if there is none."""
        if not len(self.mass):
            return None
        return int(np.lexsort((-self.range, np.round(np.abs(self.share_change), 9)))[0])

    def farthest(self) -> int | None:
        """Return the layout with the most range, of equals the least change of the front share; None if none."""
        if not len(self.mass):
            return None
        return int(np.lexsort((np.abs(self.share_change), np.round(-self.range, 9)))[0])


def split(bare: Bare, bays: Sequence[BayChoices], limits: Limits, reach: ReachOf) -> Layouts:
    """Return every way to share modules out between bays that keeps the limits.

    Args:
        bare: the car without boxes.
        bays: what each bay can take.
        limits: what must be kept.
        reach: how far the car goes.

    Raises:
        ValueError: if there is no bay, or there are more ways than fit in memory.
    """
    if not bays:
        raise ValueError("there is no bay to put a module in")
    options = [(None, *bay.choices) for bay in bays]
    tried = int(np.prod([len(o) for o in options], dtype=np.int64))
    if tried > MOST_LAYOUTS:
        raise ValueError(
            f"{tried} ways to share out the modules are too many ({MOST_LAYOUTS} fit): give fewer places, or fix a bay"
        )
    modules, mass, rear, heaviest = _loads(bare, options, limits)
    good, dropped = _kept(bare, limits, modules, mass, rear, heaviest)
    chosen = _picked(good, [len(o) for o in options])
    modules, mass, rear = modules[good], mass[good], rear[good]
    light = _tyres_hold(bare, limits, options, chosen, mass, rear)
    if not light.all():
        dropped["tyre load"] = int((~light).sum())
        chosen, modules, mass, rear = chosen[light], modules[light], mass[light], rear[light]
    y = (bare.y_moment + _sum(options, chosen, lambda c: c.mass * c.y)) / mass
    z = np.full(len(mass), np.nan)
    if bare.z is not None:
        z = (bare.mass * bare.z + _sum(options, chosen, lambda c: c.mass * c.z)) / mass
    change = 100 * (mass - rear) / mass - bare.share_before
    far = reach(modules, mass) if len(mass) else np.zeros(0)
    goals = [-far, np.abs(change)] + ([] if bare.z is None else [z])
    return Layouts(
        bays=tuple(bay.bay for bay in bays),
        choices=tuple(options),
        chosen=chosen,
        modules=modules,
        mass=mass,
        front=mass - rear,
        rear=rear,
        y=y,
        z=z,
        share_change=change,
        inertia=_inertia(bare, options, chosen, mass, np.column_stack([rear / mass * bare.wheelbase, y, z])),
        range=far,
        tried=tried,
        dropped=dropped,
        trade=unbeaten(np.column_stack(goals)) if len(mass) else np.zeros(0, dtype=np.int64),
    )


def _loads(
    bare: Bare, options: Sequence[tuple[Choice | None, ...]], limits: Limits
) -> tuple[NDArray[np.int64], Array, Array, Array]:
    """Return modules, mass, load on the rear axle and heaviest box of every layout; the last bay runs fastest."""
    modules, heaviest = np.zeros(1, dtype=np.int64), np.zeros(1)
    mass, rear = np.array([bare.mass]), np.array([bare.rear])
    for choices in options:
        count = np.array([0 if c is None else c.count for c in choices])
        weight = np.array([0.0 if c is None else c.mass for c in choices])
        behind = np.array([0.0 if c is None else c.mass * c.x / bare.wheelbase for c in choices])
        modules = (modules[:, None] + count).ravel()
        mass = (mass[:, None] + weight).ravel()
        rear = (rear[:, None] + behind).ravel()
        if limits.box is not None:
            heaviest = np.maximum(heaviest[:, None], weight).ravel()
    return modules, mass, rear, heaviest


def _kept(
    bare: Bare, limits: Limits, modules: NDArray[np.int64], mass: Array, rear: Array, heaviest: Array
) -> tuple[NDArray[np.int64], dict[str, int]]:
    """Return the layouts that keep every limit but the tyres', and how many broke each."""
    front = mass - rear
    change = 100 * front / mass - bare.share_before
    broken: dict[str, Flags] = {"fewest modules": modules < max(limits.least, 1)}
    if limits.most is not None:
        broken["most modules"] = modules > limits.most
    if limits.step > 1:
        broken["equal strings"] = modules % limits.step != 0
    for name, load, laden, most in (
        ("front axle", front, [c.mass - c.rear for c in bare.laden], limits.front),
        ("rear axle", rear, [c.rear for c in bare.laden], limits.rear),
        ("gross mass", mass, [c.mass for c in bare.laden], limits.gross),
    ):
        if most is not None:
            broken[name] = load > most - max([0.0, *laden])
    broken["axle off the ground"] = (front <= 0) | (rear <= 0)
    if limits.share is not None:
        broken["front share"] = np.abs(change) > limits.share
    if limits.box is not None:
        broken["box too heavy to lift"] = heaviest > limits.box
    for bound in limits.bounds:
        value = mass if bound.of == "mass" else change
        low, high = (np.inf * sign if end is None else end for end, sign in ((bound.least, -1), (bound.most, 1)))
        broken[bound.name] = (value < low) | (value > high)
    for name, totals in limits.totals.items():
        # Of the modules in all, which are few numbers, not of the layouts, which are many.
        forbidden = np.zeros(int(modules.max()) + 1, dtype=bool)
        forbidden[[n for n in totals if n < len(forbidden)]] = True
        broken[name] = forbidden[modules]
    good = np.nonzero(~np.logical_or.reduce(list(broken.values())))[0]
    return good, {name: int(mask.sum()) for name, mask in broken.items() if mask.any()}


def _sum(
    options: Sequence[tuple[Choice | None, ...]], chosen: NDArray[np.int16], of: Callable[[Choice], float]
) -> Array:
    """Return a quantity of the boxes summed over the bays of each layout."""
    out = np.zeros(len(chosen))
    for column, choices in enumerate(options):
        out += np.array([0.0 if c is None else of(c) for c in choices])[chosen[:, column]]
    return out


def _tyres_hold(
    bare: Bare,
    limits: Limits,
    options: Sequence[tuple[Choice | None, ...]],
    chosen: NDArray[np.int16],
    mass: Array,
    rear: Array,
) -> Flags:
    """Tell which layouts load no tyre over its index, laden cases too; half the axle where no wheel was weighed."""
    good = np.ones(len(mass), dtype=bool)
    tilts = [np.zeros(len(mass)), np.zeros(len(mass))]
    if bare.tracks is not None:
        length, (wide_front, wide_rear) = bare.wheelbase, bare.tracks
        tilts[0] = bare.tilt[0] + _sum(options, chosen, lambda c: 2 * c.mass * c.y * (1 - c.x / length) / wide_front)
        tilts[1] = bare.tilt[1] + _sum(options, chosen, lambda c: 2 * c.mass * c.y * c.x / length / wide_rear)
    for case in (Load(mass=0.0, rear=0.0), *bare.laden):
        if limits.front_tyre is not None:
            heavier = (mass - rear + case.mass - case.rear + np.abs(tilts[0] + case.tilt_front)) / 2
            good &= heavier <= limits.front_tyre
        if limits.rear_tyre is not None:
            good &= (rear + case.rear + np.abs(tilts[1] + case.tilt_rear)) / 2 <= limits.rear_tyre
    return good


def _inertia(
    bare: Bare, options: Sequence[tuple[Choice | None, ...]], chosen: NDArray[np.int16], mass: Array, centroid: Array
) -> Array:
    """Return what the conversion adds to roll, pitch and yaw inertia about the car's own centroid (n, 3), kg·m².

    About the old centroid the changes add up; the step to the new one takes off mass times distance squared.
    """
    if bare.centre is None or bare.z is None:
        return np.full((len(mass), 3), np.nan)
    centre = np.array(bare.centre)
    step = (centroid - centre) ** 2
    out = np.empty((len(mass), 3))
    for axis in range(3):
        a, b = (axis + 1) % 3, (axis + 2) % 3

        def about(c: Choice, axis: int = axis, a: int = a, b: int = b) -> float:
            arm = np.array([c.x, c.y, c.z]) - centre
            return c.inertia[axis] + c.mass * float(arm[a] ** 2 + arm[b] ** 2)

        added = bare.inertia[axis] + _sum(options, chosen, about)
        out[:, axis] = _KG_M2 * (added - mass * (step[:, a] + step[:, b]))
    return out


def _picked(rows: NDArray[np.int64], sizes: Sequence[int]) -> NDArray[np.int16]:
    """Return which choice each bay has in each of some layouts, from their running numbers."""
    found = np.empty((len(rows), len(sizes)), dtype=np.int16)
    left = rows
    for column in range(len(sizes) - 1, -1, -1):
        left, found[:, column] = np.divmod(left, sizes[column])
    return found
