"""What metal, threads, holes and bonds may take, by hand on both bases.

- EN 1993-1-8 table 3.4 (from memory): 0.6 and 0.9 fub As / γ; bearing k1 αb fu d t / γ; punching 0.6 π d t fu / γ;
- thread strip (Alexander, VDI 2230, from memory): 0.6 fu π d L (P/2 + (d - d2) / √3) / P; ISO 724: M6 d2 5.350, P 1;
- ISO 898-1: M6 in class 8.8 breaks at 16 100 N, As 20.1 mm², M12 in 10.9 at 87 700 N;
- 5754-H22: 130 / 220 MPa (EN 1999-1-1, EN 485-2), 6082-T6 by thickness (EN 1999-1-1 table 3.2): from memory.
"""

import math

import pytest

from baywright.job.catalogue import load_catalogue
from baywright.job.shop import Material
from baywright.strength.allow import Allow, Unchecked, pick
from baywright.strength.working import Working

SHOP = load_catalogue(None)


def make(case: str = "guideline-20g", **changes: object) -> Allow:
    return Allow(SHOP, SHOP.load(case).model_copy(update=changes), SHOP.adhesive("epoxy-2k"))


LIMIT, STRESS = make(), make(basis="allowable stress")


@pytest.fixture(autouse=True)
def nothing_kept():
    """What one test has reckoned is not kept for the next."""
    for allow in (LIMIT, STRESS):
        allow._metals.clear()
        allow._lines.clear()


def test_yield_on_both_bases():
    sheet = LIMIT.metal("5754-H22", 3.0, extruded=False)
    assert (sheet.e, sheet.nu, sheet.density, sheet.expansion) == (70_000, 0.33, 2670, 23.8e-6)
    assert (sheet.name, sheet.f_yield, sheet.f_ultimate) == ("5754-H22", 130, 220)
    assert sheet.source.startswith("5754-H22, sheet: EN 1999-1-1")
    w = Working()
    assert LIMIT.yield_(w, sheet) == w.values["σ_Rd"] == pytest.approx(130 / 1.1)
    assert STRESS.yield_(Working(), STRESS.metal("5754-H22", 3.0, extruded=False)) == pytest.approx(130 / 1.65)
    assert LIMIT.metal("5754-H22", 3.0, extruded=False) is sheet
    assert LIMIT.metal("5754-H22", 3.0, extruded=False) is not STRESS.metal("5754-H22", 3.0, extruded=False)


@pytest.mark.parametrize(
    ("name", "thick", "extruded", "known"),
    [
        ("6082-T6", 6.0, False, (260, 310)),
        ("6082-T6", 6.1, False, (255, 300)),
        ("6082-T6", 12.6, False, (240, 295)),
        ("6082-T6", 5.0, True, (250, 290)),
        ("6082-T6", 5.1, True, (260, 310)),
        ("6060-T66", 3.0, True, (160, 215)),
        ("6060-T66", 10.0, True, (150, 195)),
    ],
)
def test_strength_by_form_and_thickness(name, thick, extruded, known):
    got = LIMIT.metal(name, thick, extruded=extruded)
    assert (got.f_yield, got.f_ultimate) == known
    assert (got.e, got.nu) == (70_000, 0.3)


@pytest.mark.parametrize(
    ("name", "thick", "extruded"),
    [("6060-T66", 3.0, False), ("6082-T6", 16.0, True), ("5754-H22", 13.0, False), ("epdm-sponge", 3.0, False)],
)
def test_a_strength_that_is_not_known_is_said(name, thick, extruded):
    with pytest.raises(Unchecked) as no:
        LIMIT.metal(name, thick, extruded=extruded)
    assert str(no.value) == (
        f"material '{name}' has no characteristic strength for {thick:g} mm, which the basis 'limit state' takes: "
        "add one to shared/materials.toml"
    )


def row(strengths: list[dict[str, object]], **more: object) -> Material:
    rows = [{"basis": "typical", "f_yield": 100, "f_ultimate": 200, "source": "made up"} | one for one in strengths]
    return Material.model_validate(
        {"name": "m", "description": "d", "source": "s", "density": 2700, "conductive": True, "strengths": rows} | more
    )


def test_the_row_that_covers_the_thickness_most_closely():
    made = row(
        [
            {"product": "bar", "f_yield": 90},
            {"product": "bar to 8", "thickness_most": 8},
            {"product": "bar to 4", "thickness_most": 4},
        ]
    )
    for thick, product in ((3.0, "bar to 4"), (4.0, "bar to 4"), (4.1, "bar to 8"), (9.0, "bar")):
        for extruded in (True, False):
            found = pick(made, "typical", thick, extruded)
            assert found is not None
            assert found.product == product
    assert pick(made, "minimum", 3.0, True) is None
    # Of two that cover it alike, the weaker.
    twins = row([{"product": "sheet", "f_yield": 120}, {"product": "plate", "f_yield": 110}])
    found = pick(twins, "typical", 3.0, False)
    assert found is not None
    assert found.f_yield == 110
    assert pick(twins, "typical", 3.0, True) is None


def test_without_a_modulus_nothing_is_reckoned():
    bare = row([{"basis": "characteristic", "product": "sheet"}])
    with pytest.raises(Unchecked, match="material 'm' has no characteristic"):
        Allow(SHOP.with_row("material", bare), LIMIT.case, LIMIT.adhesive).metal("m", 3.0, extruded=False)
    stiff = row([{"basis": "characteristic", "product": "sheet"}], E=70_000)
    got = Allow(SHOP.with_row("material", stiff), LIMIT.case, LIMIT.adhesive).metal("m", 3.0, extruded=False)
    assert (got.nu, got.expansion) == (0.33, 0.0)


def test_a_screw_in_shear_and_tension():
    w = Working()
    assert LIMIT.screw(w, "M6") == pytest.approx((0.6 * 16_100 / 1.25, 0.9 * 16_100 / 1.25))
    assert (w.values["A_s"], w.values["F_m"], w.values["f_ub"]) == pytest.approx((20.1, 16_100, 16_100 / 20.1))
    assert (w.values["F_v_Rd"], w.values["F_t_Rd"]) == pytest.approx((0.6 * 16_100 / 1.25, 0.9 * 16_100 / 1.25))
    assert STRESS.screw(Working(), "M6") == pytest.approx((0.6 * 16_100 / 2.34, 0.9 * 16_100 / 2.34))
    # Brittle classes count half in shear.
    assert LIMIT.screw(Working(), "M12", "10.9") == pytest.approx((0.5 * 87_700 / 1.25, 0.9 * 87_700 / 1.25))
    assert LIMIT.fastener(Working(), SHOP.screw("M8"), "10.9", 0.4) == pytest.approx(
        (0.4 * 38_100 / 1.25, 0.9 * 38_100 / 1.25)
    )


def test_a_thread_in_thin_metal():
    metal = LIMIT.metal("6060-T66", 3.0, extruded=True)
    w = Working()
    area = math.pi * 6 * 3 / 1 * (0.5 + (6 - 5.350) / math.sqrt(3))
    assert LIMIT.strip(w, "M6", 3.0, metal) == pytest.approx(0.6 * 215 * area / 1.25, rel=1e-6)
    assert (w.values["A_n"], w.values["F_s_Rd"]) == pytest.approx((area, 0.6 * 215 * area / 1.25), rel=1e-6)
    area = math.pi * 8 * 10 / 1.25 * (0.625 + (8 - 7.188) / math.sqrt(3))
    w = Working()
    assert STRESS.strip(w, "M8", 10.0, metal, "F_2") == pytest.approx(0.6 * 215 * area / 1.95, rel=1e-6)
    assert w.values["F_2"] == pytest.approx(0.6 * 215 * area / 1.95, rel=1e-6)


@pytest.mark.parametrize(
    ("end", "side", "factor"),
    [
        (30.0, 30.0, 2.5),
        (9.9, 30.0, 2.5 * 9.9 / 19.8),
        (30.0, 9.9, 2.8 * 1.5 - 1.7),
        (7.92, 7.92, (2.8 * 1.2 - 1.7) * 0.4),
        # Nearer than 1.2 d0 = 7.92 mm the rule does not reach: what it gives there, by what is left of it.
        (3.96, 30.0, 2.5 * 0.4 / 2),
        (30.0, 3.96, (2.8 * 1.2 - 1.7) / 2),
        (1.98, 3.96, (2.8 * 1.2 - 1.7) * 0.4 / 4),
    ],
)
def test_bearing_of_an_m6_in_its_clearance_hole(end, side, factor):
    metal = LIMIT.metal("5754-H22", 3.0, extruded=False)
    w = Working()
    got = LIMIT.bearing(w, "M6", 6.6, 3.0, metal, end, side, "_w")
    assert got == w.values["F_b_Rd_w"] == pytest.approx(factor * 220 * 6 * 3 / 1.25)
    assert (w.values["e_1_w"], w.values["e_2_w"], w.values["d_0_w"]) == (end, side, 6.6)
    assert LIMIT.bearing(Working(), "M6", 6.6, 3.0, metal, end, side) == got


def test_a_bolt_softer_than_its_hole():
    """αb is at most fub / fu: an 8.8 screw of 801 MPa in a metal of 1602 counts half."""
    metal = LIMIT.metal("5754-H22", 3.0, extruded=False)
    hard = type(metal)("hard", 2e5, 0.3, 7850.0, 12e-6, 1500.0, 2 * 16_100 / 20.1, "made up")
    got = LIMIT.bearing(Working(), "M6", 6.6, 2.0, hard, 40.0, 40.0)
    assert got == pytest.approx(2.5 * 16_100 / 20.1 * 6 * 2 / 1.25)


def test_a_head_pulled_through():
    metal = LIMIT.metal("5754-H22", 3.0, extruded=False)
    w = Working()
    assert LIMIT.punch(w, 10.5, 3.0, metal) == pytest.approx(0.6 * math.pi * 10.5 * 3 * 220 / 1.25, rel=1e-6)
    assert LIMIT.punch(w, 12.0, 2.5, metal, "f") == pytest.approx(0.6 * math.pi * 12 * 2.5 * 220 / 1.25, rel=1e-6)
    assert STRESS.punch(Working(), 12.0, 2.5, metal) == pytest.approx(0.6 * math.pi * 12 * 2.5 * 220 / 1.95, rel=1e-6)


@pytest.mark.parametrize(
    ("warm", "coupon"), [(-40.0, 20.0), (23.0, 20.0), (51.5, 12.5), (60.0, 20 - 15 * 37 / 57), (80.0, 5.0)]
)
def test_a_bond_warm_and_cold(warm, coupon):
    """20 MPa at 23 °C and below, 5 MPa at 80 °C, straight between; half of it counts; 3 and 4 on bonds."""
    w = Working()
    assert make(temperature=warm).bond(w) == pytest.approx(coupon / 2 / 3)
    assert w.values["τ_θ"] == pytest.approx(coupon)
    assert make(temperature=warm, basis="allowable stress").bond(Working()) == pytest.approx(coupon / 2 / 4)


def test_several_knock_downs_multiply():
    adhesive = LIMIT.adhesive.model_copy(update={"knock_down": {"a": 0.5, "b": 0.8}})
    case = LIMIT.case.model_copy(update={"temperature": 20.0})
    w = Working()
    assert Allow(SHOP, case, adhesive).bond(w) == pytest.approx(20 * 0.4 / 3)
    assert (w.values["k_1"], w.values["k_2"]) == (0.5, 0.8)
    bare = LIMIT.adhesive.model_copy(update={"knock_down": {}})
    assert Allow(SHOP, case, bare).bond(Working()) == pytest.approx(20 / 3)


@pytest.mark.parametrize("warm", [80.1, -40.1])
def test_beyond_the_adhesives_data(warm):
    with pytest.raises(Unchecked) as no:
        make(temperature=warm).bond(Working())
    assert str(no.value) == f"adhesive 'epoxy-2k' has no strength at {warm:g} °C: its data reach from -40 to 80 °C"


def test_lines_are_kept_by_all_that_they_come_from():
    """Written once, they are the same again; anything that differs is reckoned by itself."""
    w, times = Working(), []
    for _ in range(2):
        LIMIT.once(w, ("a key",), lambda lines: times.append(lines.given("a", 2.0, "", "")))
    assert (times, w.values) == ([2.0], {"a": 2.0})
    allow, thin, thick = (
        make(),
        LIMIT.metal("5754-H22", 3.0, extruded=False),
        LIMIT.metal("6060-T66", 3.0, extruded=True),
    )
    asked = {
        "strip": [("M6", 3.0, thin), ("M5", 3.0, thin), ("M6", 4.0, thin), ("M6", 3.0, thick)],
        "bearing": [
            ("M6", 6.6, 3.0, thin, 9.0, 9.0),
            ("M5", 6.6, 3.0, thin, 9.0, 9.0),
            ("M6", 7.0, 3.0, thin, 9.0, 9.0),
            ("M6", 6.6, 4.0, thin, 9.0, 9.0),
            ("M6", 6.6, 3.0, thick, 9.0, 9.0),
            ("M6", 6.6, 3.0, thin, 8.5, 9.0),
            ("M6", 6.6, 3.0, thin, 9.0, 8.5),
        ],
        "punch": [(10.0, 3.0, thin), (11.0, 3.0, thin), (10.0, 4.0, thin), (10.0, 3.0, thick)],
        "fastener": [(SHOP.screw("M6"), "8.8", 0.6), (SHOP.screw("M5"), "8.8", 0.6), (SHOP.screw("M6"), "8.8", 0.5)],
    }
    for name, lists in asked.items():
        found = [getattr(allow, name)(Working(), *arguments) for arguments in lists]
        assert len(set(found)) == len(lists)
        assert found == [getattr(make(), name)(Working(), *arguments) for arguments in lists]
        assert found == [getattr(allow, name)(Working(), *arguments) for arguments in lists]
    hot = make(temperature=90.0)
    for _ in range(2):
        with pytest.raises(Unchecked):
            hot.bond(Working())


@pytest.mark.parametrize("size", ["M3", "M5", "M12"])
def test_diameter(size):
    assert SHOP.screw(size).diameter == float(size[1:])
