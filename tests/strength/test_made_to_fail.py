"""Every finding about strength made to fail once: members under far too many g, the rest by the style."""

from dataclasses import replace

import pytest

from baywright.design import design_job
from baywright.job.read import read_job
from baywright.rooms import room
from baywright.strength.adapter import adapter_findings
from baywright.strength.box import strength_findings
from baywright.strength.insulation import touch
from baywright.strength.rules import case_rules
from baywright.strength.service import service

from .conftest import box

BOTH = {
    "corner joints",
    "floor joints",
    "floor",
    "long walls",
    "end walls",
    "lid",
    "lift lugs",
    "lid screws",
    "feet, lower leg",
    "feet, upright leg",
    "wall and floor at the feet",
    "bolts to the car",
}
LEDGES = {"module hold-downs", "bearers", "bearer ends", "ledges", "floor angles under bearers"}
WAYS = ("forward", "rearward", "left", "right", "up", "down")


@pytest.fixture(scope="module")
def case(shop):
    return shop.load("guideline-20g")


def of(findings, check):
    (one,) = [f for f in findings if f.check == check]
    return one


@pytest.mark.parametrize("carry", ["ledges", "tie rods"])
def test_every_member_of_a_box_fails_under_enough_g(case, carry):
    """50 000 g each way, and a hoist that jerks by 2000 g: nothing holds it."""
    hard = case.model_copy(update={"name": "hard", **dict.fromkeys(WAYS, 50_000.0)})
    design = box(carry=carry)
    heavy = design.layout.kit.catalogue.load("lifting").model_copy(update={"load_factor": 2000.0})
    kit = replace(design.layout.kit, catalogue=design.layout.kit.catalogue.with_row("load", heavy))
    found = strength_findings(replace(design, layout=replace(design.layout, kit=kit)), [hard])
    members = {f.check: f for f in found if (f.margin is not None and "hard" in f.message) or f.check == "lift lugs"}
    wanted = BOTH | (LEDGES if carry == "ledges" else {"tie rods", "floor bars"})
    assert wanted <= set(members)
    assert {name: members[name].verdict for name in wanted} == dict.fromkeys(wanted, "fail")
    for name in wanted:
        assert members[name].margin < 0


def test_every_member_of_an_adapter_fails_under_enough_g(case):
    job = read_job(room("shared") / "jobs" / "adapter-five-speed.toml")
    (made,) = design_job(job).adapters.values()
    hard = case.model_copy(update=dict.fromkeys(WAYS, 5000.0))
    found = adapter_findings(made, [hard])
    assert {f.check for f in found if f.verdict == "fail"} == {
        "bolts to the motor",
        "bolts to the gearbox",
        "plate under the motor's overhang",
    }
    # Two bolts hold no motor: nothing is reckoned, and that is said.
    few = replace(made, motor_holes=made.motor_holes[:2])
    (said,) = adapter_findings(few, [case])
    assert (said.check, said.verdict) == ("strength data", "look")
    assert "the motor's face has 2 bolts: fewer than three do not hold a motor" in said.message


def test_a_liner_that_conducts_and_poles_and_fingers(shop):
    design = box()
    assert of(touch(design), "liner").verdict == "pass"
    lined = shop.material("polycarbonate")
    wrong = shop.with_row("material", lined.model_copy(update={"conductive": True}))
    kit = replace(design.layout.kit, catalogue=wrong)
    found = of(touch(replace(design, layout=replace(design.layout, kit=kit))), "liner")
    assert found.verdict == "fail"
    assert "conducts: choose an insulating sheet" in found.message
    # The wall's inner face brought to 5 mm from the nearest pole.
    near = of(touch(design), "poles to metal")
    assert near.verdict == "pass"
    low = replace(design.layout, lid_under=design.layout.lid_under - near.value + 5.0)
    close = of(touch(replace(design, layout=low)), "poles to metal")
    assert close.verdict == "look"
    assert close.value <= 5.0
    bare = design.layout.module
    none = replace(design.layout, module=replace(bare, module=bare.module.model_copy(update={"terminals": []})))
    assert "names no terminals" in of(touch(replace(design, layout=none)), "poles to metal").message
    assert of(touch(box(fittings=["breather-m12"])), "finger-safe").verdict == "look"


def test_slots_too_short_for_the_heat(shop):
    """706 mm between feet grow 0.5 mm over 60 K, aluminium less steel: slots of 9.5 mm for an M8 give 0.25 mm."""
    design = box()
    short = design.layout.kit.style.model_copy(
        update={"feet": design.layout.kit.style.feet.model_copy(update={"slot_length": 9.5})}
    )
    kit = replace(design.layout.kit, style=short)
    found = of(service(replace(design, layout=replace(design.layout, kit=kit)), [], None), "growth with heat")
    assert found.verdict == "fail"
    assert found.limit == pytest.approx((9.5 - 9.0) / 2)
    assert "longer slots" in found.message


def test_a_rule_s_edge_distance(shop):
    """The style keeps 2 d; the students' rule asks 1.5 d. Asked 2.5 d, it fails and says which key to raise."""
    case = shop.load("student-racing-2026")
    design = box()
    good = of(case_rules(design, case), "edge distance by rule")
    assert (good.verdict, good.value, good.limit) == ("pass", 2.0, 1.5)
    found = of(case_rules(design, case.model_copy(update={"edge_distance_d": 2.5})), "edge distance by rule")
    assert found.verdict == "fail"
    assert "raise edge_least_d" in found.message
