"""Step sheets: a page a step, with its picture, check boxes, tables of bonds and screws, and fields to fill in."""

import math
import re
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from baywright.job.catalogue import Catalogue
from baywright.piece.assembly import Assembly
from baywright.piece.joint import Bond
from baywright.piece.numbering import slug
from baywright.release.bom import SQUEEZE_OUT
from baywright.release.drawing import dims
from baywright.release.drawing.lines import Light, seen_apart
from baywright.release.drawing.paper import GREY, THICK, THIN, Pen, Sheet, text_width, write_pdf
from baywright.release.raster import view_axes
from baywright.release.steps.moves import pulled
from baywright.release.steps.step import Step, Table, fasteners_of
from baywright.release.tightening import SOURCE, tighten
from baywright.shape.loop import bounds
from baywright.shape.mass import KG_PER_MM3

PAGE = (210.0, 297.0)  # mm, A4 upright
_LEFT, _RIGHT, _TOP, _FOOT = 18.0, 200.0, 285.0, 14.0
_FAINT, _NEW = Pen(0.13, (), (0.45, 0.45, 0.45)), Pen(0.32, (), (0.45, 0.16, 0.02))
_PICTURE = 92.0  # mm high
_POINTS = 440  # picture points along the longer side: enough for a picture as wide as a hand


def write_steps(pages: Sequence[Sheet], folder: Path, what: str, name: str, job: str, revision: str) -> Path:
    """Write the step sheets of a thing ("box front") as one PDF into `folder` and return its path."""
    title = f"{job}: steps of {what}, revision {revision}"
    return write_pdf(pages, folder / f"{slug(name)}-steps_rev{slug(revision)}.pdf", title)


def step_pages(
    steps: Sequence[Step], subject: Light, catalogue: Catalogue, what: str, job: str, revision: str
) -> list[Sheet]:
    """Return the pages of step sheets, one a step; a long table goes on over another page.

    Args:
        steps: in their order.
        subject: the thing's light meshes.
        catalogue: the shop's tables.
        what: what is put together ("box front").
        job: the job's title.
        revision: the release's letter.
    """
    pages: list[Sheet] = []
    assembly = subject.assembly
    for number, step in enumerate(steps, 1):
        head = (f"{number}", step.title, f"{what}, revision {revision}", job)
        sheet, y = _new_page(head, len(steps))
        if step.there:
            y = _picture(sheet, subject, step, y)
        y = _ticks(sheet, step.does, y)
        if step.round is not None and len(step.round) > 3:
            y = _round(sheet, step.round, y)
        for table in (_bond_rows(step, assembly), _screw_rows(step, assembly, catalogue), *step.tables):
            rows = list(table.rows)
            while rows:
                room = int((y - _FOOT - 30 - _field_height(step)) / 4.0) - 1
                if room < 3:
                    pages.append(sheet)
                    sheet, y = _new_page((f"{number}", f"{step.title} (goes on)", *head[2:]), len(steps))
                    continue
                y = dims.table(sheet, _LEFT, y, table.head, rows[:room], table.widths, height=1.9, pitch=4.0) - 4
                rows = rows[room:]
        notes = list(step.notes)
        if any(line.screw is not None for line in step.lines):
            reasons = _reasons(step, assembly, catalogue)
            notes.append("; ".join(reasons) + ".")
            if any("N·m: " in reason for reason in reasons):
                notes.append(f"{SOURCE}; dry threads. First all to half, then all to full (common practice).")
        for note in notes:
            for part in wrapped(note, 2.1, _RIGHT - _LEFT):
                sheet.text(_LEFT, y - 2.5, part, 2.1)
                y -= 3.8
            y -= 1
        _fields(sheet, step)
        pages.append(sheet)
    return pages


def _new_page(head: tuple[str, ...], steps: int) -> tuple[Sheet, float]:
    number, title, box, job = head
    sheet = Sheet(*PAGE, title=f"{number} {title}")
    sheet.circle(_LEFT + 7, _TOP - 7, 7, THICK)
    sheet.text(_LEFT + 7, _TOP - 9.3, number, 5.0, "middle", bold=True)
    sheet.text(_LEFT + 18, _TOP - 8, title, 5.0, bold=True, most=102)
    sheet.text(_LEFT + 18, _TOP - 13.5, f"step {number} of {steps}", 2.2)
    sheet.text(_RIGHT, _TOP - 6, box, 2.5, "end", bold=True, most=60)
    sheet.text(_RIGHT, _TOP - 11, job, 2.2, "end", most=60)
    sheet.line([(_LEFT, _TOP - 16), (_RIGHT, _TOP - 16)], THIN)
    return sheet, _TOP - 20


def _picture(sheet: Sheet, subject: Light, step: Step, y: float) -> float:
    """Draw what is there with what is new pulled away from its place; return where the page goes on."""
    assembly = subject.assembly
    apart = pulled(assembly, step)
    screws = {mark for marks in fasteners_of(assembly, step.lines).values() for mark in marks}
    axes = view_axes(35, 28)
    faint, strong = seen_apart(subject, axes, step.new | screws, marks=step.there | screws, apart=apart, points=_POINTS)
    every = [*faint, *strong]
    if not every:
        return y
    points = np.concatenate(every)
    low, high = points.min(axis=0), points.max(axis=0)
    scale = float(min((_RIGHT - _LEFT - 24) / (high[0] - low[0]), _PICTURE / (high[1] - low[1])))
    shift = np.array([(_LEFT + _RIGHT) / 2 + 6, y - _PICTURE / 2]) - (low + high) / 2 * scale
    sheet.lines([line * scale + shift for line in faint], _FAINT)
    sheet.lines([line * scale + shift for line in strong], _NEW)
    foot = np.array([_LEFT + 9, y - _PICTURE + 6])
    for name, way in zip(("x", "y", "z"), axes[:2].T, strict=True):
        tip = foot + 8 * way
        sheet.line([foot, tip], THIN)
        dims.arrow(sheet, tip, way)
        at = foot + 10.5 * way
        sheet.text(float(at[0]), float(at[1]) - 0.8, name, 2.2, "middle")
    return y - _PICTURE - 6


def _ticks(sheet: Sheet, does: Sequence[str], y: float) -> float:
    for text in does:
        for place, part in enumerate(wrapped(text, 2.6, _RIGHT - _LEFT - 9)):
            if place == 0:
                sheet.box(_LEFT + 0.5, y - 4.2, 3.6, 3.6, THIN)
            sheet.text(_LEFT + 7, y - 3.6, part, 2.6)
            y -= 5.0
        y -= 0.6
    return y - 3


def wrapped(text: str, height: float, most: float) -> list[str]:
    """Return a text in lines no wider than `most` mm."""
    lines, line = [], ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and text_width(longer, height) > most:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line]


def _round(sheet: Sheet, flat: NDArray[np.float64], y: float) -> float:
    """Draw the screws of a lid in plan with the order in which they are tightened; return where the page goes on."""
    low, high = flat.min(axis=0), flat.max(axis=0)
    size = np.maximum(high - low, 1.0)
    scale = float(min((_RIGHT - _LEFT - 30) / size[0], 42.0 / size[1]))
    shift = np.array([(_LEFT + _RIGHT) / 2, y - 9 - size[1] * scale / 2]) - (low + high) / 2 * scale
    (x0, y0), (x1, y1) = low * scale + shift - 4, high * scale + shift + 4
    sheet.box(float(x0), float(y0), float(x1 - x0), float(y1 - y0), GREY)
    height = min(2.2, 0.3 * float(scale * _least_apart(flat)))
    for number, place in enumerate(crosswise(flat), 1):
        at = flat[place] * scale + shift
        sheet.circle(float(at[0]), float(at[1]), 0.9 * height + 0.4, THIN)
        sheet.text(float(at[0]), float(at[1]) - 0.4 * height, f"{number}", height, "middle")
    sheet.text(_LEFT + 2, y - 3, "tightening order, from above", 1.9)
    return float(y0) - 5


def _least_apart(points: NDArray[np.float64]) -> float:
    gaps = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    return float(gaps[~np.eye(len(points), dtype=bool)].min())


def crosswise(points: NDArray[np.float64]) -> list[int]:
    """Return the order in which screws (n, 2) mm are tightened: from the middle out, side to side.

    Common practice for gaskets, no source.
    """
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    left = sorted(range(len(points)), key=lambda i: (round(float(np.hypot(*(points[i] - middle))), 3), i))
    order: list[int] = []
    while left:
        order.append(left.pop(0))
        if left:
            across = 2 * middle - points[order[-1]]
            other = min(left, key=lambda i: (round(float(np.hypot(*(points[i] - across))), 3), i))
            left.remove(other)
            order.append(other)
    return order


def _bond_rows(step: Step, assembly: Assembly) -> Table:
    """Return the table of a step's bonds: area, volume, bead."""
    rows: list[tuple[str, ...]] = []
    for bond in step.bonds:
        area_mm2 = assembly.bond_mass(bond).mass / (bond.density * KG_PER_MM3) / bond.thickness
        length, across = bead(bond, area_mm2)
        rows.append(
            (
                f"{bond.first} / {bond.second}",
                f"{area_mm2 / 100:.1f}",
                f"{area_mm2 * bond.thickness / 1000:.2f}",
                f"{length:.0f}",
                f"{across:.1f}",
                f"{bond.thickness:g}",
                "",
            )
        )
    head = ("joint", "cm²", "ml", "bead mm", "bead Ø", "bond line", "done")
    return Table(head, tuple(rows), (90.0, 15.0, 15.0, 18.0, 16.0, 16.0, 12.0))


def bead(bond: Bond, area_mm2: float, most_width: float = 30.0) -> tuple[float, float]:
    """Return a bond's bead: its length in mm and how thick it is laid, mm; two or more beads on a wide face.

    Args:
        bond: the bond.
        area_mm2: its area without the holes.
        most_width: of face that one bead fills when squeezed, mm: common practice, no source.
    """
    x0, y0, x1, y1 = bounds(bond.region)
    long, wide = max(x1 - x0, y1 - y0), min(x1 - x0, y1 - y0)
    beads = max(math.ceil(wide / most_width), 1)
    volume = area_mm2 * bond.thickness * (1 + SQUEEZE_OUT)
    return long * beads, math.sqrt(4 * volume / (math.pi * long * beads))


def _screw_rows(step: Step, assembly: Assembly, catalogue: Catalogue) -> Table:
    """Return the table of a step's screws, equal ones of a joint on one line, with their torque."""
    groups: dict[tuple[str, str, str], int] = defaultdict(int)
    for line in step.lines:
        assert line.screw is not None
        tight = tighten(line, assembly, catalogue)
        torque = tight.told or "see below"
        # What to order stands in the bill of materials; here it is enough to tell screws apart.
        name = re.split(" (?:ISO|ASME) ", line.screw.name)[0]
        groups[line.joint, name, torque] += len(line.points)
    rows = tuple((joint, f"{n} × {name}", torque, "", "") for (joint, name, torque), n in groups.items())
    return Table(("screws of", "what", "N·m", "half", "full"), rows, (84.0, 58.0, 16.0, 12.0, 12.0))


def _reasons(step: Step, assembly: Assembly, catalogue: Catalogue) -> list[str]:
    """Return what each torque of a step rests on, a sentence each."""
    found: dict[str, None] = {}
    for line in step.lines:
        tight = tighten(line, assembly, catalogue)
        head = f"{tight.told} N·m: " if tight.told else f"{line.size}: ".removeprefix(": ")
        found[head + tight.why] = None
    return list(found)


def _field_height(step: Step) -> float:
    return 14.0 * math.ceil(len(step.fields) / 4) + 4


def _fields(sheet: Sheet, step: Step) -> None:
    """Draw the fields to fill in, four in a row, at the foot of the page."""
    wide, high = (_RIGHT - _LEFT) / 4, 13.0
    rows = math.ceil(len(step.fields) / 4)
    for place, name in enumerate(step.fields):
        row, column = divmod(place, 4)
        x, y = _LEFT + column * wide, _FOOT + (rows - 1 - row) * high
        sheet.box(x, y, wide, high, GREY)
        sheet.text(x + 1.2, y + high - 3.2, name, 1.9, most=wide - 2.4)
