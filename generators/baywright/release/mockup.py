"""The cardboard mock-up's files at full size: a DXF, and a PDF on one sheet or on pages to tape together."""

import math
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from baywright.bay.cardboard import Cardboard
from baywright.release import sheet
from baywright.shape.loop import bounds, polygon

if TYPE_CHECKING:
    from matplotlib.axes import Axes

CUT, FOLD, MARK, NOTE = "CUT", "FOLD", "MARK", "NOTE"
LAYERS = {CUT: 7, FOLD: 5, MARK: 3, NOTE: 8}
PAPER = {"a4": (210.0, 297.0), "a3": (297.0, 420.0)}  # ISO 216, mm
_MARGIN = 10.0  # mm that printers leave white
_LAP = 10.0  # mm that pages overlap
_AROUND = 15.0


def _extents(card: Cardboard) -> tuple[float, float, float, float]:
    every = [bounds(loop) for loop in card.cut]
    x0, y0 = min(b[0] for b in every), min(b[1] for b in every)
    return x0, y0, max(b[2] for b in every), max(b[3] for b in every)


def notes(card: Cardboard) -> list[str]:
    """Return the lines that stand beside the mock-up."""
    return [
        f"{card.name}: cardboard mock-up, {card.thickness:g} mm board, full size",
        "seen from outside: cut CUT, score FOLD, fold the walls away from you; tape through the slots",
        "MARK: what stands out there, and by how many mm: glue blocks on; glue tongues on as written",
        "it shows the size, not the strength: nothing may stand on it",
    ]


def write_mockup_dxf(card: Cardboard, path: Path) -> Path:
    """Write the mock-up as a DXF in millimetres, layers CUT, FOLD, MARK and NOTE, and return the path."""
    doc = sheet.drawing(LAYERS)
    for loop in (*card.slots, *card.cut):
        sheet.add_loop(doc, loop, CUT)
    for line in card.folds:
        sheet.add_path(doc, line, FOLD)
    for loop in card.marks:
        sheet.add_loop(doc, loop, MARK)
    for text, x, y, height in card.texts:
        sheet.add_text(doc, [text], x, y, height, NOTE)
    x0, y0, x1, y1 = _extents(card)
    sheet.add_scale(doc, x0, y0 - 30, 10, NOTE)
    lines = [sheet.SCALE_TEXT, *notes(card)]
    sheet.add_text(doc, lines, x0, y0 - 50, 10, NOTE)
    sheet.save(doc, path, (x0, y0 - 50 - 16 * len(lines), x1, y1))
    return path


def write_mockup_pdf(card: Cardboard, path: Path, paper: str | None = None) -> Path:
    """Write the mock-up as a PDF at full size and return the path.

    Args:
        card: the mock-up.
        path: the file.
        paper: "a4" or "a3" for pages that overlap by 10 mm, to be taped together; None for one large sheet.

    Raises:
        ValueError: for another paper.
    """
    from matplotlib.backends.backend_pdf import PdfPages
    from matplotlib.figure import Figure

    if paper is not None and paper not in PAPER:
        raise ValueError(f"'{paper}' is no paper known here: {', '.join(PAPER)}")
    x0, y0, x1, y1 = _extents(card)
    x0, y0, x1, y1 = x0 - _AROUND, y0 - _AROUND - 70, x1 + _AROUND, y1 + _AROUND
    wide, tall = (x1 - x0, y1 - y0) if paper is None else PAPER[paper]
    inner = (wide, tall) if paper is None else (wide - 2 * _MARGIN, tall - 2 * _MARGIN)
    step = inner if paper is None else (inner[0] - _LAP, inner[1] - _LAP)
    columns = 1 if paper is None else math.ceil((x1 - x0 - _LAP) / step[0])
    rows = 1 if paper is None else math.ceil((y1 - y0 - _LAP) / step[1])
    with PdfPages(path, metadata={"CreationDate": None, "Title": f"{card.name}: cardboard mock-up"}) as pages:
        for row in range(rows):
            for column in range(columns):
                figure = Figure(figsize=(wide / 25.4, tall / 25.4))
                left, low = (wide - inner[0]) / 2 / wide, (tall - inner[1]) / 2 / tall
                axes = figure.add_axes((left, low, inner[0] / wide, inner[1] / tall))
                first, top = x0 + column * step[0], y1 - row * step[1]
                axes.set_xlim(first, first + inner[0])
                axes.set_ylim(top - inner[1], top)
                _draw(axes, card)
                if paper is None:
                    axes.set_axis_off()
                else:
                    axes.set_xticks([])
                    axes.set_yticks([])
                    axes.text(
                        0.01, 0.005, f"row {row + 1} of {rows}, column {column + 1} of {columns}; print at 100 %, lap "
                        f"{_LAP:g} mm", transform=axes.transAxes, fontsize=7,
                    )  # fmt: skip
                pages.savefig(figure)
    return path


def _draw(axes: "Axes", card: Cardboard) -> None:
    from matplotlib.collections import LineCollection

    x0, y0, *_ = _extents(card)
    scale = np.array([(x0, y0 - 20), (x0 + sheet.SCALE, y0 - 20)])
    for loops, colour, width in ((card.cut, "black", 0.8), (card.slots, "black", 0.5), (card.marks, "#2f6f9f", 0.5)):
        lines = [np.vstack([line, line[:1]]) for line in (polygon(loop, 0.1) for loop in loops)]
        axes.add_collection(LineCollection(lines, colors=colour, linewidths=width), autolim=False)
    folds = LineCollection(list(card.folds), colors="#c0392b", linewidths=0.6, linestyles=[(0, (8, 4))])
    axes.add_collection(folds, autolim=False)
    axes.add_collection(LineCollection([scale], colors="black", linewidths=0.8), autolim=False)
    below = [(said, x0, y0 - 30 - 9 * n, 5.6) for n, said in enumerate([sheet.SCALE_TEXT, *notes(card)])]
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    for said, x, y, height in (*card.texts, *below):
        if left - 500 < x < right and low < y + height and y - height < high:
            axes.text(x, y, said, fontsize=height * 72 / 25.4, clip_on=True)
