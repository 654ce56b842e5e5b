"""Floor bars of a box with tie rods: their bond and their screws to the floor."""

from collections.abc import Iterator

import numpy as np

from baywright.strength.bench import Bench
from baywright.strength.bond import bond_use
from baywright.strength.check import Calculation
from baywright.strength.screws import row_use
from baywright.strength.working import Working


def floor_bars(b: Bench) -> Iterator[Calculation]:
    """Yield the worst floor bar's joint to the floor, by bond alone and by screws alone."""
    layout, kit, style = b.layout, b.kit, b.kit.style
    got = b.statics.on_hold_downs(b.throw.force, layout.layers)
    columns = layout.ask.columns
    first = layout.places[0][3]
    sums = []
    for x in layout.across_x[0]:
        here = [i for i, h in enumerate(layout.module.holds) if abs(first[0] + h[0] - x) < 1e-6]
        level = np.linalg.norm(got.shear[here].sum(axis=0))
        sums.append((float(level), max(0.0, float(got.tension[here].sum()))))
    number = max(range(len(sums)), key=lambda n: sum(sums[n]))
    shear, pull = (columns * value for value in sums[number])
    mark = f"floor bar 1.{number + 1}"
    bar, metal = kit.bearer, b.stock_metal(kit.bearer)
    floor = b.sheet_metal(style.floor.material, style.floor.thickness)
    line = b.line(f"{mark} to floor")
    x, y, z = line.points.mean(axis=0).tolist()
    note = f"{columns} stack{'s' if columns > 1 else ''} on it; rods' pull and shear from the tie rods' calculation"
    start = Working()
    b.acceleration(start)
    start.given("V_b", shear, "N", "the rods in the worst bar push it level (tie rods' statics)")
    start.given("N_b", pull, "N", "and pull it up")
    glued = start.copy()
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
        pull="N_b",
        along=b.length(mark),
    )
    common = {"where": (mark, "floor"), "joint": "floor bars", "note": note, "at": (x, y, z)}
    yield b.made("floor bars", mark, "bond alone", glued, alone="bond", help="a wider bar", **common)
    held = start.copy()
    engaged = line.length - style.floor.thickness - style.bond_line
    row_use(
        b,
        held,
        line,
        count=len(line.points),
        shear="V_b",
        pull="N_b",
        near=(floor, style.floor.thickness, bar.width / 4),
        far=(metal, engaged, bar.width / 4),
    )
    help_ = "a smaller screw pitch or larger joint screws"
    yield b.made("floor bars", mark, "screws alone", held, alone="screws", help=help_, **common)
