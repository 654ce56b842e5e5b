"""Plates: through holes, blind holes and counterbores against the CAD kernel's solids."""

import math

import cadquery as cq
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.shape.loop import circle, rectangle, slot
from baywright.shape.mass import KG_PER_MM3

T = 12.0


def plate(*holes, outline=None, thickness=T):
    outline = rectangle(-100, -60, 100, 60, 15) if outline is None else outline
    return Plate(
        role="adapter plate", outline=outline, holes=holes, thickness=thickness, material="6061-T6", density=2700.0
    )


def hole(loop, depth=T, use="clearance"):
    return Hole(face="top", loop=loop, depth=depth, use=use)


def solid_plate():
    return cq.Workplane().rect(200, 120).extrude(T).edges("|Z").fillet(15)


def drill(solid, x, y, diameter, depth):
    """Cut a round hole from the seen side (z = T) down."""
    return solid.cut(cq.Workplane().workplane(offset=T - depth).center(x, y).circle(diameter / 2).extrude(depth))


def same_mass(piece, solid, solid_mass):
    volume, centroid, inertia = solid_mass(solid.val())
    found, rho = piece.mass_properties(), piece.density * KG_PER_MM3
    assert found.mass == pytest.approx(volume * rho, rel=1e-9)
    assert found.centroid == pytest.approx(centroid, abs=1e-6)
    assert found.inertia == pytest.approx(inertia * rho, abs=1e-8 * found.mass * 1e4)


def test_through_holes_and_slots(solid_mass):
    piece = plate(hole(circle(30, 20, 40)), hole(slot(-60, -10, 11, 40, 90), use="slot"))
    solid = drill(solid_plate(), 30, 20, 40, T)
    cut = cq.Workplane().center(-60, -10).slot2D(40, 11, 90).extrude(T)
    same_mass(piece, solid.cut(cut), solid_mass)
    assert len(piece.profile.holes) == 2
    assert piece.pockets() == []


def test_blind_holes_from_the_seen_side(solid_mass):
    piece = plate(hole(circle(30, 20, 8.5), depth=9, use="tapped"), hole(circle(-40, 0, 30), depth=3))
    solid = drill(drill(solid_plate(), 30, 20, 8.5, 9), -40, 0, 30, 3)
    same_mass(piece, solid, solid_mass)
    assert piece.mass_properties().centroid[2] < T / 2  # what is missing is missing from the top
    assert piece.profile.holes == ()  # a blind hole is no cut


def test_counterbores_and_a_bore_in_a_bore_in_a_bore(solid_mass):
    steps = [(circle(30, 20, 40), 2.0), (circle(30, 20, 30), 5.0), (circle(30, 20, 20), 8.0), (circle(30, 20, 9), T)]
    piece = plate(
        *(hole(loop, depth) for loop, depth in steps), hole(circle(-50, 10, 11), 6.5), hole(circle(-50, 10, 6.6))
    )
    solid = solid_plate()
    for (loop, depth), diameter in zip(steps, (40, 30, 20, 9), strict=True):
        solid = drill(solid, 30, 20, diameter, depth)
        assert np.ptp(loop[:, 0]) == diameter
    solid = drill(drill(solid, -50, 10, 11, 6.5), -50, 10, 6.6, T)
    same_mass(piece, solid, solid_mass)


def test_two_bores_side_by_side_in_one_pocket(solid_mass):
    pocket = rectangle(-50, -30, 50, 30, 5)
    piece = plate(hole(pocket, 4), hole(circle(-20, 0, 10)), hole(circle(20, 0, 10), 9))
    solid = solid_plate().cut(cq.Workplane().workplane(offset=T - 4).rect(100, 60).extrude(4).edges("|Z").fillet(5))
    solid = drill(drill(solid, -20, 0, 10, T), 20, 0, 10, 9)
    same_mass(piece, solid, solid_mass)


def test_drilling_in_two_goes_is_drilling_at_once():
    one, two = hole(circle(30, 20, 8)), hole(circle(-30, 20, 8), 4)
    twice, once = plate(one).with_holes((two,)), plate(one, two)
    assert twice.mass_properties().mass == pytest.approx(once.mass_properties().mass)
    assert twice.holes == once.holes
    assert plate(one).holes == (one,)  # the first plate is left as it was


@given(st.lists(st.tuples(st.floats(2, 18), st.floats(0.5, T)), min_size=0, max_size=6))
def test_mass_is_volume_times_density(bores):
    # Bores 30 mm apart never meet: volumes by hand.
    holes = [hole(circle(-75 + 30 * i, 0, d), depth) for i, (d, depth) in enumerate(bores)]
    volume = (200 * 120 - 15**2 * (4 - math.pi)) * T - sum(math.pi * d * d / 4 * depth for d, depth in bores)
    assert plate(*holes).mass_properties().mass == pytest.approx(volume * 2700e-9)


def test_its_face_is_the_seen_side():
    piece = plate(outline=rectangle(10, 20, 110, 80))
    face = piece.faces()["top"]
    assert face.pose((12, 34, 0)) == pytest.approx([12, 34, T])  # the face's frame is the plate's, lifted
    assert face.pose.direction((0, 0, 1)) == pytest.approx([0, 0, 1])
    assert (face.width, face.height, face.depth) == (100, 60, T)
    assert face.outline is piece.outline


def test_a_ring_is_four_bars_round_its_opening():
    ring = Hole(face="top", loop=rectangle(-80, -40, 80, 40), depth=T, use="cut-out", line="ring")
    bars = plate(ring, outline=rectangle(-100, -60, 100, 60)).bodies()
    assert len(bars) == 4
    assert sum(np.prod(b.high - b.low) for b in bars) == pytest.approx((200 * 120 - 160 * 80) * T)
    for one in bars:
        assert not np.all((one.low < 0) & (one.high > 0))  # none crosses the opening's middle
        for other in bars:
            shared = np.minimum(one.high, other.high) - np.maximum(one.low, other.low)
            assert one is other or shared.min() <= 0


def test_a_plate_is_one_block_otherwise():
    (body,) = plate(hole(circle(0, 0, 40))).bodies()
    assert body.low == pytest.approx([-100, -60, 0])
    assert body.high == pytest.approx([100, 60, T])


def test_half_turns_put_it_back_in_its_place():
    piece = plate(outline=rectangle(10, 20, 110, 80))
    (body,) = piece.bodies()
    turns = piece.turns()
    assert len({tuple(t.turn.ravel()) for t in turns}) == 4
    for turn in turns:
        assert body.moved(turn).low == pytest.approx(body.low)
        assert body.moved(turn).high == pytest.approx(body.high)
        assert np.linalg.det(turn.turn) == pytest.approx(1)


def test_its_size_as_a_cut_list_says_it():
    assert plate(thickness=3.0).size_text() == "200.00 x 120.00 x 3"
