"""Meshes close and weigh what their profiles say; pictures hide what is behind."""

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.piece.bought import Bought
from baywright.release.mesh import mesh, meshes
from baywright.shape.loop import perimeter


def weigh(piece, sagitta):
    net = trimesh.Trimesh(*mesh(piece, sagitta), process=False)
    assert net.is_watertight
    assert net.is_winding_consistent
    density = piece.stock.density if hasattr(piece, "stock") else piece.density
    return net, piece.mass_properties().mass / (density * 1e-9)


def rim(piece):
    """Return an upper bound of the area between a piece's loops and their chords, per mm of sagitta and of depth."""
    holes = [(h.loop, h.depth) for h in piece.holes]
    own = [(piece.outline, piece.thickness)] if hasattr(piece, "outline") else [
        (loop, piece.length) for loop in (piece.stock.profile.outer, *piece.stock.profile.holes)
    ]  # fmt: skip
    return sum(perimeter(loop) * depth for loop, depth in own + holes)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6), blind=st.booleans())
def test_plates_close_and_weigh_right(make_plate, seed, blind):
    piece = make_plate(seed, blind)
    net, volume = weigh(piece, 0.01)
    assert abs(net.volume - volume) <= 0.01 * rim(piece) + 1e-6
    assert net.body_count == 1


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_extrusions_close_and_weigh_right(make_extrusion, seed):
    piece = make_extrusion(seed)
    net, volume = weigh(piece, 0.01)
    assert abs(net.volume - volume) <= 0.01 * rim(piece) + 1e-6
    assert net.body_count == 1


def test_inertia_agrees_with_the_arithmetic(make_plate):
    piece = make_plate(7)
    net, _ = weigh(piece, 1e-4)
    net.density = piece.density * 1e-9
    wanted = piece.mass_properties()
    assert net.center_mass == pytest.approx(wanted.centroid, abs=1e-3)
    assert np.abs(net.moment_inertia - wanted.inertia).max() < 1e-4 * np.abs(wanted.inertia).max()


def test_an_assembly_has_every_body_in_its_place(box):
    found = meshes(box)
    marks = [mark for mark, _, _, _ in found]
    bodies = [item for item in [*box.placed, *box.fasteners()] if item.piece.bodies()]
    assert sorted(marks) == sorted(item.mark for item in bodies)
    at = {item.mark: item.blocks() for item in bodies}
    for mark, number, vertices, faces in found:
        assert number.startswith("front-")
        low = np.min([b.low for b in at[mark]], axis=0)
        high = np.max([b.high for b in at[mark]], axis=0)
        assert vertices.min(axis=0) == pytest.approx(low, abs=0.06)
        assert vertices.max(axis=0) == pytest.approx(high, abs=0.06)
        assert faces.max() < len(vertices)


def test_a_thing_without_a_body_is_refused():
    with pytest.raises(ValueError, match="no body"):
        mesh(Bought(role="coolant", name="glycol", mass=0.4))
