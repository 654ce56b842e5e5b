"""`baywright pattern`: exit codes, and one plain sentence for every way a readings file can be wrong."""

import subprocess
import sys
from pathlib import Path

import pytest
import typer

from baywright.adapter.file import read_measured
from baywright.cli.pattern import pattern
from baywright.job.catalogue import load_catalogue
from baywright.job.messages import BadInput
from baywright.rooms import room

DEMO = room("shared") / "readings" / "demo-bell.toml"


def edited(tmp_path: Path, *changes: tuple[str, str]) -> Path:
    text = DEMO.read_text()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "readings.toml"
    path.write_text(text)
    return path


def test_a_wrong_reading_ends_with_1_and_a_right_one_with_0(tmp_path: Path, capsys) -> None:
    with pytest.raises(typer.Exit) as ended:
        pattern(DEMO)
    assert ended.value.exit_code == 1
    shown = " ".join(capsys.readouterr().out.split())
    assert "inside 2-5" in shown
    assert "left out" in shown
    pattern(edited(tmp_path, ('"2-5" = 299.53', '"2-5" = 298.03')), picture=tmp_path / "p.svg", everything=True)
    assert (tmp_path / "p.svg").is_file()
    assert "outside 1-2" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ([('walking = "1, 4, 7 clockwise seen from the motor"', "")], "walking: is needed: which way round"),
        (
            [("clockwise seen from", "sideways seen from")],
            'walking: write it like "1, 4, 7 clockwise seen from the motor"',
        ),
        ([("1, 4, 7 clockwise", "1, 1, 7 clockwise")], "three different holes"),
        ([("1, 4, 7 clockwise", "1, 4, 9 clockwise")], "walking: unknown hole '9'"),
        ([("1, 4, 7 clockwise", "1, 4, shaft clockwise")], "not the shaft"),
        ([('level = "7 to 2"', 'level = "7"')], 'level: write it like "7 to 3"'),
        ([('uncertainty = "0.05 mm"', "uncertainty = -1")], "uncertainty: must be more than 0 mm"),
        ([('uncertainty = "0.05 mm"', 'uncertainty = "0.05 kg"')], "does not measure a length"),
        ([('"2-5" = ', '"2-55" = ')], "unknown hole '55'; did you mean '5'?"),
        ([('"2-5" = ', '"2" = ')], 'names no two holes: write it like "1-2"'),
        ([('"2-5" = ', '"2-2" = ')], "from a hole to itself"),
        ([('"2-5" = 299.53', '"2-5" = "wide"')], "is not a length"),
        ([('thread = "M10"', 'thread = "M11"')], "holes.thread: unknown thread 'M11'; did you mean 'M1"),
        ([('"8"]', '"8", "9"]')], "no reading reaches hole '9'"),
        ([("[inside]", "[insyde]")], "unknown key; did you mean 'inside'?"),
        ([("[inside]", "[inside")], "is no TOML here"),
        ([("1, 4, 7 clockwise", "1, 4, 7 anticlockwise"), ("thread", "tread")], "holes.thread: is needed"),
    ],
)
def test_bad_files_get_one_sentence_with_file_and_key(tmp_path: Path, changes: list, said: str) -> None:
    path = edited(tmp_path, *changes)
    with pytest.raises(BadInput) as bad:
        pattern(path)
    assert said in str(bad.value)
    assert "readings.toml" in str(bad.value) or "catalogue" in str(bad.value)


def test_pictures_that_cannot_be_written_are_refused_first(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="must end in"):
        pattern(DEMO, picture=tmp_path / "p.bmp")
    with pytest.raises(BadInput, match="no such folder"):
        pattern(DEMO, picture=tmp_path / "none" / "p.svg")


def test_a_hole_that_is_not_held_says_what_to_measure(tmp_path: Path) -> None:
    text = DEMO.read_text().splitlines()
    kept = [line for line in text if not (line.startswith('"3-') or '-3"' in line) or line.startswith('"3-5"')]
    path = tmp_path / "readings.toml"
    path.write_text("\n".join(kept))
    with pytest.raises(BadInput, match=r"do not hold a hole \(3\) in place: also measure"):
        pattern(path)


def test_the_mirror_image_is_seen_from_the_other_side(tmp_path: Path) -> None:
    _, front = read_measured(DEMO, load_catalogue())
    _, back = read_measured(
        edited(tmp_path, ('seen_from = "motor"', 'seen_from = "gearbox"'), ("7 to 2", "2 to 7")), load_catalogue()
    )
    assert back.positions * (-1, 1) == pytest.approx(front.positions, abs=1e-6)


def test_reading_a_pattern_loads_no_heavy_library() -> None:
    code = (
        "import sys; from pathlib import Path; from baywright.adapter.file import read_measured;"
        "from baywright.adapter.measured_review import review_readings;"
        "from baywright.job.catalogue import load_catalogue;"
        f"c = load_catalogue(); review_readings(*read_measured(Path({str(DEMO)!r}), c), c);"
        "print([m for m in ('scipy','matplotlib','ezdxf','shapely','cadquery','OCP') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
