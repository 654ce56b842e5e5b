"""Drilling of extrusions: templates at full size, and their tables."""

from pathlib import Path

from baywright.piece.extrusion import Extrusion
from baywright.piece.numbering import Part, slug
from baywright.piece.solid import Face, Hole
from baywright.release import sheet
from baywright.release.table import write_table
from baywright.shape.loop import as_circle, bounds, rectangle

_CROSS = 3.0  # mm that a centre mark stands out over the hole

# Which edge of each face is the heel: the outside corner of an angle or channel that a square is laid against. The
# face's own y runs away from it, or towards it.
_TOWARDS_HEEL = {("angle", "leg x"), ("channel", "flange low")}


def from_heel(piece: Extrusion, face: str, y: float) -> float:
    """Return how far in mm a point of a face stands from the heel (for bars and tubes: from the face's first edge)."""
    height = piece.faces()[face].height
    return height - y if (piece.stock.shape, face) in _TOWARDS_HEEL else y


def drilled_faces(piece: Extrusion) -> list[tuple[str, Face, list[Hole]]]:
    """Return each face that has holes: its name, the face, its holes from end 0 on."""
    faces = piece.faces()
    found = []
    for name in faces:
        holes = [hole for hole in piece.holes if hole.face == name]
        if holes:
            holes.sort(key=lambda h: (round(float(h.loop[:, 0].mean()), 6), round(float(h.loop[:, 1].mean()), 6)))
            found.append((name, faces[name], holes))
    return found


def template_name(part: Part, face: str, revision: str) -> str:
    """Return the file name of a drilling template."""
    return f"{part.number}_drill_{slug(face)}_rev{slug(revision)}.dxf"


def write_templates(part: Part, folder: Path, version: str, revision: str) -> list[Path]:
    """Write a template at full size for each drilled face of an extrusion, and the table of its holes; return paths.

    Args:
        part: an extrusion.
        folder: an existing folder.
        version: of the format, "R2000" or later.
        revision: the release's letter.
    """
    piece = part.piece
    assert isinstance(piece, Extrusion)
    paths, rows = [], []
    for name, face, holes in drilled_faces(piece):
        doc = sheet.drawing({sheet.DRILL: sheet.LAYERS[sheet.DRILL], sheet.NOTE: sheet.LAYERS[sheet.NOTE]}, version)
        sheet.add_loop(doc, rectangle(0, 0, face.width, face.height), sheet.NOTE)
        for hole in holes:
            x, y = _middle(hole)
            x0, y0, x1, y1 = bounds(hole.loop)
            sheet.add_loop(doc, hole.loop, sheet.DRILL)
            sheet.add_cross(doc, x, y, max(x1 - x0, y1 - y0) + 2 * _CROSS, sheet.DRILL)
            depth = "through" if hole.depth >= face.depth - 1e-6 else f"{hole.depth:.2f}"
            if name.startswith("end"):  # a sawn end has neither heel nor length
                places = ("", "", "")
                note = f"{x:.2f} and {y:.2f} mm from the edges of the sawn end; {hole.callout}".rstrip("; ")
            else:
                places = (f"{x:.2f}", f"{face.width - x:.2f}", f"{from_heel(piece, name, y):.2f}")
                note = hole.callout
            rows.append((name, *places, _size(hole), depth, hole.use, note))
        edge = _edge_text(piece, from_heel(piece, name, 0.0) == 0)
        notes = [
            sheet.SCALE_TEXT,
            f"{part.number}  revision {revision}  quantity {part.quantity}",
            f"{piece.size_text()} mm, {piece.material}",
            f"face: {name}, seen from outside the metal; end 0 at the left; {edge}",
        ]
        sheet.add_scale(doc, 0.0, -12.0, 4.0, sheet.NOTE)
        sheet.add_text(doc, notes, 0.0, -20.0, 4.0, sheet.NOTE)
        path = folder / template_name(part, name, revision)
        sheet.save(doc, path, (0.0, -44.0, max(face.width, sheet.SCALE), face.height))
        paths.append(path)
    if rows:
        head = ("face", "from end 0 mm", "from end 1 mm", "from heel mm", "hole", "depth mm", "use", "note")
        paths.append(write_table(folder / f"{part.number}_holes_rev{slug(revision)}.csv", head, rows))
    return paths


def _edge_text(piece: Extrusion, at_bottom: bool) -> str:
    if piece.stock.shape not in ("angle", "channel"):
        return "measured from the lower edge"
    return f"heel at the {'bottom' if at_bottom else 'top'}"


def _middle(hole: Hole) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds(hole.loop)
    return (x0 + x1) / 2, (y0 + y1) / 2


def _size(hole: Hole) -> str:
    ring = as_circle(hole.loop)
    if ring is not None:
        return f"dia {ring[2]:.2f}"
    x0, y0, x1, y1 = bounds(hole.loop)
    return f"{x1 - x0:.2f} x {y1 - y0:.2f}"
