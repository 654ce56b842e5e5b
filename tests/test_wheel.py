"""The wheel: built, unpacked outside the checkout, and used there, with the data that it carries."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    pytest.importorskip("hatchling")
    if not (ROOT / "pyproject.toml").is_file():
        pytest.skip("not run from a checkout")
    folder = tmp_path_factory.mktemp("wheel")
    done = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    (wheel,) = folder.glob("*.whl")
    site = folder / "site"
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(site)
    return site


def test_the_wheel_carries_parts_and_shared(unpacked: Path) -> None:
    rooms = unpacked / "baywright" / "_rooms"
    for room in ("parts", "shared"):
        here = {p.relative_to(ROOT / room) for p in (ROOT / room).rglob("*.toml")}
        there = {p.relative_to(rooms / room) for p in (rooms / room).rglob("*.toml")}
        assert here == there
        assert here
    assert (unpacked / "baywright" / "py.typed").is_file()


def test_the_wheel_reviews_a_job_far_from_the_checkout(unpacked: Path, tmp_path: Path) -> None:
    # -I leaves the editable install's path files in place, so the unpacked copy is put first by hand.
    code = (
        "import sys; sys.path.insert(0, sys.argv.pop(1));"
        "import baywright; assert sys.path[0] in baywright.__file__, baywright.__file__;"
        "from baywright.rooms import room; assert '_rooms' in str(room('parts'));"
        "from baywright.cli import main; main()"
    )
    job = unpacked / "baywright" / "_rooms" / "shared" / "jobs" / "estate.toml"
    done = subprocess.run(
        [sys.executable, "-c", code, str(unpacked), "review", str(job)],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "box front" in done.stdout
