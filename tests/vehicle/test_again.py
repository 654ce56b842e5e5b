"""Weighings that must agree: a weighbridge, repeated axles, the stripped car, the finished car."""

import re
from dataclasses import replace

import numpy as np
import pytest
from pydantic import ValidationError

from baywright.job.models import Car as CarAsked
from baywright.job.models import Scales, WeighedAgain
from baywright.job.read import read_job
from baywright.rooms import room
from baywright.shape.mass import point_mass
from baywright.vehicle.asked import car_of
from baywright.vehicle.balance import balance
from baywright.vehicle.car import Car, Corners, Item, Ratings, Reading
from baywright.vehicle.scatter import scatter
from baywright.vehicle.weighing import averaged_axles

CAR = Car(
    name="saloon",
    wheelbase=2400.0,
    front=560.0,
    rear=500.0,
    front_error=1.0,
    rear_error=1.0,
    corners=Corners(281.0, 279.0, 248.0, 252.0),
    corner_error=0.7,
    track_front=1300.0,
    track_rear=1280.0,
    height=540.0,
    ratings=Ratings(front=720.0, rear=800.0, gross=1450.0),
    removed=(Item(name="engine", mass=190.0, x=-40.0, y=10.0, z=560.0, mass_error=1.0, place_error=10.0),),
    added=(Item(name="motor", mass=80.0, x=200.0, y=0.0, z=450.0, mass_error=1.0, place_error=10.0),),
)
BOX = [("box", point_mass(150.0, (2300.0, 0.0, 500.0)))]


def test_a_car_weighed_stripped_is_the_same_car():
    """Weighing the stripped car and adding what came out gives the same balance as weighing it before."""
    whole = balance(CAR, BOX)
    bare = whole.stripped
    again = balance(
        replace(CAR, when="stripped", front=bare.front, rear=bare.rear, corners=bare.corners, height=bare.z), BOX
    )
    for name in ("before", "stripped", "after"):
        one, other = getattr(whole, name), getattr(again, name)
        assert (one.mass, one.front, one.y, one.z) == pytest.approx((other.mass, other.front, other.y, other.z))
        assert one.name == other.name == name
    assert again.inertia.yaw == pytest.approx(whole.inertia.yaw)
    assert again.share_change == pytest.approx(whole.share_change)


def test_the_bands_of_a_car_weighed_stripped():
    """What was weighed is sure to the scales; what follows from it is less sure."""
    bare = balance(CAR).stripped
    car = replace(CAR, when="stripped", front=bare.front, rear=bare.rear, corners=bare.corners)
    spread = scatter(car, BOX, count=4000)
    wide = {n: getattr(spread, n).mass.high - getattr(spread, n).mass.low for n in ("before", "stripped", "after")}
    assert wide["stripped"] < wide["before"] < wide["after"]
    assert spread.before.mass.middle == pytest.approx(1060.0, abs=0.2)


def reading(front, rear, when="after"):
    return Reading(when=when, front=front, rear=rear, front_error=1.0, rear_error=1.0)


def found(car, when):
    whole = balance(car, BOX)
    return next(f for f in whole.findings if f.check == f"weighed {when}")


def test_a_finished_car_that_weighs_what_was_reckoned_passes():
    after = balance(CAR, BOX).after
    assert found(replace(CAR, again=(reading(after.front + 1, after.rear - 1),)), "finished").verdict == "pass"


def test_what_is_on_no_list_is_told_with_its_place():
    """40 kg forgotten 600 mm behind the front axle: three quarters of it stand on the front axle."""
    after = balance(CAR, BOX).after
    told = found(replace(CAR, again=(reading(after.front + 30, after.rear + 10),)), "finished")
    assert told.verdict == "look"
    assert "as if 40 kg at X = 600 mm is in the car that is on no list" in told.message
    missing = found(replace(CAR, again=(reading(after.front - 30, after.rear - 10),)), "finished")
    assert "is on the list that is not in the car" in missing.message


def test_a_right_mass_in_a_wrong_place_is_told():
    bare = balance(CAR).stripped
    told = found(replace(CAR, again=(reading(bare.front + 25, bare.rear - 25, "stripped"),)), "stripped")
    assert told.verdict == "look"
    assert "the mass agrees, its place does not" in told.message


def test_a_finished_car_is_held_against_its_plate_as_weighed():
    heavy = replace(CAR, again=(reading(730.0, 700.0),))
    (over,) = (f for f in balance(heavy, BOX).findings if f.check == "front axle load, as weighed, finished")
    assert over.verdict == "fail"


def test_repeated_axle_loads_are_averaged():
    loads = [(560.0, 500.0), (562.0, 499.0), (561.0, 501.0)]
    (front, rear, front_error, rear_error), finding = averaged_axles("saloon", loads, 1.0)
    assert (front, rear) == (561.0, 500.0)
    # Scatter 1 kg over the root of three; two pads of +-1 kg, a rectangular tolerance each.
    assert front_error == pytest.approx(np.hypot(1 / 3**0.5, (2 / 3) ** 0.5))
    assert rear_error == pytest.approx(front_error)
    assert finding.verdict == "pass"


def test_a_reading_written_down_wrong_fails_and_is_shown():
    loads = [(560.0, 500.0), (562.0, 499.0), (461.0, 501.0)]
    finding = averaged_axles("saloon", loads, 1.0)[1]
    assert finding.verdict == "fail"
    assert "front axle (560 562 461 kg): one of them is wrong" in finding.message


def test_a_weighbridge_must_agree_with_the_pads():
    corners = {"front_left": 281, "front_right": 279, "rear_left": 248, "rear_right": 252}
    assert Scales.model_validate({"corners": corners, "total": "1064 kg ± 3 kg"}).total.value == 1064
    with pytest.raises(ValidationError, match=r"add up to 1060.0 kg, total says 1080.0 kg: 20.0 kg apart"):
        Scales.model_validate({"corners": corners, "total": "1080 kg ± 3 kg"})
    with pytest.raises(ValidationError, match="the axles add up to"):
        WeighedAgain.model_validate({"when": "after", "axles": {"front": 500, "rear": 400}, "total": 1000})


def test_a_job_weighed_again(tmp_path):
    asked = {
        "name": "saloon",
        "wheelbase": 2200,
        "track_front": 1200,
        "track_rear": 1180,
        "weighed": {"when": "stripped", "axles": [{"front": 290, "rear": 370}, {"front": 291, "rear": 369}]},
        "weighed_again": [{"when": "after", "axles": {"front": 350, "rear": 371}, "state": "finished"}],
        "ratings": {"front_axle": 520, "rear_axle": 560, "gross": 1050},
        "removed": [{"name": "engine", "mass": 140, "at": [-50, 0, 600]}],
        "added": [{"name": "motor", "mass": "60 kg", "at": [100, 0, 450]}],
    }
    car = car_of(CarAsked.model_validate(asked))
    assert (car.front, car.rear, car.when) == (290.5, 369.5, "stripped")
    whole = balance(car)
    assert whole.before.mass == pytest.approx(800.0)
    assert whole.before.front == pytest.approx(290.5 + 140 * (1 + 50 / 2200))
    assert next(f for f in whole.findings if f.check == "weighed finished").verdict == "pass"


def test_what_the_starter_job_holds_as_comments_is_a_job(tmp_path):
    """Weighed again, a monitor and a motor's map: the lines work as soon as their marks are off."""
    starter = (room("shared") / "jobs" / "starter.toml").read_text(encoding="utf-8")
    head, rest = starter.split("# More that a job may hold")
    lines = [line.removeprefix("# ") for line in rest.splitlines()[1:]]
    told = [line for line in lines if re.match(r"\[|[a-z_]+ = ", line)]
    path = tmp_path / "job.toml"
    path.write_text(head + "\n".join(told) + "\n", encoding="utf-8")
    job = read_job(path)
    assert [one.when for one in job.asked.car.weighed_again] == ["after"]
    assert job.asked.drive.motor.map is not None
    assert job.asked.pack.monitor == (350, 200, 700)
    assert (job.asked.pack.creepage, job.asked.pack.air_gap) == (10, 8)
