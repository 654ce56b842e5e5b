"""Distances, places and alignment against outside libraries and against geometry that is known exactly.

Held against: trimesh (closest points on triangles), python-fcl (distances of a box to a mesh), scipy (alignment of
point sets after Kabsch 1976, and a minimiser for cylinders), and gaps that follow from the definitions of box, cylinder
and sphere. Nothing here is from memory.
"""

import numpy as np
import pytest

from baywright.bay.align import aligned
from baywright.bay.convex import hulls, nearest, shapes
from baywright.bay.gaps import least_distance, least_gaps
from baywright.bay.skin import Skin, of_bay
from baywright.bay.travel import travels
from baywright.job.scans import Reference
from baywright.piece.solid import Block, Round
from baywright.shape.pose import Pose, shifted, turned

trimesh = pytest.importorskip("trimesh")

CASE = Block(np.array([-100.0, -60, -40]), np.array([100.0, 60, 40]))


def skin_of(mesh) -> Skin:
    return Skin(np.asarray(mesh.vertices, dtype=float), np.asarray(mesh.faces, dtype=np.int64))


def askew(rng: np.random.Generator) -> Pose:
    turn = (
        turned("z", rng.uniform(0, 360)).after(turned("x", rng.uniform(0, 360))).after(turned("y", rng.uniform(0, 360)))
    )
    return Pose(turn.turn, rng.uniform(-60, 60, 3))


def test_points_to_triangles_as_trimesh_has_them():
    rng = np.random.default_rng(1)
    corner = rng.uniform(-200, 200, (400, 3, 3))
    spots = rng.uniform(-400, 400, (400, 3))
    theirs = np.linalg.norm(trimesh.triangles.closest_point(corner, spots) - spots, axis=1)
    n = np.arange(400)
    ours, _, on_triangle = nearest(hulls(spots[:, None]), n, hulls(corner), n)
    assert np.abs(ours - theirs).max() < 2e-5
    assert np.abs(np.linalg.norm(on_triangle - spots, axis=1) - theirs).max() < 2e-5


def test_a_box_to_a_mesh_as_fcl_has_it():
    fcl = pytest.importorskip("fcl")
    rng = np.random.default_rng(2)
    sphere = trimesh.creation.icosphere(3, radius=150)
    sphere.apply_transform(trimesh.transformations.translation_matrix([320, 40, -30]))
    model = fcl.BVHModel()
    model.beginModel(len(sphere.vertices), len(sphere.faces))
    model.addSubModel(sphere.vertices, sphere.faces)
    model.endModel()
    skin = skin_of(sphere)
    for _ in range(25):
        pose = askew(rng)
        theirs = fcl.distance(
            fcl.CollisionObject(fcl.Box(*(CASE.high - CASE.low)), fcl.Transform(pose.turn, pose.shift)),
            fcl.CollisionObject(model, fcl.Transform()),
            fcl.DistanceRequest(),
            fcl.DistanceResult(),
        )
        ours = least_distance([("case", CASE)], pose, skin, 500.0)
        assert ours == pytest.approx(max(theirs, 0.0), abs=1e-4)


def test_a_cylinder_to_a_triangle_as_a_minimiser_has_it():
    from scipy.optimize import minimize

    rng = np.random.default_rng(3)
    peg = Round(np.array([0, 0, -40.0]), np.array([0, 0, 1.0]), 80.0, 50.0)
    for _ in range(25):
        corner = rng.uniform(-150, 150, (3, 3)) + rng.choice([-150, 150]) * np.array([1, 0.5, 0.2])

        def away(weight, corner=corner):
            at = weight[0] * corner[0] + weight[1] * corner[1] + (1 - weight.sum()) * corner[2]
            return np.hypot(max(np.hypot(at[0], at[1]) - 25, 0), max(abs(at[2]) - 40, 0))

        inside = {"type": "ineq", "fun": lambda w: 1 - w.sum()}
        best = min(
            minimize(
                away, start, method="SLSQP", bounds=[(0, 1)] * 2, constraints=[inside], options={"ftol": 1e-12}
            ).fun
            for start in np.eye(3)[:, :2] * 0.8 + 0.1
        )
        ours = nearest(shapes([peg], shifted()), np.array([0]), hulls(corner[None]), np.array([0]))[0][0]
        assert ours <= best + 1e-4  # a minimiser may stop short of the least, never below it
        assert ours == pytest.approx(best, abs=0.05)


def test_box_in_box():
    from baywright.bay.envelope import Bay, cuboid

    skin = of_bay(Bay(name="b", spaces=(cuboid("b", (-113, -67, -45), (120, 80, 60)),)), open_top=False)
    assert least_distance([("case", CASE)], shifted(), skin) == pytest.approx(5, abs=1e-4)
    ways = {t.side: t.way for t in travels([("case", CASE)], shifted(), skin)}
    assert ways == pytest.approx({"front": 13, "rear": 20, "left": 7, "right": 20, "above": 20, "below": 5}, abs=2e-3)


def test_box_to_sphere_and_to_cylinder():
    """From a box's face to a ball: centre's distance less the radius, to the mesh's own sagitta; a peg is exact."""
    ball = trimesh.creation.icosphere(5, radius=50)
    sagitta = 50 - np.linalg.norm(ball.triangles_center, axis=1).min()
    ball.apply_transform(trimesh.transformations.translation_matrix([230, 0, 0]))
    found = least_gaps([("case", CASE)], shifted(), skin_of(ball)).least
    assert 80 - 1e-9 <= found.distance <= 80 + sagitta
    corner = trimesh.creation.icosphere(5, radius=50)
    corner.apply_transform(trimesh.transformations.translation_matrix([160, 140, 120]))
    off = np.linalg.norm([60, 80, 80]) - 50
    found = least_gaps([("case", CASE)], shifted(), skin_of(corner)).least
    assert off - 1e-4 <= found.distance <= off + sagitta
    wall = Skin(np.array([[200.0, -500, -500], [200, 500, -500], [200, 0, 900]]), np.array([[0, 1, 2]]))
    for turn, reach in (
        (turned("y", 0), 25.0),
        (turned("y", 90), 60.0),
        (turned("y", 30), 25 * np.cos(np.pi / 6) + 30),
    ):
        peg = Round(np.array([0, 0, -60.0]), np.array([0, 0, 1.0]), 120.0, 50.0)
        # Leaning by a about y, a peg of radius r and half length h reaches r cos a + h sin a.
        assert least_distance([("peg", peg)], turn, wall, 300) == pytest.approx(200 - reach, abs=1e-4)


def test_alignment_as_scipy_has_it():
    from scipy.spatial.transform import Rotation

    rng = np.random.default_rng(4)
    for _ in range(10):
        car = rng.uniform(-600, 600, (6, 3))
        turn = Rotation.random(random_state=int(rng.integers(1000)))
        scan = turn.apply(car) + rng.uniform(-900, 900, 3) + rng.normal(0, 1.5, (6, 3))
        points = [
            Reference.model_validate({"name": str(i), "scan": s.tolist(), "car": c.tolist()})
            for i, (s, c) in enumerate(zip(scan, car, strict=True))
        ]
        ours = aligned(points, 1.0, 1.0)
        theirs, rssd = Rotation.align_vectors(car - car.mean(axis=0), scan - scan.mean(axis=0))
        assert np.abs(ours.pose.turn - theirs.as_matrix()).max() < 1e-9
        assert np.sqrt((ours.off**2).sum()) == pytest.approx(rssd, rel=1e-9)
