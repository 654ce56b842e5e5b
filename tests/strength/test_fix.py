"""What would fix it: the smallest step of the shop's own tables, found by making the box again."""

from dataclasses import replace

import pytest

from baywright.strength.box import calculations
from baywright.strength.fix import _LADDERS, Fix, _problem, fixes
from baywright.strength.verdict import governing

from .conftest import box


def judged(design, cases, member):
    return governing([c for c in calculations(design, cases) if c.member == member])


@pytest.fixture(scope="module")
def case(shop):
    return [shop.load("guideline-20g")]


def test_a_thin_lid_made_to_fail_is_mended_by_the_next_sheet(case):
    """A lid of 1 mm, bent by 100 g upward: 1.5 mm is not enough, the first that passes is named with its mass."""
    hard = [case[0].model_copy(update={"name": "hard", "up": 100.0})]
    failing = box({"lid.thickness": 1.0})
    assert judged(failing, hard, "lid")[1] == "fail"
    fix = fixes(failing, hard, "lid")[0]
    assert (fix.key, fix.old) == ("lid.thickness", "1 mm")
    wide = float(fix.new.removesuffix(" mm"))
    mended = box({"lid.thickness": wide})
    assert judged(mended, hard, "lid")[1] != "fail"
    assert fix.use == pytest.approx(judged(mended, hard, "lid")[0].use)
    assert fix.mass == pytest.approx(mended.mass_properties.mass - failing.mass_properties.mass)
    assert fix.mass > 0
    # It is the smallest: the sheet before it still fails.
    stock = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0]
    before = stock[stock.index(wide) - 1]
    assert judged(box({"lid.thickness": before}), hard, "lid")[1] == "fail"


def test_bolts_to_the_car(case):
    failing = box(yaw=90.0)
    assert judged(failing, case, "bolts to the car")[1] == "fail"
    found = fixes(failing, case, "bolts to the car")
    assert ("feet.bolt", "M8", "M10") in [(f.key, f.old, f.new) for f in found]
    assert all(f.verdict != "fail" for f in found)
    assert [f.mass for f in found] == sorted(f.mass for f in found)


def test_feet_made_to_fail_are_mended_by_the_long_walls(case):
    """The first style's brackets under 20 g: seven times too weak; heavy ones along the long walls are found."""
    failing = box(yaw=90.0)
    one, verdict, _ = judged(failing, case, "feet, lower leg")
    assert verdict == "fail"
    assert one.use > 5
    found = fixes(failing, case, "feet, lower leg")
    walls = next(f for f in found if f.key == "feet.on")
    assert walls.new.startswith("long walls (angle-70x70x")
    assert walls.use < 1
    assert 0 < walls.mass < 3


def test_where_no_single_step_is_enough_the_best_is_said(case):
    hopeless = [case[0].model_copy(update={"name": "hopeless", "forward": 150.0})]
    (best,) = fixes(box(yaw=90.0, count=2), hopeless, "feet, lower leg")
    assert best.verdict == "fail"
    assert best.text().startswith("no single step in the shop's tables is enough")


def test_a_member_without_steps_has_none(case):
    assert fixes(box(), case, "car's floor under the bolts") == []


@pytest.mark.parametrize(
    ("member", "key", "steps"),
    [
        # What the shop's tables hold above what the style has: sheets, angles by their metal, threads, round lengths.
        ("lid", "lid.thickness", ["3 mm", "4 mm", "5 mm", "6 mm"]),
        ("floor", "floor.thickness", ["5 mm", "6 mm"]),
        ("bearers", "bearer", ["bar-50x15"]),
        ("lift lugs", "lift.section", ["angle-60x60x6", "angle-70x70x6", "angle-50x50x5-6082"]),
        ("lift lugs", "lift.length", ["62 mm", "75 mm"]),
        ("bearer ends", "bearer_screw.size", ["M6", "M8"]),
        ("bolts to the car", "feet.bolt", ["M10", "M12"]),
        ("lid screws", "lid_screw.pitch_most", ["60 mm", "49 mm", "38 mm"]),
        ("feet, lower leg", "feet.per_wall_least", ["3", "4", "5"]),
        ("feet, lower leg", "feet.length", ["75 mm", "90 mm", "105 mm", "120 mm"]),
    ],
)
def test_steps_climb_through_the_shops_tables(member, key, steps):
    design = box()
    found = [step for ladder in _LADDERS[member] for step in ladder(design) if step.key == key]
    assert [step.new for step in found] == steps
    style = design.layout.kit.style
    for step in found:
        assert step.ask == {}
        changed = {k for k in type(style).model_fields if getattr(step.style, k) != getattr(style, k)}
        assert changed == {key.split(".")[0]}  # nothing else moves with it


def test_a_closer_pitch_keeps_room_to_spread_screws():
    """The style's own rule: the least pitch is at most three quarters of the most."""
    design = box()
    steps = list(_LADDERS["corner joints"][1](design))
    rules = [step.style.joint_screw for step in steps]
    assert [rule.pitch_most for rule in rules] == [60, 50, 40, 30]
    assert [rule.pitch_least for rule in rules] == pytest.approx([40, 35, 28, 21])
    assert all(rule.pitch_least <= 0.75 * rule.pitch_most for rule in rules)


def test_no_more_stacks_than_modules_and_none_past_three():
    def columns(**asked):
        return [step.ask["columns"] for step in _LADDERS["long walls"][1](box(**asked))]

    assert columns(count=3) == [2, 3]
    assert columns(count=2) == [2]
    assert columns(count=1) == []
    assert columns(count=6, columns=3) == []


def test_feet_that_stand_at_the_long_walls_already_stay_there():
    assert [
        s for ladder in _LADDERS["feet, lower leg"] for s in ladder(box(start="crash-20g")) if s.key == "feet.on"
    ] == []


def test_a_change_that_breaks_something_else_says_so_and_comes_last():
    fix = Fix(member="lid", key="lid.thickness", old="2 mm", new="3 mm", use=0.5, what="bending 50 % used",
              verdict="pass", mass=0.4, problem="overlap: 'a' and 'b' overlap")  # fmt: skip
    assert fix.text() == "lid.thickness 2 mm -> 3 mm: bending 50 % used; +0.40 kg; but overlap: 'a' and 'b' overlap"
    sound = box()
    assert _problem(sound) == ""
    lid = sound.assembly.by_mark["lid"]
    twice = (*sound.assembly.placed, replace(lid, mark="second lid"))
    assert _problem(replace(sound, assembly=replace(sound.assembly, placed=twice))).startswith("overlap: ")
