"""What a build leaves when it is killed, when the disk is full, when two run at once. `kills.py` kills at random."""

import importlib.util
import json
import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="signals, process groups and limits the Linux way")


def _kills():
    spec = importlib.util.spec_from_file_location("kills", Path(__file__).with_name("kills.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


kills = _kills()


@pytest.fixture
def out(tmp_path) -> Path:
    """A release's place, with an earlier small release in it."""
    from baywright.release.folder import release_folder
    from baywright.release.manifest import write_manifest

    with release_folder(tmp_path / "out") as folder:
        (folder / "old.txt").write_text("old")
        write_manifest(folder, "0" * 64, "OLD")
    return tmp_path / "out"


def revision(out: Path) -> str:
    return json.loads((out / "manifest.json").read_text())["revision"]


def until_writing(run, out: Path) -> None:
    """Wait until a build has begun to write."""
    while run.poll() is None and not any(out.parent.glob(".out.new*/*")):
        time.sleep(0.02)
    time.sleep(0.5)


def test_a_killed_build_leaves_the_last_release_and_no_process(tmp_path, out):
    run = kills.start(kills.job_file(tmp_path, "B"), out)
    until_writing(run, out)
    kills.strike(run, "SIGKILL", random.Random(0))
    said, wrong = kills.left(run, out)
    assert not wrong, said
    assert revision(out) == "OLD"


def test_a_full_disk_leaves_the_last_release(tmp_path, out):
    limit = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (4000, 4000)); "  # no file may grow beyond
    code = limit + "from baywright.cli import main; main()"
    job = kills.job_file(tmp_path, "B")
    done = subprocess.run(
        [sys.executable, "-c", code, "build", str(job), "--out", str(out)],
        env={key: value for key, value in os.environ.items() if not key.startswith("COVERAGE_")},  # it too would write
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1, done.stdout + done.stderr
    assert "Traceback" not in done.stdout + done.stderr
    assert "no release was made" in done.stderr
    assert revision(out) == "OLD"
    assert kills.litter(out) == []


def test_of_two_builds_at_once_one_is_refused_and_one_stops_when_asked_to(tmp_path, out):
    first = kills.start(kills.job_file(tmp_path, "B"), out)
    until_writing(first, out)
    second = kills.start(kills.job_file(tmp_path, "C"), out)
    said, _ = second.communicate()
    assert second.returncode == 1
    assert "another run is writing to this folder" in " ".join(said.split())
    kills.strike(first, "SIGTERM", random.Random(0))
    said, wrong = kills.left(first, out)
    assert not wrong, said
    assert revision(out) == "OLD"
    assert kills.litter(out) == []
    assert first.returncode == 143
    assert said.rstrip().endswith("stopped")


def test_a_command_that_may_not_write_says_so(tmp_path):
    code = "from baywright.cli import main; main()"
    page = "/proc/no-such/page.html"
    job = kills.ROOT / "shared" / "jobs" / "starter.toml"
    done = subprocess.run(
        [sys.executable, "-c", code, "why", str(job), "--page", page], capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert page in done.stderr
