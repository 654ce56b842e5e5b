"""Paper templates at full size: lay them on the real motor and the real bell before anything is cut."""

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from baywright.adapter.design import AdapterDesign
from baywright.shape.loop import polygon
from baywright.shape.pattern import Pattern, Side

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.backends.backend_pdf import PdfPages

# Width and height of a page standing upright, mm: ISO 216, ANSI/ASME Y14.1.
PAPERS = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "letter": (215.9, 279.4), "tabloid": (279.4, 431.8)}
# What a printer may leave white at the edge, what two pages share so that they can be glued, and the strip that the
# label takes at the foot, mm: common practice, no source.
MARGIN, SHARED, FOOT = 10.0, 10.0, 26.0
BAR = 100.0
# Paper round the outermost holes, mm.
_ROUND = 15.0
_MM = 1 / 25.4


@dataclass(frozen=True, slots=True)
class Tiling:
    """How a drawing is spread over pages: columns, rows, the part that a page shows (mm), the first page's corner."""

    columns: int
    rows: int
    width: float
    height: float
    left: float
    bottom: float

    def window(self, column: int, row: int) -> tuple[float, float, float, float]:
        """Return x and y, from and to, that a page shows; row 0 is the topmost."""
        x = self.left + column * (self.width - SHARED)
        y = self.bottom + (self.rows - 1 - row) * (self.height - SHARED)
        return x, x + self.width, y, y + self.height


def tiling(extents: tuple[float, float, float, float], paper: str, *, lying: bool = False) -> Tiling:
    """Return how extents (x least, y least, x most, y most; mm) are spread over pages, the drawing in the middle.

    Args:
        extents: of the drawing, mm.
        paper: a name in `PAPERS`.
        lying: whether the pages lie on their long side.
    """
    width, height = PAPERS[paper][::-1] if lying else PAPERS[paper]
    wide, tall = width - 2 * MARGIN, height - 2 * MARGIN - FOOT
    x0, y0, x1, y1 = extents

    def pages(length: float, page: float) -> int:
        return max(1, math.ceil((length - SHARED) / (page - SHARED) - 1e-9))

    columns, rows = pages(x1 - x0, wide), pages(y1 - y0, tall)
    spread = columns * (wide - SHARED) + SHARED, rows * (tall - SHARED) + SHARED
    left, bottom = (x0 + x1 - spread[0]) / 2, (y0 + y1 - spread[1]) / 2
    return Tiling(columns, rows, wide, tall, left, bottom)


def write_template(design: AdapterDesign, path: Path) -> int:
    """Write the full-size template as one PDF and return its number of pages.

    First the gearbox's holes as somebody at the motor sees the bell, then the motor's holes as somebody at the gearbox
    sees the motor's face: each page says what it is laid on and from where it is seen, and has a scale bar.
    """
    import matplotlib
    from matplotlib.backends.backend_pdf import PdfPages

    gearbox = design.given.gearbox_face
    faces: tuple[tuple[Pattern, Side, str, NDArray[np.float64]], ...] = (
        (gearbox, "motor", "the gearbox's face", _edge(design, -1, "motor")),
        (design.motor_face.seen("gearbox"), "gearbox", "the motor's face", _edge(design, 0, "gearbox")),
    )
    pages = 0
    with (
        matplotlib.rc_context({"pdf.fonttype": 42, "font.size": 8}),
        PdfPages(path, metadata={"CreationDate": None, "Title": f"{design.name}: templates 1:1"}) as pdf,
    ):
        for face, seen_from, laid_on, edge in faces:
            pages += _face(pdf, design, face, seen_from, laid_on, edge)
    return pages


def _edge(design: AdapterDesign, which: int, seen_from: Side) -> NDArray[np.float64]:
    """Return the outline (n, 2) of the plate that meets a face, as one side sees it."""
    at = design.plates[which]
    sign = 1.0 if at.seen_from == seen_from else -1.0
    edge: NDArray[np.float64] = polygon(design.piece(at.mark).outline) * (sign, 1.0)
    return np.concatenate([edge, edge[:1]])


def _face(
    pdf: "PdfPages", design: AdapterDesign, face: Pattern, seen_from: Side, laid_on: str, edge: NDArray[np.float64]
) -> int:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    paper = design.given.ask.paper
    width, height = PAPERS[paper]
    tiles = tiling(_extents(face), paper)
    total, written = tiles.columns * tiles.rows, 0
    for row in range(tiles.rows):
        for column in range(tiles.columns):
            left, right, low, high = tiles.window(column, row)
            if _blank(face, left, right, low, high):
                continue
            # The page's size and the axes' place are exact: one millimetre of data is one on paper.
            figure = Figure(figsize=(width * _MM, height * _MM))
            FigureCanvasAgg(figure)
            box = (MARGIN / width, (MARGIN + FOOT) / height, tiles.width / width, tiles.height / height)
            axes = figure.add_axes(box)
            axes.set_xlim(left, right)
            axes.set_ylim(low, high)
            axes.set_xticks([])
            axes.set_yticks([])
            _draw(axes, face, edge)
            _crosses(axes, tiles, column, row)
            foot = figure.add_axes((MARGIN / width, MARGIN / height, tiles.width / width, (FOOT - 2) / height))
            number = row * tiles.columns + column + 1
            _label(foot, design, face, seen_from, laid_on, tiles, (number, total, row + 1, column + 1))
            pdf.savefig(figure)  # type: ignore[no-untyped-call]
            written += 1
    return written


def _extents(face: Pattern) -> tuple[float, float, float, float]:
    """Return x and y, least and most (mm), of what a face's template shows: its holes with their marks, its pilot."""
    reach = [(h.x, h.y, h.diameter / 2 + _ROUND) for h in face.holes]
    if face.pilot is not None:
        reach.append((0.0, 0.0, face.pilot.diameter / 2 + 1.0))
    table = np.array(reach)
    low, high = (table[:, :2] - table[:, 2:]).min(axis=0), (table[:, :2] + table[:, 2:]).max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _blank(face: Pattern, left: float, right: float, low: float, high: float) -> bool:
    """Tell whether a page would show neither a hole nor the pilot."""
    for h in face.holes:
        arm = h.diameter / 2 + 4
        if left - arm < h.x < right + arm and low - arm < h.y < high + arm:
            return False
    if face.pilot is None:
        return True
    r = face.pilot.diameter / 2
    nearest = math.hypot(max(left, min(0.0, right)), max(low, min(0.0, high)))
    farthest = max(math.hypot(x, y) for x in (left, right) for y in (low, high))
    return not nearest <= r <= farthest


def _draw(axes: "Axes", face: Pattern, edge: NDArray[np.float64]) -> None:
    from matplotlib.patches import Circle

    axes.plot(edge[:, 0], edge[:, 1], color="#8a9aa3", linewidth=0.5, linestyle="--")
    if face.pilot is not None:
        axes.add_patch(Circle((0, 0), face.pilot.diameter / 2, fill=False, edgecolor="black", linewidth=0.4))
    reach = float(np.hypot(edge[:, 0], edge[:, 1]).max())
    axes.plot([-reach, reach], [0, 0], color="#8a9aa3", linewidth=0.3, linestyle="-.")
    axes.plot([0, 0], [-reach, reach], color="#8a9aa3", linewidth=0.3, linestyle="-.")
    for hole in face.holes:
        axes.add_patch(
            Circle((hole.x, hole.y), max(hole.diameter, 1.0) / 2, fill=False, edgecolor="black", linewidth=0.35)
        )
        arm = hole.diameter / 2 + 4
        axes.plot([hole.x - arm, hole.x + arm], [hole.y, hole.y], color="black", linewidth=0.25)
        axes.plot([hole.x, hole.x], [hole.y - arm, hole.y + arm], color="black", linewidth=0.25)
        size = hole.thread if hole.kind == "tapped" else f"Ø{hole.diameter:.2f}"
        axes.text(hole.x + arm, hole.y + 2, f"{hole.name}  {size}", fontsize=7, clip_on=True)


def register_places(tiles: Tiling, column: int, row: int) -> list[tuple[float, float]]:
    """Return where register crosses stand, mm, in the strips that a page shares with its neighbours."""
    left, right, low, high = tiles.window(column, row)
    half = SHARED / 2
    xs = [left + half] * (column > 0) + [right - half] * (column < tiles.columns - 1)
    ys = [high - half] * (row > 0) + [low + half] * (row < tiles.rows - 1)
    places = [(x, y) for x in xs for y in (low + 0.25 * (high - low), high - 0.25 * (high - low))]
    places += [(x, y) for y in ys for x in (left + 0.25 * (right - left), right - 0.25 * (right - left))]
    return places


def _crosses(axes: "Axes", tiles: Tiling, column: int, row: int) -> None:
    """Draw register crosses in the strips that neighbouring pages share."""
    for x, y in register_places(tiles, column, row):
        axes.plot([x - 4, x + 4], [y, y], color="#2b6f8a", linewidth=0.4)
        axes.plot([x, x], [y - 4, y + 4], color="#2b6f8a", linewidth=0.4)


def _label(
    axes: "Axes",
    design: AdapterDesign,
    face: Pattern,
    seen_from: Side,
    laid_on: str,
    tiles: Tiling,
    page: tuple[int, int, int, int],
) -> None:
    """Draw the foot of a page: what it is, the side that it is seen from, its place, a bar to measure."""
    axes.set_xlim(0, tiles.width)
    axes.set_ylim(0, FOOT - 2)
    axes.set_axis_off()
    number, total, row, column = page
    bar = min(BAR, 10 * math.floor((tiles.width - 4) / 10))
    axes.plot([0, bar], [3, 3], color="black", linewidth=0.8)
    for k in range(int(bar // 10) + 1):
        axes.plot([10 * k, 10 * k], [3, 6 if k % 5 else 8], color="black", linewidth=0.5)
    axes.text(0, 9, f"{bar:g} mm: measure this bar; print at 100 %, do not fit to page", fontsize=7)
    axes.text(0, 20, f"SEEN FROM THE {seen_from.upper()}: lay on {laid_on}", fontsize=10, fontweight="bold")
    turned = f"; motor turned {design.clocking:g} deg clockwise, seen from the motor" if seen_from == "gearbox" else ""
    axes.text(0, 15, f"{design.name}: {face.name}{turned}", fontsize=8)
    place = f"page {number} of {total}: row {row}, column {column}"
    axes.text(tiles.width, 20, place, fontsize=7, ha="right")
