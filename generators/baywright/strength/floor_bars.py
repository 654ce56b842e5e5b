"""Floor bars of a box with tie rods: their bond and their screws to the floor."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from baywright.strength.bench import Bench
from baywright.strength.bond import bond_use
from baywright.strength.check import Calculation
from baywright.strength.screws import ELASTIC, row_use
from baywright.strength.working import Working

_ENDS = "even over the bar and growing along it; its worse end taken for all: statics"


@dataclass(frozen=True, slots=True)
class RodLoads:
    """What the rods of one stack do to one of its floor bars: push it level (N), pull it up (N), tip it along (N·mm).

    A pull under 0 presses it on. Rods that press at one end do not help those that pull at the other.
    """

    level: float
    pull: float
    tip: float

    def worst(self, length: float) -> float:
        """Return the pull (N) that, even over its length (mm), were as hard on it as its worse end; under 0: none."""
        return self.pull + 6 * self.tip / length


def rod_loads(b: Bench) -> list[RodLoads]:
    """Return what the rods of one full stack do to each of its floor bars."""
    layout = b.layout
    got = b.statics.on_hold_downs(b.throw.force, layout.layers)
    first, holds = layout.places[0][3], layout.module.holds
    found = []
    for x in layout.across_x[0]:
        here = [i for i, h in enumerate(holds) if abs(first[0] + h[0] - x) < 1e-6]
        pulls, y = got.tension[here], holds[here, 1]
        level = float(np.linalg.norm(got.shear[here].sum(axis=0)))
        found.append(RodLoads(level, float(pulls.sum()), abs(float(pulls @ (y - y.mean())))))
    return found


def floor_bars(b: Bench) -> Iterator[Calculation]:
    """Yield the worst floor bar's joint to the floor, by bond alone and by screws alone."""
    layout, kit, style = b.layout, b.kit, b.kit.style
    columns, loads = layout.ask.columns, rod_loads(b)
    own = b.length("floor bar 1.1") / columns
    number = max(range(len(loads)), key=lambda n: loads[n].level + max(0.0, loads[n].worst(own)))
    one, mark = loads[number], f"floor bar 1.{number + 1}"
    bar, metal = kit.bearer, b.stock_metal(kit.bearer)
    floor = b.sheet_metal(style.floor.material, style.floor.thickness)
    line = b.line(f"{mark} to floor")
    x, y, z = line.points.mean(axis=0).tolist()
    note = f"{columns} stack{'s' if columns > 1 else ''} on it; rods' pull and shear from the tie rods' calculation"
    start = Working()
    b.acceleration(start)
    start.given("n_c", columns, "", "stacks on the bar")
    start.given("V_s", one.level, "N", "the rods of one stack in the worst bar push it level (tie rods' statics)")
    start.given("N_s", one.pull, "N", "and pull it up")
    start.given("M_s", one.tip, "N·mm", "and tip it along its length: some of them pull, some press")
    start.let("V_b", "n_c * V_s", "N", "all of them push it level")
    start.let("N_b", "max(0, n_c * N_s)", "N", "and upward")
    glued = start.copy()
    glued.given("L_1", own, "mm", "length of bar for one stack")
    glued.let("N_e", "max(0, n_c * (N_s + 6 * M_s / L_1))", "N", "pull as at its worse end", _ENDS)
    bond_use(
        glued,
        b.allow,
        bond=style.bond_line,
        area=b.statics.bond_area(f"bond floor / {mark}"),
        overlap=bar.width,
        leg=metal,
        leg_thickness=bar.height,
        wall=floor,
        wall_thickness=style.floor.thickness,
        shear="V_b",
        pull="N_e",
        along=b.length(mark),
    )
    common = {"where": (mark, "floor"), "joint": "floor bars", "note": note, "at": (x, y, z)}
    yield b.made("floor bars", mark, "bond alone", glued, alone="bond", help="a wider bar", **common)
    held = start.copy()
    off = line.points[:, 1] - layout.places[0][3][1]
    off = off[np.abs(off) <= max(own / 2, np.sort(np.abs(off))[1]) + 1e-6]  # two at least
    held.given("n_1", len(off), "", "screws in one stack's length of bar")
    held.given("y_s", float(np.ptp(off)) / 2, "mm", "the farthest of them from their middle")
    held.given("S_y", float(((off - off.mean()) ** 2).sum()), "mm²", "Σ y² of them")
    held.let("N_1", "max(0, N_s / n_1 + M_s * y_s / S_y)", "N", "pull of the worst of them", ELASTIC)
    engaged = line.length - style.floor.thickness - style.bond_line
    row_use(
        b,
        held,
        line,
        count=len(line.points),
        shear="V_b",
        pull="n * N_1",
        near=(floor, style.floor.thickness, bar.width / 4),
        far=(metal, engaged, bar.width / 4),
    )
    help_ = "a smaller screw pitch or larger joint screws"
    yield b.made("floor bars", mark, "screws alone", held, alone="screws", help=help_, **common)
