"""Dimensions, centre marks, labels that keep out of each other's way, small tables, axes."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from baywright.release.drawing.paper import CENTRE, THIN, Pen, Sheet, Text, text_width

_ARROW = 2.4  # mm
TEXT = 2.5  # mm: height of the numbers
_BLACK = (0.0, 0.0, 0.0)


def number(value: float) -> str:
    """Return a size as drawings say it: to a hundredth of a mm, without noughts at the end."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def arrow(sheet: Sheet, tip: ArrayLike, toward: ArrayLike) -> None:
    """Draw an arrow's head with its tip at a point, pointing along a direction (2,)."""
    p, d = np.asarray(tip, dtype=float), np.asarray(toward, dtype=float)
    d = d / np.hypot(*d)
    side = np.array([-d[1], d[0]]) * _ARROW * 0.17
    sheet.area([np.array([p, p - d * _ARROW + side, p - d * _ARROW - side])], None, _BLACK)


def across(sheet: Sheet, x0: float, x1: float, y: float, text: str, foot: tuple[float, float]) -> None:
    """Draw a dimension from x0 to x1 on a level line at y; its extension lines start at the heights `foot`."""
    _dimension(sheet, (x0, y), (x1, y), text, [(x0, foot[0]), (x1, foot[1])], upright=False)


def upward(sheet: Sheet, y0: float, y1: float, x: float, text: str, foot: tuple[float, float]) -> None:
    """Draw a dimension from y0 to y1 on an upright line at x; its extension lines start at the places `foot`."""
    _dimension(sheet, (x, y0), (x, y1), text, [(foot[0], y0), (foot[1], y1)], upright=True)


def _dimension(
    sheet: Sheet,
    start: tuple[float, float],
    end: tuple[float, float],
    text: str,
    feet: Sequence[tuple[float, float]],
    upright: bool,
) -> None:
    a, b = np.array(start), np.array(end)
    along = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
    long = float(np.hypot(*(b - a)))
    for foot, place in zip(feet, (a, b), strict=True):
        step = place - np.array(foot)
        size = float(np.hypot(*step))
        if size > 1:
            sheet.line([np.array(foot) + step / size * 0.8, place + step / size * 1.5], THIN)
    wide = text_width(text, TEXT)
    if long > 2.6 * _ARROW:
        sheet.line([a, b], THIN)
        arrow(sheet, a, -along)
        arrow(sheet, b, along)
    else:
        sheet.line([a - along * 2 * _ARROW, b + along * 2 * _ARROW], THIN)
        arrow(sheet, a, along)
        arrow(sheet, b, -along)
    middle = (a + b) / 2 if long > wide + 1 else b + along * (2 * _ARROW + wide / 2 + 0.8)
    normal = np.array([-along[1], along[0]])
    if upright and long <= wide + 1:
        place = (a + b) / 2
        sheet.text(float(place[0]) - 1.0, float(place[1]) - 0.4 * TEXT, text, TEXT, "end")
    elif upright:
        place = middle - np.array([0.8, 0.0])
        sheet.text(float(place[0]), float(place[1]), text, TEXT, "middle", angle=90.0)
    else:
        place = middle + normal * 0.8
        sheet.text(float(place[0]), float(place[1]), text, TEXT, "middle")


def centre_mark(sheet: Sheet, x: float, y: float, reach: float, up: float | None = None) -> None:
    """Draw a cross through a hole's centre, `reach` mm to the sides and `up` mm (as far if None) up and down."""
    tall = reach if up is None else up
    pen = Pen(CENTRE.width, () if max(reach, tall) < 4 else CENTRE.dash)
    sheet.lines([[(x - reach, y), (x + reach, y)], [(x, y - tall), (x, y + tall)]], pen)


def axes_arrows(sheet: Sheet, x: float, y: float, right: str, up: str) -> None:
    """Draw the two axes of a view from (x, y), 9 mm each, with their names; "-x" points the other way."""
    for name, step in ((right, np.array([9.0, 0.0])), (up, np.array([0.0, 9.0]))):
        way = -step if name.startswith("-") else step
        tip = np.array([x, y]) + way
        sheet.line([(x, y), tip], THIN)
        arrow(sheet, tip, way)
        at = tip + way / 9 * 2.2
        sheet.text(float(at[0]), float(at[1]) - 0.8, name.lstrip("-"), 2.2, "middle")


@dataclass(slots=True)
class Crowd:
    """What is on a part of a sheet already: boxes (x0, y0, x1, y1) mm that a label must not touch."""

    boxes: list[tuple[float, float, float, float]] = field(default_factory=list)
    _known: NDArray[np.float64] = field(default_factory=lambda: np.empty((0, 4)))

    def add(self, box: tuple[float, float, float, float]) -> None:
        """Take a box."""
        self.boxes.append(box)

    def take(self, other: "Crowd") -> None:
        """Take everything of another."""
        self.boxes += other.boxes

    def add_text(self, text: Text) -> None:
        """Take a text's box."""
        corners = text.corners()
        (x0, y0), (x1, y1) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
        self.add((x0, y0, x1, y1))

    def free(self, box: tuple[float, float, float, float], margin: float = 0.25) -> bool:
        """Tell whether a box touches nothing."""
        if not self.boxes:
            return True
        # Boxes only ever come on top: those that are an array already stay one.
        if len(self._known) < len(self.boxes):
            self._known = np.concatenate([self._known, np.array(self.boxes[len(self._known) :])])
        x0, y0, x1, y1 = self._known.T
        a, b, c, d = box
        return not bool(((x0 < c + margin) & (x1 > a - margin) & (y0 < d + margin) & (y1 > b - margin)).any())


def crowd_of(lines: Sequence[NDArray[np.float64]]) -> Crowd:
    """Return what lines cover of a sheet, for labels to keep out of."""
    if not lines:
        return Crowd()
    a, b = np.concatenate([line[:-1] for line in lines]), np.concatenate([line[1:] for line in lines])
    count = (np.hypot(*(b - a).T) / 2.0).astype(int) + 1
    which = np.repeat(np.arange(len(a)), count + 1)
    place = np.arange(len(which)) - np.repeat(np.cumsum(count + 1) - (count + 1), count + 1)
    at = a[which] + (b - a)[which] * (place / count[which])[:, None]
    return Crowd([tuple(row) for row in np.column_stack([at - 0.1, at + 0.1]).tolist()])


# Directions in which a label is tried, and how far out.
_TRIED = [(1, 1), (-1, 1), (1, -1), (-1, -1), (0, 1), (0, -1), (1, 0), (-1, 0)]
_OUT = (0.6, 2.0, 4.0, 6.5, 9.5, 13.0, 17.0, 22.0)


def label(
    sheet: Sheet,
    crowd: Crowd,
    at: tuple[float, float],
    radius: float,
    text: str,
    height: float = 1.8,
    limits: tuple[float, float, float, float] | None = None,
) -> bool:
    """Write a label beside a place, where it is free, with a line to it if it stands off; tell whether it found room.

    Args:
        sheet: the sheet.
        crowd: what is there already; the label is added to it.
        at: the place, mm.
        radius: of what is at the place, mm.
        text: the label.
        height: of its letters, mm.
        limits: (x0, y0, x1, y1) mm that it must stay in.
    """
    wide, tall = text_width(text, height), height * 1.35
    for out in _OUT:
        for dx, dy in _TRIED:
            reach = (radius * (0.75 if dx and dy else 1.0)) + out
            x, y = at[0] + dx * reach, at[1] + dy * reach
            x0 = x if dx > 0 else x - wide if dx < 0 else x - wide / 2
            y0 = y if dy > 0 else y - tall if dy < 0 else y - tall / 2
            box = (x0, y0, x0 + wide, y0 + tall)
            if limits is not None and (
                box[0] < limits[0] or box[1] < limits[1] or box[2] > limits[2] or box[3] > limits[3]
            ):
                continue
            if not crowd.free(box):
                continue
            crowd.add(box)
            sheet.text(x0, y0 + 0.28 * height, text, height)
            if out > 1.0:
                end = (min(max(at[0], x0), x0 + wide), min(max(at[1], y0), y0 + tall))
                toward = np.array(end) - np.array(at)
                start = np.array(at) + toward / max(float(np.hypot(*toward)), 1e-9) * radius
                sheet.line([start, end], Pen(0.13))
            return True
    return False


def table(
    sheet: Sheet,
    x: float,
    top: float,
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    widths: Sequence[float],
    *,
    height: float = 1.8,
    pitch: float = 3.4,
) -> float:
    """Draw a table downward from `top` and return where it ends, mm; texts are set smaller where a column is narrow."""
    total = sum(widths)
    y = top
    for number_, row in enumerate([head, *rows]):
        left = x
        for wide, text in zip(widths, row, strict=True):
            sheet.text(left + 0.7, y - pitch + 1.0, text, height, bold=number_ == 0, most=wide - 1.2)
            left += wide
        y -= pitch
    lines: list[NDArray[np.float64]] = [np.array([(x, top), (x + total, top)]), np.array([(x, y), (x + total, y)])]
    lines += [np.array([(x, top - pitch), (x + total, top - pitch)])]
    left = x
    for wide in [*widths, 0.0]:
        lines.append(np.array([(left, top), (left, y)]))
        left += wide
    sheet.lines(lines, Pen(0.13))
    return y
