"""What all tests share: how random tests run, the mass of a CAD solid, random plates, cutters."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import HealthCheck, settings

from baywright.piece.assembly import Assembly, Placed
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.shape.loop import circle, rectangle, slot
from baywright.shape.pose import shifted

# The same examples on every run, so that a failure is never a matter of luck; no deadline: machines differ.
settings.register_profile(
    "shop", derandomize=True, deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("shop")


@pytest.fixture(scope="session")
def solid_mass():
    """Return a function that weighs a CAD solid: (volume mm³, centroid (3,) mm, inertia (3, 3) mm⁵ about it)."""
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    def weigh(shape):
        found = GProp_GProps()
        BRepGProp.VolumeProperties_s(shape.wrapped, found)
        matrix = found.MatrixOfInertia()  # about the centroid, products of inertia with their minus
        inertia = np.array([[matrix.Value(i, j) for j in (1, 2, 3)] for i in (1, 2, 3)])
        centre = found.CentreOfMass()
        return found.Mass(), np.array([centre.X(), centre.Y(), centre.Z()]), inertia

    return weigh


@pytest.fixture(scope="session")
def make_cutter():
    """A function that returns a cutter's limits and wishes, some of them changed."""

    def make(**changed):
        limits = {
            "name": "laser",
            "least_hole_to_thickness": 1.0,
            "least_hole": 1.0,
            "least_web_to_thickness": 1.0,
            "least_web": 2.0,
            "inner_corner_radius": 0.5,
            "text": True,
            "dxf_version": "R2000",
            "layers": "by meaning",
        }
        return SimpleNamespace(**(limits | changed))

    return make


def random_plate(seed: int, blind: bool = False) -> Plate:
    """Return a plate with straight, rounded or curved edges and round, slotted, square and free-form holes."""
    rng = np.random.default_rng(seed)
    wide, tall, thick = rng.uniform(60, 400), rng.uniform(60, 300), float(rng.choice([1.0, 2.5, 3.0, 12.0]))
    kind = rng.integers(4)
    if kind == 0:
        outline = rectangle(0, 0, wide, tall)
    elif kind == 1:
        outline = rectangle(0, 0, wide, tall, rng.uniform(1, 25))
    elif kind == 2:
        outline = np.array(
            [(0, 0, rng.uniform(0.05, 0.6)), (wide, 0, 0), (wide, tall, rng.uniform(0.05, 1)), (0, tall, 0)]
        )
    else:
        outline = circle(wide / 2, wide / 2, wide)
        tall = wide
    holes = []
    # One hole at most in each cell of a grid well inside the outline: they never meet.
    low, high = (0.2, 0.8) if kind == 3 else (0.08, 0.92)
    columns, rows = rng.integers(1, 6), rng.integers(1, 5)
    cell = np.array([(high - low) * wide / columns, (high - low) * tall / rows])
    for i in range(columns):
        for j in range(rows):
            x, y = low * wide + (i + 0.5) * cell[0], low * tall + (j + 0.5) * cell[1]
            room = cell.min() * 0.8
            form = rng.integers(6)
            if form == 0:
                continue
            if form in (1, 2):
                loop = circle(x, y, room * rng.uniform(0.2, 1))
            elif form == 3:
                loop = slot(x, y, room * 0.3, room * rng.uniform(0.4, 1), rng.uniform(0, 360))
            elif form == 4:
                loop = rectangle(x - room / 3, y - room / 4, x + room / 3, y + room / 4, room * rng.uniform(0, 0.2))
            else:
                loop = np.array([(x - room / 3, y, 0.5), (x + room / 3, y, -0.3), (x, y + room / 2.2, 0.2)])
            depth = thick * rng.uniform(0.2, 0.8) if blind and rng.random() < 0.5 else thick
            holes.append(Hole(face="top", loop=loop, depth=depth, use="clearance" if form < 4 else "cut-out"))
    return Plate(role="panel", outline=outline, holes=tuple(holes), thickness=thick, material="5083-O", density=2660.0)


@pytest.fixture(scope="session")
def make_plate():
    """The function that draws a random plate."""
    return random_plate


@pytest.fixture(scope="session")
def alone():
    """A function that puts one piece alone in an assembly."""

    def put(piece, name="job"):
        return Assembly(name=name, placed=(Placed("one", piece, shifted()),))

    return put
