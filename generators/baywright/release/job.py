"""A whole job's release: every box's files, its picture, the review, the job's mass, cautions and the manifest."""

import dataclasses
import json
import math
import os
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

from baywright.piece.assembly import Assembly
from baywright.release.adapter import write_adapter_sheets
from baywright.release.assemble import Progress, release_assembly
from baywright.release.bom import write_mass
from baywright.release.car import outsides_of, write_car_pictures
from baywright.release.cautions import CAUTIONS, write_cautions
from baywright.release.fault import ReleaseFault
from baywright.release.folder import release_folder
from baywright.release.manifest import write_manifest
from baywright.release.rails import write_rail_sheets
from baywright.release.report.page import write_report
from baywright.release.sheets import rules_of, write_sheets
from baywright.release.sources import sources
from baywright.review import Review
from baywright.strength.page import Made, strength_page
from baywright.vehicle.scatter import scatter
from baywright.workers import workers

VEHICLE = "vehicle frame: X rearward from the front axle, Y to the right, Z up from the ground; mm, kg"
ADAPTER = "adapter frame: origin on the shaft in the motor's face, z to the gearbox, y up; mm, kg"
RAILS = "rail frame: origin at the crankshaft's centre on the gearbox's face, x along the shaft to the motor; mm, kg"
BOX = "box frame: origin mid-floor on its underside, x to the service end, z up; mm, kg"


def release_job(
    reviewed: Review,
    target: Path,
    *,
    only: str | None = None,
    progress: Progress = lambda _text, _done, _total: None,
) -> list[Path]:
    """Write a job's release into `target`, all of it or nothing, and return its files.

    The car's own pictures go into `car/`, unless one thing alone is asked for.

    Args:
        reviewed: the job's review.
        target: the release's folder; what an earlier release left there is replaced.
        only: the one box, adapter or set of rails to release; all if None.
        progress: called with what is being written, steps done, steps in all.

    Raises:
        ReleaseFault: if a file can't be written or does not agree with the design when read back.
    """
    made = reviewed.design
    job = made.job
    revision = job.asked.job.revision
    boxes = {name: box for name, box in made.boxes.items() if only is None or name == only}
    rails = {name: one for name, one in made.rails.items() if only is None or name == only}
    adapters = {name: adapter for name, adapter in made.adapters.items() if only is None or name == only}
    title = job.asked.job.title or job.name
    # Pictures and sheets need no CAD kernel: other processes draw them while this one writes solids.
    with release_folder(target) as folder, _painters(target) as painter:
        drawn: list[tuple[Future[Any], Callable[[], Any]]] = []

        def draw(work: Callable[..., Any], *given: Any) -> None:
            drawn.append((painter.submit(work, *given), partial(work, *given)))

        for name in (*boxes, *adapters, *rails):
            (folder / name).mkdir()
        draw(write_sheets, reviewed, folder, only)  # the longest first
        for name, box in boxes.items():
            draw(write_pictures, box.assembly, folder / name, f"{title}: box {name}", revision)
        if only is None:
            # A box may be called "car" too: its files have other names.
            (folder / "car").mkdir(exist_ok=True)
            spread = scatter(reviewed.vehicle.car, made.carried)
            car, outsides = folder / "car", outsides_of(made.boxes)
            draw(write_car_pictures, reviewed.vehicle, job.asked.drive, spread, car, outsides)
        for name, adapter in adapters.items():
            sheets = f"{title}: adapter {name}, revision {revision}"
            draw(write_adapter_sheets, adapter, folder / name, sheets)
        for name, held in rails.items():
            rules = rules_of(job.asked.workshop)
            draw(write_rail_sheets, held, folder / name, title, revision, rules)
        wanted = [(box.assembly, job.asked.cutter, BOX) for box in boxes.values()]
        wanted += [(adapter.assembly, adapter.given.ask.cutter, ADAPTER) for adapter in adapters.values()]
        wanted += [(held.assembly, job.asked.cutter, RAILS) for held in rails.values()]
        for index, (assembly, cutter, frame) in enumerate(wanted):
            release_assembly(
                assembly,
                folder=folder,
                cutter=job.catalogue.cutter(cutter),
                revision=revision,
                progress=_part_of(progress, index, len(wanted)),
                squeeze_out=job.asked.workshop.squeeze_out,
                saw_cut=job.asked.workshop.saw_cut,
                frame=frame,
            )
        strong: dict[str, Made] = {**boxes, **adapters, **rails}
        for name, one in strong.items():
            page = strength_page(one, job.load_cases, CAUTIONS)
            (folder / name / f"{name}-strength_rev{revision}.html").write_text(page, encoding="utf-8", newline="\n")
        # The last first: what no painter has begun yet is drawn here, so that neither waits for the other.
        for number, (drawing, work) in enumerate(reversed(drawn)):
            progress("pictures and sheets", number, len(drawn))
            if drawing.cancel():
                work()
        for drawing, _ in drawn:
            if not drawing.cancelled():
                drawing.result()
        lines = [(name, 1, properties) for name, properties in made.carried]
        write_mass(folder / "mass.json", job.name, VEHICLE, lines)
        _write_review(reviewed, folder / "review.json")
        write_cautions(folder)
        write_report(reviewed, folder, only)
        write_manifest(folder, job.digest, revision, sources(job))
    return sorted(path for path in target.rglob("*") if path.is_file())


@contextmanager
def _painters(target: Path) -> Iterator[Executor]:
    """Yield a process or two for pictures and sheets: this one is busy with solids, more would only wait for it.

    Raises:
        ReleaseFault: if one of them dies.
    """
    try:
        with workers(min(max((os.cpu_count() or 2) - 1, 1), 2)) as pool:
            yield pool
    except BrokenProcessPool:
        raise ReleaseFault(
            str(target), "a process that draws pictures died, most likely for want of memory; close other programs"
        ) from None


def _part_of(progress: Progress, index: int, count: int) -> Progress:
    """Return a progress that counts one box's steps as its share of all boxes."""

    def step(text: str, done: int, total: int) -> None:
        progress(text, index * total + done, count * total)

    return step


def write_pictures(assembly: Assembly, folder: Path, title: str, revision: str) -> None:
    """Write a box with its lid off, and opened out, as pictures."""
    from baywright.release.picture import write_picture

    write_picture(
        assembly, folder / "picture.png", hide=("lid", "gasket"), title=f"{title}, revision {revision}, lid off"
    )
    write_picture(assembly, folder / "picture-exploded.png", explode=0.45, title=f"{title}, revision {revision}")


def _write_review(reviewed: Review, path: Path) -> None:
    """Write the findings and the balance, worst finding first."""
    states = (reviewed.balance.before, reviewed.balance.stripped, reviewed.balance.after)
    whole = {
        "job": reviewed.design.job.name,
        "verdict": reviewed.verdict,
        "balance": {state.name: dataclasses.asdict(state) for state in states},
        "findings": [dataclasses.asdict(f) for f in reviewed.findings],
    }
    path.write_text(json.dumps(tidy(whole), indent=1, ensure_ascii=False) + "\n", encoding="utf-8", newline="\n")


def tidy(value: Any) -> Any:
    """Return a value that JSON can hold: no infinities, numbers to nine digits, alike on every machine."""
    if isinstance(value, dict):
        return {key: tidy(v) for key, v in value.items()}
    if isinstance(value, list | tuple):
        return [tidy(v) for v in value]
    if isinstance(value, float):
        return float(f"{value:.9g}") if math.isfinite(value) else None
    return value
