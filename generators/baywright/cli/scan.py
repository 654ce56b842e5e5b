"""`baywright scan`: read a scan of a bay, and say what it can be trusted to."""

from pathlib import Path
from typing import Annotated

import typer

from baywright.cli import app
from baywright.cli.examples import examples


@app.command(
    epilog=examples(
        "scan shared/scans/estate-engine.toml",
    )
)
def scan(
    description: Annotated[
        Path,
        typer.Argument(
            help="The scan's description, such as shared/scans/estate-engine.toml.",
            metavar="DESCRIPTION",
            show_default=False,
        ),
    ],
) -> None:
    """Read a scan of a bay: units, alignment with residuals, size, and how far it can be trusted.

    Reads the description (a TOML file: the mesh or cloud, its units, points measured on the car) and the scan that it
    names. Prints sizes and residuals in mm, vehicle frame; writes nothing. Ends with 0 if the scan can be used, 2 if
    it can't.
    """
    from rich.table import Table

    from baywright.bay.scan import read_scan
    from baywright.cli.show import console, findings_table

    with console(stderr=True).status(f"reading {description}"):
        found = read_scan(description)
    low, high = found.skin.bounds
    out = console()
    kind = "points" if found.cloud else "triangles"
    merged = f", {len(found.skin):,} after cropping and merging" if len(found.skin) != found.read else ""
    out.print(f"{description}: {found.read:,} {kind}{merged}, in {found.units}{' (guessed)' if found.guessed else ''}")
    out.print(
        "vehicle frame, mm: "
        + ", ".join(f"{axis} {a:.0f} to {b:.0f}" for axis, a, b in zip("XYZ", low, high, strict=True))
    )
    if found.alignment is not None:
        table = Table(title="scan less tape, mm", title_justify="left", show_edge=False, pad_edge=False, box=None)
        for name in ("point", "X", "Y", "Z", "off"):
            table.add_column(name, justify="left" if name == "point" else "right")
        rows = zip(found.alignment.names, found.alignment.residuals, found.alignment.off, strict=True)
        for name, residual, off in rows:
            table.add_row(name, *(f"{v:+.1f}" for v in residual), f"{off:.1f}")
        out.print(table)
    out.print(findings_table(found.findings))
