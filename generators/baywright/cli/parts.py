"""`baywright parts`: what the catalogue holds, and one row of it in full."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from baywright.cli import app
from baywright.cli.complete import kind_names, part_names
from baywright.cli.examples import examples

if TYPE_CHECKING:
    from baywright.job.catalogue import Catalogue


@app.command(
    epilog=examples(
        "parts",
        "parts module",
        "parts module m590",
        "parts module m590 --copy parts/modules/mine.toml",
        "parts module --job my-car.toml",
    )
)
def parts(
    kind: Annotated[
        str,
        typer.Argument(
            help="module, section, fitting, material, screw, style …; all if left out.",
            metavar="KIND",
            show_default=False,
            autocompletion=kind_names,
        ),
    ] = "",
    name: Annotated[
        str,
        typer.Argument(
            help="One row's name: shows all its figures and their source.",
            metavar="NAME",
            show_default=False,
            autocompletion=part_names,
        ),
    ] = "",
    beside: Annotated[
        Path | None, typer.Option("--job", help="Count the parts folder beside this job file in.", metavar="JOB")
    ] = None,
    copy: Annotated[
        Path | None,
        typer.Option(
            "--copy",
            help="Write the row NAME to this new file, to put your own figures in; the file's name becomes the row's.",
            metavar="FILE",
            show_default=False,
        ),
    ] = None,
) -> None:
    """List the parts and tables that jobs may name, or show one with all its figures and their source.

    Your own rows of any kind, a module, a cutter, a style, go into a folder parts/ beside your job file, in the folder
    that is called as the kind is, such as parts/modules/; --copy starts one. Figures are shown in mm, kg, N, MPa,
    whatever their file is written in. Ends with 0, or with 2 if there is no such kind or name, or a file can't be read
    or written.
    """
    from rich.table import Table

    from baywright.cli.row import row_lines
    from baywright.cli.show import console
    from baywright.job.catalogue import KINDS, load_catalogue
    from baywright.job.messages import BadInput, Problem, shown, unknown

    if beside is not None and not beside.is_file():
        raise BadInput([Problem("--job", None, "", f"there is no job file '{shown(beside)}'")])
    catalogue = load_catalogue(beside.parent / "parts" if beside is not None else None)
    if kind and kind not in KINDS:
        raise BadInput([Problem("parts", None, "", unknown("kind of part", kind, KINDS))])
    out = console()
    if copy is not None:
        _copy(catalogue, kind, name, copy)
        return
    if name:
        row = catalogue.row(kind, name)
        out.print(f"{kind} {name}", style="bold")
        out.print("\n".join(row_lines(row)), markup=False)
        return
    table = Table(box=None, pad_edge=False)
    for head in ("kind", "name", "what it is", "source"):
        table.add_column(head)
    for one in [kind] if kind else KINDS:
        for each in catalogue.names(one):
            row = catalogue.row(one, each)
            table.add_row(one, each, row.told, row.source)
    out.print(table)


def _copy(catalogue: "Catalogue", kind: str, name: str, path: Path) -> None:
    """Write a row to a new file, its folders made if missing, the row named as the file is.

    Raises:
        BadInput: if no row is named, the file's name can't be a row's or is one already, or it can't be written.
    """
    import re

    from baywright.job.catalogue import KINDS
    from baywright.job.copying import copied
    from baywright.job.messages import BadInput, Problem, shown

    def no(text: str) -> BadInput:
        return BadInput([Problem(shown(path), None, "", text)])

    if not name:
        raise BadInput([Problem("--copy", None, "", "say which row to copy: baywright parts module m590 --copy FILE")])
    catalogue.row(kind, name)
    if kind in ("screw", "bolt"):
        if path.suffix != ".toml" or not re.fullmatch(r"M[1-9]\d?", path.stem):
            raise no(f"its name becomes the row's, and a {kind} is called by its thread: M18.toml, for example")
    elif path.suffix != ".toml" or not re.fullmatch("[a-z0-9][a-z0-9-]*", path.stem):
        raise no("its name becomes the row's: small letters, digits and hyphens, ending in .toml")
    if path.stem in catalogue.raw[kind]:
        raise no(f"there is a {kind} '{path.stem}' already; choose another name")
    text = copied(catalogue.raw[kind][name], name, path.stem, KINDS[kind][0])
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise no("is there already; choose another name") from None
    except OSError as error:
        raise no(f"can't be written: {error.strerror}") from None
    typer.echo(f"wrote {shown(path)}: put your figures in and name it '{path.stem}' in the job")
    if path.parent.name != KINDS[kind][2]:
        typer.echo(f"a job reads it from the folder parts/{KINDS[kind][2]}/ beside the job file: move it there")
