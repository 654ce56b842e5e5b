"""Weight and balance: statics by another way, verdicts, and what is not known."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.shape.mass import block, combine, point_mass
from baywright.vehicle.balance import balance
from baywright.vehicle.car import Car, Corners, Item, LadenCase, Ratings, Tyres, carried

RATINGS = Ratings(front=520.0, rear=560.0, gross=1050.0)
CAR = Car(
    name="saloon",
    wheelbase=2200.0,
    front=430.0,
    rear=370.0,
    corners=Corners(220.0, 210.0, 180.0, 190.0),
    track_front=1200.0,
    track_rear=1180.0,
    height=520.0,
    ratings=RATINGS,
    removed=(
        Item(name="engine", mass=140.0, x=-50.0, y=0.0, z=600.0),
        Item(name="tank", mass=30.0, x=2500.0, y=100.0, z=450.0),
    ),
    added=(Item(name="motor", mass=60.0, x=100.0, y=0.0, z=450.0),),
)

mass = st.floats(1.0, 120.0)
items = st.builds(
    Item,
    name=st.just("thing"),
    mass=mass,
    x=st.floats(-600.0, 2900.0),
    y=st.floats(-700.0, 700.0),
    z=st.floats(100.0, 1200.0),
)


def test_the_ledger_of_a_conversion():
    found = balance(CAR, [("front box", block(80.0, (-200, -300, 500), (200, 300, 800)))])
    assert found.before.mass == 800
    assert found.before.x == pytest.approx(370 / 800 * 2200)
    assert found.before.left_share == pytest.approx(50.0)
    assert found.before.cross == pytest.approx(100 * (210 + 180) / 800)
    assert found.stripped.mass == 630
    assert found.after.mass == 770
    assert [i.name for i in found.added] == ["motor", "front box"]
    assert found.share_change == pytest.approx(found.after.front_share - 53.75)


@settings(max_examples=200, deadline=None)
@given(st.lists(items, max_size=5), st.lists(items, max_size=5))
def test_sums_and_moments_hold(out, boxes):
    car = replace(CAR, removed=(), added=tuple(out))
    found = balance(car, [(i.name, point_mass(i.mass, (i.x, i.y, i.z))) for i in boxes])
    for s in (found.before, found.stripped, found.after):
        c = np.array(s.corners.as_tuple())
        assert c.sum() == pytest.approx(s.mass)
        assert c[:2].sum() == pytest.approx(s.front)
        assert c[2:].sum() == pytest.approx(s.rear)
        assert s.front * s.x == pytest.approx(s.rear * (car.wheelbase - s.x))
        # The wheels' moment about the middle is the centroid's.
        arms = np.array([-600.0, 600.0, -590.0, 590.0])
        assert c @ arms == pytest.approx(s.mass * s.y, abs=1e-6)
    every = [(found.before.mass, found.before.x, found.before.y, found.before.z)]
    every += [(i.mass, i.x, i.y, i.z) for i in found.added]
    table = np.array(every)
    expected = table[:, 0] @ table[:, 1:] / table[:, 0].sum()
    assert (found.after.x, found.after.y, found.after.z) == pytest.approx(expected.tolist())


@given(items)
def test_what_comes_out_and_goes_back_changes_nothing(item):
    car = replace(CAR, removed=(item,), added=(item,))
    found = balance(car)
    for field in ("mass", "front", "rear", "x", "y", "z"):
        assert getattr(found.after, field) == pytest.approx(getattr(found.before, field), abs=1e-8)


def finding(found, check):
    return next(f for f in found.findings if f.check == check)


@pytest.mark.parametrize(("load", "verdict"), [(149.0, "pass"), (158.0, "look"), (160.0, "look"), (160.5, "fail")])
def test_a_load_over_its_rating_fails_and_one_within_2_percent_asks_for_a_look(load, verdict):
    car = Car(
        name="c", wheelbase=2000.0, front=360.0, rear=300.0, ratings=Ratings(front=520.0, rear=560.0, gross=2000.0)
    )
    found = finding(balance(car, [("box", point_mass(load, (0, 0, 0)))]), "front axle load")
    assert found.verdict == verdict
    assert (found.value, found.limit) == (pytest.approx(360 + load), 520)
    if verdict == "fail":
        assert "1 kg over its rating" in found.message or "0 kg over its rating" in found.message


def test_the_gross_mass_and_the_rear_axle_have_their_own_limits():
    heavy = balance(CAR, [("box", point_mass(400.0, (1100.0, 0.0, 300.0)))])
    assert finding(heavy, "gross mass").verdict == "fail"
    behind = balance(CAR, [("box", point_mass(250.0, (2200.0, 0.0, 300.0)))])
    assert finding(behind, "rear axle load").verdict == "fail"
    assert behind.verdict == "fail"


def test_no_rating_is_said_to_be_missing():
    car = Car(name="c", wheelbase=2000.0, front=360.0, rear=300.0)
    found = finding(balance(car), "gross mass")
    assert (found.verdict, found.margin) == ("look", None)
    assert "plate" in found.message


@pytest.mark.parametrize(
    ("x", "verdict", "word"), [(900.0, "pass", ""), (2600.0, "look", "forward"), (-400.0, "look", "rearward")]
)
def test_a_shift_of_the_front_share_beyond_two_points_asks_for_a_look(x, verdict, word):
    car = Car(name="c", wheelbase=2000.0, front=360.0, rear=300.0)
    found = finding(balance(car, [("box", point_mass(100.0, (x, 0, 0)))]), "front share")
    assert found.verdict == verdict
    assert word in found.message


def test_what_is_not_known_is_said():
    plain = balance(Car(name="c", wheelbase=2000.0, front=360.0, rear=300.0))
    assert (plain.after.y, plain.after.z, plain.after.corners, plain.after.left_share) == (None, None, None, None)
    assert {f.check for f in plain.findings} >= {"left and right", "centroid height"}
    half = Car(
        **{name: getattr(CAR, name) for name in CAR.__slots__} | {"added": (Item(name="charger", mass=10, x=0.0),)}
    )
    found = balance(half)
    assert found.after.z is None
    assert "charger" in finding(found, "centroid height").message
    assert "charger" in finding(found, "left and right").message


@pytest.mark.parametrize(
    ("front", "rear", "out", "words"),
    [(0.0, 100.0, (), "more than 0"), (100.0, 100.0, (Item(name="engine", mass=150.0, x=0.0),), "check masses")],
)
def test_impossible_cars_are_refused(front, rear, out, words):
    with pytest.raises(ValueError, match=words):
        balance(Car(name="c", wheelbase=2000.0, front=front, rear=rear, removed=out))


def test_laden_cases_stand_on_the_finished_car():
    people = (
        Item(name="driver", mass=75.0, x=1200.0, y=-350.0, z=600.0),
        Item(name="luggage", mass=30.0, x=2300.0, y=0.0, z=700.0),
    )
    found = balance(replace(CAR, laden=(LadenCase(name="driver and luggage", items=people),)))
    (state,) = found.laden
    assert state.mass == pytest.approx(found.after.mass + 105)
    assert finding(found, "gross mass, driver and luggage").value == pytest.approx(state.mass)
    assert "left for people and luggage" in finding(found, "gross mass").message


def test_tyres_carry_by_the_heavier_wheel():
    light = balance(replace(CAR, removed=(), added=(), tyres=Tyres(front=60, rear=55)))
    found = finding(light, "front tyre load")
    assert (found.value, found.limit, found.verdict) == (220, 250, "pass")
    assert finding(light, "rear tyre load").verdict == "look"  # 55 is not in the table
    lead = Item(name="lead", mass=80.0, x=0.0, y=-600.0, z=0.0)
    heavy = balance(replace(CAR, removed=(), added=(lead,), tyres=Tyres(front=60, rear=60)))
    assert finding(heavy, "front tyre load").value == pytest.approx(300)
    assert finding(heavy, "front tyre load").verdict == "fail"
    halves = balance(replace(CAR, corners=None, removed=(), added=(), tyres=Tyres(front=60, rear=60)))
    assert finding(halves, "front tyre load").value == 215


def test_springs_are_told_what_each_wheel_gained():
    found = balance(CAR, [("box", point_mass(100.0, (1100.0, 300.0, 500.0)))])
    gained = np.array(found.after.corners.as_tuple()) - np.array(found.before.corners.as_tuple())
    assert found.per_corner.as_tuple() == pytest.approx(gained.tolist())
    # It does not need corner scales, only the tracks.
    bare = balance(replace(CAR, corners=None), [("box", point_mass(100.0, (1100.0, 300.0, 500.0)))])
    assert bare.per_corner.as_tuple() == pytest.approx(gained.tolist())
    assert balance(replace(CAR, track_rear=None)).per_corner is None


def test_the_inertia_that_the_conversion_adds():
    """A car made of known blocks, weighed whole, then changed: its inertia by adding everything up is the same."""
    parts = [block(500.0, (-600, -700, 200), (2800, 700, 900)), block(160.0, (-200, -200, 400), (300, 200, 900))]
    engine, box = parts[1], block(200.0, (1800, -500, 300), (2300, 500, 700))
    whole = combine(parts)
    rear = whole.mass * whole.centroid[0] / 2200
    car = Car(
        name="blocks",
        wheelbase=2200.0,
        front=whole.mass - rear,
        rear=rear,
        corners=Corners(*[(whole.mass - rear) / 2] * 2, *[rear / 2] * 2),
        track_front=1200.0,
        track_rear=1200.0,
        height=float(whole.centroid[2]),
        removed=(carried("engine", engine),),
    )
    after = combine([parts[0], box])
    found = balance(car, [("box", box)])
    change = np.diag(after.inertia - whole.inertia) * 1e-6
    assert (found.inertia.roll, found.inertia.pitch, found.inertia.yaw) == pytest.approx(change.tolist())
    assert found.after.z == pytest.approx(after.centroid[2])
    a, b = whole.centroid[0] * 1e-3, 2.2 - whole.centroid[0] * 1e-3
    assert found.inertia.yaw_before == pytest.approx(whole.mass * a * b)
    assert balance(replace(car, height=None)).inertia is None
