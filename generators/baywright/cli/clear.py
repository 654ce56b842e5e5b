"""`baywright clear`: how a box stands in its bay where the job puts it: clearances, shifts, room to work."""

from pathlib import Path
from typing import Annotated

import typer

from baywright.cli import app
from baywright.cli.bays import BayName, BoxName, PictureFile, ScanFile
from baywright.cli.examples import examples
from baywright.cli.review import JobFile


@app.command(
    epilog=examples(
        "clear shared/jobs/estate.toml --box front",
        "clear shared/jobs/estate-scanned.toml --picture tight.png --map unfolded.svg",
    )
)
def clear(
    job: JobFile,
    box: BoxName = "",
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
    """Show how a box stands in its bay: the tightest places, how far it may shift, room to work, what to measure next.

    Reads the job, its bay, its scan if it has one, and what moves or stands there. Prints distances in mm, as measured
    and at the worst that tape or scan allow; writes nothing but pictures. Ends with 0 if nothing fails, 1 if something
    does, 2 if the job or the scan can't be used.
    """
    from rich.table import Table

    from baywright.bay.findings import surround_findings
    from baywright.bay.fit import check_fit
    from baywright.bay.measure import measure_next, scan_next, sentences
    from baywright.bay.outside import case_of, outer_bodies
    from baywright.bay.surround import standing, underfoot
    from baywright.cli.bays import box_in_bay, picture_path
    from baywright.cli.show import console, findings_table
    from baywright.finding import verdict_of, worst_first

    picture, chart = picture_path(picture), picture_path(chart)
    it = box_in_bay(job, box, bay, scan)
    pose, asked = it.box.pose, it.around.bay.clearance
    bodies = outer_bodies(it.box)
    fit = check_fit(f"box {it.name}", bodies, pose, it.around.bay)
    stands = standing(bodies, pose, it.around.shut)
    found = worst_first([*fit.findings, *surround_findings(f"box {it.name}", it.box, pose, it.around)])
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
