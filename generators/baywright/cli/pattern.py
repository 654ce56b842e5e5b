"""`baywright pattern`: the holes of a measured part from caliper readings, and the reading that is wrong."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from baywright.cli import app
from baywright.cli.examples import examples

if TYPE_CHECKING:
    from rich.table import Table

    from baywright.adapter.measured_review import ReadingsReview


@app.command(
    epilog=examples(
        "pattern shared/readings/demo-bell.toml",
        "pattern shared/readings/demo-bell.toml --all --picture bell.png",
    )
)
def pattern(
    readings: Annotated[
        Path,
        typer.Argument(
            help="The readings file, such as shared/readings/demo-bell.toml.", metavar="READINGS", show_default=False
        ),
    ],
    picture: Annotated[
        Path | None,
        typer.Option("--picture", help="Also draw it: a file ending in .svg, .png or .pdf.", metavar="FILE"),
    ] = None,
    everything: Annotated[bool, typer.Option("--all", help="List every reading with its residual.")] = False,
) -> None:
    """Find the holes of a measured pattern: places, how well each is held, which reading is wrong, what to read next.

    Reads caliper readings between holes, across them and to the shaft, in the file's own units. Prints the holes'
    places in mm from the shaft, and the readings that fit worst; writes nothing but the picture. Ends with 0 if the
    readings can be used as they are, 1 if one must be taken again, 2 if the file can't be used.
    """
    from baywright.adapter.file import read_measured
    from baywright.adapter.measured_review import review_readings
    from baywright.cli.show import console, findings_table
    from baywright.figure import SUFFIXES
    from baywright.finding import verdict_of
    from baywright.job.catalogue import load_catalogue
    from baywright.job.messages import BadInput, Problem

    if picture is not None and picture.suffix.lower() not in SUFFIXES:
        raise BadInput([Problem(str(picture), None, "", "a picture's name must end in .svg, .png or .pdf")])
    if picture is not None and not picture.resolve().parent.is_dir():
        raise BadInput([Problem(str(picture), None, "", "no such folder: make it, or name another")])
    catalogue = load_catalogue(readings.parent / "parts")
    file, measured = read_measured(readings, catalogue)
    result = review_readings(file, measured, catalogue)
    out = console()
    out.print(_holes(result))
    out.print()
    out.print(_readings(result, everything))
    out.print()
    out.print(findings_table(result.findings))
    if picture is not None:
        from baywright.adapter.measured_picture import save_picture

        try:
            save_picture(measured, picture)
        except OSError as error:
            raise BadInput([Problem(str(picture), None, "", f"can't be written: {error.strerror}")]) from None
        out.print(f"\npicture: {picture}")
    if verdict_of(result.findings) == "fail":
        raise typer.Exit(1)


def _holes(result: "ReadingsReview") -> "Table":
    """Return the table of holes."""
    from rich.table import Table

    from baywright.adapter.measured import IN_95

    m = result.measured
    origin = "the shaft" if m.origin == "shaft" else "the middle of the holes"
    table = Table(
        title=f"{m.name}, seen from the {m.seen_from}; x right, y up from {origin}, mm",
        title_justify="left",
        show_edge=False,
        pad_edge=False,
        box=None,
    )
    for name in ("hole", "x", "y", "diameter", "known to ±", "readings", "could hide"):
        table.add_column(name, justify="left" if name == "hole" else "right", no_wrap=True)
    for h in m.holes:
        hide = f"{h.unseen:.2f}" if h.unseen < 100 else "anything"
        wide = "" if h.diameter is None else f"{h.diameter:.2f}"
        kind = " (dowel)" if h.name in result.file.holes.dowels else ""
        table.add_row(h.name + kind, f"{h.x:.3f}", f"{h.y:.3f}", wide, f"{IN_95 * h.long:.3f}", str(h.readings), hide)
    return table


def _readings(result: "ReadingsReview", everything: bool) -> "Table":
    """Return the table of readings: all, or the ten that fit worst and those left out."""
    from rich.table import Table

    rows = result.measured.rows
    shown = rows if everything else tuple(sorted(rows, key=lambda r: (not r.left_out, -abs(r.test)))[:10])
    title = "readings, mm" if everything or len(rows) <= 10 else f"the ten of {len(rows)} readings that fit worst, mm"
    table = Table(title=title, title_justify="left", show_edge=False, pad_edge=False, box=None)
    for name in ("reading", "read", "should be", "off by", "times its spread", "checked", ""):
        table.add_column(name, justify="left" if name in ("reading", "") else "right", no_wrap=True)
    for r in shown:
        table.add_row(
            r.label,
            f"{r.read:.3f}",
            f"{r.fitted:.3f}",
            f"{r.residual:+.3f}",
            f"{abs(r.test):.1f}",
            f"{100 * r.redundancy:.0f} %",
            "left out" if r.left_out else "",
        )
    return table
