"""Least squares of hole patterns: exact data give exact holes, noise gives the spread that the covariance says."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.adapter.readings import Layout, Reading
from baywright.adapter.start import first_guess
from baywright.adapter.survey import Solution, Walk, adjust, chi2_limit, solve, thin_walk, twins


def derivative_by_steps(layout: Layout, unknowns: np.ndarray) -> np.ndarray:
    step = 1e-5
    columns = []
    for k in range(len(unknowns)):
        more, less = unknowns.copy(), unknowns.copy()
        more[k] += step
        less[k] -= step
        columns.append((layout.predicted(more)[0] - layout.predicted(less)[0]) / (2 * step))
    return np.column_stack(columns)


def all_kinds(bench, bell) -> tuple[object, Layout]:
    """Readings of every kind, without noise: distances, square edges, two scans, one of rims."""
    b = bench(places=bell(6, 3), diameters=np.linspace(9, 12, 6), sigma=1e-9)
    b.pairs().gauges().to_shaft([0, 2, 3])
    r, names = b.readings, b.names
    for k, (edge, how) in enumerate(
        [("left", "edge"), ("left", "edge near"), ("bottom", "edge far"), ("bottom", "edge")]
    ):
        x, y = b.places[k]
        half = {"edge": 0.0, "edge near": -0.5, "edge far": 0.5}[how] * b.diameters[k]
        value = 250 + (x if edge == "left" else y) + half
        r.append(Reading(how=how, first=names[k], second=edge, value=value, sigma=1e-6, label=f"{edge} {k}"))
    c, s = np.cos(0.4), np.sin(0.4)
    for k in range(6):
        x, y = b.places[k] @ np.array([[c, s], [-s, c]]) + (30, -20)
        r.append(Reading(how="point", first=names[k], second="scan", at=(x, y), sigma=1e-6, label=f"point {k}"))
    for k in (1, 4):
        for turn in (0.1, 2.0, 4.0):
            x = b.places[k] + b.diameters[k] / 2 * np.array([np.cos(turn), np.sin(turn)]) + (5, 6)
            r.append(Reading(how="rim", first=names[k], second="photo", at=tuple(x), sigma=1e-6, label=f"rim {k}"))
    return b, b.layout(square=True)


def test_every_kind_of_reading_has_the_right_derivative(bench, bell) -> None:
    _, layout = all_kinds(bench, bell)
    somewhere = np.random.default_rng(1).normal(size=layout.size) * 30
    assert layout.predicted(somewhere)[1] == pytest.approx(derivative_by_steps(layout, somewhere), abs=1e-6)


def test_every_kind_of_reading_together_gives_the_true_holes(bench, bell) -> None:
    b, layout = all_kinds(bench, bell)
    found = solve(layout, b.walk())
    where = found.positions
    assert b.off(where[:6] - where[6]).max() < 1e-5
    for name, d in zip(b.names, b.diameters, strict=True):
        assert layout.diameter(found.unknowns, name) == pytest.approx(d, abs=1e-5)


def test_points_alone_or_square_edges_alone_are_enough(bench, bell) -> None:
    b = bench(places=bell(5, 1), diameters=np.full(5, 10.0))
    scan = [
        Reading(how="point", first=n, second="s", at=(p[0] + 7, p[1] + 9), sigma=0.05, label=n)
        for n, p in zip(b.names, b.places, strict=True)
    ]
    where = solve(Layout(readings=tuple(scan)), b.walk()).positions
    assert np.linalg.norm(where[0] - where[3]) == pytest.approx(np.linalg.norm(b.places[0] - b.places[3]))
    offsets = []
    for n, (x, y) in zip(b.names, b.places, strict=True):
        offsets.append(Reading(how="edge", first=n, second="left", value=300 + x, sigma=0.05, label=n))
        offsets.append(Reading(how="edge", first=n, second="top", value=300 - y, sigma=0.05, label=n))
    where = solve(Layout(readings=tuple(offsets), square=True), b.walk()).positions
    assert np.linalg.norm(where[0] - where[3]) == pytest.approx(np.linalg.norm(b.places[0] - b.places[3]))


def test_a_scan_seen_from_the_wrong_side_is_refused(bench, bell) -> None:
    b = bench(places=bell(6, 2), diameters=np.full(6, 10.0)).pairs(how="centre")
    for n, (x, y) in zip(b.names, b.places, strict=True):
        b.readings.append(Reading(how="point", first=n, second="s", at=(-x, y), sigma=0.05, label=n))
    with pytest.raises(ValueError, match="wrong side"):
        solve(b.layout(), b.walk())


def test_the_walk_decides_the_hand(bench, bell) -> None:
    b = bench(places=bell(8, 4), diameters=np.full(8, 10.0)).pairs(how="centre").to_shaft()
    right = b.walk()
    found = solve(b.layout(), right).positions
    assert b.off(found[:8] - found[8]).max() < 0.2
    other = solve(b.layout(), type(right)(holes=right.holes, clockwise=not right.clockwise)).positions
    assert b.off((other[:8] - other[8]) * (-1, 1)).max() < 0.2
    assert b.off(other[:8] - other[8]).max() > 5


def test_holes_scatter_as_the_covariance_says(bench, bell) -> None:
    places = bell(8, 5)
    off, said = [], []
    for seed in range(150):
        b = bench(places=places, diameters=np.full(8, 10.0), seed=seed)
        b.pairs([(i, (i + k) % 8) for i in range(8) for k in (1, 2, 3)], how="centre").to_shaft([0, 3, 5])
        found = solve(b.layout(), b.walk())
        off.append(b.off(found.positions[:8] - found.positions[8]) ** 2)
        said.append(np.trace(found.covariance("shaft")[:16, :16]))
        assert found.redundancy.sum() == pytest.approx(found.spare)
    # The mean of 150 sums of 16 squares lies within a few per cent of what the covariance says.
    assert np.mean(np.sum(off, axis=1)) == pytest.approx(np.mean(said), rel=0.12)


def test_stated_noise_passes_the_overall_test_and_twice_the_noise_does_not(bench, bell) -> None:
    b = bench(places=bell(8, 6), diameters=np.full(8, 10.0)).pairs(how="centre")
    assert solve(b.layout(), b.walk()).agrees
    c = bench(places=bell(8, 6), diameters=np.full(8, 10.0), sigma=0.15).pairs(how="centre")
    careless = Layout(readings=tuple(type(r)(**{**_fields(r), "sigma": 0.05}) for r in c.readings))
    found = solve(careless, c.walk())
    assert not found.agrees
    assert found.scale == pytest.approx(3, rel=0.35)


def _fields(r: Reading) -> dict:
    return {k: getattr(r, k) for k in ("how", "first", "second", "value", "at", "sigma", "label")}


def test_a_hole_on_two_readings_may_stand_on_either_side(bench, bell) -> None:
    b = bench(places=bell(7, 7), diameters=np.full(7, 10.0))
    b.pairs([(i, j) for i in range(6) for j in range(i)] + [(6, 0), (6, 1)], how="centre")
    found = solve(b.layout(), b.walk((2, 3, 4)))
    ((moving, there),) = twins(found, b.walk((2, 3, 4)))
    assert moving == ("7",)
    shift = np.linalg.norm(there - found.positions, axis=1)
    assert shift[6] > 10
    assert shift[:6].max() < 0.01


def test_a_hole_on_one_reading_is_loose(bench, bell) -> None:
    b = bench(places=bell(6, 8), diameters=np.full(6, 10.0))
    b.pairs([(i, j) for i in range(5) for j in range(i)] + [(5, 0)], how="centre")
    assert solve(b.layout(), b.walk()).loose == ("6",)


def test_groups_that_nothing_ties_together_are_named(bench, bell) -> None:
    b = bench(places=bell(6, 8), diameters=np.full(6, 10.0)).pairs([(0, 1), (1, 2), (0, 2), (3, 4), (4, 5)])
    with pytest.raises(ValueError, match=r"ties hole 1, hole 2 and hole 3 to hole 4, hole 5 and hole 6"):
        solve(b.layout(), b.walk())


def test_holes_in_a_row_measured_along_the_row_are_not_held_sideways(bench) -> None:
    row = np.array([[x, 0.0] for x in (-90, -20, 40, 100)])
    b = bench(places=row, diameters=np.full(4, 10.0), sigma=0.02).pairs(how="centre")
    found = solve(b.layout(), None)
    assert found.loose
    assert thin_walk(found, Walk(holes=("1", "2", "3"), clockwise=True))


@given(st.integers(4, 16), st.integers(0, 10_000))
@settings(max_examples=25, deadline=None)
def test_exact_distances_give_the_exact_pattern(count: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    places = rng.uniform(-200, 200, (count, 2))
    readings = tuple(
        Reading(
            how="centre",
            first=str(i),
            second=str(j),
            value=float(np.linalg.norm(places[i] - places[j])),
            sigma=0.05,
            label="",
        )
        for i in range(count)
        for j in range(i)
    )
    layout = Layout(readings=readings)
    found = Solution(layout=layout, unknowns=adjust(layout, first_guess(layout)))
    assert abs(found.residuals).max() < 1e-6


@pytest.mark.parametrize(("spare", "table"), [(1, 10.828), (5, 20.515), (10, 29.588), (30, 59.703), (100, 149.449)])
def test_chi_squared_limit_against_tables(spare: int, table: float) -> None:
    # 0.1 % points as printed in statistics tables, and as scipy has them.
    from scipy.stats import chi2

    assert chi2.ppf(0.999, spare) == pytest.approx(table, rel=1e-3)
    assert chi2_limit(spare) == pytest.approx(table, rel=0.035)
