"""README.md holds what it says: its Python runs, its commands exist, its pictures and files are there."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
README = ROOT / "README.md"

pytestmark = pytest.mark.skipif(not README.is_file(), reason="not run from a checkout")


def test_its_python_runs() -> None:
    (block,) = re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.S)
    # The last line writes the release, which the tests of the build do.
    lines = [line for line in block.splitlines() if not line.startswith("release_job(")]
    done = subprocess.run(
        [sys.executable, "-c", "\n".join(lines)], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    mass = float(done.stdout.split()[0])
    assert mass > 3 * 23.5  # three modules and their box


def test_its_commands_exist() -> None:
    from typer.main import get_command

    from baywright.cli import app

    known = set(get_command(app).commands)  # type: ignore[attr-defined]
    text = README.read_text(encoding="utf-8")
    named = set(re.findall(r"`baywright ([a-z]+)", text))
    assert named
    assert named <= known


def test_its_pictures_and_links_are_there() -> None:
    for target in re.findall(r"\]\(([^)#]+)\)", README.read_text(encoding="utf-8")):
        if "://" not in target:
            assert (ROOT / target).exists(), target
