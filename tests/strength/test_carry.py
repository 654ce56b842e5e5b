"""Bearers, their end screws and what they lie on, by hand.

Statics of a simply supported beam and a cantilever (beam tables); EN 1993-1-8 table 3.4 (from memory); ISO 898-1 (M5 in
class 8.8 breaks at 11 350 N); thread strip after Alexander (from memory); limit state 1.1 and 1.25.

The demo's bearers: bar 40 x 15 of 6060-T66 (150, 195 MPa), 276.9 mm long, with M6 hold-downs (5 mm tapped) 95 mm each
side of its middle; two M5 screws 20 mm apart in each end, 10.5 mm over the wall's foot; angles 25 x 25 x 3 (160, 215
MPa) on walls of 3 mm of 5754-H22 (220 MPa). The module's mass is 4 mm towards -x of its screws' middle, 52 mm up.
"""

import math

import pytest

from baywright.strength.carry import bearers

from .conftest import bench, box

LONG, NEAR = 276.9, 276.9 / 2 - 95
UPRIGHT, LEVEL = (40 - 5) * 15**2 / 6, (40**3 - 5**3) * 15 / (6 * 40)
SHEAR, PULL = 0.6 * 11_350 / 1.25, 0.9 * 11_350 / 1.25


def thread(depth: float, strength: float) -> float:
    return 0.6 * strength / 1.25 * math.pi * 5 * depth / 0.8 * (0.4 + (5 - 4.48) / math.sqrt(3))


@pytest.fixture(scope="module")
def design():
    return box()


@pytest.fixture(scope="module")
def masses(design):
    """Return the mass of a module and of a bearer, kg."""
    s = bench(design).statics
    assert s.mass("bearer 1.1.1") == pytest.approx(40 * 15 * LONG * 2700e-9, rel=0.02)
    return s.module_mass, s.mass("bearer 1.1.1")


def under(design, force):
    found = list(bearers(bench(design, force)))
    assert all(one.help and one.piece in one.where for one in found if one.member == "bearers")
    assert all(one.help and one.piece for one in found)
    return found


def test_thrown_down(design, masses):
    """Even pressure bends more than two points near the ends; the bearer nearer to the mass governs."""
    module, bar = masses
    bent = under(design, (0.0, 0.0, -100.0))[0]
    whole = 100 * (module * (0.5 + 4 / 544) + bar)
    assert bent.working.values["W"] == pytest.approx(whole)
    assert bent.demand == pytest.approx(whole * LONG / 8 / UPRIGHT)
    assert bent.resistance == pytest.approx(150 / 1.1)
    assert (bent.member, bent.piece, bent.what) == ("bearers", "bearer 1.1.1", "bending")
    assert bent.at == pytest.approx((-317.75, -95, 7.25 + 15))


def test_thrown_up(design, masses):
    """Pulled up at two points: between them the moment is even, but for the bar's own mass."""
    module, bar = masses
    bent = under(design, (0.0, 0.0, 100.0))[0]
    end = 100 * (module * (0.5 + 4 / 544) + bar) / 2
    moment = end * NEAR - 100 * bar * NEAR**2 / (2 * LONG)
    assert bent.working.values["W"] == 0
    assert bent.demand == pytest.approx(moment / UPRIGHT)
    assert bent.use == pytest.approx(bent.demand / (150 / 1.1))


def test_thrown_along(design, masses):
    """One bearer is pressed by the overturning, the other pulled; both are bent level, by half of the force each."""
    module, bar = masses
    force = 100 * module
    bent = under(design, (100.0, 0.0, 0.0))[0]
    press = force * 52 / 544
    level_end = (force / 2 + 100 * bar) / 2
    level = level_end * NEAR - 100 * bar * NEAR**2 / (2 * LONG)
    assert bent.piece == "bearer 1.1.2"  # towards +x, the pressed one
    assert bent.demand == pytest.approx(press * LONG / 8 / UPRIGHT + level / LEVEL)


def test_thrown_across(design, masses):
    """One of a bearer's two points is pulled, the other pressed: bent under the one by the couple's reactions."""
    module, _ = masses
    bent = under(design, (0.0, 100.0, 0.0))[0]
    # Two screws 190 mm apart hold half of the module's overturning; ends 276.9 mm apart give it to the walls.
    couple = 100 * module * 52 / 2
    level = 4 * 100 * module / (4 * (272**2 + 95**2)) * 95  # the module turns: one point is pushed along each way
    side = 2 * level * 95 / LONG * NEAR
    assert bent.demand == pytest.approx(couple / LONG * NEAR / UPRIGHT + side / LEVEL)


def test_two_modules_on_a_bearer():
    """Four points: the largest moment, reckoned here point by point, is under one of the inner two."""
    wide = box(count=2, columns=2)
    b = bench(wide, (0.0, 30.0, 40.0))
    bent = next(bearers(b))
    one = next(r for r in b.statics.bearers(b.throw.force) if r.mark == bent.piece)
    length, own = one.span, one.own
    y = one.points[:, 1] + length / 2

    def moment(at: float, axis: int) -> float:
        far = sum(f * p for f, p in zip(one.forces[:, axis], y, strict=True)) / length
        near = one.forces[:, axis].sum() - far + own[axis] / 2
        before = sum(f * (at - p) for f, p in zip(one.forces[:, axis], y, strict=True) if p < at)
        return abs(near * at - before - own[axis] * at**2 / (2 * length))

    worst = max(moment(at, 2) / UPRIGHT + moment(at, 0) / LEVEL for at in y)
    assert bent.demand == pytest.approx(worst)
    assert len([s for s in bent.working.steps if s.symbol.startswith("P_")]) == 4


@pytest.mark.parametrize("columns", [1, 2])
def test_no_bearer_and_no_point_is_worse(columns):
    """Of every bearer, under every hold-down: upright bending there or of even pressure, with the level one there."""
    made = box(count=2, columns=columns)
    throws = [(x, y, z) for x in (-90.0, 20.0) for y in (-60.0, 0.0, 80.0) for z in (-150.0, -10.0, 5.0, 60.0)]
    for force in throws:
        b = bench(made, force)
        worst = 0.0
        for row in b.statics.bearers(b.throw.force):
            even = max(0.0, -(row.forces[:, 2].sum() + row.own[2])) * row.span / 8
            for upright, level in zip(row.moments, row.side_moments, strict=True):
                worst = max(worst, max(abs(upright), even) / UPRIGHT + abs(level) / LEVEL)
        assert next(bearers(b)).demand == pytest.approx(worst)


def ends(found):
    return next(c for c in found if c.member == "bearer ends")


def test_end_screws_thrown_along(design, masses):
    """The level force acts on the bearer's top, 7.5 mm over its two screws 20 mm apart."""
    module, bar = masses
    force = 100 * module
    one = ends(under(design, (100.0, 0.0, -60.0)))
    level = (force / 2 + 100 * bar) / 2
    down = (force * 52 / 544 + 60 * (module * (0.5 - 4 / 544) + bar)) / 2
    v = one.working.values
    assert (v["R_x"], v["R_z"], v["Y"]) == pytest.approx((level, -down, 0), abs=1e-6)
    assert v["V"] == pytest.approx(math.hypot(level / 2, down / 2 + level * 7.5 / 20))
    assert v["F_b_Rd_w"] == pytest.approx(2.5 * 10.5 / 16.5 * 220 * 5 * 3 / 1.25)
    assert one.use == pytest.approx(v["V"] / v["F_b_Rd_w"])
    assert one.where == ("bearer 1.1.2", "wall left")
    assert one.at == pytest.approx((216.25, -145, 14.75))


def test_end_screws_thrown_across(design, masses):
    """All of what is thrown along a bearer pulls at one end: M5 x 16 through wall, angle and gap: 9.45 mm hold."""
    module, bar = masses
    one = ends(under(design, (0.0, 1000.0, 0.0)))
    turn = 4 * 272 / (4 * (272**2 + 95**2))
    along = 1000 * (module * (0.5 + 2 * turn) + bar)
    v = one.working.values
    assert v["Y"] == pytest.approx(along)
    assert v["N"] == pytest.approx(along / 2)
    head = 0.6 * math.pi * 8.5 * 3 * 220 / 1.25  # the cap head, 8.5 mm, through 3 mm of wall
    assert (v["F_s_Rd"], v["B_p_Rd"]) == pytest.approx((thread(9.45, 195), head), rel=1e-6)
    together = v["V"] / SHEAR + v["N"] / (1.4 * PULL)
    assert one.use == pytest.approx(max(together, v["N"] / head, v["V"] / v["F_b_Rd_w"]), rel=1e-6)
    assert one.use == pytest.approx(together)


def test_no_end_is_worse(design):
    """The worst end is told: of every bearer and both its ends by its own forces."""
    for force in ((100.0, 0.0, -60.0), (40.0, 90.0, -10.0), (-70.0, -30.0, 20.0), (90.0, 20.0, -300.0)):
        b = bench(design, force)
        told = ends(list(bearers(b)))
        bears = told.working.values["F_b_Rd_w"]
        for row in b.statics.bearers(b.throw.force):
            for x, _, z in row.ends.tolist():
                shear = math.hypot(x / 2, abs(z) / 2 + abs(x) * 7.5 / 20)
                pull = abs(float(row.ends[:, 1].sum())) / 2
                assert told.use >= max(shear / SHEAR + pull / (1.4 * PULL), shear / bears) * (1 - 1e-9)


def test_what_a_bearer_lies_on(design, masses):
    module, bar = masses
    found = under(design, (0.0, 0.0, -100.0))
    down = 100 * (module * (0.5 + 4 / 544) + bar) / 2
    by = {(c.member, c.what, c.alone): c for c in found}
    leg = by["ledges", "leg in bending", "bond"]
    # On the toe, 22 mm from the upright leg; the bearer's 40 mm spread by half the arm to each side.
    assert leg.demand == pytest.approx(6 * down * 22 / ((40 + 22) * 3**2))
    assert leg.resistance == pytest.approx(160 / 1.1)
    assert by["ledges", "leg in bending", "screws"].use == leg.use
    for member in ("ledges", "floor angles under bearers"):
        v = by[member, "bond alone", "bond"].working.values
        assert v["V"] == pytest.approx(down)
        assert v["A"] == pytest.approx(62 * 25 - 2 * math.pi / 4 * 5.5**2)
        assert (v["l"], v["t_1"], v["t_2"]) == (25, 3, 3)
        if member == "ledges":
            assert (v["M_e"], v["b"], v["N"]) == pytest.approx((down * 23.5, 62, 0))
            assert v["ρ"] == pytest.approx(math.exp(-math.pi / 2))
        else:
            assert "M_e" not in v
        held = by[member, "its screws alone", "screws"]
        v = held.working.values
        pull = down * 23.5 / 14 / 2 if member == "ledges" else 0.0
        assert (v["V"], v["N"]) == pytest.approx((down / 2, pull))
        in_wall, in_leg = 2.5 * 14 / 16.5 * 220 * 5 * 3 / 1.25, 2.5 * 11 / 12.6 * 215 * 5 * 3 / 1.25
        assert (v["F_b_Rd_w"], v["F_b_Rd_l"]) == pytest.approx((in_wall, in_leg))
        assert v["F_s_Rd"] == pytest.approx(thread(3, 215), rel=1e-6)
        together = down / 2 / SHEAR + pull / (1.4 * PULL)
        assert held.use == pytest.approx(max(together, pull / thread(3, 215), down / 2 / in_wall), rel=1e-6)
        # With its end screws the bearer does not need it: the same figures, as a third means.
        third = by[member, "end screws, bond and ledge ignored", "end screws"]
        assert third.use == ends(found).use
        assert third.joint == held.joint == by[member, "bond alone", "bond"].joint
    side = "left"
    assert leg.where == (f"ledge 2 {side}", "bearer 2.1.1")
    assert by["floor angles under bearers", "bond alone", "bond"].where == (f"floor angle {side}", "bearer 1.1.1")
    assert leg.at == pytest.approx((-317.75, -142, 140.85))
    assert leg.joint == "ledges, ledge 2 left"


def test_the_end_that_is_pressed_hardest_is_told(design, masses):
    """Thrown to the right, the right ends are pressed and the left ones pulled."""
    module, _ = masses
    found = under(design, (0.0, 100.0, 0.0))
    press = 100 * module * 52 / 2 / LONG
    by = {(c.member, c.what): c for c in found}
    one = by["ledges", "bond alone"]
    assert one.working.values["R"] == pytest.approx(press)
    assert one.where[0] == "ledge 2 right"
    assert one.at[1] == pytest.approx(142)


def test_nothing_lies_on_anything_when_thrown_up(design):
    assert [c.member for c in under(design, (0.0, 0.0, 100.0))] == ["bearers", "bearer ends"]


def test_a_single_layer_has_no_ledges():
    members = {c.member for c in under(box(count=1), (0.0, 0.0, -100.0))}
    assert members == {"bearers", "bearer ends", "floor angles under bearers"}
