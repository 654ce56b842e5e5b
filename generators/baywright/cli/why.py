"""`baywright why`: a strength check of a box as an engineer writes it, line by line, and what would fix it."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from baywright.cli import app

if TYPE_CHECKING:
    from rich.console import Console

    from baywright.strength.check import Calculation

CAUTION = (
    "Simple, conservative hand calculations: no approval. Steady forces stand in for crash pulses; fatigue, fire and "
    "the car's own body are not reckoned. Local codes and a licensed engineer decide."
)


@app.command()
def why(
    job: Annotated[Path, typer.Argument(help="The job file, such as shared/jobs/estate.toml.", show_default=False)],
    member: Annotated[
        str, typer.Argument(help="The member, such as 'bearers'; every member's shares if left out.")
    ] = "",
    box: Annotated[str, typer.Option("--box", help="The box; the first if left out.")] = "",
    load: Annotated[str, typer.Option("--load", help="Only this load case of the job's.")] = "",
    fix: Annotated[bool, typer.Option("--fix", help="Find the smallest changes that mend it; takes seconds.")] = False,
    page: Annotated[Path | None, typer.Option("--page", help="Write all sheets of the box to this HTML file.")] = None,
) -> None:
    """Show how a strength figure comes about: symbols, numbers, units, result and source of every line."""
    from baywright.cli.show import console
    from baywright.design import design_job
    from baywright.job.messages import BadInput, Problem, unknown
    from baywright.job.read import read_job
    from baywright.release.cautions import CAUTIONS
    from baywright.strength.box import calculations
    from baywright.strength.fix import fixes
    from baywright.strength.page import strength_page
    from baywright.strength.verdict import governing

    asked = read_job(job)
    made = design_job(asked)

    def pick(kind: str, name: str, names: list[str]) -> str:
        if not names:
            raise BadInput([Problem(str(job), None, "", f"the job has no {kind}")])
        if name and name not in names:
            raise BadInput([Problem(str(job), None, "", unknown(kind, name, names))])
        return name or names[0]

    design = made.boxes[pick("box", box, list(made.boxes))]
    cases = asked.load_cases
    if load:
        cases = [c for c in cases if c.name == pick("load case of this job", load, [c.name for c in cases])]
    done = calculations(design, cases)
    out = console()
    out.print(CAUTION, style="italic")
    out.print()
    if page is not None:
        page.write_text(strength_page(design, cases, [CAUTION, *CAUTIONS]), encoding="utf-8")
        out.print(f"wrote {page}", highlight=False)
    if not member:
        _print_shares(out, design.name, done, list(dict.fromkeys([*(c.name for c in cases), *(c.case for c in done)])))
        return
    members = list(dict.fromkeys(one.member for one in done))
    of = [one for one in done if one.member == pick("member", member, members)]
    one, verdict, more = governing(of)
    _print_sheet(out, one, verdict, more)
    if fix:
        found = fixes(design, cases, member)
        for each in found or ():
            out.print(f"fix: {each.text()}", markup=False)
        if not found:
            out.print("fix: no change of the style is known to mend this; it is a matter of the module or the layout")


def _print_shares(out: "Console", name: str, done: Sequence["Calculation"], cases: list[str]) -> None:
    """Print every member's share under each case, side by side."""
    from rich.table import Table

    from baywright.strength.verdict import side_by_side

    table = Table(title=f"Box {name}: share used", title_justify="left", show_edge=False, pad_edge=False, box=None)
    table.add_column("member")
    for case in cases:
        table.add_column(case, justify="right")
    table.add_column("what governs under the last")
    for member, by_case in side_by_side(done).items():
        cells = []
        for case in cases:
            found = by_case.get(case)
            cells.append("" if found is None else f"{found[1]} {100 * found[0].use:5.0f} %")
        last = next((by_case[c][0] for c in reversed(cases) if c in by_case), None)
        table.add_row(member, *cells, f"{last.what}, {last.throw}" if last is not None else "")
    out.print(table)


def _print_sheet(out: "Console", one: "Calculation", verdict: str, more: str) -> None:
    """Print one calculation: its lines, then the sources that they name."""
    from rich.table import Table
    from rich.text import Text

    out.print(f"{one.member}: {one.what}, {one.piece}, {one.throw}, load case '{one.case}'", style="bold", markup=False)
    table = Table(show_header=False, show_edge=False, pad_edge=False, box=None)
    table.add_column(justify="right", no_wrap=True)
    table.add_column(ratio=3)
    table.add_column(ratio=2)
    table.add_column(justify="right", no_wrap=True)
    sources: dict[str, int] = {}
    for symbol, text, meaning, source in one.working.lines():
        mark = f"[{sources.setdefault(source, len(sources) + 1)}]" if source else ""
        table.add_row(*(Text(part) for part in (symbol, f"= {text}", meaning, mark)))
    out.print(table)
    out.print()
    for source, number in sources.items():
        out.print(f"[{number}] {source}", markup=False)
    out.print()
    said = "; ".join(text for text in (more, one.note, one.help if one.use > 1 else "") if text)
    out.print(f"{verdict}: {100 * one.use:.0f} % used" + (f"; {said}" if said else ""), style="bold", markup=False)
