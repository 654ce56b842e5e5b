"""The panels: floor, walls and lid as plates, the lid's screws and inserts."""

from collections.abc import Iterator

import numpy as np

from baywright.mechanics.plate import Patch, Plate, supported
from baywright.strength.allow import Metal
from baywright.strength.bench import Bench
from baywright.strength.check import Calculation
from baywright.strength.floor_bars import rod_loads
from baywright.strength.working import Working

_NAVIER = "Navier's series, edges simply supported: Timoshenko and Woinowsky-Krieger"


def panels(b: Bench) -> Iterator[Calculation]:
    """Yield the checks of the panels."""
    yield _floor(b)
    yield _long_wall(b)
    yield _end_wall(b)
    yield _lid(b)
    if b.throw.force[2] > 0:
        yield _lid_screws(b)


def hung_mass(b: Bench) -> tuple[float, float]:
    """Return what hangs on the floor: its own sheet and liner, and what stands on it by rods (kg each)."""
    own = b.statics.mass_of("floor", "liner floor")
    if b.layout.carry != "tie rods":
        return own, 0.0
    rods = sum(
        line.screw.mass * len(line.points)
        for line in b.design.assembly.lines
        if line.joint == "tie rods" and line.screw is not None
    )
    return own, rods + b.statics.mass_of("module", "coolant", "floor bar", "clamp bar", "spacer")


def _panel(
    b: Bench,
    member: str,
    mark: str,
    plate: Plate,
    metal: Metal,
    mass: float,
    push: float,
    patches: list[Patch],
    what: str,
    help_: str,
    cut: float = 0.0,
) -> Calculation:
    """Return the check of a panel under its own mass (kg, thrown `push` N per kg square to it) and patches."""
    w = Working()
    b.acceleration(w)
    w.given("a", plate.a, "mm", "its long way between supports")
    w.given("b", plate.b, "mm", "the other way")
    w.given("t", plate.thickness, "mm", "thickness")
    w.given("E", plate.e, "MPa", f"modulus of {metal.name}")
    w.given("ν", plate.nu, "", "Poisson's ratio")
    w.given("m", mass, "kg", "mass that the panel carries evenly")
    w.given("g_n", push, "m/s²", "throw square to it")
    q = w.let("q", "m * abs(g_n) / (a * b)", "MPa", "even pressure")
    for i, p in enumerate(patches, 1):
        w.given(f"P_{i}", p.force, "N", f"push over {p.u:.0f} x {p.v:.0f} mm at {p.x:.0f}, {p.y:.0f} mm from a corner")
    bent = supported(plate, q, patches)
    w.given("w_m", bent.deflection, "mm", "largest deflection", _NAVIER)
    text = f"largest bending stress, at {bent.at[0]:.0f}, {bent.at[1]:.0f} mm"
    w.given("σ_p" if cut else "σ", bent.stress, "MPa", text, _NAVIER)
    if cut:
        w.given("k_h", cut, "", "share of a strip that the fittings' holes take, where they take most")
        w.let("σ", "σ_p / (1 - k_h)", "MPa", "as if the worst strip were where the plate bends most", "statics")
    w.let("k_w", "w_m / (t / 2)", "", "over 1 the plate is past small deflections")
    past = w.values["k_w"] > 1
    note = (
        f"bends {bent.deflection:.1f} mm, over half its thickness: it stretches too, so the linear stress overstates"
        if past
        else ""
    )
    return b.stress(
        member,
        mark,
        what + (", large deflection" if past else ""),
        w,
        metal,
        help=help_,
        note=note,
    )


def _floor(b: Bench) -> Calculation:
    layout, style = b.layout, b.kit.style
    metal = b.sheet_metal(style.floor.material, style.floor.thickness)
    own, _ = hung_mass(b)
    patches = []
    if layout.carry == "tie rods":
        loads = rod_loads(b)
        each = b.length("floor bar 1.1") / layout.ask.columns
        for row, at in ((r, at) for layer, r, _, at in layout.places if layer == 1):
            for x, one in zip(layout.across_x[row - 1], loads, strict=True):
                # A stack's length of bar in halves, which push alike and, as it tips, one up and one down.
                for side in (-1, 1):
                    force = abs(one.pull) / 2 + side * 2 * one.tip / each
                    y = at[1] + layout.inside[1] / 2 + side * each / 4
                    patches.append(Patch(x + layout.inside[0] / 2, float(y), b.kit.bearer.width, each / 2, force))
    plate = Plate(*layout.inside, style.floor.thickness, metal.e, metal.nu)
    return _panel(
        b,
        "floor",
        "floor",
        plate,
        metal,
        own,
        float(b.throw.force[2]),
        patches,
        "plate between the walls",
        "a thicker floor, or ledges instead of rods" if patches else "a thicker floor",
    )


def _long_wall(b: Bench) -> Calculation:
    layout, style = b.layout, b.kit.style
    metal, low = b.wall_metal, layout.wall_bottom
    across = float(b.throw.force[1])
    patches = []
    if layout.carry == "ledges":
        one = b.statics.bearers(b.throw.force)
        for layer in range(2, layout.layers + 1):
            rows = sorted({r for k, r, _, _ in layout.places if k == layer})
            for row in rows:
                for x, loads in zip(layout.across_x[row - 1], one, strict=True):
                    z = layout.support[layer - 1] - b.kit.ledge_angle.wall + b.kit.ledge_angle.height / 2 - low
                    patches.append(
                        Patch(
                            x + layout.inside[0] / 2,
                            z,
                            b.kit.bearer.width + 2 * b.kit.ledge_angle.width,
                            b.kit.ledge_angle.height,
                            abs(float(loads.ends[0, 1])),
                        )
                    )
    mass = b.statics.lined_mass("wall right", "liner right")
    plate = Plate(layout.inside[0], layout.wall_top - low, style.wall.thickness, metal.e, metal.nu)
    what = "plate between floor, corners and flange" + (", bearers pushing through the ledges" if patches else "")
    return _panel(
        b, "long walls", "wall right", plate, metal, mass, across, patches, what, "thicker walls, or fewer layers"
    )


def _end_wall(b: Bench) -> Calculation:
    layout, style, metal = b.layout, b.kit.style, b.wall_metal
    mass = b.statics.lined_mass("wall service", "liner service") + sum(f.row.mass for f in b.design.fitted)
    plate = Plate(layout.inside[1], layout.wall_top - layout.wall_bottom, style.wall.thickness, metal.e, metal.nu)
    what = "plate between floor, corners and flange"
    push, lost = float(b.throw.force[0]), cut_share(b)
    if lost:
        what += ", its strips cut by the fittings' holes"
    return _panel(b, "end walls", "wall service", plate, metal, mass, push, [], what, "thicker walls", lost)


def cut_share(b: Bench) -> float:
    """Return the largest share of the service wall that cut-outs take of a straight line across or up it, 0 to 1."""
    layout = b.layout
    holes = []
    for one in b.design.fitted:
        cut = one.row.cut_out
        wide, high = cut.size if cut.size is not None else (cut.diameter or 0.0,) * 2
        holes.append((one.y - wide / 2, one.y + wide / 2, one.z - high / 2, one.z + high / 2))
    worst = 0.0
    for (low, high_), (start, end), whole in (
        ((2, 3), (0, 1), layout.inside[1]),
        ((0, 1), (2, 3), layout.wall_top - layout.wall_bottom),
    ):
        for at in (h[low] + 1e-6 for h in holes):
            worst = max(worst, sum(h[end] - h[start] for h in holes if h[low] <= at <= h[high_]) / whole)
    return worst


def _lid(b: Bench) -> Calculation:
    layout, style = b.layout, b.kit.style
    metal = b.sheet_metal(style.lid.material, style.lid.thickness)
    mass = b.statics.mass("lid")
    plate = Plate(*layout.inside, style.lid.thickness, metal.e, metal.nu)
    push = float(b.throw.force[2])
    return _panel(b, "lid", "lid", plate, metal, mass, push, [], "plate on its gasket", "a thicker lid")


def _lid_screws(b: Bench) -> Calculation:
    """Return the check of the lid's screws and inserts when the box is thrown up."""
    kit, style = b.kit, b.kit.style
    row = kit.catalogue.insert(style.lid_screw.insert)
    stock = kit.flange_angle
    lines = [line for line in b.design.assembly.lines if line.joint == "lid"]
    w = Working()
    b.acceleration(w)
    w.given("m", b.statics.mass("lid"), "kg", "the lid")
    w.given("n", sum(len(line.points) for line in lines), "", "its screws")
    w.given("k_n", 2.0, "", "the worst one takes twice its share: common practice, no source")
    w.let("N", "k_n * m * a_z / n", "N", "pull of one; the gasket's own push apart")
    b.allow.screw(w, style.lid_screw.size)
    lid = b.sheet_metal(style.lid.material, style.lid.thickness)
    b.allow.punch(w, kit.head(style.lid_screw.size, style.lid_screw.head)[0], style.lid.thickness, lid)
    b.allow.punch(w, row.flange_diameter, stock.wall, b.stock_metal(stock), "f")
    parts = "N / F_t_Rd, N / B_p_Rd, N / B_f_Rd"
    if row.pull_out is not None:
        w.given("F_i", row.pull_out, "N", f"pull-out of insert '{row.name}'", row.source)
        w.let("F_i_Rd", "F_i / γ_f", "N", "pull-out it may bear")
        parts += ", N / F_i_Rd"
    w.let("use", f"max({parts})", "", "share that is used; over 1 fails")
    note = "" if row.pull_out is not None else f"the pull-out of insert '{row.name}' is not in its row: ask its maker"
    return b.made(
        "lid screws",
        "lid",
        "pull on screws and inserts",
        w,
        help="a smaller lid screw pitch",
        note=note,
        at=_middle(lines[0].points),
    )


def _middle(points: np.ndarray) -> tuple[float, float, float]:
    x, y, z = points.mean(axis=0).tolist()
    return (x, y, z)
