"""The depth stack: every demand by hand, tolerances against all corners, the best stack that the stock allows."""

from itertools import product

import numpy as np
import pytest

from baywright.adapter.depth import Chain, fitting_stacks
from baywright.finding import CannotBuild
from baywright.job.adapters import AdapterAsk, GearboxRow, MotorRow
from baywright.job.catalogue import load_catalogue

CATALOGUE = load_catalogue()


def chain(motor: dict | None = None, gearbox: dict | None = None, coupler: dict | None = None, **ask) -> Chain:
    m = {
        "name": "m",
        "source": "test",
        "pattern": "demo-motor-face",
        "mass": 40,
        "diameter": 200,
        "length": 250,
        "torque": 200,
        "shaft": {"length": "50 mm ± 0.2 mm", "diameter": 30},
    }
    g = {
        "name": "g",
        "source": "test",
        "pattern": "demo-bell-8",
        "flange": 12,
        "nose_out": "10 mm ± 0.3 mm",
        "spline_out": "-5 mm ± 0.4 mm",
        "spline_length": 40,
        "nose_length": 15,
    }
    c = {
        "seat": "2 mm ± 0.1 mm",
        "length": "95 mm ± 0.1 mm",
        "diameter": 55,
        "bore_depth": "60 mm ± 0.1 mm",
        "spline_length": 42,
        "pilot": {"inset": "33 mm ± 0.1 mm", "width": 12},
    }
    a = {"motor": "m", "gearbox": "g", "coupler": {**c, **(coupler or {})}, "stock_tolerance": 0.2, **ask}
    asked = AdapterAsk.model_validate(a)
    assert asked.coupler is not None
    return Chain(
        asked,
        MotorRow.model_validate({**m, **(motor or {})}),
        GearboxRow.model_validate({**g, **(gearbox or {})}),
        asked.coupler,
    )


def by_name(one: Chain, *layers: float) -> dict:
    return {c.name: c for c in one.checks(layers)}


def test_every_demand_by_hand() -> None:
    # Stack 64: nose at 54; floor is the deeper of the bore's (2 + 95 - 60 = 37) and the shaft's end (50): gap 4.
    # Spline from 69; coupler's from 55 to 97: engaged 28. Bearing from 52 to 64, journal from 54 to 69: 10 held.
    found = by_name(chain(), 64.0)
    assert found["gap before the nose"].value == pytest.approx(4.0)
    assert found["spline engagement"].value == pytest.approx(28.0)
    assert found["nose in the pilot bearing"].value == pytest.approx(10.0)


def test_the_bores_floor_counts_where_the_shaft_ends_short_of_it() -> None:
    found = by_name(chain(motor={"shaft": {"length": 30, "diameter": 30}}), 51.0)
    assert found["gap before the nose"].value == pytest.approx(51 - 10 - 37)


def test_a_kept_flywheel_is_set_against_the_bell() -> None:
    one = chain(coupler={"flywheel": {"face": "80 mm ± 0.1 mm", "setting": "18 mm ± 0.25 mm"}})
    check = by_name(one, 64.0)["flywheel setting"]
    assert check.value == pytest.approx(2 + 80 - 64)
    assert (check.least, check.most) == pytest.approx((17.75, 18.25))
    assert check.worst == pytest.approx(0.1 + 0.1 + 0.2)


@pytest.mark.parametrize("layers", [(64.0,), (20.0, 24.0, 20.0)])
def test_worst_case_is_the_worst_of_all_corners(layers: tuple) -> None:
    one = chain()
    names = [(k, m.tolerance) for k, m in one.given().items() if m.tolerance]
    nominal = {k: m.value for k, m in one.given().items()}
    for check, (name, value, *_) in zip(one.checks(layers), one.demands(), strict=True):
        assert check.name == name
        offs = []
        for signs in product((-1, 1), repeat=len(names) + len(layers)):
            v = dict(nominal)
            for s, (k, t) in zip(signs, names, strict=False):
                v[k] += s * t
            v["stack"] = sum(layers) + sum(s * 0.2 for s in signs[len(names) :])
            offs.append(abs(float(value(v)) - check.value))
        assert check.worst == pytest.approx(max(offs), abs=1e-9)
        assert check.likely <= check.worst + 1e-12


def test_likely_is_the_spread_of_many_simulated_stacks() -> None:
    one = chain()
    (gap, *_) = one.checks((20.0, 24.0, 20.0))
    rng = np.random.default_rng(0)
    n = 200_000
    # Tolerances taken as standard deviations scale alike: the root of the sum of squares is the spread of the sum.
    total = 0.3 * rng.normal(size=n) + 0.2 * rng.normal(size=n)
    total += sum(0.2 * rng.normal(size=n) for _ in range(3))
    assert gap.likely == pytest.approx(total.std(), rel=0.01)


def test_the_stack_with_the_most_room_is_first_and_fewer_plates_win_a_tie() -> None:
    one = chain()
    found = fitting_stacks(one, [(63.0,), (63.9,), (64.0,), (20.0, 24.0, 20.0), (80.0,)])
    assert found[0] == (64.0,)
    assert (80.0,) not in found
    assert found.index((64.0,)) < found.index((20.0, 24.0, 20.0))


def test_what_would_fit_is_said_where_nothing_does() -> None:
    with pytest.raises(CannotBuild, match=r"must be 63\.0 to 65\.0 mm thick; the nearest .* is 20\.0"):
        fitting_stacks(chain(), [(12.0,), (20.0,)])


def test_demands_that_exclude_each_other_are_named() -> None:
    with pytest.raises(CannotBuild, match="no thickness meets the spline engagement together with the gap"):
        fitting_stacks(chain(coupler={"length": 70}), [(64.0,)])
    with pytest.raises(CannotBuild, match=r"reaches 12\.0 mm at best"):
        fitting_stacks(chain(pilot_least=14, spline_least=1), [(64.0,)])


def test_a_gearbox_without_figures_is_told_what_to_measure() -> None:
    with pytest.raises(CannotBuild, match="nose_out, spline_out and spline_length of gearbox 'g'"):
        chain(gearbox={"nose_out": None}).checks((20.0,))
