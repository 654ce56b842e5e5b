"""`clear --of`: how adapter and rails stand in their bay, the boxes beside them."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from baywright.cli import app

JOB = str(Path(__file__).resolve().parents[2] / "shared" / "jobs" / "estate-whole.toml")


def run(*words: str):
    return CliRunner().invoke(app, ["clear", JOB, *words])


def test_the_motor_keeps_off_the_box_before_it(tmp_path: Path) -> None:
    picture = tmp_path / "motor.png"
    done = run("--of", "motor", "--picture", str(picture))
    assert done.exit_code == 0, done.output
    text = " ".join(done.output.split())
    assert "27.5 27.5 box 'front'" in text
    assert "every piece of it lies in the bay 'drive'" in text
    assert picture.stat().st_size > 10_000


def test_the_adapter_stands_where_the_rails_hold_it() -> None:
    done = run("--of", "five-speed")
    assert done.exit_code == 0, done.output
    assert "gearbox plate" in done.output


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--of", "six-speed"), "did you mean 'five-speed'"),
        (("--of", "motor", "--bay", "nowhere"), "unknown bay 'nowhere'"),
    ],
)
def test_what_is_not_there_is_said(words: tuple[str, ...], says: str) -> None:
    from baywright.job.messages import BadInput

    done = run(*words)
    assert isinstance(done.exception, BadInput)
    assert says in str(done.exception)
