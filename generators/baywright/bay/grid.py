"""A bay as a grid of cells, taken or free, and every place in it where blocks fit, by summed volumes.

A summed-volume table (the three-dimensional form of Crow's summed-area table, SIGGRAPH 1984) gives the number of taken
cells in any upright block from eight of its entries, so all places of a block are tried by eight array sums.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, permutations, product
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from baywright.bay.skin import Skin
from baywright.piece.solid import Block

if TYPE_CHECKING:
    from baywright.bay.envelope import Bay

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

_NEAR = 1e-6
# Cells of a tilted block and single cells are summed by blocks; a grid larger than this is a mistake.
_MOST_CELLS = 60_000_000


@dataclass(frozen=True, eq=False)
class Grid:
    """Cells of a bay.

    Attributes:
        origin: (3,) mm: the lowest corner.
        step: mm: the edge of a cell.
        taken: (nx, ny, nz): whether a cell holds any of the skin, or lies outside the bay.
    """

    origin: Array
    step: float
    taken: Flags

    @cached_property
    def sums(self) -> NDArray[np.int32]:
        """The summed-volume table (nx + 1, ny + 1, nz + 1): taken cells below each grid point."""
        out = np.zeros([n + 1 for n in self.taken.shape], dtype=np.int32)
        out[1:, 1:, 1:] = self.taken.cumsum(axis=0, dtype=np.int32).cumsum(axis=1).cumsum(axis=2)
        return out

    def span(self, low: Array, high: Array, sure: bool) -> tuple[Index, Index]:
        """Return the cells (3,), (3,) from and up to which a block at the origin reaches.

        With `sure` all that it touches, without only those that it holds whole.
        """
        if sure:
            first, last = np.floor(low / self.step + _NEAR), np.ceil(high / self.step - _NEAR)
        else:
            first, last = np.ceil(low / self.step - _NEAR), np.floor(high / self.step + _NEAR)
        return first.astype(np.int64), np.maximum(last, first).astype(np.int64)

    def fits(
        self, blocks: Sequence[Block], around: float = 0.0, below: float | None = None, sure: bool = True
    ) -> Index:
        """Return the grid points (n, 3) at which blocks (mm, about the point) lie in free cells with room around them.

        Args:
            blocks: the first is tried everywhere, the others where those before them fit.
            around: mm of room on all sides.
            below: mm of room below, if not the same.
            sure: as in `span`: without it places are kept that only an exact check can decide.
        """
        room = np.full(3, around)
        down = np.array([around, around, around if below is None else below])
        places: Index | None = None
        for block in blocks:
            first, last = self.span(block.low - down, block.high + room, sure)
            places = self._everywhere(first, last) if places is None else places[self._free(places, first, last)]
            if not len(places):
                break
        return np.zeros((0, 3), dtype=np.int64) if places is None else places

    def _everywhere(self, first: Index, last: Index) -> Index:
        """Return every grid point (n, 3) at which the cells from `first` up to `last` are free and in the grid."""
        size = np.array(self.taken.shape)
        start, stop = np.maximum(-first, 0), np.minimum(size - last, size)
        if (stop < start).any():
            return np.zeros((0, 3), dtype=np.int64)
        count: NDArray[np.int32] | None = None
        for corner in product((0, 1), repeat=3):
            off = np.where(corner, last, first)
            part = self.sums[tuple(slice(a + o, b + o + 1) for a, b, o in zip(start, stop, off, strict=True))]
            sign = -1 if sum(corner) % 2 == 0 else 1
            count = sign * part if count is None else np.add(count, part, out=count) if sign > 0 else count - part
        assert count is not None
        return np.argwhere(count == 0) + start

    def _free(self, places: Index, first: Index, last: Index) -> Flags:
        """Tell for grid points (n, 3) whether the cells from `first` up to `last` are free and in the grid."""
        low, high = places + first, places + last
        size = np.array(self.taken.shape)
        out: Flags = np.all((low >= 0) & (high <= size), axis=1)
        low, high = low[out], high[out]
        count = np.zeros(len(low), dtype=np.int64)
        for corner in product((0, 1), repeat=3):
            at = np.where(corner, high, low)
            count += (1 if sum(corner) % 2 else -1) * self.sums[at[:, 0], at[:, 1], at[:, 2]].astype(np.int64)
        out[out] = count == 0
        return out

    def at(self, places: Index) -> Array:
        """Return the grid points as places (n, 3) mm."""
        out: Array = self.origin + places * self.step
        return out

    def filled(self, block: Block) -> "Grid":
        """Return the grid with all cells taken that a block (mm) touches."""
        first, last = self.span(block.low - self.origin, block.high - self.origin, sure=True)
        first, last = np.clip(first, 0, self.taken.shape), np.clip(last, 0, self.taken.shape)
        taken = self.taken.copy()
        taken[tuple(slice(a, b) for a, b in zip(first, last, strict=True))] = True
        return Grid(self.origin, self.step, taken)


def turns(upright: bool) -> list[Array]:
    """Return rotations (3, 3): four quarter turns about z, or all 24 that lay a block along the axes."""
    found = []
    for order in permutations(range(3)):
        for signs in product((1.0, -1.0), repeat=3):
            turn = np.zeros((3, 3))
            turn[list(order), range(3)] = signs
            if np.linalg.det(turn) > 0 and (not upright or turn[2, 2] > 0.5):
                found.append(turn)
    return found


def turned_block(block: Block, turn: Array) -> Block:
    """Return a block turned by a rotation (3, 3) that keeps it along the axes."""
    a, b = turn @ block.low, turn @ block.high
    return Block(np.minimum(a, b), np.maximum(a, b))


def grid_of(low: Array, high: Array, step: float, skin: Skin | None = None, bay: "Bay | None" = None) -> Grid:
    """Return the grid of a region (3,) to (3,) mm: taken where the skin is and where any of a cell is not taped bay.

    A triangle takes the cells of points on it at most half a cell apart; at most a sliver of a cell it only clips is
    missed, which an exact check of the place found tells.

    Raises:
        ValueError: if the grid would be absurdly large.
    """
    size = np.maximum(np.ceil((high - low) / step - _NEAR).astype(np.int64), 1)
    if np.prod(size.astype(float)) > _MOST_CELLS:
        raise ValueError(
            f"a grid of {step:g} mm over {np.round(high - low).tolist()} mm is too fine; take a larger step"
        )
    taken = np.zeros(size, dtype=bool)
    grid = Grid(np.asarray(low, dtype=float), step, taken)
    if bay is not None:
        taken |= ~_taped(grid, bay)
    if skin is not None:
        _mark(taken, (skin.vertices[skin.faces] - low) / step)
    return grid


def _taped(grid: Grid, bay: "Bay") -> Flags:
    """Tell of each cell whether all of it lies in the taped bay and none of it in a keep-out.

    A cell that no wall passes is all in or all out, as any point of it tells; so a sheet between two spaces is seen
    however thin it is.
    """
    from baywright.bay.envelope import within

    nx, ny, nz = grid.taken.shape
    x, y, z = (grid.origin[k] + (np.arange(n) + 0.5) * grid.step for k, n in enumerate((nx, ny, nz)))
    plan = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    half = grid.step / 2
    # Off the middle by odd shares of a cell, so that no seam between two spaces runs through the point.
    point = plan + grid.step * np.array([0.0137, 0.0071])
    inside = bay.free(point)
    walls, levels = bay.walls, bay.levels
    out = np.ones((nx, ny, nz), dtype=bool)
    out &= (z - half > levels[0] - _NEAR) & (z + half < levels[-1] + _NEAR)
    for slab, (low, high) in enumerate(pairwise(levels.tolist())):
        own = walls.ends[(walls.low < (low + high) / 2) & ((low + high) / 2 < walls.high)]
        free = inside[:, slab].reshape(nx, ny) & ~_passed(grid, own)
        out &= free[:, :, None] | ~((z + half > low + _NEAR) & (z - half < high - _NEAR))
    for thing in bay.keep_outs:
        sides = np.stack([thing.outline, np.roll(thing.outline, -1, axis=0)], axis=1)
        held = within(point, thing.outline).reshape(nx, ny) | _passed(grid, sides)
        out &= ~(held[:, :, None] & ((thing.low < z + half - _NEAR) & (z - half < thing.high - _NEAR)))
    return out


def _passed(grid: Grid, ends: Array) -> Flags:
    """Tell of each column of cells (nx, ny) whether a line in plan, of those from end to end (m, 2, 2) mm, passes it.

    Lines along a column's face only touch it. A column and a line are apart if they are along x, along y or square to
    the line: exact for both.
    """
    nx, ny, _ = grid.taken.shape
    out = np.zeros((nx, ny), dtype=bool)
    for a, b in ((ends - grid.origin[:2]) / grid.step).tolist():
        first = [max(int(np.floor(min(p, q) + _NEAR)), 0) for p, q in zip(a, b, strict=True)]
        last = [min(int(np.ceil(max(p, q) - _NEAR)), n) for p, q, n in zip(a, b, (nx, ny), strict=True)]
        if first[0] >= last[0] or first[1] >= last[1]:
            continue
        square = b[1] - a[1], a[0] - b[0]
        reach = (abs(square[0]) + abs(square[1])) / 2
        x = np.arange(first[0], last[0]) + 0.5 - a[0]
        y = np.arange(first[1], last[1]) + 0.5 - a[1]
        off = np.abs(square[0] * x[:, None] + square[1] * y[None, :])
        out[first[0] : last[0], first[1] : last[1]] |= off < reach * (1 - _NEAR)
    return out


def _mark(taken: Flags, corner: Array) -> None:
    """Mark the cells that triangles (m, 3, 3), in cells from the grid's corner, pass."""
    size = np.array(taken.shape)
    near = ((corner.max(axis=1) >= 0) & (corner.min(axis=1) <= size)).all(axis=1)
    corner = corner[near]
    longest = np.linalg.norm(corner - np.roll(corner, 1, axis=1), axis=2).max(axis=1)
    parts = 2 ** np.ceil(np.log2(np.maximum(2 * longest, 1.0))).astype(np.int64)
    for n in np.unique(parts):
        i, j = np.meshgrid(np.arange(n + 1), np.arange(n + 1))
        inside = (i + j) <= n
        weight = np.stack([i[inside], j[inside], n - i[inside] - j[inside]], axis=1) / n
        several = corner[parts == n]
        lot = max(int(4_000_000 // len(weight)), 1)
        for start in range(0, len(several), lot):
            at = np.floor(np.einsum("wk,mkc->mwc", weight, several[start : start + lot]).reshape(-1, 3)).astype(
                np.int64
            )
            at = at[((at >= 0) & (at < size)).all(axis=1)]
            taken[at[:, 0], at[:, 1], at[:, 2]] = True
