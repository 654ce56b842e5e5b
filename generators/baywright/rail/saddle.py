"""Saddles: flat plates under a bar, or on it, that reach beside it to a mount; on spacers where the mount is lower."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from baywright.piece.bought import Bought
from baywright.piece.joint import Along, Layer
from baywright.piece.plate import Plate
from baywright.piece.solid import Round
from baywright.rail.bars import Bar, Seat
from baywright.rail.build import Build, Lot
from baywright.rail.design import Hanger, Joint, Saddle
from baywright.rail.hold import Demand, saddle_stress
from baywright.rail.lay import ROUND, bar_ply, free_ply, mount_bolt
from baywright.rail.place import Mount
from baywright.rail.reasons import Reasons, Step
from baywright.rail.shop import PITCH_HOLE
from baywright.shape.hull import hull_of_discs
from baywright.shape.mass import KG_PER_MM3
from baywright.shape.pose import Pose, cross

Array = NDArray[np.float64]

# Spacers are turned from round bar of this diameter, mm; longer ones than this are no stiff base (common practice, no
# source).
SPACER, LONGEST = 40.0, 60.0
_FLUSH = 0.05  # mm: a gap below it is none
_SPANNER = 12.0  # mm between a nut and the bar over it, for an open spanner
_SIZED = 0.8
_TRIES = 8  # plans that are tried for space
_SHIFTS = [s * d for d in range(0, 81, 20) for s in ((1,) if d == 0 else (1, -1))]
_LEAN = 1.0  # degrees: a saddle leaning more is only taken where no foot does, which can turn with its mount


@dataclass(frozen=True, eq=False, kw_only=True)
class _Plan:
    """A saddle, its bolts' places along the bar, the face it lies on, and how far its mount leans."""

    saddle: Saddle
    columns: tuple[float, float]
    across: float
    cap: Seat
    sign: int
    lean: float


def lies_flat(bar: Bar, mount: Mount) -> bool:
    """Tell whether a mount's bolt is square enough to a bar for a saddle to be the first choice."""
    return _lean(bar, mount) <= _LEAN


def _lean(bar: Bar, mount: Mount) -> float:
    return math.degrees(math.acos(min(abs(float(mount.faces @ bar.w)), 1.0)))


def saddle(build: Build, bar: Bar, mount: Mount, forces: Array, reasons: Reasons) -> tuple[Hanger, list[Joint]] | None:
    """Add the thinnest saddle that holds, from a bar to a mount; return it and its joint, or None with the reasons.

    Args:
        build: where it goes.
        bar: the rail or crossbar.
        mount: the mount.
        forces: (cases, 3) N that the mount puts on it, load factor in.
        reasons: takes what stood in the way.
    """
    for plan in islice(_plans(build, bar, mount, forces, reasons), _TRIES):
        for heads_out in (True, False):
            lot = Lot()
            hanger, joint = _lay(build, lot, bar, mount, plan, heads_out)
            clash = build.clash(lot)
            if clash is None:
                build.add(lot)
                bar.take([("w", u, plan.across, plan.cap.hole) for u in plan.columns])
                return hanger, [joint]
            reasons.say(Step.SPACE, clash.text)
    return None


def _plans(build: Build, bar: Bar, mount: Mount, forces: Array, reasons: Reasons) -> Iterator[_Plan]:
    kit, size, bolt = build.kit, mount.ask.bolt, build.kit.shop.bolt
    lean = _lean(bar, mount)
    if lean > kit.shop.lean_most:
        return
    # A mount that looks up is under the bar; one that looks down is over it.
    sign = -1 if float(mount.faces @ bar.w) > 0 else 1
    cap = bar.cap(sign, kit, bolt)
    if cap is None:
        return
    u0, v0, w0 = bar.own(mount.at).tolist()
    middle = (cap.low + cap.high) / 2
    arm, out = abs(v0 - middle), bar.v * (1.0 if v0 >= middle else -1.0)
    slot = kit.hole(size) + (2 * kit.shop.slot if mount.slotted else 0.0)
    edge = kit.edge(bolt) + ROUND
    least_apart = math.ceil(max(PITCH_HOLE * cap.hole, 3.0 * kit.diameter(bolt), 2 * kit.edge(bolt)))
    for thick in kit.shop.plate_thicknesses:
        gap = sign * w0 - bar.half_w - thick
        if gap < -_FLUSH:
            reasons.say(Step.LEVEL, f"it stands too high for a {thick:g} mm saddle under the {bar.mark}", -gap)
            continue
        if gap > LONGEST:
            reasons.say(Step.LEVEL, f"it stands too low for a saddle under the {bar.mark}", gap - LONGEST)
            continue
        gap = gap if gap > _FLUSH else 0.0
        beside = abs(v0) >= bar.half_v + kit.access(size)
        hole_behind = mount.ask.fixing == "hole" and mount.ask.behind == "open"
        if not beside and (not (mount.ask.fixing == "stud" or hole_behind) or gap < kit.nut_stack(size) + _SPANNER):
            reasons.say(
                Step.LEVEL, f"the {bar.mark} lies over it: no room for its nut", bar.half_v + kit.access(size) - abs(v0)
            )
            continue
        # Where the mount lies between the saddle's own bolts, its nut stands clear of their spacers or washers.
        near = (SPACER / 2 if gap else kit.washer(bolt)) + kit.access(size) + 1.0
        off = math.sqrt(max(near**2 - arm**2, 0.0))
        apart = max(least_apart, math.ceil(2 * off), math.ceil(SPACER + 2.0) if gap else 0)
        for shift in _SHIFTS:
            if off and abs(shift) > apart / 2 - off and abs(shift) < apart / 2 + off:
                continue
            columns = (u0 + shift - apart / 2, u0 + shift + apart / 2)
            support = min(SPACER / 2, bar.half_v) if gap else bar.half_v
            found = Saddle(
                mark=f"saddle {mount.name}",
                wall=thick,
                material=kit.shop.plate_material,
                width=_width(apart, edge, kit.edge(size) + ROUND + (slot - kit.hole(size)) / 2, arm, support, shift),
                free=max(math.hypot(arm, max(abs(shift) - apart / 2, 0.0)) - support, 0.0),
                arm=arm,
                offset=-float(shift),
                apart=float(apart),
                support=support,
                gap=gap,
                root=bar.point(u0 + shift, middle, sign * (bar.half_w + gap)),
                along=bar.u,
                out=out,
                up=-sign * bar.w,
                hole=kit.hole(size),
            )
            metal = kit.metal(found.material, "shop.plate_material", thick)
            stress = saddle_stress(found, Demand.of(forces, found.up, found.along, found.out))
            use = float(stress.max()) / metal.f_yield
            if use > _SIZED:
                share = f"{use * 100:.0f} % of what it takes, sized for {_SIZED * 100:.0f} %"
                reasons.say(Step.FOOT, f"a saddle {thick:g} mm thick would not hold its load ({share})", use)
                continue
            if not all(bar.free_for("w", u, middle, cap.hole, PITCH_HOLE) for u in columns):
                reasons.say(Step.HOLES, f"its bolts would be too near to others in the {bar.mark}")
                continue
            yield _Plan(saddle=found, columns=columns, across=middle, cap=cap, sign=sign, lean=lean)


def _width(apart: float, edge: float, mount_edge: float, arm: float, support: float, shift: float) -> float:
    """Return the saddle's width where it leaves its support: it narrows evenly from its bolts to the mount's end.

    Beyond both bolts only the end of the saddle's own round counts.
    """
    if abs(shift) > apart / 2:
        return 2 * edge
    if arm <= support:
        return apart + 2 * edge
    share = support / arm
    lean = math.cos(math.atan2(abs(shift), arm))
    return ((apart + 2 * edge) * (1 - share) + 2 * mount_edge * share) * lean


def _lay(build: Build, lot: Lot, bar: Bar, mount: Mount, plan: _Plan, heads_out: bool) -> tuple[Hanger, Joint]:
    """Place a saddle, its spacers and bolts in `lot`, the heads on the saddle or on the bar's far side."""
    kit, size, bolt = build.kit, mount.ask.bolt, build.kit.shop.bolt
    saddle_, cap, t = plan.saddle, plan.cap, plan.saddle.wall
    own = Layer(saddle_.mark, "clearance", kit.hole(bolt), f"clearance for {bolt}")
    way = plan.sign * bar.w
    # Seen from the bar: z of the plate looks at it.
    turn = np.column_stack([bar.u, cross(-way, bar.u), -way])
    middle = sum(plan.columns) / 2
    where = Pose(turn, bar.point(middle, plan.across, plan.sign * (bar.half_w + saddle_.gap)) + way * t)
    back = where.inverse()
    on_bar = np.array([bar.point(u, plan.across, plan.sign * bar.half_w) for u in plan.columns])
    reach = kit.shop.slot if mount.slotted else 0.0
    ends = np.array([mount.at + bar.u * s for s in ((reach, -reach) if reach else (0.0,))])
    discs = back(np.vstack([on_bar, ends]))[:, :2]
    radii = [kit.edge(bolt) + ROUND] * len(on_bar) + [kit.edge(size) + ROUND] * len(ends)
    plate = Plate(
        role="saddle",
        outline=hull_of_discs(discs, np.array(radii)),
        thickness=t,
        material=saddle_.material,
        density=kit.metal(saddle_.material, "shop.plate_material", t).density,
        seen_from="the rail",
    )
    lot.put(saddle_.mark, plate, where)
    deep, gap = abs(cap.seat - cap.far), saddle_.gap
    layers = [build.wall_layer(bar, cap, bolt), own]
    name, joint = f"{saddle_.mark} bolts", f"hanger {mount.name}"
    if heads_out:
        points, direction = np.array([bar.point(u, plan.across, cap.far) for u in plan.columns]), way
        sleeves, offset = [(0.0, deep)] if cap.sleeved else [], deep
    else:
        points, direction = on_bar + way * (gap + t), -way
        sleeves, offset = [(t + gap, deep)] if cap.sleeved else [], t
        layers.reverse()
    spacers = [Along(_spacer(build, gap), offset)] if gap else []
    line = build.bolts(
        lot, name, joint, points, direction, layers, deep + gap + t, size=bolt, sleeves=sleeves, along=spacers
    )
    if cap.sleeved:
        build.far_walls(lot, line, bar, cap.turned() if heads_out else cap, bar.w)
    beside = abs(float(bar.own(mount.at)[1])) >= bar.half_v + kit.access(size)
    mount_bolt(build, lot, mount, saddle_, from_behind=not beside)
    hanger = Hanger(
        mount=mount,
        bar=bar.mark,
        foot=saddle_,
        plate_root=saddle_.root,
        lean=plan.lean,
    )
    return hanger, Joint(
        name=name,
        first=saddle_.mark,
        second=bar.mark,
        points=on_bar,
        axis=way,
        size=bolt,
        plies=(free_ply(build, saddle_.mark, t, saddle_.material), bar_ply(build, bar, cap)),
        lever=saddle_.support,
    )


def _spacer(build: Build, length: float) -> Bought:
    """Return a spacer: round bar drilled for the bolt and faced to length, from z = 0 down."""
    kit, bolt = build.kit, build.kit.shop.bolt
    volume = math.pi / 4 * (SPACER**2 - kit.hole(bolt) ** 2) * length
    return Bought(
        role="spacer",
        name=f"steel round bar {SPACER:g}, drilled {kit.hole(bolt):g}, faced to {length:.1f}",
        mass=volume * kit.catalogue.material("steel").density * KG_PER_MM3,
        bodies_=(Round(np.array([0.0, 0.0, -length]), np.array([0.0, 0.0, 1.0]), length, SPACER),),
        source="computed",
        group="spacers",
    )
