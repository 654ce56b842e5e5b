"""A made piece's drilled sides: what is drawn of each, where holes are measured from, what each hole is."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from baywright.piece.extrusion import Extrusion
from baywright.piece.numbering import letters
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.release.drawing import dims
from baywright.release.drilling import drilled_faces, from_heel
from baywright.shape.loop import Loop, as_circle, bounds


@dataclass(frozen=True, slots=True)
class View:
    """One drilled side: its name, size in mm, holes in its own x-y with what they are, edges to draw."""

    name: str
    width: float
    height: float
    low: tuple[float, float]
    loops: tuple[Loop, ...]
    holes: tuple[tuple[Hole, float], ...]  # with the metal's depth behind each


@dataclass(frozen=True, slots=True)
class Spot:
    """A hole in the table: its label, its view, its middle on the view's axes, the hole."""

    label: str
    view: int
    x: float
    y: float
    hole: Hole


def plate_view(piece: Plate) -> View:
    """Return the seen side of a plate."""
    x0, y0, x1, y1 = bounds(piece.outline)
    holes = tuple((hole, piece.thickness) for hole in piece.holes)
    return View("", x1 - x0, y1 - y0, (x0, y0), (piece.outline,), holes)


def face_views(piece: Extrusion) -> list[View]:
    """Return a view of each drilled side, or of the first one where nothing is drilled."""
    found = [
        View(
            name,
            face.width,
            face.height,
            (0.0, 0.0),
            (_rectangle(face.width, face.height),),
            tuple((h, face.depth) for h in holes),
        )
        for name, face, holes in drilled_faces(piece)
    ]
    if found:
        return found
    faces = piece.faces()
    if not faces:  # round stock
        return [
            View("side", piece.length, piece.stock.width, (0, 0), (_rectangle(piece.length, piece.stock.width),), ())
        ]
    name, face = next(iter(faces.items()))
    return [View(name, face.width, face.height, (0.0, 0.0), (_rectangle(face.width, face.height),), ())]


def _rectangle(width: float, height: float) -> Loop:
    return np.array([(0, 0, 0), (width, 0, 0), (width, height, 0), (0, height, 0)], dtype=float)


def datum_of(piece: Plate | Extrusion) -> tuple[float, float, str]:
    """Return where positions are measured from: a real lower left corner, else the plate's own origin."""
    if isinstance(piece, Extrusion):
        return (
            0.0,
            0.0,
            "end 0 and the heel" if piece.stock.shape in ("angle", "channel") else "end 0 and the lower edge",
        )
    x0, y0, _, _ = bounds(piece.outline)
    corner = np.hypot(piece.outline[:, 0] - x0, piece.outline[:, 1] - y0).min() < 0.01
    return (x0, y0, "the lower left corner") if corner else (0.0, 0.0, "the plate's origin")


def spots_of(
    piece: Plate | Extrusion, views: Sequence[View], datum: tuple[float, float, str]
) -> tuple[list[Spot], list[tuple[str, str, str]]]:
    """Return every hole with its label, and the classes: letter, size, what for."""
    groups: dict[tuple[str, str], list[tuple[int, float, float, Hole]]] = {}
    for index, view in enumerate(views):
        for hole, depth in view.holes:
            x0, y0, x1, y1 = bounds(hole.loop)
            x, y = (x0 + x1) / 2, (y0 + y1) / 2
            if isinstance(piece, Extrusion):
                y = y if view.name.startswith("end") else from_heel(piece, view.name, y)
            through = hole.depth >= depth - 1e-6
            # A call-out often says the use itself ("M10 clearance", "clearance for M5").
            said = hole.callout if hole.use in hole.callout else ", ".join(filter(None, (hole.use, hole.callout)))
            said += "" if through or " deep" in said else f", {hole.depth:g} deep"
            groups.setdefault((hole_size(hole.loop), said), []).append((index, x - datum[0], y - datum[1], hole))
    spots, classes = [], []
    for order, ((size, said), members) in enumerate(sorted(groups.items(), key=lambda g: (-len(g[1]), g[0]))):
        letter = letters(order)
        members.sort(key=lambda m: (m[0], round(m[1], 3), round(m[2], 3)))
        several = len(members) > 1
        spots += [Spot(f"{letter}{n if several else ''}", i, x, y, h) for n, (i, x, y, h) in enumerate(members, 1)]
        classes.append((letter, f"{len(members)} × {size}", said))
    return spots, classes


def hole_size(loop: Loop) -> str:
    """Return a hole's size as a drawing calls it out: "Ø5.5", "slot 9 × 16", "60 × 40"."""
    ring = as_circle(loop)
    if ring is not None:
        return f"Ø{dims.number(ring[2])}"
    if len(loop) == 4 and np.isclose(np.abs(loop[:, 2]), [0, 1, 0, 1]).all():
        step = np.hypot(*(np.roll(loop[:, :2], -1, axis=0) - loop[:, :2]).T)
        return f"slot {dims.number(step[1])} × {dims.number(step[0] + step[1])}"
    x0, y0, x1, y1 = bounds(loop)
    return f"{dims.number(x1 - x0)} × {dims.number(y1 - y0)}"
