"""Scales and the raised axle: against statics done another way, and against a Monte Carlo of the same readings."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright.job.units import Measured
from baywright.vehicle.car import Corners, sigma
from baywright.vehicle.weighing import RaisedAxle, averaged, raised_height

THREE = [Corners(301.0, 295.0, 264.0, 258.0), Corners(303.0, 293.0, 262.0, 260.0), Corners(299.0, 297.0, 266.0, 256.0)]


def test_several_weighings_are_averaged_and_their_scatter_told():
    found = averaged("car", THREE, scale_slack=0.0)
    assert found.corners.as_tuple() == pytest.approx((301, 295, 264, 258))
    assert found.scatter is not None
    assert found.scatter.as_tuple() == pytest.approx((2, 2, 2, 2))
    assert found.error.front_left == pytest.approx(2 / 3**0.5)
    assert found.axle_errors[0] == pytest.approx((2 / 3 * 4) ** 0.5)
    assert found.findings[0].verdict == "pass"


def test_the_scales_own_error_does_not_average_out():
    assert averaged("car", THREE * 4, scale_slack=3.0).error.front_left > 3.0 / 3**0.5


def test_one_weighing_asks_for_more_and_a_car_that_did_not_settle_for_a_look():
    assert averaged("car", THREE[:1], 1.0).findings[0].verdict == "look"
    assert averaged("car", THREE[:1], 1.0).scatter is None
    wild = averaged("car", [THREE[0], Corners(320.0, 276.0, 245.0, 277.0)], 1.0)
    assert wild.findings[0].verdict == "look"
    assert "bounce" in wild.findings[0].message
    with pytest.raises(ValueError, match="no weighing"):
        averaged("car", [], 1.0)


def tilted(height, raised, by, length=2400.0, front=560.0, rear=620.0, radius=300.0):
    """Return the load on the level axle of a rigid car tilted about it, by moments of force in the tilted pose."""
    mass = front + rear
    angle = np.arcsin(by / length)
    forward = front / mass * length if raised == "front" else rear / mass * length  # centroid to the level axle
    # Positions from the level axle's centre, along the level ground: the centroid leans toward that axle.
    centroid = forward * np.cos(angle) - (height - radius) * np.sin(angle)
    return mass * (1 - centroid / (length * np.cos(angle)))


@given(
    st.floats(320.0, 900.0),
    st.sampled_from(["front", "rear"]),
    st.floats(250.0, 900.0),
)
def test_the_height_put_into_a_tilted_car_comes_out(height, raised, by):
    test = RaisedAxle(
        raised=raised,
        by=Measured(by),
        load=Measured(float(tilted(height, raised, by))),
        radius_front=Measured(300.0),
        radius_rear=Measured(300.0),
    )
    found = raised_height("car", Measured(2400.0), (560.0, 620.0), (0.0, 0.0), test)
    assert found.value == pytest.approx(height, abs=1e-6)
    assert found.error == 0


def test_the_uncertainty_is_that_of_shaken_readings():
    readings = {"length": (2500.0, 5.0), "by": (600.0, 6.0), "load": (645.672, 2.0), "radius": (300.0, 3.0)}
    front, rear, error = 560.0, 620.0, 0.8
    test = RaisedAxle(
        raised="front",
        by=Measured(*readings["by"]),
        load=Measured(*readings["load"]),
        radius_front=Measured(*readings["radius"]),
        radius_rear=Measured(*readings["radius"]),
    )
    found = raised_height("car", Measured(*readings["length"]), (front, rear), (error, error), test)
    dice = np.random.default_rng(1)
    n = 200_000
    length, by, load = (dice.normal(v, sigma(t), n) for v, t in (readings[k] for k in ("length", "by", "load")))
    f, r = dice.normal(front, error, n), dice.normal(rear, error, n)
    radii = dice.normal(300.0, sigma(3.0), (2, n))
    share = r / (f + r)
    angle = np.arcsin(by / length)
    height = radii[0] * (1 - share) + radii[1] * share + length * (load - r) / ((f + r) * np.tan(angle))
    assert found.error == pytest.approx(height.std(), rel=0.02)
    assert sum(share for _, share in found.shares) == pytest.approx(1.0)
    assert found.shares[0][0] == "load with the axle raised"


def test_a_small_raise_and_a_wide_band_ask_for_a_look():
    test = RaisedAxle(
        raised="front",
        by=Measured(120.0, 5.0),
        load=Measured(624.0, 2.0),
        radius_front=Measured(300.0, 3.0),
        radius_rear=Measured(300.0, 3.0),
    )
    found = raised_height("car", Measured(2500.0, 5.0), (560.0, 620.0), (1.0, 1.0), test)
    assert [f.verdict for f in found.findings] == ["look", "look"]
    assert "load with the axle raised makes" in found.findings[0].message


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"by": Measured(2500.0)}, "can't be raised"),
        ({"by": Measured(-10.0)}, "tells no height"),
        ({"load": Measured(400.0)}, "check which axle"),
        ({"raised": "middle"}, "'front' or 'rear'"),
    ],
)
def test_readings_that_cannot_be_are_refused(changes, words):
    test = {
        "raised": "front",
        "by": Measured(600.0),
        "load": Measured(645.0),
        "radius_front": Measured(300.0),
        "radius_rear": Measured(300.0),
    }
    with pytest.raises(ValueError, match=words):
        raised_height("car", Measured(2500.0), (560.0, 620.0), (1.0, 1.0), RaisedAxle(**(test | changes)))
