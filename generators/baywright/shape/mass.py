"""Mass properties: mass, centroid and inertia, exact for profiles, and how they add and move."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.shape.pose import Pose
from baywright.shape.profile import Profile

KG_PER_MM3 = 1e-9  # one kg/m³ in kg/mm³


@dataclass(frozen=True, eq=False)
class MassProperties:
    """Mass (kg), centroid (3,) mm, and inertia (3, 3) kg·mm² about the centroid.

    The inertia is the tensor ∫(r²·1 - r rᵀ) dm: products of inertia carry a minus sign off the diagonal.
    """

    mass: float
    centroid: NDArray[np.float64]
    inertia: NDArray[np.float64]

    def about(self, point: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the inertia (3, 3) kg·mm² about a point (3,) mm (parallel-axis theorem)."""
        d = self.centroid - point
        out: NDArray[np.float64] = self.inertia + self.mass * (d @ d * np.eye(3) - np.outer(d, d))
        return out

    def moved(self, pose: Pose) -> "MassProperties":
        """Return the same body seen from outside `pose`."""
        return MassProperties(self.mass, pose(self.centroid), pose.turn @ self.inertia @ pose.turn.T)

    def copies(self, points: NDArray[np.float64]) -> "MassProperties":
        """Return equal copies of the body, its origin shifted to each of the points (n, 3) mm, as one body."""
        count, middle = len(points), points.mean(axis=0)
        d = points - middle
        spread = np.einsum("ij,ij->", d, d) * np.eye(3) - d.T @ d
        return MassProperties(self.mass * count, middle + self.centroid, self.inertia * count + self.mass * spread)

    def times(self, factor: float) -> "MassProperties":
        """Return the body with its density multiplied; a negative factor is a removal."""
        return MassProperties(self.mass * factor, self.centroid, self.inertia * factor)


NOTHING = MassProperties(0.0, np.zeros(3), np.zeros((3, 3)))


def combine(parts: Iterable[MassProperties]) -> MassProperties:
    """Return the mass properties of all parts together; removals are parts of negative mass.

    Raises:
        ValueError: if the masses cancel to nothing while their moments do not, so that no centroid exists.
    """
    listed = list(parts)
    if not listed:
        return NOTHING
    mass = np.array([p.mass for p in listed])
    centre = np.array([p.centroid for p in listed])
    total = float(mass.sum())
    if abs(total) <= 1e-12 * max(float(np.abs(mass).sum()), 1e-30):
        if np.abs(mass @ centre).max() > 1e-9:
            raise ValueError("the masses cancel out: there is no centroid")
        return NOTHING
    centroid = mass @ centre / total
    d = centre - centroid
    shift = np.einsum("i,ij,ij->", mass, d, d) * np.eye(3) - np.einsum("i,ij,ik->jk", mass, d, d)
    inertia = np.sum([p.inertia for p in listed], axis=0) + shift
    return MassProperties(total, centroid, inertia)


def point_mass(mass: float, at: Iterable[float]) -> MassProperties:
    """Return a mass (kg) concentrated at a point (mm)."""
    return MassProperties(mass, np.array(list(at), dtype=float), np.zeros((3, 3)))


def prism(shape: Profile, low: float, high: float, density: float) -> MassProperties:
    """Return the mass properties of a profile drawn out along z from `low` to `high` mm.

    Args:
        shape: the profile in the x-y plane, mm.
        low: where the prism starts, mm.
        high: where it ends, mm.
        density: kg/m³.
    """
    a, sx, sy, sxx, syy, sxy = shape.moments().tolist()
    rho, h = density * KG_PER_MM3, high - low
    mass = rho * a * h
    cx, cy, cz = sx / a, sy / a, (low + high) / 2
    xx, yy, xy = (
        rho * h * (sxx - a * cx * cx),
        rho * h * (syy - a * cy * cy),
        rho * h * (sxy - a * cx * cy),
    )
    zz = mass * h * h / 12
    inertia = np.array([[yy + zz, -xy, 0.0], [-xy, xx + zz, 0.0], [0.0, 0.0, xx + yy]])
    return MassProperties(mass, np.array([cx, cy, cz]), inertia)


def block(mass: float, low: Iterable[float], high: Iterable[float]) -> MassProperties:
    """Return an even rectangular block of `mass` kg between two opposite corners (mm)."""
    lo, hi = np.array(list(low), dtype=float), np.array(list(high), dtype=float)
    s = (hi - lo) ** 2
    return MassProperties(mass, (lo + hi) / 2, np.diag((s.sum() - s) * mass / 12))
