"""Cut files: one DXF for each distinct plate, at full size in millimetres, drawn nominal from the seen side."""

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Literal, Protocol

from baywright.piece import cutting
from baywright.piece.assembly import Assembly
from baywright.piece.numbering import Part, slug
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.release import sheet
from baywright.release.spot import bonded_regions, free_spot
from baywright.release.strokes import text_size, text_strokes
from baywright.shape.loop import as_circle, bounds
from baywright.shape.pose import turned

if TYPE_CHECKING:
    from ezdxf.document import Drawing

# Heights of a part number in mm, the most wanted first: under 2.5 mm a laser's mark is hard to read.
_MARK_HEIGHTS = (6.0, 5.0, 4.0, 3.0, 2.5)
_CROSS = 3.0  # mm that a centre mark stands out over a blind hole's edge


class CutFileRules(cutting.Cutter, Protocol):
    """What a cutter asks of its files, besides its limits."""

    @property
    def text(self) -> bool:
        """Whether part numbers may be marked on the metal."""

    @property
    def dxf_version(self) -> Literal["R2000", "R2010"]:
        """The version of the format."""

    @property
    def layers(self) -> Literal["by meaning", "cut only"]:
        """Whether edges stand on layers by meaning, or all on one layer with nothing else."""


def thickness_text(thickness: float) -> str:
    """Return a thickness for file names and notes: one decimal, more where the sheet has more."""
    return f"{thickness:.1f}" if abs(thickness - round(thickness, 1)) < 1e-9 else f"{thickness:g}"


def cut_file_name(part: Part, revision: str) -> str:
    """Return a plate's file name: number, material, thickness, quantity, revision."""
    plate = part.piece
    assert isinstance(plate, Plate)
    thick = thickness_text(plate.thickness)
    return f"{part.number}_{slug(plate.material)}_{thick}mm_qty{part.quantity}_rev{slug(revision)}.dxf"


def write_cut_file(part: Part, assembly: Assembly, folder: Path, cutter: CutFileRules, revision: str) -> Path:
    """Write a plate's cut file and return its path.

    Args:
        part: the plate.
        assembly: where it stands: its bonded faces are left unmarked.
        folder: an existing folder.
        cutter: what the cutter asks.
        revision: the release's letter.
    """
    plate = part.piece
    assert isinstance(plate, Plate)
    path = folder / cut_file_name(part, revision)
    extents = bounds(plate.outline)
    if cutter.layers == "cut only":
        doc = sheet.drawing(sheet.CUT_ONLY, cutter.dxf_version)
        for loop in (*plate.profile.holes, plate.profile.outer):
            sheet.add_loop(doc, loop, sheet.CUT)
        sheet.save(doc, path, extents)
        return path
    doc = sheet.drawing(sheet.LAYERS, cutter.dxf_version)
    for loop in plate.profile.holes:
        sheet.add_loop(doc, loop, sheet.INNER_CUT)
    sheet.add_loop(doc, plate.profile.outer, sheet.OUTER_CUT)
    for _, hole in plate.pockets():
        x0, y0, x1, y1 = bounds(hole.loop)
        sheet.add_loop(doc, hole.loop, sheet.DRILL)
        sheet.add_cross(doc, (x0 + x1) / 2, (y0 + y1) / 2, max(x1 - x0, y1 - y0) + 2 * _CROSS, sheet.DRILL)
    marked = _mark(doc, part, plate, assembly, cutter)
    x0, y0, x1, y1 = extents
    height = min(max(max(x1 - x0, y1 - y0) / 60, 3.0), 10.0)
    notes = part_notes(part, plate, assembly, revision, marked)
    below = y0 - 4 * height
    sheet.add_scale(doc, x0, below, height, sheet.NOTE)
    sheet.add_text(doc, [sheet.SCALE_TEXT, *notes], x0, below - 2 * height, height, sheet.NOTE)
    bottom = below - (2 + 1.6 * (len(notes) + 1)) * height
    sheet.save(doc, path, (x0, bottom, max(x1, x0 + sheet.SCALE), y1))
    return path


def _mark(doc: "Drawing", part: Part, plate: Plate, assembly: Assembly, cutter: CutFileRules) -> str:
    """Mark the number on the metal if cutter and face allow it; return what the note says about it."""
    if not cutter.text:
        return "number: not marked by the cutter; write it on by hand, off the bonded faces"
    sizes = [text_size(part.number, height) for height in _MARK_HEIGHTS]
    spot = free_spot(plate, bonded_regions(part, assembly), sizes)
    if spot is None:
        return "number: no free place on the seen face; tag the part"
    index, x, y, angle = spot
    place = turned("z", angle, (x, y, 0.0))
    for stroke in text_strokes(part.number, _MARK_HEIGHTS[index]):
        flat = place([(px, py, 0.0) for px, py in stroke.tolist()])[:, :2]
        sheet.add_path(doc, flat, sheet.MARK)
    return "number: on layer MARK, seen face, off the bonded faces"


def part_notes(part: Part, plate: Plate, assembly: Assembly, revision: str, marked: str) -> list[str]:
    """Return the lines that stand beside a plate: what it is, which side is seen, how its holes are finished."""
    x0, y0, x1, y1 = bounds(plate.outline)
    wide, tall = x1 - x0, y1 - y0
    t = plate.thickness
    lines = [
        f"{part.number}  revision {revision}",
        f"{plate.material}, thickness {thickness_text(t)} mm ({cutting.inches(t)} in), quantity {part.quantity}",
        f"seen from {plate.seen_from}",
        f"{wide:.2f} x {tall:.2f} mm ({cutting.inches(wide)} x {cutting.inches(tall)} in)",
        "drawn nominal: the cutter allows for kerf",
        marked,
    ]
    over = turned_over(part, assembly)
    if over:
        lines.append(f"fitted turned over: {', '.join(over)}")
    return lines + hole_notes(plate)


def turned_over(part: Part, assembly: Assembly) -> list[str]:
    """Return the marks of the places where a plate is fitted with its seen side turned away."""
    drawn = assembly.by_mark
    return [mark for mark, pose in part.occurrences if pose.turn[:, 2] @ drawn[mark].pose.turn[:, 2] < 0]


def hole_notes(plate: Plate) -> list[str]:
    """Return one line for each class of hole: how many, how wide, what for, what a cut file cannot say."""
    classes = Counter(_hole_class(hole, plate.thickness) for hole in plate.holes)
    return [f"{count} x {text}" for text, count in sorted(classes.items())]


def _hole_class(hole: Hole, thickness: float) -> str:
    ring = as_circle(hole.loop)
    if ring is not None:
        size = f"dia {ring[2]:.2f} mm"
    else:
        size = f"{cutting.least_width(hole.loop):.2f} mm wide"
    # A call-out often says the use itself ("clearance for M5").
    said = hole.callout if hole.use in hole.callout else ", ".join(filter(None, (hole.use, hole.callout)))
    text = f"{size}: {said}"
    if hole.depth < thickness - 1e-6:
        text += f", {hole.depth:g} mm deep from the seen side, NOT cut through (layer {sheet.DRILL})"
    return text
