"""Fits whose answer is known by hand: every clearance here is a subtraction one can do on paper."""

import numpy as np
import pytest

from baywright.bay.envelope import Bay, Opening, cuboid, opening, upright
from baywright.bay.fit import FitResult, check_fit
from baywright.bay.near import Clearance
from baywright.piece.solid import Block, Round
from baywright.shape.pose import Pose, shifted, turned

CASE = [("case", Block(np.array([-300.0, -80.0, 0.0]), np.array([300.0, 80.0, 200.0])))]


TAPE = (3.0, 3.0, 3.0)


def rim(x0: float, y0: float, x1: float, y1: float, height: float, slack: float = 0.0) -> Opening:
    sides = ("left rim", "rear rim", "right rim", "front rim")
    return opening([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], height, slack=slack, sides=sides)


def side(result: FitResult, word: str) -> Clearance:
    return next(c for c in result.sides if c.side == word)


def values(result: FitResult) -> dict[str, float]:
    return {c.side: round(c.nominal, 6) for c in result.sides}


def test_six_sides_in_a_plain_bay():
    bay = Bay(
        name="boot",
        spaces=(cuboid("boot", (100, -300, 50), (900, 300, 400)),),
        opening=rim(100, -300, 900, 300, 400),
    )
    result = check_fit("box", CASE, shifted(460, 20, 70), bay)
    assert values(result) == {"front": 60, "rear": 140, "left": 240, "right": 200, "above": 130, "below": 20}
    assert result.inside
    assert result.drops_in
    assert result.verdict == "pass"
    assert side(result, "front").against == "boot, front end"
    assert side(result, "above").against == "boot, top"
    assert side(result, "front").at[0] == 100


def test_a_box_may_span_two_blocks_that_touch():
    spaces = (cuboid("a", (0, 0, 0), (500, 400, 300)), cuboid("b", (500, 100, 0), (900, 300, 300)))
    result = check_fit("box", CASE, shifted(450, 200, 40), Bay(name="boot", spaces=spaces))
    assert result.inside
    # Beside the narrow block there are 20 mm on the left; the wide one starts 100 mm nearer the middle line's left.
    assert values(result) == {"front": 150, "rear": 150, "left": 20, "right": 20, "above": 60, "below": 40}


def test_a_slit_between_blocks_is_a_wall():
    spaces = (cuboid("a", (0, 0, 0), (500, 400, 300)), cuboid("b", (500.5, 0, 0), (900, 400, 300)))
    result = check_fit("box", CASE, shifted(450, 200, 40), Bay(name="boot", spaces=spaces))
    assert not result.inside


def test_blocks_stacked_in_height_join():
    spaces = (cuboid("low", (0, 0, 0), (900, 400, 100)), cuboid("high", (0, 0, 100), (900, 400, 300)))
    result = check_fit("box", CASE, shifted(450, 200, 0), Bay(name="boot", spaces=spaces))
    assert values(result)["above"] == 100
    assert result.inside


def test_the_inner_corner_of_an_l_shaped_bay():
    spaces = (cuboid("long", (0, 0, 0), (1000, 200, 300)), cuboid("side", (0, 0, 0), (400, 600, 300)))
    bay = Bay(name="boot", spaces=spaces)
    # 600 x 160 turned a quarter: it stands in the side arm, 20 mm clear of its front wall and touching both ends.
    assert check_fit("box", CASE, turned("z", 90, (100, 300, 0)), bay).inside
    # Straight, it reaches 200 mm past the inner corner's x and 60 mm past its y.
    result = check_fit("box", CASE, shifted(300, 180, 0), bay)
    assert not result.inside
    assert (values(result)["right"], values(result)["rear"]) == (-60, -200)


def test_a_box_that_sticks_out_says_where_and_by_how_much():
    bay = Bay(name="boot", spaces=(cuboid("boot", (0, 0, 0), (900, 400, 190)),))
    result = check_fit("box", CASE, shifted(288, 200, 0), bay)
    assert values(result)["front"] == -12
    assert values(result)["above"] == -10
    assert result.verdict == "fail"
    inside = result.findings[0]
    assert inside.verdict == "fail"
    assert "12 mm at the front" in inside.message
    assert "10 mm above" in inside.message


def test_a_box_beside_the_bay_is_outside_it():
    bay = Bay(name="boot", spaces=(cuboid("boot", (0, 0, 0), (900, 400, 300)),))
    for place in (shifted(3000, 200, 0), shifted(450, 200, 500), shifted(450, 200, -500)):
        result = check_fit("box", CASE, place, bay)
        assert not result.inside
        assert result.findings[0].verdict == "fail"


def test_the_tape_alone_makes_a_look_and_names_the_measurement():
    bay = Bay(
        name="boot",
        spaces=(cuboid("boot", (0, 0, 0), (900, 400, 300), low_slack=TAPE, high_slack=TAPE),),
        clearance=10.0,
    )
    ten = check_fit("box", CASE, shifted(312, 200, 0), bay)  # 12 mm in front, 9 at the tape's worst
    finding = next(f for f in ten.findings if f.check == "clearance at the front")
    assert finding.verdict == "look"
    assert side(ten, "front").worst == pytest.approx(9)
    assert "boot, front end" in finding.message
    assert (
        next(f for f in check_fit("box", CASE, shifted(313, 200, 0), bay).findings if "front" in f.check).verdict
        == "pass"
    )
    short = next(f for f in check_fit("box", CASE, shifted(309, 200, 0), bay).findings if "front" in f.check)
    assert short.verdict == "fail"
    assert "measure boot, front end again" in short.message


def test_a_box_that_stands_on_the_floor_needs_nothing_below_and_its_floor_counts_above():
    bay = Bay(name="boot", spaces=(cuboid("boot", (0, 0, 0), (900, 400, 214), low_slack=TAPE, high_slack=TAPE),))
    result = check_fit("box", CASE, shifted(450, 200, 0), bay)
    assert side(result, "below").verdict == "pass"
    assert side(result, "above").nominal == pytest.approx(14)
    assert side(result, "above").worst == pytest.approx(8)
    assert side(result, "above").verdict == "look"
    hung = check_fit("box", CASE, shifted(450, 200, 4), bay)
    assert side(hung, "below").verdict == "fail"
    assert side(hung, "above").worst == pytest.approx(7)


def test_a_corner_over_and_beside_is_seen():
    # A step of the bonnet ahead of the box and above it: 30 mm away in plan, 40 mm in height, 50 mm in truth.
    spaces = (cuboid("boot", (0, 0, 0), (1000, 400, 240)), cuboid("hump", (170, 0, 0), (1000, 400, 600)))
    result = check_fit("box", CASE, shifted(500, 200, 0), Bay(name="boot", spaces=spaces))
    assert min(c.nominal for c in result.sides if c.side in ("front", "above")) == pytest.approx(50)


def test_a_turned_box_touches_with_its_corner():
    bay = Bay(name="boot", spaces=(cuboid("boot", (-500, -500, 0), (500, 500, 300)),))
    result = check_fit("box", CASE, turned("z", 30, (0, 0, 0)), bay)
    reach = 300 * np.cos(np.radians(30)) + 80 * np.sin(np.radians(30))
    assert side(result, "rear").nominal == pytest.approx(500 - reach)


def test_a_sloping_wall_is_measured_square_to_it():
    outline = [(0, 0), (1000, 0), (1000, 300), (700, 600), (0, 600)]
    bay = Bay(name="boot", spaces=(upright("boot", outline, 0, 300),))
    result = check_fit("box", CASE, shifted(500, 300, 0), bay)
    # The corner (800, 380) to the line x + y = 1300.
    assert min(c.nominal for c in result.sides if c.side in ("rear", "right")) == pytest.approx(120 / np.sqrt(2))


def test_keep_outs_have_their_own_clearance():
    exhaust = cuboid("exhaust", (0, 320, 0), (900, 360, 40), low_slack=(2, 2, 2), clearance=50.0)
    bay = Bay(name="boot", spaces=(cuboid("boot", (0, 0, 0), (900, 400, 300)),), keep_outs=(exhaust,))
    result = check_fit("box", CASE, shifted(450, 190, 20), bay)
    name, c = result.keep_outs[0]
    assert (name, c.side, c.needed) == ("exhaust", "right", 50.0)
    assert c.nominal == pytest.approx(50)
    assert c.verdict == "look"
    through = check_fit("box", CASE, shifted(450, 255, 20), bay).keep_outs[0][1]
    assert through.nominal == pytest.approx(-15)
    assert not check_fit("box", CASE, shifted(450, 255, 20), bay).inside
    over = check_fit("box", CASE, shifted(450, 255, 90), bay).keep_outs[0][1]
    assert (over.side, over.nominal) == ("below", pytest.approx(50))


def test_a_box_wholly_within_a_keep_out():
    spare = cuboid("spare wheel", (0, 0, 0), (900, 400, 500))
    bay = Bay(name="boot", spaces=(cuboid("boot", (-900, -900, -900), (1900, 900, 900)),), keep_outs=(spare,))
    c = check_fit("box", CASE, shifted(450, 150, 100), bay).keep_outs[0][1]
    assert (c.side, c.nominal) == ("right", pytest.approx(-230))  # the short way out is to the left


def test_it_goes_in_through_a_hole_that_is_large_enough():
    spaces = (cuboid("boot", (0, 0, 0), (900, 400, 300)),)
    wide = Bay(name="boot", spaces=spaces, opening=rim(135, 105, 765, 295, 300, 2.0))
    result = check_fit("box", CASE, shifted(450, 200, 0), wide)
    assert result.drops_in
    assert result.inside
    least = {c.side: c.nominal for c in result.way_in}
    assert least == pytest.approx({"front": 15, "rear": 15, "left": 15, "right": 15})
    assert result.findings[-1].verdict == "pass"
    lip = Bay(name="boot", spaces=spaces, opening=rim(170, 105, 765, 295, 300))
    stuck = check_fit("box", CASE, shifted(450, 200, 0), lip)
    assert stuck.inside
    assert not stuck.drops_in
    assert stuck.findings[-1].verdict == "fail"
    assert "front rim by 20 mm" in stuck.findings[-1].message


def test_metal_over_the_box_stops_it():
    spaces = (cuboid("boot", (0, 0, 0), (900, 400, 250)), cuboid("hatch", (0, 0, 250), (700, 400, 400)))
    bay = Bay(name="boot", spaces=spaces, opening=rim(0, 0, 900, 400, 400))
    assert check_fit("box", CASE, shifted(350, 200, 0), bay).drops_in
    under = check_fit("box", CASE, shifted(550, 200, 0), bay)
    assert under.inside
    assert not under.drops_in
    assert "150 mm at the rear" in under.findings[-1].message


def test_a_pipe_over_the_box_stops_it():
    pipe = cuboid("pipe", (0, 190, 280), (900, 210, 300))
    bay = Bay(
        name="boot",
        spaces=(cuboid("boot", (0, 0, 0), (900, 400, 400)),),
        keep_outs=(pipe,),
        opening=rim(0, 0, 900, 400, 400),
    )
    result = check_fit("box", CASE, shifted(450, 200, 0), bay)
    assert result.inside
    assert result.drops_in is False


def test_without_an_opening_a_person_must_look():
    bay = Bay(name="boot", spaces=(cuboid("boot", (0, 0, 0), (900, 400, 300)),))
    result = check_fit("box", CASE, shifted(450, 200, 0), bay)
    assert result.drops_in is None
    assert result.findings[-1].verdict == "look"


def test_a_screw_head_on_the_wall_counts():
    screw = ("screw", Round(np.array([0.0, 80.0, 100.0]), np.array([0.0, 1.0, 0.0]), 5.0, 9.0))
    peg = ("peg", Round(np.array([310.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0]), 30.0, 9.0))
    bay = Bay(name="boot", spaces=(cuboid("boot", (0, 0, 0), (900, 400, 300)),))
    result = check_fit("box", [*CASE, screw, peg], shifted(450, 200, 0), bay)
    assert (side(result, "right").mark, side(result, "right").nominal) == ("screw", pytest.approx(115))
    assert (side(result, "rear").mark, side(result, "rear").nominal) == ("peg", pytest.approx(900 - 450 - 314.5))


def test_a_box_on_its_end_and_one_that_leans():
    bay = Bay(name="boot", spaces=(cuboid("boot", (-500, -500, -500), (500, 500, 500)),))
    ended = check_fit("box", CASE, turned("y", -90, (0, 0, 0)), bay)
    assert values(ended) == {"front": 300, "rear": 500, "left": 420, "right": 420, "above": 200, "below": 200}
    lean = check_fit("box", CASE, turned("y", 20, (0, 0, 0)), bay)
    c, s = np.cos(np.radians(20)), np.sin(np.radians(20))
    assert side(lean, "rear").nominal == pytest.approx(500 - (300 * c + 200 * s))
    assert side(lean, "above").nominal == pytest.approx(500 - (200 * c + 300 * s))


def test_empty_requests_are_refused():
    with pytest.raises(ValueError, match="at least one body"):
        check_fit("box", [], Pose(np.eye(3), np.zeros(3)), Bay(name="boot", spaces=()))


def test_corners_may_be_walked_either_way():
    corners = [(0, 0), (1000, 0), (1000, 300), (0, 600)]
    slack, names = [1, 2, 3, 4], ["left", "rear", "right", "front"]
    one = upright("boot", corners, 0, 300, slack=slack, sides=names)
    # The same sides named from the other direction: corner 4 to 3 is "right", and so on.
    other = upright("boot", corners[::-1], 0, 300, slack=[3, 2, 1, 4], sides=["right", "rear", "left", "front"])
    for a in (one, other):
        ends = {name: (a.outline[i] + a.outline[(i + 1) % 4]).tolist() for i, name in enumerate(a.sides)}
        assert ends == {"left": [1000, 0], "rear": [2000, 300], "right": [1000, 900], "front": [0, 600]}
        assert dict(zip(a.sides, a.slack, strict=True)) == {"left": 1, "rear": 2, "right": 3, "front": 4}


@pytest.mark.parametrize(
    ("corners", "heights", "words"),
    [
        ([(0, 0), (1, 0)], (0, 1), "three corners"),
        ([(0, 0), (100, 0), (200, 0)], (0, 1), "no area"),
        ([(0, 0), (100, 100), (100, 0), (0, 130)], (0, 1), "crosses itself"),
        ([(0, 0), (100, 0), (100, 100)], (5, 5), "above the underside"),
    ],
)
def test_shapes_that_enclose_nothing_are_refused(corners, heights, words):
    with pytest.raises(ValueError, match=words):
        upright("boot", corners, *heights)


def test_a_block_given_upside_down_is_refused():
    with pytest.raises(ValueError, match="high corner"):
        cuboid("boot", (0, 0, 0), (100, -1, 100))
