"""Places on a grid by summed volumes, against counting the cells of every place."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.bay.envelope import Bay, cuboid, upright
from baywright.bay.grid import Grid, grid_of, turned_block, turns
from baywright.bay.skin import Skin
from baywright.piece.solid import Block


def counted(grid: Grid, blocks: list[Block], around: float, below: float, sure: bool) -> set[tuple[int, ...]]:
    found = set()
    for place in product(*(range(n + 1) for n in grid.taken.shape)):
        for block in blocks:
            low = block.low - (around, around, below)
            first, last = grid.span(low, block.high + around, sure)
            first, last = first + place, last + place
            if (first < 0).any() or (last > grid.taken.shape).any():
                break
            if grid.taken[tuple(slice(a, b) for a, b in zip(first, last, strict=True))].any():
                break
        else:
            found.add(place)
    return found


@settings(max_examples=15)
@given(st.integers(0, 1000))
def test_places_are_those_that_counting_finds(seed):
    rng = np.random.default_rng(seed)
    grid = Grid(np.zeros(3), 10.0, rng.random((11, 9, 8)) < 0.04)
    blocks = [Block(-rng.uniform(0, 18, 3), rng.uniform(1, 18, 3)) for _ in range(2)]
    for sure in (True, False):
        found = grid.fits(blocks, 3.0, below=0.0, sure=sure)
        assert {tuple(p) for p in found.tolist()} == counted(grid, blocks, 3.0, 0.0, sure)


def test_there_are_24_turns_and_four_of_them_upright():
    found = turns(upright=False)
    assert len({tuple(t.ravel()) for t in found}) == 24
    assert all(np.isclose(np.linalg.det(t), 1) for t in found)
    assert len(turns(upright=True)) == 4
    block = Block(np.array([0.0, 0, 0]), np.array([1.0, 2, 3]))
    sizes = {tuple((b := turned_block(block, t)).high - b.low) for t in found}
    assert len(sizes) == 6


def test_a_taped_bay_is_free_inside_and_taken_outside():
    bay = Bay(
        name="b",
        spaces=(upright("b", [(0, 0), (300, 0), (300, 100), (100, 100), (100, 200), (0, 200)], 0, 100),),
        keep_outs=(cuboid("pipe", (40, 40, 0), (60, 60, 100)),),
    )
    grid = grid_of(np.zeros(3), np.array([300.0, 200, 100]), 10.0, None, bay)
    free = ~grid.taken[:, :, 5]
    assert free[5, 15]
    assert not free[20, 15]
    assert not free[4, 4]
    assert free[7, 4]


@settings(max_examples=20)
@given(st.integers(0, 1000))
def test_every_cell_that_a_triangle_passes_well_within_is_taken(seed):
    rng = np.random.default_rng(seed)
    corner = rng.uniform(0, 200, (3, 3, 3))
    skin = Skin(corner.reshape(-1, 3), np.arange(9).reshape(3, 3))
    grid = grid_of(np.zeros(3), np.full(3, 200.0), 10.0, skin)
    weight = rng.dirichlet((1, 1, 1), 500)
    at = np.concatenate([weight @ t for t in corner]) / 10
    within = np.abs(at - np.floor(at) - 0.5).max(axis=1) < 0.2  # not near a cell's face
    cell = np.floor(at[within]).astype(int)
    assert grid.taken[tuple(cell.T)].all()


def test_a_grid_too_fine_is_refused():
    with pytest.raises(ValueError, match="too fine"):
        grid_of(np.zeros(3), np.full(3, 5000.0), 1.0)
