"""Thread engagement: worked values, and that plates hold what they say.

M8, class 8.8 (29.29 kN) in 6061-T6 of 207 MPa shear strength strips under 6.43 mm: worked with
A = pi d Le / P (P/2 + (d - d2)/sqrt 3) = 21.99 mm² for each mm (Alexander 1977, VDI 2230 form with nominal diameters).
"""

import math

import pytest

from baywright.adapter.engagement import engagement_for, least_engagement, strip_area, strip_load
from baywright.adapter.thread import thread_of, threads
from baywright.job.catalogue import load_catalogue

CATALOGUE = load_catalogue()


def test_worked_value() -> None:
    assert strip_area(8, 1) == pytest.approx(21.99, abs=0.005)
    assert engagement_for(29_290, 8, 207) == pytest.approx(6.43, abs=0.01)
    assert strip_load(8, 6.43, 207) == pytest.approx(29_290, rel=2e-3)


@pytest.mark.parametrize("name", threads(CATALOGUE))
def test_the_share_that_shears_is_the_threads_own(name: str) -> None:
    """0.875 follows from any 60 degree thread's pitch diameter d2 = d - 0.649519 P."""
    thread = thread_of(CATALOGUE, name)
    p, d, d2 = thread.row.pitch, thread.diameter, thread.row.pitch_diameter
    exact = math.pi * d / p * (p / 2 + (d - d2) / math.sqrt(3))
    assert strip_area(d, 1.0) == pytest.approx(exact, rel=2e-3)


@pytest.mark.parametrize("name", threads(CATALOGUE))
def test_every_bolt_breaks_before_two_diameters_of_common_plate_strip(name: str) -> None:
    thread = thread_of(CATALOGUE, name)
    assert 0.5 * thread.diameter < least_engagement(thread, thread.usual_class(), 174) < 2 * thread.diameter


@pytest.mark.parametrize("name", threads(CATALOGUE))
def test_tables_hold_together(name: str) -> None:
    thread = thread_of(CATALOGUE, name)
    row, d = thread.row, thread.diameter
    assert row.minor_diameter < row.tap_drill < row.pitch_diameter < d < row.clearance.fine
    assert row.clearance.fine < row.clearance.medium < row.clearance.coarse
    assert row.pitch_diameter == pytest.approx(d - 0.649519 * row.pitch, abs=2e-3)
    assert row.minor_diameter == pytest.approx(d - 1.226869 * row.pitch, abs=2e-3)
    # ISO 898-1 takes the mean of d2 and d3, ASME B1.1 a little less.
    less = 0.9382 if name.startswith("M") else 0.9743
    assert row.stress_area == pytest.approx(math.pi / 4 * (d - less * row.pitch) ** 2, rel=6e-3)
    assert row.cap.head_diameter < row.counterbore.diameter
    assert row.washer.inside >= d
    for grade in row.proof_load:
        assert row.proof_load[grade] < row.ultimate_load[grade]
        assert row.proof_load[grade] / row.stress_area == pytest.approx(
            {"8.8": 580, "10.9": 830, "12.9": 970, "grade 5": 586, "grade 8": 827}[grade], rel=0.04
        )
    assert row.lengths == sorted(row.lengths)
