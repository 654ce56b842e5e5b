"""Mass properties against a triangle mesh, a CAD kernel's solids, and what mechanics says must hold."""

import math

import cadquery as cq
import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from baywright.shape.loop import circle, loop_of, rectangle, slot
from baywright.shape.mass import KG_PER_MM3, NOTHING, MassProperties, block, combine, point_mass, prism
from baywright.shape.pose import Pose
from baywright.shape.profile import profile

NUMBERS = st.floats(-500, 500)
POINTS = st.tuples(NUMBERS, NUMBERS, NUMBERS)


@st.composite
def poses(draw):
    """Return a pose turned any way."""
    angles = [draw(st.floats(-180, 180)) for _ in range(3)]
    return Pose(Rotation.from_euler("xyz", angles, degrees=True).as_matrix(), np.array(draw(POINTS)))


@st.composite
def stars(draw):
    """Return a straight-edged star-shaped polygon (n, 2) round a point, and that point."""
    count = draw(st.integers(3, 9))
    share = np.array(draw(st.lists(st.floats(0.4, 1.0), min_size=count, max_size=count)))
    angle = 2 * np.pi * np.cumsum(share) / share.sum()
    radius = np.array(draw(st.lists(st.floats(20, 200), min_size=count, max_size=count)))
    at = np.array([draw(NUMBERS), draw(NUMBERS)])
    return at + np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]), at


@st.composite
def bodies(draw):
    """Return the mass properties of some real body: an odd prism, turned and shifted any way."""
    points, _ = draw(stars())
    low, tall, rho = draw(NUMBERS), draw(st.floats(1, 300)), draw(st.floats(20, 9000))
    return prism(profile(loop_of(points.tolist())), low, low + tall, rho).moved(draw(poses()))


def close(one: MassProperties, two: MassProperties, rel: float = 1e-7) -> None:
    """Check that two mass properties agree, to a share of the body's own size."""
    mass = max(abs(one.mass), 1e-12)
    reach = math.sqrt(max(float(np.trace(one.inertia)) / mass, 1e-6)) + np.abs(one.centroid).max()
    assert two.mass == pytest.approx(one.mass, rel=rel)
    assert two.centroid == pytest.approx(one.centroid, abs=rel * reach)
    assert two.inertia == pytest.approx(one.inertia, abs=rel * mass * reach**2)


# --- one body against other tools -----------------------------------------------------------------------------------


def extruded(points, at, low, high):
    """Return a watertight mesh of a star-shaped polygon drawn out from low to high: fans, and two triangles a side."""
    n = len(points)
    ring = np.arange(n)
    after = (ring + 1) % n
    vertices = np.vstack(
        [np.column_stack([np.vstack([points, at]), np.full(n + 1, z)]) for z in (low, high)]
    )  # 0…n-1 and n the middle below, then the same above
    up = n + 1
    faces = np.vstack(
        [
            np.column_stack([after, ring, np.full(n, n)]),
            np.column_stack([ring + up, after + up, np.full(n, n + up)]),
            np.column_stack([ring, after, after + up]),
            np.column_stack([ring, after + up, ring + up]),
        ]
    )
    return trimesh.Trimesh(vertices, faces, process=False)


@given(stars(), NUMBERS, st.floats(0.5, 400), st.floats(20, 9000))
def test_prism_agrees_with_a_watertight_mesh(star, low, tall, density):
    points, at = star
    mesh = extruded(points, at, low, low + tall)
    assert mesh.is_watertight
    mesh.density = density * KG_PER_MM3
    found = prism(profile(loop_of(points.tolist())), low, low + tall, density)
    close(found, MassProperties(mesh.mass, mesh.center_mass, mesh.moment_inertia))


def shape_of(loop, low, high):
    """Return a CAD solid of a loop drawn out: straight edges, and arcs through their crown."""
    plane = cq.Workplane("XY").workplane(offset=low).moveTo(*loop[0, :2])
    for (x0, y0, bulge), (x1, y1, _) in zip(loop.tolist(), np.roll(loop, -1, axis=0).tolist(), strict=True):
        crown = ((x0 + x1) / 2 + bulge / 2 * (y1 - y0), (y0 + y1) / 2 - bulge / 2 * (x1 - x0))
        plane = plane.threePointArc(crown, (x1, y1)) if bulge else plane.lineTo(x1, y1)
    return plane.wire().extrude(high - low).val()


ARCHED = loop_of([(0, 0, 0), (90, 0, 0.3), (120, 50, -0.2), (60, 40, 0), (40, 90, 1.4), (0, 80, 0.05)])


@pytest.mark.parametrize(
    ("outer", "holes"),
    [
        (ARCHED, ()),
        (rectangle(-80, -30, 100, 60, 10), (circle(20, 10, 25), slot(-40, 20, 8, 30, 25))),
        (circle(35, -70, 210), (circle(35, -70, 150), circle(120, -70, 9))),
    ],
    ids=["arches", "rounded rectangle", "ring"],
)
def test_prism_agrees_with_the_kernels_solid(solid_mass, outer, holes):
    solid = shape_of(outer, 12, 20)
    for hole in holes:
        solid = solid.cut(shape_of(hole, 0, 40))
    volume, centroid, inertia = solid_mass(solid)
    rho = 2700 * KG_PER_MM3
    close(prism(profile(outer, holes), 12, 20, 2700), MassProperties(volume * rho, centroid, inertia * rho))


def test_block_and_cylinder_by_their_textbook_forms():
    # m (b² + c²) / 12 for a block; m r² / 2 and m (3 r² + h²) / 12 for a cylinder.
    found = block(12, (0, 10, 20), (30, 50, 80))
    assert found.centroid == pytest.approx([15, 30, 50])
    assert found.inertia == pytest.approx(np.diag([40**2 + 60**2, 30**2 + 60**2, 30**2 + 40**2]))
    close(found, prism(profile(rectangle(0, 10, 30, 50)), 20, 80, 12 / (30 * 40 * 60) / KG_PER_MM3))
    rod = prism(profile(circle(0, 0, 40)), 0, 100, 7850)
    m = 7850e-9 * math.pi * 400 * 100
    assert rod.mass == pytest.approx(m)
    assert rod.centroid == pytest.approx([0, 0, 50])
    assert rod.inertia == pytest.approx(np.diag([m * (1200 + 10000) / 12, m * (1200 + 10000) / 12, m * 200]))


def test_products_of_inertia_carry_a_minus_sign():
    # Two masses at (1, 1, 0) and (-1, -1, 0): the tensor's xy is -(1 + 1).
    both = combine([point_mass(1, (1, 1, 0)), point_mass(1, (-1, -1, 0))])
    assert both.inertia == pytest.approx(np.array([[2, -2, 0], [-2, 2, 0], [0, 0, 4]]))


# --- what must hold for every body ----------------------------------------------------------------------------------


@given(bodies())
def test_a_real_body_is_physically_possible(body):
    assert body.inertia == pytest.approx(body.inertia.T, rel=1e-9, abs=1e-9 * np.trace(body.inertia))
    a, b, c = np.linalg.eigvalsh(body.inertia)
    assert body.mass > 0
    assert a > 0
    assert a + b >= c * (1 - 1e-9)  # the two smaller principal moments are no less than the largest


@given(bodies(), poses())
def test_moving_keeps_mass_and_principal_moments(body, there):
    moved = body.moved(there)
    assert moved.mass == body.mass
    assert moved.centroid == pytest.approx(there(body.centroid))
    assert np.linalg.eigvalsh(moved.inertia) == pytest.approx(np.linalg.eigvalsh(body.inertia), rel=1e-6)
    close(body, moved.moved(there.inverse()))


@given(bodies(), POINTS)
def test_parallel_axis(body, point):
    # Steiner: what a point mass at the centroid has about the point, on top of the body's own.
    d = body.centroid - point
    about = body.about(np.array(point))
    assert about == pytest.approx(body.inertia + body.mass * (d @ d * np.eye(3) - np.outer(d, d)))
    assert np.trace(about) >= np.trace(body.inertia) * (1 - 1e-12)  # least about the centroid
    assert body.about(body.centroid) == pytest.approx(body.inertia)


@given(st.lists(bodies(), min_size=1, max_size=6), st.randoms(use_true_random=False))
def test_adding_in_any_order_and_in_any_groups(parts, chance):
    whole = combine(parts)
    mixed = list(parts)
    chance.shuffle(mixed)
    close(whole, combine(mixed))
    cut = chance.randint(0, len(parts))
    close(whole, combine([combine(mixed[:cut]), combine(mixed[cut:])]))
    # About the origin, inertias simply add.
    zero = np.zeros(3)
    assert whole.about(zero) == pytest.approx(np.sum([p.about(zero) for p in parts], axis=0), rel=1e-7)


@given(st.lists(bodies(), min_size=1, max_size=4), poses())
def test_moving_the_whole_is_moving_each_part(parts, there):
    close(combine(parts).moved(there), combine(p.moved(there) for p in parts))


@given(st.lists(bodies(), min_size=1, max_size=4), bodies())
def test_taking_out_what_was_put_in(parts, extra):
    whole = combine(parts)
    scale = (whole.mass + extra.mass) / whole.mass  # digits lost to a much heavier guest
    back = combine([*parts, extra, extra.times(-1)])
    close(whole, back, rel=1e-6 * scale)


def test_a_hole_is_a_part_of_negative_mass():
    plate = prism(profile(rectangle(0, 0, 100, 60)), 0, 5, 2700)
    plug = prism(profile(circle(30, 20, 20)), 0, 5, 2700)
    assert plug.times(-1).mass == -plug.mass
    close(prism(profile(rectangle(0, 0, 100, 60), [circle(30, 20, 20)]), 0, 5, 2700), combine([plate, plug.times(-1)]))


@given(bodies(), st.lists(POINTS, min_size=1, max_size=6))
def test_copies_are_the_body_shifted_to_each_point(body, points):
    close(
        combine(body.moved(Pose(np.eye(3), np.array(p))) for p in points),
        body.copies(np.array(points)),
    )


# --- nothing, and no centroid ---------------------------------------------------------------------------------------


def test_nothing_adds_nothing():
    assert combine([]) is NOTHING
    assert combine([]).mass == 0
    part = block(3, (0, 0, 0), (10, 20, 30))
    close(part, combine([NOTHING, part, NOTHING]))
    assert combine([NOTHING, NOTHING]).mass == 0


def test_a_body_less_itself_is_nothing():
    part = block(3, (0, 0, 0), (10, 20, 30))
    assert combine([part, part.times(-1)]).mass == 0


@pytest.mark.parametrize(("mass", "apart"), [(2, 10), (1e-3, 0.1)])
def test_masses_that_cancel_apart_are_refused(mass, apart):
    with pytest.raises(ValueError, match="no centroid"):
        combine([point_mass(mass, (0, 0, 0)), point_mass(-mass, (apart, 0, 0))])


@given(bodies())
def test_twice_the_density_is_the_body_twice_in_one_place(body):
    close(combine([body, body]), body.times(2))
    close(body.copies(np.zeros((2, 3))), body.times(2))
