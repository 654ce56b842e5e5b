"""Clocking: the metal between two patterns against a plain loop, arcs across the top, what is wanted and kept out."""

import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.adapter.clocking import Arc, Discs, candidates, clockings, inside, overlap
from baywright.shape.pattern import turned_clockwise


def discs(count: int, radius: float, hole: float, seed: int = 0) -> Discs:
    rng = np.random.default_rng(seed)
    a = np.sort(rng.uniform(0, 2 * np.pi, count))
    centres = np.column_stack([radius * np.sin(a), radius * np.cos(a)])
    return Discs(names=tuple(map(str, range(count))), centres=centres, radii=np.full(count, hole))


@given(st.integers(1, 8), st.integers(1, 10), st.integers(0, 999), st.floats(-720, 720))
@settings(max_examples=40, deadline=None)
def test_web_is_what_a_plain_loop_finds(m: int, g: int, seed: int, angle: float) -> None:
    motor, gearbox = discs(m, 82.0, 5.5, seed), discs(g, 95.0, 4.0, seed + 1)
    found = clockings(motor, gearbox, np.array([angle]))
    there = turned_clockwise(motor.centres, angle)
    plain = min(
        float(np.linalg.norm(a - b)) - r - s
        for a, r in zip(there, motor.radii, strict=True)
        for b, s in zip(gearbox.centres, gearbox.radii, strict=True)
    )
    assert found.web[0] == pytest.approx(plain)
    i, j = found.pair[0]
    assert np.linalg.norm(there[i] - gearbox.centres[j]) - motor.radii[i] - gearbox.radii[j] == pytest.approx(plain)


def test_three_hundred_and_sixty_clockings_of_twelve_and_sixteen_holes() -> None:
    motor, gearbox = discs(12, 150, 9), discs(16, 160, 6, 1)
    features = [Arc(str(k), 30.0 * k, 30.0 * k + 10) for k in range(6)]
    start = time.perf_counter()
    found = clockings(motor, gearbox, np.arange(360.0), features, [Arc("exhaust", 100, 130)])
    print(f"360 clockings: {time.perf_counter() - start:.4f} s")
    assert len(found.web) == 360


@pytest.mark.parametrize(
    ("one", "other", "share"),
    [
        ((350, 10), (5, 20), True),
        ((350, 10), (10, 20), False),
        ((350, 10), (20, 345), False),
        ((20, 30), (0, 359), True),
        ((0, 359), (20, 30), True),
        ((170, 190), (350, 10), False),
    ],
)
def test_arcs_that_share_a_clock_position(one: tuple, other: tuple, share: bool) -> None:
    assert overlap(Arc("a", *one), Arc("b", *other)) is share
    assert overlap(Arc("b", *other), Arc("a", *one)) is share


def test_an_arc_inside_another_across_the_top() -> None:
    assert inside(Arc("bleed", 355, 5), Arc("up", 340, 20))
    assert not inside(Arc("bleed", 330, 5), Arc("up", 340, 20))
    assert not inside(Arc("bleed", 340, 20), Arc("up", 355, 5))


def test_features_keep_out_and_stay_where_they_are_wanted() -> None:
    motor, gearbox = discs(4, 60, 5), discs(4, 120, 5, 1)
    features = [Arc("terminals", -10, 10), Arc("drain", 175, 185)]
    angles = candidates(features, [Arc("drain", 150, 210)], [0.0, 90.0, 180.0, 270.0])
    found = clockings(motor, gearbox, angles, features, [Arc("steering", 15, 40)], [Arc("drain", 150, 210)])
    for angle, legal, why in zip(found.angles, found.legal, found.blocked, strict=True):
        turn = (angle + 180) % 360 - 180
        steering = not (turn + 10 <= 15 or turn - 10 >= 40)
        drain = not (175 + turn >= 150 and 185 + turn <= 210)
        assert legal == (not steering and not drain), (turn, why)
        assert bool(why) != legal
    best = found.ranked(5.0)
    assert legal_turns(found, best) <= {(a + 180) % 360 - 180 for a in found.angles[found.legal]}
    assert abs((found.angles[best[0]] + 180) % 360 - 180) == 0  # all webs are ample: the smallest turn


def legal_turns(found, order: np.ndarray) -> set[float]:
    return {float((a + 180) % 360 - 180) for a in found.angles[order]}


def test_the_motors_own_symmetry_and_the_middle_of_what_is_wanted_are_tried_exactly() -> None:
    angles = candidates([Arc("bleed", 91.3, 94.1)], [Arc("bleed", -20, 20)], [0.0, 51.42857])
    assert 51.42857 in angles
    assert np.abs((angles - (0 - 92.7)) % 360).min() < 1e-9
    assert len(angles) == 360 + 2  # 0 stands among the whole degrees already


def test_clockings_with_too_little_metal_are_not_offered() -> None:
    ring = discs(4, 80, 6)
    found = clockings(ring, ring, np.arange(360.0))
    assert found.web[0] == pytest.approx(-12)
    assert 0 not in found.ranked(5.0)


def test_a_face_without_holes_never_clashes() -> None:
    empty = Discs(names=(), centres=np.zeros((0, 2)), radii=np.zeros(0))
    found = clockings(discs(4, 80, 6), empty, np.arange(4.0))
    assert np.isinf(found.web).all()
    assert len(found.ranked(5.0)) == 4
