"""No text of a piece's drawing lies over another, whatever the piece: many holes, narrow plates, long bars."""

import numpy as np
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from baywright.piece.extrusion import Extrusion, Stock
from baywright.piece.numbering import Part
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.release.drawing.frame import Rules
from baywright.release.drawing.part import part_sheet
from baywright.shape.loop import circle, rectangle
from baywright.shape.pose import shifted

USES = [
    ("clearance", "clearance for M5"),
    ("tapped", "M5 through"),
    ("cut-out", "gland M25, seen from outside, keep 8 mm free round it for its nut"),
    ("fixing", "ream 12 H7 from 11.7; pin m6 pressed in; last, bolted up and indicated to 0.05 TIR"),
    ("access", "counterbore 18 x 10.8 deep for M10 cap head screws"),
]
NEAR = 8.0  # mm: no two holes' middles are nearer
# A failing piece is told as it was drawn: making it smaller takes minutes.
QUICK = settings(max_examples=15, phases=[Phase.explicit, Phase.generate])
RULES = st.builds(
    Rules,
    angle=st.sampled_from(["first", "third"]),
    tolerance=st.sampled_from(["f", "m", "c", "v"]),
    workshop=st.sampled_from(["", "A workshop with quite a long name, and a town"]),
)


@st.composite
def holes(draw, face, width, height, depth, most):
    """Holes on a grid, as close as a metre of screws or as far apart as four feet, of one to five sorts."""
    across = min(draw(st.integers(1, most)), max(int(width / NEAR), 1))
    up = min(draw(st.integers(1, 4)), max(int(height / NEAR), 1))
    pitch = min(width / across, height / up)
    seed = draw(st.integers(0, 99))
    rng = np.random.default_rng(seed)
    kinds = rng.integers(1, len(USES) + 1)
    found = []
    for i in range(across):
        for j in range(up):
            if rng.random() < 0.3:
                continue
            use, text = USES[int(rng.integers(kinds))]
            wide = float(rng.uniform(0.2, 0.6) * pitch)
            deep = depth if rng.random() < 0.8 else 0.5 * depth
            loop = circle((i + 0.5) * width / across, (j + 0.5) * height / up, wide)
            found.append(Hole(face=face, loop=loop, depth=deep, use=use, callout=text))
    return tuple(found)


@st.composite
def plates(draw):
    """Plates from a washer's size to a car's floor, also very narrow ones, upright and lying."""
    width, height = draw(st.floats(8, 1500)), draw(st.floats(8, 900))
    if draw(st.booleans()):
        width, height = height, width
    thick = draw(st.sampled_from([1.0, 2.5, 4.0, 25.0]))
    return Plate(
        role=draw(st.sampled_from(["lid", "doubler under the lower corner angle, left, service end"])),
        outline=rectangle(0, 0, width, height),
        holes=draw(holes("top", width, height, thick, 24)),
        thickness=thick,
        material="5754-H22",
        density=2660.0,
    )


@st.composite
def bars(draw):
    """Bars, angles and tubes from a cleat to a sill's length, drilled on one side or on several."""
    shape = draw(st.sampled_from(["angle", "channel", "bar", "tube"]))
    stock = Stock(
        name=f"{shape} 40x30x3",
        shape=shape,
        width=draw(st.floats(12, 80)),
        height=draw(st.floats(12, 80)),
        wall=3.0,
        material="6060-T66",
        density=2700.0,
        stock_length=6000.0,
    )
    bare = Extrusion(role="rail", stock=stock, length=draw(st.floats(40, 3000)))
    faces = [(name, face) for name, face in bare.faces().items() if not name.startswith("end")]
    found = []
    for name, face in faces[: draw(st.integers(0, 2))]:
        found += draw(holes(name, face.width, face.height, face.depth, 20))
    return bare.with_holes(tuple(found))


@QUICK
@given(piece=plates(), rules=RULES)
def test_plates(piece, rules, clean):
    clean(part_sheet(Part("estate-front-lid-A", piece, (("one", shifted()),)), "A job's title", "A", rules))


@QUICK
@given(piece=bars(), rules=RULES)
def test_bars(piece, rules, clean):
    clean(part_sheet(Part("estate-motor-rail-left-A", piece, (("one", shifted()),)), "A job's title", "A", rules))
