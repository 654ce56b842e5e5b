"""Measured patterns found in the catalogue, whichever way they are turned, numbered or seen."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.adapter.matching import match, matches
from baywright.shape.pattern import Pattern, PatternHole, bolt_circle, evenly, turned_clockwise

RINGS = [
    Pattern(name=f"{n} on {d}", holes=bolt_circle(d, evenly(n), kind="tapped"), seen_from="motor")
    for n, d in [(8, 285.75), (8, 333.38), (12, 381.0), (12, 428.62), (4, 149.225), (2, 146.0)]
]
UNEVEN = Pattern(
    name="uneven",
    holes=tuple(
        PatternHole(name=str(k), x=x, y=y, kind="through")
        for k, (x, y) in enumerate([(150, 10), (90, 120), (-40, 160), (-140, 60), (-120, -70), (20, -150)], 1)
    ),
    seen_from="motor",
)


@given(st.floats(-180, 180), st.integers(0, 1000), st.booleans())
@settings(max_examples=40, deadline=None)
def test_an_uneven_pattern_is_found_with_its_turn_its_partners_and_its_hand(
    angle: float, seed: int, over: bool
) -> None:
    rng = np.random.default_rng(seed)
    order = rng.permutation(6)
    there = (UNEVEN.positions() * (-1, 1) if over else UNEVEN.positions())[order]
    there = turned_clockwise(there, angle) + (0.3, -0.2) + rng.normal(size=(6, 2)) * 0.02
    found = match(there, UNEVEN)
    assert found is not None
    assert found.mirrored is over
    assert found.partner == tuple(str(k + 1) for k in order)
    assert abs((found.turn - angle + 180) % 360 - 180) < 0.05
    assert found.shift == pytest.approx((0.3, -0.2), abs=0.05)
    assert found.residual.max() < 0.1
    assert not found.missing


def test_the_right_ring_of_several_is_first_and_the_smallest_turn_is_told() -> None:
    there = turned_clockwise(RINGS[3].positions(), 41.0)
    (best,) = matches(there, [*RINGS, UNEVEN])
    assert best.pattern.name == "12 on 428.62"
    assert best.turn == pytest.approx(11.0)
    assert not best.mirrored


def test_some_holes_of_a_ring_are_enough_and_the_others_are_named() -> None:
    there = RINGS[3].positions()[[0, 1, 4, 7]]
    (best,) = matches(there, RINGS)
    assert best.pattern.name == "12 on 428.62"
    assert len(best.missing) == 8


def test_holes_half_a_millimetre_off_are_no_match() -> None:
    there = RINGS[0].positions()
    there[3] += (0.9, 0.0)
    assert match(there, RINGS[0]) is None
    assert match(there, RINGS[0], within=1.0) is not None


def test_two_holes_or_more_than_the_pattern_has_are_no_match() -> None:
    assert match(RINGS[0].positions()[:2], RINGS[0]) is None
    assert match(RINGS[3].positions(), RINGS[0]) is None
