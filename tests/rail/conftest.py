"""One motor, its cradle and a car's mounts, which the tests change one thing at a time."""

import copy

import pytest

from baywright.job.catalogue import load_catalogue
from baywright.job.rails import RailsAsk
from baywright.rail.generate import generate

RUBBER = {"along_n_per_mm": 320, "across_n_per_mm": 110, "travel": 8, "source": "invented"}
BASE = {
    "section": "tube-50x50x3-s235",
    "shaft": {"centre": [310, 0, 470], "toward": "front", "rise": 3.0},
    "motor": {
        "name": "demo motor",
        "length": 260,
        "diameter": 220,
        "mass": 62,
        "centre": [130, 0, 0],
        "torque": 190,
        "stand_off": 70,
    },
    "cradle": {
        "bolt": "M10",
        "lugs": {
            "edge": 150,
            "holes": [[125, -40], [125, 0]],
            "plates": [
                {"at": 0, "thickness": 20, "cleats": "gearbox"},
                {"at": 275, "thickness": 15, "cleats": "gearbox"},
            ],
        },
    },
    "drive": {
        "layout": "longitudinal",
        "first_gear": 3.5,
        "final_drive": 3.9,
        "wheel_radius": 295,
        "driven_mass": 700,
    },
    "mounts": {
        "front-left": {"at": [-80, -255, 390], "fixing": "stud", "stud": 35, "rubber": RUBBER},
        "front-right": {"at": [-80, 255, 390], "fixing": "stud", "stud": 35, "rubber": RUBBER},
        "rear-left": {"at": [400, -230, 330], "metal": 2.5},
        "rear-right": {"at": [400, 230, 330], "metal": 2.5},
    },
}
FEET = {"bolt": "M10", "feet": {"out": 110, "height": -125, "thickness": 15, "holes": [40, 220]}}


@pytest.fixture(scope="session")
def catalogue():
    return load_catalogue()


@pytest.fixture
def base():
    """A request as a plain table, to be changed."""
    return copy.deepcopy(BASE)


@pytest.fixture(scope="session")
def asked():
    """A function from a plain table to the request."""
    return lambda table: RailsAsk.model_validate(table, context={"units": {}})


@pytest.fixture(scope="session")
def made(catalogue, asked):
    """A function from a plain table to the rails."""
    return lambda table: generate("motor", asked(table), catalogue)


@pytest.fixture(scope="session")
def demo(made):
    """The rails of the base request."""
    return made(copy.deepcopy(BASE))


@pytest.fixture(scope="session")
def feet_cradle():
    return copy.deepcopy(FEET)
