"""How far triangles reach into a block."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_EDGES = [(i, i | bit) for i in range(8) for bit in (1, 2, 4) if not i & bit]


def depth(corners: Array, half: Array) -> Array:
    """Return (m,) mm: how deep each triangle reaches into a block, the shortest way out through one of its faces.

    What a triangle shares with a block is a flat polygon whose corners lie on the triangle's edges or on the block's,
    so the deepest of those is the depth behind each face, and the least of six faces is the way out. For a cylinder
    its enclosing block is meant: the depth is then an upper bound.

    Args:
        corners: (3 m, 3) mm in the block's frame, its origin in the middle.
        half: (3,) mm half lengths.
    """
    tri = corners.reshape(-1, 3, 3)
    m = len(tri)
    places, there = np.zeros((m, 18, 3)), np.zeros((m, 18), dtype=bool)
    for k in range(3):
        a, d = tri[:, k], tri[:, (k + 1) % 3] - tri[:, k]
        with np.errstate(divide="ignore", invalid="ignore"):
            t0, t1 = (-half - a) / d, (half - a) / d
        still = np.abs(d) < 1e-12
        within = np.abs(a) <= half
        first = np.where(still, np.where(within, -np.inf, np.inf), np.minimum(t0, t1)).max(axis=1)
        last = np.where(still, np.where(within, np.inf, -np.inf), np.maximum(t0, t1)).min(axis=1)
        first, last = np.maximum(first, 0.0), np.minimum(last, 1.0)
        ok = first <= last
        for i, t in ((2 * k, first), (2 * k + 1, last)):
            places[:, i] = a + np.where(ok, t, 0.0)[:, None] * d
            there[:, i] = ok
    normal = np.cross(tri[:, 1] - tri[:, 0], tri[:, 2] - tri[:, 0])
    signs = np.array([[2 * (i >> k & 1) - 1 for k in range(3)] for i in range(8)], dtype=float)
    for i, (p, q) in enumerate(_EDGES):
        start, step = signs[p] * half, (signs[q] - signs[p]) * half
        slope = normal @ step
        with np.errstate(divide="ignore", invalid="ignore"):
            t = np.einsum("mx,mx->m", normal, tri[:, 0] - start) / slope
        ok = (np.abs(slope) > 1e-12) & (t >= 0) & (t <= 1)
        at = start + np.where(ok, t, 0.0)[:, None] * step
        for k in range(3):
            edge = tri[:, (k + 1) % 3] - tri[:, k]
            ok &= np.einsum("mx,mx->m", np.cross(edge, at - tri[:, k]), normal) >= -1e-9
        places[:, 6 + i], there[:, 6 + i] = at, ok
    behind = np.concatenate([half - places, half + places], axis=2)
    deepest = np.where(there[:, :, None], behind, 0.0).max(axis=1)
    out: Array = np.clip(deepest, 0.0, None).min(axis=1)
    return out
