"""`baywright why`: a strength check as an engineer writes it, line by line, and what would fix it."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from baywright.cli import app
from baywright.cli.complete import made_names
from baywright.cli.examples import examples

if TYPE_CHECKING:
    from rich.console import Console

    from baywright.strength.check import Calculation

CAUTION = (
    "Simple, conservative hand calculations: no approval. Steady forces stand in for crash pulses; fatigue, fire and "
    "the car's own body are not reckoned. Local codes and a licensed engineer decide."
)


@app.command(
    epilog=examples(
        "why shared/jobs/estate.toml",
        "why shared/jobs/estate.toml bearers --of rear --fix",
        "why shared/jobs/estate-whole.toml --of motor",
        "why shared/jobs/estate.toml --page strength.html",
    )
)
def why(
    job: Annotated[
        Path, typer.Argument(help="The job file, such as shared/jobs/estate.toml.", metavar="JOB", show_default=False)
    ],
    member: Annotated[
        str,
        typer.Argument(
            help="The member, such as 'bearers' or 'bar stress'; every member's shares if left out.",
            metavar="MEMBER",
            show_default=False,
        ),
    ] = "",
    of: Annotated[
        str,
        typer.Option(
            "--of",
            "--box",
            help="The box, adapter or set of rails; the first box if left out.",
            metavar="NAME",
            autocompletion=made_names,
        ),
    ] = "",
    load: Annotated[str, typer.Option("--load", help="Only this load case of the job's.", metavar="NAME")] = "",
    fix: Annotated[
        bool, typer.Option("--fix", help="Find the smallest changes to a box that mend it; takes seconds.")
    ] = False,
    page: Annotated[
        Path | None, typer.Option("--page", help="Write all its sheets to this HTML file.", metavar="FILE")
    ] = None,
) -> None:
    """Show how a strength figure comes about: symbols, numbers, units, result and source of every line.

    Reads the job. Without a member prints the share that each member uses of what it bears, under every load case; with
    one its calculation in N, mm and MPa. Writes nothing but --page. Ends with 0, or with 2 if the job can't be used or
    has no such thing, member or load case; whether anything fails is 'baywright review' to say.
    """
    from baywright.box.generate import BoxDesign
    from baywright.cli.show import console
    from baywright.design import design_job
    from baywright.job.messages import BadInput, Problem, shown, unknown
    from baywright.job.read import read_job
    from baywright.rail.design import RailDesign
    from baywright.release.cautions import CAUTIONS
    from baywright.strength.fix import fixes
    from baywright.strength.page import Made, sheets_of, strength_page
    from baywright.strength.verdict import governing

    asked = read_job(job)
    made = design_job(asked)
    things: dict[str, Made] = {**made.boxes, **made.adapters, **made.rails}

    def pick(kind: str, name: str, names: list[str]) -> str:
        if not names:
            raise BadInput([Problem(str(job), None, "", f"the job has no {kind}")])
        if name and name not in names:
            raise BadInput([Problem(str(job), None, "", unknown(kind, name, names))])
        return name or names[0]

    design = things[pick("box, adapter or set of rails", of, list(things))]
    cases = asked.load_cases
    if load and isinstance(design, RailDesign):
        text = "rails have load cases of their own, and each figure is the worst of them: leave --load out"
        raise BadInput([Problem(str(job), None, "", text)])
    if load:
        cases = [c for c in cases if c.name == pick("load case of this job", load, [c.name for c in cases])]
    done = sheets_of(design, cases)
    if member:
        pick("member", member, list(dict.fromkeys(one.member for one in done)))
    out = console()
    out.print(CAUTION, style="italic")
    out.print()
    if page is not None:
        page.write_text(strength_page(design, cases, [CAUTION, *CAUTIONS]), encoding="utf-8")
        out.print(f"wrote {shown(page)}", highlight=False, markup=False)
    if not member and isinstance(design, RailDesign):
        _print_worst(out, f"Rails {design.name}", done)
        return
    if not member:
        _print_shares(out, design.name, done, list(dict.fromkeys([*(c.name for c in cases), *(c.case for c in done)])))
        return
    one, verdict, more = governing([one for one in done if one.member == member])
    _print_sheet(out, one, verdict, more)
    if fix and isinstance(design, BoxDesign):
        found = fixes(design, cases, member)
        for each in found or ():
            out.print(f"fix: {each.text()}", markup=False)
        if not found:
            out.print("fix: no change of the style is known to mend this; it is a matter of the module or the layout")
    elif fix:
        out.print(f"fix: changes are tried with boxes alone; what would help here: {one.help or 'a judgement'}")


def _print_shares(out: "Console", name: str, done: Sequence["Calculation"], cases: list[str]) -> None:
    """Print every member's share under each case, side by side."""
    from rich.table import Table

    from baywright.strength.verdict import side_by_side

    table = Table(title=f"{name}: share used", title_justify="left", show_edge=False, pad_edge=False, box=None)
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


def _print_worst(out: "Console", name: str, done: Sequence["Calculation"]) -> None:
    """Print of every check what is used most: rails have many alike pieces, each governed by a case of its own."""
    from rich.table import Table

    from baywright.strength.verdict import governing

    table = Table(title=f"{name}: share used", title_justify="left", show_edge=False, pad_edge=False, box=None)
    for heading in ("check", "of", "used", "what", "in load case"):
        table.add_column(heading, justify="right" if heading == "used" else "left")
    by_member: dict[str, list[Calculation]] = {}
    for one in done:
        by_member.setdefault(one.member, []).append(one)
    for member, of in by_member.items():
        one, verdict, _ = governing(of)
        count = f" (worst of {len(of)})" if len(of) > 1 else ""
        table.add_row(member, one.piece + count, f"{verdict} {100 * one.use:5.0f} %", one.what, one.case)
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
