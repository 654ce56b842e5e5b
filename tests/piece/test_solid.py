"""Blocks and cylinders that stand for pieces: where they are after a move, and the block that holds them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from baywright.piece.solid import Block, Round, enclosing
from baywright.shape.pose import Pose

NUMBERS = st.floats(-500, 500)
POINTS = st.tuples(NUMBERS, NUMBERS, NUMBERS)
SIZES = st.floats(0.5, 300)


@st.composite
def poses(draw, quarter=False):
    """Return a pose turned any way, or by quarter turns alone."""
    if quarter:
        turn = Rotation.create_group("O")[draw(st.integers(0, 23))].as_matrix().round()
    else:
        turn = Rotation.from_euler("xyz", [draw(st.floats(-180, 180)) for _ in range(3)], degrees=True).as_matrix()
    return Pose(turn, np.array(draw(POINTS)))


def corners(block):
    """Return the eight corners (8, 3) of a block."""
    picks = np.array(np.meshgrid([0, 1], [0, 1], [0, 1])).reshape(3, -1).T
    return np.where(picks == 0, block.low, block.high)


@given(POINTS, SIZES, SIZES, SIZES, poses())
def test_a_turned_block_is_enclosed_by_its_corners_extremes(low, a, b, c, there):
    block = Block(np.array(low), np.add(low, (a, b, c)))
    found, points = block.moved(there), there(corners(block))
    assert found.low == pytest.approx(points.min(axis=0), abs=1e-8)
    assert found.high == pytest.approx(points.max(axis=0), abs=1e-8)


@given(POINTS, SIZES, SIZES, SIZES, poses(quarter=True))
def test_a_quarter_turn_keeps_a_block_its_size(low, a, b, c, there):
    moved = Block(np.array(low), np.add(low, (a, b, c))).moved(there)
    assert sorted(moved.high - moved.low) == pytest.approx(sorted((a, b, c)))


@given(POINTS, SIZES, SIZES, poses())
def test_a_cylinder_is_enclosed_by_its_rims_extremes(start, length, diameter, there):
    rod = Round(np.array(start), np.array([0.0, 0.0, 1.0]), length, diameter)
    angle = np.linspace(0, 2 * np.pi, 4001)
    rim = np.column_stack([np.cos(angle), np.sin(angle), 0 * angle]) * diameter / 2 + start
    points = there(np.vstack([rim, np.add(rim, (0, 0, length))]))
    found = enclosing(rod.moved(there))
    assert found.low == pytest.approx(points.min(axis=0), abs=1e-4)
    assert found.high == pytest.approx(points.max(axis=0), abs=1e-4)
    assert rod.moved(there).length == length
    assert np.linalg.norm(rod.moved(there).axis) == pytest.approx(1)


def test_a_block_encloses_itself():
    block = Block(np.zeros(3), np.ones(3))
    assert enclosing(block) is block
