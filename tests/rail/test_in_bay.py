"""Motor and rails in a measured bay: sides by hand, the rocking asked for on top."""

import numpy as np
import pytest

from baywright.bay.measured import bay_of
from baywright.bay.rails import bay_findings, inner_bodies
from baywright.job.bays import Bay
from baywright.rail.clear import rocking
from baywright.rail.stress import solve


def findings(design, half=400.0):
    """What is found in a bay `half` mm wide to either side."""
    bay = Bay.model_validate(
        {"blocks": [{"low": [-600, -half, 100], "high": [900, half, 900]}], "clearance": 12}, context={"units": {}}
    )
    return {f.check: f for f in bay_findings(design, bay_of("engine", bay), inner_bodies(design))}


def test_room_on_both_sides_by_hand(base, made):
    base["shaft"]["rise"] = 0.0  # the rails stand square: the sides are exact
    design = made(base)
    found = findings(design)
    assert found["inside the bay"].verdict == "pass"
    bar = design.bars["rail left"]
    outside = abs(float(bar.centre[1])) + bar.half_v
    for side in ("left", "right"):
        f = found[f"clearance on the {side}"]
        assert f.value == pytest.approx(400.0 - outside)
        assert f.limit == pytest.approx(12.0 + rocking(solve(design)).moves)
    assert not any(check.startswith("clear of") for check in found)


def test_hangers_reach_through_the_wall_and_do_not_count(demo):
    reach = max(float(np.abs(demo.pose(h.mount.at)[1])) for h in demo.hangers)
    bar = demo.bars["rail left"]
    outside = abs(float(bar.centre[1])) + bar.half_v
    assert findings(demo, half=outside + 30)["inside the bay"].verdict == "pass"
    assert reach > outside + 30


def test_a_bay_too_narrow_is_told(demo):
    f = findings(demo, half=190.0)["inside the bay"]
    assert f.verdict == "fail"
    assert "other rails or motor" in f.message
