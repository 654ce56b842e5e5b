"""`baywright wayin`: how a box goes into its bay: straight down, or by shifts and turns."""

from typing import Annotated

import typer

from baywright.cli import app
from baywright.cli.bays import BayName, BoxName, PictureFile, ScanFile
from baywright.cli.examples import examples
from baywright.cli.review import JobFile


@app.command(
    epilog=examples(
        "wayin shared/jobs/estate.toml --box front",
        "wayin shared/jobs/estate-scanned.toml --seed 2 --picture way.png",
    )
)
def wayin(
    job: JobFile,
    box: BoxName = "",
    bay: BayName = "",
    scan: ScanFile = None,
    clearance: Annotated[
        float, typer.Option("--clearance", help="The clearance to keep on the way, mm.", metavar="MM", min=0, max=50)
    ] = 3.0,
    tries: Annotated[
        int, typer.Option("--tries", help="How often the planner draws a pose.", metavar="N", min=1, max=1_000_000)
    ] = 40_000,
    seconds: Annotated[
        float, typer.Option("--seconds", help="The most time to look.", metavar="SECONDS", min=1, max=3600)
    ] = 600.0,
    seed: Annotated[int, typer.Option("--seed", help="Another seed looks elsewhere.", metavar="N", min=0)] = 1,
    empty: Annotated[bool, typer.Option("--empty", help="The box goes in empty, then module by module.")] = False,
    picture: PictureFile = None,
) -> None:
    """Find a box's way into its bay with bonnet or boot open, and what hangs on the hoist.

    Reads the job, its bay, its scan if it has one, and what else stands there. Prints the shifts in mm and turns in
    degrees from place to place, and masses in kg; writes nothing but the picture. Ends with 0 if a way was found, 1 if
    not (which is no proof that there is none), 2 if the job or scan can't be used.
    """
    from baywright.bay.hoist import lifts, modules_in
    from baywright.bay.outside import outer_bodies
    from baywright.bay.route import way_in
    from baywright.cli.bays import box_in_bay, picture_path
    from baywright.cli.show import console

    picture = picture_path(picture)
    it = box_in_bay(job, box, bay, scan)
    bodies, pose = outer_bodies(it.box), it.box.pose
    route = way_in(bodies, pose, it.around, clearance=clearance, tries=tries, seconds=seconds, seed=seed)
    out = console()
    out.print(f"box {it.name} in bay {it.bay}: {route.said}")
    for number, frame in enumerate(route.frames, 1):
        x, y, z = frame.shift
        out.print(f"  frame {number}: X {x:.0f}, Y {y:.0f}, Z {z:.0f} mm; {_turned(frame.turn)}")
    for lift in lifts(it.box):
        if empty or lift.what != "empty box":
            out.print(f"  on the hoist: {lift.what}, {lift.mass:.1f} kg")
    good = route.found
    if empty:
        blocked = modules_in(it.box, pose, it.around)
        good = good and not blocked
        out.print(
            "  module by module: every module goes straight down into the box"
            if not blocked
            else f"  module by module: {', '.join(blocked)} can't go straight down into the box in the car"
        )
    if picture is not None and route.frames:
        from baywright.bay.picture import way_picture

        title = f"box {it.name} into bay {it.bay}"
        out.print(f"picture: {way_picture(title, bodies, route, it.around.opened, picture)}")
    if not good:
        raise typer.Exit(1)


def _turned(turn: object) -> str:
    """Return a turn as yaw, pitch and roll in words."""
    import numpy as np

    t = np.asarray(turn)
    pitch = float(np.degrees(np.arcsin(np.clip(-t[2, 0], -1, 1))))
    yaw = float(np.degrees(np.arctan2(t[1, 0], t[0, 0])))
    roll = float(np.degrees(np.arctan2(t[2, 1], t[2, 2])))
    return f"yaw {yaw:.0f}, pitch {pitch:.0f}, roll {roll:.0f} degrees"
