"""What moved: the shifts are differences, the things explain them."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright.shape.mass import point_mass
from baywright.vehicle.balance import balance
from baywright.vehicle.car import Car, Corners, Item, Ratings
from baywright.vehicle.moved import what_moved

CAR = Car(
    name="saloon",
    wheelbase=2200.0,
    front=430.0,
    rear=370.0,
    corners=Corners(220.0, 210.0, 180.0, 190.0),
    track_front=1200.0,
    track_rear=1180.0,
    height=520.0,
    ratings=Ratings(front=520.0, rear=560.0, gross=1050.0),
    removed=(Item(name="engine", mass=140.0, x=-50.0, y=0.0, z=600.0),),
    added=(Item(name="motor", mass=60.0, x=100.0, y=0.0, z=450.0), Item(name="pump", mass=5.0, x=300.0)),
)
BOX = ("box", point_mass(120.0, (2000.0, 0.0, 600.0)))


def test_nothing_moved():
    found = what_moved(balance(CAR, [BOX]), balance(CAR, [BOX]))
    assert not found.anything
    assert all(s.change in (0.0, None) for s in found.shifts)


def test_new_gone_heavier_and_moved_things():
    other = replace(
        CAR,
        removed=(Item(name="engine", mass=145.0, x=-50.0, y=0.0, z=600.0),),
        added=(Item(name="motor", mass=60.0, x=150.0, y=0.0, z=450.0), Item(name="heater", mass=4.0, x=500.0)),
    )
    found = what_moved(balance(CAR, [BOX]), balance(other, [BOX]))
    things = {t.name: t for t in found.things}
    assert {name: t.what for name, t in things.items()} == {
        "engine": "heavier",
        "motor": "moved",
        "heater": "new",
        "pump": "gone",
    }
    assert things["engine"].mass == pytest.approx(-5.0)  # more comes out: the car gets lighter
    assert things["motor"].by == (50.0, 0.0, 0.0)
    assert things["motor"].share == pytest.approx(-60 * 50 / 2200)
    assert things["pump"].by == (None, None, None)
    assert [abs(t.share) for t in found.things] == sorted((abs(t.share) for t in found.things), reverse=True)


@given(st.floats(50, 200), st.floats(-300, 2600), st.floats(50, 160))
def test_the_things_add_up_to_the_shift(mass, x, engine):
    other = replace(CAR, removed=(replace(CAR.removed[0], mass=engine),))
    before, after = balance(CAR, [BOX]), balance(other, [("box", point_mass(mass, (x, 0.0, 500.0)))])
    found = what_moved(before, after)
    shifts = {s.name: s for s in found.shifts}
    assert sum(t.share for t in found.things) == pytest.approx(shifts["front axle"].change, abs=0.2)
    assert sum(t.mass for t in found.things) == pytest.approx(shifts["mass"].change, abs=0.2)
    assert shifts["to spare, front axle load"].change == pytest.approx(-shifts["front axle"].change)


def test_what_is_not_known_stays_unknown():
    bare = replace(CAR, corners=None, height=None)
    found = what_moved(balance(bare), balance(CAR))
    shifts = {s.name: s for s in found.shifts}
    assert shifts["centroid above ground"].change is None
    assert shifts["left share"].old is None
    assert shifts["left share"].new is not None
