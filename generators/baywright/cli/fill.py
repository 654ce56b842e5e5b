"""`baywright fill`: how many modules a bay takes, in how many boxes, and why not one more."""

from typing import Annotated

import typer

from baywright.cli import app
from baywright.cli.bays import BayName, BoxName, ScanFile
from baywright.cli.examples import examples
from baywright.cli.review import JobFile


@app.command(
    epilog=examples(
        "fill shared/jobs/estate.toml --box rear",
        "fill shared/jobs/estate-scanned.toml --boxes 2 --step 20",
    )
)
def fill(
    job: JobFile,
    box: BoxName = "",
    bay: BayName = "",
    scan: ScanFile = None,
    boxes: Annotated[int, typer.Option("--boxes", help="How many boxes may be used.", metavar="N", min=1, max=4)] = 1,
    step: Annotated[
        float,
        typer.Option(
            "--step", help="The grid's step, mm: finer finds tighter fits, slower.", metavar="MM", min=3.0, max=50.0
        ),
    ] = 10.0,
) -> None:
    """Show how many modules a bay takes in boxes of one box's style, how they lie, and what one more would lack.

    Reads the job, its bay and its scan if it has one; the job's other boxes in the bay are left out. Prints places in
    mm, vehicle frame; writes nothing. Ends with 0 if at least one goes in, 1 if none does, 2 if the job or the scan
    can't be used.
    """
    from baywright.bay.fill import fill as filled
    from baywright.cli.bays import box_in_bay
    from baywright.cli.show import console

    it = box_in_bay(job, box, bay, scan, empty=True)
    out = console()
    with console(stderr=True).status("looking for places") as status:
        found = filled(
            it.name, it.job.boxes[it.name], it.job.catalogue, it.around, most_boxes=boxes, step=step, said=status.update
        )
    many = "one box" if len(found.boxes) == 1 else f"{len(found.boxes)} boxes"
    out.print(f"bay {it.bay} takes {found.count} modules '{it.job.boxes[it.name].module}' in {many}")
    for number, one in enumerate(found.boxes, 1):
        a = one.ask
        layers = -(-a.count // (a.columns * a.rows))
        x, y, z = one.pose.shift
        out.print(
            f"  {number}: {a.count} modules, {a.columns} side by side, {a.rows} end to end, {layers} high, lying "
            f"{a.orientation}, {one.design.mass_properties.mass:.0f} kg; at X {x:.0f}, Y {y:.0f}, Z {z:.0f} mm with "
            f"{one.worst:.0f} mm clearance for certain"
        )
    if found.short is not None:
        out.print(f"why not one more: {found.short.sentence()}")
    if boxes > 1:
        out.print(
            f"every set of up to {boxes} boxes, all beside each other, was tried from the most modules down, each box "
            f"four ways round at every {step:g} mm; sets with less than {2 * step:g} mm a box to spare may be missed"
        )
    if not found.count:
        raise typer.Exit(1)
