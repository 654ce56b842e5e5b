"""Bolt groups against published and recomputed examples.

- Shigley, Mechanical Engineering Design, 9th edition, example 8-7: four M16 bolts at ±75, ±60 mm, 16 kN at 425 mm from
  their centre (data from memory, high confidence; results recomputed).
- EN 1993-1-8, table 3.4: bearing, shear and tension of an M8 8.8 in 3 mm metal (form read in worked calculations;
  numbers recomputed with tensile strength 290 MPa of the metal).
- ISO 898-1: stress areas (two bearing makers' tables agree digit for digit).
"""

import math

import numpy as np
import pytest

from baywright.mechanics.boltgroup import (
    bearing_resistance,
    bolt_shear_resistance,
    bolt_tension_resistance,
    group_forces,
    stress_area,
)


def test_shigley_8_7():
    holes = [[75, 60, 0], [75, -60, 0], [-75, 60, 0], [-75, -60, 0]]
    got = group_forces(holes, [0, 0, 1], [0, -16_000, 0], [0, 0, 0], [425, 0, 0])
    assert math.hypot(75, 60) == pytest.approx(96.047, abs=1e-3)
    assert got.across == pytest.approx([20_972.6, 20_972.6, 14_788.8, 14_788.8], rel=1e-5)
    # The example's two steps: 4 kN primary, 17.7 kN secondary.
    secondary = got.shear - np.array([0, -4000.0, 0])
    assert np.linalg.norm(secondary, axis=1) == pytest.approx([17_699.7] * 4, rel=1e-5)
    assert got.across.max() / (math.pi / 4 * 16**2) == pytest.approx(104.3, abs=0.05)  # shear in the full shank, MPa
    assert got.across.max() / (16 * 10) == pytest.approx(131.06, abs=0.05)  # bearing on 10 mm, MPa
    assert np.abs(got.tension).max() < 1e-9


def test_tension_of_a_bracket_by_hand():
    """10 kN at 100 mm from four bolts 80 mm apart: each pair ± 10 000·100 / 80 / 2 = 6250 N (first principles)."""
    holes = [[20, 40, 0], [-20, 40, 0], [20, -40, 0], [-20, -40, 0]]
    got = group_forces(holes, [0, 0, 1], [0, -10_000, 0], [0, 0, 0], [0, 0, 100])
    assert got.tension == pytest.approx([6250, 6250, -6250, -6250])
    assert got.across == pytest.approx([2500] * 4)


def test_bearing_of_an_m8_in_3_mm():
    common = {"diameter": 8, "hole": 9, "thickness": 3, "strength": 290, "bolt_strength": 800}
    assert bearing_resistance(**common, end=20, side=15, pitch=30) == pytest.approx(10_311.11, abs=0.01)
    assert bearing_resistance(**common, end=10.8, side=10.8) == pytest.approx(3_697.152, abs=0.01)


def test_m8_bolt_of_class_8_8():
    assert bolt_shear_resistance(800, 36.6) == pytest.approx(14_054.4, abs=0.1)
    assert bolt_tension_resistance(800, 36.6) == pytest.approx(21_081.6, abs=0.1)


@pytest.mark.parametrize(
    ("d", "pitch", "area"),
    [(5, 0.8, 14.2), (6, 1, 20.1), (8, 1.25, 36.6), (10, 1.5, 58.0), (12, 1.75, 84.3), (16, 2, 157)],
)
def test_stress_areas(d, pitch, area):
    assert stress_area(d, pitch) == pytest.approx(area, rel=3e-3)
