"""Of many rows of goals those that no other beats: what is left to choose between when goals pull apart."""

import numpy as np
from numpy.typing import NDArray

from baywright.vehicle.road import Array

_BLOCK = 2048


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
