"""Bays as a job file says them, tape tolerances and all."""

import numpy as np
import pytest

from baywright.bay.fit import check_fit
from baywright.bay.measured import bay_of
from baywright.job.bays import Bay
from baywright.piece.solid import Block
from baywright.shape.pose import shifted

ASKED = {
    "blocks": [
        {"low": ["100 mm ± 2 mm", "-300 ± 3", 400], "high": ["700 ± 4", "300 ± 3", "800 ± 5"]},
        {"low": [700, -200, 400], "high": ["900 ± 4", 200, "800 ± 5"]},
    ],
    "prisms": [
        {"plan": [[900, -200], ["1000 ± 4", "-100 ± 3"], ["1000 ± 4", 200], [900, 200]], "low": 400, "high": 800}
    ],
    "keep_outs": [{"name": "steering column", "low": [100, 250, 700], "high": [400, "300 ± 1", 800]}],
    "opening": {"low": ["150 ± 2", -250], "high": [950, 250]},
    "clearance": "1/2 in",
}


def test_every_measurement_keeps_its_tape():
    bay = bay_of("boot", Bay.model_validate(ASKED))
    first, second, prism = bay.spaces
    assert dict(zip(first.sides, first.slack.tolist(), strict=True)) == {
        "block 1, left side": 3,
        "block 1, rear end": 4,
        "block 1, right side": 3,
        "block 1, front end": 2,
    }
    assert (first.low_slack, first.high_slack) == (0, 5)
    assert second.slack.tolist() == [0, 4, 0, 0]
    # The slanted side: both its corners off against it, 4 mm along x and 3 mm along y, half of each square to it.
    assert prism.slack[0] == pytest.approx((4 + 3) / 2**0.5)
    assert bay.clearance == pytest.approx(12.7)
    assert bay.keep_outs[0].sides[2] == "steering column, right side"
    assert bay.opening is not None
    assert bay.opening.height == 800
    assert bay.opening.slack.tolist() == [0, 0, 0, 2]


def test_a_box_in_it():
    bay = bay_of("boot", Bay.model_validate(ASKED))
    bodies = [("case", Block(np.array([-350.0, -150.0, 0.0]), np.array([350.0, 150.0, 250.0])))]
    result = check_fit("box", bodies, shifted(540, 0, 420), bay)
    assert result.inside
    assert result.drops_in
    assert next(c for c in result.sides if c.side == "left").nominal == pytest.approx(50)


def test_one_block_is_the_bay_itself():
    bay = bay_of("boot", Bay.model_validate({"blocks": [{"low": [0, 0, 0], "high": [100, 100, 100]}]}))
    assert bay.spaces[0].high_side == "bay, top"
    assert bay.opening is None


def test_an_opening_may_be_a_plan():
    plan = {"plan": [[0, 0], [100, 0], [100, "80 ± 2"], [0, "80 ± 2"]]}
    bay = bay_of("boot", Bay.model_validate({"blocks": [{"low": [0, 0, 0], "high": [100, 100, 100]}], "opening": plan}))
    assert bay.opening is not None
    assert bay.opening.slack.tolist() == [0, 0, 2, 0]
