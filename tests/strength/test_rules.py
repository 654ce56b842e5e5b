"""What a rule asks beside its loads: thicknesses, number of mounts, corners, edges, groups of modules.

Student racing rules 2026 V1.0 (the text was read): F.10.2 sheet thicknesses, F.10.5.7 mounts, F.10.5.6 corners.
"""

import numpy as np
import pytest

from baywright.job.loads import G
from baywright.strength.feet import on_bolts
from baywright.strength.rules import at_corners, case_rules, points_needed

from .conftest import _SHOP, bench, box

CASE = _SHOP.load("student-racing-2026")


@pytest.fixture(scope="module")
def demo():
    return box()


@pytest.fixture(scope="module")
def pairs():
    return box(start="crash-40g")


def by_check(design, case=CASE):
    found: dict[str, list] = {}
    for one in case_rules(design, case):
        found.setdefault(one.check, []).append(one)
    return found


def test_a_case_without_rules(demo):
    assert case_rules(demo, _SHOP.load("guideline-20g")) == []


@pytest.mark.parametrize(
    ("style", "name", "verdict", "value", "limit"),
    [
        ({}, "floor", "pass", 4.0, 3.2),
        ({"floor.thickness": 3.2}, "floor", "pass", 3.2, 3.2),
        ({"floor.thickness": 3.0}, "floor", "fail", 3.0, 3.2),
        ({}, "walls", "pass", 3.0, 2.3),
        ({"wall.thickness": 2.0}, "walls", "fail", 2.0, 2.3),
        ({}, "lid", "pass", 2.5, 2.3),
        ({"lid.thickness": 2.0}, "lid", "fail", 2.0, 2.3),
    ],
)
def test_sheets(style, name, verdict, value, limit):
    (one,) = [f for f in by_check(box(style))["sheet thickness"] if f.message.startswith(name)]
    assert (one.verdict, one.value, one.limit, one.unit) == (verdict, value, limit, "mm")
    assert one.margin == pytest.approx(value / limit - 1)
    assert one.message.endswith(": thicker sheet") == (verdict == "fail")
    assert one.source == f"{CASE.source}; F.10.2.1, F.10.2.2"
    assert one.subject == "box made"


def test_edges(demo):
    (one,) = by_check(demo)["edge distance by rule"]
    assert (one.verdict, one.value, one.limit, one.unit) == ("pass", 2.0, 1.5, "d")
    assert one.margin == pytest.approx(1 / 3)
    assert one.source == CASE.source
    wide = CASE.model_copy(update={"edge_distance_d": 2.5})
    (one,) = by_check(demo, wide)["edge distance by rule"]
    assert one.verdict == "fail"
    assert one.message.endswith(": raise edge_least_d")
    assert (
        by_check(demo, CASE.model_copy(update={"edge_distance_d": 2.0}))["edge distance by rule"][0].verdict == "pass"
    )


def test_walls_between_heavy_groups(demo):
    """Modules of 23.5 kg: over 12 kg a wall is wanted between them, which the box has not; one alone needs none."""
    (one,) = by_check(demo)["inner walls"]
    assert (one.verdict, one.value, one.limit, one.unit) == ("look", 23.5, 12, "kg")
    assert one.source.endswith("F.10.2.3")
    assert by_check(box(count=1))["inner walls"][0].verdict == "pass"
    light = CASE.model_copy(update={"apart_mass": 23.5})
    assert by_check(demo, light)["inner walls"][0].verdict == "pass"


def test_number_of_mounts(demo, pairs):
    """93 kg and more: ten; the corners' own way asks eight within 50 mm."""
    (one,) = by_check(demo)["mounts"]
    assert (one.verdict, one.value, one.limit) == ("fail", 4, 10)
    assert one.margin == pytest.approx(-0.6)
    assert one.message.startswith("4 bolts to the car, student-racing-2026 asks 10 for 93 kg, or 8 within 50 mm")
    assert one.message.endswith("more feet, or more bolts in each")
    (one,) = by_check(pairs)["mounts"]
    assert (one.verdict, one.value) == ("fail", 8)
    few = CASE.mounts.model_copy(update={"points_above": 8, "corners": None})
    (one,) = by_check(pairs, CASE.model_copy(update={"mounts": few}))["mounts"]
    assert (one.verdict, one.margin, one.source) == ("pass", 0, f"{CASE.source}; F.10.5.7")
    assert "or 8 within" not in one.message


def test_a_mass_on_a_limit_belongs_to_the_heavier_row():
    rule = CASE.mounts
    assert [points_needed(rule, m) for m in (19.999, 20.0, 40.0)] == [4, 6, 10]


def test_bolts_near_the_corners(demo):
    """The demo's bolts stand 33.25 mm outside its ends, 373 mm, and 59.25 mm inside its sides, 145 mm."""
    off = np.hypot(406.25 - 373, 145 - 85.75)
    assert (at_corners(demo, off - 0.01), at_corners(demo, off)) == (0, 4)
    assert at_corners(box(feet=False), 1000.0) == 0


def imposed(design, each: float) -> float:
    """Return the largest use of what holds a mount, one bolt of each foot pushed by a force every way in turn."""
    b = bench(design)
    first = [n == 0 for f in design.feet for n in range(len(f.bolts))]
    worst = 0.0
    for axis in range(3):
        for sign in (-1, 1):
            forces = np.zeros((len(first), 3))
            forces[first, axis] = sign * each
            found = on_bolts(b, forces)
            worst = max(worst, *(c.use for c in found if not c.advice and c.alone != "bond"))
    return worst


def test_strength_of_a_mount(demo, pairs):
    for design in (demo, pairs):
        (one,) = by_check(design)["strength of mounts"]
        assert one.value == pytest.approx(100 * imposed(design, 15_000))
        assert (one.verdict, one.limit, one.unit) == ("fail", 100, "%")
        assert one.margin == pytest.approx(1 - one.value / 100)
        assert one.message.startswith("15 kN on each mount any way, screws alone: ")
        assert one.message.endswith("; a thicker and longer foot with a larger bolt")
    small = CASE.mounts.model_copy(update={"each": 1000.0})
    (one,) = by_check(pairs, CASE.model_copy(update={"mounts": small}))["strength of mounts"]
    assert (one.verdict, one.value) == ("pass", pytest.approx(100 * imposed(pairs, 1000)))
    # The wall and floor bend most where the foot is pulled down.
    assert "pushed along -z" in one.message


def test_mounts_at_the_corners(pairs):
    """Eight bolts near enough: each holds a quarter of the mass at 40 g instead."""
    near = CASE.mounts.corners.model_copy(update={"within": 300.0})
    rule = CASE.mounts.model_copy(update={"corners": near})
    found = by_check(pairs, CASE.model_copy(update={"mounts": rule}))
    (one,) = found["mounts"]
    assert (one.verdict, one.value, one.limit) == ("pass", 8, 8)
    assert one.source.endswith("F.10.5.6")
    each = 0.25 * 40 * G * pairs.mass_properties.mass
    (held,) = found["strength of mounts"]
    assert held.value == pytest.approx(100 * imposed(pairs, each))
    assert held.source.endswith("F.10.5.6")
    assert held.message.startswith(f"{each / 1000:.3g} kN")


def test_without_feet_the_mounts_are_missed():
    found = by_check(box(feet=False))
    assert found["mounts"][0].value == 0
    assert "strength of mounts" not in found


def test_a_strength_that_is_missing_is_said(demo):
    basis = CASE.model_copy(update={"basis": "typical values"})
    odd = _SHOP.basis("limit state").model_copy(update={"name": "typical values", "strengths": "typical"})
    made = box(catalogue=_SHOP.with_row("basis", odd))
    (one,) = by_check(made, basis)["strength of mounts"]
    assert one.verdict == "look"
    assert "has no typical strength" in one.message
