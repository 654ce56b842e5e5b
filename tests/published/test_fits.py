"""ISO 286 limits against the standard's own formulas, and against ISO 2338 pins in H7 holes.

Sources: ISO 286-1, standard tolerance unit i = 0.45 D^(1/3) + 0.001 D (D up to 500 mm) and I = 0.004 D + 2.1 (above),
D the geometric mean of the step; IT6 = 10 i, IT7 = 16 i, IT8 = 25 i; fundamental deviation of g: -2.5 D^0.34, of m:
IT7 - IT6 up to 500 mm. All from memory; the published tables round these, so they agree to a micrometre or two.
ISO 2338 Ø8 m6 in H7: interference at most 15 µm, play at most 9 µm (from memory).
"""

from itertools import pairwise

import pytest

from baywright.adapter.fit import CUT_HOLDS, Limits, class_limits, pilot_limits, play
from baywright.job.adapters import FitClass
from baywright.job.catalogue import load_catalogue
from baywright.job.messages import BadInput
from baywright.shape.pattern import Pilot

CATALOGUE = load_catalogue()


def rows(name: str) -> list[tuple[float, float, float, float]]:
    row = CATALOGUE.row("fit", name)
    assert isinstance(row, FitClass)
    return row.limits


def mean(over: float, upto: float) -> float:
    return ((over or 1.0) * upto) ** 0.5


def unit(d: float) -> float:
    return 0.45 * d ** (1 / 3) + 0.001 * d if d <= 500 else 0.004 * d + 2.1


@pytest.mark.parametrize(("name", "factor"), [("H7", 16), ("H8", 25), ("h6", 10), ("g6", 10), ("m6", 10)])
def test_tolerances_follow_the_standard_tolerance_unit(name: str, factor: float) -> None:
    for over, upto, low, high in rows(name):
        if upto <= 3:
            continue  # the standard rounds the smallest step up by more
        expected = factor * unit(mean(over, upto))
        assert high - low == pytest.approx(expected, abs=max(1.0, 0.06 * expected)), (name, over, upto)


def test_the_deviation_of_g_follows_its_formula() -> None:
    for over, upto, _, high in rows("g6"):
        assert -high == pytest.approx(2.5 * mean(over, upto) ** 0.34, abs=1.2), (over, upto)


def test_the_deviation_of_m_is_the_step_from_it6_to_it7() -> None:
    wide = {row[:2]: row[3] - row[2] for row in rows("H7")}
    for over, upto, low, high in rows("m6"):
        if upto <= 500 and over:
            assert low == pytest.approx(wide[over, upto] - (high - low), abs=1.0), (over, upto)


def test_j6_lies_about_nominal_and_is_it6_wide() -> None:
    width = {row[:2]: row[3] - row[2] for row in rows("h6")}
    for over, upto, low, high in rows("j6"):
        assert low < 0 < high
        assert high - low == pytest.approx(width[over, upto], abs=1.0)


def test_steps_follow_on_without_gap_and_are_the_same_for_every_class() -> None:
    steps = [row[:2] for row in rows("H7")]
    for (_, upto), (over, _) in pairwise(steps):
        assert upto == over
    for name in ("H8", "h6", "g6", "m6", "j6"):
        assert [row[:2] for row in rows(name)] == steps[: len(rows(name))]


@pytest.mark.parametrize(("d", "interference", "clearance"), [(6, 0.012, 0.008), (8, 0.015, 0.009), (12, 0.018, 0.011)])
def test_dowel_pins_in_reamed_holes(d: float, interference: float, clearance: float) -> None:
    fit = play(class_limits(CATALOGUE, "H7", d), class_limits(CATALOGUE, "m6", d))
    assert fit.least == pytest.approx(-interference)
    assert fit.most == pytest.approx(clearance)
    assert fit.kind == "transition"


def test_usual_pairs() -> None:
    hole = class_limits(CATALOGUE, "H7", 130)
    assert hole == Limits(130, pytest.approx(130.040))
    assert play(hole, class_limits(CATALOGUE, "h6", 130)).kind == "clearance"
    sliding = play(hole, class_limits(CATALOGUE, "g6", 130))
    assert (sliding.least, sliding.most) == pytest.approx((0.014, 0.079))
    spigot = play(hole, class_limits(CATALOGUE, "j6", 130))
    assert (spigot.least, spigot.most) == pytest.approx((-0.014, 0.051))
    assert hole.width < CUT_HOLDS


def test_a_step_belongs_to_the_smaller_range_at_its_upper_end() -> None:
    assert class_limits(CATALOGUE, "H7", 30).width == pytest.approx(0.021)
    assert class_limits(CATALOGUE, "H7", 30.001).width == pytest.approx(0.025)


def test_unknown_classes_and_sizes_beyond_the_table_are_refused() -> None:
    with pytest.raises(BadInput, match="did you mean 'H7'"):
        class_limits(CATALOGUE, "H77", 10)
    with pytest.raises(BadInput, match="reaches to 500 mm"):
        class_limits(CATALOGUE, "j6", 600)


def test_pilots_take_their_own_limits_then_their_class_then_the_usual() -> None:
    own = Pilot(male=False, diameter=409.58, limits=(409.58, 409.70))
    assert pilot_limits(CATALOGUE, own) == Limits(409.58, 409.70)
    assert pilot_limits(CATALOGUE, Pilot(male=True, diameter=130, fit="j6")).most == pytest.approx(130.014)
    assert pilot_limits(CATALOGUE, Pilot(male=True, diameter=130)).most == 130
    assert pilot_limits(CATALOGUE, Pilot(male=False, diameter=130)).least == 130
