"""Clocking: which way round the motor can stand, and how much metal that leaves between the two bolt patterns."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.shape.pattern import turned_clockwise

STEPS = 360  # one clocking a degree, besides those that bring features onto their wanted places


@dataclass(frozen=True, eq=False, kw_only=True)
class Discs:
    """Round features of one pattern on a plate: holes, counterbores, dowels.

    Attributes:
        names: one each.
        centres: (n, 2) mm, seen from the motor.
        radii: (n,) mm.
    """

    names: tuple[str, ...]
    centres: NDArray[np.float64]
    radii: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Arc:
    """A named part of the circle: clock positions in degrees, clockwise from `first` to `last`."""

    name: str
    first: float
    last: float

    @property
    def width(self) -> float:
        """Degrees from first to last, going clockwise."""
        return (self.last - self.first) % 360

    def turned(self, angle: float) -> "Arc":
        """Return the same arc turned clockwise."""
        return Arc(self.name, self.first + angle, self.last + angle)


@dataclass(frozen=True, eq=False, kw_only=True)
class Clockings:
    """Every clocking that was tried.

    Attributes:
        angles: (k,) degrees that the motor is turned clockwise, seen from the motor.
        web: (k,) mm, least metal between features of the two patterns.
        pair: (k, 2) which features of motor and gearbox it lies between.
        legal: (k,) whether every feature of the motor stays out of the keep-outs and in its wanted place.
        blocked: for each clocking that is not legal, why.
    """

    angles: NDArray[np.float64]
    web: NDArray[np.float64]
    pair: NDArray[np.intp]
    legal: NDArray[np.bool_]
    blocked: tuple[str, ...]

    def ranked(self, least_web: float) -> NDArray[np.intp]:
        """Return the indices of clockings that can be built, the widest web first, the smallest turn among equals."""
        good = np.nonzero(self.legal & (self.web >= least_web - 1e-9))[0]
        small = np.abs((self.angles[good] + 180) % 360 - 180)
        # Hundredths of a millimetre of web are no reason to turn a motor.
        order = np.lexsort((small, -np.round(np.minimum(self.web[good], 4 * least_web), 2)))
        out: NDArray[np.intp] = good[order]
        return out


def clockings(
    motor: Discs,
    gearbox: Discs,
    angles: NDArray[np.float64],
    features: Sequence[Arc] = (),
    keep_out: Sequence[Arc] = (),
    wanted: Sequence[Arc] = (),
) -> Clockings:
    """Return what each clocking leaves between the patterns, and whether the motor's features may stand so.

    Args:
        motor: the motor's features at 0 degrees.
        gearbox: the gearbox's features, which stay.
        angles: (k,) degrees clockwise.
        features: the motor's terminals, ports and feet at 0 degrees.
        keep_out: arcs that no feature may enter.
        wanted: arcs that the feature of the same name must stay in.
    """
    if len(motor.names) and len(gearbox.names):
        there = turned_clockwise(motor.centres, angles)  # (k, m, 2)
        apart = np.linalg.norm(there[:, :, None] - gearbox.centres[None, None], axis=3)
        metal = (apart - motor.radii[:, None] - gearbox.radii).reshape(len(angles), -1)
        worst = metal.argmin(axis=1)
        web = metal[np.arange(len(angles)), worst]
        pair = np.stack(np.unravel_index(worst, (len(motor.names), len(gearbox.names))), axis=1)
    else:
        web, pair = np.full(len(angles), np.inf), np.zeros((len(angles), 2), dtype=np.intp)
    why = [_blocked(angle, features, keep_out, wanted) for angle in angles.tolist()]
    return Clockings(
        angles=angles,
        web=web,
        pair=pair.astype(np.intp),
        legal=np.array([not w for w in why], dtype=bool),
        blocked=tuple(why),
    )


def candidates(features: Sequence[Arc], wanted: Sequence[Arc], symmetry: Sequence[float]) -> NDArray[np.float64]:
    """Return the clockings to try, degrees: the motor's symmetry, the middle of what is wanted, every whole degree."""
    exact = list(symmetry)
    for goal in wanted:
        exact += [(goal.first + goal.width / 2 - f.first - f.width / 2) % 360 for f in features if f.name == goal.name]
    rest = np.arange(STEPS) * 360.0 / STEPS
    first = np.array(exact, dtype=float)
    new = rest if not len(first) else rest[np.abs(_wrapped(rest[:, None] - first)).min(axis=1) > 1e-6]
    return np.concatenate([first, new])


def overlap(one: Arc, other: Arc) -> bool:
    """Tell whether two arcs share a clock position."""
    return (other.first - one.first) % 360 < one.width or (one.first - other.first) % 360 < other.width


def inside(one: Arc, other: Arc) -> bool:
    """Tell whether an arc lies wholly in another."""
    ahead = (one.first - other.first) % 360
    return ahead + one.width <= other.width + 1e-9


def _blocked(angle: float, features: Sequence[Arc], keep_out: Sequence[Arc], wanted: Sequence[Arc]) -> str:
    for feature in features:
        here = feature.turned(angle)
        for place in keep_out:
            if overlap(here, place):
                return f"{feature.name} stands in {place.name}"
        for goal in wanted:
            if goal.name == feature.name and not inside(here, goal):
                return f"{feature.name} is not between {goal.first:g} and {goal.last:g} deg"
    return ""


def _wrapped(angle: NDArray[np.float64]) -> NDArray[np.float64]:
    out: NDArray[np.float64] = (angle + 180) % 360 - 180
    return out
