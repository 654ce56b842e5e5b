"""`baywright moved`: what changed in the car's balance from one job file to another."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from baywright.cli import app

if TYPE_CHECKING:
    from baywright.vehicle.balance import Balance


@app.command()
def moved(
    old: Annotated[Path, typer.Argument(help="The job file as it was.", show_default=False)],
    new: Annotated[Path, typer.Argument(help="The job file as it is.", show_default=False)],
) -> None:
    """Show what moved in the car's balance between two job files, by how much, and because of what.

    Ends with 0, or with 2 if a job file can't be used.
    """
    from baywright.cli.show import console
    from baywright.job.messages import shown
    from baywright.vehicle.moved import what_moved
    from baywright.vehicle.tables import render_moved

    found = what_moved(_balance(old), _balance(new))
    out = console()
    typer.echo(f"from {shown(old)} to {shown(new)}\n")
    if not found.anything:
        out.print("Nothing moved: the balance is the same.")
        return
    shifts, things = render_moved(found)
    out.print(shifts)
    if found.things:
        out.print()
        out.print(things)


def _balance(path: Path) -> "Balance":
    """Return the balance of a job's car with everything made for it."""
    from baywright.design import design_job
    from baywright.job.read import read_job
    from baywright.vehicle.whole import vehicle

    job = read_job(path)
    return vehicle(job, design_job(job).carried).balance
