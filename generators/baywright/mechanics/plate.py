"""Flat rectangular plates: Navier's series for simply supported edges, Ritz's method for clamped ones; frequencies.

Small deflections: past about half its thickness a plate stiffens by stretching, and the series overstate both
deflection and bending (Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells). Units: mm, N, MPa, kg.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Terms of the double sine series each way, and of the clamped plate's polynomials.
_TERMS, _POLYNOMIALS = 39, 7


@dataclass(frozen=True, slots=True)
class Plate:
    """A rectangular plate: sides a and b (mm), thickness (mm), modulus (MPa), Poisson's ratio."""

    a: float
    b: float
    thickness: float
    e: float
    nu: float

    @property
    def stiffness(self) -> float:
        """Bending stiffness E t³ / 12 (1 - ν²), N·mm."""
        return self.e * self.thickness**3 / (12 * (1 - self.nu**2))


@dataclass(frozen=True, slots=True)
class Patch:
    """An even push over a rectangle: middle x, y and extent u, v in mm from a corner of the plate; force in N."""

    x: float
    y: float
    u: float
    v: float
    force: float


@dataclass(frozen=True, slots=True)
class Bent:
    """What a plate does: largest deflection (mm), largest bending stress (MPa), and where that is (x, y, mm)."""

    deflection: float
    stress: float
    at: tuple[float, float]


def supported(plate: Plate, pressure: float = 0.0, patches: Sequence[Patch] = ()) -> Bent:
    """Return what a plate does that is simply supported on four edges, under a pressure (MPa) and patches.

    Source: Navier's double sine series (Timoshenko and Woinowsky-Krieger). The stress is looked for on a grid and under
    the middle of each patch.
    """
    m = np.arange(1, _TERMS + 1)
    load = np.zeros((_TERMS, _TERMS))
    if pressure:
        odd = (m % 2) / m
        load += 16 * pressure / math.pi**2 * np.outer(odd, odd)
    for p in patches:
        along = np.sin(m * math.pi * p.x / plate.a) * np.sin(m * math.pi * p.u / 2 / plate.a) / m
        across = np.sin(m * math.pi * p.y / plate.b) * np.sin(m * math.pi * p.v / 2 / plate.b) / m
        load += 16 * p.force / (math.pi**2 * p.u * p.v) * np.outer(along, across)
    km, kn = (m * math.pi / plate.a)[:, None], (m * math.pi / plate.b)[None, :]
    w = load / (plate.stiffness * (km**2 + kn**2) ** 2)
    grid = np.linspace(0.05, 0.95, 19)
    x = np.concatenate([grid * plate.a, [p.x for p in patches]])
    y = np.concatenate([grid * plate.b, [p.y for p in patches]])
    sx, sy = np.sin(np.outer(x, km[:, 0])), np.sin(np.outer(y, kn[0]))
    sag = sx @ w @ sy.T
    nu, d = plate.nu, plate.stiffness
    mx = d * (sx @ (w * (km**2 + nu * kn**2)) @ sy.T)
    my = d * (sx @ (w * (nu * km**2 + kn**2)) @ sy.T)
    largest = np.maximum(np.abs(mx), np.abs(my))
    i, j = divmod(int(largest.argmax()), largest.shape[1])
    return Bent(float(np.abs(sag).max()), 6 * float(largest[i, j]) / plate.thickness**2, (float(x[i]), float(y[j])))


def clamped(plate: Plate, pressure: float) -> Bent:
    """Return what a plate does that is clamped on four edges, under a pressure (MPa): the stress is at an edge.

    Source: Ritz's method with polynomials (1 - x²)² times Legendre's; within 0.1 % of Roark's table.
    """
    (p0, p1, p2), weights = _clamped_shapes()
    ra, rb = plate.a / 2, plate.b / 2
    k = plate.stiffness * ra * rb * _energy(p0, p1, p2, weights, ra, rb, plate.nu)
    load = pressure * ra * rb * np.outer(weights @ p0, weights @ p0).ravel()
    c = np.linalg.solve(k, load).reshape(_POLYNOMIALS, _POLYNOMIALS)
    sag = p0 @ c @ p0.T
    # The edges' moments: the second derivative across the edge, at -1.
    _, _, edge = _shapes(np.array([-1.0]))
    mx = plate.stiffness / ra**2 * (edge @ c @ p0.T)
    my = plate.stiffness / rb**2 * (p0 @ c @ edge.T)
    stresses = 6 / plate.thickness**2 * np.array([np.abs(mx).max(), np.abs(my).max()])
    at = (0.0, plate.b / 2) if stresses[0] >= stresses[1] else (plate.a / 2, 0.0)
    return Bent(float(np.abs(sag).max()), float(stresses.max()), at)


def supported_frequency(plate: Plate, mass_per_area: float) -> float:
    """Return the lowest natural frequency (Hz) of a simply supported plate; its mass is in kg/mm².

    Source: π/2 √(D/m) (1/a² + 1/b²) (Timoshenko; Blevins), from memory.
    """
    # N·mm over kg/mm² is mm⁴ · 1000 / s².
    return math.pi / 2 * math.sqrt(1000 * plate.stiffness / mass_per_area) * (1 / plate.a**2 + 1 / plate.b**2)


def clamped_frequency(plate: Plate, mass_per_area: float) -> float:
    """Return the lowest natural frequency (Hz) of a plate clamped on four edges (Ritz); its mass is in kg/mm²."""
    (p0, p1, p2), weights = _clamped_shapes()
    ra, rb = plate.a / 2, plate.b / 2
    k = plate.stiffness * _energy(p0, p1, p2, weights, ra, rb, plate.nu)
    one = (p0 * weights[:, None]).T @ p0
    half = np.linalg.cholesky(mass_per_area * np.kron(one, one))
    back = np.linalg.inv(half)
    lowest = float(np.linalg.eigvalsh(back @ k @ back.T)[0])
    return math.sqrt(1000 * lowest) / (2 * math.pi)


def _energy(p0: Array, p1: Array, p2: Array, weights: Array, ra: float, rb: float, nu: float) -> Array:
    """Return twice the bending energy of the shapes, over stiffness and area's scale (side halves ra, rb in mm)."""
    s00, s11, s22, s02 = ((p * weights[:, None]).T @ q for p, q in ((p0, p0), (p1, p1), (p2, p2), (p0, p2)))
    both = np.kron(s02.T, s02) + np.kron(s02, s02.T)
    return np.asarray(
        np.kron(s22, s00) / ra**4
        + np.kron(s00, s22) / rb**4
        + (nu * both + 2 * (1 - nu) * np.kron(s11, s11)) / (ra**2 * rb**2)
    )


@cache
def _clamped_shapes() -> tuple[tuple[Array, Array, Array], Array]:
    """The shapes and their derivatives at Gauss points, and those points' weights."""
    points, weights = np.polynomial.legendre.leggauss(33)
    return _shapes(points), weights


def _shapes(x: Array) -> tuple[Array, Array, Array]:
    """Return (1 - x²)² times even Legendre polynomials and their first two derivatives at x (n,), each (n, terms)."""
    values, first, second = [], [], []
    edge = np.polynomial.Polynomial([1.0, 0.0, -2.0, 0.0, 1.0])
    for degree in range(0, 2 * _POLYNOMIALS, 2):
        basis = np.polynomial.Legendre.basis(degree).convert(kind=np.polynomial.Polynomial)
        shape = edge * basis
        values.append(shape(x))
        first.append(shape.deriv()(x))
        second.append(shape.deriv(2)(x))
    return np.array(values).T, np.array(first).T, np.array(second).T
