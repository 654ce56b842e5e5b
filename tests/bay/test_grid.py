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


def test_a_sheet_thinner_than_a_cell_between_two_spaces_is_seen():
    """Every cell's middle lies in a space, and yet no block goes through the sheet, upright or level."""
    sheet = Bay(name="b", spaces=(cuboid("l", (0, 0, 0), (151, 200, 100)), cuboid("r", (152, 0, 0), (300, 200, 100))))
    shelf = Bay(name="b", spaces=(cuboid("l", (0, 0, 0), (300, 200, 41)), cuboid("u", (0, 0, 42), (300, 200, 100))))
    size = np.array([300.0, 200, 100])
    for bay, across in ((sheet, np.s_[15, :, :]), (shelf, np.s_[:, :, 4])):
        grid = grid_of(np.zeros(3), size, 10.0, None, bay)
        assert grid.taken[across].all()
        assert grid.taken.sum() == grid.taken[across].sum()
    seamless = Bay(
        name="b", spaces=(cuboid("l", (0, 0, 0), (155, 200, 100)), cuboid("r", (155, 0, 0), (300, 200, 100)))
    )
    assert not grid_of(np.zeros(3), size, 10.0, None, seamless).taken.any()
    pipe = Bay(name="b", spaces=seamless.spaces, keep_outs=(cuboid("pipe", (51, 51, 51), (53, 149, 53)),))
    assert grid_of(np.zeros(3), size, 10.0, None, pipe).taken.sum() == 10  # thinner than a cell, off every middle


@settings(max_examples=20)
@given(st.integers(0, 1000))
def test_a_cell_is_free_only_if_all_of_it_is_in_the_bay(seed):
    """Against shapely: the cells that the union of the outlines covers."""
    import shapely

    rng = np.random.default_rng(seed)
    outlines = [np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * rng.uniform(60, 150, 2) + rng.uniform(0, 60, 2)]
    angles = np.sort(rng.uniform(0, 2 * np.pi, 5))
    if np.diff(angles, append=angles[0] + 2 * np.pi).max() < np.pi:
        outlines.append(np.column_stack([np.cos(angles), np.sin(angles)]) * 70 + 100)
    bay = Bay(name="b", spaces=tuple(upright(f"s{i}", o, 0, 20) for i, o in enumerate(outlines)))
    grid = grid_of(np.zeros(3), np.array([250.0, 250, 20]), 10.0, None, bay)
    whole = shapely.union_all([shapely.Polygon(o) for o in outlines]).buffer(1e-6)
    x, y = np.meshgrid(np.arange(25) * 10.0, np.arange(25) * 10.0, indexing="ij")
    assert np.array_equal(~grid.taken[:, :, 0], shapely.covers(whole, shapely.box(x, y, x + 10, y + 10)))


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
