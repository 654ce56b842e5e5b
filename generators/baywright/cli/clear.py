"""`baywright clear`: how a box stands in its bay where the job puts it: clearances, shifts, room to work."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from baywright.cli import app
from baywright.cli.bays import BayName, BoxName, PictureFile, ScanFile
from baywright.cli.complete import made_names
from baywright.cli.examples import examples
from baywright.cli.review import JobFile

if TYPE_CHECKING:
    from baywright.bay.surround import Standing


@app.command(
    epilog=examples(
        "clear shared/jobs/estate.toml --box front",
        "clear shared/jobs/estate-scanned.toml --picture tight.png --map unfolded.svg",
        "clear shared/jobs/estate-whole.toml --of motor --picture motor.png",
    )
)
def clear(
    job: JobFile,
    box: BoxName = "",
    of: Annotated[
        str,
        typer.Option(
            "--of",
            help="An adapter or a set of rails with its motor, instead of a box.",
            metavar="NAME",
            autocompletion=made_names,
        ),
    ] = "",
    bay: BayName = "",
    scan: ScanFile = None,
    picture: PictureFile = None,
    chart: Annotated[
        Path | None,
        typer.Option(
            "--map", help="Also draw the case unfolded, coloured by clearance (.svg, .png, .pdf).", metavar="FILE"
        ),
    ] = None,
) -> None:
    """Show how a box, or the drive, stands in its bay: tightest places, shifts, room to work, what to measure next.

    Reads the job, its bay, its scan if it has one, and what moves or stands there. Prints distances in mm, as measured
    and at the worst that tape or scan allow; writes nothing but pictures. Ends with 0 if nothing fails, 1 if something
    does, 2 if the job or the scan can't be used.
    """
    from baywright.bay.findings import surround_findings
    from baywright.bay.fit import check_fit
    from baywright.bay.measure import measure_next, scan_next, sentences
    from baywright.bay.outside import case_of, outer_bodies
    from baywright.bay.surround import standing, underfoot
    from baywright.cli.bays import box_in_bay, picture_path
    from baywright.cli.show import console, findings_table
    from baywright.finding import verdict_of, worst_first
    from baywright.job.messages import BadInput, Problem

    picture, chart = picture_path(picture), picture_path(chart)
    if of and (box or chart is not None):
        text = "goes with a box: leave it out with --of"
        raise BadInput([Problem("--box" if box else "--map", None, "", text)])
    if of:
        _drive(job, of, bay, scan, picture)
        return
    it = box_in_bay(job, box, bay, scan)
    pose, asked = it.box.pose, it.around.bay.clearance
    bodies = outer_bodies(it.box)
    fit = check_fit(f"box {it.name}", bodies, pose, it.around.bay)
    stands = standing(bodies, pose, it.around.shut)
    found = worst_first([*fit.findings, *surround_findings(f"box {it.name}", it.box, pose, it.around)])
    out = console()
    _print_tightest(stands)
    out.print()
    out.print(findings_table([f for f in found if f.verdict != "pass"] or found))
    out.print("\nmeasure next:")
    for line in sentences([*measure_next(fit), *scan_next(stands, asked)]):
        out.print(f"  {line}")
    title = f"box {it.name} in bay {it.bay}"
    if picture is not None:
        from baywright.bay.picture import section_picture

        rooms = outer_bodies(it.box, rooms=True)
        out.print(f"picture: {section_picture(title, rooms, pose, it.around.shut, stands, picture)}")
    if chart is not None:
        from baywright.bay.picture import map_picture

        skins = underfoot(bodies, pose, it.around.shut)
        out.print(f"map: {map_picture(title, case_of(it.box), pose, skins, asked, chart)[0]}")
    if verdict_of(found) == "fail":
        raise typer.Exit(1)


def _drive(job: Path, of: str, bay: str, scan: Path | None, picture: Path | None) -> None:
    """Show how an adapter or a set of rails stands in a bay, every box of the job beside it.

    Raises:
        BadInput: if the job has no such adapter or rails, its place or its bay is not known, or the scan can't be used.
    """
    from baywright.bay.drive import adapter_in_bay, rails_in_bay
    from baywright.bay.findings import skin_findings, surround_of
    from baywright.bay.fit import check_fit
    from baywright.bay.rails import bay_findings
    from baywright.bay.surround import standing
    from baywright.cli.show import console, findings_table
    from baywright.design import design_job
    from baywright.finding import verdict_of, worst_first
    from baywright.job.messages import BadInput, Problem, shown, unknown
    from baywright.job.read import read_job

    asked = read_job(job)
    names = [*asked.adapters, *asked.rails]
    if of not in names:
        raise BadInput([Problem(shown(job), None, "", unknown("adapter or set of rails", of, names))])
    made = design_job(asked)
    if of in made.rails:
        it, where = rails_in_bay(made.rails[of], made.boxes), bay or asked.rails[of].bay or ""
    elif of in made.adapter_poses:
        joined = next((r.bay for r in asked.rails.values() if r.adapter == of), None)
        it, where = adapter_in_bay(made.adapters[of], made.adapter_poses[of], made.boxes), bay or joined or ""
    else:
        raise BadInput([asked.problem(("adapters", of), "has no place in the car: give `at`, or rails that name it")])
    if not where:
        raise BadInput([Problem(shown(job), None, "", f"which bay does '{of}' stand in? Say --bay")])
    if where not in asked.bays:
        raise BadInput([Problem(shown(job), None, "bays", unknown("bay", where, asked.bays))])
    try:
        with console(stderr=True).status("reading the bay"):
            around = surround_of(where, asked.bays[where], job.parent, scan, it.beside)
    except ValueError as why:
        raise BadInput([asked.problem(("bays", where), str(why))]) from None
    stands = standing(it.bodies, it.pose, around.shut)
    found = skin_findings(it.subject, it.bodies, it.pose, around)
    if of in made.rails:
        found += bay_findings(made.rails[of], around.bay, it.bodies)
    else:
        fit = check_fit(it.subject, it.bodies, it.pose, around.bay)
        found += [f for f in fit.findings if f.check != "way in"]  # it goes in with the motor, not from above
    _print_tightest(stands)
    out = console()
    out.print()
    told = worst_first(found)
    out.print(findings_table([f for f in told if f.verdict != "pass"] or told))
    if picture is not None:
        from baywright.bay.picture import section_picture

        title = f"{it.subject} in bay {where}"
        out.print(f"picture: {section_picture(title, it.bodies, it.pose, around.shut, stands, picture)}")
    if verdict_of(told) == "fail":
        raise typer.Exit(1)


def _print_tightest(stands: "Standing") -> None:
    """Print the tightest places, and how far a thing may shift to each side."""
    from rich.table import Table

    from baywright.cli.show import console

    out = console()
    table = Table(title="tightest places", title_justify="left", show_edge=False, pad_edge=False, box=None)
    for name in ("piece", "mm", "at worst", "to", "X Y Z, mm"):
        table.add_column(name, justify="right" if name in ("mm", "at worst") else "left")
    for one in stands.pieces[:8]:
        place = " ".join(f"{v:.0f}" for v in one.gap.on_skin)
        table.add_row(one.gap.mark, f"{one.gap.distance:.1f}", f"{one.worst:.1f}", one.against, place)
    out.print(table)
    for travel, _, name in stands.ways:
        out.print(f"may shift {travel.way:.0f} mm {travel.side} until '{travel.mark}' meets {name}")
