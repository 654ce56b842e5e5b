"""Which further readings would help most, found before anybody takes them."""

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from baywright.adapter.survey import Solution, covariance_blocks, floated


def next_readings(
    solution: Solution, sigma: float, count: int = 2, more: tuple[NDArray[np.float64], ...] = ()
) -> list[tuple[str, str, float]]:
    """Return the centre distances that would tighten the pattern most: (hole, hole, worst spread after it in mm).

    Each choice is the one after which the worst held hole is held best; ties go to the smaller sum over all holes.
    Covariances follow without new values, because a distance adds the same information whatever it reads.

    Args:
        solution: what is known so far.
        sigma: standard deviation of the new readings, mm.
        count: how many to name.
        more: other places (nodes, 2) that the readings allow as well: a reading that tells them apart comes first.
    """
    layout, n = solution.layout, len(solution.layout.nodes)
    if n < 2:
        return []
    places, read = solution.positions, _read_pairs(solution)
    pairs = [p for p in combinations(range(n), 2) if frozenset(p) not in read]
    if not pairs:
        return []
    first, second = np.array([a for a, _ in pairs]), np.array([b for _, b in pairs])
    step = places[first] - places[second]
    far = np.maximum(np.hypot(step[:, 0], step[:, 1]), 1e-6)
    tells = np.zeros(len(pairs))
    for other in more:
        there = other[first] - other[second]
        tells = np.maximum(tells, np.abs(np.hypot(there[:, 0], there[:, 1]) - far))
    if tells.max(initial=0.0) < 10 * sigma:
        tells[:] = 0.0
    rows, k = np.zeros((len(pairs), 2 * n)), np.arange(len(pairs))
    for axis in (0, 1):
        rows[k, 2 * first + axis] = step[:, axis] / far
        rows[k, 2 * second + axis] = -step[:, axis] / far
    cov = floated(solution.open_covariance, places)
    chosen: list[tuple[str, str, float]] = []
    for _ in range(min(count, len(pairs))):
        gain = rows @ cov
        drop = gain / np.sqrt(np.einsum("ij,ij->i", gain, rows) + sigma**2)[:, None]
        after = _worst_spread(cov, drop)
        # A fold that two layouts differ by is worth more than any tightening.
        by_spread = np.lexsort((-(drop**2).sum(axis=1), np.round(after, 4)))
        best = int(np.argmax(tells)) if tells.any() else int(by_spread[0])
        chosen.append((layout.nodes[first[best]], layout.nodes[second[best]], float(after[best])))
        cov = cov - np.outer(drop[best], drop[best])
        keep = np.arange(len(rows)) != best
        rows, first, second, tells = rows[keep], first[keep], second[keep], 0 * tells[keep]
    return chosen


def _worst_spread(cov: NDArray[np.float64], drop: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return for each reading (row of `drop`) the widest spread (mm) of a place once it is taken."""
    less = drop.reshape(len(drop), -1, 2)
    after = covariance_blocks(cov)[None] - less[..., :, None] * less[..., None, :]
    spread = np.sqrt(np.clip(np.linalg.eigvalsh(after)[..., 1], 0, None))
    worst: NDArray[np.float64] = spread.max(axis=1)
    return worst


def _read_pairs(solution: Solution) -> set[frozenset[int]]:
    node = {name: k for k, name in enumerate(solution.layout.nodes)}
    return {
        frozenset((node[r.first], node[r.second]))
        for r in solution.layout.readings
        if r.how in ("centre", "inside", "outside")
    }
