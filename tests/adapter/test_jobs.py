"""Adapters in a job file: the demos are built, wrong requests get one sentence with file, line and key."""

from pathlib import Path

import pytest

from baywright.adapter.generate import generate
from baywright.adapter.rules import check_adapter
from baywright.job.catalogue import load_catalogue
from baywright.job.messages import BadInput
from baywright.job.read import read_job
from baywright.rooms import room

FIVE = room("shared") / "jobs" / "adapter-five-speed.toml"
TRUCK = room("shared") / "jobs" / "adapter-truck-box.toml"


def test_the_five_speed_takes_plate_ring_and_plate_found_from_the_depth_stack() -> None:
    job = read_job(FIVE)
    design = generate("five-speed", job.adapters["five-speed"], job.catalogue)
    assert design.depth.layers == (25.0, 25.0, 25.0)
    gap = next(c for c in design.depth.checks if c.name == "gap before the nose")
    assert gap.value == pytest.approx(4.0)
    assert not [f for f in check_adapter(design) if f.verdict == "fail"]


def test_the_truck_box_takes_one_plate_with_windows() -> None:
    job = read_job(TRUCK)
    design = generate("truck-box", job.adapters["truck-box"], job.catalogue)
    assert design.depth.layers == (20.0,)
    plate = design.piece("adapter plate")
    assert sum(h.callout == "window" for h in plate.holes) >= 6
    assert not [f for f in check_adapter(design) if f.verdict == "fail"]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            'motor = "demo-motor-90"',
            'motor = "demo-motor-9"',
            "five-speed.motor: unknown motor 'demo-motor-9'; did you mean",
        ),
        ('gearbox = "demo-five-speed"', 'gearbox = "six"', "adapters.five-speed.gearbox: unknown gearbox 'six'"),
        ('stock = "alu-6082"', 'stock = "alu-7"', "adapters.five-speed.stock: unknown sheet 'alu-7'"),
        ("end_gap = [3, 5]", "end_gap = [5, 3]", "end_gap: give [least, most]"),
        ("end_gap = [3, 5]", 'edge = "2 mm"', "adapters.five-speed.edge: expected a number"),
        ("end_gap = [3, 5]", "clocking = true", "clocking"),
        ("end_gap = [3, 5]", "endgap = [3, 5]", "unknown key; did you mean 'end_gap'?"),
        ("diameter = 60", "diameter = -60", "coupler.diameter: must be more than 0 mm"),
        ('seat = "2 mm ± 0.1 mm"', "", "coupler.seat: is needed"),
        ('seat = "2 mm ± 0.1 mm"', 'seat = "2 kg"', "does not measure a length"),
        ("[adapters.five-speed", "[adapters.Five_Speed", "use small letters"),
        (
            "end_gap = [3, 5]",
            'pockets = [{ name = "starter", at = [0, 0], diameter = 4, size = [3, 4] }]',
            "pockets 1: give either a diameter or a size",
        ),
    ],
)
def test_wrong_requests_get_one_sentence(tmp_path: Path, old: str, new: str, said: str) -> None:
    text = FIVE.read_text()
    assert old in text
    path = tmp_path / "job.toml"
    path.write_text(text.replace(old, new))
    with pytest.raises(BadInput) as bad:
        read_job(path)
    assert said in str(bad.value)
    assert "job.toml" in str(bad.value)


def test_without_coupler_or_thickness_one_of_them_is_asked_for(tmp_path: Path) -> None:
    text = FIVE.read_text()
    path = tmp_path / "job.toml"
    path.write_text(text[: text.index("[adapters.five-speed.coupler]")])
    with pytest.raises(BadInput, match="give either a thickness, or a coupler"):
        read_job(path)


def test_a_jobs_own_parts_count(tmp_path: Path) -> None:
    (tmp_path / "parts" / "patterns").mkdir(parents=True)
    (tmp_path / "parts" / "gearboxes").mkdir()
    readings = room("shared") / "readings" / "demo-bell.toml"
    (tmp_path / "parts" / "patterns" / "own.txt").write_text(readings.read_text())
    (tmp_path / "parts" / "patterns" / "own.toml").write_text('[own-bell]\nsource = "measured"\nreadings = "own.txt"\n')
    (tmp_path / "parts" / "gearboxes" / "own.toml").write_text(
        '[own-box]\nsource = "measured"\npattern = "own-bell"\nopening = 236\nflange = 12\n'
    )
    path = tmp_path / "job.toml"
    text = FIVE.read_text().replace('gearbox = "demo-five-speed"', 'gearbox = "own-box"\nthickness = 20')
    path.write_text(text[: text.index("[adapters.five-speed.coupler]")])
    job = read_job(path)
    design = generate("five-speed", job.adapters["five-speed"], job.catalogue)
    findings = {f.check: f for f in check_adapter(design)}
    assert findings["bolts pass"].verdict == "pass"
    assert findings["located"].verdict == "fail"  # eight bolts, no dowel: nothing locates this bell
    true = {(h.thread, h.kind) for h in design.given.gearbox_face.holes}
    assert true == {("M10", "through")}


@pytest.mark.parametrize("kind", ["pattern", "motor", "gearbox", "bolt", "fit"])
def test_every_row_of_the_shops_tables_can_be_read(kind: str) -> None:
    catalogue = load_catalogue()
    for name in catalogue.names(kind):
        assert catalogue.row(kind, name).source
