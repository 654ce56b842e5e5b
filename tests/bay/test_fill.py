"""How many modules a bay takes: what is told goes in, and one more goes in as soon as what it lacks is there."""

import numpy as np
import pytest

from baywright.bay.envelope import Bay, cuboid
from baywright.bay.fill import fill
from baywright.bay.outside import outer_bodies
from baywright.bay.short import shortened
from baywright.bay.skin import of_bodies
from baywright.bay.surround import Surround, standing, worst_distance
from baywright.piece.solid import Block


def bay(x: float, y: float, z: float) -> Surround:
    return Surround(bay=Bay(name="b", spaces=(cuboid("b", (0, 0, 0), (x, y, z)),), clearance=10.0))


def test_what_is_told_goes_in_and_one_more_lacks_just_that(ask, catalogue):
    found = fill("x", ask, catalogue, bay(560, 1000, 470))
    assert found.count == found.boxes[0].ask.count > 0
    one = found.boxes[0]
    bodies = outer_bodies(one.design, rooms=True)
    assert standing(bodies, one.pose, bay(560, 1000, 470).shut).least.worst >= 10 - 1e-6
    ((axis, lack),) = found.short.lacks.items()
    assert lack > 0
    size = dict(zip("xyz", (560.0, 1000.0, 470.0), strict=True))
    size[axis] += lack + 12.0  # a cell more: the grid decides where it is tried
    more = fill("x", ask.model_copy(update={"fittings": []}), catalogue, bay(*size.values()))
    assert more.count >= found.short.count


def test_a_bay_too_small_takes_none_and_says_why(ask, catalogue):
    found = fill("x", ask, catalogue, bay(700, 1000, 150))
    assert found.count == 0
    assert found.boxes == ()
    assert "would lack" in found.short.sentence()
    assert "height" in found.short.sentence()


def test_shortening_keeps_what_stands_out():
    case = Block(np.array([-100.0, -50, 0]), np.array([100.0, 50, 80]))
    foot = Block(np.array([100.0, -10, -5]), np.array([150.0, 10, 1]))
    short_case, short_foot = shortened([case, foot], 0, 30.0)
    assert (short_case.high - short_case.low)[0] == pytest.approx(170)
    assert (short_foot.high - short_foot.low)[0] == pytest.approx(50)
    low_case, low_foot = shortened([case, foot], 2, 30.0)
    assert low_case.high[2] == pytest.approx(50)
    assert low_foot.low[2] == -5


def test_unlike_boxes_side_by_side_beat_the_fullest_first(ask, catalogue):
    """Two wells with sheet metal between them, one deeper than the other."""
    plain = ask.model_copy(update={"fittings": []})
    spaces = (cuboid("low", (0, 0, 0), (440, 950, 340)), cuboid("high", (455, 0, 0), (895, 950, 480)))
    around = Surround(bay=Bay(name="b", spaces=spaces, clearance=10.0))
    single, double = (fill("x", plain, catalogue, around, most_boxes=n) for n in (1, 2))
    assert (single.count, double.count) == (3, 5)
    assert sorted(b.ask.count for b in double.boxes) == [2, 3]
    assert double.short.count == double.count + 1
    for k, one in enumerate(double.boxes):
        others = [of_bodies(outer_bodies(b.design), b.pose) for n, b in enumerate(double.boxes) if n != k]
        assert worst_distance(outer_bodies(one.design), one.pose, others, 60.0) >= 10 - 1e-6
        assert one.worst >= 10 - 1e-6
