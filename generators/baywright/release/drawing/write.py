"""The drawings of a release: a sheet for each made piece, the box, its joints, and the plan of the car."""

from collections.abc import Sequence
from pathlib import Path

from baywright.box.generate import BoxDesign
from baywright.job.models import Car
from baywright.piece.numbering import Part, made_parts, slug
from baywright.release.drawing.box import box_sheet, box_views
from baywright.release.drawing.frame import Rules
from baywright.release.drawing.joints import joints_sheet
from baywright.release.drawing.lines import Light
from baywright.release.drawing.paper import Sheet, write_pdf, write_svg
from baywright.release.drawing.part import part_sheet
from baywright.release.drawing.setting_out import Standing, setting_out_sheet

RULES = Rules()
# For the picture only, where no track was measured, mm.
_TRACK = 1300.0


def write_drawings(
    design: BoxDesign, subject: Light, folder: Path, job: str, revision: str, rules: Rules = RULES
) -> list[Path]:
    """Write a box's drawings into `folder`/drawing and return their paths.

    Each sheet is written as PDF and SVG; one more PDF holds them all, to print at one go.

    Args:
        design: the box.
        subject: its light meshes, with its parts.
        folder: the box's folder in the release.
        job: the job's title.
        revision: the release's letter.
        rules: how the workshop draws.
    """
    views = box_views(subject, rules)
    sheets = [
        (f"{design.name}-box", box_sheet(design, views, job, revision, rules)),
        (f"{design.name}-joints", joints_sheet(design, subject, job, revision, rules)),
        *part_sheets(subject.parts, job, revision, rules),
    ]
    title = f"{job}: drawings of box {design.name}, revision {revision}"
    return write_each(sheets, folder, design.name, title, revision)


def part_sheets(
    parts: Sequence[Part], job: str, revision: str, rules: Rules = RULES, *, bonded: bool = True
) -> list[tuple[str, Sheet]]:
    """Return a sheet for each made part, with its number."""
    return [(part.number, part_sheet(part, job, revision, rules, bonded=bonded)) for part in made_parts(parts)]


def write_each(sheets: Sequence[tuple[str, Sheet]], folder: Path, name: str, title: str, revision: str) -> list[Path]:
    """Write each sheet as PDF and SVG into `folder`/drawing, and one PDF of all into `folder`; return the paths."""
    inside = folder / "drawing"
    inside.mkdir(exist_ok=True)
    end = f"rev{slug(revision)}"
    paths = []
    for stem, sheet in sheets:
        paths.append(write_pdf([sheet], inside / f"{slug(stem)}_{end}.pdf", sheet.title))
        paths.append(write_svg(sheet, inside / f"{slug(stem)}_{end}.svg"))
    paths.append(write_pdf([sheet for _, sheet in sheets], folder / f"{slug(name)}-drawings_{end}.pdf", title))
    return paths


def write_setting_out(
    things: Sequence[Standing], car: Car, folder: Path, job: str, revision: str, rules: Rules = RULES
) -> list[Path]:
    """Write the sheet of where everything stands in the car into a release's folder and return its paths."""
    tracks = (car.track_front or _TRACK, car.track_rear or _TRACK)
    sheet = setting_out_sheet(things, car.name, car.wheelbase, tracks, job, revision, rules)
    stem = f"setting-out_rev{slug(revision)}"
    return [
        write_pdf([sheet], folder / f"{stem}.pdf", sheet.title),
        write_svg(sheet, folder / f"{stem}.svg"),
    ]
