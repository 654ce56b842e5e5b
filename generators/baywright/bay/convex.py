"""Distances between convex bodies, many pairs at once: blocks, cylinders, hulls of points, triangles, single points.

The method is that of Gilbert, Johnson and Keerthi (A fast procedure for computing the distance between complex objects
in three-dimensional space, IEEE J. Robotics and Automation 4, 1988): a simplex of the bodies' difference walks to the
point nearest to the origin. Its length bounds the distance from above, the last plane reached bounds it from below;
a pair is done when the two meet within `TOLERANCE`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.piece.solid import Block, Body
from baywright.shape.pose import Pose

Array = NDArray[np.float64]
Index = NDArray[np.int64]

TOLERANCE = 1e-5  # mm between the two bounds: far below any scan or tape
_MOST_STEPS = 200
_EDGES = np.array([(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)])
_SIDES = np.array([(0, 1, 2), (0, 1, 3), (0, 2, 3), (1, 2, 3)])
_CORNERS = np.array([[i & 1, i >> 1 & 1, i >> 2 & 1] for i in range(8)], dtype=float)


@dataclass(frozen=True, eq=False)
class Shapes:
    """n convex bodies: each the hull of k points, swept by a disc across `axis` where `radius` is not 0.

    Attributes:
        points: (n, k, 3) mm; a body of fewer points repeats one.
        axis: (n, 3) unit vectors; of use only where `radius` is not 0.
        radius: (n,) mm: a cylinder is its two end centres and its radius.
    """

    points: Array
    axis: Array
    radius: Array

    def __len__(self) -> int:
        return len(self.points)

    def farthest(self, which: Index, along: Array) -> Array:
        """Return the farthest points (m, 3) of bodies `which` (m,) along directions (m, 3)."""
        points = self.points[which]
        best = np.einsum("mkc,mc->mk", points, along).argmax(axis=1)
        out: Array = points[np.arange(len(which)), best]
        radius = self.radius[which]
        if radius.any():
            axis = self.axis[which]
            flat = along - np.einsum("mc,mc->m", along, axis)[:, None] * axis
            length = np.linalg.norm(flat, axis=1)
            out = out + flat * (radius / np.maximum(length, 1e-300))[:, None]
        return out


def hulls(points: Array) -> Shapes:
    """Return the hulls of points (n, k, 3) mm: triangles for k = 3, single points for k = 1."""
    n = len(points)
    return Shapes(np.asarray(points, dtype=float), np.zeros((n, 3)), np.zeros(n))


def shapes(bodies: Sequence[Body], pose: Pose) -> Shapes:
    """Return blocks and cylinders as they stand after `pose`, exactly: blocks may stand askew."""
    points, axes, radii = np.zeros((len(bodies), 8, 3)), np.zeros((len(bodies), 3)), np.zeros(len(bodies))
    for i, body in enumerate(bodies):
        if isinstance(body, Block):
            points[i] = body.low + _CORNERS * (body.high - body.low)
        else:
            points[i, :4], points[i, 4:] = body.start, body.start + body.axis * body.length
            axes[i], radii[i] = body.axis, body.diameter / 2
    return Shapes(pose(points.reshape(-1, 3)).reshape(points.shape), pose.direction(axes), radii)


def nearest(first: Shapes, i: Index, second: Shapes, j: Index) -> tuple[Array, Array, Array]:
    """Return for each pair (first[i], second[j]) the distance (m,) mm and the nearest points (m, 3) of both.

    Bodies that share space or touch have the distance 0 and one point in common for both.
    """
    m = len(i)
    middle = first.points[i].mean(axis=1)
    # Around the pair's own origin, so that a place far from the car's costs no digits.
    along = second.points[j].mean(axis=1) - middle
    along[np.einsum("mc,mc->m", along, along) < 1e-12] = (1.0, 0.0, 0.0)
    a = np.repeat((first.farthest(i, along) - middle)[:, None], 4, axis=1)
    b = np.repeat((second.farthest(j, -along) - middle)[:, None], 4, axis=1)
    distance, on_a, on_b = np.zeros(m), np.zeros((m, 3)), np.zeros((m, 3))
    open_, floor = np.arange(m), np.zeros(m)
    for _ in range(_MOST_STEPS):
        v, weight, inside = _to_origin(a[open_] - b[open_])
        length = np.linalg.norm(v, axis=1)
        on_a[open_] = np.einsum("mk,mkc->mc", weight, a[open_])
        on_b[open_] = np.einsum("mk,mkc->mc", weight, b[open_])
        meets = inside | (length < TOLERANCE / 10)
        distance[open_] = np.where(meets, 0.0, length)
        p = first.farthest(i[open_], -v) - middle[open_]
        q = second.farthest(j[open_], v) - middle[open_]
        reach = np.einsum("mc,mc->m", v, p - q) / np.maximum(length, 1e-300)
        floor[open_] = np.maximum(floor[open_], reach)
        go = ~meets & (length - floor[open_] > TOLERANCE)
        slot = weight[go].argmin(axis=1)
        open_ = open_[go]
        if not len(open_):
            break
        a[open_, slot], b[open_, slot] = p[go], q[go]
    shared = distance == 0.0
    on_b[shared] = on_a[shared]
    return distance, on_a + middle, on_b + middle


def _to_origin(simplex: Array) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Return of tetrahedra (m, 4, 3), flat ones too, the points nearest to the origin, their weights, who holds it.

    The nearest point is the best of those on six edges, four sides and, where the origin is inside, the origin itself.
    """
    m = len(simplex)
    weight = np.zeros((m, 11, 4))
    # Edges, their ends included.
    start, end = simplex[:, _EDGES[:, 0]], simplex[:, _EDGES[:, 1]]
    step = end - start
    square = np.einsum("mec,mec->me", step, step)
    t = np.clip(-np.einsum("mec,mec->me", start, step) / np.maximum(square, 1e-300), 0.0, 1.0)
    rows = np.arange(6)
    weight[:, rows, _EDGES[:, 0]], weight[:, rows, _EDGES[:, 1]] = 1 - t, t
    # Sides, where the foot lies within them.
    p, q, r = (simplex[:, _SIDES[:, k]] for k in range(3))
    normal = np.cross(q - p, r - p)
    square = np.einsum("msc,msc->ms", normal, normal)
    scale = np.maximum(np.einsum("msc,msc->ms", q - p, q - p), np.einsum("msc,msc->ms", r - p, r - p))
    flat = square <= 1e-20 * scale**2
    safe = np.where(flat, 1.0, square)
    u = np.einsum("msc,msc->ms", normal, np.cross(q, r)) / safe
    v = np.einsum("msc,msc->ms", normal, np.cross(r, p)) / safe
    w = 1.0 - u - v
    within = ~flat & (u >= 0) & (v >= 0) & (w >= 0)
    for k, share in enumerate((u, v, w)):
        weight[:, 6 + np.arange(4), _SIDES[:, k]] = np.where(within, share, 0.0)
    # The inside.
    edge = simplex[:, 1:] - simplex[:, :1]
    volume = np.einsum("mc,mc->m", edge[:, 0], np.cross(edge[:, 1], edge[:, 2]))
    solid = np.abs(volume) > 1e-12 * np.linalg.norm(edge, axis=2).max(axis=1) ** 3
    share = (
        np.stack(
            [
                -np.einsum("mc,mc->m", simplex[:, 0], np.cross(edge[:, (k + 1) % 3], edge[:, (k + 2) % 3]))
                for k in range(3)
            ],
            axis=1,
        )
        / np.where(solid, volume, 1.0)[:, None]
    )
    inside = solid & (share >= 0).all(axis=1) & (share.sum(axis=1) <= 1)
    weight[:, 10, 1:], weight[:, 10, 0] = share, 1 - share.sum(axis=1)
    at = weight @ simplex
    length = np.einsum("mwc,mwc->mw", at, at)
    length[:, 6:10][~within] = np.inf
    length[:, 10] = np.where(inside, -1.0, np.inf)
    best = length.argmin(axis=1)
    n = np.arange(m)
    return at[n, best], weight[n, best], inside
