"""Where the car's mounts are: read as coordinates, or found from tape distances and heights by least squares."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from baywright.finding import CannotBuild
from baywright.job.rails import MountAsk

Array = NDArray[np.float64]

# What a tape held by one person between two points in an engine bay is good for, where the job does not say: mm.
# Common practice, no source.
TAPE = 3.0
# Two solutions whose sums of squares differ by less than this fit equally well (the 5 % point of chi-squared, one
# degree of freedom, is 3.8).
_ALIKE = 4.0
# Solutions nearer to each other than this are the same, mm.
_SAME = 1.0
_FAR = 1e4


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One thing that was measured.

    Attributes:
        what: as the shop would say it: "tape front-left to left strut top".
        first: name of a mount.
        second: name of a mount or a reference point; "" for a height above the ground.
        value: mm.
        tolerance: how far it may be off either way, mm.
        fitted: what it should have been, mm.
        checked: how much of it the other readings check: 0 not at all, 1 wholly.
    """

    what: str
    first: str
    second: str
    value: float
    tolerance: float
    fitted: float = 0.0
    checked: float = 0.0

    @property
    def residual(self) -> float:
        """Read less fitted, mm."""
        return self.value - self.fitted


@dataclass(frozen=True, eq=False, kw_only=True)
class Located:
    """The mounts' places.

    Attributes:
        places: each mount's place (3,) mm, vehicle frame.
        spread: how far each may be off, mm: the tolerance that its readings leave, along its worst direction.
        readings: every tape reading with its residual; empty where all were given as coordinates.
    """

    places: dict[str, Array]
    spread: dict[str, float]
    readings: tuple[Reading, ...]


def locate(mounts: Mapping[str, MountAsk], references: Mapping[str, Sequence[float]]) -> Located:
    """Return where the mounts are.

    Distances and heights are adjusted together, each weighed by its tolerance (Gauss-Newton, damped). Where the tape
    leaves two mirror places, `near` decides.

    Args:
        mounts: as asked.
        references: points (3,) mm, vehicle frame.

    Raises:
        CannotBuild: if a mount is not held by its readings, or the tape leaves two places.
    """
    places = {name: np.array([c.value for c in ask.at]) for name, ask in mounts.items() if ask.at is not None}
    spread = {name: max(c.tolerance for c in ask.at) for name, ask in mounts.items() if ask.at is not None}
    unknown = [name for name, ask in mounts.items() if ask.at is None]
    if not unknown:
        return Located(places=places, spread=spread, readings=())
    fixed = {name: np.array(p, dtype=float) for name, p in references.items()} | places
    readings = _readings({name: mounts[name] for name in unknown})
    for name in unknown:
        own = [r for r in readings if name in (r.first, r.second)]
        if len(own) < 3:
            raise CannotBuild(
                f"mounts.{name}.tape",
                f"{len(own)} reading{'s' if len(own) > 1 else ''} can't tell where '{name}' is: give at least three of "
                "distances to reference points, distances to other mounts, and its height",
            )
    network = _Network(unknown, fixed, readings)
    found = network.settled(_starts(network, mounts))
    covariance = network.covariance(found)
    for i, name in enumerate(unknown):
        values = np.linalg.eigvalsh(covariance[3 * i : 3 * i + 3, 3 * i : 3 * i + 3])
        loose = math.sqrt(max(float(values[-1]), 0.0))
        if loose > 100.0:
            raise CannotBuild(
                f"mounts.{name}.tape",
                f"the readings leave '{name}' free to move: add its height, or a distance in another direction",
            )
        places[name], spread[name] = found[3 * i : 3 * i + 3], loose
    return Located(places=places, spread=spread, readings=network.told(found))


def _readings(mounts: Mapping[str, MountAsk]) -> list[Reading]:
    found, pairs = [], set()
    for name, ask in mounts.items():
        for other, value in ask.tape.items():
            pair = frozenset((name, other))
            if pair in pairs:
                raise CannotBuild(
                    f"mounts.{name}.tape", f"the distance between '{name}' and '{other}' is given twice: keep one"
                )
            pairs.add(pair)
            what = f"tape {name} to {other}"
            found.append(
                Reading(what=what, first=name, second=other, value=value.value, tolerance=value.tolerance or TAPE)
            )
        if ask.height is not None:
            found.append(
                Reading(
                    what=f"height of {name}",
                    first=name,
                    second="",
                    value=ask.height.value,
                    tolerance=ask.height.tolerance or TAPE,
                )
            )
    return found


@dataclass(eq=False)
class _Network:
    """Unknown points, fixed points, and readings between them."""

    unknown: list[str]
    fixed: dict[str, Array]
    readings: list[Reading]

    def predicted(self, x: Array) -> tuple[Array, Array]:
        """Return what each reading should be (m,) and its derivatives (m, 3 n)."""
        value = np.zeros(len(self.readings))
        slope = np.zeros((len(self.readings), len(x)))
        where = {name: slice(3 * i, 3 * i + 3) for i, name in enumerate(self.unknown)}
        for i, r in enumerate(self.readings):
            a = where[r.first]
            if not r.second:
                value[i] = x[a][2]
                slope[i, a.start + 2] = 1.0
                continue
            b = where.get(r.second)
            step = x[a] - (x[b] if b is not None else self.fixed[r.second])
            value[i] = float(np.linalg.norm(step))
            unit = step / max(value[i], 1e-9)
            slope[i, a] = unit
            if b is not None:
                slope[i, b] = -unit
        return value, slope

    def misfit(self, x: Array) -> float:
        """Return the sum of squared residuals, each over its tolerance."""
        read = np.array([r.value for r in self.readings])
        width = np.array([r.tolerance for r in self.readings])
        return float((((read - self.predicted(x)[0]) / width) ** 2).sum())

    def fit(self, start: Array) -> Array:
        """Return the least-squares places (3 n,) from a start (Levenberg's damping: Levenberg 1944)."""
        read = np.array([r.value for r in self.readings])
        width = np.array([r.tolerance for r in self.readings])
        x, damping, now = start.copy(), 1e-2, self.misfit(start)
        for _ in range(200):
            value, slope = self.predicted(x)
            weighed, left = slope / width[:, None], (read - value) / width
            normal = weighed.T @ weighed
            step = np.linalg.solve(normal + damping * np.eye(len(x)) * 1e-2, weighed.T @ left)
            then = self.misfit(x + step)
            if then <= now:
                x, damping, now = x + step, max(damping / 5, 1e-12), then
                if float(np.abs(step).max()) < 1e-7:
                    break
            else:
                damping *= 10
                if damping > 1e12:
                    break
        return x

    def settled(self, starts: list[tuple[Array, bool]]) -> Array:
        """Return the best places from several starts.

        Raises:
            CannotBuild: if two places fit as well and nothing says which.
        """
        fits = [(self.misfit(x), x, near) for x, near in ((self.fit(start), near) for start, near in starts)]
        fits.sort(key=lambda fit: (round(fit[0], 6), *np.round(fit[1], 3).tolist()))
        least, best, chosen = fits[0]
        for misfit, other, _ in fits[1:]:
            apart = np.linalg.norm((other - best).reshape(-1, 3), axis=1)
            if misfit - least < _ALIKE and apart.max() > _SAME and not chosen:
                i = int(apart.argmax())
                name, (one, two) = self.unknown[i], (_said(x[3 * i : 3 * i + 3]) for x in (best, other))
                raise CannotBuild(
                    f"mounts.{name}.tape",
                    f"the tape leaves two places for '{name}', {one} and {two}: say roughly where it is with near = "
                    "[x, y, z], or measure to one more point",
                )
        return best

    def covariance(self, x: Array) -> Array:
        """Return the covariance (3 n, 3 n) of the places, tolerances taken as one width; loose ways come out wide."""
        width = np.array([r.tolerance for r in self.readings])
        weighed = self.predicted(x)[1] / width[:, None]
        return np.asarray(np.linalg.inv(weighed.T @ weighed + np.eye(len(x)) / _FAR**2))

    def told(self, x: Array) -> tuple[Reading, ...]:
        """Return the readings with what they should have been and how far the others check them."""
        value, slope = self.predicted(x)
        cover = self.covariance(x)
        out = []
        for r, fitted, row in zip(self.readings, value.tolist(), slope, strict=True):
            share = 1 - float(row @ cover @ row) / r.tolerance**2
            out.append(
                Reading(
                    what=r.what,
                    first=r.first,
                    second=r.second,
                    value=r.value,
                    tolerance=r.tolerance,
                    fitted=fitted,
                    checked=min(max(share, 0.0), 1.0),
                )
            )
        return tuple(out)


def _said(place: Array) -> str:
    return "(" + ", ".join(f"{c:.0f}" for c in place.tolist()) + ")"


def _starts(network: _Network, mounts: Mapping[str, MountAsk]) -> list[tuple[Array, bool]]:
    """Return starts (3 n,) that together reach every place the readings allow, and whether `near` chose each of them.

    A point with `near` starts there. Others start from the places that each of them alone could have; points tied to
    the fixed ones by too few readings start all round the ones that they are tied to.
    """
    choices: list[list[Array]] = []
    all_near = True
    for name in network.unknown:
        near = mounts[name].near
        if near is not None:
            choices.append([np.array(near, dtype=float)])
            continue
        all_near = False
        choices.append(_alone(network, name))
    starts = [np.concatenate(pick) for pick in product(*choices)]
    if len(starts) > 256:
        names = ", ".join(n for n in network.unknown if mounts[n].near is None)
        raise CannotBuild("mounts", f"the tape alone leaves too many places for {names}: say roughly where with near")
    return [(s, all_near) for s in starts]


def _alone(network: _Network, name: str) -> list[Array]:
    """Return the places that a point could have by its readings to fixed points alone."""
    own = [r for r in network.readings if r.first == name and (not r.second or r.second in network.fixed)]
    anchors = np.array([network.fixed[r.second] for r in own if r.second] or list(network.fixed.values()))
    centre = anchors.mean(axis=0) if len(anchors) else np.zeros(3)
    far = max((r.value for r in own if r.second), default=500.0)
    height = next((r.value for r in own if not r.second), None)
    one = _Network([name], network.fixed, own)
    found: list[tuple[float, Array]] = []
    levels = [height] if height is not None else [centre[2] - far / 2, centre[2] + far / 2]
    for angle in range(0, 360, 45):
        for level in levels:
            turn = math.radians(angle + 10)
            start = np.array([centre[0] + far * math.cos(turn), centre[1] + far * math.sin(turn), level])
            place = one.fit(start) if len(own) >= 3 else start
            miss = one.misfit(place) if len(own) >= 3 else 0.0
            if not any(np.linalg.norm(place - p) < 20.0 for _, p in found):
                found.append((miss, place))
    least = min(m for m, _ in found)
    # Readings that disagree with each other still leave two places about as bad: both are tried.
    return [p for m, p in found if m <= 4 * least + 50.0][:8]
