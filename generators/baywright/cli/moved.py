"""`baywright moved`: what changed in the car's balance from one job file to another, or by a change to one."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from baywright.cli import app
from baywright.cli.examples import examples

if TYPE_CHECKING:
    from baywright.job.read import Job
    from baywright.vehicle.balance import Balance


@app.command(
    epilog=examples(
        "moved old.toml new.toml",
        "moved shared/jobs/estate.toml --what-if rear.count=4 --what-if front.count=4",
    )
)
def moved(
    old: Annotated[Path, typer.Argument(help="The job file as it was.", metavar="OLD", show_default=False)],
    new: Annotated[
        Path | None, typer.Argument(help="The job file as it is.", metavar="NEW", show_default=False)
    ] = None,
    what_if: Annotated[
        list[str] | None,
        typer.Option(
            "--what-if",
            help="In place of a second file: a key of a box and its value. May be repeated.",
            metavar="BOX.KEY=VALUE",
        ),
    ] = None,
) -> None:
    """Show what moved in the car's balance between two job files, by how much, and because of what.

    With --what-if there is one file, and the second is the same with a key of a box changed; nothing is written.

    Prints kg, mm and kg·m², before, after and the change, with what each box, part in or part out did to it. Ends with
    0, whatever moved, or with 2 if a job file can't be used.
    """
    from baywright.cli.show import console
    from baywright.job.messages import BadInput, Problem, shown
    from baywright.job.read import read_job
    from baywright.vehicle.moved import what_moved
    from baywright.vehicle.tables import render_moved

    if (new is None) == (not what_if):
        raise BadInput([Problem("NEW", None, "", "give a second job file, or --what-if BOX.KEY=VALUE")])
    before = read_job(old)
    after = read_job(new) if new is not None else _changed(before, what_if or [])
    found = what_moved(_balance(before), _balance(after))
    out = console()
    typer.echo(f"from {shown(old)} to {', '.join(what_if or []) if new is None else shown(new)}\n")
    if not found.anything:
        out.print("Nothing moved: the balance is the same.")
        return
    shifts, things = render_moved(found)
    out.print(shifts)
    if found.things:
        out.print()
        out.print(things)


def _changed(job: "Job", changes: list[str]) -> "Job":
    """Return a job with keys of its boxes changed, as "rear.count=4" says it.

    Raises:
        BadInput: if a change is written otherwise, or names no box, key or value of the job's.
    """
    import tomllib
    from dataclasses import replace

    from baywright.job.faults import read_as
    from baywright.job.messages import BadInput, Problem, unknown
    from baywright.job.models import BoxAsk

    boxes = dict(job.asked.boxes)
    for change in changes:
        place, equals, text = change.partition("=")
        name, dot, key = place.strip().partition(".")
        if not (equals and dot and key):
            raise BadInput([Problem("--what-if", None, "", f"'{change}': write BOX.KEY=VALUE, such as rear.count=4")])
        if name not in boxes:
            raise BadInput([Problem("--what-if", None, "", unknown("box", name, boxes))])
        try:
            value = tomllib.loads(f"value = {text}")["value"]
        except tomllib.TOMLDecodeError:  # a word without quotes
            value = text.strip()
        # What the job says already is in mm; the change alone counts in the units that it declares.
        least = {"module": boxes[name].module, "count": boxes[name].count, key: value}
        units = job.asked.units.model_dump()
        made = read_as(BoxAsk, least, file=Path("--what-if"), lines={}, at=(name,), units=units)
        boxes[name] = boxes[name].model_copy(update={key: getattr(made, key)})
    return replace(job, asked=job.asked.model_copy(update={"boxes": boxes}))


def _balance(job: "Job") -> "Balance":
    """Return the balance of a job's car with everything made for it."""
    from baywright.design import design_job
    from baywright.vehicle.whole import vehicle

    return vehicle(job, design_job(job).carried).balance
