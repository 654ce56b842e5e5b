"""The bill of materials adds up to the assembly's mass, line by line."""

import json
import math

import numpy as np
import pytest

from baywright.piece.numbering import distinct
from baywright.release.bom import bom, ledger, write_bom, write_mass
from baywright.release.table import read_table
from baywright.shape.mass import combine


def test_the_lines_add_up_to_the_mass(box):
    lines = bom(box, distinct(box))
    assert sum(n.mass for n in lines if n.mass is not None) == pytest.approx(box.mass_properties.mass, rel=1e-12)
    for line in lines:
        if line.mass is not None:
            assert line.mass == pytest.approx(line.unit_mass * line.quantity, rel=1e-12)


def test_the_ledger_adds_up_to_mass_centroid_and_inertia(box):
    """Parts counted by number in their corrected poses give what pieces in their own places give."""
    whole = combine(one for _, _, one in ledger(box, distinct(box)))
    wanted = box.mass_properties
    assert whole.mass == pytest.approx(wanted.mass, rel=1e-12)
    assert whole.centroid == pytest.approx(wanted.centroid, abs=1e-9)
    # Bought things are even blocks here; only their own turns could differ, and these screws look alike both ways.
    assert np.allclose(whole.inertia, wanted.inertia, rtol=1e-9, atol=1e-6)


def test_screws_and_what_goes_with_them_are_counted(box):
    count = {n.name: n.quantity for n in bom(box, distinct(box)) if n.group == "screws"}
    assert count == {"socket screw M5x10": 48, "socket screw M5x16": 6, "washer 5": 54, "rivet nut M5": 6}


def test_adhesive_in_the_joints_and_to_buy(box):
    lines = bom(box, distinct(box), squeeze_out=0.5)
    (inside,) = (n for n in lines if n.group == "adhesive")
    (buy,) = (n for n in lines if n.name == "two-part epoxy, to buy")
    volume = box.adhesive_volume() / 1000
    assert inside.quantity == pytest.approx(volume, rel=1e-12)
    assert inside.mass == pytest.approx(volume * 1.1e-3, rel=1e-12)
    assert buy.quantity == pytest.approx(1.5 * volume, rel=1e-12)
    assert buy.mass is None


def test_what_is_bought_by_the_length(box):
    lines = {n.name: n for n in bom(box, distinct(box)) if n.group == "to buy"}
    assert (lines["angle 25x25x3"].quantity, lines["angle 25x25x3"].unit) == (1, "bars")
    outer, inner = 2 * (420 + 260), 2 * (370 + 210)
    assert lines["gasket"].quantity == pytest.approx((outer + inner) / 2000)
    assert (lines["gasket"].unit, lines["gasket"].size) == ("m", "25 x 2.1")


def test_the_file_reads_back_and_adds_up(box, tmp_path):
    rows = read_table(write_bom(bom(box, distinct(box)), tmp_path))
    total = sum(float(r["total mass kg"]) for r in rows if r["total mass kg"])
    assert total == pytest.approx(box.mass_properties.mass, abs=1e-6 * len(rows))
    assert rows[0]["group"] == "cut plates"
    assert {r["group"] for r in rows} >= {
        "cut plates",
        "extrusions",
        "bought",
        "screws",
        "adhesive",
        "to buy",
        "gasket",
    }
    assert [r["quantity"] for r in rows if r["number"] == "front-long-wall-A"] == ["2"]


def test_mass_file_says_frame_and_lines(box, tmp_path):
    path = write_mass(tmp_path / "mass.json", "front", "box frame", ledger(box, distinct(box)))
    text = json.loads(path.read_text(encoding="utf-8"))
    assert text["frame"] == "box frame"
    assert text["mass"] == pytest.approx(box.mass_properties.mass, abs=1e-9)
    assert math.fsum(line["mass"] for line in text["lines"]) == pytest.approx(text["mass"], abs=1e-7)
    assert np.linalg.eigvalsh(np.array(text["inertia"])).min() > 0
