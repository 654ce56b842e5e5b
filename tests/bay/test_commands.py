"""The commands about bays, as a person runs them, on the demo's job with the demo's scan."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

import baywright.cli.clear
import baywright.cli.fill
import baywright.cli.mockup
import baywright.cli.place
import baywright.cli.scan
import baywright.cli.wayin  # noqa: F401  each registers its command
from baywright.cli import app
from baywright.job.messages import BadInput

ROOT = Path(__file__).resolve().parents[2]
JOB, SCAN = str(ROOT / "shared" / "jobs" / "estate.toml"), str(ROOT / "shared" / "scans" / "estate-engine.toml")


def run(*words: str, code: tuple[int, ...] = (0, 1)) -> str:
    result = CliRunner().invoke(app, list(words), env={"COLUMNS": "200"})
    assert result.exit_code in code, (result.output, result.exception)
    return result.output


def test_scan():
    out = run("scan", SCAN, code=(0,))
    assert "19,764 triangles" in out
    assert "left strut top" in out
    assert "trust" in out


def test_clear_with_both_pictures(tmp_path):
    section, chart = tmp_path / "s.png", tmp_path / "m.svg"
    out = run("clear", JOB, "--box", "front", "--scan", SCAN, "--picture", str(section), "--map", str(chart))
    assert "tightest places" in out
    assert "measure next" in out
    assert section.read_bytes()[:4] == b"\x89PNG"
    assert b"<svg" in chart.read_bytes()


def test_place():
    out = run("place", JOB, "--box", "front", "--bay", "engine", "--no-rooms")
    assert "clearance for certain" in out


def test_fill():
    out = run("fill", JOB, "--box", "front", "--bay", "engine")
    assert "bay engine takes" in out
    assert "why not one more" in out


def test_wayin(tmp_path):
    pytest.importorskip("fcl")
    out = run("wayin", JOB, "--box", "front", "--empty", "--picture", str(tmp_path / "w.png"))
    assert "on the hoist: empty box" in out
    assert "module by module" in out


def test_mockup(tmp_path):
    out = run("mockup", JOB, str(tmp_path / "m.dxf"), code=(0,))
    assert "mm flat" in out
    assert (tmp_path / "m.dxf").stat().st_size > 1000


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("place", JOB, "--box", "nobox"), "unknown box"),
        (("place", JOB, "--bay", "nobay"), "unknown bay"),
        (("place", JOB, "--by", "luck"), "write margin, near or low"),
        (("place", JOB, "--by", "near"), "needs --target"),
        (("place", JOB, "--by", "near", "--target", "1,2,x"), "write X,Y,Z"),
        (("clear", JOB, "--picture", "x.bmp"), "must end in"),
        (("clear", JOB, "--picture", "/nowhere/x.png"), "no such folder"),
        (("clear", JOB, "--scan", "none.toml"), "no such file"),
        (("mockup", JOB, "x.stp"), "must end in"),
        (("mockup", JOB, "x.dxf", "--board", "300"), "no use"),
        (("scan", JOB), "unknown key|file"),
    ],
)
def test_bad_input_gets_a_sentence(words, said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    result = CliRunner().invoke(app, list(words))
    assert isinstance(result.exception, BadInput)
    import re

    assert re.search(said, str(result.exception)), str(result.exception)
    assert list(tmp_path.iterdir()) == []
