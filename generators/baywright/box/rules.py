"""What must hold of a box beside what holds of every assembly: modules, cables, lid, lifting, earth, size."""

from collections import defaultdict, deque
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from baywright.box.carry import module_mark
from baywright.box.generate import BoxDesign
from baywright.finding import Finding, at_least, at_most
from baywright.piece.assembly import LID
from baywright.piece.check import (
    driver_findings,
    edge_findings,
    overlap_findings,
    pitch_findings,
    web_findings,
)
from baywright.piece.plate import Plate
from baywright.piece.scene import Scene, bodies_share, scene, shanks
from baywright.piece.solid import Block

_NEAR = 1e-6


def check_box(design: BoxDesign) -> list[Finding]:
    """Return every finding about a box by itself: overlaps, screws, modules, cables, lid, lifting, earth, size."""
    view = scene(design.assembly)
    rule = design.layout.kit.style.joint_screw
    found = overlap_findings(design.assembly, view)
    found += driver_findings(design.assembly, view)
    found += edge_findings(design.assembly)
    found += pitch_findings(design.assembly, rule.pitch_most, rule.first_most)
    found += web_findings(design.assembly)
    found = [replace(f, subject=f"box {design.name}") for f in found]
    checks: tuple[Callable[[BoxDesign, Scene], list[Finding]], ...] = (
        _tips,
        _module_gaps,
        _way_in,
        _lid_off,
        _rooms,
        _service_depth,
        _lifting,
        _earth,
        _inserts,
        _outside,
    )
    for check in checks:
        found += check(design, view)
    return found


def _finding(design: BoxDesign, check: str, ok: bool, message: str, **more: object) -> Finding:
    verdict = more.pop("verdict", "pass" if ok else "fail")
    return Finding(subject=f"box {design.name}", check=check, verdict=verdict, message=message, **more)  # type: ignore[arg-type]


def _modules(design: BoxDesign) -> list[tuple[str, int, Block]]:
    """Return each module's mark, layer and block."""
    found = []
    for layer, row, column, _ in design.layout.places:
        mark = module_mark(layer, row, column)
        found.append((mark, layer, design.assembly.by_mark[mark].blocks()[0]))
    return found


def _tips(design: BoxDesign, view: Scene) -> list[Finding]:
    """Screw tips stay clear of every module by the style's distance."""
    limit = design.layout.kit.style.tip_clearance
    modules = _modules(design)
    # A tip that ends in a blind hole has metal before it.
    tips = [i for i in shanks(view) if (line := view.bodies[i].line) is not None and line.layers[-1].depth is None]
    if not tips or not modules:
        return []
    low, high = view.low[tips][:, None], view.high[tips][:, None]
    blocks_low, blocks_high = (np.array([getattr(b, side) for _, _, b in modules]) for side in ("low", "high"))
    apart = np.linalg.norm(np.maximum(np.maximum(blocks_low - high, low - blocks_high), 0.0), axis=2)
    for column, (mark, _, _) in enumerate(modules):
        held = [row for row, i in enumerate(tips) if any(x.mark == mark for x in view.bodies[i].line.layers)]  # type: ignore[union-attr]
        apart[held, column] = np.inf
    row, column = divmod(int(np.argmin(apart)), apart.shape[1])
    distance, module = float(apart[row, column]), modules[column][0]
    screw, at = view.bodies[tips[row]].item.mark, view.bodies[tips[row]].item.pose.shift
    ok = distance >= limit - _NEAR
    return [
        _finding(
            design,
            "tip clearance",
            ok,
            f"nearest screw to a module: '{screw}' is {distance:.1f} mm from '{module}'"
            + ("" if ok else "; use shorter screws or more side clearance"),
            value=distance,
            limit=limit,
            unit="mm",
            margin=at_least(distance, limit),
            source="the shop's box style: tip_clearance",
            where=(screw, module),
            at=tuple(at.tolist()),
        )
    ]


def _module_gaps(design: BoxDesign, view: Scene) -> list[Finding]:
    """Every module keeps the gap its data sheet asks, to its neighbours, to walls and their liner, and to the lid."""
    layout = design.layout
    style = layout.kit.style
    asked = np.abs(layout.module.pose.turn) @ np.array(layout.module.module.gap, dtype=float)
    modules = _modules(design)
    half = np.array(layout.inside) / 2 - style.liner.thickness
    wall = "liner" if style.liner.thickness else "wall"
    found = []
    for axis, (name, key) in enumerate(
        (("length", "end_clearance"), ("width", "side_clearance"), ("height", "layer_clearance"))
    ):
        least, who = np.inf, ("", "")
        others = [i for i in range(3) if i != axis]
        for i, (mark, _, a) in enumerate(modules):
            for other, _, b in modules[i + 1 :]:
                side = (a.low[others] < b.high[others] - _NEAR) & (b.low[others] < a.high[others] - _NEAR)
                apart = float(max(b.low[axis] - a.high[axis], a.low[axis] - b.high[axis]))
                if side.all() and apart < least:
                    least, who = apart, (mark, other)
            if axis < 2:
                ends = [(float(half[axis] - a.high[axis]), wall), (float(a.low[axis] + half[axis]), wall)]
            else:
                ends = [(layout.lid_under - float(a.high[2]), "lid")]
            for apart, what in ends:
                if apart < least:
                    least, who = apart, (mark, what)
        ok = least >= asked[axis] - _NEAR
        found.append(
            _finding(
                design,
                f"module gap, {name}",
                ok,
                f"least gap along the box's {name}: {least:.1f} mm, '{who[0]}' to '{who[1]}'"
                + ("" if ok else f"; {asked[axis]:g} mm asked: raise {key} in the style"),
                value=float(least),
                limit=float(asked[axis]),
                unit="mm",
                margin=at_least(float(least), float(asked[axis])),
                source=f"module '{layout.module.module.name}': {layout.module.module.source}",
                where=who,
            )
        )
    del view
    return found


def _way_in(design: BoxDesign, view: Scene) -> list[Finding]:
    """Modules go in from above, layer after layer, past everything that the shell has by then."""
    blocked: list[tuple[str, str]] = []
    top = float(view.high[:, 2].max()) + 1.0
    for mark, layer, block in _modules(design):
        way = Block(block.low, np.array([block.high[0], block.high[1], top]))
        for index in view.near(way):
            other = view.bodies[index]
            if other.item.mark != mark and other.stage < layer and bodies_share(way, other.body):
                blocked.append((mark, other.item.mark))
    ok = not blocked
    message = (
        "every module goes straight in from above"
        if ok
        else f"'{blocked[0][0]}' can't pass '{blocked[0][1]}' on its way in: raise the style's side_clearance or "
        "end_clearance, or turn its flange out"
    )
    return [_finding(design, "modules' way in", ok, message, where=blocked[0] if blocked else ())]


def _lid_off(design: BoxDesign, view: Scene) -> list[Finding]:
    """The lid comes straight off without moving anything else."""
    lid = design.assembly.by_mark["lid"].blocks()[0]
    way = Block(lid.low, lid.high + np.array([0, 0, 1e4]))
    over = [
        view.bodies[i].item.mark
        for i in view.near(way)
        if view.bodies[i].stage < LID and bodies_share(way, view.bodies[i].body)
    ]
    message = f"'{over[0]}' stands over the lid: move it off" if over else "the lid comes straight off"
    return [_finding(design, "lid off", not over, message, where=tuple(over[:1]))]


def _rooms(design: BoxDesign, view: Scene) -> list[Finding]:
    """Cables, hoses and fittings keep their room: nothing solid stands in it."""
    taken: dict[tuple[str, str], np.ndarray] = {}
    for space in design.spaces:
        for index in view.near(space.block):
            other = view.bodies[index]
            if other.item.mark == space.of or not bodies_share(space.block, other.body):
                continue
            if _lets_through(other.item.piece, space.of, design):
                continue
            taken.setdefault((space.name, other.item.mark), (space.block.low + space.block.high) / 2)
    if not taken:
        return [
            _finding(
                design, "room for cables", True, f"all {len(design.spaces)} rooms for cables and fittings are free"
            )
        ]
    return [
        _finding(
            design,
            "room for cables",
            False,
            f"'{other}' stands in the room of {name}: give the fitting a place (at), or more service_depth",
            where=(other,),
            at=tuple(at.tolist()),
        )
        for (name, other), at in taken.items()
    ]


def _lets_through(piece: object, fitting: str, design: BoxDesign) -> bool:
    """Tell whether a piece is a liner that the fitting passes: its room begins at the wall, behind the liner."""
    return isinstance(piece, Plate) and piece.role == "liner wall" and fitting in {f.mark for f in design.fitted}


def _service_depth(design: BoxDesign, view: Scene) -> list[Finding]:
    """The service space is as deep as cable bends and fittings' inner parts need together."""
    layout = design.layout
    ok = layout.service >= layout.lead_need - _NEAR
    del view
    return [
        _finding(
            design,
            "service space",
            ok,
            f"service space {layout.service:.0f} mm deep; cable bends and fittings need {layout.lead_need:.0f} mm"
            + ("" if ok else ": raise service_depth or leave it out"),
            verdict="pass" if ok else "look",
            value=layout.service,
            limit=layout.lead_need,
            unit="mm",
            margin=at_least(layout.service, layout.lead_need),
            source=f"cable bend {layout.kit.style.bend_factor:g} times the outside diameter: the shop's box style",
        )
    ]


def _lifting(design: BoxDesign, view: Scene) -> list[Finding]:
    """Lift points stand above the centroid and on both sides of it."""
    eyes = [line.points[0] for line in design.assembly.lines if line.joint == "lifting"]
    centroid = design.mass_properties.centroid
    del view
    if not eyes:
        return [_finding(design, "lift points", True, "none: lift by straps under the box", verdict="look")]
    points = np.array(eyes)
    low, high = points.min(axis=0), points.max(axis=0)
    above = float(low[2] - centroid[2])
    ok = above > 0 and bool((low[:2] < centroid[:2]).all() and (centroid[:2] < high[:2]).all())
    return [
        _finding(
            design,
            "lift points",
            ok,
            f"{len(eyes)} lift points, {above:.0f} mm above the centroid, "
            f"{abs(float(points[:, 0].mean() - centroid[0])):.0f} mm off it lengthwise"
            + ("" if ok else ": they must stand above it and on both sides of it"),
            value=above,
            limit=0.0,
            unit="mm",
            margin=at_least(above, 0.0),
            source="lift from above the centroid, which lies between the points (statics)",
        )
    ]


def _earth(design: BoxDesign, view: Scene) -> list[Finding]:
    """Every panel is linked to every other by straps, and the box to the car by an earth stud."""
    panels = {p.mark for p in design.assembly.placed if p.mark in ("floor", "lid") or p.mark.startswith("wall ")}
    links: dict[str, set[str]] = defaultdict(set)
    for strap in design.straps:
        a, b = strap.panels
        links[a].add(b)
        links[b].add(a)
    start = "wall service"
    reached, queue = {start}, deque([start])
    while queue:
        for other in links[queue.popleft()] - reached:
            reached.add(other)
            queue.append(other)
    loose = sorted(panels - reached)
    stud = any(f.row.kind == "earth stud" for f in design.fitted)
    del view
    return [
        _finding(
            design,
            "earth straps",
            not loose,
            f"{len(design.straps)} straps link all {len(panels)} panels"
            if not loose
            else f"not linked to earth: {', '.join(loose)}",
            source="adhesive insulates each panel (common practice, no source)",
            where=tuple(loose),
        ),
        _finding(
            design,
            "earth stud",
            stud,
            "an earth stud joins the box to the car" if stud else 'no earth stud: add a fitting of kind "earth stud"',
            verdict="pass" if stud else "look",
        ),
    ]


def _inserts(design: BoxDesign, view: Scene) -> list[Finding]:
    """The lid's inserts take the thickness of the flange they are set in."""
    kit = design.layout.kit
    row = kit.catalogue.insert(kit.style.lid_screw.insert)
    leg = kit.flange_angle.wall
    thick = leg > (row.grip.least + row.grip.most) / 2
    limit, margin = (row.grip.most, at_most) if thick else (row.grip.least, at_least)
    ok = row.grip.least - _NEAR <= leg <= row.grip.most + _NEAR
    del view
    return [
        _finding(
            design,
            "insert grip",
            ok,
            f"insert '{row.name}' takes {row.grip.least:g} to {row.grip.most:g} mm; the flange is {leg:g} mm"
            + ("" if ok else ": choose another lid_screw.insert or flange_angle in the style"),
            value=leg,
            limit=limit,
            unit="mm",
            margin=margin(leg, limit),
            source=row.source,
        )
    ]


def _outside(design: BoxDesign, view: Scene) -> list[Finding]:
    """How far the finished outside may vary, from the sheet cut, the bond lines and the saw: worst case and likely."""
    layout = design.layout
    t = layout.kit.style.tolerances
    width = [t.sheet_cut, t.bond_line, t.bond_line]  # end wall, and its bond to each long wall
    height = [t.bond_line, t.sheet_cut]
    worst, likely = sum(width), float(np.hypot.reduce(width))
    tall = sum(height)
    high = layout.lid_under + layout.kit.style.lid.thickness
    del view
    return [
        _finding(
            design,
            "outside",
            True,
            f"panels make {layout.outside[0]:.0f} x {layout.outside[1]:.0f} x {high:.1f} mm; width ±{worst:.1f} worst "
            f"case, ±{likely:.2f} root sum square; length ±{t.sheet_cut:.1f}, wall height ±{tall:.1f}",
            source="the shop's box style: tolerances",
        )
    ]
