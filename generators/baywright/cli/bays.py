"""What the commands about bays share: the box asked for, its bay with its scan, and where pictures may go."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from baywright.cli.complete import bay_names, box_names

if TYPE_CHECKING:
    from baywright.bay.surround import Surround
    from baywright.box.generate import BoxDesign
    from baywright.job.read import Job

BoxName = Annotated[
    str,
    typer.Option(
        "--box", help="Which box of the job; the first if left out.", metavar="NAME", autocompletion=box_names
    ),
]
BayName = Annotated[
    str,
    typer.Option("--bay", help="Which bay; the box's own if left out.", metavar="NAME", autocompletion=bay_names),
]
ScanFile = Annotated[
    Path | None,
    typer.Option("--scan", help="A scan's description (.toml) to use instead of the bay's own.", metavar="FILE"),
]
PictureFile = Annotated[
    Path | None, typer.Option("--picture", help="Also draw it: a file ending in .svg, .png or .pdf.", metavar="FILE")
]


@dataclass(frozen=True, eq=False)
class InBay:
    """A box of a job, and its bay."""

    job: "Job"
    name: str
    box: "BoxDesign"
    bay: str
    around: "Surround"


def box_in_bay(job: Path, box: str, bay: str, scan: Path | None, empty: bool = False) -> InBay:
    """Return the box asked for and its bay, with all else that the job puts there (no other box with `empty`).

    Raises:
        BadInput: if the job has no such box or bay, or the box can't be made.
    """
    from baywright.bay.findings import surround_of
    from baywright.bay.neighbours import boxes_beside, rails_beside
    from baywright.box.generate import generate
    from baywright.cli.show import console
    from baywright.design import design_job
    from baywright.finding import CannotBuild
    from baywright.job.messages import BadInput, Problem, shown, unknown
    from baywright.job.read import read_job

    asked = read_job(job)
    if not asked.boxes:
        raise BadInput([Problem(shown(job), None, "boxes", "the job has no box")])
    name = box or next(iter(asked.boxes))
    if name not in asked.boxes:
        raise BadInput([Problem(shown(job), None, "boxes", unknown("box", name, asked.boxes))])
    where = bay or asked.boxes[name].bay or ""
    if not where:
        raise BadInput([asked.problem(("boxes", name, "bay"), "names no bay; add one, or say --bay")])
    if where not in asked.bays:
        raise BadInput([Problem(shown(job), None, "bays", unknown("bay", where, asked.bays))])
    others = {n for n, b in asked.boxes.items() if n != name and b.bay == where and not empty}
    if others or any(r.bay == where for r in asked.rails.values()):
        made = design_job(asked)
        design = made.boxes[name]
        beside = (*boxes_beside({n: made.boxes[n] for n in others}, where), *rails_beside(made.rails, where))
    else:  # one box alone is made sooner
        try:
            design, beside = generate(name, asked.boxes[name], asked.catalogue), ()
        except CannotBuild as no:
            raise BadInput([asked.problem(("boxes", name, no.key), no.sentence)]) from None
    try:
        with console(stderr=True).status("reading the bay"):
            around = surround_of(where, asked.bays[where], job.parent, scan, beside)
    except ValueError as why:
        raise BadInput([asked.problem(("bays", where), str(why))]) from None
    return InBay(asked, name, design, where, around)


def picture_path(path: Path | None, ends: tuple[str, ...] = (".svg", ".png", ".pdf")) -> Path | None:
    """Return a path that a file can be written to.

    Raises:
        BadInput: if its suffix is none of `ends`, or its folder is missing.
    """
    from baywright.job.messages import BadInput, Problem

    if path is None:
        return None
    if path.suffix.lower() not in ends:
        raise BadInput([Problem(str(path), None, "", f"the file's name must end in {', '.join(ends)}")])
    if not path.resolve().parent.is_dir():
        raise BadInput([Problem(str(path), None, "", "no such folder: make it, or name another")])
    return path
