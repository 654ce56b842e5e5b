"""How cost grows: processor time over holes in a plate, modules in a box, boxes in a job, triangles in a scan.

    python tests/robust/growth.py FOLDER [holes] [modules] [boxes] [triangles]

Writes growth.csv and growth.png into FOLDER. Everything is measured in one run, in this process alone; a line's slope
in the picture, both axes logarithmic, is the power that cost grows by. No test looks at these figures.
"""

import csv
import gc
import importlib.util
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
JOBS = ROOT / "shared" / "jobs"
Stages = Iterator[tuple[int, str, Callable[[], object]]]  # how many, what is done, doing it


def timed(work: Callable[[], object]) -> float:
    """Return the least processor time of several goes, s: noise only ever adds. What takes long goes once."""
    best, spent, goes = np.inf, 0.0, 0
    while goes < 30 and (goes == 0 or spent < 0.3):
        gc.collect()
        start = time.process_time()
        work()
        took = time.process_time() - start
        best, spent, goes = min(best, took), spent + took, goes + 1
    return float(best)


def holes(folder: Path) -> Stages:
    """Yield the stages of a plate of 5 to 5000 round holes, 20 mm apart; solids up to 1280."""
    from baywright.job.catalogue import load_catalogue
    from baywright.piece.assembly import Assembly, Placed
    from baywright.piece.cutting import cutter_findings
    from baywright.piece.numbering import distinct
    from baywright.piece.plate import Plate
    from baywright.piece.solid import Hole
    from baywright.release import step, verify_step
    from baywright.release.dxf import write_cut_file
    from baywright.release.verify import check_cut_file
    from baywright.shape.loop import circle, rectangle
    from baywright.shape.pose import shifted

    catalogue = load_catalogue(folder)
    cutter = catalogue.cutter(catalogue.names("cutter")[0])
    for count in (5, 20, 80, 320, 1280, 5000):
        wide = int(np.ceil(np.sqrt(count)))
        loops = [circle(20.0 * (1 + n % wide), 20.0 * (1 + n // wide), 5.0) for n in range(count)]
        plate = Plate(
            role="panel",
            outline=rectangle(0, 0, 20.0 * (wide + 1), 20.0 * (wide + 1)),
            holes=tuple(Hole(face="top", loop=loop, depth=3.0, use="clearance") for loop in loops),
            thickness=3.0,
            material="5754-H22",
            density=2660.0,
        )
        alone = Assembly(name="plate", placed=(Placed("one", plate, shifted()),))
        (part,) = distinct(alone)
        path = write_cut_file(part, alone, folder, cutter, "A")
        solid = folder / "plate.step"
        yield count, "mass", lambda plate=plate: replace(plate).mass_properties()
        yield count, "checks for the cutter", lambda part=part: cutter_findings(part, cutter)
        yield count, "cut file", lambda part=part, alone=alone: write_cut_file(part, alone, folder, cutter, "A")
        yield count, "cut file read back", lambda path=path, part=part: check_cut_file(path, part, cutter.layers)
        if count <= 1280:
            yield count, "solid", lambda part=part, solid=solid: step.write_step(step.product(part), solid)
            yield count, "solid read back", lambda part=part, solid=solid: verify_step.check_part_step(solid, part)


def modules(folder: Path) -> Stages:
    """Yield the stages of the demo's front box with 3 to 60 modules in three columns."""
    from baywright.box.generate import generate
    from baywright.box.rules import check_box
    from baywright.job.read import read_job
    from baywright.release.assemble import release_assembly
    from baywright.strength.box import strength_findings

    job = read_job(JOBS / "estate.toml")
    cutter = job.catalogue.cutter(job.asked.cutter)
    for count in (3, 6, 12, 24, 48, 60):
        ask = job.boxes["front"].model_copy(update={"count": count, "columns": 3})

        def made(ask=ask):
            return generate("front", ask, job.catalogue)

        def files(box):
            release_assembly(box.assembly, folder=folder, cutter=cutter, revision="A", solids=False)

        box = made()
        yield count, "design", made
        yield count, "checks", lambda box=box: check_box(box)
        yield count, "design and strength", lambda made=made: strength_findings(made(), job.load_cases)
        yield count, "cut files, templates, lists", lambda box=box, files=files: files(box)


def boxes(folder: Path) -> Stages:
    """Yield the stages of a job of 5 to 200 small boxes side by side, its review whole; the job files stay there."""
    from baywright.design import design_job
    from baywright.job.read import read_job
    from baywright.piece.numbering import distinct
    from baywright.release.nesting import nest
    from baywright.release.report.page import write_report
    from baywright.review import review_job

    head = (JOBS / "starter.toml").read_text(encoding="utf-8").split("[bays.front]")[0]
    for count in (5, 10, 20, 40, 80, 200):
        text = f"{head}\n[pack]\nstrings = {max(1, count // 4)}\n"
        for n in range(count):
            x, y, z = 300 + n % 3 * 800, (n // 3 % 7 - 3) * 900, 300 + n // 21 * 600
            text += f'[boxes.b{n}]\nmodule = "m355"\ncount = 2\nfittings = ["gland-m25"]\nat = [{x}, {y}, {z}]\n'
        path = folder / f"boxes-{count}.toml"
        path.write_text(text, encoding="utf-8")
        job = read_job(path)
        reviewed = review_job(design_job(job))
        parts = [p for box in reviewed.design.boxes.values() for p in distinct(box.assembly)]
        stocks = [job.catalogue.sheet(name) for name in job.catalogue.names("sheet")]
        yield count, "read and design", lambda path=path: design_job(read_job(path))
        yield count, "design and review", lambda job=job: review_job(design_job(job))
        yield count, "nesting", lambda parts=parts, stocks=stocks: nest(parts, stocks)
        yield count, "report page", lambda reviewed=reviewed: write_report(reviewed, folder)


def triangles(folder: Path) -> Stages:
    """Yield the stages of the demo's scanned bay, the scan made finer step by step: from 20 000 to 1.2 million."""
    from baywright.bay.findings import surround_findings, surround_of
    from baywright.bay.scan import read_scan
    from baywright.box.generate import generate
    from baywright.job.read import read_job

    spec = importlib.util.spec_from_file_location("demo_scan", ROOT / "tests" / "bay" / "demo_scan.py")
    demo = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(demo)
    job = read_job(JOBS / "estate-scanned.toml")
    name, ask = next((name, ask) for name, ask in job.boxes.items() if ask.bay and job.bays[ask.bay].scan)
    box = generate(name, ask, job.catalogue)
    told = (ROOT / "shared" / "scans" / "estate-engine.toml").read_text(encoding="utf-8")
    for step in (16.0, 8.0, 4.0, 2.0):
        demo.STEP = step
        count = len(demo.scan()[1])
        (folder / "scan.ply.gz").write_bytes(demo.content())
        scan = folder / "scan.toml"
        scan.write_text(told.replace("estate-engine.ply.gz", "scan.ply.gz"), encoding="utf-8")
        around = surround_of(ask.bay, job.bays[ask.bay], job.path.parent, scan)
        yield count, "read, aligned, thinned", lambda scan=scan: read_scan(scan)
        yield count, "box against it", lambda around=around: surround_findings(name, box, box.pose, replace(around))


SUBJECTS = {
    "holes": (holes, "holes in a plate"),
    "modules": (modules, "modules in a box"),
    "boxes": (boxes, "boxes in a job"),
    "triangles": (triangles, "triangles in a scan"),
}


def power(counts: list[int], seconds: list[float]) -> float:
    """Return the power that cost grows by over the larger half of the counts."""
    half = max(len(counts) // 2, 2)
    return float(np.polyfit(np.log(counts[-half:]), np.log(seconds[-half:]), 1)[0])


def picture(found: dict[str, dict[str, list[tuple[int, float]]]], path: Path) -> None:
    """Draw one field a subject, one line a stage, both axes logarithmic."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot

    figure, fields = pyplot.subplots(1, len(found), figsize=(6.5 * len(found), 6), squeeze=False, layout="constrained")
    for field, (subject, stages) in zip(fields[0], found.items(), strict=True):
        for (stage, points), sign in zip(stages.items(), "os^vDPX*", strict=False):
            counts, seconds = map(list, zip(*points, strict=True))
            grown = f", power {power(counts, seconds):.1f}" if len(counts) > 2 else ""
            field.loglog(counts, seconds, marker=sign, label=f"{stage}{grown}")
        field.set(xlabel=SUBJECTS[subject][1], ylabel="processor time, s", title=SUBJECTS[subject][1])
        ticks = sorted({count for points in stages.values() for count, _ in points})
        field.set_xticks(ticks, [f"{count:,}".replace(",", " ") for count in ticks], minor=False)
        field.set_xticks([], minor=True)
        field.grid(visible=True, which="both", alpha=0.25)
        field.legend(fontsize="small")
    figure.savefig(path, dpi=90)


def main() -> None:
    """Measure what is asked for; write the table and the picture."""
    out = Path(sys.argv[1])
    out.mkdir(parents=True, exist_ok=True)
    found: dict[str, dict[str, list[tuple[int, float]]]] = {}
    rows: list[tuple[str, str, int, str]] = []
    for subject in sys.argv[2:] or SUBJECTS:
        stages = found.setdefault(subject, {})
        with tempfile.TemporaryDirectory() as place:
            for count, stage, work in SUBJECTS[subject][0](Path(place)):
                seconds = timed(work)
                stages.setdefault(stage, []).append((count, seconds))
                rows.append((subject, stage, count, f"{seconds:.4g}"))
                print(*rows[-1], sep="\t", flush=True)
    with (out / "growth.csv").open("w", newline="", encoding="utf-8") as table:
        csv.writer(table).writerows([("subject", "stage", "count", "processor s"), *rows])
    picture(found, out / "growth.png")


if __name__ == "__main__":
    main()
