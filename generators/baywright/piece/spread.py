"""Where the screws of a joint go: spread evenly, near its ends, clear of what is in the way."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from baywright.finding import CannotBuild

_STEP = 1.0  # mm: places are sought on this grid where an even spread meets an obstacle
_OVER = 1e3  # cost of a millimetre of pitch over the most: such a gap is left only where nothing else is possible


@dataclass(frozen=True, slots=True, kw_only=True)
class Pitch:
    """How screws may stand along a joint, in mm.

    Attributes:
        least: least distance between neighbours.
        most: most distance between neighbours.
        edge: least distance from the joint's end.
        first: most distance of the first screw from the joint's end.
        beside: least distance from a screw that is there already.
    """

    least: float
    most: float
    edge: float
    first: float
    beside: float


def spread(
    start: float,
    end: float,
    rule: Pitch,
    *,
    keep_out: Sequence[tuple[float, float]] = (),
    fixed: Sequence[float] = (),
    shift: float = 0.0,
) -> NDArray[np.float64]:
    """Return the positions (n,) mm of screws along a joint from `start` to `end`, `fixed` ones not repeated.

    They stand evenly where nothing is in the way. Where something is, the sequence is found that strays least from
    even (a shortest path over a 1 mm grid): pitch never under the least, over the most only where an obstacle leaves no
    choice, which the review then reports.

    Args:
        start: where the joint begins, mm.
        end: where it ends, mm.
        rule: least and most distances.
        keep_out: intervals (low, high) mm that screws must stay out of.
        fixed: positions of screws that the joint already has (a foot's own); they count as neighbours.
        shift: moves the end screws of an even spread in by this much, to stagger two legs of an angle, mm.

    Raises:
        CannotBuild: if the joint has no legal place for a single screw.
    """
    marks = sorted(f for f in fixed if start < f < end)
    stops = [start, *marks, end]
    found: list[float] = []
    for index, (low, high) in enumerate(pairwise(stops)):
        found += _segment(low, high, rule, keep_out, index > 0, index < len(stops) - 2, shift)
    if not found and not marks:
        raise CannotBuild("style", f"a joint {end - start:.0f} mm long has no place for a screw between its obstacles")
    return np.array(found)


def _segment(
    low: float,
    high: float,
    rule: Pitch,
    keep_out: Sequence[tuple[float, float]],
    after_fixed: bool,
    before_fixed: bool,
    shift: float,
) -> list[float]:
    """Return screws between two ends, each a joint's end or a fixed screw."""
    near = (rule.beside, rule.most) if after_fixed else (rule.edge, rule.first)
    far = (rule.beside, rule.most) if before_fixed else (rule.edge, rule.first)
    if after_fixed and before_fixed and high - low <= rule.most:
        return []
    if not after_fixed and before_fixed and high - low <= rule.first:
        return []
    if after_fixed and not before_fixed and high - low <= rule.first:
        return []
    if high - low < near[0] + far[0]:
        return []
    even = _even(low, high, rule, near, far, after_fixed, before_fixed, shift)
    blocked = tuple((a, b) for a, b in keep_out if b > low and a < high)
    if even is not None and not any(a < x < b for x in even for a, b in blocked):
        return even
    return list(_around(low, high, rule, near, far, blocked))


def _even(
    low: float,
    high: float,
    rule: Pitch,
    near: tuple[float, float],
    far: tuple[float, float],
    after_fixed: bool,
    before_fixed: bool,
    shift: float,
) -> list[float] | None:
    """Return an even spread, or None if its pitch would be under the least."""
    if after_fixed and before_fixed:
        gaps = int(np.ceil((high - low) / rule.most - 1e-9))
        pitch = (high - low) / gaps
        return [low + pitch * i for i in range(1, gaps)] if pitch >= rule.least else None
    margin = min(max(rule.edge, rule.first / 2), rule.first)
    first = low if after_fixed else low + min(margin + shift, rule.first)
    last = high if before_fixed else high - min(margin + shift, rule.first)
    if last - first < rule.least:
        middle = (low + high) / 2
        reach = max(middle - low - near[1], high - middle - far[1])
        return [middle] if not after_fixed and not before_fixed and reach <= 0 else None
    gaps = int(np.ceil((last - first) / rule.most - 1e-9))
    pitch = (last - first) / gaps
    if pitch < rule.least:
        return None
    places = [first + pitch * i for i in range(gaps + 1)]
    return places[1 if after_fixed else 0 : len(places) - (1 if before_fixed else 0)]


@lru_cache(maxsize=1000)  # the slowest step of a design, and opposite walls ask it alike
def _around(
    low: float,
    high: float,
    rule: Pitch,
    near: tuple[float, float],
    far: tuple[float, float],
    blocked: tuple[tuple[float, float], ...],
) -> tuple[float, ...]:
    """Return the cheapest legal sequence between obstacles (dynamic programming over a grid about the middle)."""
    middle = (low + high) / 2
    half = np.arange(0.0, (high - low) / 2, _STEP)
    grid = np.concatenate([middle - half[:0:-1], middle + half])
    grid = np.array(sorted({*grid.tolist(), *(x for ends in blocked for x in ends)}))
    free = (grid >= low + near[0] - 1e-9) & (grid <= high - far[0] + 1e-9)
    for a, b in blocked:
        free &= ~((grid > a + 1e-9) & (grid < b - 1e-9))
    places = grid[free]
    if not len(places):
        return ()
    # Two thirds of the way from the least to the most; a joint with its ends close by needs no more than its middle.
    target = (rule.least + 2 * rule.most) / 3

    apart = places[:, None] - places[None, :]
    hop = (apart / target - 1) ** 2 + _OVER * np.maximum(apart - rule.most, 0.0)
    reaches = np.searchsorted(places, places - rule.least + 1e-9, side="right").tolist()
    cost = _OVER * np.maximum(places - low - near[1], 0.0) + ((places - low - near[0]) / target) ** 2 / 4
    back = np.full(len(places), -1)
    for j, reach in enumerate(reaches):
        if reach == 0:
            continue
        via = cost[:reach] + hop[j, :reach]
        best = via.argmin()
        if via[best] < cost[j]:
            cost[j], back[j] = via[best], best
    close = _OVER * np.maximum(high - places - far[1], 0.0) + ((high - places - far[0]) / target) ** 2 / 4
    at = int(np.argmin(cost + close))
    chosen = []
    while at >= 0:
        chosen.append(float(places[at]))
        at = int(back[at])
    return tuple(chosen[::-1])
