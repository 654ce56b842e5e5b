"""A stiff body on supports: how loads are shared, how far the body moves, how it swings.

Each support is a spring in three directions. The body's six freedoms are the shift of a reference point and the turn
about it, in N, mm and radians. Loads are shared as the stiffnesses ask: equal ones give the elastic method of bolt
groups.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from baywright.shape.mass import MassProperties

Array = NDArray[np.float64]

# Turns are weighed against shifts by this length when it is asked whether a body is held: a tenth of a millimetre at a
# car's scale is nothing, a turn of a thousandth is not.
_ARM = 300.0
_HELD = 1e-9


@dataclass(frozen=True, eq=False, kw_only=True)
class Support:
    """A point where a body is held.

    Attributes:
        name: what it is called.
        at: (3,) mm.
        axes: (3, 3): its directions as columns, each of unit length and square to the others.
        stiffness: (3,) N/mm along them.
    """

    name: str
    at: Array
    axes: Array
    stiffness: Array

    def matrix(self) -> Array:
        """Return its stiffness (3, 3) N/mm in the body's frame."""
        out: Array = (self.axes * self.stiffness) @ self.axes.T
        return out


@dataclass(frozen=True, eq=False)
class Share:
    """How supports share loads.

    Attributes:
        about: (3,) mm: the reference point of `motion`.
        motion: (..., 6): shift in mm and turn in radians.
        forces: (..., n, 3) N of each support on the body.
        residual: the largest imbalance left over, as a share of the load (moments over the largest arm).
    """

    about: Array
    motion: Array
    forces: Array
    residual: float


class NotHeld(ValueError):
    """The supports let the body move: the sentence says how."""


def moment_about(about: ArrayLike, at: ArrayLike, force: ArrayLike) -> Array:
    """Return the moment (..., 3) N·mm about a point of forces (..., 3) N that act at points (..., 3) mm."""
    return np.cross(np.asarray(at, dtype=float) - np.asarray(about, dtype=float), np.asarray(force, dtype=float))


def arm_matrix(arm: Array) -> Array:
    """Return the matrix (3, 6) that gives a point's shift from its body's motion, `arm` mm from the reference point."""
    x, y, z = arm.tolist()
    return np.array([[1.0, 0, 0, 0, z, -y], [0, 1.0, 0, -z, 0, x], [0, 0, 1.0, y, -x, 0]])


def stiffness(supports: Sequence[Support], about: ArrayLike) -> Array:
    """Return the stiffness (6, 6) of a body on supports, N and N·mm per mm and radian, about a point (3,) mm."""
    about = np.asarray(about, dtype=float)
    out: Array = np.zeros((6, 6))
    for support in supports:
        arm = arm_matrix(support.at - about)
        out += arm.T @ support.matrix() @ arm
    return out


def share(supports: Sequence[Support], force: ArrayLike, moment: ArrayLike, at: ArrayLike) -> Share:
    """Return how supports share a force and a moment on a stiff body.

    Args:
        supports: n of them.
        force: (..., 3) N.
        moment: (..., 3) N·mm.
        at: (3,) mm: where the force acts.

    Raises:
        NotHeld: if nothing stops some motion of the body.
    """
    places = np.array([s.at for s in supports], dtype=float).reshape(-1, 3)
    about = places.mean(axis=0) if len(places) else np.zeros(3)
    f, m = np.asarray(force, dtype=float), np.asarray(moment, dtype=float)
    wrench = np.concatenate([f, m + moment_about(about, at, f)], axis=-1)
    k = stiffness(supports, about)
    _check_held(supports, places, k)
    motion = solve(k, wrench)
    arms = [arm_matrix(s.at - about) for s in supports]
    forces = np.stack([-(motion @ a.T) @ s.matrix() for s, a in zip(supports, arms, strict=True)], axis=-2)
    total = np.concatenate([forces.sum(axis=-2), moment_about(about, places, forces).sum(axis=-2)], axis=-1) + wrench
    return Share(about, motion, forces, _relative(total, wrench, places - about))


def _relative(total: Array, wrench: Array, arms: Array) -> float:
    """Return the largest imbalance as a share of the load, moments made forces by the supports' largest arm."""
    reach = np.array([1.0] * 3 + [1.0 / max(float(np.linalg.norm(arms, axis=1).max(initial=0.0)), 1.0)] * 3)
    load = np.abs(wrench * reach).max(axis=-1)
    return float((np.abs(total * reach).max(axis=-1) / np.where(load > 0, load, 1.0)).max(initial=0.0))


def solve(k: Array, wrench: Array) -> Array:
    """Return the motion (..., 6) of a body of stiffness (6, 6) under loads (..., 6), turns scaled to lengths."""
    scale = np.array([1.0] * 3 + [1.0 / _ARM] * 3)
    out: Array = np.linalg.solve(k * np.outer(scale, scale), (wrench * scale)[..., None])[..., 0] * scale
    return out


def _check_held(supports: Sequence[Support], places: Array, k: Array) -> None:
    """Raise `NotHeld`, with the motion that is free, unless the stiffness is safely regular."""
    scale = np.array([1.0] * 3 + [1.0 / _ARM] * 3)
    values, vectors = np.linalg.eigh(k * np.outer(scale, scale))
    if len(supports) and values[0] > _HELD * max(values[-1], 1e-300):
        return
    if len(supports) < 2:
        raise NotHeld("one mount cannot hold a body: it turns about the mount")
    spread = np.linalg.svd(places - places.mean(axis=0), compute_uv=False)
    if spread[1] <= 1e-6 * max(spread[0], 1.0):
        names = ", ".join(s.name for s in supports)
        raise NotHeld(f"the mounts {names} lie in one line: nothing stops a turn about that line")
    turn, shift = np.linalg.norm(vectors[3:, 0]), np.linalg.norm(vectors[:3, 0])
    kind = "turn" if turn > shift else "shift"
    x, y, z = (vectors[3:, 0] if turn > shift else vectors[:3, 0]).tolist()
    raise NotHeld(f"the mounts do not stop a {kind} {'about' if turn > shift else 'along'} ({x:.2f}, {y:.2f}, {z:.2f})")


def collinearity(points: ArrayLike) -> float:
    """Return how far points (n, 3) are from one line: the largest distance (mm) from the line that fits them best."""
    p = np.asarray(points, dtype=float).reshape(-1, 3)
    if len(p) < 3:
        return 0.0
    off = p - p.mean(axis=0)
    _, _, axes = np.linalg.svd(off, full_matrices=False)
    return float(np.linalg.norm(off - np.outer(off @ axes[0], axes[0]), axis=1).max())


def natural_frequencies(k: Array, body: MassProperties, about: ArrayLike) -> tuple[Array, Array]:
    """Return the natural frequencies (6,) Hz of a stiff body, lowest first, and their shapes (6, 6) as columns.

    The stiffness is about `about`; each shape is a motion of that point, shift in mm and turn in radians, of unit
    kinetic energy. A motion that is free has frequency 0.

    Args:
        k: (6, 6) N, N·mm per mm, radian.
        body: its mass properties.
        about: (3,) mm.
    """
    arm = arm_matrix(body.centroid - np.asarray(about, dtype=float))
    mass = body.mass * arm.T @ arm
    mass[3:, 3:] += body.inertia
    half = np.linalg.cholesky(mass)
    inverse = np.linalg.inv(half)
    values, vectors = np.linalg.eigh(inverse @ k @ inverse.T)
    # N/mm over kg is 1000 / s².
    hertz: Array = np.sqrt(np.maximum(values, 0.0) * 1000.0) / (2 * np.pi)
    return hertz, inverse.T @ vectors
