"""Extrusions: every stock section and its drilled faces against solids that the CAD kernel cuts from blocks."""

import cadquery as cq
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright.piece.extrusion import Extrusion, Stock
from baywright.piece.solid import Hole
from baywright.shape.loop import circle, contains, slot
from baywright.shape.mass import KG_PER_MM3

W, H, T, N = 50.0, 32.0, 4.0, 240.0
SHAPES = ("angle", "channel", "bar", "tube", "round tube", "rod")
FLAT = ("angle", "channel", "bar", "tube")


def stock(shape, w=W, h=H, t=T):
    return Stock(
        name=f"{shape} {w:g}x{h:g}x{t:g}",
        shape=shape,
        width=w,
        height=h,
        wall=t,
        material="6060-T66",
        density=2700.0,
        stock_length=6000.0,
    )


def length_of(shape, holes=(), n=N):
    return Extrusion(role="piece", stock=stock(shape), length=n, holes=holes)


def box(x0, y0, x1, y1, z0=0.0, z1=N):
    return cq.Workplane().box(x1 - x0, y1 - y0, z1 - z0, centered=False).translate((x0, y0, z0))


def rod(diameter, z1=N):
    return cq.Workplane().circle(diameter / 2).extrude(z1)


def solid_of(shape):
    """Return the section as a solid, made by cutting away."""
    whole = box(0, 0, W, H)
    return {
        "angle": lambda: whole.cut(box(T, T, W, H)),
        "channel": lambda: whole.cut(box(T, T, W, H - T)),
        "bar": lambda: whole,
        "tube": lambda: whole.cut(box(T, T, W - T, H - T)),
        "round tube": lambda: rod(W).cut(rod(W - 2 * T)),
        "rod": lambda: rod(W),
    }[shape]()


def in_space(name, u, v):
    """Return where (u, v) of a face lies in the piece's frame, and which way is out: as the shop would measure it."""
    return {
        # x from the far edge of the leg (seen from below, the length running to the right)
        "leg x": ((W - v, 0, u), (0, -1, 0)),
        "flange low": ((W - v, 0, u), (0, -1, 0)),
        "low": ((W - v, 0, u), (0, -1, 0)),
        "leg y": ((0, v, u), (-1, 0, 0)),
        "web": ((0, v, u), (-1, 0, 0)),
        "left": ((0, v, u), (-1, 0, 0)),
        "flange high": ((v, H, u), (0, 1, 0)),
        "high": ((v, H, u), (0, 1, 0)),
        "right": ((W, H - v, u), (1, 0, 0)),
        "end 0": ((v, u, 0), (0, 0, -1)),
        "end 1": ((u, v, N), (0, 0, 1)),
    }[name]


def drill(solid, at, out, diameter, depth):
    """Cut a round hole into a solid from a point on its surface."""
    start, into = np.array(at, dtype=float), -np.array(out, dtype=float)
    return solid.cut(cq.Workplane(obj=cq.Solid.makeCylinder(diameter / 2, depth, cq.Vector(*start), cq.Vector(*into))))


def same_mass(piece, solid, solid_mass):
    volume, centroid, inertia = solid_mass(solid.val())
    found, rho = piece.mass_properties(), 2700 * KG_PER_MM3
    assert piece.volume() == pytest.approx(volume, rel=1e-9)
    assert found.mass == pytest.approx(volume * rho, rel=1e-9)
    assert found.centroid == pytest.approx(centroid, abs=1e-6)
    assert found.inertia == pytest.approx(inertia * rho, abs=1e-8 * found.mass * N**2)


@pytest.mark.parametrize("shape", SHAPES)
def test_sections_against_the_kernel(shape, solid_mass):
    same_mass(length_of(shape), solid_of(shape), solid_mass)


def test_sections_by_hand():
    # 2 (W + H) t - 4 t² for a tube, (W + H - t) t for an angle, (2 W + H - 2 t) t for a channel.
    area = {shape: stock(shape).profile.area() for shape in SHAPES}
    assert area["tube"] == pytest.approx(2 * (W + H) * T - 4 * T * T)
    assert area["angle"] == pytest.approx((W + H - T) * T)
    assert area["channel"] == pytest.approx((2 * W + H - 2 * T) * T)
    assert area["bar"] == pytest.approx(W * H)
    assert area["round tube"] == pytest.approx(np.pi * (W - T) * T)
    assert area["rod"] == pytest.approx(np.pi * W * W / 4)


@pytest.mark.parametrize("shape", FLAT)
def test_faces_lie_where_the_shop_measures_them(shape):
    faces = length_of(shape).faces()
    wanted = {
        "angle": {"leg x", "leg y"},
        "channel": {"web", "flange low", "flange high"},
        "bar": {"low", "high", "end 0", "end 1"},
        "tube": {"low", "high", "left", "right"},
    }
    assert set(faces) == wanted[shape]
    for name, face in faces.items():
        for u, v in ((0, 0), (face.width, 0), (0, face.height), (face.width / 3, face.height / 5)):
            at, out = in_space(name, u, v)
            assert face.pose((u, v, 0)) == pytest.approx(at)
            assert face.pose.direction((0, 0, 1)) == pytest.approx(out)
        assert np.linalg.det(face.pose.turn) == pytest.approx(1)


@pytest.mark.parametrize("shape", FLAT)
def test_behind_a_face_is_as_much_metal_as_it_says(shape):
    piece = length_of(shape)
    section = piece.stock.profile
    for face in piece.faces().values():
        u, v = face.width * 0.4, face.height * 0.55

        def metal(depth, face=face, u=u, v=v):
            x, y, z = face.pose((u, v, -depth))
            solid = contains(section.outer, x, y) and not any(contains(h, x, y) for h in section.holes)
            return solid and 0 < z < N

        assert not metal(-0.01)
        assert metal(0.01)
        assert metal(face.depth - 0.01)
        assert not metal(face.depth + 0.01)


def test_held_sides_are_those_where_the_metal_goes_round_a_corner():
    for shape in FLAT:
        piece = length_of(shape)
        for name, face in piece.faces().items():
            for side, v in (("low", T / 2), ("high", face.height - T / 2)):
                x, y, _ = face.pose((N / 2, v, -face.depth - 0.01))  # just behind the wall, at its very edge
                goes_on = shape != "bar" and contains(piece.stock.profile.outer, x, y)
                inner = any(contains(h, x, y) for h in piece.stock.profile.holes)
                assert (side in face.held) == (goes_on and not inner), (shape, name, side)


@pytest.mark.parametrize("shape", FLAT)
def test_drilled_faces_against_the_kernel(shape, solid_mass):
    piece, solid = length_of(shape), solid_of(shape)
    holes = []
    for number, (name, face) in enumerate(piece.faces().items()):
        ends = name.startswith("end")
        depth = 22.0 if ends else face.depth
        # Past the corner's own metal, and no two holes across each other.
        places = (
            [(face.width * 0.5, face.height * 0.5)] if ends else [(40 + 45 * number, 16.0), (60 + 45 * number, 18.5)]
        )
        for u, v in places:
            holes.append(Hole(face=name, loop=circle(u, v, 6.0 + number), depth=depth, use="tapped"))
            solid = drill(solid, *in_space(name, u, v), 6.0 + number, depth)
    drilled = piece.with_holes(tuple(holes))
    same_mass(drilled, solid, solid_mass)
    assert piece.holes == ()


def test_a_slot_in_a_leg_against_the_kernel(solid_mass):
    piece = length_of("angle").with_holes((Hole(face="leg y", loop=slot(100, 18, 9, 24, 0), depth=T, use="slot"),))
    cut = (
        box(-1, 18 - 4.5, T, 18 + 4.5, 92.5, 107.5)
        .union(cq.Workplane(obj=cq.Solid.makeCylinder(4.5, T + 1, cq.Vector(-1, 18, 92.5), cq.Vector(1, 0, 0))))
        .union(cq.Workplane(obj=cq.Solid.makeCylinder(4.5, T + 1, cq.Vector(-1, 18, 107.5), cq.Vector(1, 0, 0))))
    )
    same_mass(piece, solid_of("angle").cut(cut), solid_mass)


def test_a_blind_hole_in_a_bar_takes_only_its_depth(solid_mass):
    piece = length_of("bar").with_holes((Hole(face="high", loop=circle(70, 20, 8.5), depth=12, use="tapped"),))
    same_mass(piece, drill(solid_of("bar"), *in_space("high", 70, 20), 8.5, 12), solid_mass)


@pytest.mark.parametrize("shape", ["round tube", "rod"])
def test_round_stock_has_no_face_to_drill(shape):
    assert length_of(shape).faces() == {}


@pytest.mark.parametrize("shape", SHAPES)
def test_bodies_fill_the_section_and_do_not_overlap(shape):
    piece = length_of(shape)
    bodies = piece.bodies()
    volume = sum(np.prod(b.high - b.low) for b in bodies)
    assert volume == pytest.approx(W * W * N if shape in ("round tube", "rod") else piece.volume())
    for i, one in enumerate(bodies):
        for other in bodies[:i]:
            shared = np.minimum(one.high, other.high) - np.maximum(one.low, other.low)
            assert shared.min() <= 1e-9


@given(st.sampled_from(SHAPES), st.booleans())
def test_turns_put_the_length_back_in_its_own_place(shape, square):
    piece = Extrusion(role="piece", stock=stock(shape, 30.0, 30.0 if square else 20.0, 3.0), length=100.0)
    own = piece.mass_properties()
    for turn in piece.turns():
        moved = own.moved(turn)
        assert np.linalg.det(turn.turn) == pytest.approx(1)
        assert moved.centroid == pytest.approx(own.centroid)
        assert moved.inertia == pytest.approx(own.inertia)


@pytest.mark.parametrize(("shape", "thick"), [("angle", T), ("channel", T), ("tube", T), ("round tube", T), ("bar", H)])
def test_thickness_is_the_walls_or_a_bars_own(shape, thick):
    assert length_of(shape).thickness == thick
    assert length_of(shape).material == "6060-T66"


def test_its_size_as_a_cut_list_says_it():
    assert length_of("angle").size_text() == "angle 50x32x4 x 240.0"
