"""The command `why`, and the page of calculation sheets."""

import json
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from typer.testing import CliRunner

from baywright.cli import app
from baywright.job.messages import BadInput
from baywright.rooms import room
from baywright.strength.box import calculations
from baywright.strength.page import load_path, path_svg, strength_page
from baywright.strength.picture import force_svg

from .conftest import box

JOB = str(room("shared") / "jobs" / "estate.toml")


def run(*args: str):
    return CliRunner().invoke(app, ["why", JOB, *args])


def test_shares_of_every_member():
    got = run()
    assert got.exit_code == 0
    for member in ("module hold-downs", "bearers", "corner joints", "bolts to the car"):
        assert member in got.output
    assert "no approval" in got.output


def test_a_sheet_line_by_line():
    got = run("bearers", "--box", "rear")
    assert got.exit_code == 0
    text = " ".join(got.output.split())
    assert "σ = max(M_v, M_e) / Z_v + M_h / Z_h" in text
    assert "σ_Rd = f_y / γ_y = 150 / 1.1 = 136.36 MPa" in text
    assert "EN 1999-1-1" in text
    assert "% used" in text


def test_review_tells_it_too():
    told = CliRunner().invoke(app, ["review", JOB, "--why", "bearers"])
    assert told.exit_code == 0
    assert told.output == run("bearers").output


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("bearer",), "unknown member 'bearer'; did you mean 'bearers'?"),
        (("bearers", "--box", "frnt"), "unknown box, adapter or set of rails 'frnt'; did you mean 'front'?"),
        (("bearers", "--load", "nothing-known"), "unknown load case of this job"),
    ],
)
def test_wrong_names(args, words):
    got = run(*args)
    assert isinstance(got.exception, BadInput)
    assert words in str(got.exception)


def test_the_page(tmp_path: Path):
    target = tmp_path / "sheets.html"
    assert run("--page", str(target)).exit_code == 0
    text = target.read_text(encoding="utf-8")
    assert "licensed engineer" in text
    assert text.count("<h2>") >= 12
    assert "<script" not in text


@pytest.mark.parametrize("changes", [{"yaw": 90.0}, {"start": "crash-20g", "yaw": 90.0, "count": 5, "columns": 2}])
def test_the_forces_are_drawn_and_in_balance(changes, shop):
    """What the layers and the rest push adds up to the box's mass thrown; what is written is what is drawn."""
    cases = [shop.load("workshop"), shop.load("guideline-20g")]
    design = box(**changes)
    drawing = ET.fromstring(force_svg(design, cases))
    texts = [t.text or "" for t in drawing.iter("{http://www.w3.org/2000/svg}text")]
    assert "20 g forward, case guideline-20g" in texts[0]
    pushed = [float(t.split()[-2]) for t in texts if t.startswith(("layer", "all else"))]
    whole = design.mass_properties.mass * 9.80665 * (20**2 + 1) ** 0.5 / 1000
    assert sum(pushed) == pytest.approx(whole, abs=0.05 * len(pushed))
    held = [float(t.split()[-2]) for t in texts if t.endswith(" kN") and "bolts" not in t and t[0].isdigit()]
    assert sum(held) == pytest.approx(design.mass_properties.mass * 9.80665 * 20 / 1000, abs=0.1)
    assert any(t.startswith("module hold-downs: pass") for t in texts)


def test_the_load_path_is_drawn_and_whole(shop):
    cases = [shop.load("workshop"), shop.load("guideline-20g")]
    for carry in ("ledges", "tie rods"):
        design = box(carry=carry)
        members = {c.member for c in calculations(design, cases)}
        on_path = {m for row in load_path(design) for m in row}
        assert members - on_path <= {"lid", "lid screws", "floor", "long walls", "lift lugs"}
        drawing = ET.fromstring(path_svg(design, cases))
        assert len(drawing.findall("{http://www.w3.org/2000/svg}rect")) == sum(len(row) for row in load_path(design))
    assert strength_page(design, cases, ["a caution"]) == strength_page(design, cases, ["a caution"])
    assert json.dumps(strength_page(design, cases, ["<b>"])).count("&lt;b&gt;") == 1


def test_the_drawing_tells_what_each_member_takes(shop):
    """Every symbol that the list beside the forces looks for is in some calculation of its member."""
    from baywright.strength.picture import _STEPS

    found: dict[str, set[str]] = {}
    for carry in ("ledges", "tie rods"):
        for one in calculations(box(carry=carry), [shop.load("guideline-20g")]):
            found.setdefault(one.member, set()).update(one.working.values)
    for member, symbols in _STEPS:
        assert {symbol for symbol, _ in symbols} <= found[member], member
