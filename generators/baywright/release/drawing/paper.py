"""A sheet of paper to draw on in millimetres, written as SVG and PDF: lines, circles, fills, text that is measured."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

MM = 72 / 25.4  # PDF points to a millimetre
_CAPITAL = 0.718  # height of Helvetica's capitals as a share of its size (the font's own metrics file)
_BELOW, _ABOVE = 0.21, 0.76  # how far its letters reach below and above the line, as a share of the size
FINE = 0.02  # mm on paper that a drawn chord may leave its arc


@dataclass(frozen=True, slots=True)
class Pen:
    """How a line is drawn: width and dashes in mm, colour as red, green, blue from 0 to 1."""

    width: float
    dash: tuple[float, ...] = ()
    colour: tuple[float, float, float] = (0.0, 0.0, 0.0)


# Widths of ISO 128-2's group 0.5 (from memory): 0.5 for edges, 0.25 for everything else.
THICK, THIN = Pen(0.5), Pen(0.25)
EDGE = Pen(0.35)
CENTRE = Pen(0.18, (4.0, 0.8, 0.6, 0.8))
DASHED = Pen(0.25, (1.6, 0.9))
HATCH = Pen(0.13, (), (0.35, 0.35, 0.35))
BOND = Pen(0.1, (), (0.72, 0.25, 0.05))
GREY = Pen(0.18, (), (0.55, 0.55, 0.55))


@dataclass(frozen=True, slots=True)
class Stroke:
    """Lines through points (mm), open or closed, drawn with a pen and perhaps filled."""

    lines: tuple[NDArray[np.float64], ...]
    closed: bool
    pen: Pen | None
    fill: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle, mm."""

    x: float
    y: float
    radius: float
    pen: Pen


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text: (x, y) mm of its anchor on the base line, height of its capitals, "start", "middle" or "end"."""

    x: float
    y: float
    text: str
    height: float
    anchor: str = "start"
    angle: float = 0.0
    bold: bool = False

    @property
    def width(self) -> float:
        """Its width, mm."""
        return text_width(self.text, self.height, self.bold)

    def corners(self, margin: float = 0.0) -> NDArray[np.float64]:
        """Return the corners (4, 2) mm of the box that it fills, `margin` mm wider all round."""
        size = self.height / _CAPITAL
        start = {"start": 0.0, "middle": -0.5, "end": -1.0}[self.anchor] * self.width
        x0, x1 = start - margin, start + self.width + margin
        y0, y1 = -_BELOW * size - margin, _ABOVE * size + margin
        c, s = math.cos(math.radians(self.angle)), math.sin(math.radians(self.angle))
        flat = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
        turned: NDArray[np.float64] = flat @ np.array([[c, s], [-s, c]]) + (self.x, self.y)
        return turned


@dataclass(slots=True)
class Sheet:
    """A sheet being drawn, mm from its lower left corner.

    Attributes:
        width: mm.
        height: mm.
        title: what it is, for readers of the file.
        items: what is on it.
    """

    width: float
    height: float
    title: str = ""
    items: list[Stroke | Ring | Text] = field(default_factory=list)

    def line(self, points: ArrayLike, pen: Pen = THIN) -> None:
        """Draw a line through points (n, 2)."""
        self.items.append(Stroke((np.asarray(points, dtype=float).reshape(-1, 2),), False, pen))

    def lines(self, several: Iterable[ArrayLike], pen: Pen = THIN) -> None:
        """Draw many lines with one pen."""
        found = tuple(np.asarray(points, dtype=float).reshape(-1, 2) for points in several)
        if found:
            self.items.append(Stroke(found, False, pen))

    def area(
        self,
        rings: Sequence[NDArray[np.float64]],
        pen: Pen | None = THICK,
        fill: tuple[float, float, float] | None = None,
    ) -> None:
        """Draw closed lines, filled where asked (a ring within a ring is a hole)."""
        if rings:
            self.items.append(Stroke(tuple(rings), True, pen, fill))

    def box(self, x: float, y: float, width: float, height: float, pen: Pen = THIN) -> None:
        """Draw a rectangle."""
        self.area([np.array([(x, y), (x + width, y), (x + width, y + height), (x, y + height)])], pen)

    def circle(self, x: float, y: float, radius: float, pen: Pen = THICK) -> None:
        """Draw a circle."""
        self.items.append(Ring(x, y, radius, pen))

    def text(
        self,
        x: float,
        y: float,
        text: str,
        height: float = 2.5,
        anchor: str = "start",
        *,
        angle: float = 0.0,
        bold: bool = False,
        most: float = math.inf,
    ) -> Text:
        """Write a line of text, set smaller (to half) or cut short where it would be wider than `most` mm."""
        while text_width(text, height, bold) > most and height > 1.5:
            height -= 0.1
        if text_width(text, height, bold) > most:
            while len(text) > 1 and text_width(text + "…", height, bold) > most:
                text = text[:-1]
            text += "…"
        item = Text(x, y, text, height, anchor, angle, bold)
        if text.strip():
            self.items.append(item)
        return item

    def texts(self) -> list[Text]:
        """Return every text on the sheet."""
        return [item for item in self.items if isinstance(item, Text)]


@cache
def text_width(text: str, height: float, bold: bool = False) -> float:
    """Return the width in mm of a text in Helvetica whose capitals are `height` mm high."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(text, "Helvetica-Bold" if bold else "Helvetica", height / _CAPITAL))


def overlapping(texts: Sequence[Text], margin: float = 0.0) -> list[tuple[Text, Text]]:
    """Return the pairs of texts whose boxes share space."""
    boxes = [text.corners(margin) for text in texts]
    found = []
    for i, a in enumerate(boxes):
        for j in range(i + 1, len(boxes)):
            if boxes_meet(a, boxes[j]):
                found.append((texts[i], texts[j]))
    return found


def boxes_meet(a: NDArray[np.float64], b: NDArray[np.float64]) -> bool:
    """Tell whether two rectangles (4, 2), perhaps turned, share space: no line along a side keeps them apart."""
    for box in (a, b):
        for side in (box[1] - box[0], box[2] - box[1]):
            u, v = a @ side, b @ side
            if u.max() <= v.min() + 1e-9 or v.max() <= u.min() + 1e-9:
                return False
    return True


def svg(sheet: Sheet) -> str:
    """Return the sheet as SVG text at full size."""

    def n(value: float) -> str:
        return f"{round(float(value), 2) + 0.0:g}"

    def ink(pen: Pen | None, fill: tuple[float, float, float] | None = None) -> str:
        text = f'fill="{_hex(fill)}"' if fill else 'fill="none"'
        if pen is not None:
            text += f' stroke="{_hex(pen.colour)}" stroke-width="{pen.width:g}"'
            text += f' stroke-dasharray="{" ".join(f"{d:g}" for d in pen.dash)}"' if pen.dash else ""
        return text

    body = []
    for item in sheet.items:
        if isinstance(item, Text):
            turn = f' transform="rotate({-item.angle:g} {n(item.x)} {n(sheet.height - item.y)})"' if item.angle else ""
            bold = ' font-weight="bold"' if item.bold else ""
            body.append(
                f'<text x="{n(item.x)}" y="{n(sheet.height - item.y)}" font-size="{n(item.height / _CAPITAL)}"'
                f' text-anchor="{item.anchor}"{bold}{turn}>{escape(item.text)}</text>'
            )
        elif isinstance(item, Ring):
            body.append(
                f'<circle cx="{n(item.x)}" cy="{n(sheet.height - item.y)}" r="{n(item.radius)}" {ink(item.pen)}/>'
            )
        else:
            path = "".join(
                "M" + "L".join(f"{n(x)} {n(sheet.height - y)}" for x, y in line.tolist()) + ("Z" if item.closed else "")
                for line in item.lines
            )
            body.append(f'<path d="{path}" {ink(item.pen, item.fill)} fill-rule="evenodd"/>')
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{sheet.width:g}mm" height="{sheet.height:g}mm"'
        f' viewBox="0 0 {sheet.width:g} {sheet.height:g}" stroke-linecap="round" stroke-linejoin="round"'
        f' font-family="Helvetica, Arial, \'Liberation Sans\', sans-serif" role="img">'
        f"<title>{escape(sheet.title)}</title>"
        f'<rect width="{sheet.width:g}" height="{sheet.height:g}" fill="#fff"/>{"".join(body)}</svg>\n'
    )


def write_svg(sheet: Sheet, path: Path) -> Path:
    """Write a sheet as SVG and return the path."""
    path.write_text(svg(sheet), encoding="utf-8", newline="\n")
    return path


def write_pdf(sheets: Sequence[Sheet], path: Path, title: str) -> Path:
    """Write sheets as the pages of a PDF, the same bytes every time, and return the path."""
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    rl_config.useA85 = 0  # plain compressed streams: a quarter smaller, and much sooner written
    canvas = Canvas(str(path), invariant=1, pageCompression=1)
    canvas.setTitle(title)
    canvas.setCreator("baywright")
    for sheet in sheets:
        canvas.setPageSize((sheet.width * MM, sheet.height * MM))
        canvas.scale(MM, MM)
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        for item in sheet.items:
            _draw(canvas, item)
        canvas.showPage()
    canvas.save()
    return path


def _draw(canvas: "Canvas", item: Stroke | Ring | Text) -> None:
    if isinstance(item, Text):
        _write(canvas, item)
        return
    if item.pen is not None:
        canvas.setLineWidth(item.pen.width)
        canvas.setDash(*([list(item.pen.dash)] if item.pen.dash else []))
        canvas.setStrokeColorRGB(*item.pen.colour)
    if isinstance(item, Ring):
        canvas.circle(item.x, item.y, item.radius, stroke=1, fill=0)
        return
    if item.fill is not None:
        canvas.setFillColorRGB(*item.fill)
    # The library's own paths format every number by itself, which takes most of a sheet's time; these are the same
    # operators: m move, l line, h close, S stroke, f* fill, B* both.
    end = " h" if item.closed else ""
    path = " ".join(
        f"{line[0][0]:.3f} {line[0][1]:.3f} m " + " ".join([f"{x:.3f} {y:.3f} l" for x, y in line[1:]]) + end
        for line in (points.tolist() for points in item.lines)
    )
    canvas.addLiteral(f"{path} {'S' if item.fill is None else 'f*' if item.pen is None else 'B*'}")


def _write(canvas: "Canvas", item: Text) -> None:
    canvas.setFillColorRGB(0, 0, 0)
    canvas.setFont("Helvetica-Bold" if item.bold else "Helvetica", item.height / _CAPITAL)
    write: Any = {
        "start": canvas.drawString,
        "middle": canvas.drawCentredString,
        "end": canvas.drawRightString,
    }[item.anchor]
    if not item.angle:
        write(item.x, item.y, item.text)
        return
    canvas.saveState()
    canvas.translate(item.x, item.y)
    canvas.rotate(item.angle)
    write(0, 0, item.text)
    canvas.restoreState()


def _hex(colour: tuple[float, float, float]) -> str:
    return "#" + "".join(f"{round(255 * c):02x}" for c in colour)
