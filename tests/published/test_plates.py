"""Plates against published coefficients.

- Roark's Formulas for Stress and Strain, table 11.4 case 1a, simply supported (read; ν 0.3): β, α by a/b.
- Panel 600 x 300 x 3 mm of E 68 900 MPa at 0.01 MPa; its lowest natural frequency (recomputed by two methods).
"""

import pytest

from baywright.mechanics.plate import Plate, supported, supported_frequency

E, NU = 68_900.0, 0.3
SUPPORTED = {
    1.0: (0.0444, 0.2874),
    1.2: (0.0616, 0.3762),
    1.4: (0.0770, 0.4530),
    1.6: (0.0906, 0.5172),
    1.8: (0.1017, 0.5688),
    2.0: (0.1110, 0.6102),
    3.0: (0.1335, 0.7134),
    5.0: (0.1417, 0.7476),
}


def coefficients(bent, short, thick, pressure):
    return bent.deflection * E * thick**3 / (pressure * short**4), bent.stress * thick**2 / (pressure * short**2)


@pytest.mark.parametrize(("ratio", "known"), SUPPORTED.items())
def test_simply_supported(ratio, known):
    got = coefficients(supported(Plate(200 * ratio, 200, 2, E, NU), 0.02), 200, 2, 0.02)
    # Roark's α at 1.4 and 2.0 are rounded by half a percent: the series gives 0.0774 and 0.1106.
    assert got == pytest.approx(known, rel=0.01)


def test_square_and_two_to_one_by_the_series():
    assert coefficients(supported(Plate(200, 200, 2, E, NU), 0.02), 200, 2, 0.02) == pytest.approx(
        (0.0444, 0.2874), rel=0.005
    )
    assert coefficients(supported(Plate(400, 200, 2, E, NU), 0.02), 200, 2, 0.02)[0] == pytest.approx(0.1106, rel=0.001)


def test_panel_600_by_300():
    panel = Plate(600, 300, 3, E, NU)
    held = supported(panel, 0.01)
    assert (held.deflection, held.stress) == pytest.approx((4.8331, 61.02), rel=0.005)


def test_natural_frequencies():
    mass = 2700e-9 * 3  # kg/mm²
    assert supported_frequency(Plate(600, 300, 3, E, 0.33), mass) == pytest.approx(101.107, rel=1e-4)
