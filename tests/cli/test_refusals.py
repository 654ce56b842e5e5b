"""What commands refuse in one sentence, before anything is written: options that don't go together, names, folders."""

from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from baywright.cli import app
from baywright.cli.moved import _changed
from baywright.job.messages import BadInput
from baywright.job.read import read_job
from baywright.rooms import room

JOBS = room("shared") / "jobs"
DEMO, WHOLE, FIVE = (str(JOBS / f"{name}.toml") for name in ("estate", "estate-whole", "adapter-five-speed"))


@pytest.fixture
def bare(tmp_path: Path) -> str:
    """A job that makes nothing: the demo's car alone."""
    text = Path(DEMO).read_text(encoding="utf-8")
    path = tmp_path / "bare" / "bare.toml"
    path.parent.mkdir()
    path.write_text(text[: text.index("[boxes.front]")], encoding="utf-8")
    return str(path)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["why", DEMO, "bearer", "--page", "page.html"], "unknown member 'bearer'; did you mean 'bearers'?"),
        (["why", "BARE"], "the job has no box, adapter or set of rails"),
        (["clear", WHOLE, "--of", "motor", "--map", "map.png"], "--map: goes with a box"),
        (["clear", WHOLE, "--of", "motor", "--box", "front"], "--box: goes with a box"),
        (["clear", FIVE, "--of", "five-speed"], "adapters.five-speed: has no place in the car: give `at`"),
        (["clear", "BARE"], "the job has no box"),
        (["family", "BARE"], "the job has no box"),
        (["family", DEMO, "--box", "reer"], "unknown box 'reer'; did you mean 'rear'?"),
        (["family", DEMO, "--counts", "0-3"], "counts run from 1 to 60"),
        (["family", DEMO, "--counts", "5-2"], "counts run from 1 to 60, the lower first"),
        (["parts", "modul"], "unknown kind of part 'modul'; did you mean 'module'?"),
        (["parts", "module", "--job", "gone.toml"], "there is no job file 'gone.toml'"),
        (["mockup", DEMO, "card.pdf", "--paper", "a9"], "'a9': write "),
        (["mockup", DEMO, "card.pdf", "--box", "frnt"], "unknown box 'frnt'; did you mean 'front'?"),
        (["build", DEMO, "--only", "frnt"], "unknown box, adapter or set of rails 'frnt'; did you mean 'front'?"),
        (["place", DEMO, "--by", "near", "--target", "1,2"], "write X,Y,Z in mm"),
        (["place", DEMO, "--by", "near", "--target", "1,2,inf"], "write X,Y,Z in mm"),
        (["new", "."], "is a folder; name a file in it"),
        (["new", "none/mine"], "can't be written"),
        (["moved", DEMO, "--what-if", "rear.module=m591"], "unknown module 'm591'; did you mean 'm590'?"),
        (["variants", DEMO, "VARIED", "--out", "table.xlsx"], "must end in .csv"),
        (["variants", DEMO, "VARIED", "--out", "none/table.csv"], "there is no folder"),
    ],
)
def test_one_sentence_and_nothing_written(
    words: list[str], said: str, bare: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "here"
    place.mkdir()
    monkeypatch.chdir(place)
    swap = {"BARE": bare, "VARIED": str(room("shared") / "variants" / "estate-front.toml")}
    done = CliRunner().invoke(app, [swap.get(word, word) for word in words])
    assert isinstance(done.exception, BadInput), done.output
    assert said in str(done.exception)
    assert "\n" not in str(done.exception)
    assert list(place.iterdir()) == []


def test_a_what_if_counts_in_the_units_that_the_job_declares() -> None:
    """A box moved to 31 inches behind the axle and 10 above the ground; all else of it stays as it was."""
    asked = read_job(JOBS / "starter.toml")
    units = asked.asked.units.model_copy(update={"length": "in"})
    inches = replace(asked, asked=asked.asked.model_copy(update={"units": units}))
    (name, box), *_ = asked.boxes.items()
    found = _changed(inches, [f"{name}.at=[31, 0, 10]"]).boxes[name]
    assert found.at == pytest.approx((31 * 25.4, 0.0, 254.0))
    assert found.model_copy(update={"at": box.at}) == box


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["why", DEMO, "bearers", "--of", "front", "--fix"], "fix: bearer "),
        (["why", DEMO, "car's floor under the bolts", "--fix"], "fix: no change of the style is known to mend this"),
        (["why", WHOLE, "bar stress", "--of", "motor", "--fix"], "fix: changes are tried with boxes alone"),
    ],
)
def test_what_would_mend_a_figure(words: list[str], said: str) -> None:
    done = CliRunner().invoke(app, words)
    assert done.exit_code == 0, done.exception
    assert said in done.output


def test_no_place_ends_with_1_and_says_what_to_try(tmp_path: Path) -> None:
    """Six modules on top of each other are 82 cm high; the engine bay is 46."""
    text = Path(DEMO).read_text(encoding="utf-8")
    job = tmp_path / "tall.toml"
    job.write_text(text.replace("count = 3\n", "count = 6\n", 1), encoding="utf-8")
    done = CliRunner().invoke(app, ["place", str(job), "--box", "front", "--step", "50"])
    assert done.exit_code == 1, done.exception
    said = " ".join(done.output.split())
    assert "box front finds no place in bay engine with 10 mm clearance" in said
    assert "ask for fewer modules, try --tilt, or `baywright fill`" in said


def test_a_bay_that_takes_nothing_ends_with_1(tmp_path: Path) -> None:
    text = Path(DEMO).read_text(encoding="utf-8").replace('"800 mm ± 5 mm"] },', '"400 mm ± 5 mm"] },', 1)
    job = tmp_path / "flat.toml"
    job.write_text(text, encoding="utf-8")
    done = CliRunner().invoke(app, ["fill", str(job), "--box", "front", "--step", "50"])
    assert done.exit_code == 1, done.exception
    assert "bay engine takes 0 modules" in " ".join(done.output.split())
