"""Mass and inertia of a set of rails against meshes: trimesh's own integrals over solids with their holes cut out."""

import numpy as np
import pytest
import trimesh
from shapely.geometry import Polygon

from baywright.piece.extrusion import Extrusion
from baywright.piece.plate import Plate
from baywright.shape.loop import counter_clockwise, polygon


def flat(loop, sagitta=0.002):
    return Polygon(polygon(counter_clockwise(loop), sagitta))


def solid(piece):
    """A mesh of a plate or an extrusion, holes cut out."""
    if isinstance(piece, Plate):
        shape = flat(piece.outline)
        for hole in piece.holes:
            shape = shape.difference(flat(hole.loop))
        return trimesh.creation.extrude_polygon(shape, piece.thickness)
    profile = piece.stock.profile
    section = Polygon(profile.outer[:, :2], [h[:, :2] for h in profile.holes])
    body = trimesh.creation.extrude_polygon(section, piece.length)
    faces = piece.faces()
    drills = []
    for hole in piece.holes:
        stands = np.eye(4)
        stands[:3, :3], stands[:3, 3] = faces[hole.face].pose.turn, faces[hole.face].pose.shift
        drill = trimesh.creation.extrude_polygon(flat(hole.loop), hole.depth + 1.0)
        drill.apply_translation([0, 0, -hole.depth])
        drill.apply_transform(stands)
        drills.append(drill)
    return body.difference(trimesh.boolean.union(drills)) if drills else body


@pytest.mark.parametrize("mark", ["rail left", "cleat 1 left", "foot rear-left", "plate rear-left", "foot front-left"])
def test_piece_against_its_mesh(demo, mark):
    piece = demo.assembly.by_mark[mark].piece
    mesh = solid(piece)
    assert mesh.is_watertight
    density = piece.stock.density if isinstance(piece, Extrusion) else piece.density
    mesh.density = density * 1e-9
    own = piece.mass_properties()
    assert own.mass == pytest.approx(mesh.mass, rel=2e-4)
    assert own.centroid == pytest.approx(mesh.center_mass, abs=0.05)
    assert np.allclose(own.inertia, mesh.moment_inertia, rtol=5e-4, atol=5e-4 * np.abs(own.inertia).max())


def test_the_whole_against_meshes_and_bought_things(demo):
    """Made pieces from meshes, bought ones at their stated mass: the assembly's mass and centroid."""
    mass, moment = 0.0, np.zeros(3)
    for item in [*demo.assembly.placed, *demo.assembly.fasteners()]:
        piece = item.piece
        if isinstance(piece, Plate | Extrusion):
            density = piece.stock.density if isinstance(piece, Extrusion) else piece.density
            mesh = solid(piece)
            m, c = mesh.volume * density * 1e-9, item.pose(mesh.center_mass)
        else:
            own = piece.mass_properties().moved(item.pose)
            m, c = own.mass, own.centroid
        mass, moment = mass + m, moment + m * c
    total = demo.assembly.mass_properties
    assert total.mass == pytest.approx(mass, rel=2e-4)
    assert total.centroid == pytest.approx(moment / mass, abs=0.05)


def test_the_motor_is_a_cylinder_about_the_shaft(demo):
    """Not the block round its lugs: against trimesh's own cylinder."""
    m = demo.given.motor
    mesh = trimesh.creation.cylinder(radius=m.diameter / 2, height=m.length, sections=720)
    mesh.density = m.mass / mesh.volume
    ((_, front),) = demo.motors
    own = demo.motor
    assert own.mass == pytest.approx(m.mass)
    assert own.centroid == pytest.approx([front + m.centre[0], 0, 0])
    turned = mesh.moment_inertia[np.ix_([2, 0, 1], [2, 0, 1])]  # trimesh's cylinder lies along z, the shaft along x
    assert np.allclose(own.inertia, turned, rtol=1e-3, atol=1.0)
    assert demo.unit.mass == pytest.approx(own.mass + demo.metal.mass)
