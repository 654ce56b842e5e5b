"""Laying one set of points on another: rotation and shift by least squares."""

import numpy as np
from numpy.typing import NDArray


def rigid_fit(
    points: NDArray[np.float64], onto: NDArray[np.float64], *, mirror: bool = False
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the rotation (d, d) and shift (d,) that lay points on their partners best: turn @ point + shift.

    The method is Kabsch's (1976) by singular values. The rotation is proper: a mirror image is never used to make the
    fit look good, unless `mirror` asks for exactly that.

    Args:
        points: (n, d) mm.
        onto: (n, d) mm, in the same order.
        mirror: return the best reflection instead of the best rotation.

    Raises:
        ValueError: if the sets do not have the same shape or hold no point.
    """
    p, q = np.asarray(points, dtype=float), np.asarray(onto, dtype=float)
    if p.shape != q.shape or p.ndim != 2 or not len(p):
        raise ValueError(f"two sets of points must have the same shape, not {p.shape} and {q.shape}")
    middle_p, middle_q = p.mean(axis=0), q.mean(axis=0)
    u, _, vt = np.linalg.svd((q - middle_q).T @ (p - middle_p))
    hand = np.sign(np.linalg.det(u @ vt)) * (-1.0 if mirror else 1.0)
    u[:, -1] *= hand
    turn: NDArray[np.float64] = u @ vt
    shift: NDArray[np.float64] = middle_q - turn @ middle_p
    return turn, shift
