"""A lift lug by hand: two of four carry, each half of the box's weight twice; beam tables, elastic method (Shigley).

Angle 50 x 50 x 5 of 6060-T66 (150 MPa), 50 mm long, its eye on the gauge line 27.5 mm from the heel; four screws M6 in
two rows 19 mm apart and 26 mm along, through a wall of 3 mm into a doubler of 5 mm of 5754-H22 (220 MPa).
"""

import math

import pytest

from baywright.strength.lifting import lifting

from .conftest import bench, box, known

G = 9.80665


def test_a_lug_by_hand():
    design = box(count=5, columns=2)
    got = known(lifting(bench(design, (0.0, 0.0, -2 * G), "lifting")))
    force = design.mass_properties.mass * 2 * G / 2
    leg = got["lift lugs", "leg in bending"]
    # The eye of 14 mm, and 1 in 2 to each side over leg and arm: 41.5 of the 50 mm bend.
    assert leg.demand == pytest.approx(6 * force * (27.5 - 5) / ((14 + 5 + 22.5) * 5**2))
    assert leg.resistance == pytest.approx(150 / 1.1)
    screws = got["lift lugs", "screws alone"]
    v = screws.working.values
    # The eye 22.5 mm out of the face under the heads, in the middle along: the lower row is pushed on.
    pull = force * 22.5 / (2 * 19)
    assert (v["V"], v["N"]) == pytest.approx((force / 4, pull))
    together = force / 4 / (0.6 * 16_100 / 1.25) + pull / (1.4 * 0.9 * 16_100 / 1.25)
    thread = 0.6 * 220 / 1.25 * math.pi * 6 * 5 * (0.5 + (6 - 5.350) / math.sqrt(3))
    assert v["F_s_Rd"] == pytest.approx(thread, rel=1e-6)
    assert v["F_b_Rd_w"] == pytest.approx(2.5 * 12 / 19.8 * 220 * 6 * 3 / 1.25)
    assert screws.use == pytest.approx(max(together, pull / thread, force / 4 / v["F_b_Rd_w"]))
    for one in (leg, screws):
        assert one.piece == "lift lug right 1"
        assert one.at == pytest.approx((-229.0, 287.25, 390.75))


def test_a_box_without_lugs():
    assert list(lifting(bench(box(lift=False), (0.0, 0.0, -2 * G), "lifting"))) == []
