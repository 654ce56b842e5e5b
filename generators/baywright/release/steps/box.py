"""The steps in which a box is put together, from dry fit to earth check: what is done, joined, driven, written down."""

import math
from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from baywright.box.generate import BoxDesign
from baywright.job.catalogue import Catalogue
from baywright.job.shop import Adhesive
from baywright.piece.assembly import IN_CAR, LID, Assembly, Placed
from baywright.piece.bought import Bought
from baywright.piece.joint import Bond
from baywright.piece.plate import Plate
from baywright.release.bom import SQUEEZE_OUT
from baywright.release.drawing import dims
from baywright.release.drawing.lines import is_lining
from baywright.release.steps.step import Step

# Coupons bonded with each batch and broken before the box is trusted: common practice, no source.
_COUPONS = 3
# Strips 101.6 x 25.4 mm lapped by 12.7 mm: ASTM D1002 (from memory), in round figures; length, width, lap, mm.
_COUPON = (100.0, 25.0, 12.5)
_EARTH_OHMS = 0.1  # usual road criterion for a link between two panels: common practice, no source


def box_steps(design: BoxDesign, catalogue: Catalogue) -> list[Step]:
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
            f"With each batch {_COUPONS} lap coupons: strips of the same sheet {_COUPON[0]:g} × {_COUPON[1]:g} mm,"
            f" lapped by {_COUPON[2]:g} mm, bond line and preparation as the joints have",
            "Bond within the hour, or prepare again",
        ],
        fields=[
            "adhesive's batch",
            "best before",
            "room, °C",
            "humidity, %",
            "prepared at",
            "coupons' numbers",
            "coupons break at, kN",
            "done by",
        ],
        notes=[
            f"{glue.description or glue.name}: cures at {glue.cured_at:g} °C; do not bond below about {low:g} °C. The"
            " maker's own sheet counts before this one. Gloves, goggles, fresh air.",
            f"Each should hold at least {glue.shear_strength * _COUPON[1] * _COUPON[2] / 1000:.1f} kN"
            f" ({glue.shear_strength:g} MPa by the table, at room temperature); below that the batch or the"
            " preparation is bad: stop. Keep the broken coupons with these sheets.",
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
    return Step(title, does, new, there, bonds, lines, fields=fields, notes=notes)


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
        fields=["started", "ended", "coldest, °C", "coupons broke at, kN", "faces", "done by", "checked by"],
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
        found.append(Step(f"Modules, layer {stage}", does, new, set(there), lines=lines, fields=fields, notes=notes))
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
    fields = ["seal tested by", "closed by", "date"]
    places = np.concatenate([line.points[:, :2] for line in lines]) if lines else None
    return [Step("Gasket and lid", does, new, there, lines=lines, round=places, fields=fields)]


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
