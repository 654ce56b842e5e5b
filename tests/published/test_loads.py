"""Load cases and the rules that come with them.

- Student racing rules 2026 V1.0 (10 September 2025; the text was read): F.10.3.1 accelerations, F.10.2 sheet
  thicknesses, F.10.5.7 mounts, edge distance e/D 1.5, T.8 fasteners.
- UN R100, mechanical shock, M1 and N1 (from memory): 20 and 28 g lengthwise, 8 and 15 g across, and the corners of the
  corridor in time.
- Shock response, undamped (Harris, Shock and Vibration Handbook, from memory): a step gives 2, a half sine at most
  1.77, an isosceles triangle at most 1.52; a pulse much slower than the swing gives 1.
- VSB 14, guideline on electric drive (from memory; only 20 g confirmed by a summary).
- American sheet gauge, ASTM B258: exact by definition.
"""

import numpy as np
import pytest

from baywright.job.catalogue import load_catalogue
from baywright.job.loads import G, LoadCase
from baywright.job.shop import gauge
from baywright.strength.path import throws
from baywright.strength.pulse import shock_response
from baywright.strength.rules import points_needed


@pytest.fixture(scope="module")
def catalogue():
    return load_catalogue(None)


def hardest(case: LoadCase, axis: int, mass: float) -> float:
    """Return the largest force (N) of a case on a mass along an axis of a box that stands along the car."""
    return max(mass * abs(t.force[axis]) for t in throws(case, 0.0))


def test_student_racing(catalogue):
    case = catalogue.load("student-racing-2026")
    assert (case.forward, case.rearward, case.left, case.right, case.up, case.down) == (40, 40, 40, 40, 20, 20)
    assert hardest(case, 0, 120) == pytest.approx(47_071.92, abs=0.01)
    assert hardest(case, 0, 120) / 4 == pytest.approx(11_768, abs=1)  # a corner mount's quarter
    assert (case.plates.floor, case.plates.walls, case.edge_distance_d) == (3.2, 2.3, 1.5)


@pytest.mark.parametrize(("mass", "points"), [(19.9, 4), (20, 6), (29.9, 6), (30, 8), (39.9, 8), (45, 10), (200, 10)])
def test_student_racing_mounts(catalogue, mass, points):
    rule = catalogue.load("student-racing-2026").mounts
    assert (points_needed(rule, mass), rule.each) == (points, 15_000)


def test_sheet_gauges_under_the_student_rules(catalogue):
    rule = catalogue.load("student-racing-2026").plates
    assert gauge(11) >= rule.walls > gauge(12)  # 2.305 mm just passes
    assert gauge(8) >= rule.floor > 3.0 > gauge(10)


@pytest.mark.parametrize(("name", "along", "across"), [("r100-least", 20, 8), ("r100-most", 28, 15)])
def test_r100(catalogue, name, along, across):
    case = catalogue.load(name)
    assert (case.forward, case.rearward, case.left, case.right) == (along, along, across, across)
    assert "from memory" in case.source


def test_r100_on_a_pack_of_120_kg(catalogue):
    case = catalogue.load("r100-most")
    assert hardest(case, 0, 120) == pytest.approx(32_950.344, abs=0.01)
    assert hardest(case, 1, 120) == pytest.approx(17_651.97, abs=0.01)


def test_the_corners_of_the_r100_corridor(catalogue):
    least, most = (catalogue.load(name).pulse for name in ("r100-least", "r100-most"))
    assert [tuple(c) for c in least.lengthwise] == [(20, 0), (50, 20), (65, 20), (100, 0)]
    assert [tuple(c) for c in most.lengthwise] == [(0, 10), (50, 28), (80, 28), (120, 10)]
    assert [g for _, g in least.across] == [0, 8, 8, 0]
    assert [g for _, g in most.across] == [4.5, 15, 15, 4.5]
    for name in ("r100-least", "r100-most"):
        case = catalogue.load(name)
        assert max(g for _, g in case.pulse.lengthwise) == case.forward == case.rearward
        assert max(g for _, g in case.pulse.across) == case.left == case.right


def test_shock_response_of_pulses_in_the_handbook():
    step = [(0, 1), (1000, 1)]
    assert shock_response(step, 40) == pytest.approx(2.0, abs=2e-3)
    times = np.linspace(0, 100, 301)
    half_sine = [(float(t), float(np.sin(np.pi * t / 100))) for t in times]
    triangle = [(0, 0), (50, 1), (100, 0)]
    swings = np.linspace(3, 25, 67)
    assert max(shock_response(half_sine, f) for f in swings) == pytest.approx(1.77, abs=0.01)
    assert max(shock_response(triangle, f) for f in swings) == pytest.approx(1.52, abs=0.01)
    assert shock_response(half_sine, 400) == pytest.approx(1.0, abs=0.02)
    # Scaled in time and against the swing alike, the answer is the same.
    assert shock_response(triangle, 12) == pytest.approx(shock_response([(0, 0), (5, 7), (10, 0)], 120), rel=1e-3)


def test_corner_mounts_of_the_student_rules(catalogue):
    """At least 8 within 50 mm of the corners, each a quarter of the mass at 40 g: F.10.5.6, read."""
    rule = catalogue.load("student-racing-2026").mounts.corners
    assert (rule.least, rule.within, rule.share, rule.g, rule.rule) == (8, 50, 0.25, 40, "F.10.5.6")
    assert rule.share * rule.g * G * 45 == pytest.approx(4413, abs=1)


def test_guideline(catalogue):
    case = catalogue.load("guideline-20g")
    assert (case.forward, case.left, case.right, case.rearward, case.up, case.down) == (20, 15, 15, 10, 10, 10)
    assert hardest(case, 0, 120) == pytest.approx(23_535.96, abs=0.01)


def test_throws_turn_with_the_box(catalogue):
    """Forward is to -X of the car; with its service end to the right (yaw 90) that is +y of the box, by hand."""
    case = catalogue.load("guideline-20g")
    by_way = {t.way: t.force for t in throws(case, 90.0)}
    assert by_way["forward"] == pytest.approx([0, 20 * G, -G], abs=1e-9)
    assert by_way["right"] == pytest.approx([15 * G, 0, -G], abs=1e-9)
    assert by_way["up"] == pytest.approx([0, 0, 10 * G], abs=1e-9)
    for yaw in (0.0, 37.0, -90.0):
        assert [np.linalg.norm(t.force) for t in throws(case, yaw)] == pytest.approx(
            [np.linalg.norm(f) for f in by_way.values()]
        )


def test_a_source_from_memory_says_so(catalogue):
    read = {"student-racing-2026"}
    for name in catalogue.names("load"):
        case = catalogue.load(name)
        assert name in read or "from memory" in case.source or "no source" in case.source
