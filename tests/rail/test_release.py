"""A set of rails in a release's page, drawings and inspector's sheets."""

import json
import re

import numpy as np
import pytest

from baywright.design import design_job
from baywright.job.read import read_job
from baywright.piece.numbering import distinct, made_parts
from baywright.release.inspection import inspection_pages
from baywright.release.report.page import write_report
from baywright.release.sheets import write_sheets
from baywright.review import review_job
from baywright.rooms import room


@pytest.fixture(scope="module")
def reviewed():
    return review_job(design_job(read_job(room("shared") / "jobs" / "rails-estate.toml")))


def test_the_page_shows_rails_where_they_stand_in_the_car(reviewed, tmp_path):
    text = write_report(reviewed, tmp_path).read_text(encoding="utf-8")
    scene = json.loads(re.search(r'<script id="scene" type="application/json">(.*?)</script>', text, re.S).group(1))
    design = reviewed.design.rails["motor"]
    assert [g["name"] for g in scene["groups"]] == ["rails motor"]
    marks = {item["mark"] for item in scene["items"]}
    assert {"motor", "rail left", "rail right"} <= marks
    stands = next(item["pose"] for item in scene["items"] if item["mark"] == "rail left")
    item = design.assembly.by_mark["rail left"]
    assert np.allclose(stands[9:], design.pose.after(item.pose).shift, atol=1e-3)
    keep = [line for line in scene["lines"] if line["colour"] == "keep" and line["points"]]
    corners = np.reshape(keep[0]["points"], (-1, 3))
    box = design.keep_outs[0]
    assert corners[:24].min(axis=0).tolist() == [c.value for c in box.low]
    assert corners[:24].max(axis=0).tolist() == [c.value for c in box.high]
    for mount in design.mounts:
        assert f'<th scope="row">{mount.name}</th>' in text


def test_every_made_piece_has_a_drawing_and_the_inspector_sees_the_rails(reviewed, tmp_path):
    paths = write_sheets(reviewed, tmp_path)
    parts = made_parts(distinct(reviewed.design.rails["motor"].assembly))
    names = {path.name for path in paths}
    assert len(parts) >= 8
    assert {f"{part.number}_revA.pdf" for part in parts} <= names
    assert "motor-drawings_revA.pdf" in names
    told = " ".join(t.text for page in inspection_pages(reviewed, {}) for t in page.texts())
    assert "NO STRENGTH CHECK" not in told
    assert "rails motor" in told
    assert "486 N·m, both ways" in told  # 700 kg x 9.80665 x 290 mm / 4.1: the tyres let no more through
    assert "kerb" in told
