"""Bolt patterns: clock positions, the side they are seen from, symmetry."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright.shape.pattern import Pattern, PatternHole, bolt_circle, evenly, spacing, symmetry, turned_clockwise


def pattern(*holes: PatternHole) -> Pattern:
    return Pattern(name="p", holes=holes, seen_from="motor")


def hole(name: str, x: float, y: float, **more: object) -> PatternHole:
    return PatternHole(name=name, x=x, y=y, kind="through", **more)  # type: ignore[arg-type]


def test_clock_positions_run_clockwise_from_the_top() -> None:
    top, right, bottom = bolt_circle(200, [0, 90, 180], kind="tapped", thread="M10", hole=10)
    assert (top.x, top.y) == pytest.approx((0, 100))
    assert (right.x, right.y) == pytest.approx((100, 0))
    assert (bottom.x, bottom.y) == pytest.approx((0, -100), abs=1e-12)
    assert right.clock == pytest.approx(90)


def test_the_other_side_sees_left_and_right_exchanged_and_nothing_else() -> None:
    one = pattern(hole("1", 30, 40), hole("2", 0, -5))
    other = one.seen("gearbox")
    assert [(h.name, h.x, h.y) for h in other.holes] == [("1", -30, 40), ("2", 0, -5)]
    assert str(other.holes[1].x) == "0.0"  # never "-0.0" on a drawing
    assert one.seen("motor") is one
    assert other.seen("motor").holes == one.holes


def test_turning_is_clockwise_for_whoever_looks() -> None:
    one = pattern(hole("1", 0, 10)).turned(90)
    assert (one.holes[0].x, one.holes[0].y) == pytest.approx((10, 0))
    # The same real hole, turned the same real way, looks turned the other way round from behind.
    behind = pattern(hole("1", 0, 10)).seen("gearbox").turned(-90)
    assert behind.seen("motor").holes[0].x == pytest.approx(10)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 6, 8, 12, 16])
def test_equal_holes_on_a_circle_have_that_many_turns(count: int) -> None:
    turns = Pattern(name="c", holes=bolt_circle(300, evenly(count), kind="tapped"), seen_from="motor").symmetry()
    assert turns == pytest.approx([360 / count * k for k in range(count)])


def test_an_odd_dowel_or_thread_takes_the_symmetry_away() -> None:
    ring = bolt_circle(300, evenly(4), kind="tapped", thread="M10")
    dowel = bolt_circle(300, [10], kind="dowel", hole=12, prefix="D")
    assert Pattern(name="c", holes=(*ring, *dowel), seen_from="motor").symmetry() == [0.0]
    other = PatternHole(name="5", x=ring[0].x, y=ring[0].y, kind="tapped", thread="M8")
    assert Pattern(name="c", holes=(other, *ring[1:]), seen_from="motor").symmetry() == [0.0]


def test_symmetry_of_nothing_and_of_a_hole_in_the_middle() -> None:
    assert symmetry(pattern()) == [0.0]
    assert symmetry(pattern(hole("1", 0, 0))) == [0.0]


def test_many_turns_at_once_equal_one_after_another() -> None:
    where = np.array([[10.0, 3.0], [-4.0, 7.0]])
    many = turned_clockwise(where, np.array([0.0, 30.0, 200.0]))
    for k, angle in enumerate([0.0, 30.0, 200.0]):
        assert many[k] == pytest.approx(turned_clockwise(where, angle))


@given(st.lists(st.tuples(st.floats(-300, 300), st.floats(-300, 300)), min_size=1, max_size=12), st.floats(-720, 720))
def test_mirror_twice_and_turn_back_change_nothing(points: list[tuple[float, float]], angle: float) -> None:
    one = pattern(*(hole(str(k), x, y) for k, (x, y) in enumerate(points)))
    back = one.seen("gearbox").turned(angle).turned(-angle).seen("motor")
    assert back.positions() == pytest.approx(one.positions(), abs=1e-9)
    assert spacing(one.turned(angle).positions()) == pytest.approx(spacing(one.positions()), abs=1e-9)


def test_holes_on_a_circle_carry_what_they_are_given() -> None:
    plain, *_ = bolt_circle(100, [30], kind="through")
    assert (plain.name, plain.thread, plain.diameter, plain.position, plain.depth) == ("1", "", 0, 0, 0)
    assert plain.radius == pytest.approx(50)
    assert plain.clock == pytest.approx(30)
    two = bolt_circle(100, [0, 180], kind="dowel", thread="M8", hole=8, position=0.1, depth=16, first=3, prefix="D")
    assert [h.name for h in two] == ["D3", "D4"]
    for h in two:
        assert (h.kind, h.thread, h.diameter, h.position, h.depth) == ("dowel", "M8", 8, 0.1, 16)


def test_even_holes_straddle_the_vertical_unless_the_first_is_said() -> None:
    assert evenly(4) == [45, 135, 225, 315]
    assert evenly(3, 0) == [0, 120, 240]
    assert evenly(2, 30) == [30, 210]


def test_sizes_that_differ_by_a_conversion_from_inches_are_alike() -> None:
    def turns(one: float, two: float) -> list[float]:
        return pattern(hole("1", 50, 0, diameter=one), hole("2", -50, 0, diameter=two)).symmetry()

    assert turns(9.525, 9.5251) == pytest.approx([0, 180])
    assert turns(9.5, 9.6) == [0]


def test_symmetry_allows_a_drawings_rounding_and_no_more() -> None:
    def turns(by: float) -> list[float]:
        return pattern(hole("1", 50, 0), hole("2", 0, 50), hole("3", -50, 0), hole("4", 0, -50 - by)).symmetry()

    assert turns(0.04) == pytest.approx([0, 90, 180, 270])
    assert turns(0.06) == [0]


def test_spacing_of_three_holes() -> None:
    gap = spacing(np.array([[0.0, 0.0], [3.0, 4.0], [0.0, 4.0]]))
    assert gap == pytest.approx(np.array([[np.inf, 5, 4], [5, np.inf, 3], [4, 3, np.inf]]))


def test_bolts_and_dowels_are_told_apart() -> None:
    ring = bolt_circle(300, evenly(2), kind="tapped")
    dowel = bolt_circle(300, [10], kind="dowel", prefix="D")
    both = pattern(*ring, *dowel)
    assert both.bolts == ring
    assert both.dowels == dowel


def test_a_pattern_keeps_its_holes_and_knows_its_side() -> None:
    one = pattern(hole("1", 30, 40), hole("2", 0, -5))
    assert one.seen("gearbox").seen_from == "gearbox"
    with pytest.raises(ValueError, match="zip"):
        one.at(np.zeros((1, 2)))
