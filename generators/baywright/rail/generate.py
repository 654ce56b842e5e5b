"""Rails from what a job asks: mounts located, sections chosen, motors held, mounts reached, lengths settled."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from baywright.finding import CannotBuild
from baywright.job.catalogue import Catalogue
from baywright.job.rails import KeepClear, RailsAsk
from baywright.mechanics.statics import NotHeld, collinearity
from baywright.piece.assembly import Assembly, drilled
from baywright.piece.extrusion import Stock
from baywright.rail.bars import Bar
from baywright.rail.build import Build, Lot, end_margin
from baywright.rail.cradle import hold_motors, motor_piece, put_motors, rail_line, web_side
from baywright.rail.cross import reach_over
from baywright.rail.design import Hanger, RailDesign
from baywright.rail.given import Given, given
from baywright.rail.loads import cases, mount_forces
from baywright.rail.measure import Located, locate
from baywright.rail.oriented import Box, box_of, overlaps, share
from baywright.rail.place import Mount, mounts_of, shaft_pose, side_names
from baywright.rail.reach import reach
from baywright.rail.reasons import Reasons
from baywright.rail.rules import holds
from baywright.rail.shop import Kit
from baywright.shape.mass import MassProperties, combine, point_mass
from baywright.shape.pose import Pose

Array = NDArray[np.float64]
X, Y, Z = np.eye(3)

# Mounts nearer than this to one line cannot be trusted to hold a motor against turning about it, mm (common practice,
# no source).
LEAST_SPREAD = 40.0
# Rails weigh about so much, kg: only to size hangers before the rails' own mass is known.
_RAILS = 15.0
_BEYOND = 200.0  # mm that rails are tried past cradle and mounts; they are cut to length afterwards


def generate(name: str, ask: RailsAsk, catalogue: Catalogue, keep_outs: Sequence[KeepClear] = ()) -> RailDesign:
    """Return the rails that a job asks for.

    Of the shop's sections the first that can be built and holds its loads is taken; if none holds, the last that can be
    built, for the review to say what is too much for it.

    Args:
        name: what the job calls them.
        ask: the request.
        catalogue: the shop's tables.
        keep_outs: further things to stay clear of (a bay's own), vehicle frame.

    Raises:
        CannotBuild: if nothing can be built; the sentence says why and the key what to change.
    """
    kit, known = Kit(ask.shop, catalogue), given(ask, catalogue)
    pose = shaft_pose(ask.shaft)
    located = locate(ask.mounts, ask.references)
    mounts = mounts_of(ask.mounts, located, pose)
    _check_mounts(mounts, kit)
    kit.row(known.bolt, "cradle.bolt")
    things = [*ask.keep_outs, *keep_outs]
    sections = [ask.section] if ask.section is not None else list(ask.shop.rail_sections)
    key = "section" if ask.section is not None else "shop.rail_sections"
    built: RailDesign | None = None
    problem: CannotBuild | None = None
    for section in sections:
        try:
            design = _with_section(name, known, kit, pose, located, mounts, things, kit.stock(section, key))
        except CannotBuild as no:
            problem = problem or no
            continue
        built = design
        if holds(design):
            return design
    if built is not None:
        return built
    assert problem is not None
    raise problem


def _check_mounts(mounts: Sequence[Mount], kit: Kit) -> None:
    for mount in mounts:
        kit.row(mount.ask.bolt, f"mounts.{mount.name}.bolt")
    off = collinearity([m.at for m in mounts])
    if off < LEAST_SPREAD:
        names = ", ".join(m.name for m in mounts)
        raise CannotBuild(
            "mounts",
            f"{names} lie within {off:.0f} mm of one line, so that nothing stops the motor from turning about it: "
            f"add a mount at least {LEAST_SPREAD:g} mm to its side",
        )


def _with_section(
    name: str,
    given: Given,
    kit: Kit,
    pose: Pose,
    located: Located,
    mounts: Sequence[Mount],
    things: Sequence[KeepClear],
    stock: Stock,
) -> RailDesign:
    """Return the rails made from one section."""
    build = Build(name=name, kit=kit, keep_outs=[(t.name, _keep_box(t, pose)) for t in things])
    motors = put_motors(build, given)
    sides = side_names(pose)
    rails = _rails(given, kit, stock, sides)
    for rail in rails.values():
        _check_beside_motor(build, given, rail)
        _place(build, rail, -_BEYOND, _BEYOND, mounts)
    joints = hold_motors(build, given, rails, motors)
    forces = _forces(given, kit, pose, mounts, motors)
    crossbars: list[Bar] = []
    hangers: dict[str, Hanger] = {}
    across = _crossbar_stocks(kit, stock)
    for i in _order(mounts):
        mount, beside, over = mounts[i], Reasons(), Reasons()
        rail = rails[1 if mount.at[1] > 0 else -1]
        found = reach(build, rail, mount, forces[:, i], beside)
        if found is None:
            found = reach_over(build, rails, across, crossbars, mount, forces[:, i], over)
        if found is None:
            raise CannotBuild(
                f"mounts.{mount.name}",
                f"can't be reached with '{stock.name}'. From the {rail.mark}: {beside.text}. "
                f"From a crossbar: {over.text}",
            )
        hangers[mount.name] = found[0]
        joints += found[1]
    bars = {bar.mark: bar for bar in [*rails.values(), *crossbars]}
    _cut_to_length(build, bars)
    assembly = drilled(Assembly(name=name, placed=tuple(build.placed.values()), lines=tuple(build.lines.values())))
    _check_space(build, assembly)
    return RailDesign(
        name=name,
        given=given,
        kit=kit,
        pose=pose,
        assembly=assembly,
        motors=tuple(motors),
        bars=bars,
        joints=tuple(joints),
        hangers=tuple(hangers[m.name] for m in mounts),
        mounts=tuple(mounts),
        located=located,
        sides=sides,
        keep_outs=tuple(things),
    )


def _rails(given: Given, kit: Kit, stock: Stock, sides: tuple[str, str]) -> dict[int, Bar]:
    """Return both rails by sign of y, not yet cut to length."""
    line = rail_line(given, stock, kit)
    web = web_side(given, stock)
    probe = Bar(mark="", role="", stock=stock, centre=np.zeros(3), u=X, v=Y, w=Z, outward=web, low=0, high=1)
    if stock.shape in ("rod", "round tube"):
        raise CannotBuild("section", f"'{stock.name}' is round: rails need flat faces")
    if (
        given.motor.diameter / 2 > line.out - probe.half_v
        and abs(line.height) < probe.half_w + given.motor.diameter / 2
    ):
        beside = math.sqrt(max((given.motor.diameter / 2) ** 2 - max(abs(line.height) - probe.half_w, 0.0) ** 2, 0.0))
        if beside > line.out - probe.half_v:
            raise CannotBuild(
                "cradle",
                f"rails of '{stock.name}' would run through the motor: its lugs or feet must stand further out",
            )
    return {
        sign: Bar(
            mark=f"rail {side}",
            role="rail",
            stock=stock,
            centre=np.array([0.0, sign * line.out, line.height]),
            u=X,
            v=Y,
            w=Z,
            outward=sign * web,
            low=math.inf,
            high=-math.inf,
        )
        for sign, side in ((1, sides[1]), (-1, sides[0]))
    }


def _check_beside_motor(build: Build, given: Given, rail: Bar) -> None:
    """Raise if the length of a rail that every car has, from the cradle's first hole to its last, meets a keep-out."""
    if given.lugs is not None:
        places = [plate.at for plate in given.lugs.plates]
    else:
        assert given.feet is not None
        places = list(given.feet.holes)
    fronts = given.motor.fronts
    short = replace(rail, low=min(fronts) + min(places), high=max(fronts) + max(places), bolts=[])
    for body in short.piece(rail.role).bodies():
        for name, thing in build.keep_outs:
            if share(box_of(body, short.pose()), thing):
                raise CannotBuild(
                    "keep_outs",
                    f"the {rail.mark} would run through '{name}' beside the motor: take another section, move what is "
                    "there, or measure again",
                )


def _place(build: Build, rail: Bar, low: float, high: float, mounts: Sequence[Mount]) -> None:
    """Put a rail in at the length that it is tried with."""
    ends = [float(m.at[0]) for m in mounts] + [rail.low, rail.high]
    known = [e for e in ends if math.isfinite(e)]
    tried = replace(rail, low=min(0.0, *known) + low, high=max(0.0, *known) + high, bolts=[])
    lot = Lot()
    lot.put(rail.mark, tried.piece(rail.role), tried.pose())
    build.add(lot)


def _order(mounts: Sequence[Mount]) -> list[int]:
    """Return the mounts' numbers, those farthest from the shaft's own sides last: they may need a crossbar."""
    return sorted(range(len(mounts)), key=lambda i: (abs(float(mounts[i].at[1])), mounts[i].name))


def _crossbar_stocks(kit: Kit, stock: Stock) -> list[Stock]:
    """Return the sections to try for crossbars: the rails' own if it is a tube, then the shop's other tubes."""
    tubes = [kit.stock(name, "shop.rail_sections") for name in kit.shop.rail_sections]
    return [s for s in [stock, *(t for t in tubes if t.name != stock.name)] if s.shape == "tube"]


def _forces(given: Given, kit: Kit, pose: Pose, mounts: Sequence[Mount], motors: Sequence[tuple[str, float]]) -> Array:
    """Return the mounts' forces (cases, mounts, 3) N on their feet, load factor in, rails taken at a guess."""
    back, piece = pose.inverse(), motor_piece(given, kit)
    parts = [piece.mass_properties().moved(Pose(np.eye(3), x * X)) for _, x in motors]
    parts += [point_mass(c.mass, back(np.array(c.at)).tolist()) for c in given.ask.carried]
    body: MassProperties = combine(parts)
    listed = cases(given, pose, body.mass + _RAILS)
    try:
        found = mount_forces(mounts, kit.shop.rigid_mount_n_per_mm, body, listed)
    except NotHeld as no:
        raise CannotBuild("mounts", f"{no}: add a mount or turn one") from None
    return found * kit.shop.load_factor


def _cut_to_length(build: Build, bars: dict[str, Bar]) -> None:
    """Cut every bar to whole millimetres past its last holes."""
    margin = end_margin(build.kit)
    lot = Lot()
    for bar in bars.values():
        bar.low, bar.high = math.floor(bar.low - margin), math.ceil(bar.high + margin)
        lot.put(bar.mark, bar.piece(bar.role), bar.pose())
        if bar.high - bar.low > bar.stock.stock_length:
            raise CannotBuild(
                "mounts",
                f"the {bar.mark} would be {bar.high - bar.low:.0f} mm long, more than a bar of '{bar.stock.name}'",
            )
    build.add(lot)


def _check_space(build: Build, assembly: Assembly) -> None:
    """Raise if anything overlaps, or stands in a keep-out."""
    for item in assembly.placed:
        for body in item.piece.bodies():
            box = box_of(body, item.pose)
            for name, thing in build.keep_outs:
                if share(box, thing):
                    where = "its motor" if item.mark.startswith("motor") else f"the {item.mark}"
                    raise CannotBuild(
                        "keep_outs",
                        f"{where} would run through '{name}': take another section, move the mounts, or measure again",
                    )
    met = overlaps(assembly)
    if met:
        first, second = sorted((met[0][0].item.mark, met[0][1].item.mark))
        raise CannotBuild("cradle", f"'{first}' and '{second}' would meet: they need more room between them")


def _keep_box(thing: KeepClear, pose: Pose) -> Box:
    """Return a keep-out as measured, as a box in the rail frame."""
    low, high = np.array([c.value for c in thing.low]), np.array([c.value for c in thing.high])
    return Box((low + high) / 2, np.eye(3), (high - low) / 2).moved(pose.inverse())
