"""What would fix it: the smallest step of the shop's own tables, found by making the box again."""

import pytest

from baywright.strength.box import calculations
from baywright.strength.fix import fixes
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
