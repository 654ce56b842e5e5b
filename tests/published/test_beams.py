"""Beams against handbook formulas, worked on a sharp-cornered tube 100 x 50 x 3.

Formulas of single spans: any handbook (Roark's Formulas for Stress and Strain, tables of beams; torsion of a closed
tube after Bredt; frequencies after Blevins, Formulas for Natural Frequency and Mode Shape), from memory. The numbers
were computed separately from these formulas, E = 68 900 MPa, length 1000 mm, 2 N/mm; twist with G = E / 2.66.
"""

import math

import pytest

from baywright.mechanics.beam import even_load, lowest_frequency, point_load, twist
from baywright.mechanics.section import section_properties
from baywright.piece.extrusion import Stock

E, RHO = 68_900.0, 2700e-9
TUBE = section_properties(
    Stock(name="t", shape="tube", width=50, height=100, wall=3, material="m", density=2700.0, stock_length=6000.0)
)


def test_even_load():
    simple = even_load("simple", 2.0, 1000.0, E * TUBE.ix)
    assert simple.deflection == pytest.approx(0.337108, rel=1e-5)
    assert simple.moment / TUBE.modulus_x == pytest.approx(11.14885, rel=1e-5)
    assert even_load("fixed", 2.0, 1000.0, E * TUBE.ix).deflection == pytest.approx(0.0674217, rel=1e-5)
    assert even_load("fixed", 2.0, 1000.0, E * TUBE.ix).deflection == pytest.approx(simple.deflection / 5, rel=1e-12)
    assert even_load("cantilever", 2.0, 1000.0, E * TUBE.ix).deflection == pytest.approx(3.236241, rel=1e-5)


def test_point_load_bears_the_known_ratios():
    simple, fixed = (point_load(ends, 1000.0, 1000.0, E * TUBE.ix) for ends in ("simple", "fixed"))
    assert simple.deflection == pytest.approx(4 * fixed.deflection)
    assert simple.moment == pytest.approx(250_000)
    tip = point_load("cantilever", 1000.0, 1000.0, E * TUBE.ix)
    assert tip.deflection == pytest.approx(16 * simple.deflection)


def test_torsion_of_a_closed_tube():
    assert 2e5 / TUBE.torsion_modulus == pytest.approx(7.31154, rel=1e-5)
    assert twist(2e5, 1000.0, E / 2.66, TUBE.torsion) == pytest.approx(0.510887, rel=1e-4)


def test_lowest_frequencies():
    per_length = TUBE.area * RHO
    hertz = {
        ends: lowest_frequency(ends, 1000.0, E * TUBE.ix, per_length) for ends in ("simple", "fixed", "cantilever")
    }
    assert hertz["simple"] == pytest.approx(285.845, rel=1e-5)
    assert hertz["fixed"] == pytest.approx(647.979, rel=1e-5)
    assert hertz["cantilever"] == pytest.approx(101.832, rel=1e-5)
    assert hertz["fixed"] / hertz["simple"] == pytest.approx(2.2669, rel=1e-4)
    assert hertz["simple"] / hertz["cantilever"] == pytest.approx(2.8070, rel=1e-4)


def test_one_mass_on_a_spring():
    """1e6 N/m under 25 kg swings at 31.831 Hz; a static sag of 1 mm goes with 15.761 Hz (√(g/δ) / 2π)."""
    import numpy as np

    from baywright.mechanics.statics import natural_frequencies
    from baywright.shape.mass import block

    body = block(25.0, [-500, -500, -500], [500, 500, 500])
    stiff = np.diag([1e3, 1e6, 1e6, 1e12, 1e12, 1e12])
    assert natural_frequencies(stiff, body, [0, 0, 0])[0][0] == pytest.approx(31.8310, rel=1e-5)
    sag = 25.0 * 9.80665 / 1.0
    stiff[0, 0] = sag
    assert natural_frequencies(stiff, body, [0, 0, 0])[0][0] == pytest.approx(15.7609, rel=1e-5)
    assert math.sqrt(9.80665 / 1e-3) / (2 * math.pi) == pytest.approx(15.7609, rel=1e-5)
