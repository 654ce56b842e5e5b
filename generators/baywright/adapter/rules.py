"""What must hold of an adapter: metal, bolts, depth, run-out, torque, and what is not known well enough."""

import math
from collections.abc import Callable, Sequence

import numpy as np

from baywright.adapter.bolting import Bolted
from baywright.adapter.bores import OWN_WEB
from baywright.adapter.design import AdapterDesign
from baywright.adapter.outline import least_metal
from baywright.adapter.rules_bolts import heads, others_threads, plate_threads
from baywright.adapter.rules_shaft import check_shaft_line, finding
from baywright.finding import Finding, at_least
from baywright.piece.plate import Plate
from baywright.shape.loop import Loop, as_circle
from baywright.shape.pattern import spacing
from baywright.shape.reach import distance_to

# Friction of dry, degreased faces of aluminium and cast iron, and the share of its proof load that a bolt is tightened
# to (common practice, no source); torque is to be held so many times over.
FRICTION, TIGHTENED, TORQUE_FACTOR = 0.15, 0.75, 1.5
_PRACTICE = "common practice, no source"


def check_adapter(design: AdapterDesign) -> list[Finding]:
    """Return every finding about an adapter by itself."""
    checks: tuple[Callable[[AdapterDesign], list[Finding]], ...] = (
        _layout,
        _metal,
        _edges,
        plate_threads,
        others_threads,
        heads,
        check_shaft_line,
        _torque,
        _clocking,
        _cradle,
        _mass,
    )
    return [one for check in checks for one in check(design)]


def _layout(design: AdapterDesign) -> list[Finding]:
    stock = design.given.catalogue.sheet(design.given.ask.stock).thicknesses
    layers = " + ".join(f"{t:g}" for t in design.depth.layers)
    if len(design.plates) == 1:
        found = [finding(design, "plates", "pass", f"one plate of {layers} mm serves both faces")]
    else:
        found = [finding(design, "plates", "pass", f"plate, ring and plate, {layers} mm; one plate: {design.why}")]
    for at in design.plates:
        if not any(abs(at.thickness - t) < 1e-6 for t in stock):
            thicker = min((t for t in stock if t > at.thickness), default=None)
            how = f"face it from {thicker:g} mm" if thicker else "order a thicker plate and face it"
            found.append(
                finding(
                    design,
                    "stock thickness",
                    "look",
                    f"{at.mark} of {at.thickness:g} mm is no stock thickness: {how}",
                    value=at.thickness,
                    unit="mm",
                    source=f"stock {design.given.ask.stock}",
                    where=(at.mark,),
                )
            )
    return found


def _metal(design: AdapterDesign) -> list[Finding]:
    """Return the least metal of each plate between openings, and from openings to the outline.

    Holes of one face stand as its maker drew them: between those, 2 mm are enough.
    """
    limit, found = design.given.ask.least_web, []
    own = min(own_web(design.motor_holes), own_web(design.gearbox_holes))
    for at in design.plates:
        plate = design.piece(at.mark)
        value, (x, y) = least_metal(plate.outline, outermost(plate))
        place = design.assembly.by_mark[at.mark].pose(np.array([x, y, plate.thickness]))
        need = limit if value < own - 0.1 or own >= limit else OWN_WEB
        good = value >= need - 1e-2
        found.append(
            finding(
                design,
                "least metal",
                "pass" if good else "fail",
                f"{at.mark}: least metal between two openings or an opening and the edge {value:.1f} mm"
                + ("" if need == limit else ", between holes of one face as it is drawn")
                + ("" if good else ": move a pocket, widen the outline or ask for another clocking"),
                value=value,
                limit=need,
                unit="mm",
                margin=at_least(value, need),
                source="least_web, as asked" if need == limit else "cut shops' guides: 2 mm",
                where=(at.mark,),
                at=(float(place[0]), float(place[1]), float(place[2])),
            )
        )
    return found


def own_web(holes: Sequence[Bolted]) -> float:
    """Return the least metal between two holes of one face in its plate, mm."""
    if len(holes) < 2:
        return math.inf
    gap = spacing(np.array([(one.hole.x, one.hole.y) for one in holes]))
    reach = np.array([one.reach for one in holes])
    return float((gap - reach[:, None] - reach[None]).min())


def outermost(plate: Plate) -> list[Loop]:
    """Return a plate's openings as its metal sees them.

    Of openings with one middle the widest counts: a counterbore for its bolt's hole. Openings about the shaft were
    checked against the bolt circles one by one; of them only the widest that has no bolts in its floor counts.
    """
    rings = [(as_circle(hole.loop), hole.loop) for hole in plate.holes]
    bolts = [c for c, _ in rings if c is not None and math.hypot(c[0], c[1]) > 1e-6]
    kept: list[tuple[tuple[float, float, float], Loop]] = []
    others: list[Loop] = []
    for c, loop in rings:
        if c is None:
            others.append(loop)
            continue
        about = math.hypot(c[0], c[1]) <= 1e-6
        if about and any(math.hypot(x, y) < c[2] / 2 for x, y, _ in bolts):
            continue
        same = next((k for k, (o, _) in enumerate(kept) if math.hypot(o[0] - c[0], o[1] - c[1]) <= 1e-6), None)
        if same is None:
            kept.append((c, loop))
        elif c[2] > kept[same][0][2]:
            kept[same] = (c, loop)
    if kept and len(bolts) < len(rings):
        # A spigot's recess beside the bolts of its own flange has that flange's own web.
        kept = [(c, loop) for c, loop in kept if math.hypot(c[0], c[1]) > 1e-6 or not _beside(c, bolts)]
    return [loop for _, loop in kept] + others


def _beside(ring: tuple[float, float, float], bolts: list[tuple[float, float, float]]) -> bool:
    """Tell whether an opening about the shaft leaves its nearest hole only what its flange has drawn."""
    near = min((math.hypot(x, y) - d / 2 - ring[2] / 2 for x, y, d in bolts), default=math.inf)
    return near >= OWN_WEB - 1e-2


def _edges(design: AdapterDesign) -> list[Finding]:
    """Return the least edge distance of any bolt or dowel, in its diameters."""
    worst: tuple[float, float, str, str] | None = None
    for holes, at in ((design.motor_holes, design.plates[0]), (design.gearbox_holes, design.plates[-1])):
        plate = design.piece(at.mark)
        sign = 1.0 if at.seen_from == "motor" else -1.0
        for one in holes:
            d = one.thread.diameter if one.thread is not None else one.hole.diameter
            far = float(distance_to(plate.outline, np.array([[sign * one.hole.x, one.hole.y]]))[0])
            if worst is None or far / d < worst[0]:
                worst = far / d, far, f"hole {one.hole.name} of the {one.face}", at.mark
    if worst is None:
        return []
    limit = design.given.ask.edge
    good = worst[0] >= limit - 1e-6
    return [
        finding(
            design,
            "edge distance",
            "pass" if good else "fail",
            f"{worst[2]}: {worst[1]:.1f} mm = {worst[0]:.2f} d from the edge of the {worst[3]}",
            value=worst[0],
            limit=limit,
            unit="d",
            margin=at_least(worst[0], limit),
            source="edge, as asked; 2 d: handbooks on riveted aluminium",
            where=(worst[3],),
        )
    ]


def _torque(design: AdapterDesign) -> list[Finding]:
    """Return whether each face's bolts hold the motor's torque by friction alone."""
    found = []
    asked = design.given.motor.torque
    for holes, side in ((design.motor_holes, "motor"), (design.gearbox_holes, "gearbox")):
        held = 0.0
        for one in holes:
            if one.thread is not None:
                proof = one.thread.row.proof_load[design.given.bolt_class(one.thread)]
                held += FRICTION * TIGHTENED * proof * one.hole.radius / 1000
        limit = TORQUE_FACTOR * asked
        good = held >= limit
        found.append(
            finding(
                design,
                f"torque at the {side}",
                "pass" if good else "look",
                f"the {side}'s bolts hold {held:.0f} N·m by friction, the motor gives {asked:.0f} N·m"
                + ("" if good else ": dowels or a stronger class must take the rest"),
                value=held,
                limit=limit,
                unit="N·m",
                margin=at_least(held, limit),
                source=f"friction {FRICTION:g}, {TIGHTENED:g} of proof load, {TORQUE_FACTOR:g} times: {_PRACTICE}",
            )
        )
    return found


def _clocking(design: AdapterDesign) -> list[Finding]:
    tried, ask = design.clockings, design.given.ask
    ranked = tried.ranked(ask.least_web)
    k = int(np.argmin(np.abs((tried.angles - design.clocking + 180) % 360 - 180)))
    web = float(tried.web[k])
    same = [a for a in design.given.motor_face.symmetry() if a]
    legal = {round(float(tried.angles[i]), 3) for i in ranked}
    others = [a for a in ((design.clocking + s) % 360 for s in same) if round(a, 3) in legal]
    text = f"motor turned {design.clocking:g} deg clockwise, seen from the motor"
    if math.isfinite(web):
        text += f"; {web:.1f} mm between the two patterns"
    if len(tried.angles) > 1:
        text += f"; {len(ranked)} of {len(tried.angles)} clockings can be built"
    if others:
        text += f"; the same plate also takes it at {', '.join(f'{a:g}' for a in others)} deg"
    return [
        finding(
            design,
            "clocking",
            "pass",
            text,
            value=web if math.isfinite(web) else None,
            limit=ask.least_web if math.isfinite(web) else None,
            unit="mm" if math.isfinite(web) else "",
            margin=at_least(web, ask.least_web) if math.isfinite(web) else None,
            source="least_web, as asked",
        )
    ]


def _cradle(design: AdapterDesign) -> list[Finding]:
    cradle = design.given.motor.cradle
    if not design.given.ask.lugs:
        return []
    if cradle is None:
        text = f"motor '{design.given.motor.name}' has no cradle: the plate carries no lugs for the car"
        return [finding(design, "cradle", "look", text)]
    text = (
        f"{len(cradle.holes)} {cradle.bolt} holes carry the motor in the car, the same for every adapter of this motor"
    )
    return [finding(design, "cradle", "pass", text, where=(design.plates[0].mark,))]


def _mass(design: AdapterDesign) -> list[Finding]:
    metal = design.metal
    x, y, z = metal.centroid.tolist()
    return [
        finding(
            design,
            "mass",
            "pass",
            f"plates and fasteners {metal.mass:.2f} kg, centroid {0.0 - x:+.1f} mm right (seen from the motor), "
            f"{y:+.1f} mm up, {z:.1f} mm from the motor's face",
            value=metal.mass,
            unit="kg",
            source="profiles, exact; bolts as cylinders",
        )
    ]
