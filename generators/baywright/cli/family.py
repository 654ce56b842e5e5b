"""`baywright family`: a box of the job for N = 1, 2, 3 … modules, side by side."""

from typing import Annotated

import typer

from baywright.cli import app
from baywright.cli.bays import BoxName
from baywright.cli.examples import examples
from baywright.cli.review import JobFile


@app.command(
    epilog=examples(
        "family shared/jobs/estate.toml",
        "family shared/jobs/estate.toml --box rear --counts 2,4,5",
    )
)
def family(
    job: JobFile,
    box: BoxName = "",
    counts: Annotated[
        str, typer.Option("--counts", help="Module counts, such as 1-6 or 2,3,5.", metavar="COUNTS")
    ] = "1-6",
) -> None:
    """Show a box of the job for several module counts: size, mass, centroid, sheet, screws, adhesive, feet.

    Reads the job; prints one row a count, in mm, kg, m² and ml, and where its feet's bolts are; writes nothing. A count
    that can't be made says why. Ends with 0, or with 2 if the job can't be used.
    """
    from rich.table import Table

    from baywright.box.family import family as members_of
    from baywright.cli.show import console
    from baywright.job.messages import BadInput, Problem, shown, unknown
    from baywright.job.read import read_job

    asked = read_job(job)
    if not asked.boxes:
        raise BadInput([Problem(shown(job), None, "boxes", "the job has no box")])
    name = box or next(iter(asked.boxes))
    if name not in asked.boxes:
        raise BadInput([Problem(shown(job), None, "boxes", unknown("box", name, asked.boxes))])
    members = members_of(name, asked.boxes[name], _counts(counts), asked.catalogue)
    table = Table(title=f"Family of box {name}, {asked.boxes[name].module}", title_justify="left", box=None)
    for head in (
        "N",
        "outside, mm",
        "mass, kg",
        "metal, kg",
        "centroid x y z, mm",
        "sheet, m²",
        "screws",
        "adhesive, ml",
    ):
        table.add_column(head, justify="right")
    table.add_column("feet bolts x y, mm")
    for m in members:
        if m.problem:
            table.add_row(str(m.count), *[""] * 7, m.problem)
            continue
        table.add_row(
            str(m.count),
            " x ".join(f"{v:.0f}" for v in m.outside),
            f"{m.mass:.1f}",
            f"{m.metal:.1f}",
            " ".join(f"{v:.0f}" for v in m.centroid),
            f"{m.sheet:.2f}",
            str(m.screws),
            f"{m.adhesive:.0f}",
            ", ".join(f"{x:.0f} {y:.0f}" for x, y in m.feet),
        )
    console().print(table)


def _counts(text: str) -> list[int]:
    """Return the counts in "1-6" or "2,3,5".

    Raises:
        BadInput: if the text is neither, or a count is out of 1 to 60.
    """
    from baywright.job.messages import BadInput, Problem

    found: list[int] = []
    for part in text.split(","):
        first, dash, last = part.strip().partition("-")
        if not first.isdigit() or (dash and not last.isdigit()):
            raise BadInput(
                [Problem("--counts", None, "", f"'{text}' is no list of counts; write it like 1-6 or 2,3,5")]
            )
        low, high = int(first), int(last) if dash else int(first)
        if not 1 <= low <= high <= 60:
            raise BadInput(
                [Problem("--counts", None, "", f"'{part.strip()}': counts run from 1 to 60, the lower first")]
            )
        found += range(low, high + 1)
    return found
