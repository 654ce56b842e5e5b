"""The drawings of a release: a sheet for each made piece, the box, its joints, and the plan of the car."""

from collections.abc import Sequence
from pathlib import Path

from baywright.box.generate import BoxDesign
from baywright.job.models import Car
from baywright.piece.numbering import made_parts, slug
from baywright.release.drawing.box import BoxViews, box_sheet, box_views, joints_sheet, setting_out_sheet
from baywright.release.drawing.frame import Rules
from baywright.release.drawing.lines import Light
from baywright.release.drawing.paper import Sheet, write_pdf, write_svg
from baywright.release.drawing.part import part_sheet

RULES = Rules()
# For the picture only, where no track was measured, mm.
_TRACK = 1300.0


def write_drawings(
    design: BoxDesign, subject: Light, folder: Path, job: str, revision: str, rules: Rules = RULES
) -> tuple[list[Path], BoxViews]:
    """Write a box's drawings into `folder`/drawing and return their paths, and the box's views for other sheets.

    Each sheet is written as PDF and SVG; one more PDF holds them all, to print at one go.

    Args:
        design: the box.
        subject: its light meshes, with its parts.
        folder: the box's folder in the release.
        job: the job's title.
        revision: the release's letter.
        rules: how the workshop draws.
    """
    inside = folder / "drawing"
    inside.mkdir(exist_ok=True)
    views = box_views(subject, rules)
    sheets: list[tuple[str, Sheet]] = [
        (f"{design.name}-box", box_sheet(design, views, job, revision, rules)),
        (f"{design.name}-joints", joints_sheet(design, subject, job, revision, rules)),
    ]
    sheets += [(part.number, part_sheet(part, job, revision, rules)) for part in made_parts(subject.parts)]
    end = f"rev{slug(revision)}"
    paths = []
    for name, sheet in sheets:
        paths.append(write_pdf([sheet], inside / f"{slug(name)}_{end}.pdf", sheet.title))
        paths.append(write_svg(sheet, inside / f"{slug(name)}_{end}.svg"))
    title = f"{job}: drawings of box {design.name}, revision {revision}"
    paths.append(write_pdf([sheet for _, sheet in sheets], folder / f"{slug(design.name)}-drawings_{end}.pdf", title))
    return paths, views


def write_setting_out(
    boxes: Sequence[tuple[BoxDesign, BoxViews]], car: Car, folder: Path, job: str, revision: str, rules: Rules = RULES
) -> list[Path]:
    """Write the plan of where the boxes stand in the car into a release's folder and return its paths."""
    tracks = (car.track_front or _TRACK, car.track_rear or _TRACK)
    sheet = setting_out_sheet(boxes, car.name, car.wheelbase, tracks, job, revision, rules)
    stem = f"setting-out_rev{slug(revision)}"
    return [
        write_pdf([sheet], folder / f"{stem}.pdf", sheet.title),
        write_svg(sheet, folder / f"{stem}.svg"),
    ]
