"""`baywright car`: the car with everything in it, in tables and pictures."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from baywright.cli import app
from baywright.cli.examples import examples
from baywright.cli.review import JobFile

if TYPE_CHECKING:
    from baywright.design import Design
    from baywright.vehicle.scatter import Scatter
    from baywright.vehicle.whole import Vehicle


@app.command(
    epilog=examples(
        "car shared/jobs/estate.toml",
        "car shared/jobs/estate.toml --all --pictures pictures",
    )
)
def car(
    job: JobFile,
    pictures: Annotated[
        Path | None,
        typer.Option(
            "--pictures",
            help="Also draw balance, range and force into this folder; made if missing.",
            metavar="FOLDER",
            show_default=False,
        ),
    ] = None,
    everything: Annotated[
        bool, typer.Option("--all", help="List what passes too, not only what needs a look.")
    ] = False,
) -> None:
    """Show the car before and after: balance, wheels, inertia, pack, range, performance, and what to look at.

    Reads the job; prints kg, mm (vehicle frame), V, A, kWh, km and km/h, each with how far it may be off where that is
    known; writes nothing but pictures. Ends with 0 if nothing about the car fails, 1 if something does, 2 if the job
    file can't be used.
    """
    from baywright.cli.show import console, findings_table
    from baywright.design import design_job
    from baywright.finding import worst_first
    from baywright.job.read import read_job
    from baywright.vehicle import tables
    from baywright.vehicle.scatter import scatter
    from baywright.vehicle.whole import vehicle

    asked = read_job(job)
    made = design_job(asked)
    carried = made.carried
    found = vehicle(asked, carried)
    spread = scatter(found.car, carried)
    whole = found.balance
    out = console()
    out.print(
        "Arithmetic with the job's own figures: weigh the finished car. Local codes and a licensed engineer decide.",
        style="italic",
    )
    shown = [
        tables.render_balance(whole, spread),
        tables.render_corners(whole),
        tables.render_inertia(whole),
        tables.render_items(whole),
    ]
    if found.pack is not None:
        shown.append(tables.render_pack(found.pack))
    if found.ranges is not None:
        shown.append(tables.render_ranges(found.ranges))
    if found.motor is not None:
        shown.append(tables.render_performance(found.motor, found.engine))
    chances = ", ".join(f"{what} {100 * chance:.0f} %" for what, chance in spread.over.items() if chance >= 0.005)
    for table in shown:
        out.print()
        out.print(table)
    if chances:
        out.print(f"\nChance of being over a rating in the heaviest use, as sure as the readings are: {chances}")
    listed = [f for f in worst_first(found.findings) if everything or f.verdict != "pass"]
    if listed:
        out.print()
        out.print(findings_table(listed, title="Car and pack, worst first"))
    counts = {v: sum(f.verdict == v for f in found.findings) for v in ("fail", "look", "pass")}
    rest = "" if everything else " (--all lists them)"
    out.print(f"\n{counts['fail']} fail, {counts['look']} to look at, {counts['pass']} pass{rest}")
    if pictures is not None:
        out.print()
        for path in _draw(found, made, spread, pictures):
            typer.echo(f"picture: {path}")
    if found.verdict == "fail":
        raise typer.Exit(1)


def _draw(found: "Vehicle", made: "Design", spread: "Scatter", folder: Path) -> list[Path]:
    """Draw the pictures beside their places and move them in when all are whole; return their paths.

    Raises:
        BadInput: if the folder can't be made or written to.
    """
    from tempfile import TemporaryDirectory

    from baywright.cli.show import console
    from baywright.job.messages import BadInput, Problem
    from baywright.release.car import outsides_of, write_car_pictures

    try:
        folder.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(dir=folder, prefix=".drawing-") as aside, console(stderr=True).status("drawing"):
            drawn = write_car_pictures(found, made.job.asked.drive, spread, Path(aside), outsides_of(made.boxes))
            return [path.replace(folder / path.name) for path in drawn]
    except OSError as error:
        raise BadInput([Problem(str(folder), None, "", f"can't hold the pictures: {error.strerror}")]) from None
