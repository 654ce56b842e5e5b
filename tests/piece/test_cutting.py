"""A cutter's limits: distances against an independent polygon library, and every check made to fail once."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.piece.cutting import corner_turns, cutter_findings, inches, least_web, least_width
from baywright.piece.numbering import distinct
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.shape.loop import circle, polygon, rectangle, slot


def plate(*loops, thickness=3.0, outline=None):
    return Plate(
        role="panel",
        outline=rectangle(0, 0, 200, 120) if outline is None else outline,
        holes=tuple(Hole(face="top", loop=loop, depth=thickness, use="clearance") for loop in loops),
        thickness=thickness,
        material="5754-H22",
        density=2660.0,
    )


def findings(alone, cutter, piece):
    (part,) = distinct(alone(piece))
    return {finding.check: finding for finding in cutter_findings(part, cutter)}


def test_a_good_plate_passes_everything(alone, make_cutter):
    found = findings(alone, make_cutter(), plate(circle(20, 20, 5), slot(100, 60, 8, 30, 40)))
    assert {f.verdict for f in found.values()} == {"pass"}
    assert set(found) == {"units", "least hole", "least web", "repeated edges"}


def test_a_hole_smaller_than_the_cutter_can_is_a_failure(alone, make_cutter):
    cutter = make_cutter(least_hole_to_thickness=1.5)
    assert findings(alone, cutter, plate(circle(20, 20, 4.5)))["least hole"].verdict == "pass"
    bad = findings(alone, cutter, plate(circle(20, 20, 4.4), circle(60, 20, 9)))["least hole"]
    assert (bad.verdict, bad.value, bad.limit) == ("fail", pytest.approx(4.4), pytest.approx(4.5))
    assert bad.margin == pytest.approx(-0.1 / 4.5)
    assert bad.at == pytest.approx((20, 20, 3))
    assert "1 of 2" in bad.message


def test_the_absolute_least_hole_counts_in_thin_sheet(alone, make_cutter):
    found = findings(alone, make_cutter(least_hole=2.5), plate(circle(20, 20, 2.0), thickness=1.0))
    assert found["least hole"].verdict == "fail"


@pytest.mark.parametrize(
    ("loops", "value", "text"),
    [
        ((circle(20, 20, 5), circle(27, 20, 5)), 2.0, "two holes"),
        ((circle(4, 20, 5), circle(50, 20, 5)), 1.5, "a hole and the edge"),
        ((slot(100, 60, 8, 30, 0), circle(100, 67.5, 5)), 1.0, "a hole and a cut-out"),
        ((rectangle(50, 1, 90, 60), circle(150, 60, 5)), 1.0, "a cut-out and the edge"),
        ((rectangle(50, 10, 90, 60), rectangle(92, 10, 110, 60)), 2.0, "two cut-outs"),
        ((circle(20, 20, 5), circle(22, 20, 5)), -3.0, "two holes"),
        ((circle(1, 20, 5),), -1.5, "a hole and the edge"),
        ((circle(-3, 20, 5),), -5.5, "a hole and the edge"),
        ((rectangle(50, 10, 90, 60), circle(70, 30, 5)), -22.5, "a hole and a cut-out"),
    ],
)
def test_thin_webs_are_found_with_their_place(alone, make_cutter, loops, value, text):
    found = findings(alone, make_cutter(least_web_to_thickness=1.0), plate(*loops))["least web"]
    assert found.verdict == "fail"
    assert found.value == pytest.approx(value, abs=2e-3)
    assert text in found.message


def test_a_repeated_hole_is_found(alone, make_cutter):
    twice = findings(alone, make_cutter(), plate(circle(20, 20, 5), circle(20, 20, 5), circle(60, 60, 5)))
    assert (twice["repeated edges"].verdict, twice["repeated edges"].value) == ("fail", 1.0)
    turned = slot(100, 60, 8, 30, 0), slot(100, 60, 8, 30, 180)
    assert findings(alone, make_cutter(), plate(*turned))["repeated edges"].verdict == "fail"


def test_sharp_inner_corners_are_reported_and_round_ones_not(alone, make_cutter):
    cutter = make_cutter(inner_corner_radius=0.8)
    sharp = findings(alone, cutter, plate(rectangle(50, 40, 90, 60)))
    assert sharp["inner corners"].verdict == "look"
    assert "4 sharp" in sharp["inner corners"].message
    assert "inner corners" not in findings(alone, cutter, plate(rectangle(50, 40, 90, 60, 2), circle(20, 20, 5)))
    notched = np.array([(0, 0, 0), (200, 0, 0), (200, 120, 0), (120, 120, 0), (120, 90, 0), (0, 90, 0)], dtype=float)
    assert "1 sharp" in findings(alone, cutter, plate(outline=notched))["inner corners"].message
    assert "inner corners" not in findings(alone, make_cutter(inner_corner_radius=0.0), plate(outline=notched))


def test_a_plate_in_the_wrong_unit_is_looked_at(alone, make_cutter):
    tiny = plate(outline=rectangle(0, 0, 3.9, 20))
    huge = plate(outline=rectangle(0, 0, 7000, 200))
    assert findings(alone, make_cutter(), tiny)["units"].verdict == "look"
    assert findings(alone, make_cutter(), huge)["units"].verdict == "look"
    assert inches(25.4) == "1.000"


def test_blind_holes_are_not_the_cutters(alone, make_cutter):
    piece = plate(circle(20, 20, 1.0), thickness=12.0)
    piece = replace(piece, holes=(replace(piece.holes[0], depth=5.0),))
    assert "least hole" not in findings(alone, make_cutter(), piece)


def test_a_finding_says_where_and_in_what(alone, make_cutter):
    found = findings(alone, make_cutter(), plate(circle(20, 30, 5), circle(27, 34, 5), slot(150, 60, 8, 30)))
    web = found["least web"]
    assert (web.value, web.limit, web.unit, web.source) == (
        pytest.approx(math.hypot(7, 4) - 5),
        3,
        "mm",
        "cutter profile 'laser'",
    )
    assert web.at == pytest.approx((23.5, 32, 3))
    assert found["units"].value == pytest.approx(200)
    assert "200.00 x 120.00 mm (7.874 x 4.724 in)" in found["units"].message
    once = found["repeated edges"]
    assert (once.value, once.limit) == (0, 0)
    assert "4 closed loops, none drawn twice" in once.message


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_least_web_agrees_with_a_polygon_library(make_plate, seed):
    piece = make_plate(seed)
    holes = list(piece.profile.holes)
    if not holes:
        return
    value, _, _ = least_web(piece.outline, holes)
    rings = [shapely.LinearRing(polygon(loop, 1e-4)) for loop in (piece.outline, *holes)]
    tree = min(a.distance(b) for i, a in enumerate(rings) for b in rings[i + 1 :])
    assert value == pytest.approx(tree, abs=3e-3)


def test_widths_and_corners():
    assert least_width(circle(3, 4, 7.5)) == 7.5
    assert least_width(slot(0, 0, 6, 20, 33)) == pytest.approx(6, abs=1e-4)
    assert least_width(rectangle(0, 0, 30, 4)) == pytest.approx(4)
    assert corner_turns(rectangle(0, 0, 30, 4)) == pytest.approx([90] * 4)
    assert corner_turns(rectangle(0, 0, 30, 40, 3)) == pytest.approx([0] * 8, abs=1e-9)
    assert corner_turns(circle(0, 0, 5)) == pytest.approx([0, 0], abs=1e-9)
    assert math.isclose(corner_turns(np.array([(0, 0, 0), (10, 0, 0.0), (10, 10, 1.0)]))[2], 135 - 90, abs_tol=1e-9)
