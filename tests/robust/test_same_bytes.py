"""The same job gives the same bytes: in other folders, time zones, locales, hash seeds and Pythons.

Other Pythons with baywright in them are named by hand: BAYWRIGHT_PYTHONS=/a/bin/python:/b/bin/python
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
JOB = ROOT / "shared" / "jobs" / "starter.toml"
OTHERS = [path for path in os.environ.get("BAYWRIGHT_PYTHONS", "").split(":") if path]


def build(python: str, folder: Path, **env: str) -> list[dict[str, object]]:
    """Build the starter job in a folder; return what its manifest lists, and with what it was written."""
    folder.mkdir(parents=True)
    code = f"import sys; sys.path.insert(0, {str(ROOT / 'generators')!r}); from baywright.cli import main; main()"
    done = subprocess.run(
        [python, "-c", code, "build", str(JOB), "--out", "out"],
        cwd=folder,
        env={"PATH": "/usr/bin:/bin", "HOME": str(folder), **env},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode in (0, 1), done.stderr
    assert "Traceback" not in done.stderr, done.stderr
    return json.loads((folder / "out" / "manifest.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("python", OTHERS)
def test_another_python_writes_the_same_bytes(tmp_path, python):
    here = build(sys.executable, tmp_path / "here", TZ="UTC", PYTHONHASHSEED="0")
    there = build(python, tmp_path / "an other" / "place", TZ="Asia/Kathmandu", PYTHONHASHSEED="77", LC_ALL="C")
    if here["written with"] != there["written with"]:
        pytest.skip(f"other libraries: {there['written with']}")
    assert here == there


def test_the_manifest_names_what_the_bytes_depend_on(tmp_path):
    from importlib.metadata import version

    from baywright.release.manifest import write_manifest

    text = json.loads(write_manifest(tmp_path, "0" * 64, "A").read_text(encoding="utf-8"))
    assert text["written with"]["ezdxf"] == version("ezdxf")
    assert {"matplotlib", "reportlab", "xlsxwriter"} <= set(text["written with"])
    assert any(name.startswith("cadquery-ocp") for name in text["written with"])
