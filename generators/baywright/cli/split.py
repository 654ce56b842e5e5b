"""`baywright split`: every way to share the modules out between the job's boxes, and one of them as a new job file."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from baywright.cli import app
from baywright.cli.review import JobFile

if TYPE_CHECKING:
    from rich.table import Table

    from baywright.job.read import Job
    from baywright.vehicle.choices import Refused
    from baywright.vehicle.split import BayChoices, Layouts, Limits

# More rows than this nobody reads in a terminal.
_MOST_ROWS = 200


@app.command()
def split(
    job: JobFile,
    most: Annotated[int, typer.Option("--most", min=1, max=60, help="Most modules in one box.")] = 24,
    modules: Annotated[
        int | None,
        typer.Option("--modules", min=1, help="Only splits of this many modules in all.", show_default=False),
    ] = None,
    share: Annotated[
        float | None,
        typer.Option("--share", min=0, help="Most change of the front share, points of %.", show_default=False),
    ] = None,
    lift: Annotated[
        float | None, typer.Option("--lift", min=0, help="Heaviest box that the shop can lift, kg.", show_default=False)
    ] = None,
    everything: Annotated[bool, typer.Option("--all", help="List every split that keeps the limits.")] = False,
    picture: Annotated[
        Path | None,
        typer.Option("--picture", help="Also draw the trade-off: .svg, .png or .pdf.", show_default=False),
    ] = None,
    take: Annotated[
        int | None, typer.Option("--take", min=1, help="The split of this number …", show_default=False)
    ] = None,
    write: Annotated[
        Path | None,
        typer.Option("--write", help="… goes into this new job file, comments and all.", show_default=False),
    ] = None,
) -> None:
    """Try every number of modules in every box, and show what the car's limits leave.

    Each box is generated and set in its bay; what goes in is combined with what goes into the others and held against
    the car's ratings, laden cases too. Numbers stay the same as long as job and limits do.

    Ends with 0, with 1 if no split keeps the limits, with 2 if the job file can't be used.
    """
    from dataclasses import replace

    from baywright.cli.show import console
    from baywright.job.messages import BadInput, Problem
    from baywright.job.read import read_job
    from baywright.vehicle.asked import car_of
    from baywright.vehicle.choices import as_asked, limits_of
    from baywright.vehicle.split_report import reading_order, render_split, worth_reading

    asked = read_job(job)
    _refuse(asked, picture, take, write)
    try:
        limits = limits_of(car_of(asked.car), asked.asked.pack.strings, share, lift)
    except ValueError as error:
        raise BadInput([asked.problem(("car",), str(error))]) from None
    if modules is not None:
        limits = replace(limits, least=modules, most=modules)
    found, refused = _layouts(asked, most, limits)
    order = reading_order(found).tolist()
    if take is not None and take > len(order):
        raise BadInput([Problem("--take", None, "", f"there is no split {take}; {len(order)} keep the limits")])
    here = as_asked(asked, found)
    rows = order[:_MOST_ROWS] if everything else worth_reading(found)
    if here is not None and here not in rows:
        rows = sorted([*rows, here], key=order.index)
    out = console()
    table = render_split(found, rows=rows, asked=here)
    if rows:
        out.print(table)
    else:  # a table without rows has no width for its title
        out.print(table.title)
        out.print(table.caption)
    if everything and len(order) > _MOST_ROWS:
        out.print(f"the first {_MOST_ROWS} of {len(order)}: set --modules, --share or --lift to see the others")
    if here is None:
        counts = " + ".join(str(box.count) for box in asked.boxes.values())
        out.print(f"what the job asks for, {counts}, is not among them: see what the review says")
    out.print()
    out.print(_ends(refused))
    if not order:
        out.print("\nNo split keeps the limits.")
        raise typer.Exit(1)
    if picture is not None:
        _draw(found, picture, here)
        typer.echo(f"\npicture: {picture}")
    if take is not None and write is not None:
        _write(asked, found, order[take - 1], write)
        counts = " + ".join(str(count) for count in found.counts(order[take - 1]).values())
        typer.echo(f"\nwrote {write}: {counts}; now run: baywright review {write}")


def _refuse(job: "Job", picture: Path | None, take: int | None, write: Path | None) -> None:
    """Refuse what can be seen to be wrong before the work starts.

    Raises:
        BadInput: with a sentence.
    """
    from baywright.job.messages import BadInput, Problem, shown

    def no(of: str, message: str) -> BadInput:
        return BadInput([Problem(of, None, "", message)])

    if not job.boxes:
        raise BadInput([job.problem(("boxes",), "the job has no box to share modules out to")])
    kinds = sorted({box.module for box in job.boxes.values()})
    if len(kinds) > 1:
        raise BadInput([job.problem(("boxes",), f"only boxes of one module can share: here are {', '.join(kinds)}")])
    if picture is not None and picture.suffix.lower() not in (".svg", ".png", ".pdf"):
        raise no(str(picture), "a picture's name must end in .svg, .png or .pdf")
    if (take is None) != (write is None):
        raise no("--take", "--take and --write go together: which split, and into which file")
    if write is not None and write.exists():
        raise no(shown(write), "is there already; choose another name")
    beside = write is None or write.resolve().parent == job.path.resolve().parent
    if not beside and any(bay.scan for bay in job.bays.values()):
        raise no(str(write), f"its bays' scans are found from the job's folder: write it beside {shown(job.path)}")
    for path in (picture, write):
        if path is not None and not path.resolve().parent.is_dir():
            raise no(str(path), "no such folder: make it, or name another")


def _layouts(job: "Job", most: int, limits: "Limits") -> tuple["Layouts", list["Refused"]]:
    """Return every split that keeps the limits, and what ended each bay; progress goes to stderr.

    Raises:
        BadInput: if figures of the job can't be true together, or there are too many ways.
    """
    from dataclasses import replace

    from rich.progress import BarColumn, Progress, TextColumn

    from baywright.cli.show import console
    from baywright.design import design_job
    from baywright.job.messages import BadInput
    from baywright.vehicle.asked import car_of
    from baywright.vehicle.choices import bare_of, choices_of, reach_of
    from baywright.vehicle.split import split as split_between

    bays: list[BayChoices] = []
    refused: list[Refused] = []
    with Progress(TextColumn("{task.description}"), BarColumn(), console=console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=len(job.boxes))
        for name in job.boxes:
            bar.update(task, description=f"box {name}: one module more, until it no longer goes in")
            try:
                some, ends = choices_of(job, most, boxes=[name])
            except ValueError as error:
                raise BadInput([job.problem(("boxes", name), str(error))]) from None
            bays += some
            refused += ends
            bar.advance(task)
    module = job.catalogue.module(next(iter(job.boxes.values())).module).electrical
    energy = module.nominal_voltage * module.capacity / 1000
    # Adapters and whatever else is made for the car stay, however the modules are shared out.
    others = design_job(replace(job, asked=job.asked.model_copy(update={"boxes": {}}))).carried
    try:
        bare = bare_of(car_of(job.car), others)
    except ValueError as error:
        raise BadInput([job.problem(("car",), str(error))]) from None
    try:
        reach = reach_of(job.asked.road, energy, job.asked.pack.usable)
        return split_between(bare, bays, limits, reach), refused
    except ValueError as error:
        raise BadInput([job.problem(("boxes",), str(error))]) from None


def _ends(refused: "list[Refused]") -> "Table":
    """Return the table of what did not go in, and why."""
    from rich.table import Table

    table = Table(title="What does not go in", title_justify="left", show_edge=False, pad_edge=False, box=None)
    for head in ("box", "lying", "modules", "because"):
        table.add_column(head, justify="right" if head == "modules" else "left", no_wrap=head != "because")
    for one in refused:
        table.add_row(one.box, one.place, str(one.count), one.reason)
    return table


def _draw(found: "Layouts", path: Path, asked: int | None) -> None:
    """Write the picture of the trade-off.

    Raises:
        BadInput: if it can't be written.
    """
    from baywright.cli.show import console
    from baywright.job.messages import BadInput, Problem
    from baywright.vehicle.split_report import split_picture

    try:
        with console(stderr=True).status("drawing"):
            split_picture(found, path, asked)
    except OSError as error:
        raise BadInput([Problem(str(path), None, "", f"can't be written: {error.strerror}")]) from None


def _write(job: "Job", found: "Layouts", chosen: int, path: Path) -> None:
    """Write the job with a split's counts into a new file, which must read again as a job, or not at all.

    Raises:
        BadInput: if the file is there, can't be written, or would not read: its parts may lie beside the old one.
    """
    from baywright.job.messages import BadInput, Problem, shown
    from baywright.job.read import read_job
    from baywright.vehicle.choices import changes_for
    from baywright.vehicle.write_back import write_back

    text = job.path.read_bytes().decode("utf-8-sig")
    try:
        new = write_back(text, changes_for(job, found, chosen))
    except ValueError as error:
        raise BadInput([job.problem(("boxes",), str(error))]) from None
    try:
        with path.open("x", encoding="utf-8", newline="") as file:
            file.write(new)
    except FileExistsError:
        raise BadInput([Problem(shown(path), None, "", "is there already; choose another name")]) from None
    except OSError as error:
        raise BadInput([Problem(shown(path), None, "", f"can't be written: {error.strerror}")]) from None
    try:
        read_job(path)
    except BadInput as bad:
        path.unlink()
        beside = Problem(shown(path), None, "", f"not written: write it beside {shown(job.path)}, where its parts are")
        raise BadInput([beside, *bad.problems]) from None
