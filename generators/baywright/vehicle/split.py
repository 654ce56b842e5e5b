"""Sharing modules out between bays: every way to do it, what the car's limits leave, which are worth a look."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.vehicle.road import Array

# Above this many ways the tables would not fit in a small machine's memory.
MOST_LAYOUTS = 8_000_000
_BLOCK = 2048

# Range in km from the number of modules (n,) and the car's mass (n,) kg.
ReachOf = Callable[[NDArray[np.int64], Array], Array]


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
    """

    place: str
    count: int
    mass: float
    x: float
    y: float
    z: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BayChoices:
    """What a bay can take, by any count and place; leaving it empty is always one more choice."""

    bay: str
    choices: tuple[Choice, ...]


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
        laden: what each laden case adds, as (mass, load on the rear axle), kg.
    """

    mass: float
    rear: float
    y_moment: float
    z: float | None
    wheelbase: float
    share_before: float
    laden: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What a layout must keep.

    Attributes:
        front: front axle rating, kg.
        rear: rear axle rating, kg.
        gross: gross rating, kg.
        share: most change of the front share, points of %; None for no limit.
        least: fewest modules in all.
        most: most modules in all; None for no limit.
        step: the total must be a multiple of it (strings in parallel).
        box: heaviest box that the shop can lift, kg; None for no limit.
    """

    front: float | None = None
    rear: float | None = None
    gross: float | None = None
    share: float | None = None
    least: int = 1
    most: int | None = None
    step: int = 1
    box: float | None = None


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
        range: (n,) km.
        tried: how many layouts there are without limits.
        dropped: how many broke each limit, alone or with others.
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


def split(
    bare: Bare, bays: Sequence[BayChoices], limits: Limits, reach: Callable[[NDArray[np.int64], Array], Array]
) -> Layouts:
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
    modules, mass, moment_x, moment_y, moment_z, heaviest = _sums(options)
    whole = bare.mass + mass
    rear = bare.rear + moment_x / bare.wheelbase
    front = whole - rear
    change = 100 * front / whole - bare.share_before
    broken = {
        "fewest modules": modules < max(limits.least, 1),
        "most modules": np.zeros(tried, dtype=bool) if limits.most is None else modules > limits.most,
        "equal strings": modules % limits.step != 0,
        "front axle": _over(front, [m - r for m, r in bare.laden], limits.front),
        "rear axle": _over(rear, [r for _, r in bare.laden], limits.rear),
        "gross mass": _over(whole, [m for m, _ in bare.laden], limits.gross),
        "axle off the ground": (front <= 0) | (rear <= 0),
        "front share": np.zeros(tried, dtype=bool) if limits.share is None else np.abs(change) > limits.share,
        "box too heavy to lift": np.zeros(tried, dtype=bool) if limits.box is None else heaviest > limits.box,
    }
    good = np.nonzero(~np.logical_or.reduce(list(broken.values())))[0]
    z = np.full(len(good), np.nan)
    if bare.z is not None:
        z = (bare.mass * bare.z + moment_z[good]) / whole[good]
    far = reach(modules[good], whole[good]) if len(good) else np.zeros(0)
    goals = [-far, np.abs(change[good])] + ([] if bare.z is None else [z])
    return Layouts(
        bays=tuple(bay.bay for bay in bays),
        choices=tuple(options),
        chosen=_picked(good, [len(o) for o in options]),
        modules=modules[good],
        mass=whole[good],
        front=front[good],
        rear=rear[good],
        y=(bare.y_moment + moment_y[good]) / whole[good],
        z=z,
        share_change=change[good],
        range=far,
        tried=tried,
        dropped={name: int(mask.sum()) for name, mask in broken.items() if mask.any()},
        trade=unbeaten(np.column_stack(goals)) if len(good) else np.zeros(0, dtype=np.int64),
    )


def _sums(
    options: Sequence[tuple[Choice | None, ...]],
) -> tuple[NDArray[np.int64], Array, Array, Array, Array, Array]:
    """Return modules, mass, moments about X, Y, Z and the heaviest box of every layout; the last bay runs fastest."""
    modules, sums, heaviest = np.zeros(1, dtype=np.int64), np.zeros((4, 1)), np.zeros(1)
    for choices in options:
        count = np.array([0 if c is None else c.count for c in choices])
        rows = [
            (0.0, 0.0, 0.0, 0.0) if c is None else (c.mass, c.mass * c.x, c.mass * c.y, c.mass * c.z) for c in choices
        ]
        table = np.array(rows).T
        modules = (modules[:, None] + count[None]).ravel()
        heaviest = np.maximum(heaviest[:, None], table[0][None]).ravel()
        sums = (sums[:, :, None] + table[:, None, :]).reshape(4, -1)
    return modules, sums[0], sums[1], sums[2], sums[3], heaviest


def _picked(rows: NDArray[np.int64], sizes: Sequence[int]) -> NDArray[np.int16]:
    """Return which choice each bay has in each of some layouts, from their running numbers."""
    found = np.empty((len(rows), len(sizes)), dtype=np.int16)
    left = rows
    for column in range(len(sizes) - 1, -1, -1):
        left, found[:, column] = np.divmod(left, sizes[column])
    return found


def _over(load: Array, laden: Sequence[float], most: float | None) -> NDArray[np.bool_]:
    """Tell which loads are over a rating, with the heaviest laden case on top."""
    if most is None:
        return np.zeros(len(load), dtype=bool)
    over: NDArray[np.bool_] = load + max([0.0, *laden]) > most
    return over


def unbeaten(goals: Array) -> NDArray[np.int64]:
    """Return the rows of (n, k), each column the smaller the better, that no other beats, by the first column.

    A row beats another if it is as good everywhere and better somewhere; of rows alike the first stays.
    """
    left = _worth_sorting(goals)
    goals = goals[left]
    order = np.lexsort(goals.T[::-1])
    # Sorted by all columns, a row can only be beaten by one before it.
    ordered = goals[order]
    fresh = np.concatenate([[True], (np.diff(ordered, axis=0) != 0).any(axis=1)])
    order, ordered = order[fresh], ordered[fresh]
    kept: list[NDArray[np.int64]] = []
    front = np.zeros((0, goals.shape[1]))
    for begin in range(0, len(order), _BLOCK):
        block = np.arange(begin, min(begin + _BLOCK, len(order)))
        block = block[~_beaten(ordered[block], front)]
        inner = ordered[block]
        worse = (inner[:, None] <= inner[None]).all(axis=2)
        np.fill_diagonal(worse, False)
        block = block[~worse.any(axis=0)]
        kept.append(block)
        front = np.concatenate([front, ordered[block]])
    rows: NDArray[np.int64] = left[order[np.concatenate(kept)]]
    return rows


def _worth_sorting(goals: Array) -> NDArray[np.int64]:
    """Return the rows that some strong rows do not beat: of many rows, few. Of rows alike the first stays."""
    rows = np.arange(len(goals))
    if len(rows) <= _BLOCK:
        return rows
    columns = np.ascontiguousarray(goals.T)
    size = 1 / np.maximum(np.ptp(columns, axis=1), 1e-300)
    taken: list[int] = []
    # The best by several weighings of the goals, the even ones first: those beat the most.
    for weights in sorted(np.ndindex(*[5] * len(columns)), key=lambda w: (np.ptp(w), w)):
        k = int(np.argmin((size * (np.array(weights) + 0.05)) @ columns))
        keep = np.zeros(len(rows), dtype=bool)
        for column in columns:
            keep |= column < column[k]
        taken.append(int(rows[k]))
        rows, columns = rows[keep], columns[:, keep]
        if len(rows) <= _BLOCK:
            break
    return np.sort(np.concatenate([rows, np.array(taken)]))


def _beaten(rows: Array, front: Array) -> NDArray[np.bool_]:
    """Tell which rows some row of the front is as good as everywhere (none is alike: those were taken out)."""
    out = np.zeros(len(rows), dtype=bool)
    for begin in range(0, len(front), 512):
        part = front[begin : begin + 512]
        left = np.nonzero(~out)[0]
        out[left] = np.logical_or.reduce((part[None] <= rows[left, None]).all(axis=2), axis=1)
    return out
