"""The car that a job file describes, as weighed."""

from math import hypot

from baywright.finding import Finding
from baywright.job import models, weighing
from baywright.job.units import Measured
from baywright.vehicle.car import Car, Corners, Item, LadenCase, Ratings, Tyres, sigma
from baywright.vehicle.weighing import RaisedAxle, averaged, raised_height


def car_of(asked: models.Car) -> Car:
    """Return the car of a job.

    Raises:
        ValueError: if the weighing with a raised axle can't be true.
    """
    weighed = asked.weighed
    findings: list[Finding] = []
    corners = None
    if weighed.corners:
        readings = [Corners(c.front_left, c.front_right, c.rear_left, c.rear_right) for c in weighed.corners]
        mean = averaged(asked.name, readings, weighed.scale_tolerance)
        findings += mean.findings
        corners = mean.corners
        front, rear = corners.front_left + corners.front_right, corners.rear_left + corners.rear_right
        front_error, rear_error = mean.axle_errors
        corner_error = max(mean.error.as_tuple())
    else:
        assert weighed.axles is not None  # the model asks for one of them
        front, rear = weighed.axles.front, weighed.axles.rear
        corner_error = sigma(weighed.scale_tolerance)
        front_error = rear_error = hypot(corner_error, corner_error)
    height, height_error = None, 0.0
    if weighed.centroid_height is not None:
        height, height_error = weighed.centroid_height.value, sigma(weighed.centroid_height.tolerance)
    elif weighed.raised_axle is not None:
        test = weighed.raised_axle
        found = raised_height(
            asked.name,
            Measured(asked.wheelbase),
            (front, rear),
            (front_error, rear_error),
            RaisedAxle(
                raised=test.axle,
                by=test.by,
                load=test.load,
                radius_front=test.radius,
                radius_rear=test.radius_rear or test.radius,
            ),
        )
        height, height_error = found.value, found.error
        findings += found.findings
    return Car(
        name=asked.name,
        wheelbase=asked.wheelbase,
        front=front,
        rear=rear,
        front_error=front_error,
        rear_error=rear_error,
        corners=corners,
        corner_error=corner_error,
        track_front=asked.track_front,
        track_rear=asked.track_rear,
        height=height,
        height_error=height_error,
        ratings=Ratings(
            front=asked.ratings.front_axle,
            rear=asked.ratings.rear_axle,
            gross=asked.ratings.gross,
            kerb=asked.papers.kerb,
        ),
        tyres=None if asked.tyres is None else Tyres(front=asked.tyres.front, rear=asked.tyres.rear),
        removed=tuple(_item(item) for item in asked.removed),
        added=tuple(_item(item) for item in asked.added),
        laden=tuple(LadenCase(name=c.name, items=tuple(_item(i) for i in c.items)) for c in asked.laden),
        state=weighed.state,
        findings=tuple(findings),
    )


def _item(asked: weighing.Item) -> Item:
    x, y, z = asked.at
    place = max(x.tolerance, y.tolerance, z.tolerance)
    return Item(
        name=asked.name,
        mass=asked.mass.value,
        x=x.value,
        y=y.value,
        z=z.value,
        mass_error=sigma(asked.mass.tolerance) or None,
        place_error=sigma(place) or None,
    )
