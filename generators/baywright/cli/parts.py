"""`baywright parts`: what the catalogue holds, and one row of it in full."""

from pathlib import Path
from typing import Annotated

import typer

from baywright.cli import app
from baywright.cli.complete import kind_names, part_names
from baywright.cli.examples import examples


@app.command(
    epilog=examples(
        "parts",
        "parts module",
        "parts module m590",
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
) -> None:
    """List the parts and tables that jobs may name, or show one with all its figures and their source.

    Figures are shown in mm, kg, N, MPa, whatever their file is written in. Ends with 0, or with 2 if there is no such
    kind or name, or a file can't be read.
    """
    from rich.table import Table

    from baywright.cli.row import row_lines
    from baywright.cli.show import console
    from baywright.job.catalogue import KINDS, load_catalogue
    from baywright.job.messages import BadInput, Problem, unknown

    catalogue = load_catalogue(beside.parent / "parts" if beside is not None else None)
    if kind and kind not in KINDS:
        raise BadInput([Problem("parts", None, "", unknown("kind of part", kind, KINDS))])
    out = console()
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
            table.add_row(one, each, row.description, row.source)
    out.print(table)
