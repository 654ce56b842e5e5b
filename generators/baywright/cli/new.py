"""`baywright new`: a commented starter job to edit."""

from pathlib import Path
from typing import Annotated

import typer

from baywright.cli import app
from baywright.cli.examples import examples


@app.command(
    epilog=examples(
        "new my-car.toml",
        "new jobs/saloon.toml",
    )
)
def new(
    file: Annotated[
        Path, typer.Argument(help="The file to write, such as my-car.toml.", metavar="FILE", show_default=False)
    ],
) -> None:
    """Write a commented starter job: the smallest one that is sensible, ready for your own figures.

    It is a text file: open it in any editor, put your figures in line by line, and run 'baywright review' as you go.
    Ends with 0, or with 2 if a file of that name is there already or can't be written; nothing is overwritten.
    """
    from baywright.job.messages import BadInput, Problem, shown
    from baywright.rooms import room

    if not file.name or file.is_dir():
        raise BadInput([Problem(shown(file), None, "", "is a folder; name a file in it, such as my-car.toml")])
    path = file if file.suffix else file.with_suffix(".toml")
    text = (room("shared") / "jobs" / "starter.toml").read_text(encoding="utf-8")
    try:
        with path.open("x", encoding="utf-8") as out:
            out.write(text)
    except FileExistsError:
        raise BadInput([Problem(shown(path), None, "", "is there already; choose another name")]) from None
    except OSError as error:
        raise BadInput([Problem(shown(path), None, "", f"can't be written: {error.strerror}")]) from None
    typer.echo(
        f"wrote {shown(path)}: put your figures in, then run:\n  baywright review {shown(path)} --pictures pictures"
    )
