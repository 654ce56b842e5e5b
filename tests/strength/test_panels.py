"""Panels by hand: what pushes on which plate where; the plate itself is checked against Roark and finite elements.

The demo's box: 740 x 284 mm inside, floor 4, walls 3, lid 2.5 mm of 5754-H22 (70 GPa, 0.33, 130 and 220 MPa, 2670
kg/m³), lined with 1 mm of polycarbonate; walls 406.25 mm high; three modules on ledges of 25 x 25 x 3, bearers 40 wide.
"""

import math

import pytest

from baywright.mechanics.plate import Patch, Plate, supported
from baywright.strength.panels import cut_share, hung_mass, panels

from .conftest import _SHOP, bench, box, known

E, NU, YIELD = 70_000.0, 0.33, 130 / 1.1
EVEN = "plate between the walls"
PUSHED = "plate between floor, corners and flange, bearers pushing through the ledges"


@pytest.fixture(scope="module")
def ledges():
    return box()


@pytest.fixture(scope="module")
def bare():
    """The same without fittings, and shorter by the room of their cables."""
    return box(fittings=[])


@pytest.fixture(scope="module")
def rods():
    return box(carry="tie rods")


def under(design, force):
    got = known(panels(bench(design, force)))
    return {one.member: one for one in got.values()}


def sheet(wide: float, high: float, thick: float) -> float:
    """Return the mass of a sheet of 5754, kg."""
    return wide * high * thick * 2670e-9


def checked(one, plate: Plate, mass: float, throw: float, patches: list[Patch], cut: float = 0.0) -> None:
    """Assert that a panel is this plate under these loads, and judged by its yield."""
    v = one.working.values
    assert (v["a"], v["b"], v["t"], v["E"], v["ν"]) == (plate.a, plate.b, plate.thickness, E, NU)
    assert v["m"] == pytest.approx(mass, rel=1e-3)
    assert v["g_n"] == throw
    bent = supported(plate, v["m"] * abs(throw) / (plate.a * plate.b), patches)
    assert (v["w_m"], one.demand) == pytest.approx((bent.deflection, bent.stress / (1 - cut)))
    assert v["k_w"] == pytest.approx(bent.deflection / (plate.thickness / 2))
    assert one.resistance == pytest.approx(YIELD)
    assert one.use == pytest.approx(one.demand / YIELD)
    large = bent.deflection > plate.thickness / 2
    assert one.what.endswith(", large deflection") == large
    assert (f"bends {bent.deflection:.1f} mm, over half its thickness" in one.note) == large


def test_the_floor_under_ledges_carries_itself(ledges):
    one = under(ledges, (10.0, 20.0, -90.0))["floor"]
    checked(one, Plate(740, 284, 4, E, NU), one.working.values["m"], -90.0, [])
    own, on_it = hung_mass(bench(ledges))
    # Its sheet is the box's outside; its liner is 1 mm of polycarbonate, 1200 kg/m³, cut out for the angles.
    assert sheet(746, 290, 4) < own < sheet(746, 290, 4) + 740 * 284 * 1200e-9
    assert one.working.values["m"] == own
    assert on_it == 0
    assert (one.piece, one.what) == ("floor", EVEN)


def test_long_walls_are_pushed_by_the_bearers_of_the_upper_layers(ledges):
    """Each end of a bearer gives half of what two hold-downs and its own mass push across."""
    b = bench(ledges, (0.0, 50.0, 0.0))
    one = under(ledges, (0.0, 50.0, 0.0))["long walls"]
    module, bar = b.statics.module_mass, 40 * 15 * 276.9 * 2700e-9
    # The mass 4 mm towards -x turns the four screws, at ±272 and ±95 mm, about their middle.
    turn = 4 * 272 / (4 * (272**2 + 95**2))
    near, far = (50 * (module * (0.5 + side * 2 * turn) + bar) / 2 for side in (1, -1))
    patches = [
        Patch(x + 370, z - 3 + 12.5 - 4.25, 40 + 50, 25, push)
        for z in (140.85, 274.45)
        for x, push in ((-317.75, near), (226.25, far))
    ]
    assert [one.working.values[f"P_{i}"] for i in (1, 2, 3, 4)] == pytest.approx([p.force for p in patches], rel=1e-3)
    patches = [Patch(p.x, p.y, p.u, p.v, one.working.values[f"P_{i}"]) for i, p in enumerate(patches, 1)]
    lined = sheet(746, 406.25, 3) + 1200e-9 * 700 * 290
    checked(one, Plate(740, 406.25, 3, E, NU), one.working.values["m"], 50.0, patches)
    assert one.working.values["m"] == pytest.approx(lined, rel=0.06)
    assert (one.piece, one.what.removesuffix(", large deflection")) == ("wall right", PUSHED)
    single = box(count=1, fittings=[])
    one = under(single, (0.0, 50.0, 0.0))["long walls"]
    assert (one.what, "P_1" in one.working.values) == (PUSHED.split(", bearers")[0], False)


def test_two_rows_push_in_four_places():
    one = under(box(count=4, rows=2, fittings=[]), (0.0, 50.0, 0.0))["long walls"]
    assert [f"P_{i}" in one.working.values for i in (4, 5)] == [True, False]
    texts = [s.meaning for s in one.working.steps if s.symbol.startswith("P_")]
    assert len(set(texts)) == 4
    # A second layer over the first row only.
    part = under(box(count=3, rows=2, fittings=[]), (0.0, 50.0, 0.0))["long walls"].working.values
    assert ["P_2" in part, "P_3" in part] == [True, False]


def test_end_walls(bare):
    one = under(bare, (-60.0, 0.0, 0.0))["end walls"]
    mass = one.working.values["m"]
    checked(one, Plate(284, 406.25, 3, E, NU), mass, -60.0, [])
    assert sheet(283.5, 406.25, 3) < mass < sheet(283.5, 406.25, 3) + 284 * 406 * 1200e-9
    assert (one.piece, one.what) == ("wall service", "plate between floor, corners and flange")


def test_fittings_weigh_on_the_end_wall_and_cut_it(bare):
    places = [{"fitting": "gland-m25", "at": [y, 200]} for y in (-30, 30)]
    design = box(fittings=places)
    row = _SHOP.fitting("gland-m25")
    cut = 2 * row.cut_out.diameter / 284
    one = under(design, (-60.0, 0.0, 0.0))["end walls"]
    plain = under(bare, (-60.0, 0.0, 0.0))["end walls"].working.values["m"]
    holes = 2 * math.pi / 4 * row.cut_out.diameter**2
    checked(one, Plate(284, 406.25, 3, E, NU), plain + 2 * row.mass - holes * (3 * 2670e-9 + 1200e-9), -60.0, [], cut)
    assert one.working.values["k_h"] == pytest.approx(cut)
    assert one.what == "plate between floor, corners and flange, its strips cut by the fittings' holes"


@pytest.mark.parametrize(
    ("at", "share"),
    [
        ([(-40, 150), (40, 150)], 2 / 284),  # side by side
        ([(0, 120), (0, 200)], 2 / 406.25),  # one over the other: less of the height than one of the width
        ([(-40, 150), (40, 165)], 2 / 284),  # still on one line
        ([(-40, 120), (40, 220)], 1 / 284),
    ],
)
def test_the_strip_that_is_cut_most(at, share):
    design = box(fittings=[{"fitting": "gland-m25", "at": list(one)} for one in at])
    hole = _SHOP.fitting("gland-m25").cut_out.diameter
    assert cut_share(bench(design)) == pytest.approx(max(share * hole, hole / 284))


def test_no_holes_no_cut(bare):
    assert cut_share(bench(bare)) == 0


def test_the_lid(ledges):
    one = under(ledges, (0.0, 0.0, -70.0))["lid"]
    checked(
        one, Plate(740, 284, 2.5, E, NU), sheet(746, 290, 2.5) - 30 * math.pi / 4 * 5.5**2 * 2.5 * 2670e-9, -70.0, []
    )
    assert (one.piece, one.what) == ("lid", "plate on its gasket")
    assert "lid screws" not in under(ledges, (0.0, 0.0, -70.0))
    assert "lid screws" not in under(ledges, (10.0, 0.0, 0.0))


def test_lid_screws(ledges):
    """Thrown up the lid pulls on 30 screws M5, the worst twice its share; its head through 2.5 mm governs."""
    one = under(ledges, (0.0, 0.0, 1000.0))["lid screws"]
    lid = under(ledges, (0.0, 0.0, 1000.0))["lid"].working.values["m"]
    pull = 2 * lid * 1000 / 30
    v = one.working.values
    assert (v["n"], v["N"]) == (30, pytest.approx(pull))
    head = 0.6 * math.pi * 9.5 * 2.5 * 220 / 1.25
    insert = 0.6 * math.pi * 10 * 3 * 215 / 1.25  # its flange through the angle's leg, 6060-T66
    assert (v["B_p_Rd"], v["B_f_Rd"], v["F_t_Rd"]) == pytest.approx((head, insert, 0.9 * 11_350 / 1.25), rel=1e-6)
    assert one.use == pytest.approx(pull / head, rel=1e-6)
    assert one.note == "the pull-out of insert 'rivet-nut-m5' is not in its row: ask its maker"
    assert one.at == pytest.approx((0, 132.75, 415.1), abs=3)
    assert one.what == "pull on screws and inserts"


def test_an_insert_whose_pull_out_is_known():
    row = _SHOP.insert("rivet-nut-m5").model_copy(update={"pull_out": 3000.0})
    design = box(catalogue=_SHOP.with_row("insert", row), fittings=[])
    one = under(design, (0.0, 0.0, 1000.0))["lid screws"]
    assert one.use == pytest.approx(one.working.values["N"] / (3000 / 1.25))
    assert one.note == ""


def test_what_hangs_on_the_floor_of_a_box_with_rods(rods):
    b = bench(rods)
    own, on_it = hung_mass(b)
    parts = {p.mark: p.piece for p in rods.assembly.placed}
    modules = 3 * b.statics.module_mass
    bars = sum(p.mass_properties().mass for m, p in parts.items() if p.role in ("floor bar", "clamp bar", "spacer"))
    threads = sum(line.screw.mass * len(line.points) for line in rods.assembly.lines if line.joint == "tie rods")
    assert threads > 0.1
    assert on_it == pytest.approx(modules + bars + threads)
    assert own < 3


def test_the_floor_under_rods(rods):
    """Thrown along, one bar pulls and one presses; across, each tips: up on one half, down on the other."""
    stack = 3 * bench(rods).statics.module_mass
    one = under(rods, (20.0, 0.0, 0.0))["floor"]
    pull = 20 * stack * 165 / 544
    bars = [Patch(x + 370, 142 + side * 53.5, 40, 107, pull / 2) for x in (-317.75, 226.25) for side in (-1, 1)]
    checked(one, Plate(740, 284, 4, E, NU), hung_mass(bench(rods))[0], 0.0, bars)
    one = under(rods, (0.0, 20.0, 0.0))["floor"]
    tip = 20 * stack * 165 / 2
    # Two halves of 214 mm, their middles 107 mm apart.
    bars = [Patch(x + 370, 142 + side * 53.5, 40, 107, side * tip / 107) for x in (-317.75, 226.25) for side in (-1, 1)]
    checked(one, Plate(740, 284, 4, E, NU), hung_mass(bench(rods))[0], 0.0, bars)
    assert "rods" in one.help
    low = under(box(carry="tie rods", count=1), (0.0, 20.0, 0.0))["floor"].working.values
    assert low["P_2"] == pytest.approx(20 * stack / 3 * 52 / 2 / 107)


def test_every_stack_of_a_floor_pushes_on_it():
    """Two rows of two stacks on four bars: sixteen halves."""
    design = box(carry="tie rods", count=8, rows=2, columns=2, fittings=[])
    one = under(design, (0.0, 0.0, 10.0))["floor"]
    forces = [s.value for s in one.working.steps if s.symbol.startswith("P_")]
    assert len(forces) == 16
    assert sum(forces) == pytest.approx(10 * 8 * bench(design).statics.module_mass)
    assert len({s.meaning for s in one.working.steps if s.symbol.startswith("P_")}) == 16
