"""Flat rectangular plates, simply supported: Navier's series, and the lowest natural frequency.

Small deflections: past about half its thickness a plate stiffens by stretching, and the series overstates both
deflection and bending (Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells). Units: mm, N, MPa, kg.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Terms of the double sine series each way.
_TERMS = 39


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


def supported_frequency(plate: Plate, mass_per_area: float) -> float:
    """Return the lowest natural frequency (Hz) of a simply supported plate; its mass is in kg/mm².

    Source: π/2 √(D/m) (1/a² + 1/b²) (Timoshenko; Blevins), from memory.
    """
    # N·mm over kg/mm² is mm⁴ · 1000 / s².
    return math.pi / 2 * math.sqrt(1000 * plate.stiffness / mass_per_area) * (1 / plate.a**2 + 1 / plate.b**2)
