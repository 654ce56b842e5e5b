"""A closed tube in torsion (Bredt, from memory) and one mass on a spring, against numbers worked separately.

The tube is 100 x 50 x 3 with sharp corners, 1000 mm long, E = 68 900 MPa, G = E / 2.66. Single spans are held against
handbook formulas in tests/mechanics/test_beam.py.
"""

import math

import pytest

from baywright.mechanics.section import section_properties
from baywright.piece.extrusion import Stock

E = 68_900.0
TUBE = section_properties(
    Stock(name="t", shape="tube", width=50, height=100, wall=3, material="m", density=2700.0, stock_length=6000.0)
)


def test_torsion_of_a_closed_tube():
    assert 2e5 / TUBE.torsion_modulus == pytest.approx(7.31154, rel=1e-5)
    assert math.degrees(2e5 * 1000.0 / (E / 2.66 * TUBE.torsion)) == pytest.approx(0.510887, rel=1e-4)


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
