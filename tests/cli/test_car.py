"""The commands about the car: what they show, write and refuse, and how they end."""

import json
import re
import tomllib
from pathlib import Path

import pytest

from baywright.release.manifest import write_manifest
from baywright.rooms import room

from .conftest import run

DEMO = room("shared") / "jobs" / "estate.toml"
TEXT = DEMO.read_text(encoding="utf-8")


def changed(folder: Path, name: str, *pairs: tuple[str, str]) -> Path:
    """Return a copy of the demo job with texts changed."""
    text = TEXT
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def line(text: str, start: str) -> list[str]:
    """Return the words of the one line that starts with a text, the text left off."""
    (found,) = (row for row in text.splitlines() if row.startswith(start))
    return found[len(start) :].split()


def splits(text: str) -> dict[str, str]:
    """Return the rows of a table of splits by their number."""
    table = text.partition("What does not go in")[0]
    rows = [row for row in table.splitlines() if re.match(r"\s*\d+ ", row) and " ways, " not in row]
    return {row.split()[0]: row for row in rows}


# --- car ------------------------------------------------------------------------------------------------------------


def test_the_demo_car_is_shown_whole_and_nothing_about_it_fails(tmp_path: Path) -> None:
    done = run("car", DEMO, cwd=tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    for words in ("Balance of demo estate", "Wheels", "Inertia", "Out and in", "Pack", "Range on", "Performance"):
        assert words in done.stdout
    assert "0 fail" in done.stdout
    assert list(tmp_path.iterdir()) == []


def test_the_tables_agree_with_each_other(tmp_path: Path) -> None:
    """Wheels add up to the axles, and what each wheel gained is after less before."""
    told = run("car", DEMO, cwd=tmp_path).stdout
    mass = line(told, "mass, kg")
    assert mass[:3] == ["1118", "±", "3"]
    before, after = ([float(v) for v in line(told, f"{name} ")] for name in ("before", "after"))
    gained = [float(v) for v in line(told, "gained")]
    assert sum(before) == pytest.approx(1118)
    assert sum(after) == pytest.approx(float(mass[6]), abs=2)
    assert [b - a for a, b in zip(before, after, strict=True)] == pytest.approx(gained, abs=1.1)


def test_all_lists_what_passes_worst_first(tmp_path: Path) -> None:
    told = run("car", DEMO, "--all", cwd=tmp_path).stdout
    verdicts = [row.split()[0] for row in told.splitlines() if row.split()[:1] in (["fail"], ["look"], ["pass"])]
    assert verdicts == sorted(verdicts, key=["fail", "look", "pass"].index)
    assert verdicts.count("pass") > 20
    assert "pass  car" not in run("car", DEMO, cwd=tmp_path).stdout


def test_an_overloaded_axle_ends_with_1_and_still_draws(tmp_path: Path) -> None:
    heavy = changed(tmp_path, "job.toml", ("rear_axle = 900", "rear_axle = 800"))
    done = run("car", heavy, "--pictures", tmp_path / "new" / "pictures", cwd=tmp_path)
    assert done.returncode == 1
    worst = next(row for row in done.stdout.splitlines() if row.startswith("fail"))
    assert "rear axle load" in worst
    drawn = sorted((tmp_path / "new" / "pictures").iterdir())
    assert [path.name for path in drawn] == ["balance.png", "force.png", "range.png"]
    assert all(path.read_bytes()[:4] == b"\x89PNG" for path in drawn)
    for path in drawn:
        assert f"picture: {path}" in done.stdout


def test_a_car_without_drive_or_boxes_is_shown_too(tmp_path: Path) -> None:
    bare = tmp_path / "bare.toml"
    bare.write_text(TEXT[: TEXT.index("[bays.engine]")], encoding="utf-8")
    done = run("car", bare, "--pictures", tmp_path / "p", cwd=tmp_path)
    assert done.returncode in (0, 1), done.stderr
    assert "Performance" not in done.stdout
    assert [path.name for path in (tmp_path / "p").iterdir()] == ["balance.png"]


def test_pictures_into_a_file_are_refused(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("mine")
    done = run("car", DEMO, "--pictures", tmp_path / "taken", cwd=tmp_path)
    assert done.returncode == 2
    assert "taken" in done.stderr
    assert (tmp_path / "taken").read_text() == "mine"


# --- split ----------------------------------------------------------------------------------------------------------


def test_the_demo_stands_among_its_splits_and_one_is_written(tmp_path: Path) -> None:
    new = tmp_path / "new.toml"
    few = ("--in-place", "--most", "5")
    done = run("split", DEMO, *few, "--all", "--take", "2", "--write", new, "--picture", "s.png", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    rows = splits(done.stdout)
    (asked,) = (row for row in rows.values() if "as asked" in row)
    assert re.findall(r"\b(\d+) (?:flat|side(?! by))", asked) == ["3", "5"]
    # The row as asked is the car of the review: mass, front and rear axle.
    told = json.loads(run("review", DEMO, "--json", cwd=tmp_path).stdout)["balance"]["after"]
    assert asked.split()[1:3] == ["8", "352"]  # eight modules of 44 V in series
    assert asked.split()[4:7] == [f"{told[key]:.0f}" for key in ("mass", "front", "rear")]
    assert list(rows) == [str(n) for n in range(1, len(rows) + 1)]
    assert "reviewed: 0 fail" in done.stdout
    said = tomllib.loads(new.read_text(encoding="utf-8"))["boxes"]
    assert [str(box["count"]) for box in said.values()] == re.findall(r"\b(\d+) (?:flat|side(?! by))", rows["2"])
    comments = [row.partition("#")[2] for row in TEXT.splitlines() if "#" in row]
    assert [row.partition("#")[2] for row in new.read_text(encoding="utf-8").splitlines() if "#" in row] == comments
    assert (tmp_path / "s.png").read_bytes()[:4] == b"\x89PNG"
    # Its own split bears the same number, and a second time nothing is written over.
    before = new.read_bytes()
    again = run("split", new, *few, "--take", "1", "--write", new, cwd=tmp_path)
    assert again.returncode == 2
    assert "already" in again.stderr
    assert new.read_bytes() == before
    row = next(r for r in run("split", new, *few, cwd=tmp_path).stdout.splitlines() if "as asked" in r)
    assert row.split()[0] == "2"


def test_limits_leave_fewer_splits(tmp_path: Path) -> None:
    done = run("split", DEMO, "--in-place", "--most", "3", "--modules", "5-6", "--all", cwd=tmp_path)
    assert done.returncode == 0
    rows = [row.split() for row in splits(done.stdout).values()]
    assert rows
    # An empty box is a "-"; else a count and how its modules lie.
    counts = [[int(v) for v in re.findall(r"\b(\d+) (?:flat|side(?! by))", " ".join(row))] for row in rows]
    assert {sum(row) for row in counts} == {5, 6}
    assert "what the job asks for, 3 + 5, is not among them" in done.stdout


def test_no_split_within_the_limits_ends_with_1(tmp_path: Path) -> None:
    done = run("split", DEMO, "--in-place", "--most", "1", "--lift", "20", cwd=tmp_path)
    assert done.returncode == 1
    assert "No split keeps the limits" in done.stdout
    assert "box too heavy to lift" in done.stdout


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--take", "1"], "go together"),
        (["--write", "new.toml"], "go together"),
        (["--take", "1", "--write", "gone/new.toml"], "no such folder"),
        (["--picture", "a.bmp"], ".svg, .png or .pdf"),
        (["--picture", "gone/a.png"], "no such folder"),
        (["--most", "0"], "--most"),
        (["--modules", "8-6"], "6-10"),
    ],
)
def test_what_is_wrong_is_seen_before_the_work(tmp_path: Path, more: list[str], words: str) -> None:
    done = run("split", DEMO, *more, cwd=tmp_path)
    assert done.returncode == 2
    assert words in done.stderr
    assert done.stdout == ""
    assert list(tmp_path.iterdir()) == []


def test_a_number_that_no_split_has_is_refused(tmp_path: Path) -> None:
    done = run("split", DEMO, "--in-place", "--most", "1", "--take", "99", "--write", "new.toml", cwd=tmp_path)
    assert done.returncode == 2
    assert "there is no split 99" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_boxes_of_unlike_modules_or_none_cannot_share(tmp_path: Path) -> None:
    front = TEXT[TEXT.index("[boxes.front]") : TEXT.index("[boxes.rear]")]
    unlike = changed(tmp_path, "unlike.toml", (front, front.replace('"m590"', '"m355"')))
    done = run("split", unlike, cwd=tmp_path)
    assert done.returncode == 2
    assert "m355, m590" in done.stderr
    none = tmp_path / "none.toml"
    none.write_text(TEXT[: TEXT.index("[boxes.front]")], encoding="utf-8")
    done = run("split", none, cwd=tmp_path)
    assert done.returncode == 2
    assert "no box" in done.stderr


def test_a_job_away_from_its_parts_is_not_left_behind(tmp_path: Path) -> None:
    own = tmp_path / "car" / "parts" / "modules"
    own.mkdir(parents=True)
    text = (room("parts") / "modules" / "demo.toml").read_text(encoding="utf-8")
    start = text.index("[m590]")
    (own / "own.toml").write_text(text[start : text.index("[m355]")].replace("m590", "mine"), encoding="utf-8")
    job = tmp_path / "car" / "job.toml"
    job.write_text(TEXT.replace('"m590"', '"mine"'), encoding="utf-8")
    one = ("split", job, "--in-place", "--no-rules", "--most", "3", "--take", "1", "--write")
    done = run(*one, tmp_path / "new.toml", cwd=tmp_path)
    assert done.returncode == 2
    assert "write it beside" in done.stderr
    assert not (tmp_path / "new.toml").exists()
    beside = run(*one, tmp_path / "car" / "new.toml", cwd=tmp_path)
    assert beside.returncode == 0, beside.stderr


# --- moved ----------------------------------------------------------------------------------------------------------


def test_nothing_moved(tmp_path: Path) -> None:
    done = run("moved", DEMO, DEMO, cwd=tmp_path)
    assert done.returncode == 0
    assert "Nothing moved" in done.stdout


def test_what_moved_is_the_difference_of_two_balances(tmp_path: Path) -> None:
    old = 'name = "motor controller", mass = 11.5'
    new = changed(tmp_path, "new.toml", (old, old.replace("11.5", "15.5")))
    done = run("moved", DEMO, new, cwd=tmp_path)
    assert done.returncode == 0
    was, now, change = (float(v) for v in line(done.stdout, "mass, kg"))
    assert (now - was, change) == (pytest.approx(4, abs=1), 4)
    assert line(done.stdout, "motor controller")[:2] == ["heavier", "+4.0"]
    assert "weighing" not in done.stdout
    back = run("moved", new, DEMO, cwd=tmp_path)
    assert line(back.stdout, "motor controller")[:2] == ["lighter", "-4.0"]


def test_two_jobs_are_needed(tmp_path: Path) -> None:
    assert run("moved", DEMO, "gone.toml", cwd=tmp_path).returncode == 2
    done = run("moved", DEMO, cwd=tmp_path)
    assert done.returncode == 2
    assert "--what-if BOX.KEY=VALUE" in done.stderr


def test_what_if_shows_what_a_change_would_move_and_writes_nothing(tmp_path: Path) -> None:
    done = run("moved", DEMO, "--what-if", "rear.count=4", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    told = line(done.stdout, "box rear")
    assert told[0] == "lighter"
    # The rear wheels together lose what the rear axle loses.
    axle, left, right = (
        float(line(done.stdout, s)[-1]) for s in ("rear axle, kg", "rear left wheel", "rear right wheel")
    )
    assert axle == pytest.approx(left + right, abs=2)
    assert axle < -20
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("rear.cout=4", "did you mean 'count'"),
        ("back.count=4", "unknown box 'back'"),
        ("rear.count", "such as rear.count=4"),
        ("rear.count=99", "at most 60"),
    ],
)
def test_a_what_if_that_says_nothing_is_refused(tmp_path: Path, change: str, words: str) -> None:
    done = run("moved", DEMO, "--what-if", change, cwd=tmp_path)
    assert done.returncode == 2
    assert words in done.stderr


# --- check ----------------------------------------------------------------------------------------------------------


@pytest.fixture
def release(tmp_path: Path) -> Path:
    folder = tmp_path / "release"
    (folder / "cut").mkdir(parents=True)
    (folder / "cut" / "floor.dxf").write_text("a plate")
    (folder / "bom.csv").write_text("a list")
    write_manifest(folder, "0" * 64, "A")
    return folder


def test_a_whole_release(release: Path) -> None:
    done = run("check", release, cwd=release.parent)
    assert done.returncode == 0, done.stderr
    assert "release: whole, all 2 files" in done.stdout


def test_every_file_that_differs_is_named(release: Path) -> None:
    (release / "cut" / "floor.dxf").write_text("a Plate")
    (release / "bom.csv").unlink()
    (release / "note.txt").write_text("added")
    done = run("check", release, cwd=release.parent)
    assert done.returncode == 1
    assert "cut/floor.dxf: was changed" in done.stdout
    assert "bom.csv: is listed but missing" in done.stdout
    assert "note.txt: is not listed" in done.stdout


def test_what_is_no_release(release: Path, tmp_path: Path) -> None:
    for what, words in ((tmp_path, "not a release"), (tmp_path / "gone", "no such folder"), (DEMO, "is a file")):
        done = run("check", what, cwd=tmp_path)
        assert done.returncode == 2
        assert words in done.stderr
    (release / "manifest.json").write_text("{}")
    done = run("check", release, cwd=tmp_path)
    assert done.returncode == 2
    assert "manifest" in done.stderr
