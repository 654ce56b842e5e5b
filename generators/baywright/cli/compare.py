"""`baywright compare`: what changed from one job or release to another."""

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from baywright.cli import app
from baywright.cli.examples import examples


@app.command(
    epilog=examples(
        "compare old.toml new.toml",
        "compare outputs/estate my-car.toml --out changes",
    )
)
def compare(
    old: Annotated[Path, typer.Argument(help="A job file, or a release's folder.", metavar="OLD", show_default=False)],
    new: Annotated[Path, typer.Argument(help="The one to compare with it.", metavar="NEW", show_default=False)],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            help="Write changes.html, every changed piece over its old shape, and changes.csv here.",
            metavar="FOLDER",
        ),
    ] = None,
) -> None:
    """Say which pieces changed from OLD to NEW, which must be made again, and what moved in the balance.

    Reads jobs or releases, either of each; prints tables in mm and kg; writes nothing without --out. Ends with 0,
    whatever differs; with 2 if one of them can't be read.
    """
    from rich.table import Table

    from baywright.cli.show import console
    from baywright.release.compare import compare as side_by_side
    from baywright.release.compared import (
        balance_rows,
        mass_rows,
        rail_tables,
        same_text,
        source_lines,
        write_comparison,
    )
    from baywright.release.stand import read_stand

    changes = side_by_side(read_stand(old), read_stand(new))
    screen = console()

    def table(title: str, head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> None:
        found = Table(title=title, title_justify="left", box=None, pad_edge=False, show_edge=False)
        for name in head:
            found.add_column(name)
        for row in rows:
            found.add_row(*row)
        screen.print(found)
        screen.print()

    for line in source_lines(changes):
        screen.print(line, markup=False)
        screen.print()
    for name, rows in rail_tables(changes):
        table(f"Rails {name}", ("end", "", "how"), rows)
    pieces = [(c.again, c.number, "; ".join(c.told)) for c in changes.pieces]
    if pieces:
        table("Pieces", ("to do", "number", "how it differs"), pieces)
    again = sum(c.again in ("make again", "make") for c in changes.pieces)
    screen.print(f"{same_text(changes)}, {len(pieces)} differ, {again} must be made.")
    screen.print()
    if changes.bought:
        bought = [(name, f"{a:g}", f"{b:g}", unit) for _, name, a, b, unit in changes.bought]
        table("Bought", ("what", "before", "after", ""), bought)
    if changes.masses:
        table("Masses", ("thing", "kg before", "kg after", "centroid moved X, Y, Z, mm"), mass_rows(changes))
    table("Balance of the finished car", ("", "before", "after", "change"), balance_rows(changes))
    if out is not None:
        for path in write_comparison(changes, out):
            screen.print(f"written: {path}", markup=False)
