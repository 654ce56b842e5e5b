"""`baywright split`: every way to share the modules out between the job's boxes, and one of them as a new job file."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from baywright.cli import app
from baywright.cli.examples import examples
from baywright.cli.review import JobFile

if TYPE_CHECKING:
    from rich.table import Table

    from baywright.job.read import Job
    from baywright.vehicle.choices import Refused
    from baywright.vehicle.split import BayChoices, Layouts, Limits

# More rows than this nobody reads in a terminal.
_MOST_ROWS = 200


@app.command(
    epilog=examples(
        "split shared/jobs/estate.toml",
        "split shared/jobs/estate.toml --modules 6-8 --share 2 --lift 160 --picture split.png",
        "split shared/jobs/estate.toml --take 2 --write other.toml",
    )
)
def split(
    job: JobFile,
    most: Annotated[int, typer.Option("--most", min=1, max=60, help="Most modules in one box.", metavar="N")] = 24,
    modules: Annotated[
        str,
        typer.Option(
            "--modules", help="Only splits of so many modules in all: 8, or 6-10.", metavar="COUNT", show_default=False
        ),
    ] = "",
    share: Annotated[
        float | None,
        typer.Option(
            "--share", min=0, help="Most change of the front share, points of %.", metavar="POINTS", show_default=False
        ),
    ] = None,
    lift: Annotated[
        float | None,
        typer.Option(
            "--lift", min=0, help="Heaviest box that the shop can lift, kg.", metavar="KG", show_default=False
        ),
    ] = None,
    in_place: Annotated[
        bool, typer.Option("--in-place", help="Leave every box where it is; search no other places and stacks.")
    ] = False,
    no_rules: Annotated[
        bool, typer.Option("--no-rules", help="Keep to plate, tyres and voltages only, not to the job's rule profiles.")
    ] = False,
    everything: Annotated[bool, typer.Option("--all", help="List every split that keeps the limits.")] = False,
    picture: Annotated[
        Path | None,
        typer.Option(
            "--picture", help="Also draw the trade-off: .svg, .png or .pdf.", metavar="FILE", show_default=False
        ),
    ] = None,
    take: Annotated[
        int | None,
        typer.Option("--take", min=1, help="The split of this number …", metavar="NUMBER", show_default=False),
    ] = None,
    write: Annotated[
        Path | None,
        typer.Option(
            "--write", help="… goes into this new job file, comments and all.", metavar="FILE", show_default=False
        ),
    ] = None,
) -> None:
    """Try every number of modules in every box, every way to stack them, every place, and show what the limits leave.

    Each box is generated, set in its bay, where the job has it and where the bay's search finds room furthest forward
    and rearward, and held against the job's load cases. What goes in is combined with what goes into the others and
    held against the car's ratings and tyres, laden cases too, the job's rule profiles, and what controller, charger and
    fuse bear. Numbers stay the same as long as job and limits do.

    Reads the job; prints the splits worth reading, best first, and what did not go in and why; writes nothing but the
    picture and the new job file. Ends with 0, with 1 if no split keeps the limits, with 2 if the job file can't be
    used.
    """
    from dataclasses import replace

    from baywright.cli.show import console
    from baywright.job.messages import BadInput, Problem
    from baywright.job.read import read_job
    from baywright.vehicle.split_job import as_asked
    from baywright.vehicle.split_report import reading_order, render_split, worth_reading

    asked = read_job(job)
    least, largest = _range_of(modules)
    _refuse(asked, picture, take, write)
    limits = _limits(asked, share, lift, rules=not no_rules)
    limits = replace(limits, least=least, most=largest)
    found, refused = _layouts(asked, most, limits, search=not in_place)
    order = reading_order(found).tolist()
    if take is not None and take > len(order):
        raise BadInput([Problem("--take", None, "", f"there is no split {take}; {len(order)} keep the limits")])
    here = as_asked(asked, found)
    rows = order[:_MOST_ROWS] if everything else worth_reading(found)
    if here is not None and here not in rows:
        rows = sorted([*rows, here], key=order.index)
    out = console()
    module = asked.catalogue.module(next(iter(asked.boxes.values())).module).electrical
    table = render_split(found, rows=rows, asked=here, voltage=module.nominal_voltage / asked.asked.pack.strings)
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
        typer.echo(f"\nwrote {write}: {counts}; {_verdict(write)}: baywright review {write}")


def _range_of(text: str) -> tuple[int, int | None]:
    """Return the fewest and the most modules in all that a text like "8" or "6-10" asks for.

    Raises:
        BadInput: if it says neither.
    """
    import re

    from baywright.job.messages import BadInput, Problem

    if not text:
        return 1, None
    match = re.fullmatch(r"(\d{1,4})(?:\s*(?:-|–|to|\.\.)\s*(\d{1,4}))?", text.strip())
    least, most = (0, 0) if match is None else (int(match[1]), int(match[2] or match[1]))
    if not 1 <= least <= most:
        raise BadInput([Problem("--modules", None, "", f"'{text}': write a number of modules, such as 8, or 6-10")])
    return least, most


def _limits(job: "Job", share: float | None, lift: float | None, rules: bool) -> "Limits":
    """Return what every split must keep.

    Raises:
        BadInput: if figures of the job can't be true together, or a rule profile is unknown.
    """
    from dataclasses import replace

    from baywright.job.messages import BadInput
    from baywright.vehicle.asked import car_of
    from baywright.vehicle.split_job import forbidden_totals, limits_of, rule_limits
    from baywright.vehicle.whole import rule_profile

    try:
        car = car_of(job.car)
    except ValueError as error:
        raise BadInput([job.problem(("car",), str(error))]) from None
    limits = limits_of(car, job.asked.pack.strings, share, lift)
    module = next(iter(job.boxes.values())).module
    limits = replace(limits, totals=forbidden_totals(job, module))
    for name in job.car.rules if rules else ():
        limits = rule_limits(limits, rule_profile(job, name), car)
    return limits


def _verdict(path: Path) -> str:
    """Return what the review says about a job that was written, in a few words."""
    from baywright.design import design_job
    from baywright.job.messages import BadInput
    from baywright.job.read import read_job
    from baywright.review import review_job

    try:
        found = review_job(design_job(read_job(path))).findings
    except BadInput as bad:
        return f"its review can't be done ({bad.problems[0].message})"
    counts = {v: sum(f.verdict == v for f in found) for v in ("fail", "look")}
    return f"reviewed: {counts['fail']} fail, {counts['look']} to look at"


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


def _layouts(job: "Job", most: int, limits: "Limits", search: bool) -> tuple["Layouts", list["Refused"]]:
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
    from baywright.vehicle.choices import choices_of
    from baywright.vehicle.split import split as split_between
    from baywright.vehicle.split_job import bare_of, reach_of

    bays: list[BayChoices] = []
    refused: list[Refused] = []
    with Progress(TextColumn("{task.description}"), BarColumn(), console=console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=len(job.boxes))
        for name in job.boxes:
            try:
                some, ends = choices_of(job, most, [name], search, lambda text: bar.update(task, description=text))
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
        reach = reach_of(job.asked.road, energy, job.asked.pack.usable, job.asked.drive)
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
    from baywright.figure import save_figure
    from baywright.job.messages import BadInput, Problem
    from baywright.vehicle.split_report import split_figure

    try:
        with console(stderr=True).status("drawing"):
            save_figure(split_figure(found, asked), path)
    except OSError as error:
        raise BadInput([Problem(str(path), None, "", f"can't be written: {error.strerror}")]) from None


def _write(job: "Job", found: "Layouts", chosen: int, path: Path) -> None:
    """Write the job with a split's counts into a new file, which must read again as a job, or not at all.

    Raises:
        BadInput: if the file is there, can't be written, or would not read: its parts may lie beside the old one.
    """
    from baywright.job.messages import BadInput, Problem, shown
    from baywright.job.read import read_job
    from baywright.vehicle.split_job import changes_for
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
