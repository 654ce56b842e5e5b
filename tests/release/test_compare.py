"""Comparing: nothing differs from itself; every kind of change is named; jobs and releases tell the same."""

import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest

from baywright.design import design_job
from baywright.job.messages import BadInput
from baywright.job.read import read_job
from baywright.release.assemble import release_assembly
from baywright.release.bom import write_mass
from baywright.release.compare import compare
from baywright.release.compared import overlay, source_lines, write_comparison
from baywright.release.job import VEHICLE, _write_review
from baywright.release.manifest import write_manifest
from baywright.release.sources import sources
from baywright.release.stand import MadePiece, Stand, read_stand
from baywright.review import review_job
from baywright.rooms import room
from baywright.shape.loop import circle, rectangle, slot

JOB = room("shared") / "jobs" / "estate.toml"


@pytest.fixture(scope="module")
def old():
    return read_stand(JOB)


@pytest.fixture
def changed_job(tmp_path):
    """A function that writes the demo job with some text replaced, and returns the file."""

    def write(before: str, after: str):
        text = JOB.read_text(encoding="utf-8")
        assert before in text
        path = tmp_path / "estate.toml"
        path.write_text(text.replace(before, after, 1), encoding="utf-8")
        return path

    return write


def stand(*pieces: MadePiece) -> Stand:
    return Stand(
        name="x",
        revision="A",
        made={p.number: p for p in pieces},
        bought={},
        masses={},
        balance=dict.fromkeys(("mass", "front", "rear", "front_share", "x", "y", "z")),
    )


def piece(
    number="a-panel-A", holes=((20, 20, 5), (40, 20, 5)), size=(100, 50), quantity=1, material="alu"
) -> MadePiece:
    loops = (rectangle(0, 0, *size), *(circle(*hole) for hole in holes))
    text = f"{size[0]:.2f} x {size[1]:.2f} x 3"
    return MadePiece(
        number=number, what="panel", material=material, size=text, quantity=quantity, mass=1.0, views={"": loops}
    )


def only(old: MadePiece, new: MadePiece):
    changes = compare(stand(old), stand(new))
    assert len(changes.pieces) == 1
    return changes.pieces[0]


def test_nothing_differs_from_itself(old):
    changes = compare(old, read_stand(JOB))
    assert changes.same == len(old.made) > 30
    assert not changes.pieces
    assert not changes.bought
    assert not changes.masses
    assert all(a == b for _, a, b, _ in changes.balance)


def test_every_kind_of_change_is_named():
    assert only(piece(), piece(holes=((20, 20, 5), (41, 20, 5)))).again == "make again"
    assert "1 hole moved by up to 1.00 mm" in only(piece(), piece(holes=((20, 20, 5), (41, 20, 5)))).told
    assert only(piece(), piece(holes=((20, 20, 5),))).again == "make again"
    more = only(piece(), piece(holes=((20, 20, 5), (40, 20, 5), (60, 20, 6.6))))
    assert (more.again, more.told) == ("drill more", ("1 hole more",))
    wider = only(piece(), piece(holes=((20, 20, 5), (40, 20, 6.6))))
    assert wider.again == "make again", "a hole that went and another that came in its place is no mere addition"
    assert only(piece(), piece(size=(101, 50))).again == "make again"
    assert only(piece(), piece(material="steel")).told == ("alu → steel",)
    assert only(piece(), piece(quantity=3)).again == "make more"
    assert only(piece(quantity=3), piece()).again == "make fewer"


def test_a_hole_within_what_a_shop_can_see_has_not_moved():
    assert not compare(stand(piece()), stand(piece(holes=((20.0005, 20, 5), (40, 20, 5))))).pieces


def outlined(*corners: tuple[float, float]) -> MadePiece:
    return replace(piece(), views={"": (np.array([(x, y, 0.0) for x, y in corners]),)})


def test_another_outline_of_the_same_size_is_named_even_if_it_is_the_mirror_image():
    """A corner cut off, on the left or on the right, at one end or both: the same size, some of the same area."""
    whole = outlined((0, 0), (100, 0), (100, 50), (0, 50))
    left = outlined((0, 0), (100, 0), (100, 50), (10, 50), (10, 40), (0, 40))
    right = outlined((0, 0), (100, 0), (100, 40), (90, 40), (90, 50), (0, 50))
    rising = outlined((10, 0), (100, 0), (100, 40), (90, 50), (0, 50), (0, 10))
    falling = outlined((0, 0), (90, 0), (100, 10), (100, 50), (10, 50), (0, 40))
    for one, other in ((whole, left), (left, right), (right, left), (rising, falling)):
        found = only(one, other)
        assert (found.again, found.told) == ("make again", ("another outline",))
    for same in (whole, left, rising):
        assert not compare(stand(same), stand(same)).pieces
    # Walked from another corner it is the same outline; a slot that leans the other way is another hole.
    again = replace(left, views={"": (np.roll(left.views[""][0], 2, axis=0),)})
    assert not compare(stand(left), stand(again)).pieces
    leaning = [replace(piece(), views={"": (rectangle(0, 0, 100, 50), slot(50, 25, 6, 20, a))}) for a in (30, -30)]
    assert only(*leaning).again == "make again"
    shifted = replace(piece(), views={"": (rectangle(0, 0, 100, 50), slot(52, 25, 6, 20, 30))})
    assert only(leaning[0], shifted).told == ("1 hole moved by up to 2.00 mm",)


def test_new_gone_and_renumbered_parts():
    other = piece("a-panel-B", size=(70, 50))
    changes = compare(stand(piece(), other), stand(piece("a-panel-A", size=(70, 50))))
    assert [(c.again, c.number) for c in changes.pieces] == [("renumber", "a-panel-A"), ("drop", "a-panel-A")]
    assert changes.pieces[0].told == ("was a-panel-B",)
    found = compare(stand(piece()), stand(piece(), other)).pieces
    assert [(c.again, c.number) for c in found] == [("make", "a-panel-B")]
    elsewhere = piece("b-panel-A")
    assert {c.again for c in compare(stand(piece()), stand(elsewhere)).pieces} == {"make", "drop"}


def test_one_fitting_less_changes_one_wall_and_its_liner(old, changed_job):
    path = changed_job(
        '"coolant-14", "coolant-14", "breather-m12", "burst-vent-40", "earth',
        '"coolant-14", "breather-m12", "burst-vent-40", "earth',
    )
    changes = compare(old, read_stand(path))
    again = {c.number for c in changes.pieces if c.again == "make again"}
    assert "front-end-wall-A" in again
    assert not any(number.startswith("rear") for number in again)
    assert not any("floor" in number or "lid" in number for number in again)
    assert any(name == "coolant-14" and after == before - 1 for _, name, before, after, _ in changes.bought)
    assert [name for name, *_ in changes.masses] == ["box front"]
    mass = next(row for row in changes.balance if row[0] == "mass")
    assert 0 < mass[1] - mass[2] < 1


@pytest.fixture(scope="module")
def release(tmp_path_factory):
    """The demo's front and rear box as files, without solids and sheets: what a comparison reads."""
    folder = tmp_path_factory.mktemp("estate")
    reviewed = review_job(design_job(read_job(JOB)))
    job = reviewed.design.job
    for box in reviewed.design.boxes.values():
        (folder / box.name).mkdir()
        cutter = job.catalogue.cutter(job.asked.cutter)
        release_assembly(box.assembly, folder=folder, cutter=cutter, revision="A", solids=False)
    write_mass(folder / "mass.json", job.name, VEHICLE, [(n, 1, p) for n, p in reviewed.design.carried])
    _write_review(reviewed, folder / "review.json")
    write_manifest(folder, job.digest, "A", sources(job))
    return folder


def test_a_release_tells_the_same_as_its_job(old, release):
    changes = compare(old, read_stand(release))
    assert [(c.number, c.told) for c in changes.pieces] == []
    assert changes.sources == ()
    assert changes.same == len(old.made)
    assert not changes.bought
    assert not changes.masses
    for _, a, b, _ in changes.balance:
        assert b == pytest.approx(a, abs=1e-3)


def test_a_release_and_a_changed_job(release, changed_job):
    path = changed_job("count = 5", "count = 4")
    changes = compare(read_stand(release), read_stand(path))
    assert any(c.number == "rear-long-wall-A" and c.again == "make again" for c in changes.pieces)
    assert any(name == "m590" and after == before - 1 for _, name, before, after, _ in changes.bought)


def test_what_is_neither_is_refused_in_a_sentence(tmp_path, release):
    (tmp_path / "notes.txt").write_text("x")
    (tmp_path / "half").mkdir()
    (tmp_path / "half" / "manifest.json").write_text((release / "manifest.json").read_text())
    for path in (tmp_path / "nothing", tmp_path / "notes.txt", tmp_path, tmp_path / "half"):
        with pytest.raises(BadInput) as bad:
            read_stand(path)
        assert len(str(bad.value).splitlines()) == 1


def test_the_page_shows_every_changed_piece(old, changed_job, tmp_path):
    path = changed_job("count = 5", "count = 4")
    changes = compare(old, read_stand(path))
    page, table = write_comparison(changes, tmp_path / "out")
    text = page.read_text(encoding="utf-8")
    for change in changes.pieces:
        assert change.number in text
        for part in overlay(change).split("</svg>")[:-1]:
            ET.fromstring(part + "</svg>")
    assert 'stroke-dasharray="6 3"' in text
    assert len(table.read_text(encoding="utf-8").splitlines()) == len(changes.pieces) + 1


def test_the_command(changed_job, tmp_path):
    path = changed_job("count = 5", "count = 4")

    def run(*words):
        code = "import sys; from baywright.cli import main; main()"
        return subprocess.run(
            [sys.executable, "-c", code, "compare", *map(str, words)], capture_output=True, text=True, timeout=120
        )

    done = run(JOB, path, "--out", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    assert "must be made" in done.stdout
    assert (tmp_path / "out" / "changes.html").is_file()
    bad = run(JOB, tmp_path / "missing")
    assert bad.returncode == 2
    assert "Traceback" not in bad.stderr


def test_a_file_behind_both_that_was_changed_is_named():
    was = {"job.toml": "1", "shop: shared/screws.toml": "2", "gone.toml": "3"}
    now = {"job.toml": "1", "shop: shared/screws.toml": "4", "new.toml": "5"}
    changes = compare(replace(stand(), sources=was), replace(stand(), sources=now))
    assert changes.sources == ("shop: shared/screws.toml",)
    assert source_lines(changes) == ["Changed between them: shop: shared/screws.toml."]
