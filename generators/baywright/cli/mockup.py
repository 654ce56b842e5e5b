"""`baywright mockup`: a box's outside in cardboard, to be offered up in the car first."""

from pathlib import Path
from typing import Annotated

import typer

from baywright.cli import app
from baywright.cli.bays import BoxName
from baywright.cli.examples import examples
from baywright.cli.review import JobFile


@app.command(
    epilog=examples(
        "mockup shared/jobs/estate.toml card.dxf",
        "mockup shared/jobs/estate.toml card.pdf --box rear --paper a3 --board 5",
    )
)
def mockup(
    job: JobFile,
    out: Annotated[Path, typer.Argument(help="The file to write: .dxf or .pdf.", metavar="FILE", show_default=False)],
    box: BoxName = "",
    board: Annotated[float, typer.Option("--board", help="The board's thickness, mm.", metavar="MM")] = 4.0,
    paper: Annotated[
        str,
        typer.Option(
            "--paper",
            help="A PDF in pages to tape together: a4 or a3.",
            metavar="SIZE",
            autocompletion=lambda: ["a4", "a3"],
        ),
    ] = "",
) -> None:
    """Write a box's cardboard mock-up at full size: outline to cut, folds to score, slots for tape.

    Reads the job; writes the one file at 1:1 mm. Ends with 0, or with 2 if the job can't be used or the file not
    written.
    """
    from baywright.bay.cardboard import cardboard
    from baywright.bay.outside import outer_bodies
    from baywright.box.generate import generate
    from baywright.cli.bays import picture_path
    from baywright.cli.show import console
    from baywright.finding import CannotBuild
    from baywright.job.messages import BadInput, Problem, shown, unknown
    from baywright.job.read import read_job
    from baywright.release.mockup import PAPER, write_mockup_dxf, write_mockup_pdf

    path = picture_path(out, (".dxf", ".pdf"))
    assert path is not None
    if paper and paper not in PAPER:
        raise BadInput([Problem("--paper", None, "", f"'{paper}': write {' or '.join(PAPER)}")])
    asked = read_job(job)
    name = box or next(iter(asked.boxes), "")
    if name not in asked.boxes:
        raise BadInput([Problem(shown(job), None, "boxes", unknown("box", name, asked.boxes))])
    try:
        design = generate(name, asked.boxes[name], asked.catalogue)
        card = cardboard(f"box {name}", outer_bodies(design), board)
    except CannotBuild as no:
        raise BadInput([asked.problem(("boxes", name, no.key), no.sentence)]) from None
    except ValueError as why:
        raise BadInput([Problem("--board", None, "", str(why))]) from None
    try:
        write_mockup_dxf(card, path) if path.suffix.lower() == ".dxf" else write_mockup_pdf(card, path, paper or None)
    except OSError as error:
        raise BadInput([Problem(str(path), None, "", f"can't be written: {error.strerror}")]) from None
    console().print(f"{path}: {card.size[0]:.0f} x {card.size[1]:.0f} mm flat, {board:g} mm board")
