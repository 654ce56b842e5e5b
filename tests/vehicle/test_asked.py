"""The job's car, axle scales or corner scales."""

import pytest

from baywright.job.models import Car
from baywright.vehicle.asked import car_of
from baywright.vehicle.balance import balance

ASKED = {
    "name": "saloon",
    "wheelbase": 2200,
    "track_front": 1200,
    "track_rear": 1180,
    "weighed": {"axles": {"front": 430, "rear": 370}, "centroid_height": "520 mm ± 20 mm"},
    "ratings": {"front_axle": 520, "rear_axle": 560, "gross": 1050},
    "removed": [{"name": "engine", "mass": 140, "at": [-50, 0, 600]}],
    "added": [{"name": "motor", "mass": "132 lb", "at": [100, 0, 450]}],
}


def test_axle_scales():
    car = car_of(Car.model_validate(ASKED))
    assert (car.front, car.rear, car.corners, car.height) == (430, 370, None, 520)
    assert car.height_error == pytest.approx(20 / 3**0.5)
    assert balance(car).after.mass == pytest.approx(800 - 140 + 59.874, abs=1e-3)
    assert (car.ratings.front, car.ratings.gross) == (520, 1050)


def test_corner_scales():
    corners = {"front_left": 220, "front_right": 210, "rear_left": 180, "rear_right": 190}
    car = car_of(Car.model_validate({**ASKED, "weighed": {"corners": corners}}))
    assert (car.front, car.rear) == (430, 370)
    assert balance(car).after.left_share == pytest.approx(50.0)
