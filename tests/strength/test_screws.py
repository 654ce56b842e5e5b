"""Screws: a row that shares evenly, and the worst of a group, by hand.

EN 1993-1-8 table 3.4 (from memory), ISO 898-1 (M5 in class 8.8 breaks at 11 350 N), thread strip after Alexander (from
memory); 5754-H22 220 MPa, 6060-T66 to 3 mm 215 MPa; limit state: 1.25 on rupture and fasteners.
"""

import math

import numpy as np
import pytest

from baywright.mechanics.boltgroup import BoltForces
from baywright.strength.screws import row_use, worst_screw
from baywright.strength.working import Working

from .conftest import bench, box

SHEAR, PULL = 0.6 * 11_350 / 1.25, 0.9 * 11_350 / 1.25
# 3 mm of thread in the angle; the button head, 9.5 mm, through 4 mm of floor; 14 and 11 mm from the edges.
THREAD = 0.6 * 215 / 1.25 * math.pi * 5 * 3 / 0.8 * (0.4 + (5 - 4.48) / math.sqrt(3))
HEAD = 0.6 * math.pi * 9.5 * 4 * 220 / 1.25
IN_FLOOR = 2.5 * 14 / 16.5 * 220 * 5 * 4 / 1.25
IN_ANGLE = 2.5 * 11 / 12.6 * 215 * 5 * 3 / 1.25


@pytest.fixture(scope="module")
def b():
    return bench(box())


def row(b, shear: float | str, pull: float | str, w: Working | None = None, **changes: tuple[float, float]):
    """Return the use and the values of the 13 screws between the floor and its long angle."""
    w = w or Working()
    floor, angle = b.sheet_metal("5754-H22", 4.0), b.stock_metal(b.kit.floor_angle)
    near, far = changes.get("near", (4.0, 14.0)), changes.get("far", (3.0, 11.0))
    line = b.line("floor angle right to floor")
    found = row_use(b, w, line, count=13, shear=shear, pull=pull, near=(floor, *near), far=(angle, *far))
    assert w.values["use"] == found
    return found, w.values


def test_what_one_may_take(b):
    _, v = row(b, 1300.0, 2600.0)
    assert (v["n"], v["V"], v["N"]) == pytest.approx((13, 100, 200))
    assert (v["F_v_Rd"], v["F_t_Rd"], v["F_s_Rd"]) == pytest.approx((SHEAR, PULL, THREAD), rel=1e-6)
    assert (v["B_p_Rd"], v["F_b_Rd_1"], v["F_b_Rd_2"]) == pytest.approx((HEAD, IN_FLOOR, IN_ANGLE), rel=1e-6)


def test_each_way_of_failing_governs_somewhere(b):
    # Bearing in the angle or in the floor, whichever is thin; the screw itself in stout metal.
    assert row(b, 13_000.0, 0.0, far=(2.0, 11.0))[0] == pytest.approx(1000 / (IN_ANGLE * 2 / 3), rel=1e-6)
    assert row(b, 13_000.0, 0.0, near=(1.0, 14.0))[0] == pytest.approx(1000 / (IN_FLOOR / 4), rel=1e-6)
    stout = {"near": (20.0, 14.0), "far": (20.0, 11.0)}
    assert row(b, 13_000.0, 0.0, **stout)[0] == pytest.approx(1000 / SHEAR)
    assert row(b, 13_000.0, 26_000.0, **stout)[0] == pytest.approx(1000 / SHEAR + 2000 / (1.4 * PULL))
    # Pull: the thread; the head if the sheet is thin.
    assert row(b, 0.0, 26_000.0)[0] == pytest.approx(2000 / THREAD, rel=1e-6)
    assert row(b, 0.0, 26_000.0, near=(0.5, 14.0))[0] == pytest.approx(2000 / (HEAD / 8), rel=1e-6)


def test_loads_as_formulas(b):
    w = Working()
    w.given("R", 2600.0, "N", "a force")
    found, v = row(b, "R / 2", "n * R / 13", w)
    assert (v["V"], v["N"]) == pytest.approx((100, 200))
    assert found == row(b, 1300.0, 2600.0)[0]


LIMITS = {"F_v_Rd": 100.0, "F_t_Rd": 200.0, "F_s_Rd": 50.0, "F_1": 80.0, "F_2": 20.0}


@pytest.mark.parametrize(
    ("across", "pulls", "holes", "worst"),
    [
        ([50, 0, 0], [0, 10, 0], (), 0),  # 0.50, 0.20
        ([50, 0, 10], [0, 26, 0], (), 1),  # 0.50, 26 / 50 on its thread
        ([40, 0, 30], [0, 24, 60], (), 2),
        ([50, 45, 0], [0, 14, 0], (), 0),  # 0.45 + 14 / 280 is 0.50 as well: the first
        ([50, 46, 0], [0, 14, 0], (), 1),
        ([10, 0, 0], [-90, 4, 0], (), 0),  # pressed on is no pull
        ([40, 0, 0], [0, 24, 0], ("F_1",), 0),  # 0.50 on its hole against 0.48 on the other's thread
        ([9, 0, 0], [0, 24, 0], ("F_1", "F_2"), 1),
        ([10, 0, 0], [0, 24, 0], ("F_1", "F_2"), 0),
    ],
)
def test_the_worst_of_a_group(across, pulls, holes, worst):
    """By what each may take: the one most pulled may strip its thread before the one most sheared breaks."""
    shear = np.column_stack([np.array(across, dtype=float), np.zeros(3), np.zeros(3)])
    assert worst_screw(LIMITS, BoltForces(shear, np.array(pulls, dtype=float)), *holes) == worst
