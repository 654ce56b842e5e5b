"""Everything on paper for a job: drawings, step sheets, nesting, workbook, the inspector's sheets."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from baywright.piece.numbering import Part, distinct, slug
from baywright.release.bom import BomLine, bom
from baywright.release.drawing.frame import Rules
from baywright.release.drawing.lines import light
from baywright.release.drawing.write import RULES, part_sheets, write_drawings, write_each, write_setting_out
from baywright.release.inspection import write_inspection
from baywright.release.nesting import nest, write_nesting
from baywright.release.steps.pages import write_steps
from baywright.release.workbook import NAME, write_workbook
from baywright.review import Review

Progress = Callable[[str, int, int], None]


def write_sheets(
    reviewed: Review,
    folder: Path,
    only: str | None = None,
    *,
    rules: Rules = RULES,
    prices: Mapping[str, float] | None = None,
    currency: str = "",
    progress: Progress = lambda _text, _done, _total: None,
) -> list[Path]:
    """Write every sheet of a job into its release's folder and return their paths; no CAD kernel is loaded.

    Args:
        reviewed: the job's review.
        folder: the release; the sheets of each thing go into the folder that bears its name.
        only: the one box, adapter or set of rails that is released; all if None.
        rules: how the workshop draws.
        prices: by part number, name or material, for the workbook.
        currency: of the prices.
        progress: called with what is being written, steps done, steps in all.

    Raises:
        ReleaseFault: if a nested sheet does not hold its pieces when read back.
    """
    made, job = reviewed.design, reviewed.design.job
    head = job.asked.job
    title, revision = head.title or job.name, head.revision
    boxes = {name: box for name, box in made.boxes.items() if only is None or name == only}
    adapters = {name: adapter for name, adapter in made.adapters.items() if only is None or name == only}
    rails = {name: held for name, held in made.rails.items() if only is None or name == only}
    plain = [("adapter", name, adapter.assembly) for name, adapter in adapters.items()]
    plain += [("rails", name, held.assembly) for name, held in rails.items()]
    total = 2 * len(boxes) + len(plain) + 3
    done = 0

    def step(text: str) -> None:
        nonlocal done
        progress(text, done, total)
        done += 1

    paths: list[Path] = []
    parts: dict[str, Sequence[Part]] = {}
    bills: dict[str, list[BomLine]] = {}
    views = []
    for name, box in boxes.items():
        inside = folder / slug(name)
        inside.mkdir(exist_ok=True)
        step(f"{name}: drawings")
        subject = light(box.assembly)
        drawn, seen = write_drawings(box, subject, inside, title, revision, rules)
        views.append((box, seen))
        step(f"{name}: step sheets")
        paths += [*drawn, write_steps(box, subject, job.catalogue, inside, title, revision)]
        parts[name] = subject.parts
        bills[f"box {name}"] = bom(box.assembly, subject.parts)
    for kind, name, assembly in plain:
        inside = folder / slug(name)
        inside.mkdir(exist_ok=True)
        step(f"{name}: drawings")
        own = distinct(assembly)
        told = f"{title}: drawings of {kind} {name}, revision {revision}"
        paths += write_each(part_sheets(own, title, revision, rules), inside, name, told, revision)
        parts[name] = own
        bills[f"{kind} {name}"] = bom(assembly, own)
    step("nesting")
    stocks = [job.catalogue.sheet(name) for name in job.catalogue.names("sheet")]
    nested = nest([part for some in parts.values() for part in some], stocks)
    if nested.sheets:
        paths += write_nesting(nested, folder, job.catalogue.cutter(job.asked.cutter).dxf_version, revision)
    step("workbook")
    paths.append(write_workbook(bills, nested, folder / NAME, title=title, prices=prices, currency=currency))
    step("inspector's sheets")
    if views:
        paths += write_setting_out(views, job.car, folder, title, revision, rules)
    paths.append(write_inspection(reviewed, parts, folder))
    return paths
