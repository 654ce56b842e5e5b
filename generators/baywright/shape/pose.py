"""Where a thing stands: a rotation and a shift from its own frame to another."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Vector = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Pose:
    """A rotation matrix (3, 3), proper, and a shift (3,) in mm: outside = turn @ inside + shift."""

    turn: NDArray[np.float64]
    shift: NDArray[np.float64]

    def __call__(self, points: ArrayLike) -> NDArray[np.float64]:
        """Return points (3,) or (n, 3) mm of the own frame as seen from outside."""
        out: NDArray[np.float64] = np.asarray(points, dtype=float) @ self.turn.T + self.shift
        return out

    def direction(self, vectors: ArrayLike) -> NDArray[np.float64]:
        """Return directions (3,) or (n, 3) of the own frame as seen from outside."""
        out: NDArray[np.float64] = np.asarray(vectors, dtype=float) @ self.turn.T
        return out

    def after(self, first: "Pose") -> "Pose":
        """Return the pose that applies `first`, then this one."""
        return Pose(self.turn @ first.turn, self.turn @ first.shift + self.shift)

    def inverse(self) -> "Pose":
        """Return the pose that undoes this one."""
        return Pose(self.turn.T, -self.turn.T @ self.shift)


def pose(x_axis: ArrayLike, y_axis: ArrayLike, origin: ArrayLike) -> Pose:
    """Return the pose whose own x and y run along the given directions (unit, square to each other) from `origin` mm.

    Raises:
        ValueError: if the directions are not of unit length and square to each other.
    """
    (a, b, c), (d, e, f) = (np.asarray(v, dtype=float).tolist() for v in (x_axis, y_axis))
    if (
        abs(a * a + b * b + c * c - 1) > 1e-9
        or abs(d * d + e * e + f * f - 1) > 1e-9
        or abs(a * d + b * e + c * f) > 1e-9
    ):
        raise ValueError("the axes of a pose must be of unit length and square to each other")
    turn = np.array([[a, d, b * f - c * e], [b, e, c * d - a * f], [c, f, a * e - b * d]])
    return Pose(turn, np.asarray(origin, dtype=float))


def cross(a: ArrayLike, b: ArrayLike) -> Vector:
    """Return the cross product (3,) of two vectors; numpy's own is made for stacks of them and slow on single ones."""
    (u, v, w), (x, y, z) = np.asarray(a, dtype=float).tolist(), np.asarray(b, dtype=float).tolist()
    return np.array([v * z - w * y, w * x - u * z, u * y - v * x])


def shifted(x: float = 0.0, y: float = 0.0, z: float = 0.0) -> Pose:
    """Return a pose that only shifts (mm)."""
    return Pose(np.eye(3), np.array([x, y, z], dtype=float))


def turned(axis: str, angle: float, origin: Sequence[float] = (0.0, 0.0, 0.0)) -> Pose:
    """Return a turn by `angle` degrees about the axis "x", "y" or "z", then a shift to `origin` mm."""
    # Quarter turns are by far the most common: kept exact, so that square things stay square to the last digit.
    c, s = (
        [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)][int(angle // 90) % 4]
        if angle % 90 == 0
        else (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    )
    matrix = {
        "x": [[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]],
        "y": [[c, 0.0, s], [0.0, 1.0, 0.0], [-s, 0.0, c]],
        "z": [[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]],
    }[axis]
    return Pose(np.array(matrix), np.array(origin, dtype=float))
