"""Step sheets: a page a step from dry fit to earth check, with picture, check boxes, bonds, screws, fields to fill."""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from baywright.box.generate import BoxDesign
from baywright.job.catalogue import Catalogue
from baywright.job.shop import Adhesive
from baywright.piece.assembly import IN_CAR, LID, Assembly, Placed
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion
from baywright.piece.joint import Bond, ScrewLine
from baywright.piece.numbering import slug
from baywright.piece.plate import Plate
from baywright.release.bom import SQUEEZE_OUT
from baywright.release.drawing import dims
from baywright.release.drawing.lines import Light, is_lining, seen_apart
from baywright.release.drawing.paper import GREY, THICK, THIN, Pen, Sheet, text_width, write_pdf
from baywright.release.raster import view_axes
from baywright.release.tightening import SOURCE, tighten
from baywright.shape.loop import bounds
from baywright.shape.mass import KG_PER_MM3

PAGE = (210.0, 297.0)  # mm, A4 upright
_LEFT, _RIGHT, _TOP, _FOOT = 18.0, 200.0, 285.0, 14.0
_FAINT, _NEW = Pen(0.13, (), (0.45, 0.45, 0.45)), Pen(0.32, (), (0.45, 0.16, 0.02))
_PICTURE = 92.0  # mm high
_POINTS = 440  # picture points along the longer side: enough for a picture as wide as a hand
# Coupons bonded with each batch and broken before the box is trusted: common practice, no source.
_COUPONS = 3
_EARTH_OHMS = 0.1  # usual road criterion for a link between two panels: common practice, no source


@dataclass(slots=True)
class Step:
    """One step.

    Attributes:
        title: what is done.
        does: what to tick off.
        new: marks of the pieces that it adds: drawn strong and pulled away from their places.
        there: marks of the pieces that are there when it is done.
        bonds: what is glued.
        lines: what is screwed.
        fields: names of fields to fill in by hand.
        notes: sentences below.
    """

    title: str
    does: list[str]
    new: set[str] = field(default_factory=set)
    there: set[str] = field(default_factory=set)
    bonds: list[Bond] = field(default_factory=list)
    lines: list[ScrewLine] = field(default_factory=list)
    fields: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def steps_of(design: BoxDesign, catalogue: Catalogue) -> list[Step]:
    """Return a box's steps in the order in which it is put together.

    Pieces that are glued to one panel only go on it on the bench; what joins panels follows when the box is closed.
    """
    assembly, style = design.assembly, design.layout.kit.style
    glue = catalogue.adhesive(style.adhesive)
    shell = [p for p in assembly.placed if p.stage == 0 and not isinstance(p.piece, Bought) and not is_lining(p)]
    everything = {p.mark for p in shell}
    steps = [_dry_fit(design, everything), _drill(assembly), _prepare(glue)]
    benches = _benches(assembly, shell)
    done: set[str] = set()
    for number, (panel, marks) in enumerate(benches):
        new = {panel, *marks}
        bonds = [b for b in assembly.bonds if b.first in new and b.second in new]
        if bonds:
            steps.append(_bonding(f"On the bench: {panel}", new, set(new), bonds, assembly, glue, number == 0))
        done |= new
    closing = [
        b for b in assembly.bonds if not any(b.first in g and b.second in g for g in ({p, *m} for p, m in benches))
    ]
    if closing:
        pieces = (
            everything - {m for _, marks in benches for m in marks if m in done} - {benches[0][0]}
            if benches
            else everything
        )
        steps.append(_bonding("Closing the box", pieces, everything, closing, assembly, glue, False))
    steps.append(_cure(glue))
    steps += _inserts(assembly)
    steps += _lining(assembly, everything)
    steps += _straps(design, everything)
    steps += _fittings(design, assembly, everything)
    steps += _modules(design, everything)
    steps += _lid(assembly)
    steps.append(_last(design))
    return [step for step in steps if step.does or step.lines]


def _dry_fit(design: BoxDesign, everything: set[str]) -> Step:
    length, width = design.layout.outside
    return Step(
        "Dry fit, without adhesive",
        [
            "Lay out every piece and check it against its number, its size and its seen side",
            "Put shims of the bond line's thickness in the joints and screw the box together loosely",
            f"Measure both diagonals of the floor: {math.hypot(length, width):.1f} mm, equal within 1 mm",
            "Lower a dummy of a module in and out, layer by layer",
            "Offer the empty box up in the car, in and out, with bonnet and boot shut",
            "Number every joint with a pencil on faces that are not bonded, then take it apart",
        ],
        set(),
        everything,
        fields=["diagonals, mm", "room at the worst place, mm", "done by", "date"],
        notes=["Nothing is bonded before this page is signed: after that the box only comes apart with a saw."],
    )


def _drill(assembly: Assembly) -> Step:
    tapped: dict[str, int] = defaultdict(int)
    for line in assembly.lines:
        for layer in line.layers:
            item = assembly.by_mark[layer.mark]
            if layer.use == "tapped" and not isinstance(item.piece, Bought):
                tapped[layer.callout or line.size] += len(line.points)
    return Step(
        "Drill, tap, deburr",
        [
            "Drill the sawn pieces by their templates, printed at full size; check the template's scale line first",
            *(f"Tap {count} holes: {callout}" for callout, count in sorted(tapped.items())),
            "Deburr every edge and hole on both sides; break sharp edges by 0.3 mm",
            "Blow out and wipe every piece: no swarf may reach the box",
            "Put every screw in once, by hand",
        ],
        fields=["done by", "date"],
    )


def _prepare(glue: Adhesive) -> Step:
    low = glue.cured_at - 5
    return Step(
        "Prepare faces and coupons",
        [
            "Degrease every bonded face; change the cloth often",
            "Abrade it evenly until no shine is left; keep aluminium's paper apart from steel's",
            "Wipe with fresh solvent until a white cloth stays white",
            "Water-break test: water lies as an unbroken film; if it beads, begin again",
            "Mask the edges where squeezed-out adhesive would be in the way",
            f"Prepare {_COUPONS} lap coupons of the same sheet with each batch of adhesive",
            "Bond within the hour, or prepare again",
        ],
        fields=[
            "adhesive's batch",
            "best before",
            "room, °C",
            "humidity, %",
            "prepared at",
            "coupons' numbers",
            "coupons break at, MPa",
            "done by",
        ],
        notes=[
            f"{glue.description or glue.name}: cures at {glue.cured_at:g} °C; do not bond below about {low:g} °C. The"
            " maker's own sheet counts before this one. Gloves, goggles, fresh air.",
            f"A coupon of known overlap should hold at least {glue.shear_strength:g} MPa at room temperature in shear"
            " (the table's figure); below that the batch or the preparation is bad: stop.",
        ],
    )


def _benches(assembly: Assembly, shell: Sequence[Placed]) -> list[tuple[str, list[str]]]:
    """Return each panel with the pieces that go on it before the box is closed: floor first, then the walls."""
    panels = [
        p.mark for p in shell if isinstance(p.piece, Plate) and ("wall" in p.piece.role or p.piece.role == "floor")
    ]
    panels.sort(key=lambda mark: (assembly.by_mark[mark].piece.role != "floor", mark))
    partners: dict[str, set[str]] = defaultdict(set)
    for bond in assembly.bonds:
        partners[bond.first].add(bond.second)
        partners[bond.second].add(bond.first)
    taken: set[str] = set()
    found = []
    for panel in panels:
        floor = assembly.by_mark[panel].piece.role == "floor"
        own = [
            p.mark
            for p in shell
            if p.mark in partners[panel]
            and p.mark not in panels
            and p.mark not in taken
            and (floor or partners[p.mark] & set(panels) == {panel})
        ]
        taken |= set(own)
        found.append((panel, own))
    return found


def _bonding(
    title: str, new: set[str], there: set[str], bonds: list[Bond], assembly: Assembly, glue: Adhesive, first: bool
) -> Step:
    lines = [
        line
        for line in assembly.lines
        if line.screw is not None
        and line.stage == 0
        and all(layer.mark in there for layer in line.layers)
        and any({bond.first, bond.second} <= {layer.mark for layer in line.layers} for bond in bonds)
    ]
    screws = sum(len(line.points) for line in lines)
    does = [
        "Lay the beads as the table says, unbroken, along the middle of the face",
        "Join the pieces straight; do not slide or lift them again",
        "Drive all screws snug, from the middle of a joint to its ends, then to torque in the same order",
        "Adhesive shows along the whole joint; wipe it to a fillet, none left on tapped holes or seal faces",
        "Check that it is square before the open time ends",
    ]
    notes = [
        f"{len(bonds)} {'joint' if len(bonds) == 1 else 'joints'} and {screws} screws before the open time of"
        f" {glue.open_time_min:g} min ends (at {glue.cured_at:g} °C; warmer is shorter). If that is too much for one"
        " person, be two.",
        f"Bead: volume with {100 * SQUEEZE_OUT:g} % for squeeze-out. Do not move it before {glue.handling_time_h:g} h.",
    ]
    if first:
        does.insert(0, f"Set out {_COUPONS} coupons and bond them first with the same batch")
    fields = ["batch", "°C", "mixed at", "closed at", "screws done at", "diagonals, mm", "done by", "checked by"]
    return Step(title, does, new, there, bonds, lines, fields, notes)


def _cure(glue: Adhesive) -> Step:
    return Step(
        "Cure",
        [
            f"Leave it still for {glue.handling_time_h:g} h before handling",
            f"Full strength after {glue.cure_time_h:g} h at {glue.cured_at:g} °C; log the coldest it got",
            "Break the coupons, look at the faces: adhesive on both sides is good, bare metal is not",
            "Tap along every joint with a coin: a dull place is empty; look along every joint for the fillet",
            "Check every torque mark",
        ],
        fields=["started", "ended", "coldest, °C", "coupons broke at, MPa", "faces", "done by", "checked by"],
        notes=["If the coupons fail, the box fails: do not fit modules."],
    )


def _inserts(assembly: Assembly) -> list[Step]:
    found: dict[str, tuple[int, float, set[str]]] = {}
    for line in assembly.lines:
        for extra in line.along:
            if extra.piece.role != "insert":
                continue
            layer = next((x for x in line.layers if x.use == "insert"), None)
            count, hole, marks = found.get(extra.piece.name, (0, 0.0, set()))
            into = {layer.mark} if layer else set()
            found[extra.piece.name] = (count + len(line.points), layer.diameter if layer else hole, marks | into)
    if not found:
        return []
    does = [
        f"Set {count} × {name} in the {dims.number(hole)} mm holes of {', '.join(sorted(marks))}"
        for name, (count, hole, marks) in sorted(found.items())
    ]
    does += ["Set one in an offcut first and try its screw", "Seal under each flange; none may turn or stand proud"]
    marks = {m for _, _, found_marks in found.values() for m in found_marks}
    return [Step("Inserts", does, marks, marks, fields=["set by", "checked by"])]


def _lining(assembly: Assembly, everything: set[str]) -> list[Step]:
    lining = [p for p in assembly.placed if p.piece.role.startswith("liner")]
    if not lining:
        return []
    new = {p.mark for p in lining}
    does = [
        "Vacuum the box, then wipe it: no swarf under the liner",
        f"Fit {len(lining)} pieces of liner, rounded edges, no gap where a module could touch metal",
        "Check that no screw tip is bare where a module or a cable can reach it",
    ]
    return [Step("Liner", does, new, new | everything, fields=["done by", "date"])]


def _straps(design: BoxDesign, everything: set[str]) -> list[Step]:
    if not design.straps:
        return []
    does = [f"{strap.mark}: {strap.panels[0]} to {strap.panels[1]}" for strap in design.straps]
    does += [
        "Bare metal under every lug, then grease it",
        f"Measure each link and every panel to the earth stud: below {_EARTH_OHMS:g} Ω",
    ]
    fields = [f"{strap.mark}, Ω" for strap in design.straps] + ["meter's number", "measured by"]
    new = {strap.mark for strap in design.straps}
    notes = ["Adhesive insulates every panel from the next."]
    return [Step("Earth straps and earth check", does, new, new | everything, fields=fields, notes=notes)]


def _fittings(design: BoxDesign, assembly: Assembly, everything: set[str]) -> list[Step]:
    fitted = [p for p in assembly.placed if p.piece.role == "fitting"]
    if not fitted:
        return []
    count: dict[str, int] = defaultdict(int)
    for item in fitted:
        assert isinstance(item.piece, Bought)
        count[item.piece.name] += 1
    does = [f"{number} × {name}" for name, number in sorted(count.items())]
    does += ["Each on its own seal, clean faces, by its maker's torque", "Vent and breather point away from people"]
    return [Step("Fittings on the service end", does, {p.mark for p in fitted}, {p.mark for p in fitted} | everything)]


def _modules(design: BoxDesign, everything: set[str]) -> list[Step]:
    assembly = design.assembly
    stages = sorted({p.stage for p in assembly.placed if 0 < p.stage < LID})
    there = set(everything)
    found = []
    for stage in stages:
        new = {p.mark for p in assembly.placed if p.stage == stage}
        there = there | new
        lines = [line for line in assembly.lines if line.stage == stage and line.screw is not None]
        does = [
            "LIVE from here on: one hand, insulated tools, no rings, two people, covers on all terminals",
            "Lower it straight in with rated lifting gear; watch cables and ports",
            "Hold-downs in, then to torque; mark each",
            "Sense leads and hoses away from edges; terminals covered again",
        ]
        fields = ["modules' numbers", "volts each", "torque wrench's number", "done by", "checked by"]
        notes = ["Where the module's own sheet says less torque, that counts."]
        found.append(Step(f"Modules, layer {stage}", does, new, set(there), [], lines, fields, notes))
    return found


def _lid(assembly: Assembly) -> list[Step]:
    new = {p.mark for p in assembly.placed if p.stage == LID}
    if not new:
        return []
    lines = [line for line in assembly.lines if line.stage == LID and line.screw is not None]
    there = {p.mark for p in assembly.placed if p.stage <= LID and not is_lining(p)} | new
    does = [
        "No tool, rag or swarf left inside: two people look",
        "Coolant tested for leaks, earth links measured, covers on",
        "Gasket whole and clean, joints of a strip off the corners",
        "Lid screws in by hand, then crosswise in two rounds",
    ]
    return [Step("Gasket and lid", does, new, there, [], lines, ["seal tested by", "closed by", "date"])]


def _last(design: BoxDesign) -> Step:
    mass = design.mass_properties
    feet = [line for line in design.assembly.lines if line.stage == IN_CAR and line.layers]
    count = sum(len(line.points) for line in feet if line.size)
    return Step(
        "Weigh, lift, fit in the car",
        [
            f"Weigh it: {mass.mass:.1f} kg reckoned; more than 3 % off means something is missing or wrong",
            f"Lift at all lugs, slings upright; the centroid is {mass.centroid[2]:.0f} mm above the floor's underside",
            f"{count} bolts through the feet; round holes first, then the slots",
            f"Box to body below {_EARTH_OHMS:g} Ω; insulation measured by a trained person before connecting",
            "Warning labels on, cautions handed over, car weighed again",
        ],
        {foot.mark for foot in design.feet},
        {p.mark for p in design.assembly.placed if p.stage <= LID},
        fields=["weighed, kg", "box to body, Ω", "insulation, MΩ", "fitted by", "checked by", "date"],
    )


# --- pages ----------------------------------------------------------------------------------------------------------


def write_steps(design: BoxDesign, subject: Light, catalogue: Catalogue, folder: Path, job: str, revision: str) -> Path:
    """Write a box's step sheets as one PDF into `folder` and return its path.

    Args:
        design: the box.
        subject: its light meshes.
        catalogue: the shop's tables.
        folder: the box's folder in the release.
        job: the job's title.
        revision: the release's letter.
    """
    pages = step_pages(design, subject, catalogue, job, revision)
    title = f"{job}: steps of box {design.name}, revision {revision}"
    return write_pdf(pages, folder / f"{slug(design.name)}-steps_rev{slug(revision)}.pdf", title)


def step_pages(design: BoxDesign, subject: Light, catalogue: Catalogue, job: str, revision: str) -> list[Sheet]:
    """Return the pages of a box's step sheets, one a step; a long table goes on over another page."""
    steps = steps_of(design, catalogue)
    pages: list[Sheet] = []
    for number, step in enumerate(steps, 1):
        head = (f"{number}", step.title, f"box {design.name}, revision {revision}", job)
        sheet, y = _new_page(head, len(steps))
        if step.there:
            y = _picture(sheet, subject, step, y)
        y = _ticks(sheet, step.does, y)
        for rows, table_head, widths in (_bond_rows(step, design), _screw_rows(step, design.assembly, catalogue)):
            while rows:
                room = int((y - _FOOT - 30 - _field_height(step)) / 4.0) - 1
                if room < 3:
                    pages.append(sheet)
                    sheet, y = _new_page((f"{number}", f"{step.title} (goes on)", *head[2:]), len(steps))
                    continue
                y = dims.table(sheet, _LEFT, y, table_head, rows[:room], widths, height=1.9, pitch=4.0) - 4
                rows = rows[room:]
        notes = list(step.notes)
        if any(line.screw is not None for line in step.lines):
            notes.append("; ".join(_reasons(step, design.assembly, catalogue)) + ".")
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
    screws = {
        item.mark
        for line in step.lines
        for item in assembly.fasteners()
        if item.mark.startswith(f"{line.name} ") and item.mark[len(line.name) + 1 :].split(" ")[0].isdigit()
    }
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


def pulled(assembly: Assembly, step: Step) -> dict[str, NDArray[np.float64]]:
    """Return how far (3,) mm new pieces and their screws are drawn from their places: off the faces they go on."""
    whole = assembly.bounds(fasteners=False)
    reach = float(np.linalg.norm(whole.high - whole.low)) * 0.11
    # What goes in from above is drawn over the open box, as far as it stood below its rim.
    lows = [b.low[2] for p in assembly.placed if p.mark in step.new for b in p.blocks()]
    there = [b.high[2] for p in assembly.placed if p.mark in step.there - step.new for b in p.blocks()]
    lift = max(max(there, default=0.0) - min(lows, default=0.0), 0.0) + 0.4 * reach
    moves: dict[str, NDArray[np.float64]] = {}
    for mark in step.new:
        item = assembly.by_mark.get(mark)
        if item is None:
            continue
        if item.piece.role == "fitting":
            moves[mark] = np.array([reach, 0.0, 0.0])
            continue
        if item.piece.role == "earth strap":
            continue
        if item.stage > 0 or is_lining(item):
            moves[mark] = np.array([0.0, 0.0, lift])
            continue
        # A panel stays where it is, so that what goes on it can be seen coming; panels that close move outward.
        if isinstance(item.piece, Plate) and not any(item.mark == b.second for b in step.bonds):
            continue
        way = np.zeros(3)
        for bond in step.bonds:
            if mark == bond.second:
                way += bond.pose.turn[:, 2]
            elif mark == bond.first and isinstance(item.piece, Extrusion):
                way -= bond.pose.turn[:, 2]
        size = float(np.linalg.norm(way))
        if size > 1e-9:
            moves[mark] = way / size * reach
    moves |= _carried_along(assembly, step, moves)
    fasteners = {item.mark: item for item in assembly.fasteners()}
    for line in step.lines:
        head = line.layers[0].mark if line.layers else ""
        base = moves.get(head, np.zeros(3))
        for mark in fasteners:
            if mark.startswith(f"{line.name} ") and mark[len(line.name) + 1 :].split(" ")[0].isdigit():
                moves[mark] = base - line.direction * reach * 0.55
    return moves


def _carried_along(
    assembly: Assembly, step: Step, moves: dict[str, NDArray[np.float64]]
) -> dict[str, NDArray[np.float64]]:
    """Return the moves of pieces that were glued to one panel before and go with it."""
    partners: dict[str, set[str]] = defaultdict(set)
    for bond in assembly.bonds:
        if bond not in step.bonds:
            partners[bond.first].add(bond.second)
            partners[bond.second].add(bond.first)
    found = {}
    for mark in step.there - set(moves):
        held = partners[mark]
        if len(held) == 1 and (panel := next(iter(held))) in moves and isinstance(assembly.by_mark[panel].piece, Plate):
            found[mark] = moves[panel]
    return found


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


_Rows = tuple[list[tuple[str, ...]], tuple[str, ...], tuple[float, ...]]


def _bond_rows(step: Step, design: BoxDesign) -> _Rows:
    """Return the table of a step's bonds: area, volume, bead."""
    rows: list[tuple[str, ...]] = []
    for bond in step.bonds:
        area_mm2 = design.assembly.bond_mass(bond).mass / (bond.density * KG_PER_MM3) / bond.thickness
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
    return rows, head, (90.0, 15.0, 15.0, 18.0, 16.0, 16.0, 12.0)


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


def _screw_rows(step: Step, assembly: Assembly, catalogue: Catalogue) -> _Rows:
    """Return the table of a step's screws, equal ones of a joint on one line, with their torque."""
    groups: dict[tuple[str, str, str], int] = defaultdict(int)
    for line in step.lines:
        assert line.screw is not None
        tight = tighten(line, assembly, catalogue)
        torque = "see below" if tight.torque is None else f"{tight.torque:.1f}"
        # What to order stands in the bill of materials; here it is enough to tell screws apart.
        name = line.screw.name.split(" ISO ")[0]
        groups[line.joint, name, torque] += len(line.points)
    rows: list[tuple[str, ...]] = [
        (joint, f"{n} × {name}", torque, "", "") for (joint, name, torque), n in groups.items()
    ]
    return rows, ("screws of", "what", "N·m", "half", "full"), (84.0, 58.0, 16.0, 12.0, 12.0)


def _reasons(step: Step, assembly: Assembly, catalogue: Catalogue) -> list[str]:
    """Return what each torque of a step rests on, a sentence each."""
    found: dict[str, None] = {}
    for line in step.lines:
        tight = tighten(line, assembly, catalogue)
        found[f"{line.size}: {tight.why}" if tight.torque is None else f"{tight.torque:.1f} N·m: {tight.why}"] = None
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
