"""The way in: straight where it goes straight, planned where it must turn, and every stride of a plan clear."""

import numpy as np
import pytest

from baywright.bay.envelope import Bay, cuboid, opening
from baywright.bay.hoist import lifts, modules_in
from baywright.bay.outside import CASE, outer_bodies
from baywright.bay.route import way_in
from baywright.bay.straight import straight_up
from baywright.bay.surround import Surround, underfoot, worst_distance
from baywright.piece.solid import Block
from baywright.shape.pose import Pose, turned

fcl = pytest.importorskip("fcl")

BOX = [(CASE, Block(np.array([-400.0, -150, 0]), np.array([400.0, 150, 200])))]


def boot(long: float, *keep_outs) -> Surround:
    hole = opening([(0, -380), (long, -380), (long, 380), (0, 380)], 500)
    spaces = (cuboid("boot", (0, -400, 0), (1000, 400, 500)),)
    return Surround(bay=Bay(name="boot", spaces=spaces, keep_outs=keep_outs, opening=hole, clearance=5))


PLACE = turned("z", 0, (550, 0, 5))


def test_straight_down_with_what_is_left_beside_it():
    route = way_in(BOX, PLACE, boot(980))
    assert route.method == "straight down"
    assert route.worst == pytest.approx(30, abs=1e-3)  # 980 - 950
    assert route.frames[-1] is PLACE
    assert route.found


def between(a: Pose, b: Pose, share: float) -> Pose:
    """Return a pose between two: the turn by the rotation between them about one axis."""
    from scipy.spatial.transform import Rotation, Slerp

    turn = Slerp([0, 1], Rotation.from_matrix([a.turn, b.turn]))(share).as_matrix()
    middle = np.array([0.0, 0, 100])
    return Pose(turn, (1 - share) * a(middle) + share * b(middle) - turn @ middle)


def test_a_short_opening_wants_a_turn_and_every_stride_of_it_is_clear():
    around = boot(700)
    route = way_in(BOX, PLACE, around, seconds=120)
    assert route.method == "planned"
    assert np.allclose(route.frames[-1].turn, PLACE.turn)
    assert np.allclose(route.frames[-1].shift, PLACE.shift)
    skins = underfoot(BOX, PLACE, around.opened)
    for a, b in zip(route.frames, route.frames[1:], strict=False):
        for share in np.linspace(0, 1, 15):
            # The last strides start where the box stands; there the clearance of its place is all there is.
            assert worst_distance(BOX, between(a, b, share), skins, 60.0) > 0.0
    assert route.worst >= 3.0 - 1e-6
    tilt = max(np.degrees(np.arccos(f.turn[2, 2])) for f in route.frames)
    assert tilt > 5
    again = way_in(BOX, PLACE, around, seconds=120)
    assert all(np.array_equal(a.turn, b.turn) for a, b in zip(route.frames, again.frames, strict=True))


def test_none_found_is_no_proof_and_says_so():
    route = way_in(BOX, PLACE, boot(250), tries=60)
    assert not route.found
    assert route.frames == ()
    assert "no proof" in route.said


def test_a_place_that_is_not_free_is_not_planned():
    route = way_in(BOX, PLACE, boot(700, cuboid("pipe", (500, 0, 50), (520, 20, 90))))
    assert route.method == "blocked"


def test_without_an_opening_there_is_no_way(engine):
    from dataclasses import replace

    shut = Surround(bay=replace(engine, opening=None))
    small = [(CASE, Block(np.array([-50.0, -50, 0]), np.array([50.0, 50, 80])))]
    route = way_in(small, turned("z", 0, (0, 0, 345)), shut, tries=40)
    assert route.method == "not found"


def test_straight_up_of_a_yawed_and_of_a_tilted_box():
    skins = boot(980).opened
    plain = [(CASE, Block(np.array([-100.0, -50, 0]), np.array([100.0, 50, 80])))]
    place = turned("z", 45, (106.07 + 20, 0, 5))
    yawed = straight_up(plain, place, underfoot(plain, place, skins), 502.0)
    assert yawed == pytest.approx(20, abs=0.1)  # half the diagonal of 200 x 100 along X is 106.07
    tilted = turned("y", 10, (150, 0, 200))
    reach = 100 * np.cos(np.radians(10))
    assert straight_up(plain, tilted, skins, 502.0) == pytest.approx(150 - reach, abs=1.0)


def test_what_hangs_on_the_hoist(box, engine):
    by_name = {one.what: one.mass for one in lifts(box)}
    assert by_name["whole box"] == pytest.approx(box.mass_properties.mass)
    assert by_name["empty box"] < by_name["whole box"] - 3 * by_name["one module"] + 1e-9
    around = Surround(bay=engine)
    assert modules_in(box, turned("z", 90, (30, 0, 345)), around) == []
    beam = cuboid("strut brace", (20, -475, 780), (60, 475, 795))
    from dataclasses import replace

    braced = Surround(bay=replace(engine, keep_outs=(beam,)))
    assert len(modules_in(box, turned("z", 90, (30, 0, 345)), braced)) == 3
    assert len(outer_bodies(box)) > 100
