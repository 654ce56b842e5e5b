import numpy as np
import pytest

from baywright.rail.clear import keep_boxes, rocking, rooms
from baywright.rail.rules import check_rails
from baywright.rail.stress import solve

BOX = {"name": "steering box", "low": [60, -420, 330], "high": [180, -330, 480]}


def finding(design):
    return next(f for f in check_rails(design) if f.check == "clear of steering box")


def test_distance_to_a_keep_out_in_the_car(base, made):
    """Beside a level rail: its outer face at 201 mm, the box from 330 mm on."""
    base["shaft"]["rise"] = 0.0
    base["keep_outs"] = [{"name": "steering box", "low": [150, -420, 430], "high": [190, -330, 480]}]
    design = made(base)
    solved = solve(design)
    (room,) = rooms(solved, keep_boxes(design))
    assert room.mark.startswith("rail left")
    # A bolt's head or nut may stand nearer than the rail: never nearer than the longest that is drawn.
    assert 330 - 201 - 30 < room.at_rest <= 330 - 201
    assert room.eaten > 0
    assert room.left == pytest.approx(room.at_rest - room.eaten)
    assert finding(design).verdict == "pass"


def test_the_tapes_slack_decides(base, made):
    base["keep_outs"] = [BOX]
    near = rooms(solve(made(base)), keep_boxes(made(base)))[0].left
    base["clearance"] = near - 2.0
    assert finding(made(base)).verdict == "pass"
    base["keep_outs"] = [BOX | {"high": ["180 ± 5", "-330 ± 5", 480]}]
    assert finding(made(base)).verdict == "look"
    base["clearance"] = near + 2.0
    assert finding(made(base)).verdict == "fail"


def test_rocking_is_the_turn_under_full_torque(demo):
    solved = solve(demo)
    turn = solved.answer.motion[:, 0, 3] - solved.answer.motion[0, 0, 3]
    loaded = [i for i, c in enumerate(solved.cases) if np.any(c.moment)]
    assert rocking(solved).angle == pytest.approx(np.degrees(np.abs(turn[loaded]).max()))
    assert rocking(solved).moves > 0


def test_softer_mounts_eat_more_room(base, made):
    base["keep_outs"] = [BOX]
    stiff = rooms(solve(made(base)), keep_boxes(made(base)))[0].eaten
    for mount in base["mounts"].values():
        mount["rubber"] = {"along_n_per_mm": 60, "across_n_per_mm": 40, "travel": 60, "source": "invented"}
    soft = rooms(solve(made(base)), keep_boxes(made(base)))[0].eaten
    assert soft > 3 * stiff
