"""Floor bars under tie rods: a stack that tips along its bar pulls one end of it off the floor.

First principles: an even pull and one that grows along the bar, N / L ± 6 M / L² a mm; for its screws the elastic
method of bolt groups (Shigley). The demo's stack: rods at ±272 and ±95 mm; bars 40 x 15 of 6060, 214 mm long, with M5
screws at ±87 and ±29 mm; three layers put its mass 165 mm over the bar.
"""

import math

import pytest

from baywright.strength.floor_bars import floor_bars, rod_loads
from baywright.strength.path import throws

from .conftest import _SHOP, bench, box, known

TWO = {"carry": "tie rods", "count": 6, "columns": 2}


@pytest.fixture(scope="module")
def one_stack():
    return box(carry="tie rods")


def both(design, force):
    got = known(floor_bars(bench(design, force)))
    return got["floor bars", "bond alone"], got["floor bars", "screws alone"]


def stack(design) -> float:
    return 3 * bench(design).statics.module_mass


def test_what_the_rods_do_to_their_bars(one_stack):
    force = 100 * stack(one_stack)
    near, far = rod_loads(bench(one_stack, (0.0, 100.0, 0.0)))
    # Across: half of the overturning to each bar. 4 mm off the middle, the bar at -x is pushed harder.
    assert near.tip == far.tip == pytest.approx(force * 165 / 2)
    assert near.pull == pytest.approx(0, abs=1e-6)
    turn = 4 * force / (4 * (272**2 + 95**2)) * 272
    assert (near.level, far.level) == pytest.approx((2 * (force / 4 + turn), 2 * (force / 4 - turn)))
    # Along: one bar is pulled, the other pressed, neither tipped.
    near, far = rod_loads(bench(one_stack, (100.0, 0.0, 0.0)))
    assert (near.pull, far.pull) == pytest.approx((force * 165 / 544, -force * 165 / 544))
    assert (near.tip, far.tip) == pytest.approx((0, 0), abs=1e-6)
    assert near.level == pytest.approx(force / 2)


def test_tipped_across(one_stack):
    force = 100 * stack(one_stack)
    tip = force * 165 / 2
    glued, held = both(one_stack, (0.0, 100.0, 0.0))
    v = glued.working.values
    assert v["N_e"] == pytest.approx(6 * tip / 214)
    level = 2 * (force / 4 + 4 * force / (4 * (272**2 + 95**2)) * 272)
    assert (v["V"], v["N"]) == pytest.approx((level, v["N_e"]))
    assert (v["V_b"], v["N_b"]) == pytest.approx((level, 0), abs=1e-6)  # what the drawing of the forces tells
    assert (v["b"], v["l"], v["t_1"], v["t_2"]) == (214, 40, 15, 4)
    assert v["A"] == pytest.approx(214 * 40 - 4 * math.pi / 4 * 5.5**2, rel=1e-2)
    v = held.working.values
    assert v["N"] == pytest.approx(tip * 87 / (2 * (87**2 + 29**2)))
    assert v["V"] == pytest.approx(level / 4)
    # M5 x 12 through 4 mm of floor and 0.25 of bond: 7.75 mm of thread; 40 / 4 mm from the bar's edge.
    assert (v["L_e"], v["t_1"], v["t_2"], v["e_1_1"], v["e_1_2"]) == pytest.approx((7.75, 4, 7.75, 10, 10))
    for one in (glued, held):
        assert (one.piece, one.where, one.joint) == ("floor bar 1.1", ("floor bar 1.1", "floor"), "floor bars")
        assert one.at == pytest.approx((-317.75, 0, 0))
        assert one.note.startswith("1 stack on it")
    assert (glued.alone, held.alone) == ("bond", "screws")


def test_pulled_along_and_pressed_down(one_stack):
    force = 100 * stack(one_stack)
    glued, held = both(one_stack, (-100.0, 0.0, 0.0))
    assert glued.piece == "floor bar 1.2"
    assert glued.at == pytest.approx((226.25, 0, 0))
    assert glued.working.values["N"] == pytest.approx(force * 165 / 544)
    assert held.working.values["N"] == pytest.approx(force * 165 / 544 / 4)
    glued, held = both(one_stack, (0.0, 0.0, -100.0))
    assert held.use == 0
    assert "N_e" in glued.working.values
    assert glued.working.values["N_e"] == 0
    # Pressed on evenly and tipped: only what is left at the worse end pulls.
    glued, held = both(one_stack, (0.0, 100.0, -300.0))
    assert glued.piece == "floor bar 1.2"  # less pressed: the mass is 4 mm nearer to the other
    down = stack(one_stack) * 300 / 2 * (1 - 4 / 272)
    assert glued.working.values["N_e"] == pytest.approx(6 * force * 165 / 2 / 214 - down)
    screw = force * 165 / 2 * 87 / (2 * (87**2 + 29**2)) - down / 4
    assert held.working.values["N"] == pytest.approx(screw)


def test_two_stacks_on_a_bar():
    """Each has its own half of the bar: 221.5 of 443 mm, with three of the seven screws 67.2 mm apart."""
    design = box(**TWO)
    force = 100 * stack(design)
    tip, level = force * 165 / 2, 2 * (force / 4 + 4 * force / (4 * (272**2 + 95**2)) * 272)
    glued, held = both(design, (0.0, 100.0, 0.0))
    assert glued.working.values["N_e"] == pytest.approx(2 * 6 * tip / 221.5)
    assert glued.working.values["V"] == glued.working.values["V_b"] == pytest.approx(2 * level)
    up = both(design, (0.0, 0.0, 100.0))[0].working.values
    assert up["N_b"] == pytest.approx(2 * force / 2 * (1 + 4 / 272))
    pitch = 201.5 / 3
    v = held.working.values
    assert (v["n"], v["n_1"]) == (7, 3)
    assert v["N"] == pytest.approx(tip * pitch / (2 * pitch**2))
    assert v["V"] == pytest.approx(2 * level / 7)
    assert glued.note.startswith("2 stacks on it")


def test_few_screws_on_a_bar():
    """With a screw every 200 mm a stack's own length of bar has one: the two nearest hold it."""
    design = box({"joint_screw": _SHOP.style("workshop").joint_screw.model_copy(update={"pitch_most": 260.0})}, **TWO)
    v = both(design, (0.0, 100.0, 0.0))[1].working.values
    assert v["n_1"] == 2
    assert v["N"] == pytest.approx(100 * stack(design) * 165 / 2 / (2 * v["y_s"]))


def test_no_throw_pulls_harder_than_is_told(one_stack, shop):
    """The largest pull a mm of any end of any bar, from the rods themselves, is the bond's."""
    for throw in throws(shop.load("guideline-20g"), 0.0):
        b = bench(one_stack, throw.force)
        got = b.statics.on_hold_downs(throw.force, 3)
        holds = one_stack.layout.module.holds
        ends = []
        for x in (-272, 272):
            pulls = [(t, h[1]) for t, h in zip(got.tension, holds, strict=True) if h[0] == x]
            pull, tip = sum(t for t, _ in pulls), sum(t * y for t, y in pulls)
            ends += [pull / 214 + 6 * tip / 214**2, pull / 214 - 6 * tip / 214**2]
        glued, _ = both(one_stack, throw.force)
        most = max(0.0, *ends)
        assert glued.working.values["N_e"] / 214 <= most * (1 + 1e-9) + 1e-9
        if abs(throw.force[1]) > abs(throw.force[0]):
            assert glued.working.values["N_e"] / 214 == pytest.approx(most, rel=0.02)
