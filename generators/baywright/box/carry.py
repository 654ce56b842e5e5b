"""How the layers are carried: ledges with bearers across them, or tie rods with spacers and clamp bars."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np

from baywright.box.build import DRIVER_REACH, Build, X, Y, Z
from baywright.box.hold import hold_down
from baywright.box.kit import LOADED_THREAD_D
from baywright.box.layout import Layout, rod_edge
from baywright.box.leads import lead_spaces
from baywright.box.shell import gauge_line, sides
from baywright.finding import CannotBuild
from baywright.piece.extrusion import Extrusion
from baywright.piece.joint import Layer, ScrewLine
from baywright.piece.scene import bodies_share
from baywright.piece.solid import Block
from baywright.piece.spread import spread
from baywright.shape.pose import shifted

_T = TypeVar("_T")
Intervals = dict[str, list[tuple[float, float]]]


@dataclass(eq=False)
class Taken:
    """What a step has taken of the walls' foot and the floor: intervals to stay out of, and screws that count.

    Keys are walls: "right", "left", "service", "blind"; positions in mm along the wall from its middle.
    """

    wall: Intervals = field(default_factory=dict)
    fixed: dict[str, list[float]] = field(default_factory=dict)
    floor: Intervals = field(default_factory=dict)

    def beside(self, other: "Taken") -> "Taken":
        """Return what this step and another have taken together."""
        return Taken(_both(self.wall, other.wall), _both(self.fixed, other.fixed), _both(self.floor, other.floor))


def _both(one: Mapping[str, list[_T]], other: Mapping[str, list[_T]]) -> dict[str, list[_T]]:
    return {key: [*one.get(key, ()), *other.get(key, ())] for key in (*one, *other)}


def add_modules(build: Build, layout: Layout) -> None:
    """Place the modules, bottom layer first."""
    piece = layout.module.bought()
    for layer, row, column, at in layout.places:
        build.put(module_mark(layer, row, column), piece, shifted(*at.tolist()), stage=layer)


def module_mark(layer: int, row: int, column: int) -> str:
    """Return a module's mark."""
    return f"module {layer}.{row}.{column}"


def add_ledges(build: Build, layout: Layout) -> Taken:
    """Add ledges, bearers and hold-downs, and return what their screws take of the floor angles' joints.

    The first layer's bearers lie on the floor angles; each further layer has a pair of ledges on the long walls.
    Bearers are put in after the layer below, and held from outside by screws through wall and ledge into their ends.
    """
    kit, style, b = layout.kit, layout.kit.style, layout.bond
    walls = {key: side for key, side in sides(layout).items() if key in ("right", "left")}
    bearer, screw, joint = kit.bearer, style.bearer_screw, style.joint_screw
    offsets = (-bearer.width / 4, bearer.width / 4)
    wide = (kit.head(screw.size, screw.head)[0] + kit.head(joint.size, joint.head)[0]) / 2 + 1.0
    tip = kit.diameter(joint.size) / 2 + 1.0
    taken = Taken()
    if bearer.height < 2.0 * kit.diameter(screw.size):
        raise CannotBuild(
            "style",
            f"bearer '{bearer.name}' is {bearer.height:g} mm thick: a {screw.size} screw in its end needs "
            f"{2 * kit.diameter(screw.size):g} mm (2 d); use a thicker bar or a smaller bearer screw",
        )
    for layer in range(1, layout.layers + 1):
        z = layout.support[layer - 1]
        rows = sorted({row for k, row, _, _ in layout.places if k == layer})
        xs = [x for row in rows for x in layout.across_x[row - 1]]
        ends = [x + dx for x in xs for dx in offsets]
        near = [(x - wide, x + wide) for x in ends]
        shelf = kit.floor_angle if layer == 1 else kit.ledge_angle
        for key in walls:
            if layer == 1:
                rest = f"floor angle {key}"
                taken.wall[key], taken.fixed[key] = near, ends
                half = bearer.width / 2 + tip
                taken.floor[key] = [(x - half, x + half) for x in xs]
            else:
                rest = _ledge(build, layout, key, layer, z, near, ends)
        length = layout.inside[1] - 2 * (b + shelf.wall + style.bearer_end_gap)
        for row in rows:
            for number, x in enumerate(layout.across_x[row - 1], 1):
                mark = f"bearer {layer}.{row}.{number}"
                build.bar(mark, "bearer", bearer, (x, 0, z), Y, -X, length, stage=layer)
                for key, side in walls.items():
                    rest = f"floor angle {key}" if layer == 1 else f"ledge {layer} {key}"
                    build.screws(
                        f"{mark} to {side.mark}",
                        f"bearer ends, layer {layer}",
                        [side.at(style.wall.thickness, x + dx, z + bearer.height / 2) for dx in offsets],
                        -side.out,
                        [side.mark, rest],
                        mark,
                        bearer.width,
                        size=screw.size,
                        head=screw.head,
                        grip=style.wall.thickness + b + shelf.wall + style.bearer_end_gap,
                        stage=layer,
                        loaded=True,
                        blind=True,
                    )
    _hold_down(build, layout)
    return taken


def _ledge(
    build: Build,
    layout: Layout,
    key: str,
    layer: int,
    z: float,
    near: list[tuple[float, float]],
    ends: list[float],
) -> str:
    """Add one ledge under a layer's bearers, bonded and screwed to a long wall; return its mark."""
    kit, style, b = layout.kit, layout.kit.style, layout.bond
    stock, joint, side = kit.ledge_angle, style.joint_screw, sides(layout)[key]
    clear = layout.inside[0] / 2 - b - kit.corner_angle.width - style.cut_back
    edge = style.joint_screw.edge_least_d * kit.diameter(style.bearer_screw.size)
    low, high = -clear, min(clear, max(layout.modules_end, max(ends) + edge))
    mark = f"ledge {layer} {key}"
    build.angle(mark, "ledge", stock, side.at(-b, low, z - stock.wall), X, Z, -side.out, high - low)
    build.bond(side.mark, mark)
    places = spread(low, high, build.pitch(), keep_out=near, fixed=ends)
    build.screws(
        f"{mark} to {side.mark}",
        f"{mark} / {side.mark}",
        [side.at(style.wall.thickness, s, z - stock.wall + gauge_line(stock)) for s in places],
        -side.out,
        [side.mark],
        mark,
        stock.wall,
        size=joint.size,
        head=joint.head,
        grip=style.wall.thickness + b,
    )
    return mark


def _hold_down(build: Build, layout: Layout) -> None:
    """Add the screws that hold each module down to its bearers through its own holes."""
    kit, module = layout.kit, layout.module
    size = module.hold_screw
    row, held = kit.size(size), hold_down(kit, module)
    if module.recess and held.head[0] > module.recess:
        raise CannotBuild(
            "module",
            f"the recess of module '{module.module.name}' over its hold-downs is {module.recess:g} mm wide, head and "
            f"washer of {size} take {held.head[0]:.1f} mm: take another head or a smaller washer",
        )
    depth = "through" if held.engaged >= kit.bearer.height else f"{held.engaged:.1f} deep"
    call = f"{size} x {row.pitch:g} tapped {depth}"
    for layer, r, column, at in layout.places:
        mark = module_mark(layer, r, column)
        for number, x in enumerate(layout.across_x[r - 1], 1):
            points = [at + np.array([*hold, module.seat]) for hold in module.holds if abs(at[0] + hold[0] - x) < 1e-6]
            build.lines.append(
                ScrewLine(
                    name=f"hold-down {layer}.{r}.{column}.{number}",
                    joint=f"hold-downs, layer {layer}",
                    screw=held.piece,
                    size=size,
                    length=held.length,
                    points=np.array(points),
                    direction=-Z,
                    layers=(
                        Layer(mark, "bore", kit.clearance(size), recess=module.recess),
                        Layer(f"bearer {layer}.{r}.{number}", "tapped", row.tap_drill, call, depth=held.engaged),
                    ),
                    head=held.head,
                    driver=DRIVER_REACH,
                    stage=layer,
                )
            )


def add_tie_rods(build: Build, layout: Layout) -> Taken:
    """Add the floor bars, spacers, clamp bars and tie rods that carry each stack; the walls carry nothing of it."""
    kit, style, module = layout.kit, layout.kit.style, layout.module
    size = module.hold_screw
    row, bar, spacer = kit.size(size), kit.bearer, kit.stock(style.spacer)
    if spacer.width - 2 * spacer.wall < kit.diameter(size) + 0.2:
        raise CannotBuild("style", f"spacer '{spacer.name}' does not pass over a {size} rod")
    if bar.height < LOADED_THREAD_D * kit.diameter(size):
        raise CannotBuild("style", f"bearer '{bar.name}' is too thin for a {size} rod: 1.5 d of thread")
    edge = rod_edge(kit, module)
    stacks = sorted({(r, c) for _, r, c, _ in layout.places})
    rooms = lead_spaces(layout)
    for r in range(1, layout.ask.rows + 1):
        ys = [at[1] for k, rr, _, at in layout.places if rr == r and k == 1]
        if not ys:
            continue
        for number, x in enumerate(layout.across_x[r - 1], 1):
            _floor_bar(build, layout, f"floor bar {r}.{number}", x, min(ys), max(ys), edge)
    for r, c in stacks:
        tower = [(k, at) for k, rr, cc, at in layout.places if (rr, cc) == (r, c)]
        top = tower[-1][1][2] + module.size[2]
        for number, x in enumerate(layout.across_x[r - 1], 1):
            holds = [h for h in module.holds if abs(tower[0][1][0] + h[0] - x) < 1e-6]
            layers = [Layer(f"clamp bar {r}.{c}.{number}", "clearance", kit.clearance(size), f"clearance for {size}")]
            for k, at in reversed(tower):
                layers.append(Layer(module_mark(k, r, c), "bore", kit.clearance(size)))
                if k == 1:
                    continue
                for i, hold in enumerate(holds, 1):
                    mark = f"spacer {k}.{r}.{c}.{number}.{i}"
                    foot = at + np.array([*hold, -layout.layer_gap])
                    piece = Extrusion(role="spacer", stock=spacer, length=layout.layer_gap)
                    build.put(mark, piece, shifted(*foot.tolist()), stage=k)
                    layers.append(Layer(mark, "bore", spacer.width - 2 * spacer.wall))
            low, high = min(h[1] for h in holds), max(h[1] for h in holds)
            y = tower[0][1][1] + (low + high) / 2
            clamp = kit.stock(style.clamp_bar)
            reach = np.array([clamp.width / 2, (high - low) / 2 + edge, 0.0])
            middle, up = np.array([x, y, top]), Z * clamp.height
            for space in rooms:
                if bodies_share(space.block, Block(middle - reach, middle + reach + up)):
                    raise CannotBuild(
                        "carry",
                        f"the bar that clamps the stack would lie in the room of {space.name}: "
                        'use carry = "ledges", or lay the modules another way',
                    )
            build.bar(
                f"clamp bar {r}.{c}.{number}",
                "clamp bar",
                clamp,
                (x, y, top),
                Y,
                -X,
                high - low + 2 * edge,
                stage=tower[-1][0],
            )
            layers.append(
                Layer(f"floor bar {r}.{number}", "tapped", row.tap_drill, f"{size} x {row.pitch:g} tapped through")
            )
            head = top + clamp.height
            under_nut = head - (layout.support[0])
            rod = kit.tie_rod(size, under_nut, bar.height)
            build.lines.append(
                ScrewLine(
                    name=f"tie rods {r}.{c}.{number}",
                    joint="tie rods",
                    screw=rod,
                    size=size,
                    length=under_nut + bar.height,
                    points=np.array([(x, tower[0][1][1] + h[1], head) for h in holds]),
                    direction=-Z,
                    layers=tuple(layers),
                    head=(row.nut.width * 2 / np.sqrt(3), row.washer.thickness + row.nut.height),
                    driver=DRIVER_REACH,
                    stage=tower[-1][0],
                )
            )
    return Taken()


def _floor_bar(build: Build, layout: Layout, mark: str, x: float, y_low: float, y_high: float, edge: float) -> None:
    """Add one bar across the floor that rods are screwed into, bonded to the floor and screwed from below."""
    kit, style, b, module = layout.kit, layout.kit.style, layout.bond, layout.module
    holds = sorted({round(float(h[1]), 6) for h in module.holds})
    low, high = y_low + holds[0] - edge, y_high + holds[-1] + edge
    bar, joint = kit.bearer, style.joint_screw
    build.bar(mark, "floor bar", bar, (x, (low + high) / 2, layout.wall_bottom), Y, -X, high - low)
    build.bond("floor", mark)
    # Beside the rods' line, left and right of it by turns, so that no rod is in a screw's way.
    off = bar.width / 4
    places = spread(low, high, build.pitch())
    build.screws(
        f"{mark} to floor",
        f"{mark} / floor",
        [(x + (off if n % 2 else -off), y, 0.0) for n, y in enumerate(places)],
        Z,
        ["floor"],
        mark,
        bar.height,
        size=joint.size,
        head=joint.head,
        grip=style.floor.thickness + b,
        loaded=True,
        blind=True,
    )
