"""Everything on paper for a job: drawings, step sheets, nesting, saw plan, workbook, the inspector's sheets."""

from collections.abc import Callable, Sequence
from pathlib import Path

from baywright.job.workshop import Workshop
from baywright.piece.assembly import Assembly
from baywright.piece.numbering import Part, slug
from baywright.rail.unrolled import face_names
from baywright.release.bom import BomLine, bom
from baywright.release.drawing.adapter import adapter_sheets
from baywright.release.drawing.frame import Rules
from baywright.release.drawing.lines import light
from baywright.release.drawing.setting_out import Standing, standing_adapter, standing_box, standing_rails
from baywright.release.drawing.write import part_sheets, write_drawings, write_each, write_setting_out
from baywright.release.inspection import write_inspection
from baywright.release.nesting import nest
from baywright.release.nestwrite import write_nesting
from baywright.release.sawing import saw_plan, write_saw_plan
from baywright.release.steps.adapter import adapter_steps
from baywright.release.steps.box import box_steps
from baywright.release.steps.pages import step_pages, write_steps
from baywright.release.steps.rails import rail_steps
from baywright.release.steps.step import Step
from baywright.release.tiled import write_tiled
from baywright.release.work import work_of
from baywright.release.workbook import NAME, write_workbook
from baywright.review import Review

Progress = Callable[[str, int, int], None]


def rules_of(workshop: Workshop) -> Rules:
    """Return how a workshop draws."""
    return Rules(angle=workshop.projection, tolerance=workshop.tolerance, workshop=workshop.name)


def write_sheets(
    reviewed: Review,
    folder: Path,
    only: str | None = None,
    *,
    progress: Progress = lambda _text, _done, _total: None,
) -> list[Path]:
    """Write every sheet of a job into its release's folder and return their paths; no CAD kernel is loaded.

    Args:
        reviewed: the job's review; its workshop says how to draw, nest, saw and price.
        folder: the release; the sheets of each thing go into the folder that bears its name.
        only: the one box, adapter or set of rails that is released; all if None.
        progress: called with what is being written, steps done, steps in all.

    Raises:
        ReleaseFault: if a nested sheet does not hold its pieces when read back.
    """
    made, job = reviewed.design, reviewed.design.job
    head, workshop, catalogue = job.asked.job, job.asked.workshop, job.catalogue
    title, revision, rules = head.title or job.name, head.revision, rules_of(workshop)
    boxes = {name: box for name, box in made.boxes.items() if only is None or name == only}
    plain: list[tuple[str, str, Assembly, list[Step]]] = []
    for name, adapter in made.adapters.items():
        if only is None or name == only:
            plain.append(("adapter", name, adapter.assembly, adapter_steps(adapter)))
    for name, held in made.rails.items():
        if only is None or name == only:
            plain.append(("rails", name, held.assembly, rail_steps(held)))
    total = 2 * (len(boxes) + len(plain)) + 3
    done = 0

    def step(text: str) -> None:
        nonlocal done
        progress(text, done, total)
        done += 1

    paths: list[Path] = []
    parts: dict[str, Sequence[Part]] = {}
    bills: dict[str, list[BomLine]] = {}
    standing: list[Standing] = []
    railed = {held.ask.adapter for name, held in made.rails.items() if only is None or name == only}
    for name, box in boxes.items():
        inside = folder / slug(name)
        inside.mkdir(exist_ok=True)
        step(f"{name}: drawings")
        subject = light(box.assembly)
        drawn = write_drawings(box, subject, inside, title, revision, rules)
        standing.append(standing_box(box, subject))
        step(f"{name}: step sheets")
        what = f"box {name}"
        pages = step_pages(box_steps(box, catalogue), subject, catalogue, what, title, revision)
        paths += [*drawn, write_steps(pages, inside, what, name, title, revision)]
        paths += write_tiled(subject.parts, inside, name, revision, workshop.papers)
        parts[name] = subject.parts
        bills[what] = bom(box.assembly, subject.parts, workshop.squeeze_out, workshop.saw_cut)
    for kind, name, assembly, steps in plain:
        inside = folder / slug(name)
        inside.mkdir(exist_ok=True)
        step(f"{name}: drawings")
        what = f"{kind} {name}"
        subject = light(assembly)
        told = f"{title}: drawings of {what}, revision {revision}"
        drawn_parts = part_sheets(subject.parts, title, revision, rules, bonded=bool(assembly.bonds))
        if kind == "adapter":
            sheets = adapter_sheets(made.adapters[name], subject, catalogue, title, revision, rules)
            drawn_parts = [(f"{name}-adapter-{n}", sheet) for n, sheet in enumerate(sheets, 1)] + drawn_parts
            if name in made.adapter_poses:
                stands = made.adapter_poses[name]
                standing.append(standing_adapter(made.adapters[name], subject, stands, motor=name not in railed))
        else:
            held = made.rails[name]
            standing.append(standing_rails(held, subject))
            faces = {mark: face_names(bar, held.sides) for mark, bar in held.bars.items()}
            paths += write_tiled(subject.parts, inside, name, revision, workshop.papers, faces)
        paths += write_each(drawn_parts, inside, name, told, revision)
        step(f"{name}: step sheets")
        pages = step_pages(steps, subject, catalogue, what, title, revision)
        paths.append(write_steps(pages, inside, what, name, title, revision))
        parts[name] = subject.parts
        bills[what] = bom(assembly, subject.parts, workshop.squeeze_out, workshop.saw_cut)
    step("nesting")
    every = [part for some in parts.values() for part in some]
    stocks = [catalogue.sheet(name) for name in catalogue.names("sheet")]
    nested = nest(every, stocks, gap=workshop.gap, edge=workshop.edge, true_shape_seconds=workshop.nesting_seconds)
    if nested.sheets or nested.problems:
        version = catalogue.cutter(job.asked.cutter).dxf_version
        paths += write_nesting(nested, folder, version, revision, workshop.gap, workshop.edge)
    plan = saw_plan(every, workshop.saw_cut)
    if plan:
        paths += write_saw_plan(plan, folder, workshop.saw_cut, revision)
    step("workbook")
    work = work_of([*(box.assembly for box in boxes.values()), *(one for _, _, one, _ in plain)], every, plan)
    paths.append(write_workbook(bills, nested, folder / NAME, plan=plan, work=work, title=title, workshop=workshop))
    step("inspector's sheets")
    if standing:
        paths += write_setting_out(standing, job.car, folder, title, revision, rules)
    paths.append(write_inspection(reviewed, parts, folder))
    return paths
