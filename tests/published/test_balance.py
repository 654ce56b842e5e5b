"""Axle loads and centroid after changes: a worked example.

Formulas: the lever rule and sums of moments, as three texts on vehicle dynamics print them (x_cg = m_rear L / m; a
mass m at x puts m x / L on the rear axle). The numbers were worked by hand from them: a car of 550 kg in front and
450 kg behind on a wheelbase of 2400 mm; out comes 150 kg over the front axle; in go 60 kg at 100 mm, 120 kg at 200 mm,
100 kg at 2100 mm behind it. Then it weighs 1130 kg, its centroid lies 1168.1416 mm behind the front axle, and the axles
carry 580.0 and 550.0 kg.
"""

import numpy as np
import pytest

from baywright.job.units import Measured
from baywright.shape.mass import block, point_mass
from baywright.vehicle.balance import balance
from baywright.vehicle.car import Car, Item
from baywright.vehicle.limits import tyre_table
from baywright.vehicle.weighing import RaisedAxle, raised_height

CAR = Car(
    name="example",
    wheelbase=2400.0,
    front=550.0,
    rear=450.0,
    removed=(Item(name="engine", mass=150.0, x=0.0),),
    added=(Item(name="motor", mass=60.0, x=100.0), Item(name="front box", mass=120.0, x=200.0)),
)


def test_axle_loads_and_centroid():
    after = balance(CAR, [("rear box", point_mass(100.0, (2100.0, 0.0, 500.0)))]).after
    assert after.mass == pytest.approx(1130.0, rel=1e-12)
    assert after.front == pytest.approx(580.0, rel=1e-12)
    assert after.rear == pytest.approx(550.0, rel=1e-12)
    assert after.x == pytest.approx(1168.1416, abs=1e-4)


def test_the_same_by_moments():
    """The centroid is the sum of moments over the sum of masses, reckoned the other way round."""
    masses = np.array([1000.0, -150.0, 60.0, 120.0, 100.0])
    places = np.array([450.0 / 1000.0 * 2400.0, 0.0, 100.0, 200.0, 2100.0])
    after = balance(CAR, [("rear box", block(100.0, (1900, -300, 300), (2300, 300, 700)))]).after
    assert after.x == pytest.approx(masses @ places / masses.sum(), rel=1e-12)


# The height of the centroid by raising the front axle. The formula h = r + L dW / (W tan a), a = asin(H / L), as three
# texts on vehicle dynamics print it; the numbers were worked from it by hand and checked by moments: L 2500 mm,
# 1180 kg, 620 kg of it on the rear axle, wheels 300 mm, raised by 600 mm: 13.8865 degrees; 645.672 kg then mean 520 mm,
# and 650 kg mean 557.090 mm.


def raised(load, by=600.0):
    test = RaisedAxle(
        raised="front",
        by=Measured(by, 5.0),
        load=Measured(load, 1.0),
        radius_front=Measured(300.0),
        radius_rear=Measured(300.0),
    )
    return raised_height("example", Measured(2500.0, 5.0), (560.0, 620.0), (1.0, 1.0), test)


@pytest.mark.parametrize(("load", "height"), [(645.672, 520.0), (650.0, 557.090)])
def test_height_from_a_raised_axle(load, height):
    found = raised(load)
    assert found.value == pytest.approx(height, abs=0.005)
    assert found.angle == pytest.approx(13.8865, abs=1e-4)


def test_an_axle_that_was_not_raised_tells_no_height():
    with pytest.raises(ValueError, match="raise it 250 mm or more"):
        raised(645.672, by=0.0)


# Load index, kg a tyre: the tyre standards' table (ISO 4000-1), from memory, as two public lists print it too.
@pytest.mark.parametrize(
    ("index", "kg"),
    [(62, 265), (75, 387), (82, 475), (85, 515), (88, 560), (91, 615), (95, 690), (100, 800), (110, 1060)],
)
def test_tyre_load_index(index, kg):
    assert tyre_table()[0][index] == kg


def test_tyre_loads_rise_with_their_index():
    loads = [load for _, load in sorted(tyre_table()[0].items())]
    assert (np.diff(loads) > 0).all()
    # Each index is about 2.9 % more than the one before.
    assert np.diff(np.log(loads)).mean() == pytest.approx(0.0289, abs=0.0005)
