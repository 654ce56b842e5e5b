"""What all tests share: how random tests run, and the mass of a CAD solid."""

import numpy as np
import pytest
from hypothesis import HealthCheck, settings

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
