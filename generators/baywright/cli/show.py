"""How results look in a terminal: tables of findings, balance, family; one colour a verdict, with its word."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table
from rich.text import Text

if TYPE_CHECKING:  # what is shown costs more to import than many a command has to do
    from baywright.bay.fit import FitResult
    from baywright.finding import Finding
    from baywright.review import Review
    from baywright.vehicle.balance import Balance

# Each verdict is a word first; the colour only helps.
_STYLE = {"fail": "bold white on red", "look": "black on yellow", "pass": "green"}


def console(stderr: bool = False) -> Console:
    """Return the console that everything is printed on; plain text of a fixed width where it is no terminal.

    It reads no markup: a job's own words may have brackets.
    """
    found = Console(stderr=stderr, highlight=False, soft_wrap=False, markup=False, emoji=False)
    if not found.is_terminal:
        found.width = 118
    return found


def headed(head: str, rest: str) -> Text:
    """Return a line whose first words are bold."""
    return Text.assemble((head, "bold"), rest)


def findings_table(findings: "Iterable[Finding]", title: str = "") -> Table:
    """Return a table of findings in the order given: verdict, what, sentence, margin."""
    table = Table(title=title or None, title_justify="left", show_edge=False, pad_edge=False, box=None)
    table.add_column("", no_wrap=True)
    table.add_column("of", style="bold", no_wrap=True)
    table.add_column("check", no_wrap=True)
    table.add_column("found")
    table.add_column("to spare", justify="right", no_wrap=True)
    for f in findings:
        spare = "" if f.margin is None or abs(f.margin) > 99 else f"{100 * f.margin:+.0f} %"
        table.add_row(Text(f.verdict, _STYLE[f.verdict]), f.subject, f.check, f.message, spare)
    return table


def glance_table(review: "Review") -> Table:
    """Return a table of a row for each thing and a column for each subject: the worst that was found, and how often."""
    from baywright.release.report.overview import TOPICS, overview

    table = Table(title="At a glance", title_justify="left", show_edge=False, pad_edge=False, box=None)
    table.add_column("", style="bold", no_wrap=True)
    for topic in TOPICS:
        table.add_column(topic, no_wrap=True)
    for subject, cells in overview(review):
        row = []
        for cell in cells:
            counts = {} if cell is None else dict(zip(("fail", "look", "pass"), cell.counts, strict=True))
            said = ", ".join(f"{count} {verdict}" for verdict, count in counts.items() if count)
            row.append(Text(said or "-", _STYLE[cell.verdict] if cell else "dim"))
        table.add_row(subject, *row)
    return table


def balance_table(balance: "Balance") -> Table:
    """Return the car before, stripped and after: mass, axles, shares, centroid."""
    states = (balance.before, balance.stripped, balance.after)
    table = Table(title=f"Balance of {balance.car}", title_justify="left", show_edge=False, pad_edge=False, box=None)
    table.add_column("")
    for state in states:
        table.add_column(state.name, justify="right")
    rows = (
        ("mass", "kg", [s.mass for s in states], 0),
        ("front axle", "kg", [s.front for s in states], 0),
        ("rear axle", "kg", [s.rear for s in states], 0),
        ("front share", "%", [s.front_share for s in states], 1),
        ("left share", "%", [s.left_share for s in states], 1),
        ("centroid behind front axle", "mm", [s.x for s in states], 0),
        ("centroid right of middle", "mm", [s.y for s in states], 0),
        ("centroid above ground", "mm", [s.z for s in states], 0),
    )
    for name, unit, values, digits in rows:
        table.add_row(f"{name}, {unit}", *("not known" if v is None else f"{v:.{digits}f}" for v in values))
    return table


def fits_table(fits: "Iterable[FitResult]") -> Table:
    """Return how each box stands in its bay: the least clearance on each side, with the tape's slack against it."""
    table = Table(title="Clearance in the bays, mm", title_justify="left", show_edge=False, pad_edge=False, box=None)
    for head in ("box", "bay", "side", "as measured", "tape at worst", "asked", "nearest", "to"):
        table.add_column(head, justify="right" if head in ("as measured", "tape at worst", "asked") else "left")
    for fit in fits:
        rows = [*((c.side, c) for c in fit.sides), *((thing, c) for thing, c in fit.keep_outs)]
        for name, c in rows:
            table.add_row(
                fit.name.removeprefix("box "),
                fit.bay,
                Text(name, _STYLE[c.verdict] if c.verdict != "pass" else ""),
                f"{c.nominal:.1f}",
                f"{c.worst:.1f}",
                f"{c.needed:.4g}",
                c.mark,
                c.against,
            )
    return table
