"""Bolts that share a load: how much each one takes, and what a bolt and the metal round its hole can take.

Distribution: the elastic method of the textbooks (Shigley, Mechanical Engineering Design, bolted joints in shear with
eccentric loading): equal bolts, a stiff plate, the group turning about its centroid.
Resistance: EN 1993-1-8, table 3.4 (from memory; its form was read in a worked calculation).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Partial factor of bolts, EN 1993-1-8 (from memory).
GAMMA_M2 = 1.25
# Share of the bolt's tensile strength that counts in shear through the thread: 0.6 for classes 4.6, 5.6 and 8.8, 0.5
# for 10.9 and stainless (EN 1993-1-8, table 3.4, from memory).
SHEAR_SHARE = {"4.6": 0.6, "5.6": 0.6, "8.8": 0.6, "10.9": 0.5, "12.9": 0.5}
_TENSION_SHARE = 0.9
# Least distances that the bearing rule covers, in hole diameters: e1 and e2, p1, p2 (EN 1993-1-8, table 3.3, from
# memory).
LEAST_EDGE, LEAST_PITCH, LEAST_BESIDE = 1.2, 2.2, 2.4


@dataclass(frozen=True, eq=False)
class BoltForces:
    """What each bolt of a group takes.

    Attributes:
        shear: (..., n, 3) N, across the bolts.
        tension: (..., n) N along the bolts' direction; negative where the group is pressed on.
    """

    shear: NDArray[np.float64]
    tension: NDArray[np.float64]

    @property
    def across(self) -> NDArray[np.float64]:
        """Size of the shear force on each bolt, (..., n) N."""
        return np.asarray(np.linalg.norm(self.shear, axis=-1))


def group_forces(points: ArrayLike, axis: ArrayLike, force: ArrayLike, moment: ArrayLike, at: ArrayLike) -> BoltForces:
    """Return the force on each of n equal bolts from a force and a moment on the plate that they hold.

    Args:
        points: (n, 3) mm, in one plane square to `axis`.
        axis: (3,) of unit length: the bolts' direction, away from what they hold to; pull along it is tension.
        force: (..., 3) N on the plate.
        moment: (..., 3) N·mm on the plate.
        at: (3,) mm: where the force acts.

    Raises:
        ValueError: if the bolts cannot take the moment: one bolt, or all in a line that the moment turns about.
    """
    p, n = np.asarray(points, dtype=float).reshape(-1, 3), np.asarray(axis, dtype=float)
    f, m = np.asarray(force, dtype=float), np.asarray(moment, dtype=float)
    centre = p.mean(axis=0)
    r = p - centre
    r = r - np.outer(r @ n, n)
    m = m + np.cross(np.asarray(at, dtype=float) - centre, f)
    count, polar = len(p), float((r * r).sum())
    twist, tilt = m @ n, m - (m @ n)[..., None] * n
    scale = np.abs(m).max(initial=0.0) + np.abs(f).max(initial=0.0)
    pull = f @ n
    shear = np.broadcast_to(((f - pull[..., None] * n) / count)[..., None, :], (*f.shape[:-1], count, 3)).copy()
    if polar > 1e-9:
        shear += (twist / polar)[..., None, None] * np.cross(n, r)
    elif np.abs(twist).max(initial=0.0) > 1e-9 * scale:
        raise ValueError("a single bolt cannot hold a plate against turning about it")
    # Tension grows evenly across the group, T = c · r; Σ r × (T n) = tilt then means Σ r (r · c) = n × tilt.
    want = np.cross(n, tilt)
    spread = np.einsum("ki,kj->ij", r, r)
    slope = want @ np.linalg.pinv(spread, rcond=1e-9).T
    left = np.abs(slope @ spread.T - want).max(initial=0.0)
    if left > 1e-6 * max(scale, 1e-30):
        raise ValueError("bolts in one line cannot hold a plate against turning about that line")
    tension = (pull / count)[..., None] + slope @ r.T
    return BoltForces(shear, tension)


def bolt_shear_resistance(strength: float, area: float, grade: str = "8.8") -> float:
    """Return what one bolt takes in shear through its thread, N (EN 1993-1-8, table 3.4).

    Args:
        strength: the bolt's tensile strength, MPa.
        area: its stress area, mm².
        grade: property class.

    Raises:
        ValueError: if the class is not in the rule.
    """
    if grade not in SHEAR_SHARE:
        raise ValueError(f"no shear rule for bolts of class {grade}: one of {', '.join(SHEAR_SHARE)}")
    return SHEAR_SHARE[grade] * strength * area / GAMMA_M2


def bolt_tension_resistance(strength: float, area: float) -> float:
    """Return what one bolt takes in tension, N (EN 1993-1-8, table 3.4)."""
    return _TENSION_SHARE * strength * area / GAMMA_M2


def bolt_use(
    shear: NDArray[np.float64], tension: NDArray[np.float64], shear_resistance: float, tension_resistance: float
) -> NDArray[np.float64]:
    """Return how much of a bolt is used, 1 = all: shear and tension together (EN 1993-1-8, table 3.4).

    Fv / Fv,Rd + Ft / (1.4 Ft,Rd), and Ft / Ft,Rd alone; pressure does not count.
    """
    pull = np.maximum(tension, 0.0)
    both = np.asarray(shear) / shear_resistance + pull / (1.4 * tension_resistance)
    return np.asarray(np.maximum(both, pull / tension_resistance))


def bearing_resistance(
    *,
    diameter: float,
    hole: float,
    thickness: float,
    strength: float,
    bolt_strength: float,
    end: float,
    side: float,
    pitch: float | None = None,
    beside: float | None = None,
    gamma: float = GAMMA_M2,
) -> float:
    """Return what the metal round one bolt hole takes in bearing, N: k1 αb fu d t / γ (EN 1993-1-8, table 3.4).

    EN 1999-1-1 has the same form (from memory).

    Args:
        diameter: the bolt (or the sleeve that bears on the hole), mm.
        hole: mm.
        thickness: of the metal, mm.
        strength: tensile strength of the metal, MPa.
        bolt_strength: tensile strength of the bolt, MPa.
        end: from the hole's centre to the edge that the force points to, mm.
        side: from the hole's centre to the edge beside it, mm.
        pitch: to the next hole along the force, mm; None if there is none.
        beside: to the next hole across the force, mm; None if there is none.
        gamma: partial factor.

    Raises:
        ValueError: if the hole is nearer to an edge or to another hole than the rule covers.
    """
    alpha, k1 = bearing_factors(
        hole=hole, strength=strength, bolt_strength=bolt_strength, end=end, side=side, pitch=pitch, beside=beside
    )
    return k1 * alpha * strength * diameter * thickness / gamma


def bearing_factors(
    *,
    hole: float,
    strength: float,
    bolt_strength: float,
    end: float,
    side: float,
    pitch: float | None = None,
    beside: float | None = None,
) -> tuple[float, float]:
    """Return αb (along the force) and k1 (across it) of `bearing_resistance`, whose arguments these are.

    Raises:
        ValueError: if the hole is nearer to an edge or to another hole than the rule covers.
    """
    for name, value, least in (
        ("end distance", end, LEAST_EDGE),
        ("side distance", side, LEAST_EDGE),
        ("pitch", pitch, LEAST_PITCH),
        ("distance to the hole beside", beside, LEAST_BESIDE),
    ):
        if value is not None and value < least * hole * (1 - 1e-9):
            raise ValueError(f"{name} {value:.1f} mm is under {least:g} x hole {hole:g} mm")
    alpha = min(end / (3 * hole), bolt_strength / strength, 1.0)
    if pitch is not None:
        alpha = min(alpha, pitch / (3 * hole) - 0.25)
    k1 = min(2.8 * side / hole - 1.7, 2.5)
    if beside is not None:
        k1 = min(k1, 1.4 * beside / hole - 1.7)
    return alpha, k1


def stress_area(diameter: float, pitch: float) -> float:
    """Return a metric thread's stress area in mm², ISO 898-1: π/4 ((d2 + d3) / 2)²."""
    return math.pi / 4 * (diameter - 0.9381943 * pitch) ** 2
