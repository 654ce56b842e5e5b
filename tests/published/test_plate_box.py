"""A box of six plates as a worked example of mass, centroid and inertia.

Source: none in print. The figures were worked out by hand formulas of even blocks (m, m (b² + c²) / 12, parallel axis)
and agree with trimesh 5.2.0 to every digit given; the second test works them out again from a mesh.

The box: 600 x 400 x 200 mm outside, base 4 mm, lid 2 mm, walls 3 mm, two long walls at full length and two short walls
between them; aluminium of 2700 kg/m³. Origin at an outer lower corner. Inertia about the centroid.
"""

import numpy as np
import pytest
import trimesh

from baywright.piece.assembly import Assembly, Placed
from baywright.piece.plate import Plate
from baywright.shape.loop import rectangle
from baywright.shape.pose import pose, shifted

X, Y, Z = np.eye(3)
MASS = 7.0119432  # kg
CENTROID = [300.0, 200.0, 82.51724903]  # mm
INERTIA = [187417.26121, 328800.59257, 425703.40046]  # kg·mm²


def sheet(role: str, wide: float, tall: float, thickness: float) -> Plate:
    return Plate(
        role=role, outline=rectangle(0, 0, wide, tall), thickness=thickness, material="6061-T6", density=2700.0
    )


def six_plates() -> Assembly:
    """Return the box: each wall stands on its lower edge on the base, its own z outward or inward as it comes."""
    long, short = sheet("long wall", 600, 194, 3), sheet("short wall", 394, 194, 3)
    return Assembly(
        name="six plates",
        placed=(
            Placed("base", sheet("base", 600, 400, 4), shifted()),
            Placed("lid", sheet("lid", 600, 400, 2), shifted(0, 0, 198)),
            Placed("front wall", long, pose(X, Z, (0, 3, 4))),
            Placed("back wall", long, pose(X, Z, (0, 400, 4))),
            Placed("left wall", short, pose(Y, Z, (0, 3, 4))),
            Placed("right wall", short, pose(Y, Z, (597, 3, 4))),
        ),
    )


def test_mass_centroid_and_inertia():
    found = six_plates().mass_properties
    assert found.mass == pytest.approx(MASS, abs=5e-8)
    assert found.centroid == pytest.approx(CENTROID, abs=5e-9)
    assert np.diag(found.inertia) == pytest.approx(INERTIA, abs=5e-6)
    assert found.inertia - np.diag(np.diag(found.inertia)) == pytest.approx(np.zeros((3, 3)), abs=1e-6)


def test_the_plates_fill_the_outside_and_do_not_overlap():
    box = six_plates()
    whole = box.bounds()
    assert whole.low == pytest.approx([0, 0, 0])
    assert whole.high == pytest.approx([600, 400, 200])
    blocks = [block for item in box.placed for block in item.blocks()]
    metal = sum(float(np.prod(b.high - b.low)) for b in blocks)
    assert metal == pytest.approx(600 * 400 * 200 - 594 * 394 * 194)  # the outside less the cavity


def test_a_mesh_of_the_same_blocks_agrees():
    solids = []
    for item in six_plates().placed:
        for block in item.blocks():
            solid = trimesh.creation.box(bounds=[block.low, block.high])
            assert solid.is_watertight
            solids.append(solid)
    mesh = trimesh.util.concatenate(solids)
    mesh.density = 2700e-9
    assert mesh.mass == pytest.approx(MASS, abs=5e-8)
    assert mesh.center_mass == pytest.approx(CENTROID, abs=5e-9)
    assert np.diag(mesh.moment_inertia) == pytest.approx(INERTIA, abs=5e-6)
