"""The chance that all bolts pass, given how well the holes are known and how much room the bolts have."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Located = Literal["free", "pilot", "fixed"]

# Share of plates whose bolts must all pass for a clearance class to be called wide enough.
ENOUGH = 0.99


@dataclass(frozen=True, slots=True, kw_only=True)
class Passing:
    """How often all bolts pass.

    Attributes:
        chance: share of simulated plates.
        low: the chance is at least this, 95 % sure (Wilson's interval).
        worst: the hole that most often stops a bolt, or "".
    """

    chance: float
    low: float
    worst: str


def chance_of_passing(
    positions: NDArray[np.float64],
    covariance: NDArray[np.float64],
    room: NDArray[np.float64],
    names: tuple[str, ...],
    *,
    cut: float = 0.0,
    located: Located = "free",
    play: float = 0.0,
    trials: int = 4000,
    seed: int = 1,
) -> Passing:
    """Return the chance that every bolt passes.

    Args:
        positions: (n, 2) mm, where the plate's holes are drawn.
        covariance: (2n, 2n) mm² of the real holes about them.
        room: (n,) mm by which each bolt may be off centre: half of hole less bolt.
        names: of the holes.
        cut: standard deviation of each hole of the plate itself in x and y, mm.
        located: "free": the plate may be pushed and turned until the bolts pass; "pilot": it may only turn about the
            shaft; "fixed" (dowels): neither.
        play: half of the pilot's clearance, mm: the plate may be pushed this far when located by a pilot.
        trials: how many plates.
        seed: of the random numbers, so that the same question has the same answer.

    Raises:
        ValueError: if the arrays do not belong together.
    """
    n = len(positions)
    if covariance.shape != (2 * n, 2 * n) or room.shape != (n,) or len(names) != n:
        raise ValueError("positions, covariance, room and names must belong to the same holes")
    rng = np.random.default_rng(seed)
    values, vectors = np.linalg.eigh(covariance + np.eye(2 * n) * cut**2)
    root = vectors * np.sqrt(np.clip(values, 0, None))
    off = (rng.standard_normal((trials, 2 * n)) @ root.T).reshape(trials, n, 2)
    over = _least_worst(positions, off, room, located, play)
    stopped = over > 1.0
    passed = int((~stopped.any(axis=1)).sum())
    worst = names[int(np.argmax(over.max(axis=0) if not stopped.any() else stopped.sum(axis=0)))] if n else ""
    return Passing(chance=passed / trials, low=_wilson_low(passed, trials), worst=worst if stopped.any() else "")


def least_class(
    positions: NDArray[np.float64],
    covariance: NDArray[np.float64],
    bolts: NDArray[np.float64],
    holes: Mapping[str, NDArray[np.float64]],
    names: tuple[str, ...],
    *,
    cut: float = 0.0,
    located: Located = "free",
    play: float = 0.0,
) -> tuple[str | None, dict[str, Passing]]:
    """Return the first clearance class with which 99 in 100 plates go on, and the chance of each.

    Args:
        positions: (n, 2) mm.
        covariance: (2n, 2n) mm².
        bolts: (n,) mm, their diameters.
        holes: clearance holes (n,) mm by class, the closest class first ("fine", "medium", "coarse").
        names: of the holes.
        cut: standard deviation of the plate's own holes, mm.
        located: what holds the plate in place.
        play: half of the pilot's clearance, mm.
    """
    chances = {
        name: chance_of_passing(positions, covariance, (wide - bolts) / 2, names, cut=cut, located=located, play=play)
        for name, wide in holes.items()
    }
    return next((name for name, c in chances.items() if c.chance >= ENOUGH), None), chances


def _least_worst(
    positions: NDArray[np.float64],
    off: NDArray[np.float64],
    room: NDArray[np.float64],
    located: Located,
    play: float,
) -> NDArray[np.float64]:
    """Return how much of its room each bolt uses (trials, n) once the plate is moved as well as it may be.

    The move with the smallest worst share is sought by reweighting (Lawson 1961: weights multiplied by the residuals
    converge to the minimax fit). The best of all rounds counts, so a plate is never passed that does not pass.
    """
    share = np.maximum(room, 1e-9)

    def used(moved: NDArray[np.float64]) -> NDArray[np.float64]:
        over: NDArray[np.float64] = np.linalg.norm(moved, axis=2) / share
        return over

    best = used(off)
    if located == "fixed" or len(positions) < 2:
        return best
    turn = np.stack([-positions[:, 1], positions[:, 0]], axis=1)
    shift = located == "free" or play > 0
    weight = np.ones(off.shape[:2]) / share**2
    # Plates that pass as they lie need no search.
    todo = np.nonzero(best.max(axis=1) > 1.0)[0]
    for _ in range(40):
        if not len(todo):
            break
        w, d = weight[todo], off[todo]
        move = _best_move(w, d, turn, shift)
        if located == "pilot" and play > 0:
            far = np.linalg.norm(move[:, :2], axis=1)
            move[:, :2] *= np.minimum(1.0, play / np.maximum(far, 1e-12))[:, None]
        now = used(d - move[:, None, :2] - move[:, 2, None, None] * turn)
        better = now.max(axis=1) < best[todo].max(axis=1)
        best[todo[better]] = now[better]
        weight[todo] = w * (now / now.max(axis=1, keepdims=True) + 1e-9)
        weight[todo] /= weight[todo].sum(axis=1, keepdims=True)
        todo = todo[best[todo].max(axis=1) > 1.0]
    return best


def _best_move(
    w: NDArray[np.float64], d: NDArray[np.float64], turn: NDArray[np.float64], shift: bool
) -> NDArray[np.float64]:
    """Return the weighted least-squares shift and turn (k, 3) for deviations (k, n, 2)."""
    total = w.sum(axis=1)
    spin = (turn**2).sum(axis=1)
    if not shift:
        angle = (w * (d * turn).sum(axis=2)).sum(axis=1) / (w @ spin)
        return np.column_stack([np.zeros((len(w), 2)), angle])
    mean_turn = w @ turn / total[:, None]
    mean_d = (w[..., None] * d).sum(axis=1) / total[:, None]
    arm = turn[None] - mean_turn[:, None]
    inertia = (w * (arm**2).sum(axis=2)).sum(axis=1)
    angle = (w * (arm * (d - mean_d[:, None])).sum(axis=2)).sum(axis=1) / np.maximum(inertia, 1e-12)
    return np.column_stack([mean_d - angle[:, None] * mean_turn, angle])


def _wilson_low(passed: int, trials: int) -> float:
    """Return the lower end of Wilson's 95 % interval for a share (Wilson 1927)."""
    z, p = 1.96, passed / trials
    middle = p + z * z / (2 * trials)
    return (middle - z * math.sqrt(p * (1 - p) / trials + z * z / (4 * trials**2))) / (1 + z * z / trials)
