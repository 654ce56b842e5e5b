"""A row of the catalogue copied as a start for one's own."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from baywright.cli import app
from baywright.job.catalogue import KINDS, load_catalogue
from baywright.job.messages import BadInput

SHOP = load_catalogue()


@pytest.mark.parametrize(
    ("kind", "name"),
    [(kind, name) for kind in KINDS for name in SHOP.names(kind)[:3]],
)
def test_a_copy_reads_as_the_row_it_was_made_from(tmp_path: Path, kind: str, name: str) -> None:
    mine_is = "M18" if kind in ("screw", "bolt") else "mine"  # these are called by their threads
    path = tmp_path / "parts" / KINDS[kind][2] / f"{mine_is}.toml"
    done = CliRunner().invoke(app, ["parts", kind, name, "--copy", str(path)])
    assert done.exit_code == 0, done.output
    mine = load_catalogue(tmp_path / "parts").row(kind, mine_is)
    assert mine.model_dump(exclude={"name"}) == SHOP.row(kind, name).model_dump(exclude={"name"})


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["module", "m590", "--copy", "m355.toml"], "already"),
        (["module", "m590", "--copy", "My Module.toml"], "small letters"),
        (["module", "--copy", "mine.toml"], "say which row"),
        (["screw", "M5", "--copy", "mine.toml"], "called by its thread"),
    ],
)
def test_a_copy_that_can_not_be_made_says_why(tmp_path: Path, words: list[str], says: str) -> None:
    done = CliRunner().invoke(app, ["parts", *words[:-1], str(tmp_path / words[-1])])
    assert isinstance(done.exception, BadInput)
    assert says in str(done.exception)
    assert list(tmp_path.iterdir()) == []


def test_every_section_and_sheet_says_what_it_is() -> None:
    for kind in ("section", "sheet", "module", "fitting"):
        for name in SHOP.names(kind):
            assert SHOP.row(kind, name).told, name
