"""What help says of every command, and what a shell completes."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
import typer

from baywright.cli import app
from baywright.cli.stages import STAGES
from baywright.rooms import room

GROUP = typer.main.get_command(app)
COMMANDS = sorted(GROUP.commands)
JOBS = room("shared") / "jobs"


def help_of(name: str) -> str:
    context = GROUP.make_context("baywright", [], resilient_parsing=True)
    command = GROUP.commands[name]
    with type(context)(command, parent=context, info_name=name, terminal_width=118, max_content_width=118) as own:
        return command.get_help(own)


def test_every_command_has_its_stage() -> None:
    assert sorted(name for names in STAGES.values() for name in names) == COMMANDS


@pytest.mark.parametrize("name", COMMANDS)
def test_help_tells_what_it_ends_with_units_and_an_example(name: str) -> None:
    text = help_of(name)
    words = " ".join(text.split())
    assert "Ends with 0" in words
    assert re.search(r"\b2\b.* (can't|is no|no such|there already)", words.split("Ends with 0", 1)[1])
    assert "For example:" in text
    # Programmers' words for a value are nobody else's.
    assert not re.search(r"--\S+ <(str|int|float|path|list)", text)
    for parameter in GROUP.commands[name].params:
        assert parameter.name == "help" or getattr(parameter, "help", ""), parameter.name


@pytest.mark.parametrize("name", COMMANDS)
def test_every_example_is_a_line_that_the_command_takes(name: str) -> None:
    lines = [line.split() for line in help_of(name).split("For example:")[1].splitlines() if line.strip()]
    assert lines
    for program, command, *words in lines:
        assert (program, command) == ("baywright", name)
        words = words[: words.index(">")] if ">" in words else words
        GROUP.commands[name].make_context(name, list(words))
        for word in words:  # what it names of ours is there
            if word.startswith("shared/"):
                assert room("shared").joinpath(*Path(word).parts[1:]).exists(), word


def completed(line: str, shell: str) -> str:
    """Return what a shell is told to offer at the end of a line."""
    words = line.split(" ")
    told = {
        "_BAYWRIGHT_COMPLETE": f"complete_{shell}",
        "COMP_WORDS": line,
        "COMP_CWORD": str(len(words) - 1),
        "_TYPER_COMPLETE_ARGS": line,
        "_TYPER_COMPLETE_FISH_ACTION": "get-args",
    }
    code = "import sys; sys.argv[0] = 'baywright'; from baywright.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", code], env={**os.environ, **told}, capture_output=True, text=True, check=False
    )
    assert "Traceback" not in done.stderr
    return done.stdout


@pytest.mark.parametrize(
    ("line", "shell", "offered"),
    [
        ("baywright re", "bash", ["review"]),
        ("baywright review --p", "zsh", ["--pictures"]),
        (f"baywright clear {JOBS / 'estate.toml'} --box ", "bash", ["front", "rear"]),
        (f"baywright build {JOBS / 'estate-whole.toml'} --only ", "fish", ["front", "five-speed", "motor"]),
        (f"baywright clear {JOBS / 'estate.toml'} --bay e", "zsh", ["engine"]),
        ("baywright parts module ", "bash", ["m590"]),
    ],
)
def test_a_shell_completes_commands_options_and_the_jobs_names(line: str, shell: str, offered: list[str]) -> None:
    told = completed(line, shell)
    for name in offered:
        assert name in told


def test_a_job_that_can_not_be_read_completes_to_nothing(tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_text("[boxes\n")
    assert completed(f"baywright clear {tmp_path / 'bad.toml'} --box ", "bash").strip() == ""
