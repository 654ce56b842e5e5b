"""Module hold-downs and tie rods by hand.

Elastic method of bolt groups (Shigley); a rod held straight at both ends of a gap, M = V g / 2 (beam tables); ISO 898-1
(M6: 20.1 mm², breaks at 16 100, proof 11 600 N), ISO 724 (core 4.773, d2 5.350 mm); limit state 1.25.

The demo module lies flat: 4 screws M6 at ±272, ±95 mm, its centre of mass 4 mm towards -x and 52 mm up.
"""

import math

import pytest

from baywright.strength.allow import Unchecked
from baywright.strength.hold import retention

from .conftest import _SHOP, bench, box, known

SHEAR, PULL = 0.6 * 16_100 / 1.25, 0.9 * 16_100 / 1.25
SPREAD = 4 * (272**2 + 95**2)


def thread(depth: float) -> float:
    """An M6 thread in 6060-T66 over 3 mm, 195 MPa."""
    return 0.6 * 195 / 1.25 * math.pi * 6 * depth * (0.5 + (6 - 5.350) / math.sqrt(3))


@pytest.fixture(scope="module")
def flat():
    return box()


@pytest.fixture(scope="module")
def rods():
    return box(carry="tie rods")


def one(design, force):
    (got,) = (c for (m, what), c in known(retention(bench(design, force))).items() if "bending" not in what)
    return got, got.working.values


def test_thrown_across(flat):
    got, v = one(flat, (0.0, 100.0, 0.0))
    mass = bench(flat).statics.module_mass
    assert v["m"] == pytest.approx(mass)
    assert 23.5 + 0.4 < mass < 23.5 + 0.5  # 0.42 l of coolant
    force = 100 * mass
    # Tipped over 190 mm; the mass off the middle turns it: the far pair at -x takes more across.
    pull = force * 52 / (2 * 190)
    turn = 4 * force / SPREAD
    shear = math.hypot(turn * 95, force / 4 + turn * 272)
    assert v["T"] == v["N"] == pytest.approx(pull)
    assert v["V"] == pytest.approx(shear)
    assert got.use == pytest.approx(shear / SHEAR + pull / (1.4 * PULL))
    assert (v["x_i"], v["y_i"], v["x_c"], v["y_c"], v["h"]) == pytest.approx((-272, -95, -4, 0, 52))
    assert (got.member, got.what, got.piece) == ("module hold-downs", "shear and pull", "hold-down 1.1.1.1")
    assert "hold-downs" in got.help
    # Back the other way it is the pair on the other side.
    _, v = one(flat, (0.0, -100.0, 0.0))
    assert (v["T"], v["y_i"]) == pytest.approx((pull, 95))


def test_thrown_along_and_down(flat):
    _, v = one(flat, (100.0, 0.0, -10.0))
    force = 100 * v["m"]
    assert v["T"] == pytest.approx(force * 52 / (2 * 544) - v["m"] * 10 / 4 * (1 + 4 / 272))
    assert v["V"] == pytest.approx(force / 4)
    # Down alone nothing pulls.
    got, v = one(flat, (0.0, 0.0, -50.0))
    assert v["T"] < 0
    assert v["N"] == got.use == 0


def test_thrown_up_the_thread_governs(flat):
    """120 mm screws through 108 mm of sleeve and 1.6 mm of washer: 10.4 mm of thread in the bar."""
    got, v = one(flat, (0.0, 0.0, 100.0))
    pull = 100 * v["m"] / 4 * (1 + 4 / 272)
    assert v["T"] == pytest.approx(pull)
    assert v["L_e"] == pytest.approx(120 - 108 - 1.6)
    assert got.use == pytest.approx(pull / thread(10.4), rel=1e-6)
    assert (got.what, got.help) == ("thread in the bar", "a thicker bar")


def test_tie_rods_hold_a_stack(rods):
    """Three layers 113 mm apart, each rod 15 mm in the floor bar; the stack's mass is at 52 + 113 mm."""
    got, v = one(rods, (0.0, 100.0, 0.0))
    mass = bench(rods).statics.module_mass
    assert (v["m"], v["h"], v["L_e"]) == pytest.approx((3 * mass, 165, 15))
    assert v["T"] == pytest.approx(300 * mass * 165 / 380)
    assert (got.member, got.piece) == ("tie rods", "tie rods 1.1.1")
    bent = known(retention(bench(rods, (60.0, 80.0, -500.0))))["tie rods", "bending across the gap between layers"]
    shear = 2 * mass * 100 / 4  # two layers over the lowest gap of 113 - 108 mm
    assert bent.demand == pytest.approx(shear * 5 / 2 * 32 / (math.pi * 4.773**3), rel=1e-6)
    assert bent.resistance == pytest.approx(11_600 / 20.1 / 1.25)
    assert (bent.use, bent.unit) == (pytest.approx(bent.demand / bent.resistance), "MPa")
    # Across, the two layers above it tip too, their mass 52 + 113 / 2 mm over the gap: M / W + N / A.
    bent = known(retention(bench(rods, (0.0, 100.0, 0.0))))["tie rods", "bending across the gap between layers"]
    pull = 200 * mass * (52 + 113 / 2) / 380
    assert bent.demand == pytest.approx(shear * 5 / 2 * 32 / (math.pi * 4.773**3) + pull / 20.1, rel=1e-6)


def test_a_single_layer_has_no_gap():
    design = box(carry="tie rods", count=1)
    assert len(list(retention(bench(design, (0.0, 100.0, 0.0))))) == 1


def test_hold_downs_in_one_line_are_said():
    row = _SHOP.module("m300t")
    line = row.hold_downs[0].model_copy(update={"positions": [[-133.0, 0.0], [133.0, 0.0]]})
    shop = _SHOP.with_row("module", row.model_copy(update={"hold_downs": [line]}))
    design = box(catalogue=shop, module="m300t", count=1, feet=False, lift=False, fittings=[])
    with pytest.raises(Unchecked) as no:
        list(retention(bench(design, (0.0, 100.0, 0.0))))
    assert str(no.value).startswith("module 'm300t' as it lies 'flat' has hold-downs in one line: bolts in one line")
    got, v = one(design, (100.0, 0.0, 0.0))
    assert v["T"] == pytest.approx(100 * v["m"] * 73 / 266)
    assert got.use > 0
