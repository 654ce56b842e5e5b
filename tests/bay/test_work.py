"""Room to work in the car, what to measure next, findings of a scanned bay, the mock-up's geometry."""

from dataclasses import replace

import numpy as np
import pytest

from baywright.bay.cardboard import cardboard
from baywright.bay.envelope import cuboid
from baywright.bay.findings import surround_findings, surround_of
from baywright.bay.fit import check_fit
from baywright.bay.measure import measure_next, scan_next, sentences
from baywright.bay.outside import case_of, outer_bodies
from baywright.bay.room import check_rooms, rooms_of
from baywright.bay.surround import Surround, standing
from baywright.job.bays import Bay
from baywright.piece.solid import Block, Round
from baywright.shape.loop import area, bounds
from baywright.shape.pose import shifted, turned

PLACE = turned("z", 90, (30, 0, 345))


def by_check(found):
    return {f.check: f for f in found}


def with_thing(engine, low, high) -> Surround:
    return Surround(bay=replace(engine, keep_outs=(cuboid("thing", low, high),)))


def test_rooms_are_those_of_the_car_only(box):
    rooms = rooms_of(box)
    drivers = [r for r in rooms if r.kind == "driver"]
    lid_screws = sum(len(line.points) for line in box.assembly.lines if line.stage == 100 and line.driver)
    assert len(drivers) == lid_screws + 4
    assert sum(r.kind == "hand" for r in rooms) == 4
    case = case_of(box)
    for room in drivers:
        assert isinstance(room.body, Round)
        assert room.body.axis[2] == 1  # from above
    assert all(
        (r.body.high > case.high + 1).any() or (r.body.low < case.low - 1).any() for r in rooms if r.kind == "cable"
    )


def test_a_thing_over_the_lid_stops_lid_and_drivers(box, engine):
    free = by_check(check_rooms("b", box, PLACE, Surround(bay=engine)))
    assert free["driver in the car"].verdict == "pass"
    assert free["lid off in the car"].verdict == "pass"
    brace = with_thing(engine, (20, -475, 780), (60, 475, 795))
    found = by_check(check_rooms("b", box, PLACE, brace))
    assert found["lid off in the car"].verdict == "look"
    driver = found["driver in the car"]
    assert driver.verdict == "look"
    # From the heads of the lid's screws up to the brace, less what the tape may be off.
    top = 345 + case_of(box).high[2]
    assert driver.value == pytest.approx(780 - top - 2.75 - 5, abs=1.5)
    assert driver.limit == 100


def test_a_cable_s_bend_needs_its_room(box, engine):
    near = by_check(check_rooms("b", box, PLACE, with_thing(engine, (-60, 430, 340), (120, 475, 800))))
    cable = near["room for cables in the car"]
    assert cable.verdict == "fail"
    assert 0 < cable.value < cable.limit


def test_a_hand_with_a_spanner_reaches_the_feet_or_not(box, engine):
    """Free all round; then a board 60 mm off the box, beside the feet of one end alone."""
    wide = replace(engine, spaces=(cuboid("hall", (-3000, -3000, 339.9), (3000, 3000, 3000)),))
    hall = by_check(check_rooms("b", box, PLACE, Surround(bay=wide)))["hand at the feet"]
    assert (hall.verdict, hall.message) == ("pass", "all 4 are free in the car")
    # At 90 degrees the box's length runs across the car, its service end to the right.
    end = PLACE(case_of(box).high)[1]
    board = replace(wide, keep_outs=(cuboid("board", (-400, end + 60, 339.9), (400, end + 70, 800)),))
    found = by_check(check_rooms("b", box, PLACE, Surround(bay=board)))["hand at the feet"]
    assert found.verdict == "look"
    assert "2 of 4 are not free" in found.message
    assert (found.value, found.limit) == (pytest.approx(60, abs=1.5), 100)


def test_the_tape_that_decides_is_named(engine):
    snug = [("case", Block(np.array([0.0, 0, 0]), np.array([523.0, 900, 400])))]
    fit = check_fit("b", snug, shifted(-204, -450, 340), engine)
    advice = measure_next(fit)
    assert {a.what for a in advice} == {"bay, front end", "bay, rear end", "opening, corners 2 to 3"}
    assert all(a.now == 3 and a.wanted == pytest.approx(1.0) for a in advice)
    assert "measure " in advice[0].says
    wide = check_fit("b", snug, shifted(-190, -450, 340), replace(engine, clearance=2.0))
    assert measure_next(wide) == ()
    assert sentences(()) == ["nothing: the verdict stands at every value that tape and scan leave open"]


def test_a_scan_whose_trust_decides_is_gauged_by_hand(box, engine, scanned):
    skins = [scanned.skin]
    stands = standing(outer_bodies(box), PLACE, skins)
    least = stands.least.gap.distance
    assert scan_next(stands, least - 1.0)
    assert scan_next(stands, least - scanned.skin.trust - 1.0) == ()


def test_findings_of_a_scanned_bay_and_of_one_that_something_moves_in(box, engine, scanned):
    found = by_check(surround_findings("box b", box, PLACE, Surround(bay=engine, scan=scanned)))
    assert {"trust", "alignment", "scale", "clear of scan 'estate-engine'"} <= set(found)
    assert found["clear of scan 'estate-engine'"].verdict == "pass"
    assert found["way in past all that is there"].verdict == "look"  # the feet pass under the strut towers' tops
    into = surround_findings("box b", box, turned("z", 90, (120, 0, 345)), Surround(bay=engine, scan=scanned))
    struck = by_check(into)["clear of scan 'estate-engine'"]
    assert struck.verdict == "fail"
    assert "share space" in struck.message
    assert struck.value < 0


def test_a_job_s_bay_names_its_scan_and_what_moves(tmp_path):
    asked = Bay.model_validate(
        {
            "blocks": [{"low": [0, 0, 0], "high": [900, 900, 500]}],
            "moving": [{"name": "lever", "low": [0, 0, 0], "high": [10, 10, 300], "shift": [[0, 40, 0]]}],
        }
    )
    around = surround_of("b", asked, tmp_path)
    assert [s.name for s in around.shut] == ["bay 'b' as taped", "lever, moving"]
    from baywright.job.messages import BadInput

    with pytest.raises(BadInput, match="no such file"):
        surround_of("b", asked.model_copy(update={"scan": "none.toml"}), tmp_path)


def test_the_mock_up_folds_to_the_box_s_outside(box):
    bodies, t = outer_bodies(box), 4.0
    card = cardboard("b", bodies, t)
    size = case_of(box).high - case_of(box).low
    shell, lid, *tongues = card.cut
    folds = card.folds
    floor = [np.linalg.norm(b - a) for a, b in folds]
    assert floor == pytest.approx([size[0] - t, size[1] - t] * 2)
    x0, y0, x1, y1 = bounds(shell)
    wall = (x1 - x0 - floor[0]) / 2
    assert wall + 1.5 * t == pytest.approx(size[2])  # half a board of the floor below, a whole one of the lid above
    assert y1 - y0 == pytest.approx(floor[1] + 2 * wall)
    assert area(shell) == pytest.approx(floor[0] * floor[1] + 2 * wall * (floor[0] + floor[1]))
    u0, v0, u1, v1 = bounds(lid)
    assert (u1 - u0, v1 - v0) == pytest.approx((size[0], size[1]))
    assert u0 > x1
    assert len(tongues) >= 4  # the feet
    # Slots lie in board, clear of folds and edges; those of a corner's two walls at one height.
    for slot in card.slots:
        a, b, c, d = bounds(slot)
        held = (a > x0 and c < x1 and b > y0 and d < y1) or (a > u0 and c < u1 and b > v0 and d < v1)
        assert held
    with pytest.raises(ValueError, match="no use"):
        cardboard("b", bodies, 200.0)


def test_the_mock_up_is_seen_from_outside(box):
    """Seen from below with x to the right, the box's right (+y) is down: what stands out there is marked there."""
    case = Block(np.array([-200.0, -100, 0]), np.array([200.0, 100, 150]))
    lug = Block(np.array([-20.0, 100, 60]), np.array([40.0, 120, 90]))
    gland = Block(np.array([200.0, 30, 60]), np.array([225.0, 60, 90]))
    card = cardboard("b", [("case", case), ("lug", lug), ("gland", gland)], 4.0)
    named = {text.split(":")[0]: (x, y) for text, x, y, _ in card.texts}
    assert named["wall right"][1] < 0 < named["wall left"][1]
    first, second = sorted((bounds(m) for m in card.marks), key=lambda b: b[1])
    assert first[3] < -100
    assert (first[0], first[2]) == pytest.approx((-20, 40))
    assert second[0] > 200
    assert (second[1], second[3]) == pytest.approx((-60, -30))
