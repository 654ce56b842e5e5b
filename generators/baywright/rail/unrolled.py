"""Drilling templates: all faces of a rail unrolled on one sheet at full size, to wrap round the metal and punch."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from baywright.piece.extrusion import Extrusion
from baywright.piece.solid import Face, Hole
from baywright.rail.bars import Bar
from baywright.rail.design import RailDesign
from baywright.shape.loop import Loop, as_circle, bounds, moved, polygon

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]

# The faces of a section in the order in which a strip of paper meets them, from the outside; a flat bar's do not join.
_ROUND = {
    "tube": ("low", "left", "high", "right"),
    "channel": ("flange low", "web", "flange high"),
    "angle": ("leg x", "leg y"),
    "bar": ("low", "high"),
}
_GAP = 15.0  # mm between faces that do not join
_MARGIN = 18.0  # mm of paper round the template
_FOOT = 34.0  # mm below it for notes and the scale line
SCALE = 100.0  # mm


@dataclass(frozen=True, eq=False)
class Strip:
    """One face on the sheet.

    Attributes:
        name: the face's name.
        face: the face.
        low: where its lower edge lies on the sheet, mm.
        holes: its holes, each with its loop moved to the sheet, from end 0 on.
    """

    name: str
    face: Face
    low: float
    holes: tuple[tuple[Hole, Loop], ...]


def unrolled(piece: Extrusion) -> tuple[Strip, ...]:
    """Return the faces of an extrusion laid out as they unroll, seen from outside the metal.

    x runs along the length from end 0. Faces that join along a corner share that line on the sheet, so that the sheet
    wraps round the section; a tube's last edge meets its first.
    """
    faces, found, at = piece.faces(), [], 0.0
    for name in _ROUND.get(piece.stock.shape, ()):
        face = faces[name]
        own = sorted(
            (h for h in piece.holes if h.face == name),
            key=lambda h: (round(float(h.loop[:, 0].mean()), 6), round(float(h.loop[:, 1].mean()), 6)),
        )
        found.append(Strip(name, face, at, tuple((hole, moved(hole.loop, 0.0, at)) for hole in own)))
        at += face.height + (_GAP if piece.stock.shape == "bar" else 0.0)
    return tuple(found)


def write_templates(design: RailDesign, folder: Path, revision: str = "A") -> list[Path]:
    """Write a template for every rail and crossbar as PDF at full size, and return the paths.

    The page is as large as the template: print it on a roll, or tiled, at 100 %.

    Args:
        design: the rails.
        folder: an existing folder.
        revision: the release's letter.
    """
    paths = []
    for mark, bar in design.bars.items():
        piece = design.assembly.by_mark[mark].piece
        assert isinstance(piece, Extrusion)
        paths.append(_write(piece, face_names(bar, design.sides), _end_name(bar), mark, design.name, folder, revision))
    return paths


def face_names(bar: Bar, sides: tuple[str, str]) -> dict[str, str]:
    """Return what each face of a bar looks at in the car: "top", "bottom", "inboard", "outboard", "left" and so on.

    Args:
        bar: the bar.
        sides: what the car calls the sides of the rail frame at y < 0 and y > 0.
    """
    stands, names = bar.pose(), {}
    for name, face in bar.piece("").faces().items():
        normal = stands.direction(face.pose.turn[:, 2])
        axis = int(np.abs(normal).argmax())
        high = normal[axis] > 0
        if axis == 2:
            names[name] = "top" if high else "bottom"
        elif axis == 1:
            out = bar.centre[1] != 0.0 and (normal[1] > 0) == (bar.centre[1] > 0)
            names[name] = ("outboard" if out else "inboard") if bar.role == "rail" else sides[1 if high else 0]
        else:
            names[name] = "toward the motor" if high else "toward the gearbox"
    return names


def _end_name(bar: Bar) -> str:
    """Return where end 0 of a bar is."""
    forward = bar.pose().turn[:, 2] @ bar.u > 0
    if bar.role == "rail":
        return "the gearbox's end" if forward else "the motor's far end"
    return "the end at the lower y of the rail frame" if forward else "the end at the higher y of the rail frame"


def _write(piece: Extrusion, names: dict[str, str], end: str, mark: str, job: str, folder: Path, revision: str) -> Path:
    """Write one bar's template and return its path."""
    from matplotlib.backends.backend_pdf import FigureCanvasPdf
    from matplotlib.figure import Figure

    strips = unrolled(piece)
    high = strips[-1].low + strips[-1].face.height
    width, height = piece.length + 2 * _MARGIN, high + 2 * _MARGIN + _FOOT
    figure = Figure(figsize=(width / 25.4, height / 25.4))
    FigureCanvasPdf(figure)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_xlim(-_MARGIN, piece.length + _MARGIN)
    axes.set_ylim(-_MARGIN - _FOOT, high + _MARGIN)
    axes.set_axis_off()
    _draw(axes, piece, strips, names)
    _notes(axes, piece, end, mark, job, revision)
    path = folder / f"{job}_{mark.replace(' ', '-')}_template_rev{revision}.pdf"
    figure.savefig(path, metadata={"CreationDate": None, "Producer": None, "Creator": None, "Title": f"{job}, {mark}"})
    return path


def _draw(axes: "Axes", piece: Extrusion, strips: Sequence[Strip], names: dict[str, str]) -> None:
    n = piece.length
    for number, strip in enumerate(strips):
        low, high = strip.low, strip.low + strip.face.height
        joined = piece.stock.shape != "bar"
        for y, fold in ((low, joined and number > 0), (high, joined and number < len(strips) - 1)):
            axes.plot([0, n], [y, y], color="black", lw=0.5, ls=(0, (8, 3, 1, 3)) if fold else "-")
        axes.plot([0, 0], [low, high], color="black", lw=0.7)
        axes.plot([n, n], [low, high], color="black", lw=0.7)
        label = f"{names[strip.name].upper()}\n({strip.name})"
        axes.text(-3, (low + high) / 2, label, rotation=90, ha="right", va="center", fontsize=7)
        for hole, loop in strip.holes:
            ring = polygon(loop, 0.02)
            ring = np.vstack([ring, ring[:1]])
            axes.plot(ring[:, 0], ring[:, 1], color="black", lw=0.6)
            x0, y0, x1, y1 = bounds(loop)
            x, y, reach = (x0 + x1) / 2, (y0 + y1) / 2, max(x1 - x0, y1 - y0) / 2 + 3
            axes.plot([x - reach, x + reach], [y, y], color="black", lw=0.3)
            axes.plot([x, x], [y - reach, y + reach], color="black", lw=0.3)
            circle = as_circle(hole.loop)
            size = f"⌀{circle[2]:g}" if circle else f"{y1 - y0:g}x{x1 - x0:g}"
            axes.text(x + reach + 0.5, y, f"{size}\nat {x:.1f}", fontsize=6.5, ha="left", va="center", linespacing=1.2)


def _notes(axes: "Axes", piece: Extrusion, end: str, mark: str, job: str, revision: str) -> None:
    y = -_MARGIN
    axes.plot([0, 0, 0, SCALE, SCALE, SCALE], [y - 2, y + 2, y, y, y + 2, y - 2], color="black", lw=0.7)
    axes.text(SCALE / 2, y + 1, f"this line is {SCALE:g} mm ({SCALE / 25.4:.3f} in) long", ha="center", fontsize=6)
    wraps = "wrap round, printed side out; corners on the dash-dotted lines" if piece.stock.shape != "bar" else ""
    lines = [
        f"{job}: {mark}   revision {revision}   {piece.size_text()} mm, {piece.material}",
        f"end 0, {end}, is at the left; seen from outside the metal; mm; print at 100 %; {wraps}".rstrip("; "),
        "centre-punch through the crosses and drill square to the face; crush tubes' holes are marked on both walls",
    ]
    for number, line in enumerate(lines):
        axes.text(0, y - 9 - 6.5 * number, line, fontsize=7)
