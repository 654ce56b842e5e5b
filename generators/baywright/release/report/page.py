"""The report page: everything about a job in one HTML file that needs no network."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

import numpy as np

from baywright.bay.measured import bay_of
from baywright.box.family import Member, family
from baywright.box.generate import BoxDesign
from baywright.job.shop import Cutter
from baywright.piece.cutting import cutter_findings, inches
from baywright.piece.numbering import Part, made_parts, slug
from baywright.piece.plate import Plate
from baywright.piece.solid import Block
from baywright.release.bom import BomLine, bom
from baywright.release.cautions import CAUTIONS
from baywright.release.dxf import cut_file_name, hole_notes, thickness_text
from baywright.release.report import pictures
from baywright.release.report.embedded import pictures_in, previews
from baywright.release.report.overview import TOPICS, overview
from baywright.release.report.scene import bay_lines, block_lines, packed, shown, wheels
from baywright.release.selfcheck import NAME as CHECKS
from baywright.release.table import read_table
from baywright.review import Review
from baywright.shape.pose import Pose, pose
from baywright.vehicle.asked import car_of
from baywright.version import __version__

if TYPE_CHECKING:
    from baywright.rail.design import RailDesign

if TYPE_CHECKING:
    from baywright.adapter.design import AdapterDesign

NAME = "report.html"
_HERE = Path(__file__).parent
_FAMILY = range(1, 7)
# Where an adapter stands on the page if its place in the car was not asked: ahead of the car, its z to the rear.
_NOWHERE = pose((0, 1, 0), (0, 0, 1), (-1100, 0, 400))
_CAR = (
    ("balance.png", "Balance of the car: what goes out and in, axle loads, and how sure they are"),
    ("range.png", "Range over speed"),
    ("force.png", "Force at the wheels over speed, against what holds the car back"),
)
_ADAPTER = (
    ("depth-stack.png", "Depth stack: what lies where along the shaft"),
    ("both-circles.png", "Both bolt circles over each other, seen from the motor"),
    ("clocking.png", "Least metal between holes at every clocking of the motor"),
    ("picture-exploded.png", "Pulled apart"),
)
_KINDS = {
    ".dxf": "drawing to cut or drill from",
    ".step": "solid",
    ".csv": "table",
    ".json": "figures for programs",
    ".png": "picture",
    ".svg": "picture",
    ".pdf": "sheet to print",
    ".xlsx": "workbook",
    ".txt": "text",
    ".html": "page",
}


@dataclass(frozen=True, kw_only=True)
class _Place:
    """Where a finding is: group, marks of pieces, a point in the vehicle's frame."""

    group: int
    marks: tuple[str, ...]
    at: tuple[float, ...] | None


def write_report(reviewed: Review, folder: Path, only: str | None = None) -> Path:
    """Write report.html into a release's folder, over the files that are there already, and return its path.

    Args:
        reviewed: the job's review.
        folder: the release: its files are listed and linked.
        only: the one box that is released; all if None.
    """
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    made, job = reviewed.design, reviewed.design.job
    boxes = {name: box for name, box in made.boxes.items() if only is None or name == only}
    car = car_of(job.car)
    things = [shown(f"box {name}", box.assembly, box.pose) for name, box in boxes.items()]
    for name, adapter in made.adapters.items():
        if only is None or name == only:
            things.append(shown(f"adapter {name}", adapter.assembly, made.adapter_poses.get(name, _NOWHERE)))
    rails = {name: held for name, held in made.rails.items() if only is None or name == only}
    things += [shown(f"rails {name}", held.assembly, held.pose) for name, held in rails.items()]
    lines = [wheels(car.wheelbase, (car.track_front or 1300.0, car.track_rear or 1300.0))]
    bays = [*(box.layout.ask.bay for box in boxes.values()), *(held.ask.bay for held in rails.values())]
    for asked in dict.fromkeys(bay for bay in bays if bay is not None):
        lines += bay_lines(bay_of(asked, job.bays[asked]))
    lines += [block_lines([(t.low, t.high) for t in held.keep_outs]) for held in rails.values()]
    data = packed(things, lines)
    places = _places(reviewed, {thing.name: i for i, thing in enumerate(things)}, [thing.pose for thing in things])
    cutter = job.catalogue.cutter(job.asked.cutter)
    # An adapter may go to another shop than the sheets.
    cutters = {f"adapter {name}": job.catalogue.cutter(one.given.ask.cutter) for name, one in made.adapters.items()}
    revision = job.asked.job.revision
    families: dict[str, list[Member]] = {}
    sections = [
        _box(reviewed, name, box, thing.parts, families)
        for (name, box), thing in zip(boxes.items(), things, strict=False)
    ]
    cuts = [
        _cut(part, slug(thing.assembly.name), folder, revision, cutters.get(thing.name, cutter))
        for thing in things
        for part in made_parts(thing.parts)
        if isinstance(part.piece, Plate)
    ]
    states = (reviewed.balance.before, reviewed.balance.stripped, reviewed.balance.after, *reviewed.balance.laden)
    text = (
        Environment(loader=FileSystemLoader(_HERE), autoescape=True, undefined=StrictUndefined, trim_blocks=True)
        .get_template("page.html.j2")
        .render(
            version=__version__,
            num=_number,
            job=job,
            head=job.asked.job,
            verdict=reviewed.verdict,
            counts={v: sum(f.verdict == v for f in reviewed.findings) for v in ("fail", "look", "pass")},
            findings=[(i, f, places[i]) for i, f in enumerate(reviewed.findings)],
            topics=TOPICS,
            overview=overview(reviewed),
            balance=reviewed.balance,
            states=states,
            bars=pictures.balance_bars(car, reviewed.balance),
            plan=pictures.balance_plan(
                car,
                reviewed.balance,
                [(t.name, t.assembly.bounds(), t.pose) for t in things if t.pose is not _NOWHERE],
            ),
            boxes=sections,
            rails=[
                _rails(name, held, next(t.parts for t in things if t.name == f"rails {name}"))
                for name, held in rails.items()
            ],
            adapters=[
                _adapter(name, one, next(t.parts for t in things if t.name == f"adapter {name}"), folder)
                for name, one in made.adapters.items()
                if only is None or name == only
            ],
            car_pictures=pictures_in(folder / "car", _CAR),
            previews=previews(folder),
            things=things,
            cuts=cuts,
            files=_files(folder),
            cautions=CAUTIONS,
            style=(_HERE / "page.css").read_text(encoding="utf-8"),
            script="".join((_HERE / name).read_text(encoding="utf-8") for name in ("graphics.js", "page.js")),
            scene=json.dumps(data, separators=(",", ":"), ensure_ascii=True).replace("</", "<\\/"),
        )
    )
    path = folder / NAME
    path.write_text(text, encoding="utf-8", newline="\n")
    return path


def _number(value: float | None, digits: int = 0) -> str:
    """Return a number to so many digits, without a minus before naught."""
    if value is None:
        return "not known"
    text = f"{value:.{digits}f}"
    return text.lstrip("-") if float(text) == 0 else text


def _places(reviewed: Review, groups: dict[str, int], poses: Sequence[Pose]) -> list[_Place | None]:
    """Return where each finding is in space, None where it is nowhere in particular."""
    in_bay = {id(f) for fit in reviewed.fits.values() for f in fit.findings}
    found: list[_Place | None] = []
    for f in reviewed.findings:
        group = groups.get(f.subject)
        if group is None or (f.at is None and not f.where):
            found.append(None)
            continue
        at: tuple[float, ...] | None = f.at
        if f.at is not None and id(f) not in in_bay:  # a fit speaks in the vehicle's frame, a box in its own
            at = tuple(float(v) for v in poses[group](np.array(f.at)))
        marks = tuple(part.strip() for text in f.where for part in (text, *text.removeprefix("bond ").split(" / ")))
        found.append(_Place(group=group, marks=marks, at=None if at is None else tuple(round(v, 2) for v in at)))
    return found


def _adapter(name: str, design: "AdapterDesign", parts: Sequence[Part], folder: Path) -> dict[str, Any]:
    """Return what the page says about one adapter."""
    return {
        "name": name,
        "motor": design.given.ask.motor,
        "gearbox": design.given.ask.gearbox,
        "design": design,
        "layers": " + ".join(f"{t:g}" for t in design.depth.layers),
        "pictures": pictures_in(folder / slug(name), _ADAPTER),
        "bom": bom(design.assembly, parts),
    }


def _box(
    reviewed: Review, name: str, box: BoxDesign, parts: Sequence[Part], families: dict[str, list[Member]]
) -> dict[str, Any]:
    """Return what the page says about one box; boxes that differ by count and place alone are of one family."""
    job, layout, mass = reviewed.design.job, box.layout, box.mass_properties
    there = mass.moved(box.pose)
    views = []
    if name in reviewed.fits and layout.ask.bay is not None:
        bay = bay_of(layout.ask.bay, job.bays[layout.ask.bay])
        blocks = _standing(box)
        views = [
            (view, pictures.clearance_view(view, bay, reviewed.fits[name], blocks))
            for view in ("from above", "from the left side", "from behind")
        ]
    high = layout.lid_under + layout.kit.style.lid.thickness
    lines: list[BomLine] = bom(box.assembly, parts)
    of = layout.ask.model_copy(update={"count": 1, "bay": None, "at": (0.0, 0.0, 0.0), "yaw": 0.0}).model_dump_json()
    if of not in families:
        families[of] = family(name, layout.ask, _FAMILY, job.catalogue)
    return {
        "name": name,
        "layout": layout,
        "high": high,
        "mass": mass,
        "there": there,
        "views": views,
        "fit": reviewed.fits.get(name),
        "bom": lines,
        "family": families[of],
        "screws": sum(len(line.points) for line in box.assembly.lines if line.screw is not None),
        "glue": box.assembly.adhesive_volume() / 1000,
    }


def _rails(name: str, held: "RailDesign", parts: Sequence[Part]) -> dict[str, Any]:
    """Return what the page says about one set of rails."""
    from baywright.rail.loads import reaction
    from baywright.rail.rules import assumptions
    from baywright.rail.setting_out import mount_rows
    from baywright.rail.stress import solve

    solved, rows = solve(held), []
    for x in mount_rows(held):
        force = np.linalg.norm(solved.mounts[x.name], axis=1)
        most = int(force.argmax())
        told = (f"{force[0]:.0f}", f"{force[most]:.0f}", solved.cases[most].name)
        rows.append((x.name, *x.place, x.spread, x.bolt, x.hole, x.bar, *told))
    motor = held.given.motor
    return {
        "name": name,
        "motor": motor.name if motor.count == 1 else f"{motor.count} × {motor.name}",
        "bars": tuple(held.bars.values()),
        "metal": held.metal,
        "unit": held.unit,
        "torque": reaction(held.given),
        "mounts": rows,
        "assumptions": assumptions(held),
        "bom": bom(held.assembly, parts),
    }


def _standing(box: BoxDesign) -> list[Block]:
    """Return the blocks of a box's made pieces and modules in the vehicle's frame: enough for a small picture."""
    return [
        block.moved(box.pose)
        for item in box.assembly.placed
        if not item.piece.role.startswith(("liner", "gasket"))
        for block in item.blocks()
    ]


def _cut(part: Part, box: str, folder: Path, revision: str, cutter: Cutter) -> dict[str, Any]:
    """Return what the page says about one cut file."""
    plate = part.piece
    assert isinstance(plate, Plate)
    x0, y0, x1, y1 = plate.profile.bounds()
    name = cut_file_name(part, revision)
    path = folder / box / "cut" / name
    table = path.parent / CHECKS
    told = [row for row in read_table(table) if row["file"] == name] if table.is_file() else []
    return {
        "read_back": told,
        "part": part,
        "plate": plate,
        "file": name,
        "href": quote(path.relative_to(folder).as_posix()) if path.is_file() else "",
        "size": f"{x1 - x0:.2f} × {y1 - y0:.2f} mm",
        "inches": f"{inches(x1 - x0)} × {inches(y1 - y0)} in",
        "thick": thickness_text(plate.thickness),
        "picture": pictures.cut_preview(plate.profile, [h.loop for _, h in plate.pockets()]),
        "holes": hole_notes(plate),
        "cutter": cutter.name,
        "checks": cutter_findings(part, cutter),
        "cut_length": plate.profile.cut_length() / 1000,
        "pierces": 1 + len(plate.profile.holes),
    }


def _files(folder: Path) -> list[tuple[str, list[dict[str, str]]]]:
    """Return every file of the release by folder: name, address, what it is, size."""
    by_folder: dict[str, list[dict[str, str]]] = {}
    for path in sorted(p for p in folder.rglob("*") if p.is_file() and p.name != NAME):
        inside = path.relative_to(folder)
        by_folder.setdefault(inside.parent.as_posix(), []).append(
            {
                "name": path.name,
                "href": quote(inside.as_posix()),
                "kind": _KINDS.get(path.suffix.lower(), ""),
                "size": f"{path.stat().st_size / 1000:.1f} kB",
            }
        )
    return [("this folder" if key == "." else key, files) for key, files in sorted(by_folder.items())]
