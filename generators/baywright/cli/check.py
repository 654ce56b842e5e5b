"""`baywright check`: whether a release is still as it was written."""

from pathlib import Path
from typing import Annotated

import typer

from baywright.cli import app
from baywright.cli.examples import examples


@app.command(
    epilog=examples(
        "check outputs/estate",
    )
)
def check(
    folder: Annotated[
        Path, typer.Argument(help="A release, such as outputs/estate.", metavar="FOLDER", show_default=False)
    ],
) -> None:
    """Check every file of a release against its manifest: nothing changed, missing or added.

    Ends with 0 if it is whole, 1 with a sentence for each file that differs, 2 if the folder is no release.
    """
    from baywright.cli.show import console
    from baywright.job.messages import BadInput, Problem, shown
    from baywright.release.manifest import NAME, listed_files, verify_manifest

    name = shown(folder)
    if not folder.is_dir():
        what = "is a file; name the release's folder" if folder.exists() else "no such folder"
        raise BadInput([Problem(name, None, "", what)])
    if not (folder / NAME).is_file():
        raise BadInput([Problem(name, None, "", f"has no {NAME}: it is not a release")])
    try:
        listed = listed_files(folder)
    except ValueError:
        raise BadInput([Problem(shown(folder / NAME), None, "", "can't be read as a release's manifest")]) from None
    try:
        with console(stderr=True).status(f"reading {len(listed)} files"):
            problems = verify_manifest(folder)
    except OSError as error:
        raise BadInput([Problem(shown(Path(error.filename)), None, "", f"can't be read: {error.strerror}")]) from None
    for problem in problems:
        typer.echo(problem)
    if problems:
        typer.echo(f"{name}: {len(problems)} of its files differ: build it again, or ask who changed it")
        raise typer.Exit(1)
    typer.echo(f"{name}: whole, all {len(listed)} files are as they were written")
