"""The chance that all bolts pass, against cases that can be worked out by hand."""

from math import erf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from baywright.adapter.chance import _least_worst, chance_of_passing, least_class

SQUARE = np.array([[100.0, 0], [0, 100], [-100, 0], [0, -100]])
NAMES = ("1", "2", "3", "4")


def test_fixed_by_dowels_one_hole_is_a_rayleigh_distance() -> None:
    # P(|off| <= c) = 1 - exp(-c²/2s²) for a plane normal error.
    sigma, room = 0.1, 0.25
    chance = chance_of_passing(
        np.array([[100.0, 0.0]]), np.eye(2) * sigma**2, np.array([room]), ("1",), located="fixed", trials=40_000
    )
    assert chance.chance == pytest.approx(1 - np.exp(-(room**2) / (2 * sigma**2)), abs=0.005)
    assert chance.low < chance.chance


def test_four_fixed_holes_pass_together_as_often_as_one_to_the_fourth() -> None:
    one = 1 - np.exp(-(0.25**2) / (2 * 0.1**2))
    chance = chance_of_passing(SQUARE, np.eye(8) * 0.01, np.full(4, 0.25), NAMES, located="fixed", trials=40_000)
    assert chance.chance == pytest.approx(one**4, abs=0.008)


def test_an_error_that_is_only_a_shift_or_a_turn_never_stops_a_free_plate() -> None:
    shift = np.tile(np.eye(2), (4, 1))
    turn = np.column_stack([-SQUARE[:, 1], SQUARE[:, 0]]).reshape(8, 1) / 100
    move = np.hstack([shift, turn])
    cov = move @ move.T  # a millimetre of each
    assert chance_of_passing(SQUARE, cov, np.full(4, 0.02), NAMES).chance == pytest.approx(1.0)
    assert chance_of_passing(SQUARE, cov, np.full(4, 0.02), NAMES, located="fixed").chance < 0.01
    assert chance_of_passing(SQUARE, turn @ turn.T, np.full(4, 0.02), NAMES, located="pilot").chance == 1.0


def test_two_bolts_free_plate_only_their_distance_counts() -> None:
    # Both holes may be pushed half the error each: passes if |error of the distance| <= 2 * room.
    pair = np.array([[-50.0, 0], [50, 0]])
    chance = chance_of_passing(pair, np.eye(4) * 0.01, np.full(2, 0.1), ("1", "2"), trials=40_000)
    assert chance.chance == pytest.approx(erf(0.2 / (0.1 * np.sqrt(2)) / np.sqrt(2)), abs=0.01)


def test_a_free_plate_is_moved_as_well_as_a_linear_program_moves_it() -> None:
    """Against scipy: the least t with u . offset <= t for 64 directions u is at most 0.13 % under the true minimum."""
    off = np.random.default_rng(3).normal(size=(60, 4, 2)) * 0.1
    ours = _least_worst(SQUARE, off, np.full(4, 0.1), "free", 0.0).max(axis=1)
    turn = np.column_stack([-SQUARE[:, 1], SQUARE[:, 0]]) / 100
    angle = np.arange(64) * 2 * np.pi / 64
    ways = np.column_stack([np.cos(angle), np.sin(angle)])
    for k in np.nonzero(ours > 1)[0]:
        rows = np.concatenate([np.column_stack([-ways, -ways @ turn[i], -np.full(64, 0.1)]) for i in range(4)])
        limit = -np.concatenate([ways @ off[k, i] for i in range(4)])
        best = linprog([0, 0, 0, 1], A_ub=rows, b_ub=limit, bounds=[(None, None)] * 4).fun
        assert best - 1e-9 <= ours[k] <= best * 1.03


def test_the_least_class_that_reaches_99_in_100() -> None:
    holes = {"fine": np.full(4, 10.5), "medium": np.full(4, 11.0), "coarse": np.full(4, 12.0)}
    found, chances = least_class(SQUARE, np.eye(8) * 0.15**2, np.full(4, 10.0), holes, NAMES, located="fixed")
    assert chances["fine"].chance < chances["medium"].chance < 0.99 <= chances["coarse"].chance
    assert found == "coarse"
    none, _ = least_class(SQUARE, np.eye(8) * 2.0, np.full(4, 10.0), holes, NAMES, located="fixed")
    assert none is None


def test_same_seed_same_answer_and_wrong_arrays_are_refused() -> None:
    first, second = (chance_of_passing(SQUARE, np.eye(8) * 0.04, np.full(4, 0.3), NAMES) for _ in range(2))
    assert first == second
    with pytest.raises(ValueError, match="same holes"):
        chance_of_passing(SQUARE, np.eye(6), np.full(4, 0.3), NAMES)


@given(st.integers(2, 12), st.integers(0, 1000), st.floats(0.01, 0.5))
@settings(max_examples=25, deadline=None)
def test_more_freedom_and_more_room_never_hurt(count: int, seed: int, room: float) -> None:
    rng = np.random.default_rng(seed)
    places = rng.uniform(-150, 150, (count, 2))
    names = tuple(map(str, range(count)))
    cov = np.eye(2 * count) * 0.01
    chances = [
        chance_of_passing(places, cov, np.full(count, room), names, located=how, trials=500).chance  # type: ignore[arg-type]
        for how in ("fixed", "pilot", "free")
    ]
    assert chances[0] <= chances[1]
    assert chances[0] <= chances[2]
    wider = chance_of_passing(places, cov, np.full(count, room * 1.5), names, located="free", trials=500).chance
    assert wider >= chances[2] - 0.02
