"""`baywright place`: where in its bay a box goes."""

from typing import TYPE_CHECKING, Annotated, Literal, cast

import typer

from baywright.cli import app
from baywright.cli.bays import BayName, BoxName, PictureFile, ScanFile
from baywright.cli.examples import examples
from baywright.cli.review import JobFile

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@app.command(
    epilog=examples(
        "place shared/jobs/estate.toml --box rear",
        "place shared/jobs/estate.toml --by near --target 60,0,500 --picture place.png",
    )
)
def place(
    job: JobFile,
    box: BoxName = "",
    bay: BayName = "",
    scan: ScanFile = None,
    by: Annotated[
        str,
        typer.Option(
            "--by",
            help="What is best: margin, near (with --target), or low.",
            metavar="WHAT",
            autocompletion=lambda: ["margin", "near", "low"],
        ),
    ] = "margin",
    target: Annotated[
        str, typer.Option("--target", help="Where the centroid should be, mm, vehicle frame.", metavar="X,Y,Z")
    ] = "",
    step: Annotated[float, typer.Option("--step", help="The grid's step, mm.", metavar="MM", min=2.0, max=50.0)] = 10.0,
    tilt: Annotated[
        float, typer.Option("--tilt", help="Try small turns up to this too, degrees.", metavar="DEGREES", min=0, max=15)
    ] = 0.0,
    no_rooms: Annotated[bool, typer.Option("--no-rooms", help="Leave out the room for cables outside.")] = False,
    most: Annotated[int, typer.Option("--most", help="How many places to list.", metavar="N", min=1, max=20)] = 5,
    picture: PictureFile = None,
) -> None:
    """Find where a box goes in its bay: every grid place, four ways round, the best moved and confirmed exactly.

    Reads the job, its bay, its scan if it has one, and what else stands there. Prints the places with clearances in mm,
    and the line for the job file; writes nothing but the picture. Ends with 0 if there is a place, 1 if not, 2 if the
    job or the scan can't be used.
    """
    from rich.table import Table

    from baywright.bay.outside import outer_bodies
    from baywright.bay.place import find_places
    from baywright.cli.bays import box_in_bay, picture_path
    from baywright.cli.show import console
    from baywright.job.messages import BadInput, Problem

    picture = picture_path(picture)
    if by not in ("margin", "near", "low"):
        raise BadInput([Problem("--by", None, "", f"'{by}': write margin, near or low")])
    aim = _target(target)
    if by == "near" and aim is None:
        raise BadInput([Problem("--target", None, "", "--by near needs --target X,Y,Z in mm")])
    it = box_in_bay(job, box, bay, scan)
    turns = (0.0,) if tilt == 0 else (0.0, -tilt / 2, tilt / 2, -tilt, tilt)
    bodies = outer_bodies(it.box, rooms=not no_rooms)
    try:
        found = find_places(
            bodies,
            it.box.mass_properties.centroid,
            it.around,
            clearance=it.around.bay.clearance,
            rank=cast(Literal["margin", "near", "low"], by),
            target=aim,
            yaws=turns,
            pitches=turns if tilt else (0.0,),
            step=step,
            most=most,
        )
    except ValueError as why:
        raise BadInput([Problem("--step", None, "", str(why))]) from None
    out = console()
    fits = [p for p in found.places if p.fits]
    if not fits:
        least = f"; the nearest leaves {found.places[0].worst:.1f} mm" if found.places else ""
        out.print(
            f"box {it.name} finds no place in bay {it.bay} with {it.around.bay.clearance:g} mm clearance on a grid of "
            f"{step:g} mm{least}: ask for fewer modules, try --tilt, or `baywright fill`"
        )
        raise typer.Exit(1)
    table = Table(
        title=f"box {it.name} in bay {it.bay}: at least {it.around.bay.clearance:g} mm asked",
        title_justify="left",
        show_edge=False,
        pad_edge=False,
        box=None,
    )
    for name in ("", "at X Y Z, mm", "yaw", "tilt", "clearance for certain, mm", "centroid X Y Z, mm", "stands"):
        table.add_column(name, justify="right")
    for number, one in enumerate(fits, 1):
        table.add_row(
            str(number),
            " ".join(f"{v:.0f}" for v in one.pose.shift),
            f"{one.turn[0]:g}",
            f"{one.turn[1]:g}",
            f"{one.worst:.1f}",
            " ".join(f"{v:.0f}" for v in one.centroid),
            "yes" if one.stands else "no",
        )
    out.print(table)
    if fits[0].turn[1] == 0:
        shift = ", ".join(f"{v:.1f}" for v in fits[0].pose.shift)
        out.print(f"in the job file: at = [{shift}], yaw = {fits[0].turn[0]:g}")
    if picture is not None:
        from baywright.bay.picture import section_picture
        from baywright.bay.surround import standing

        stands = standing(bodies, fits[0].pose, it.around.shut)
        title = f"box {it.name} in bay {it.bay}, place 1"
        out.print(f"picture: {section_picture(title, bodies, fits[0].pose, it.around.shut, stands, picture)}")


def _target(text: str) -> "NDArray[np.float64] | None":
    import numpy as np

    from baywright.job.messages import BadInput, Problem

    if not text:
        return None
    try:
        found = np.array([float(v) for v in text.split(",")])
    except ValueError:
        found = np.zeros(0)
    if found.shape != (3,) or not np.isfinite(found).all():
        raise BadInput([Problem("--target", None, "", f"'{text}': write X,Y,Z in mm, such as 100,0,450")])
    return found
