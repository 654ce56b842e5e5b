"""A release names every file behind it: a changed table, part or scan can be told from the manifest."""

import hashlib
import shutil
from pathlib import Path

from baywright.job.read import read_job
from baywright.release.sources import sources

ROOT = Path(__file__).resolve().parents[2]
JOBS = ROOT / "shared" / "jobs"


def test_every_table_is_named_once_with_its_hash() -> None:
    made = sources(read_job(JOBS / "estate.toml"))
    assert made["estate.toml"] == hashlib.sha256((JOBS / "estate.toml").read_bytes()).hexdigest()
    tables = [path for path in made if path.startswith("shop: ")]
    assert "shop: shared/screws.toml" in tables
    assert "shop: parts/modules/demo.toml" in tables
    assert all((ROOT / path.removeprefix("shop: ")).is_file() for path in tables)
    assert list(made) == sorted(made)


def test_a_scan_is_named_with_its_mesh() -> None:
    made = sources(read_job(JOBS / "estate-scanned.toml"))
    scans = [path for path in made if "scans/" in path]
    assert len(scans) == 2, scans
    assert any(path.endswith(".toml") for path in scans)


def test_readings_and_own_parts_are_named_by_their_path_from_the_job(tmp_path: Path) -> None:
    folder = tmp_path / "bell"
    shutil.copytree(JOBS / "measured-bell", folder)
    (folder / "workshop.toml").write_text('name = "ours"\n', encoding="utf-8")
    before = sources(read_job(folder / "job.toml"))
    own = {path for path in before if not path.startswith("shop: ")}
    assert own == {
        "job.toml",
        "workshop.toml",
        "parts/patterns/bell.toml",
        "parts/readings/bell.toml",
        "parts/gearboxes/roadster.toml",
    }
    readings = folder / "parts" / "readings" / "bell.toml"
    readings.write_text(readings.read_text(encoding="utf-8") + "\n# checked again\n", encoding="utf-8")
    after = sources(read_job(folder / "job.toml"))
    assert {path for path in before if before[path] != after[path]} == {"parts/readings/bell.toml"}


def test_nothing_of_the_machine_is_told(tmp_path: Path) -> None:
    (tmp_path / "jobs").mkdir()
    job = (JOBS / "estate-scanned.toml").read_text(encoding="utf-8")
    shutil.copytree(ROOT / "shared" / "scans", tmp_path / "scans")
    (tmp_path / "jobs" / "job.toml").write_text(job, encoding="utf-8")
    made = sources(read_job(tmp_path / "jobs" / "job.toml"))
    assert [path for path in made if path.startswith("elsewhere: ")]
    assert not [path for path in made if str(tmp_path) in path or ".." in path]
