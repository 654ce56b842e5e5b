"""Bonds and tightening against worked values.

- Volkersen's shear lag (Volkersen 1938; the form in textbooks on bonded joints): 10 kN on 25 mm width, two sheets of
  E 68 900 MPa, adhesive G 600 MPa and 0.2 mm; recomputed from the differential equation to four decimals.
- Goland and Reissner 1944, second approximation (formula from memory): held against its own differential equation.
- ASTM D1002: the lap coupon is 25.4 mm wide, overlaps 12.7 mm, 1.6 mm thick (read in two texts).
- Tightening torque T = K F d, K 0.2, 75 % of the proof load (recomputed; ISO 898-1 proof loads read in two texts).
- Student racing rules 2026: bonds count half their tested value, and are taken at 60 °C (the rule's text was read).
"""

import numpy as np
import pytest

from baywright.job.catalogue import load_catalogue
from baywright.strength.allow import Allow
from baywright.strength.bond import (
    COUPON_OVERLAP,
    COUPON_THICKNESS,
    Lap,
    goland_reissner,
    peak_factor,
    volkersen,
)
from baywright.strength.working import Working

E = 68_900.0


def lap(overlap: float, first: float = 3.0, second: float = 3.0) -> Lap:
    return Lap(overlap, E * first, E * second, 600.0, 0.2)


@pytest.mark.parametrize(
    ("overlap", "average", "end", "middle"),
    [(12.7, 31.4961, 42.9212, 26.0985), (25, 16.0, 35.0518, 8.2174), (50, 8.0, 34.0886, 0.9632)],
)
def test_volkersen_of_equal_sheets(overlap, average, end, middle):
    got = volkersen(lap(overlap), 10_000 / 25, np.array([-overlap / 2, 0, overlap / 2]))
    assert got == pytest.approx([end, middle, end], rel=1e-5, abs=5e-5)
    assert peak_factor(lap(overlap)) * average == pytest.approx(end, rel=1e-5)


def test_volkersen_decay():
    assert lap(25).decay == pytest.approx(0.170375, rel=1e-5)


def test_volkersen_of_unequal_sheets():
    joint = lap(25, 2, 4)
    got = volkersen(joint, 400, np.array([-12.5, 12.5]))
    assert got == pytest.approx([48.7267, 25.1523], rel=1e-5)
    assert peak_factor(joint) * 16 == pytest.approx(48.7267, rel=1e-5)
    # The shear along the lap adds up to the force.
    x, weights = np.polynomial.legendre.leggauss(40)
    assert float(weights @ volkersen(joint, 400, 12.5 * x)) * 12.5 == pytest.approx(400, rel=1e-9)


@pytest.mark.parametrize(("overlap", "force"), [(12.7, 254.0), (25.0, 500.0), (6.0, 60.0)])
def test_goland_reissner_solves_its_own_equation(overlap, force):
    """σ'''' + 24 Ea / (E t³ ta) σ = 0 between ends that bring the sheets' moment and shear; solved by collocation."""
    t, e, nu, ea, ta = 1.6, 70_000.0, 0.33, 1700.0, 0.25
    half = overlap / 2
    k = 1 / (1 + 2 * np.sqrt(2) * np.tanh(half / t * np.sqrt(1.5 * (1 - nu**2) * force / (t * e))))
    k_shear = k * half / t * np.sqrt(3 * (1 - nu**2) * force / (t * e))
    # A sheet bends by E t³/12 v'' = moment, the peel is Ea/ta times the sheets' distance. At each end one sheet brings
    # moment and shear and the other is free.
    stiff = e * t**3 / 12 * ta / ea
    s = np.cos(np.pi * np.arange(49) / 48)  # Chebyshev points
    weight = np.where((np.arange(49) == 0) | (np.arange(49) == 48), 2.0, 1.0) * (-1.0) ** np.arange(49)
    apart = s[:, None] - s[None, :] + np.eye(49)
    d = np.outer(weight, 1 / weight) / apart
    d = (d - np.diag(d.sum(axis=1))) / half
    operator = np.linalg.matrix_power(d, 4) + np.eye(49) * 2 / stiff
    right = np.zeros(49)
    second, third = d @ d, d @ d @ d
    for row, line, value in (
        (0, second[0], force * t * k / 2 / stiff),
        (48, second[48], force * t * k / 2 / stiff),
        (1, third[0], -force * t * k_shear / half / stiff),
        (47, third[48], force * t * k_shear / half / stiff),
    ):
        operator[row], right[row] = line, value
    peel = np.linalg.solve(operator, right)
    assert goland_reissner(force, overlap, t, e, nu, ea, ta) == pytest.approx(np.abs(peel).max(), rel=2e-3)


def test_coupon():
    assert (COUPON_OVERLAP, COUPON_THICKNESS) == (12.7, 1.6)


@pytest.mark.parametrize(("thread", "torque"), [("M6", 10.44), ("M8", 25.44)])
def test_tightening_torque(thread, torque):
    proof = load_catalogue(None).screw(thread).proof_load["8.8"]
    assert 0.2 * 0.75 * proof * float(thread[1:]) / 1000 == pytest.approx(torque, abs=0.01)


def test_bonds_count_half_and_warm_under_the_student_rules():
    catalogue = load_catalogue(None)
    adhesive = catalogue.adhesive("epoxy-2k").model_copy(update={"shear_strength": 24.0, "hot_shear_strength": 24.0})
    case = catalogue.load("student-racing-2026")
    assert case.temperature == 60
    w = Working()
    allowed = Allow(catalogue, case, adhesive).bond(w)
    assert w.values["τ_θ"] * w.values["k_1"] == pytest.approx(12.0)  # 24 MPa tested counts as 12
    assert allowed == pytest.approx(12.0 / catalogue.basis(case.basis).on_bond)


def test_thread_of_an_m8_in_6061():
    """M8 8.8 in 6061-T6 (Fsu 207 MPa): 6.43 mm of thread carry the bolt's least load (recomputed, VDI 2230 form)."""
    catalogue = load_catalogue(None)
    allow = Allow(catalogue, catalogue.load("workshop"), catalogue.adhesive("epoxy-2k"))
    metal = allow.metal("6061-T6", 12.0, extruded=False)
    w = Working()
    allow.strip(w, "M8", 1.0, metal)
    assert w.values["A_n"] == pytest.approx(21.99, abs=0.01)  # mm² a mm
    assert 29_290 / (w.values["A_n"] * 207) == pytest.approx(6.43, abs=0.05)
