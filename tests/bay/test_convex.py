"""Distances of convex bodies against a plain search over both bodies' points, and against what is known by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright.bay.convex import hulls, nearest, shapes
from baywright.piece.solid import Block, Round
from baywright.shape.pose import Pose, shifted, turned

ONE = np.array([0])


def random_pose(rng: np.random.Generator) -> Pose:
    turn = (
        turned("z", rng.uniform(0, 360)).after(turned("x", rng.uniform(0, 360))).after(turned("y", rng.uniform(0, 360)))
    )
    return Pose(turn.turn, rng.uniform(-800, 800, 3))


def to_triangle(point: np.ndarray, corner: np.ndarray) -> float:
    """Return the distance of a point to a triangle, the plain way: its plane, else its edges."""
    a, b, c = corner
    n = np.cross(b - a, c - a)
    foot = point - ((point - a) @ n) / (n @ n) * n
    if all(np.cross(q - p, foot - p) @ n >= 0 for p, q in ((a, b), (b, c), (c, a))):
        return float(np.linalg.norm(point - foot))
    best = np.inf
    for p, q in ((a, b), (b, c), (c, a)):
        t = np.clip((point - p) @ (q - p) / ((q - p) @ (q - p)), 0, 1)
        best = min(best, float(np.linalg.norm(point - p - t * (q - p))))
    return best


@given(st.integers(0, 10_000))
def test_nearest_points_lie_on_the_bodies_and_nothing_is_nearer(seed):
    rng = np.random.default_rng(seed)
    pose = random_pose(rng)
    size = rng.uniform(5, 200, 3)
    block = Block(-size / 2, size / 2)
    bodies = [block, Round(np.array([0, 0, -size[2] / 2]), np.array([0, 0, 1.0]), size[2], size[0])]
    corner = pose(rng.uniform(-400, 400, 3) + rng.normal(0, 60, (3, 3)))
    for i in (0, 1):
        distance, on_body, on_triangle = nearest(shapes(bodies, pose), ONE + i, hulls(corner[None]), ONE)
        if distance[0] == 0:
            assert np.allclose(on_body, on_triangle)
            continue
        assert np.linalg.norm(on_triangle - on_body) == pytest.approx(distance[0], abs=1e-9)
        own = pose.inverse()(on_body[0])
        over = np.hypot(own[0], own[1]) - size[0] / 2 if i else np.abs(own[:2]) - size[:2] / 2
        assert np.max(over) < 1e-6
        assert abs(own[2]) <= size[2] / 2 + 1e-6
        assert to_triangle(on_triangle[0], corner) < 1e-6
        # The plane across the shortest way parts the two bodies: that alone proves that nothing is nearer.
        way = (on_triangle[0] - on_body[0]) / distance[0]
        reach = shapes(bodies, pose).farthest(ONE + i, way[None])[0] @ way
        assert (corner @ way).min() - reach == pytest.approx(distance[0], abs=2e-4)


def test_points_and_flat_triangles_are_bodies_too():
    block = shapes([Block(np.zeros(3), np.array([10.0, 10, 10]))], shifted())
    spots = np.array([[15.0, 5, 5], [13, 14, 5], [5, 5, 5]])
    distance, _, _ = nearest(block, np.zeros(3, dtype=int), hulls(np.repeat(spots[:, None], 3, axis=1)), np.arange(3))
    assert distance.tolist() == pytest.approx([5, 5, 0], abs=1e-5)


def test_a_far_place_costs_no_digits():
    far = 1e6
    block = shapes([Block(np.full(3, far), np.full(3, far + 10))], shifted())
    corner = np.array([[[far + 13, far, far], [far + 13, far + 10, far], [far + 13, far, far + 10]]])
    assert nearest(block, ONE, hulls(corner), ONE)[0][0] == pytest.approx(3, abs=1e-6)
