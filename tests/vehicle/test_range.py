"""Range: what must always hold, and what a person reads."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright.figure import save_figure
from baywright.job.drive import Road
from baywright.vehicle.range import range_figure, range_finding, ranges
from baywright.vehicle.road import Losses, RoadLoad, cycle, road_of, steady, trip

LOAD = RoadLoad(mass=1100.0, drag_area=0.7, rolling=0.012, rotating=0.04)
LOSSES = Losses()


def test_defaults_are_the_jobs():
    load, losses = road_of(Road(), 925.0)
    assert load == RoadLoad(mass=1000.0, drag_area=0.64, rolling=0.012, air_density=1.2, rotating=0.04)
    assert losses == Losses()


@given(st.floats(600, 2500), st.floats(0.4, 1.5), st.floats(0.006, 0.02), st.floats(0.5, 0.99), st.floats(0, 1))
def test_energy_is_kept(mass, drag, rolling, driving, share):
    """What leaves the pack is what the wheels take over the efficiency, less what braking gives back, and the rest."""
    load = RoadLoad(mass=mass, drag_area=drag, rolling=rolling, rotating=0.05)
    losses = Losses(driving=driving, regeneration=0.7, share=share, most=1e6, auxiliary=0.4)
    found = trip(load, losses, "udds")
    expected = found.driving / driving + found.braking * share * 0.7 + 0.4 * found.hours
    assert found.pack == pytest.approx(expected, rel=1e-9)


def test_the_motors_limit_on_braking():
    free, held = (trip(LOAD, replace(LOSSES, most=most), "udds").pack for most in (1e6, 3.0))
    assert held > free
    assert trip(LOAD, replace(LOSSES, most=0.0), "udds").pack == pytest.approx(
        trip(LOAD, replace(LOSSES, share=0.0), "udds").pack
    )


def test_range_falls_with_speed_mass_and_drag():
    speeds = np.array([60.0, 80.0, 100.0, 120.0])
    use = steady(LOAD, LOSSES, speeds)
    assert (np.diff(use) > 0).all()
    for heavier in (replace(LOAD, mass=1300.0), replace(LOAD, drag_area=0.9)):
        assert (steady(heavier, LOSSES, speeds) > use).all()
        assert ranges(20.0, heavier, LOSSES).everyday.km < ranges(20.0, LOAD, LOSSES).everyday.km


def test_slopes():
    level, up, down = (float(steady(LOAD, LOSSES, 60.0, slope)) for slope in (0.0, 0.05, -0.08))
    assert up > level > 0 > down
    # m g sin, on the pack's side of the driveline.
    rise = LOAD.mass * 9.80665 * 0.05 / np.sqrt(1 + 0.05**2) / 3.6 / LOSSES.driving
    assert up - level == pytest.approx(rise, rel=1e-3)


def test_every_range_is_energy_over_use():
    found = ranges(24.0, LOAD, LOSSES)
    for row in found.rows:
        assert row.km * row.per_km == pytest.approx(24_000.0)
    assert found.cold.km < found.everyday.km < found.mixed.km
    assert found.everyday.km == pytest.approx(0.7 * found.mixed.km)
    assert [r.name for r in found.steady] == [f"steady {v} km/h" for v in (50, 80, 100, 110, 130)]


@pytest.mark.parametrize(("share", "verdict"), [(0.85, "pass"), (0.95, "look"), (1.05, "fail")])
def test_a_wanted_range(share, verdict):
    found = ranges(24.0, LOAD, LOSSES)
    finding = range_finding(found, found.everyday.km * share)
    assert finding.verdict == verdict
    if verdict == "fail":
        assert f"{0.05 * 24:.1f} kWh more" in finding.message
    assert range_finding(found, None).verdict == "pass"


def test_nonsense_is_refused():
    with pytest.raises(ValueError, match="nowhere"):
        ranges(0.0, LOAD, LOSSES)
    with pytest.raises(ValueError, match="more than 0 km/h"):
        ranges(20.0, LOAD, LOSSES, speeds=(0.0,))
    with pytest.raises(ValueError, match="known: udds, hwfet"):
        cycle("nedc")


def test_the_picture_is_written_the_same_twice(tmp_path):
    found = ranges(24.0, LOAD, LOSSES)
    for name in ("a.png", "b.png"):
        save_figure(range_figure(found, LOAD, LOSSES), tmp_path / name)
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()
