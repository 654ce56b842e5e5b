"""What moves sweeps all that it passes, and little more."""

import numpy as np
import pytest
from pydantic import ValidationError

from baywright.bay.gaps import strikes
from baywright.bay.moving import BULGE, swept
from baywright.job.scans import Moving
from baywright.piece.solid import Block
from baywright.shape.pose import shifted, turned

trimesh = pytest.importorskip("trimesh")
SHAFT = {"name": "driveshaft", "rod": {"ends": [[0, 100, 250], [0, 600, 230]], "diameter": 30}}
TURN = {"about": [0, 100, 250], "axis": "x", "least": -15, "most": 10}


def mesh(skin):
    return trimesh.Trimesh(skin.vertices, skin.faces, process=False)


def test_a_shaft_at_bump_and_droop():
    skin = swept(Moving.model_validate({**SHAFT, "turn": TURN}))
    solid = mesh(skin)
    assert solid.is_watertight
    assert 0 < skin.trust <= BULGE
    for angle in np.linspace(-15, 10, 23):
        along = np.linspace(0, 1, 20)[:, None] * np.array([0, 500.0, -20])
        there = turned("x", float(angle))(along + np.array([0, 0, 0])) + np.array([0, 100, 250])
        assert solid.contains(there[1:-1]).all() if hasattr(solid, "contains") else True
    # A fan of 500 mm over 25 degrees, 30 mm thick, and a rod.
    fan = np.radians(25) / 2 * 500.4**2 * 30 * np.pi / 4
    assert fan < solid.volume < (np.radians(25) / 2 * 520**2 * 30 + 500 * 30 * 30)


def test_a_straight_shift_goes_both_ways():
    block = {"name": "lever", "low": [0, 0, 0], "high": [10, 10, 10], "shift": [[-30, 0, 0], [50, 0, 0]]}
    skin = swept(Moving.model_validate(block))
    assert skin.trust == 0
    low, high = skin.bounds
    assert low.tolist() == [-30, 0, 0]
    assert high.tolist() == [60, 10, 10]
    assert mesh(skin).volume == pytest.approx(9000)


def test_a_box_in_the_way_only_at_full_droop_is_struck():
    rest = swept(Moving.model_validate({**SHAFT, "shift": [[0, 0, 0.001]]}))
    moving = swept(Moving.model_validate({**SHAFT, "turn": TURN}))
    under = [Block(np.array([-20.0, 500, 120]), np.array([20.0, 560, 150]))]
    assert not strikes(under, shifted(), rest)[0]
    assert strikes(under, shifted(), moving)[0]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"turn": TURN, "shift": [[1, 0, 0]]}, "either turn or shift"),
        ({}, "either turn or shift"),
        ({"turn": {**TURN, "least": 5}}, "least is 0 or below"),
        ({"turn": TURN, "low": [0, 0, 0], "high": [1, 1, 1]}, "shape at rest"),
        ({"turn": TURN, "rod": {"ends": [[0, 0, 0], [0, 0, 0]], "diameter": 5}}, "same point"),
    ],
)
def test_what_cannot_be_meant_is_refused(change, said):
    with pytest.raises(ValidationError, match=said):
        Moving.model_validate({**SHAFT, **change})
