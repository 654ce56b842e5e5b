"""Crossbars: tubes across both rails, for mounts that stand too far beside them or between them."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from baywright.finding import CannotBuild
from baywright.piece.extrusion import Stock
from baywright.piece.joint import Along
from baywright.rail.bars import Bar
from baywright.rail.build import Build, Lot, end_margin
from baywright.rail.design import Hanger, Joint
from baywright.rail.lay import bar_ply
from baywright.rail.place import Mount
from baywright.rail.reach import reach
from baywright.rail.reasons import Reasons, Step
from baywright.rail.shop import PITCH_HOLE
from baywright.shape.pose import cross

Array = NDArray[np.float64]
X, Y, Z = np.eye(3)

_STEP = 15.0  # mm: places along the rails are tried in these steps
_PAST = 120.0  # mm that a crossbar is tried past a mount; it is cut to length afterwards


def reach_over(
    build: Build,
    rails: dict[int, Bar],
    stocks: Sequence[Stock],
    crossbars: list[Bar],
    mount: Mount,
    forces: Array,
    reasons: Reasons,
) -> tuple[Hanger, list[Joint]] | None:
    """Hang a mount from a crossbar, one that is there or a new one; return its hanger and all new joints, or None.

    Args:
        build: where it goes.
        rails: by sign of y.
        stocks: sections of crossbars, the first that does is taken.
        crossbars: those there are; a new one is added.
        mount: the mount.
        forces: (cases, 3) N on its foot.
        reasons: takes what stood in the way.
    """
    for bar in crossbars:
        kept, before = build.kept(), (list(bar.bolts), bar.low, bar.high)
        found = reach(build, bar, mount, forces, reasons)
        if found is not None:
            if _lengthened(build, bar, reasons):
                return found
            build.back_to(kept)
            bar.bolts, bar.low, bar.high = before
    below = float(mount.at[2]) <= float(rails[1].centre[2])
    for stock in stocks:
        for level in (-1, 1) if below else (1, -1):
            for x in _places(build, stock, mount):
                found = _try(build, rails, stock, crossbars, x, level, mount, forces, reasons)
                if found is not None:
                    return found
        if _fits(build, rails[1], stock):
            break  # another section would not help
    return None


def _lengthened(build: Build, bar: Bar, reasons: Reasons) -> bool:
    """Put a crossbar in at the length that its holes now ask for; tell whether it fits."""
    lot, margin = Lot(), end_margin(build.kit)
    whole = replace(bar, low=math.floor(bar.low - margin), high=math.ceil(bar.high + margin))
    lot.put(bar.mark, whole.piece(bar.role), whole.pose())
    clash = build.clash(lot)
    if clash is not None:
        reasons.say(Step.SPACE, clash.text)
        return False
    build.add(lot)
    return True


def _fits(build: Build, rail: Bar, stock: Stock) -> bool:
    """Tell whether two bolts fit where a crossbar of a section lies on the rail, on either face."""
    for level in (-1, 1):
        try:
            _crossing(build, Lot(), replace(rail, bolts=[]), _bar(rail, stock, 0, 0.0, level), level)
        except CannotBuild:
            continue
        return True
    return False


def _try(
    build: Build,
    rails: dict[int, Bar],
    stock: Stock,
    crossbars: list[Bar],
    x: float,
    level: int,
    mount: Mount,
    forces: Array,
    reasons: Reasons,
) -> tuple[Hanger, list[Joint]] | None:
    """Put in a crossbar at x, on top (+1) or below (-1), and hang the mount from it; undo all where that fails."""
    lot = Lot()
    try:
        bar, joints = _crossbar(build, lot, rails, stock, len(crossbars) + 1, x, level, float(mount.at[1]))
    except CannotBuild as no:
        reasons.say(Step.LEVEL, no.sentence)
        return None
    clash = build.clash(lot)
    if clash is not None:
        reasons.say(Step.LEVEL, f"a crossbar for it does not fit: {clash.text}")
        return None
    kept, before = build.kept(), {sign: (list(r.bolts), r.low, r.high) for sign, r in rails.items()}
    build.add(lot)
    for rail in rails.values():
        rail.take([("w", u, a, h) for u, a, h in _holes_of(joints, rail)])
    found = reach(build, bar, mount, forces, reasons)
    if found is not None and _lengthened(build, bar, reasons):
        crossbars.append(bar)
        return found[0], joints + found[1]
    build.back_to(kept)
    for sign, rail in rails.items():
        rail.bolts, rail.low, rail.high = before[sign]
    return None


def _holes_of(joints: list[Joint], rail: Bar) -> Iterator[tuple[float, float, float]]:
    for joint in joints:
        if joint.first == rail.mark:
            hole = next(p.hole for p in joint.plies if p.mark == rail.mark)
            for point in joint.points:
                u, v, _ = rail.own(point).tolist()
                yield u, v, hole


def _places(build: Build, stock: Stock, mount: Mount) -> list[float]:
    """Return where along the rails a crossbar may stand, so that a foot on its side reaches the mount."""
    half = min(stock.width, stock.height) / 2
    legs = [n for name in build.kit.shop.angle_sections for n in build.kit.catalogue.section(name).size]
    least, most = half + build.kit.access(mount.ask.bolt) + 3.0, half + max(legs) - build.kit.edge(mount.ask.bolt)
    offsets = np.arange(least + 4.0, most + _STEP + max(build.kit.shop.plate_thicknesses), _STEP)
    return [float(mount.at[0] + sign * off) for off in offsets for sign in (-1.0, 1.0)]


def _bar(rail: Bar, stock: Stock, number: int, x: float, level: int) -> Bar:
    """Return a crossbar at x along the rails, on top (+1) or below (-1), without length."""
    bar = Bar(
        mark=f"crossbar {number}",
        role="crossbar",
        stock=stock,
        centre=np.zeros(3),
        u=Y,
        v=cross(Z, Y),
        w=Z,
        outward=1,
        low=0.0,
        high=0.0,
    )
    bar.centre = np.array([x, 0.0, float(rail.centre[2]) + level * (rail.half_w + bar.half_w)])
    return bar


def _crossbar(
    build: Build, lot: Lot, rails: dict[int, Bar], stock: Stock, number: int, x: float, level: int, y: float
) -> tuple[Bar, list[Joint]]:
    """Lay a crossbar across both rails at x, long enough to pass y.

    Raises:
        CannotBuild: if it cannot be bolted to the rails there.
    """
    right = rails[1]
    bar = _bar(right, stock, number, x, level)
    joints = [_crossing(build, lot, rail, bar, level) for rail in (right, rails[-1])]
    outer = float(right.centre[1]) + right.half_v
    bar.low, bar.high = min(-outer, y - _PAST), max(outer, y + _PAST)
    lot.put(bar.mark, bar.piece(bar.role), bar.pose())
    bar.low, bar.high = -outer, outer
    for joint in joints:
        hole = next(p.hole for p in joint.plies if p.mark == bar.mark)
        bar.take([("w", *bar.own(p)[:2].tolist(), hole) for p in joint.points])
    return bar, joints


def _crossing(build: Build, lot: Lot, rail: Bar, bar: Bar, level: int) -> Joint:
    """Bolt a crossbar to one rail by two bolts set askew, and return the joint.

    Raises:
        CannotBuild: if there is no room for them.
    """
    kit, bolt = build.kit, build.kit.shop.bolt
    cap, near = rail.cap(level, kit, bolt), bar.cap(-level, kit, bolt)
    if cap is None:
        raise CannotBuild(
            "section", f"'{rail.stock.name}' has no face that a crossbar can be bolted to: use a tube or a channel"
        )
    step, x = near.high if near is not None else 0.0, float(bar.centre[0])
    if near is None or np.hypot(2 * step, cap.high - cap.low) < PITCH_HOLE * max(cap.hole, near.hole):
        raise CannotBuild("section", f"'{rail.stock.name}' is too narrow for two {bolt} bolts into a crossbar")
    places = [(x - step, cap.low), (x + step, cap.high)]
    for u, v in places:
        if not rail.free_for("w", u, v, cap.hole, PITCH_HOLE):
            raise CannotBuild("section", f"a crossbar's bolts would be too near to others in the {rail.mark}")
    deep, thick = abs(cap.seat - cap.far), 2 * bar.half_w
    way = level * rail.w
    line = build.bolts(
        lot,
        f"{bar.mark} {rail.mark}",
        f"{bar.mark} to rails",
        [rail.point(u, v, cap.far) for u, v in places],
        way,
        [build.wall_layer(rail, cap, bolt), build.wall_layer(bar, near, bolt)],
        deep + thick,
        size=bolt,
        sleeves=[(0.0, deep)] if cap.sleeved else [],
        # A role of its own: two things on one bolt may not bear one name.
        along=[Along(kit.sleeve(bolt, thick, "crossbar crush tube"), deep)],
    )
    if cap.sleeved:
        # The bolts go in at the far side and come out where the crossbar lies.
        build.far_walls(lot, line, rail, cap.turned(), rail.w)
    build.far_walls(lot, line, bar, near, bar.w)
    return Joint(
        name=line.name,
        first=rail.mark,
        second=bar.mark,
        points=np.array([rail.point(u, v, cap.seat) for u, v in places]),
        axis=way,
        size=bolt,
        plies=(bar_ply(build, rail, cap), bar_ply(build, bar, near)),
        lever=min(rail.half_v, bar.half_v),
    )
