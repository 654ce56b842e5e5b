"""The commands as a person runs them: exit codes, sentences, nothing half-written."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from baywright.rooms import room

DEMO = room("shared") / "jobs" / "estate.toml"


def run(*words: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    """Run a command in a folder of its own and return what it said."""
    return subprocess.run(
        [sys.executable, "-c", "from baywright.cli import main; main()", *map(str, words)],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
    )


def changed(tmp_path: Path, old: str, new: str) -> Path:
    """Return a copy of the demo job with one text changed."""
    text = DEMO.read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "job.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


def test_review_of_the_demo_finds_nothing_that_fails(tmp_path: Path) -> None:
    done = run("review", DEMO, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "box front" in done.stdout
    assert "front axle" in done.stdout
    assert "engineer" in done.stdout
    assert list(tmp_path.iterdir()) == []


def test_review_as_json_is_for_programs(tmp_path: Path) -> None:
    done = run("review", DEMO, "--json", cwd=tmp_path)
    told = json.loads(done.stdout)
    assert told["verdict"] in ("pass", "look")
    assert set(told["boxes"]) == {"front", "rear"}
    after, before = told["balance"]["after"], told["balance"]["before"]
    removed_and_added = told["balance"]["after"]["mass"] - told["balance"]["stripped"]["mass"]
    boxes = sum(box["mass_kg"] for box in told["boxes"].values())
    assert removed_and_added == pytest.approx(boxes + 74 + 11.5 + 13 + 21)
    assert before["mass"] == 1118
    assert after["front"] + after["rear"] == pytest.approx(after["mass"])


def test_a_changed_count_moves_the_balance(tmp_path: Path) -> None:
    fewer = changed(tmp_path, "count = 5", "count = 3")
    one = json.loads(run("review", DEMO, "--json", cwd=tmp_path).stdout)
    two = json.loads(run("review", fewer, "--json", cwd=tmp_path).stdout)
    assert two["boxes"]["rear"]["mass_kg"] < one["boxes"]["rear"]["mass_kg"] - 2 * 23.5
    assert two["balance"]["after"]["front_share"] > one["balance"]["after"]["front_share"] + 1


def test_a_box_that_does_not_fit_fails_and_writes_nothing(tmp_path: Path) -> None:
    tall = changed(tmp_path, "count = 3", "count = 4")
    done = run("review", tall, cwd=tmp_path)
    assert done.returncode == 1
    assert "fail" in done.stdout
    built = run("build", tall, "--out", tmp_path / "out", cwd=tmp_path)
    assert built.returncode == 1
    assert "Nothing was written" in built.stdout
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('module = "m590"', 'module = "m59"', ["boxes.front.module", "unknown module 'm59'; did you mean 'm590'?"]),
        ("count = 3", "count = 0", ["boxes.front.count"]),
        ("count = 3", "cuont = 3", ["boxes.front", "did you mean 'count'?"]),
        ('bay = "engine"', 'bay = "engin"', ["unknown bay 'engin'; did you mean 'engine'?"]),
        ("wheelbase = 2450", 'wheelbase = "2450 kg"', ["car.wheelbase", "does not measure"]),
        ("wheelbase = 2450", "wheelbase = ", ["no TOML"]),
        ('"gland-m25", "gland-m25"', '"gland-m52", "gland-m25"', ["unknown fitting 'gland-m52'"]),
        ('name = "estate"', 'name = "../../etc"', ["job.name"]),
        ("count = 3", "count = 3\nservice_depth = 10", ["boxes.front.service_depth", "at least"]),
        ('length = "mm"', 'length = "kg"', ["units.length"]),
        ('mass = "138 kg ± 1 kg"', "mass = 1420", ["kg would stand on the"]),
    ],
)
def test_bad_input_is_one_sentence_with_file_and_key(tmp_path: Path, old: str, new: str, words: list[str]) -> None:
    path = changed(tmp_path, old, new)
    for command in ("review", "build"):
        done = run(command, path, cwd=tmp_path)
        assert done.returncode == 2, done.stdout
        assert "Traceback" not in done.stderr
        assert "job.toml" in done.stderr
        for word in words:
            assert word in done.stderr
    assert sorted(p.name for p in tmp_path.iterdir()) == ["job.toml"]


def test_every_problem_is_told_in_one_run(tmp_path: Path) -> None:
    path = changed(tmp_path, 'module = "m590"', 'module = "m59"')
    path.write_text(path.read_text().replace('bay = "rear"', 'bay = "reer"'))
    lines = run("review", path, cwd=tmp_path).stderr.strip().splitlines()
    assert len(lines) == 2
    assert all(line.startswith("job.toml:") and line.split(":")[1].isdigit() for line in lines)


@pytest.mark.parametrize(
    "words", [["review", "none.toml"], ["review", "."], ["family", DEMO, "--counts", "x"], ["pirts"]]
)
def test_a_wrong_command_line_ends_with_2(tmp_path: Path, words: list[str]) -> None:
    done = run(*words, cwd=tmp_path)
    assert done.returncode == 2
    assert "Traceback" not in done.stderr


def test_family_shows_one_to_six(tmp_path: Path) -> None:
    done = run("family", DEMO, "--box", "front", "--counts", "2-6", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    for count in range(2, 7):
        assert f"\n{count} " in done.stdout.replace("\n ", "\n") or f" {count} " in done.stdout


def test_parts_lists_and_shows(tmp_path: Path) -> None:
    assert "m590" in run("parts", "module", cwd=tmp_path).stdout
    shown = run("parts", "module", "m590", cwd=tmp_path)
    assert "mass: 23.5 kg\n" in shown.stdout
    assert "size: (590, 225, 108) mm\n" in shown.stdout
    assert "invented" in shown.stdout
    wrong = run("parts", "module", "m591", cwd=tmp_path)
    assert wrong.returncode == 2
    assert "did you mean 'm590'" in wrong.stderr


def test_new_writes_a_job_that_reviews_and_never_overwrites(tmp_path: Path) -> None:
    first = run("new", "mine", cwd=tmp_path)
    assert first.returncode == 0, first.stderr
    again = run("new", "mine.toml", cwd=tmp_path)
    assert again.returncode == 2
    assert "already" in again.stderr
    assert run("review", "mine.toml", cwd=tmp_path).returncode in (0, 1)


def test_parts_beside_a_job_count(tmp_path: Path) -> None:
    folder = tmp_path / "parts" / "modules"
    folder.mkdir(parents=True)
    text = (room("parts") / "modules" / "demo.toml").read_text(encoding="utf-8")
    start = text.index("[m355]")
    (folder / "own.toml").write_text(text[start : text.index("[m300t]")].replace("m355", "mine"), encoding="utf-8")
    job = changed(tmp_path, 'module = "m590"', 'module = "mine"')
    done = run("review", job, "--json", cwd=tmp_path)
    assert json.loads(done.stdout)["boxes"]["front"]["module"] == "mine"


def test_help_tells_every_command_by_its_stage_and_whole() -> None:
    from typer.main import get_command
    from typer.testing import CliRunner

    from baywright.cli import app
    from baywright.cli.stages import STAGES

    told = [name for names in STAGES.values() for name in names]
    assert sorted(told) == sorted(get_command(app).commands)
    text = CliRunner().invoke(app, ["--help"]).stdout
    assert text.count("...") == 1  # "[ARGS]..."
    assert [text.index(f"\n  {name} ") for name in told] == sorted(text.index(f"\n  {name} ") for name in told)
    assert "ends with 0 if all is well" in " ".join(text.split())


def test_review_draws_what_the_job_makes(tmp_path: Path) -> None:
    done = run("review", room("shared") / "jobs" / "starter.toml", "--pictures", "pictures", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert sorted(p.name for p in (tmp_path / "pictures").iterdir()) == ["front-opened-out.png", "front.png"]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("wheelbase = 2450\n", "", "car.wheelbase: is needed: between the axles"),
        ("track_rear = 1285\n", "", "car.track_rear: is needed: between the middles"),
    ],
)
def test_a_missing_key_says_what_it_holds(tmp_path: Path, old: str, new: str, words: str) -> None:
    assert words in run("review", changed(tmp_path, old, new), cwd=tmp_path).stderr
