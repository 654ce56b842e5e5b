"""Monte Carlo bands: against the propagation of small errors by hand, and the same again with the same seed."""

from dataclasses import replace

import numpy as np
import pytest

from baywright.shape.mass import point_mass
from baywright.vehicle.balance import balance
from baywright.vehicle.car import Car, Corners, Item, LadenCase, Ratings
from baywright.vehicle.scatter import scatter

CAR = Car(
    name="saloon",
    wheelbase=2200.0,
    front=430.0,
    rear=370.0,
    front_error=2.0,
    rear_error=2.0,
    corners=Corners(220.0, 210.0, 180.0, 190.0),
    corner_error=2.0**0.5,
    track_front=1200.0,
    track_rear=1180.0,
    height=520.0,
    height_error=12.0,
    ratings=Ratings(front=520.0, rear=560.0, gross=1050.0),
    removed=(Item(name="engine", mass=140.0, x=-50.0, y=0.0, z=600.0, mass_error=4.0, place_error=25.0),),
    added=(Item(name="motor", mass=60.0, x=100.0, y=0.0, z=450.0, mass_error=0.5, place_error=5.0),),
)
BOX = [("box", point_mass(150.0, (2200.0, 50.0, 500.0)))]


def sd(band):
    return (band.high - band.low) / (2 * 1.959964)


def test_bands_stand_round_the_balance_and_are_as_wide_as_small_errors_say():
    found, exact = scatter(CAR, BOX), balance(CAR, BOX)
    for name in ("before", "stripped", "after"):
        band, state = getattr(found, name), getattr(exact, name)
        for field in ("mass", "front", "rear", "front_share", "x", "y", "z"):
            middle, value = getattr(band, field).middle, getattr(state, field)
            assert middle == pytest.approx(value, abs=0.1 * sd(getattr(band, field)) + 1e-9)
    assert sd(found.before.mass) == pytest.approx(8**0.5, rel=0.03)
    assert sd(found.after.mass) == pytest.approx((8 + 16 + 0.25 + 9) ** 0.5, rel=0.03)
    # d x_cg = sum (x_i - x_cg) / M dm_i + m_i / M dx_i, before: the rear reading's and the front reading's.
    x = exact.before.x
    assert sd(found.before.x) == pytest.approx(np.hypot((2200 - x) / 800 * 2, x / 800 * 2), rel=0.03)
    assert found.before.side is not None
    assert found.before.side[0, 0] == pytest.approx(sd(found.before.x) ** 2, rel=0.05)
    assert sd(found.before.z) == pytest.approx(12.0, rel=0.03)


def test_the_same_seed_gives_the_same_bands():
    assert scatter(CAR, BOX, 2000, 7).after.x == scatter(CAR, BOX, 2000, 7).after.x
    assert scatter(CAR, BOX, 2000, 7).after.x != scatter(CAR, BOX, 2000, 8).after.x


def test_the_change_of_share_is_surer_than_the_share_because_the_scales_cancel():
    sure = replace(CAR, removed=(), added=())
    found = scatter(sure, [("box", point_mass(1.0, (900.0, 0.0, 500.0)))])
    assert sd(found.share_change) < 0.05 * sd(found.after.front_share)


def test_the_chance_of_being_over_a_rating():
    edge = replace(CAR, removed=(), added=(), ratings=Ratings(front=430.0, rear=560.0))
    chances = scatter(edge).over
    assert chances["front axle"] == pytest.approx(0.5, abs=0.02)
    assert chances["rear axle"] == 0
    assert set(chances) == {"front axle", "rear axle"}


def test_laden_cases_have_bands_and_count_for_the_ratings():
    people = LadenCase(
        name="two up",
        items=(Item(name="two", mass=150.0, x=1100.0, y=0.0, z=600.0, mass_error=10.0, place_error=30.0),),
    )
    car = replace(CAR, laden=(people,), ratings=Ratings(front=520.0, rear=560.0, gross=1020.0))
    found, exact = scatter(car, BOX), balance(car, BOX)
    (band,) = found.laden
    assert band.name == "two up"
    assert band.rear.middle == pytest.approx(exact.laden[0].rear, abs=0.3)
    assert sd(band.mass) == pytest.approx((8 + 16 + 0.25 + 9 + 100) ** 0.5, rel=0.03)
    # The gross mass laden is the rating itself: an even chance.
    assert exact.laden[0].mass == pytest.approx(1020.0)
    assert found.over["whole car"] == pytest.approx(0.5, abs=0.02)


def test_what_is_not_known_has_no_band():
    bare = Car(name="c", wheelbase=2000.0, front=400.0, rear=300.0, front_error=1.0, rear_error=1.0)
    found = scatter(bare, BOX)
    assert (found.after.y, found.after.z, found.after.plan, found.after.side) == (None, None, None, None)
    no_height = replace(CAR, added=(Item(name="charger", mass=10.0, x=0.0, y=0.0),))
    assert scatter(no_height).stripped.z is not None
    assert scatter(no_height).after.z is None
    with pytest.raises(ValueError, match="100 or more"):
        scatter(bare, count=10)
