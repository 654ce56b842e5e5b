"""The strength review of a box: followable line by line, conservative, one finding a member, honest about gaps."""

import math
import time
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings

from baywright.box.rules import check_box
from baywright.finding import Finding
from baywright.job.loads import G
from baywright.strength.box import calculations, strength_findings
from baywright.strength.path import Statics, throws
from baywright.strength.rules import at_corners
from baywright.strength.verdict import governing, side_by_side

from .conftest import box, built, requests


@pytest.fixture(scope="module")
def cases(shop):
    return [shop.load("workshop"), shop.load("guideline-20g")]


@pytest.fixture(scope="module")
def demo():
    return box(yaw=90.0)


@pytest.fixture(scope="module")
def strong():
    return box(start="crash-20g", yaw=90.0)


@cache
def compiled(formula: str):
    return compile(formula, formula, "eval")


def of(found: list[Finding], check: str) -> Finding:
    (one,) = [f for f in found if f.check == check]
    return one


@settings(max_examples=20)
@given(asked=requests())
def test_every_line_of_every_calculation_can_be_done_again(asked):
    """From the printed formula and the lines above it alone; and what is printed last is the share in the finding."""
    from baywright.job.catalogue import load_catalogue

    names = {
        "__builtins__": {},
        "sqrt": math.sqrt,
        "hypot": math.hypot,
        "tanh": math.tanh,
        "min": min,
        "max": max,
        "abs": abs,
    }
    design = built(asked)
    found = calculations(design, [load_catalogue(None).load("guideline-20g")])
    assert found
    for one in found:
        known: dict[str, float] = {}
        for step in one.working.steps:
            if step.formula:
                again = eval(compiled(step.formula), names, known)
                assert again == pytest.approx(step.value, rel=1e-12)
            known[step.symbol] = step.value
            assert step.meaning
        assert known["use"] == one.use
        assert math.isfinite(one.use)
        assert one.use >= 0
        if one.unit:
            assert one.demand / one.resistance == pytest.approx(one.use, rel=1e-9)
        # It begins with the load: the case by name, or the statics of what brings it.
        assert any("load case" in s.source or "statics" in s.source + s.meaning for s in one.working.steps)


@settings(max_examples=12)
@given(asked=requests())
def test_what_is_worked_by_hand_is_what_the_statics_say(asked):
    """Feet and hold-downs: the hand formulas in the calculations against the solver, for every throw."""
    from baywright.job.catalogue import load_catalogue

    case = load_catalogue(None).load("guideline-20g")
    design = built(asked)
    s = Statics(design)
    by_text = {t.text: t for t in throws(case, design.layout.ask.yaw)}
    seen = 0
    for one in calculations(design, [case]):
        v, force = one.working.values, by_text[one.throw].force
        if "S_r" in v:
            names = [f.name for f in s.feet]
            mark = next(w for w in one.where if w in names)
            forces = [f for name, f in zip(names, s.on_feet(force).forces, strict=True) if name == mark]
            wanted = [v["R_x"], v["R_y"], v["R_z"]]
            assert min(abs(f - wanted).max() for f in forces) < 1e-6 * max(1.0, abs(s.on_feet(force).forces).max())
            seen += 1
        if one.member in ("module hold-downs", "tie rods") and "S_x" in v:
            count = design.layout.layers if one.member == "tie rods" else 1
            got = s.on_hold_downs(force, count)
            pairs = list(zip(got.tension, got.across, strict=True))
            assert min(abs(t - v["T"]) + abs(q - v["V"]) for t, q in pairs) < 1e-6 * max(1.0, abs(got.tension).max())
            seen += 1
    assert seen


def test_harder_loads_use_more(shop, demo):
    case = shop.load("guideline-20g")
    more = case.model_copy(update={"name": "more", "load_factor": 1.5})
    uses: dict[tuple[str, str], dict[str, float]] = {}
    for one in calculations(demo, [case, more]):
        by_case = uses.setdefault((one.member, one.what.removesuffix(", large deflection")), {})
        by_case[one.case] = max(by_case.get(one.case, 0.0), one.use)
    for check, by_case in uses.items():
        if check[0] == "lift lugs":
            continue
        assert by_case["more"] >= by_case.get("guideline-20g", 0.0) * (1 - 1e-9), check


def test_thicker_and_larger_uses_less(cases):
    plain = side_by_side(calculations(box(yaw=90.0), cases))
    for style, member in (
        ({"wall.thickness": 5.0}, "long walls"),
        ({"wall.thickness": 5.0}, "wall and floor at the feet"),
        ({"bearer": "bar-50x15"}, "bearers"),
        ({"feet.bolt": "M10"}, "bolts to the car"),
        ({"lid.thickness": 4.0}, "lid"),
    ):
        changed = side_by_side(calculations(box(style, yaw=90.0), cases))
        assert changed[member]["guideline-20g"][0].use < plain[member]["guideline-20g"][0].use, member


def test_one_finding_a_member(demo, cases):
    found = strength_findings(demo, cases)
    members = list(dict.fromkeys(c.member for c in calculations(demo, cases)))
    for member in members:
        one = of(found, member)
        assert one.source
        assert one.margin is not None
        assert ("lifting" if member == "lift lugs" else "guideline-20g") in one.message
    assert len(found) == len({(f.check, f.message) for f in found})


def test_a_joint_that_one_means_alone_carries_is_to_be_looked_at(strong, cases):
    """The feet's bond peels at 20 g; their screws alone carry it: never added, and said so."""
    done = [c for c in calculations(strong, cases) if c.member == "feet, upright leg"]
    one, verdict, more = governing(done)
    assert (verdict, one.alone) == ("look", "bond")
    assert one.use > 1
    assert "the screws alone would carry it" in more
    screws = max((c for c in done if c.alone == "screws"), key=lambda c: c.use)
    assert screws.use < 1
    # Were the screws as weak as the bond, it would fail.
    weak = [replace(c, use=3.0) if c.alone == "screws" else c for c in done]
    assert governing(weak)[1] == "fail"
    both = [replace(c, use=0.5) for c in done]
    assert governing(both)[1] == "pass"


def test_the_feets_lower_leg_by_hand(shop, demo):
    """One governing check done again with pencil and paper: 20 g forward, which is across this box (yaw 90)."""
    case = shop.load("guideline-20g")
    (one,) = [c for c in calculations(demo, [case]) if c.member == "feet, lower leg" and c.throw == "20 g forward"]
    body = demo.mass_properties
    mass, high = body.mass, body.centroid[2] - 1.0  # the bolts' plane is 1 mm over the floor's underside
    bolts = [f.bolts[0] for f in demo.feet]
    wide = max(b[1] for b in bolts) - min(b[1] for b in bolts)
    x_c = body.centroid[0] / (2 * max(b[0] for b in bolts))
    # Overturning onto the far pair, shared evenly; weight to each foot, more to the blind end, where the centre lies.
    pull = mass * 20 * G * high / wide / 2 - mass * G * (0.25 - abs(x_c) / 2)
    assert pull == pytest.approx(one.working.values["T"], rel=2e-3)
    arm, thick, length = 33.0 - 6.0, 6.0, min(60.0, 16.0 + 6.0 + 27.0)
    stress = 6 * pull * arm / (length * thick**2)
    assert one.demand == pytest.approx(stress, rel=2e-3)
    assert one.resistance == pytest.approx(150 / 1.1)  # 6060-T66, 3 to 25 mm, over the factor on yield


def test_feet_on_the_long_walls_by_hand(shop):
    """The same, 20 g forward, on the style for 20 g: the arm is the bolt's 16 mm, the spread the box's width."""
    design = box(start="crash-20g", yaw=90.0)
    case = shop.load("guideline-20g")
    (one,) = [c for c in calculations(design, [case]) if c.member == "feet, lower leg" and c.throw == "20 g forward"]
    body, bolts = design.mass_properties, np.vstack([f.bolts for f in design.feet])
    wide = float(np.ptp(bolts[:, 1]))
    high = float(body.centroid[2] - bolts[0, 2])
    x = bolts[:, 0] - bolts[:, 0].mean()
    lean = (body.centroid[0] - bolts[:, 0].mean()) * x / (x**2).sum()
    # The far pair is pulled up by the overturning, each its half; the weight rests on each by the lever.
    pull = body.mass * G * (20 * high / wide / 2 - 1 / 4 - lean.max())
    assert max(pull, body.mass * G * (20 * high / wide / 2 - 1 / 4 - lean.min())) == pytest.approx(
        one.working.values["T"], rel=1e-4
    )
    stress = 6 * one.working.values["T"] * 16.0 / ((20 + 10 + 16) * 10**2)  # washer of M10 20 mm, leg 10 mm
    assert one.demand == pytest.approx(stress, rel=1e-9)
    assert one.resistance == pytest.approx(260 / 1.1)  # 6082-T6 extruded, 5 to 15 mm


@pytest.mark.parametrize("asked", [{"yaw": 90.0}, {"count": 5, "columns": 2, "yaw": -90.0}])
def test_the_style_for_20_g_holds_it(shop, asked):
    """The demo's two boxes: nothing fails under the shop's own case, the 20 g guideline and the least of UN R100."""
    cases = [shop.load(name) for name in ("workshop", "guideline-20g", "r100-least")]
    table = side_by_side(calculations(box(start="crash-20g", **asked), cases))
    assert [(m, c) for m, by in table.items() for c, (_, verdict) in by.items() if verdict == "fail"] == []


def test_lift_lugs_by_hand(shop):
    """A box of five, hung by two of its four lugs, twice its weight: the leg and the screws with pencil and paper."""
    design = box(count=5, columns=2)
    lugs = [c for c in calculations(design, [shop.load("workshop")]) if c.member == "lift lugs"]
    leg, screws = lugs
    on_eye = design.mass_properties.mass * 2 * G / 2
    # Gauge 27.5 mm less the leg's 5; of 50 mm bend 14 + 5 + 22.5, the eye and 1 in 2 to each side.
    assert leg.demand == pytest.approx(6 * on_eye * 22.5 / (41.5 * 5**2))
    assert governing(lugs)[1] == "fail"  # 6060-T66: 136 MPa; the style for 20 g has 6082-T6
    # Four screws in two rows 19 mm apart: shear shared evenly, the turning taken by one pair.
    v = screws.working.values
    assert v["V"] == pytest.approx(on_eye / 4)
    assert v["N"] == pytest.approx(on_eye * 27.5 / 19 / 2, rel=0.25)
    better = [c for c in calculations(box(start="crash-20g", count=5, columns=2), []) if c.member == "lift lugs"]
    assert governing(better)[1] == "pass"


def test_the_style_for_40_g_holds_a_single_stack(shop):
    """Three modules one on another under 40 g both ways: nothing fails; of mounts 10 are asked."""
    design = box(start="crash-40g", yaw=90.0)
    case = shop.load("student-racing-2026")
    table = side_by_side(calculations(design, [case]))
    assert [member for member, by in table.items() for _, verdict in by.values() if verdict == "fail"] == []
    assert [f.check for f in check_box(design) if f.verdict == "fail"] == []
    assert "8 bolts" in of(strength_findings(design, [case]), "mounts").message


def test_bases_are_never_mixed(shop, demo):
    """Under allowable stress every factor is of that basis and every strength a standard's least."""
    case = shop.load("workshop").model_copy(update={"name": "asd", "basis": "allowable stress"})
    basis, other = shop.basis("allowable stress"), shop.basis("limit state")
    found = strength_findings(demo, [case])
    for one in calculations(demo, [case]):
        for step in one.working.steps:
            if step.symbol.startswith("γ"):
                wanted = {
                    "γ_y": basis.on_yield,
                    "γ_u": basis.on_ultimate,
                    "γ_f": basis.on_fastener,
                    "γ_a": basis.on_bond,
                }
                assert step.value == wanted[step.symbol]
                assert step.source == basis.source != other.source
            assert "EN 1999-1-1 table" not in step.source
    # The shop's table has least strengths of everything that the demo is made of; a gap would be said, not guessed.
    assert [f.message for f in found if f.check == "strength data"] == []


def test_no_crash_case_is_said(shop, demo):
    one = of(strength_findings(demo, [shop.load("workshop")]), "load cases")
    assert one.verdict == "look"
    assert "no crash case" in one.message
    assert of(strength_findings(demo, [shop.load("r100-least")]), "load cases").verdict == "pass"


def test_a_box_without_feet_says_what_is_not_reckoned(shop):
    found = strength_findings(box(feet=False), [shop.load("workshop")])
    assert of(found, "mounting").verdict == "look"
    assert not [f for f in found if f.check.startswith(("feet", "bolts"))]


def test_hot_bonds_and_a_case_beyond_the_adhesives_data(shop, demo, strong):
    cool = shop.load("guideline-20g").model_copy(update={"name": "cool", "temperature": 23.0})
    table = side_by_side(calculations(strong, [shop.load("guideline-20g"), cool]))
    bonds = {n: table["feet, upright leg"][n][0].use for n in ("guideline-20g", "cool")}
    assert bonds["cool"] < bonds["guideline-20g"]
    hot = cool.model_copy(update={"name": "hot", "temperature": 95.0})
    found = strength_findings(demo, [hot])
    assert of(found, "adhesive's temperature").verdict == "fail"
    assert any("no strength at 95 °C" in f.message for f in found if f.check == "strength data")


def test_rules_of_the_student_case(shop):
    found = strength_findings(box(), [shop.load("student-racing-2026")])
    sheets = [f for f in found if f.check == "sheet thickness"]
    assert [f.verdict for f in sheets] == ["pass"] * 3
    assert of(found, "mounts").verdict == "fail"  # four bolts, ten are asked over 40 kg
    assert "F.10.5.7" in of(found, "mounts").source
    thin = strength_findings(box({"floor.thickness": 3.0}), [shop.load("student-racing-2026")])
    assert "fail" in [f.verdict for f in thin if f.check == "sheet thickness"]


def test_corner_mounts_count_where_they_are(shop):
    """The rule's other way: bolts near the corners, each good for its quarter of the mass; by mass it would fail."""
    case = shop.load("student-racing-2026")
    design = box({"feet.bolts": 2, "feet.length": 100.0}, start="crash-20g")
    assert at_corners(design, 50.0) == 0
    bolts = np.vstack([f.bolts for f in design.feet])
    assert len(bolts) == 8
    near = case.mounts.corners.model_copy(update={"within": 200.0})
    wide = case.model_copy(update={"mounts": case.mounts.model_copy(update={"corners": near})})
    plain, by_corners = (strength_findings(design, [c]) for c in (case, wide))
    assert of(plain, "mounts").verdict == "fail"
    assert "15 kN" in of(plain, "strength of mounts").message
    assert of(by_corners, "mounts").verdict == "pass"
    assert "F.10.5.6" in of(by_corners, "mounts").source
    each = 0.25 * 40 * G * design.mass_properties.mass / 1000
    assert of(by_corners, "strength of mounts").message.startswith(f"{each:.3g} kN on each mount")


def test_cut_outs_weaken_the_service_wall(shop):
    """Two glands side by side take their share of a strip; the end wall's bending and its shear both feel it."""
    cases = [shop.load("guideline-20g")]
    places = [{"fitting": "gland-m25", "at": [y, 200]} for y in (-30, 30)]
    bare, cut = box(fittings=[], yaw=90.0), box(fittings=places, yaw=90.0)

    def steps(design, what):
        done = [c for c in calculations(design, cases) if c.member == "end walls" and c.what.startswith(what)]
        return max(done, key=lambda c: c.use).working.values

    gland = shop.fitting("gland-m25").cut_out.diameter
    lost = 2 * gland / cut.layout.inside[1]
    assert steps(cut, "shear")["k_h"] == pytest.approx(lost)
    net = cut.layout.inside[1] * 3.0 * (1 - lost)
    assert steps(cut, "shear")["τ"] == pytest.approx(abs(steps(cut, "shear")["R_y"]) / net)
    bent = steps(cut, "plate")
    assert bent["σ"] == pytest.approx(bent["σ_p"] / (1 - lost))
    assert "k_h" not in steps(bare, "plate")


def test_a_pulse_is_felt_on_the_feet(shop, demo):
    found = strength_findings(demo, [shop.load("r100-least"), shop.load("workshop")])
    one = of(found, "crash pulse")
    assert one.value > 100
    assert one.verdict == "look"
    assert "times the peak of the pulse" in one.message


def test_tie_rods_and_floor_bars(shop, cases):
    design = box(carry="tie rods")
    table = side_by_side(calculations(design, cases))
    assert {"tie rods", "floor bars", "floor"} <= set(table)
    assert not {"bearers", "ledges"} & set(table)
    # All modules hang on the floor: it works much harder than the same floor under ledges.
    assert (
        table["floor"]["guideline-20g"][0].use
        > 5 * side_by_side(calculations(box(), cases))["floor"]["guideline-20g"][0].use
    )


def test_stiffness_and_heat(demo, shop):
    found = strength_findings(demo, [shop.load("workshop")])
    grown = of(found, "growth with heat")
    bolts = [f.bolts[0][0] for f in demo.feet]
    by_hand = (max(bolts) - min(bolts)) * (23.8e-6 - 12e-6) * 60
    assert grown.value == pytest.approx(by_hand, rel=1e-9)
    assert grown.verdict == "pass"
    assert {"panel frequency", "frequency on its feet"} <= {f.check for f in found}


def test_a_second_review_costs_nothing(demo, cases):
    strength_findings(demo, cases)
    before = calculations(demo, cases)
    assert all(a is b for a, b in zip(before, calculations(demo, cases), strict=True))
    changed = cases[0].model_copy(update={"down": 5.0})
    assert calculations(demo, [changed])[0] is not before[0]


def test_insulation_list(demo, shop):
    found = strength_findings(demo, [shop.load("workshop")])
    assert of(found, "liner").verdict == "pass"
    bare = box({"liner.thickness": 0.0})
    assert of(strength_findings(bare, [shop.load("workshop")]), "liner").verdict == "fail"
    assert of(found, "poles to metal").value > 0
    assert "finger" in of(found, "finger-safe").message


def test_a_review_stays_quick(cases):
    """Printed, never failing: how long one box takes under two cases."""
    design = box()
    _ = design.mass_properties
    start = time.process_time()
    strength_findings(design, cases)
    print(f"strength of one box, two cases: {1000 * (time.process_time() - start):.0f} ms")
