"""The car that a job file describes, as weighed."""

from baywright.job import models
from baywright.vehicle.car import Car, Corners, Item, Ratings


def car_of(asked: models.Car) -> Car:
    """Return the car of a job."""
    weighed, corners = asked.weighed, asked.weighed.corners
    if corners is not None:
        front, rear = corners.front_left + corners.front_right, corners.rear_left + corners.rear_right
    else:
        assert weighed.axles is not None  # the model asks for one of them
        front, rear = weighed.axles.front, weighed.axles.rear
    height = weighed.centroid_height
    return Car(
        name=asked.name,
        wheelbase=asked.wheelbase,
        front=front,
        rear=rear,
        corners=None
        if corners is None
        else Corners(
            front_left=corners.front_left,
            front_right=corners.front_right,
            rear_left=corners.rear_left,
            rear_right=corners.rear_right,
        ),
        track_front=asked.track_front,
        track_rear=asked.track_rear,
        height=None if height is None else height.value,
        height_slack=0.0 if height is None else height.tolerance,
        ratings=Ratings(front=asked.ratings.front_axle, rear=asked.ratings.rear_axle, gross=asked.ratings.gross),
        removed=tuple(_item(item) for item in asked.removed),
        added=tuple(_item(item) for item in asked.added),
        state=weighed.state,
    )


def _item(asked: models.Item) -> Item:
    x, y, z = asked.at
    return Item(name=asked.name, mass=asked.mass, x=x, y=y, z=z)
