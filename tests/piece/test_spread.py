"""Screws along a joint: even where nothing is in the way, legal everywhere."""

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from baywright.finding import CannotBuild
from baywright.piece.spread import Pitch, spread

RULE = Pitch(least=40, most=70, edge=10, first=40, beside=18)


def test_an_open_joint_is_even() -> None:
    places = spread(0, 500, RULE)
    steps = np.diff(places)
    assert np.ptp(steps) < 1e-9
    assert steps[0] <= 70
    assert places[0] == pytest.approx(500 - places[-1])
    assert 10 <= places[0] <= 40


def test_two_legs_are_staggered() -> None:
    plain, moved = spread(0, 400, RULE), spread(0, 400, RULE, shift=RULE.most / 4)
    assert np.abs(plain[:, None] - moved[None]).min() > 2


def test_a_short_joint_has_one_screw_in_its_middle() -> None:
    assert spread(0, 51, RULE) == pytest.approx([25.5])


def test_no_place_is_said() -> None:
    with pytest.raises(CannotBuild, match="no place"):
        spread(0, 60, RULE, keep_out=[(5, 55)])
    with pytest.raises(CannotBuild, match="19 mm long has no place"):
        spread(0, 19, RULE)  # too short for 10 mm at either end


@given(
    length=st.floats(80, 1500),
    obstacles=st.lists(st.tuples(st.floats(0, 1), st.floats(5, 60)), max_size=5),
    fixed=st.lists(st.floats(0.05, 0.95), max_size=4),
)
def test_every_place_is_legal(length: float, obstacles: list[tuple[float, float]], fixed: list[float]) -> None:
    blocked = [(length * at - wide / 2, length * at + wide / 2) for at, wide in obstacles]
    there = sorted({round(length * f, 3) for f in fixed})
    there = [f for i, f in enumerate(there) if i == 0 or f - there[i - 1] > 18]
    try:
        places = spread(0, length, RULE, keep_out=blocked, fixed=there)
    except CannotBuild:
        return
    assert ((places >= RULE.edge - 1e-6) & (places <= length - RULE.edge + 1e-6)).all()
    for low, high in blocked:
        assert not ((places > low + 1e-6) & (places < high - 1e-6)).any()
    every = np.sort(np.concatenate([places, there]))
    new = np.isin(every, places)
    for a, b, first, second in zip(every, every[1:], new, new[1:], strict=False):
        if first and second:
            assert b - a >= RULE.least - 1e-6
        elif first or second:
            assert b - a >= RULE.beside - 1e-6


@given(length=st.floats(150, 1500), at=st.floats(0.2, 0.8), wide=st.floats(5, 25))
def test_a_small_obstacle_never_stretches_the_pitch(length: float, at: float, wide: float) -> None:
    places = spread(0, length, RULE, keep_out=[(length * at - wide / 2, length * at + wide / 2)])
    assert np.diff(places).max(initial=0) <= RULE.most + 1e-6
    assert places[0] <= RULE.first + 1e-6
    assert length - places[-1] <= RULE.first + 1e-6


@pytest.mark.parametrize(
    ("length", "fixed", "places"),
    [
        (300, (35,), [96.25, 157.5, 218.75, 280]),  # the fixed screw is near enough to the end to be its first
        (300, (265,), [20, 81.25, 142.5, 203.75]),
        (300, (100, 160), [20, 60, 220, 280]),  # 60 apart: no screw between them
        (300, (100, 180), [20, 60, 140, 230, 280]),  # 80 apart: one in the middle
        (300, (100, 175), [20, 60, 137.5, 227.5, 280]),  # 75: its halves are under the least pitch, not under `beside`
        (19.9, (10,), []),
        (100, (), [20, 80]),
        (85, (), [20, 65]),
        (79, (), [39.5]),
    ],
)
def test_between_fixed_screws_and_ends(length: float, fixed: tuple[float, ...], places: list[float]) -> None:
    assert spread(0, length, RULE, fixed=fixed) == pytest.approx(places)
    # The same joint seen from its other end, and moved.
    turned = spread(1000 - length, 1000, RULE, fixed=[1000 - f for f in fixed])
    assert np.sort(1000 - turned) == pytest.approx(places)


def test_round_an_obstacle_the_rest_stays_even() -> None:
    # The even spread would put a screw at 150; both neighbours move, the pitches stay alike.
    places = spread(0, 300, RULE, keep_out=[(130, 170)])
    assert places == pytest.approx(300 - places[::-1])
    assert np.ptp(np.diff(places)) < 2
    # Wider than the most pitch: the two screws stand at its edges, for want of better.
    assert spread(0, 300, RULE, keep_out=[(100, 200)]) == pytest.approx([34, 100, 200, 266])
    assert {100.25, 199.75} <= set(spread(0, 300, RULE, keep_out=[(100.25, 199.75)]))
    # An obstacle at the end pushes the first screw to its own edge.
    assert spread(0, 300, RULE, keep_out=[(0, 30)])[0] == 30
    # A short joint whose middle is taken keeps one screw, beside the obstacle.
    assert len(spread(0, 60, RULE, keep_out=[(25, 35)])) == 1
