"""The car that a job file describes, as weighed."""

from baywright.finding import Finding
from baywright.job import models, weighing
from baywright.job.units import Measured
from baywright.vehicle.car import Car, Corners, Item, LadenCase, Ratings, Reading, Tyres, sigma
from baywright.vehicle.weighing import RaisedAxle, Weighing, averaged, averaged_axles, raised_height


def car_of(asked: models.Car) -> Car:
    """Return the car of a job.

    Raises:
        ValueError: if the weighing with a raised axle can't be true.
    """
    weighed = asked.weighed
    mean, corners, found = _mean(asked.name, weighed)
    front, rear, front_error, rear_error = mean
    findings: list[Finding] = [found]
    height, height_error = None, 0.0
    if weighed.centroid_height is not None:
        height, height_error = weighed.centroid_height.value, sigma(weighed.centroid_height.tolerance)
    elif weighed.raised_axle is not None:
        test = weighed.raised_axle
        raised = raised_height(
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
        height, height_error = raised.value, raised.error
        findings += raised.findings
    return Car(
        name=asked.name,
        wheelbase=asked.wheelbase,
        when=weighed.when,
        front=front,
        rear=rear,
        front_error=front_error,
        rear_error=rear_error,
        corners=None if corners is None else corners.corners,
        corner_error=0.0 if corners is None else max(corners.error.as_tuple()),
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
        again=tuple(_again(asked.name, later) for later in asked.weighed_again),
        findings=tuple(findings),
    )


def _mean(subject: str, scales: models.Scales) -> tuple[tuple[float, float, float, float], Weighing | None, Finding]:
    """Return front and rear axle load with their standard uncertainties, the wheels if weighed, and the scatter."""
    if scales.corners:
        readings = [Corners(c.front_left, c.front_right, c.rear_left, c.rear_right) for c in scales.corners]
        mean = averaged(subject, readings, scales.scale_tolerance)
        c = mean.corners
        loads = (c.front_left + c.front_right, c.rear_left + c.rear_right, *mean.axle_errors)
        return loads, mean, mean.findings[0]
    loads, finding = averaged_axles(subject, [(a.front, a.rear) for a in scales.axles], scales.scale_tolerance)
    return loads, None, finding


def _again(subject: str, scales: models.WeighedAgain) -> Reading:
    """Return a later weighing."""
    (front, rear, front_error, rear_error), corners, _ = _mean(subject, scales)
    return Reading(
        when=scales.when,
        front=front,
        rear=rear,
        front_error=front_error,
        rear_error=rear_error,
        corners=None if corners is None else corners.corners,
        state=scales.state,
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
