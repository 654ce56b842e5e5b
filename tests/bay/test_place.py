"""Where a box goes: known places, and every place told confirmed by the exact check."""

import numpy as np
import pytest

from baywright.bay.envelope import Bay, cuboid
from baywright.bay.outside import CASE, few_blocks, outer_bodies
from baywright.bay.place import find_places
from baywright.bay.surround import Surround, standing, underfoot, worst_distance
from baywright.piece.solid import Block, enclosing
from baywright.shape.pose import shifted, turned

BOX = [(CASE, Block(np.array([-200.0, -100, 0]), np.array([200.0, 100, 150])))]
MIDDLE = np.array([0.0, 0, 75])


def bay(*keep_outs, size=(600.0, 500.0, 300.0), clearance=10.0) -> Surround:
    return Surround(bay=Bay(name="b", spaces=(cuboid("b", (0, 0, 0), size),), keep_outs=keep_outs, clearance=clearance))


def test_the_best_place_in_a_plain_bay_is_its_middle():
    found = find_places(BOX, MIDDLE, bay(), clearance=10.0)
    best = found.places[0]
    assert best.fits
    assert best.stands
    assert best.pose.shift[2] == pytest.approx(0.01, abs=0.02)
    # Lengthwise 100 mm are left on both ends, crosswise 150: no other place has more.
    assert best.worst == pytest.approx(80, abs=1)  # further than 80 mm is not looked
    assert {round(p.turn[0]) % 180 for p in found.places} <= {0, 90}


def test_a_keep_out_moves_it_aside():
    found = find_places(BOX, MIDDLE, bay(cuboid("hose", (0, 0, 0), (150, 500, 300))), clearance=10.0)
    assert found.places[0].fits
    assert found.places[0].worst == pytest.approx(50, abs=1.1)  # across: 500 wide, the box 400
    along = [p for p in found.places if round(p.turn[0]) % 180 == 0]
    assert along[0].worst == pytest.approx(25, abs=1.1)  # 450 long are left
    assert along[0].pose.shift[0] == pytest.approx(375, abs=1.1)


def test_no_place_is_said_as_none():
    assert find_places(BOX, MIDDLE, bay(size=(410.0, 190.0, 300.0)), clearance=10.0).places == ()
    turned_only = find_places(BOX, MIDDLE, bay(size=(230.0, 450.0, 300.0)), clearance=10.0)
    assert {abs(p.turn[0]) for p in turned_only.places} == {90.0}


def test_near_and_low_rank_by_the_centroid():
    target = np.array([250.0, 150, 75])
    near = find_places(BOX, MIDDLE, bay(), clearance=10.0, rank="near", target=target, most=1).places[0]
    assert np.linalg.norm(near.centroid - target) < 10
    low = find_places(BOX, MIDDLE, bay(), clearance=10.0, rank="low", most=1).places[0]
    assert low.centroid[2] == pytest.approx(75.01, abs=0.05)
    with pytest.raises(ValueError, match="target"):
        find_places(BOX, MIDDLE, bay(), clearance=10.0, rank="near")


def test_on_end_where_it_may_lie_any_way_up():
    tall = bay(size=(190.0, 240.0, 500.0))
    assert find_places(BOX, MIDDLE, tall, clearance=10.0).places == ()
    assert find_places(BOX, MIDDLE, tall, clearance=10.0, any_way_up=True).places[0].fits


def test_a_small_turn_finds_the_slanted_room():
    slanted = [(0.0, 0.0), (80.0, 0.0), (700.0, 330.0), (700.0, 420.0), (620.0, 420.0), (0.0, 90.0)]
    corners = np.array([(x, y) for x, y in slanted])
    from baywright.bay.envelope import upright

    room = Surround(bay=Bay(name="s", spaces=(upright("s", corners, 0, 300),), clearance=2.0))
    slim = [(CASE, Block(np.array([-150.0, -25, 0]), np.array([150.0, 25, 100])))]
    assert not any(p.fits for p in find_places(slim, MIDDLE, room, clearance=2.0).places)
    found = find_places(slim, MIDDLE, room, clearance=2.0, yaws=(0.0, 28.0))
    assert found.places[0].fits
    assert found.places[0].turn[0] == pytest.approx(28.0)


def test_the_front_box_in_the_scanned_bay(box, engine, scanned):
    around = Surround(bay=engine, scan=scanned)
    bodies = outer_bodies(box)
    found = find_places(bodies, box.mass_properties.centroid, around, clearance=10.0, most=3)
    assert found.places[0].fits
    for place in found.places:
        skins = underfoot(bodies, place.pose, around.shut)
        assert worst_distance(bodies, place.pose, skins, 80.0) == pytest.approx(place.worst, abs=1e-3)
    stands = standing(bodies, found.places[0].pose, around.shut)
    assert stands.stands
    assert stands.struck == 0
    assert stands.least.worst >= 10 - 1e-6
    assert {t.side for t, _, _ in stands.ways} >= {"front", "rear", "left", "right"}


def test_few_blocks_hold_every_body(box):
    bodies = outer_bodies(box, rooms=True)
    blocks = few_blocks(bodies)
    assert len(blocks) < 70
    for _, body in bodies:
        around = enclosing(body)
        beyond = (around.low < blocks[0].low - 1e-6) | (around.high > blocks[0].high + 1e-6)
        held = any((b.low <= around.low + 1e-6).all() and (b.high >= around.high - 1e-6).all() for b in blocks)
        assert held or not beyond.any()


def test_standing_on_the_floor_needs_no_clearance_below():
    stands = standing(BOX, turned("z", 0, (300, 250, 0)), bay().shut)
    assert stands.stands
    assert stands.least.gap.distance == pytest.approx(100, abs=1e-4)
    lifted = standing(BOX, shifted(300, 250, 30), bay().shut)
    assert not lifted.stands
    assert lifted.least.gap.distance == pytest.approx(30, abs=1e-4)
