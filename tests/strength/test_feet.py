"""Feet with pencil and paper: known forces on the bolts of two styles' boxes, every figure worked out here.

- cantilever M = F c, a leg held straight at both ends M = F c / 2; rectangle σ = 6 M / (b t²): beam tables;
- the elastic method of bolt groups (Shigley): direct share and moment by distance from the middle;
- EN 1993-1-8 table 3.4: 0.6 and 0.9 fub As / γ, bearing k1 αb fu d t / γ, punching 0.6 π d t fu / γ (from memory);
- ISO 898-1: M6 breaks at 16 100 N, M8 at 29 200 N, M10 at 46 400 N in class 8.8; thread strip: Alexander's form (from
  memory); basis limit state: 1.1 on yield, 1.25 on rupture and fasteners.

The workshop box: end wall 3 mm of 5754 (fy 130, fu 220) on a floor of 4 mm and 0.25 mm of bond; feet of angle 60 x 60 x
6 (fy 150, fu 195 MPa) 60 mm long, their toe 5 mm under the floor, M8 bolt 27 mm out, M6 screws at 17.25 and 42.25 mm.
"""

import math

import numpy as np
import pytest

from baywright.strength.feet import feet, on_bolts
from baywright.strength.path import throws

from .conftest import bench, box, known

SHEAR_M6, PULL_M6 = 0.6 * 16_100 / 1.25, 0.9 * 16_100 / 1.25
SHEAR_M8, PULL_M8 = 0.6 * 29_200 / 1.25, 0.9 * 29_200 / 1.25
SHEAR_M10, PULL_M10 = 0.6 * 46_400 / 1.25, 0.9 * 46_400 / 1.25
ROWS = 42.25 - 17.25
PULLED = "floor angle's leg pulled by the foot's lower screws"


@pytest.fixture(scope="module")
def ends():
    """Feet at the end walls: blind 1 and 2, service 1 and 2."""
    return bench(box())


@pytest.fixture(scope="module")
def longs():
    """Feet along the long walls: right 1, 2, left 1, 2; angle 70 x 70 x 10 of 6082, 100 mm long, M10 16 mm out."""
    return bench(box(start="crash-20g"))


@pytest.fixture(scope="module")
def pairs():
    """The same with two bolts in each foot: angle 80 x 80 x 12, 110 mm long, the bolts 70 mm apart."""
    return bench(box(start="crash-40g"))


def under(b, *forces):
    """Return the calculations under forces on the first bolts, nothing on the others."""
    whole = np.zeros((sum(len(f.bolts) for f in b.design.feet), 3))
    whole[: len(forces)] = forces
    got = known(on_bolts(b, whole))
    bolts = [bolt.tolist() for foot in b.design.feet for bolt in foot.bolts]
    assert all(list(one.at or ()) in bolts for one in got.values())
    return got


def thread_m6(depth: float, strength: float) -> float:
    """Return what an M6 thread holds: sheared at 0.6 fu over π d L (P/2 + (d - d2) / √3) / P, over 1.25."""
    return 0.6 * strength / 1.25 * math.pi * 6 * depth * (0.5 + (6 - 5.35) / math.sqrt(3))


def test_the_lower_leg_and_the_bolt_of_a_foot_held_down(ends):
    got = under(ends, (0, 0, -10_000))
    leg = got["feet, lower leg", "leg in bending"]
    wide = 16 + 6 + 27  # washer of M8, leg, arm: less than the foot's 60
    assert leg.demand == pytest.approx(6 * 10_000 * 27 / (wide * 6**2))
    assert (leg.piece, leg.unit) == ("foot blind 1", "MPa")
    assert leg.resistance == pytest.approx(150 / 1.1)
    assert leg.use == pytest.approx(leg.demand / leg.resistance)
    assert leg.at == pytest.approx((-(746 / 2 + 0.25 + 6 + 27), -(284 / 2 - 0.25 - 25 - 1 - 30), 1.0))
    # Lever about the toe, 60 - 6 - 27 = 27 mm beyond the bolt; the leg pulls 27 + 3 mm before it.
    pull = 10_000 * (30 + 27) / 27
    bolt = got["bolts to the car", "M8 bolt, class 8.8"]
    v = bolt.working.values
    assert (v["V"], v["N"]) == pytest.approx((0, pull))
    assert bolt.use == pytest.approx(pull / PULL_M8)
    assert v["B_p_Rd"] == pytest.approx(0.6 * math.pi * 16 * 6 * 195 / 1.25, rel=1e-6)
    assert v["F_b_Rd"] == pytest.approx(2.5 * 195 * 8 * 6 / 1.25)  # 27 mm is just 3 d0: nothing off
    assert bolt.where == ("foot blind 1",)
    sheet = got["car's floor under the bolts", "washer through thin sheet"]
    need = pull * 1.25 / (0.6 * math.pi * 0.8 * 270)  # punching through 0.8 mm of DC01, Rm 270
    assert (sheet.demand, sheet.resistance, sheet.unit) == (pytest.approx(need, rel=1e-6), 16, "mm")
    assert sheet.use == pytest.approx(need / 16, rel=1e-6)
    assert sheet.advice
    assert not bolt.advice
    assert not leg.advice
    assert f"{math.ceil(need)} mm across" in sheet.help


def test_shear_and_pull_of_the_bolt_together(ends):
    got = under(ends, (3000, 4000, -1000))
    bolt = got["bolts to the car", "M8 bolt, class 8.8"]
    pull = 1000 * 57 / 27
    assert bolt.working.values["V"] == pytest.approx(5000)
    assert bolt.use == pytest.approx(5000 / SHEAR_M8 + pull / (1.4 * PULL_M8))
    # Pressed up by the car it is not pulled.
    pressed = under(ends, (3000, 4000, 9000))
    assert {m for m, _ in pressed} == {"feet, upright leg", "wall and floor at the feet", "bolts to the car"}
    assert pressed["bolts to the car", "M8 bolt, class 8.8"].working.values["N"] == 0
    assert pressed["bolts to the car", "M8 bolt, class 8.8"].use == pytest.approx(5000 / SHEAR_M8)


def test_wall_and_floor_share_a_foots_moment(ends):
    """A corner of two strips with pinned far ends: each takes its share by E t³ / L (3 E I / L)."""
    got = under(ends, (0, 0, -10_000))
    moment = 10_000 * (27 + 6 + 0.25 + 1.5)
    wall, floor = 70_000 * 3**3 / (410.5 - 4.25), 70_000 * 4**3 / 740
    wide = 60 + 55  # foot's length and its height on the wall; half of the wall is 142
    by_wall = got["wall and floor at the feet", "bending of the end wall by the foot"]
    by_floor = got["wall and floor at the feet", "bending of the floor by the foot"]
    assert by_wall.demand == pytest.approx(6 * moment * wall / (wall + floor) / (wide * 3**2))
    assert by_floor.demand == pytest.approx(6 * moment * floor / (wall + floor) / (wide * 4**2))
    assert by_wall.resistance == by_floor.resistance == pytest.approx(130 / 1.1)
    assert by_wall.where == ("wall blind", "foot blind 1")
    assert by_floor.where == ("floor", "foot blind 1")
    assert (by_wall.piece, by_floor.piece) == ("wall blind", "floor")


def test_no_wider_than_the_wall_that_is_there():
    """Two feet on an end wall: each has half of its width."""
    b = bench(box({"feet.length": 85.0}))
    v = under(b, (0, 0, -1000))["wall and floor at the feet", "bending of the floor by the foot"].working.values
    assert v["b_e"] == pytest.approx(min(85 + 55, 284 / 2))
    wide = bench(box({"feet.length": 90.0}))
    v = under(wide, (0, 0, -1000))["wall and floor at the feet", "bending of the floor by the foot"].working.values
    assert v["b_e"] == pytest.approx(284 / 2)


def test_screws_of_a_foot_held_down(ends):
    """27 mm from bolt to leg, two rows 25 mm apart, two screws in each: M / (2 · 25) on each of the upper ones."""
    got = under(ends, (0, 0, -10_000))["feet, upright leg", "screws alone"]
    v = got.working.values
    assert v["n_s"] == 4
    assert v["V"] == pytest.approx(2500)
    assert v["N"] == pytest.approx(10_000 * 27 / (2 * ROWS))
    held = thread_m6(3, 215)  # the floor angle's leg, 3 mm of 6060, is thinner than the doubler
    assert got.use == pytest.approx(v["N"] / held, rel=1e-6)
    # Bearing: 13 mm from the wall's edge is under 3 d0 = 19.8; M6 in 3 mm of 5754 and in 6 mm of 6060.
    assert v["F_b_Rd_w"] == pytest.approx(2.5 * 13 / 19.8 * 220 * 6 * 3 / 1.25)
    assert v["F_b_Rd_f"] == pytest.approx(2.5 * 13 / 19.8 * 195 * 6 * 6 / 1.25)
    assert v["e_2_f"] == 12
    assert v["F_v_Rd"] == pytest.approx(SHEAR_M6)
    assert (got.joint, got.alone, got.where) == ("upright leg", "screws", ("foot blind 1", "wall blind"))
    angle = under(ends, (0, 0, -10_000))["wall and floor at the feet", PULLED]
    assert angle.use == 0  # the lower row is pressed on


def test_screws_in_shear_and_in_bearing(ends):
    # Pressed up it bears at its heel: no turning, each screw its quarter, and the wall's holes govern.
    got = under(ends, (0, 0, 8000))["feet, upright leg", "screws alone"]
    assert got.working.values["V"] == pytest.approx(2000)
    assert got.working.values["N"] == pytest.approx(0, abs=1e-9)
    assert got.use == pytest.approx(2000 / (2.5 * 13 / 19.8 * 220 * 6 * 3 / 1.25))
    # Across: the group turns about its middle, 29.75 - 1 mm over the bolt; Σ r² = 4 (18² + 12.5²).
    v = under(ends, (0, 6000, 0))["feet, upright leg", "screws alone"].working.values
    turn = 6000 * (29.75 - 1) / (4 * (18**2 + 12.5**2))
    assert v["V"] == pytest.approx(math.hypot(1500 + turn * 12.5, turn * 18))
    # The bolt stands 27 mm out: the turn about the upright axis pulls one column of screws.
    assert v["N"] == pytest.approx(6000 * 27 / (2 * 36))


def test_a_foot_pulled_off_its_wall(ends):
    """5 kN outward, 28.75 mm under the middle of the screws: the lower row takes more, and pulls the floor angle."""
    got = under(ends, (-5000, 0, 0))
    lower = 5000 / 4 + 5000 * 28.75 / (2 * ROWS)
    assert got["feet, upright leg", "screws alone"].working.values["N"] == pytest.approx(lower)
    angle = got["wall and floor at the feet", PULLED]
    # The screws 13 mm over the angle's heel, its other leg 3 mm: 10 mm, held straight at both ends.
    assert angle.demand == pytest.approx(6 * 2 * lower * 10 / 2 / ((60 + 10) * 3**2))
    assert angle.resistance == pytest.approx(160 / 1.1)
    assert (angle.piece, angle.where) == ("floor angle blind", ("floor angle blind", "foot blind 1"))
    assert angle.at[0] == pytest.approx(-406.25)
    glued = got["feet, upright leg", "bond alone"].working.values
    assert (glued["N"], glued["V"]) == pytest.approx((5000, 0))
    # The bolt is 3.25 mm under the bond's lower edge, at the wall's foot.
    assert (glued["M_e"], glued["ρ"], glued["b"]) == pytest.approx((5000 * 3.25, 1, 60))


def test_the_bond_of_a_foot(ends):
    got = under(ends, (2000, 3000, -4000))["feet, upright leg", "bond alone"]
    v = got.working.values
    assert v["V"] == pytest.approx(5000)
    assert v["A"] == pytest.approx(60 * (55 - 4.25) - 4 * math.pi / 4 * 6.6**2, rel=1e-3)
    assert v["l"] == pytest.approx(55 - 4.25)
    assert (v["t_1"], v["t_2"], v["t_a"]) == (6, 3, 0.25)
    assert v["N"] == 0  # pushed on
    assert v["M_e"] == pytest.approx(4000 * 33 + 2000 * 3.25)
    assert v["ρ"] == pytest.approx(math.exp(-math.pi / 2))
    assert (got.alone, got.joint) == ("bond", "upright leg")
    assert under(ends, (0, 0, 4000))["feet, upright leg", "bond alone"].working.values.get("M_e", 0.0) == 0


def test_feet_on_long_walls(longs):
    """Out of their wall is y: pushed along x they shear the bond, across they pull it."""
    got = under(longs, (3000, 1200, -4000))
    v = got["feet, upright leg", "bond alone"].working.values
    assert v["V"] == pytest.approx(5000)
    assert v["N"] == pytest.approx(1200)
    assert v["M_e"] == pytest.approx(4000 * (16 + 10) + 1200 * (5 - 4.25))
    assert (v["b"], v["t_1"], v["t_2"], v["l"]) == pytest.approx((100, 10, 5, 70 - 5 - 4.25))
    leg = got["feet, lower leg", "leg in bending"]
    assert leg.demand == pytest.approx(6 * 4000 * 16 / ((20 + 10 + 16) * 10**2))
    wall = got["wall and floor at the feet", "bending of the long wall by the foot"]
    stiff = 5**3 / (411.5 - 4.25), 4**3 / 284
    assert wall.demand == pytest.approx(6 * 4000 * 28.75 * stiff[0] / sum(stiff) / ((100 + 65) * 5**2))
    assert wall.piece == "wall right"
    bolt = got["bolts to the car", "M10 bolt, class 8.8"]
    # 70 - 10 - 16 = 44 mm to the toe; 21 mm to the leg's middle.
    assert bolt.use == pytest.approx(math.hypot(3000, 1200) / SHEAR_M10 + 4000 * (21 + 44) / 44 / (1.4 * PULL_M10))
    # Six screws in three columns 38 mm apart; the strongest pull is in an upper corner.
    screws = got["feet, upright leg", "screws alone"].working.values
    upright = 4000 * 16 - 1200 * (29.75 - 5)
    assert screws["N"] == pytest.approx(1200 / 6 + upright / (3 * ROWS) + 3000 * 16 / (4 * 38), rel=1e-9)


def test_two_bolts_in_a_foot_load_its_screws_together(pairs):
    """Of a foot with two bolts each leg length has its own, the upright leg's screws and bond both."""
    got = under(pairs, (0, 3000, -5000), (0, 1000, -3000))
    screws, glued = got["feet, upright leg", "screws alone"], got["feet, upright leg", "bond alone"]
    rows, middle = 49.25 - 23.75, (49.25 + 23.75) / 2
    upright = 8000 * 16 - 4000 * (middle - 7)
    turn = (3000 - 1000) * 35  # about the upright axis: 35 mm each side of the foot's middle
    shear = (5000 - 3000) * 35 / (4 * 43**2 + 6 * (rows / 2) ** 2)
    v = screws.working.values
    assert v["N"] == pytest.approx(4000 / 6 + upright / (3 * rows) + turn / (4 * 43))
    assert v["V"] == pytest.approx(math.hypot(8000 / 6 + shear * 43, shear * rows / 2))
    assert glued.working.values["V"] == pytest.approx(8000)
    assert glued.working.values["N"] == pytest.approx(4000)
    assert glued.working.values["M_e"] == pytest.approx(8000 * 28 + 4000 * (7 - 6.25))
    leg = got["feet, lower leg", "leg in bending"]
    assert leg.demand == pytest.approx(6 * 5000 * 16 / ((20 + 12 + 16) * 12**2))
    floor = got["wall and floor at the feet", "bending of the floor by the foot"].working.values
    assert floor["M_f"] == pytest.approx(2 * 5000 * (16 + 12 + 0.25 + 3))
    bearing = got["bolts to the car", "M10 bolt, class 8.8"].working.values
    assert bearing["e_1"] == bearing["e_2"] == pytest.approx(110 / 2 / 2)


def test_a_bolt_has_no_more_than_its_share_of_the_foot():
    short = bench(box({"feet.length": 90.0}, start="crash-40g"))
    leg = under(short, (0, 0, -5000))["feet, lower leg", "leg in bending"]
    assert leg.demand == pytest.approx(6 * 5000 * 16 / (90 / 2 * 12**2))


def test_the_worst_foot_for_each_of_the_ways(ends):
    """The one pressed hardest shears its screws; a foot that is pulled less hard peels them off, and that is told."""
    got = under(ends, (0, 0, 8000), (0, 0, -5000), (3000, 0, 1000))
    screws = got["feet, upright leg", "screws alone"]
    assert screws.where[0] == "foot blind 2"
    assert screws.use == pytest.approx(5000 * 27 / (2 * ROWS) / thread_m6(3, 215), rel=1e-6)
    assert got["feet, lower leg", "leg in bending"].piece == "foot blind 2"
    pulled = got["wall and floor at the feet", PULLED]
    assert pulled.where == ("floor angle service", "foot service 1")
    assert got["bolts to the car", "M8 bolt, class 8.8"].piece == "foot blind 2"


@pytest.mark.parametrize("made", ["ends", "longs", "pairs"])
def test_no_other_foot_is_worse(made, request, shop):
    """Every foot by itself under every throw: none uses more than what is told."""
    design = request.getfixturevalue(made).design
    count = sum(len(f.bolts) for f in design.feet)
    for throw in throws(shop.load("guideline-20g"), 0.0):
        b = bench(design, throw.force)
        told = known(feet(b))
        forces = b.statics.on_feet(throw.force).forces
        first = 0
        for foot in design.feet:
            alone = np.zeros((count, 3))
            here = slice(first, first + len(foot.bolts))
            alone[here] = forces[here]
            first += len(foot.bolts)
            for name, one in known(on_bolts(bench(design), alone)).items():
                assert one.use <= told[name].use * (1 + 1e-9), (throw.text, foot.mark, name)


def test_what_the_car_does_to_the_feet_by_the_elastic_method(ends):
    """Thrown 100 N/kg across: overturned onto one pair of feet, turned about the upright axis by the off-set mass."""
    design = ends.design
    body = design.mass_properties
    x, y, z = body.centroid
    got = known(feet(bench(design, (0.0, 100.0, 0.0))))["feet, lower leg", "leg in bending"]
    v, force = got.working.values, 100 * body.mass
    # Four bolts at ±406.25, ±85.75 mm, 1 mm up; those at the service end are slotted along the box.
    spread = 4 * 406.25**2 + 2 * 85.75**2
    assert v["R_z"] == pytest.approx(-force * (z - 1) / (4 * 85.75))
    assert v["R_x"] == pytest.approx(-force * x * 85.75 / spread)
    assert v["R_y"] == pytest.approx(-force / 4 + force * x * 406.25 / spread)
    # Lengthwise only the round holes hold; up and down by the levers of the mass.
    got = known(feet(bench(design, (50.0, 0.0, -10.0))))["feet, lower leg", "leg in bending"]
    v = got.working.values
    assert got.piece.startswith("foot blind")
    assert v["R_x"] == pytest.approx(body.mass * (-50 / 2 - 50 * y * v["y_i"] / spread))
    lean = body.mass * (50 * (z - 1) + 10 * x) / (4 * 406.25)
    assert v["R_z"] == pytest.approx(body.mass * 10 / 4 - lean + body.mass * 10 * y * v["y_i"] / (4 * 85.75**2))
    assert [v[s] for s in ("a_x", "a_y", "a_z")] == [50, 0, -10]


def test_a_foots_sheet_begins_with_the_load(ends, pairs):
    """With one bolt its own share by hand; with several, what they take together, as solved."""
    for design, by_hand in ((ends.design, True), (pairs.design, False)):
        b = bench(design, (20.0, 30.0, -10.0))
        one = known(feet(b))["feet, upright leg", "screws alone"]
        v = one.working.values
        assert ("S_r" in v) == by_hand
        assert (v["m"], v["a_y"]) == (design.mass_properties.mass, 30)
        forces, at = b.statics.on_feet(b.throw.force).forces, 0
        for foot in design.feet:
            if foot.mark == one.piece:
                told = forces[at : at + len(foot.bolts)].sum(axis=0)
            at += len(foot.bolts)
        assert [v["R_x"], v["R_y"], v["R_z"]] == pytest.approx(told.tolist())


def test_a_box_without_feet_has_none_to_check():
    assert list(feet(bench(box(feet=False), (0.0, 100.0, 0.0)))) == []


def test_six_feet_of_which_two_hold_lengthwise():
    """Three feet along each long wall, one of the three in round holes: the lines by hand are what the solver says."""
    b = bench(box({"feet.per_wall_least": 3, "feet.length": 60.0}, start="crash-20g"), (40.0, 60.0, -10.0))
    forces = b.statics.on_feet(b.throw.force).forces
    assert len(forces) == 6
    v = known(feet(b))["feet, lower leg", "leg in bending"].working.values
    worst = forces[int(forces[:, 2].argmin())]
    assert v["n_r"] == 2
    assert [v["R_x"], v["R_y"], v["R_z"]] == pytest.approx(worst.tolist())
    assert np.count_nonzero(np.abs(forces[:, 0]) > 1e-6) == 2
