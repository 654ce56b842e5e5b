"""`baywright review`: what is right or wrong about a job, without writing a file."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from baywright.cli import app
from baywright.cli.examples import examples

if TYPE_CHECKING:
    from baywright.review import Review

JobFile = Annotated[
    Path, typer.Argument(help="The job file, such as shared/jobs/estate.toml.", metavar="JOB", show_default=False)
]


@app.command(
    epilog=examples(
        "review shared/jobs/estate.toml",
        "review shared/jobs/estate.toml --all",
        "review shared/jobs/estate.toml --json > review.json",
        "review my-car.toml --pictures pictures",
    )
)
def review(
    job: JobFile,
    as_json: Annotated[bool, typer.Option("--json", help="Print everything as JSON, for programs.")] = False,
    everything: Annotated[
        bool, typer.Option("--all", help="List what passes too, not only what needs a look.")
    ] = False,
    pictures: Annotated[
        Path | None,
        typer.Option(
            "--pictures",
            help="Also draw what the job makes, put together and opened out, into this folder; made if missing.",
            metavar="FOLDER",
            show_default=False,
        ),
    ] = None,
    reason: Annotated[
        str,
        typer.Option(
            "--why",
            help="Show how a strength figure comes about instead, as `why JOB MEMBER` does.",
            metavar="MEMBER",
            show_default=False,
        ),
    ] = "",
) -> None:
    """Check a job: boxes, bays and the car's balance, worst first. Cuts nothing, writes no release.

    Reads the job file, the parts that it names and those in a folder parts/ beside it. Every finding says what was
    found, its limit, and how much of the limit is to spare. Ends with 0 if nothing fails, 1 if something does, 2 if the
    job file can't be used.
    """
    if reason:
        from baywright.cli.why import why

        why(job, reason)
        return
    from baywright.job.read import read_job

    asked = read_job(job)
    # Imported when the job has been read: a slip in it is told at once.
    from baywright.design import design_job
    from baywright.review import review_job

    result = review_job(design_job(asked))
    if as_json:
        from baywright.cli.machine import as_text

        print(as_text(result))
    else:
        from baywright.cli.report import print_review

        print_review(result, everything)
    if pictures is not None:
        for path in _draw(result, pictures):
            typer.echo(f"picture: {path}", err=as_json)
    if result.verdict == "fail":
        raise typer.Exit(1)


def _draw(result: "Review", folder: Path) -> list[Path]:
    """Draw every box (its lid off), adapter and set of rails of a job, put together and opened out; return the files.

    Raises:
        BadInput: if the folder can't be made or written to.
    """
    from baywright.cli.show import console
    from baywright.job.messages import BadInput, Problem
    from baywright.release.picture import write_picture

    made = result.design
    things = [
        *((name, f"box {name}, lid off", box.assembly, ("lid", "gasket")) for name, box in made.boxes.items()),
        *((name, f"adapter {name}", adapter.assembly, ()) for name, adapter in made.adapters.items()),
        *((name, f"rails {name}", rails.assembly, ()) for name, rails in made.rails.items()),
    ]
    drawn = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with console(stderr=True).status("drawing"):
            for name, title, assembly, hide in things:
                drawn.append(write_picture(assembly, folder / f"{name}.png", hide=hide, title=title))
                opened = folder / f"{name}-opened-out.png"
                drawn.append(write_picture(assembly, opened, explode=0.45, title=title.removesuffix(", lid off")))
    except OSError as error:
        raise BadInput([Problem(str(folder), None, "", f"can't hold the pictures: {error.strerror}")]) from None
    return drawn
