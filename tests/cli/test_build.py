"""A build from job file to release: what is in it, and that it is the same every time."""

import csv
import hashlib
import json
import subprocess
import sys
from pathlib import Path

import pytest

from baywright.release.manifest import verify_manifest
from baywright.rooms import room

pytest.importorskip("OCP")

DEMO = room("shared") / "jobs" / "estate.toml"
ADAPTER = room("shared") / "jobs" / "adapter-five-speed.toml"


def build(out: Path, *more: str, seed: str = "0") -> subprocess.CompletedProcess[str]:
    """Build the demo into a folder."""
    return subprocess.run(
        [sys.executable, "-c", "from baywright.cli import main; main()", "build", str(DEMO), "--out", str(out), *more],
        capture_output=True,
        text=True,
        check=False,
        env={"PYTHONHASHSEED": seed, "PATH": "/usr/bin:/bin", "TZ": "Asia/Tokyo" if seed != "0" else "UTC"},
        cwd=out.parent,
    )


@pytest.fixture(scope="module")
def release(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("release") / "estate"
    done = build(out)
    assert done.returncode == 0, done.stderr
    assert "Above 60 V DC" in done.stdout
    return out


def digests(folder: Path) -> dict[str, str]:
    return {
        p.relative_to(folder).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


def test_a_release_holds_every_kind_of_file(release: Path) -> None:
    assert verify_manifest(release) == []
    for box in ("front", "rear"):
        for pattern in (
            "cut/*.dxf",
            "drill/*.dxf",
            "solid/*.step",
            f"{box}.step",
            "bom.csv",
            "mass.json",
            "picture.png",
        ):
            assert list((release / box).glob(pattern)), pattern
    assert (release / "CAUTIONS.txt").read_text(encoding="utf-8")
    assert json.loads((release / "review.json").read_text(encoding="utf-8"))["verdict"] in ("pass", "look")


def test_the_boxes_mass_is_the_same_everywhere(release: Path) -> None:
    """The bill of materials, the mass file and the balance say the same."""
    job = json.loads((release / "mass.json").read_text(encoding="utf-8"))
    total = 0.0
    for box in ("front", "rear"):
        with (release / box / "bom.csv").open(encoding="utf-8", newline="") as file:
            listed = sum(float(row["total mass kg"] or 0) for row in csv.DictReader(file))
        own = json.loads((release / box / "mass.json").read_text(encoding="utf-8"))
        assert listed == pytest.approx(own["mass"], abs=1e-4)
        total += own["mass"]
    assert job["mass"] == pytest.approx(total, rel=1e-6)


def test_one_system_whether_three_modules_or_five(release: Path) -> None:
    """Front and rear differ in count and stacks; their feet are cut from the same section to the same length."""
    feet = []
    for box in ("front", "rear"):
        with (release / box / "bom.csv").open(encoding="utf-8", newline="") as file:
            feet.append({(r["name"], r["size"], r["material"]) for r in csv.DictReader(file) if r["name"] == "foot"})
    assert feet[0] == feet[1]
    assert feet[0]


def test_the_same_job_gives_the_same_bytes(release: Path, tmp_path: Path) -> None:
    done = build(tmp_path / "again", seed="12345")
    assert done.returncode == 0, done.stderr
    assert digests(tmp_path / "again") == digests(release)


def test_one_box_alone(tmp_path: Path) -> None:
    done = build(tmp_path / "one", "--only", "front")
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "one" / "front").is_dir()
    assert not (tmp_path / "one" / "rear").exists()
    wrong = build(tmp_path / "two", "--only", "frnt")
    assert wrong.returncode == 2
    assert "did you mean 'front'" in wrong.stderr


def test_an_adapter_is_released_with_its_sheets(tmp_path: Path) -> None:
    out = tmp_path / "adapter"
    done = subprocess.run(
        [sys.executable, "-c", "from baywright.cli import main; main()", "build", str(ADAPTER), "--out", str(out)],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    (folder,) = [p for p in out.iterdir() if (p / "bom.csv").is_file()]
    assert verify_manifest(out) == []
    for pattern in ("cut/*.dxf", "*.step", "paper-template.pdf", "both-circles.png", "depth-stack.png", "*.csv"):
        assert list(folder.glob(pattern)), pattern
    assert (folder / "paper-template.pdf").read_bytes().startswith(b"%PDF")
