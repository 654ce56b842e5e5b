"""A small bonded box built by hand from pieces and joints, the way a generator would build one."""

import numpy as np
import pytest

from baywright.piece.assembly import LID, Assembly, Placed, drilled, faying
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion, Stock
from baywright.piece.joint import Along, Layer, ScrewLine
from baywright.piece.plate import Plate
from baywright.piece.solid import Block, Hole, Round
from baywright.release.drawing.paper import Sheet, Stroke, overlapping
from baywright.shape.loop import circle, rectangle, slot
from baywright.shape.pose import Pose, pose, shifted

X, Y, Z = np.eye(3)
GLUE, GAP = "two-part epoxy", 0.25
ALU = {"material": "5754-H22", "density": 2660.0}


def m5(length: float) -> Bought:
    """Return a socket screw: head 8.5 x 5 above z = 0, shank below."""
    head = Round(np.zeros(3), Z, 5.0, 8.5)
    shank = Round(np.zeros(3), -Z, length, 5.0)
    return Bought(
        role="screw",
        name=f"socket screw M5x{length:g}",
        mass=0.0021 + 0.00012 * length,
        bodies_=(head, shank),
        group="screws",
        source="test",
    )


WASHER = Bought(
    role="washer",
    name="washer 5",
    mass=0.0004,
    bodies_=(Round(np.zeros(3), Z, 1.0, 10.0),),
    group="screws",
    source="test",
)
INSERT = Bought(
    role="insert",
    name="rivet nut M5",
    mass=0.0018,
    bodies_=(Round(np.zeros(3), -Z, 12.0, 7.0),),
    group="screws",
    source="test",
)
ANGLE = Stock(
    name="angle 25x25x3",
    shape="angle",
    width=25.0,
    height=25.0,
    wall=3.0,
    material="6060-T66",
    density=2700.0,
    stock_length=6000.0,
)


def small_box(name: str = "front", length: float = 420.0, width: float = 260.0, height: float = 180.0) -> Assembly:
    """Return a drilled open box with lid: floor, four walls, floor and corner angles, a module, a gasket."""
    t, g = 3.0, GAP
    lx, ly = length / 2, width / 2
    floor = Plate(role="floor", outline=rectangle(-lx, -ly, lx, ly), thickness=4.0, **ALU)
    z0 = 4.0 + g
    tall = height - z0
    ports = tuple(
        Hole(face="top", loop=circle(x, 110.0, d), depth=t, use="cut-out", callout="gland")
        for x, d in ((60.0, 25.5), (130.0, 20.4))
    )
    vent = Hole(face="top", loop=slot(200.0, 120.0, 12.0, 40.0, 90.0), depth=t, use="cut-out", callout="vent")
    long_wall = Plate(role="long wall", outline=rectangle(0, 0, length, tall), thickness=t, **ALU)
    end_wide = width - 2 * t - 2 * g
    end = Plate(role="end wall", outline=rectangle(0, 0, end_wide, tall), thickness=t, **ALU)
    service = Plate(role="end wall", outline=rectangle(0, 0, end_wide, tall), holes=(*ports, vent), thickness=t, **ALU)
    inner = end_wide - 2 * g
    side = Extrusion(role="floor angle", stock=ANGLE, length=length - 2 * (t + g) - 60.0)
    foot = Extrusion(role="floor angle", stock=ANGLE, length=inner - 60.0)
    corner = Extrusion(role="corner angle", stock=ANGLE, length=tall - 40.0)
    lid = Plate(role="lid", outline=rectangle(-lx, -ly, lx, ly, 8.0), thickness=2.5, **ALU)
    seal = Plate(
        role="gasket",
        outline=rectangle(-lx, -ly, lx, ly),
        holes=(
            Hole(
                face="top",
                loop=rectangle(-lx + 25, -ly + 25, lx - 25, ly - 25),
                depth=2.1,
                use="cut-out",
                line="ring",
            ),
        ),
        thickness=2.1,
        material="EPDM foam",
        density=180.0,
    )
    half = (length / 2 - t - g, width / 2 - t - g)
    module = Bought(
        role="module",
        name="module 300x150x110",
        mass=11.5,
        centre=np.array([5.0, 0.0, 52.0]),
        bodies_=(Block(np.array([-150.0, -75.0, 0.0]), np.array([150.0, 75.0, 110.0])),),
        source="test",
    )
    glycol = Bought(role="coolant", name="water-glycol", mass=0.4, centre=np.array([0.0, 0.0, 60.0]))
    placed = [
        Placed("floor", floor, shifted()),
        Placed("front wall", long_wall, pose(X, Z, (-lx, -ly + t, z0))),
        Placed("back wall", long_wall, pose(-X, Z, (lx, ly - t, z0))),
        Placed("left wall", end, pose(-Y, Z, (-lx + t, end_wide / 2, z0))),
        Placed("right wall", service, pose(Y, Z, (lx - t, -end_wide / 2, z0))),
        # An angle's legs run along its own x and y; its length along z.
        Placed("floor angle front", side, pose(Y, Z, (-side.length / 2, -half[1], z0))),
        Placed("floor angle back", side, pose(-Y, Z, (side.length / 2, half[1], z0))),
        Placed("floor angle right", foot, Pose(np.column_stack([-X, Z, Y]), np.array([half[0], -foot.length / 2, z0]))),
        Placed("floor angle left", foot, Pose(np.column_stack([X, Z, -Y]), np.array([-half[0], foot.length / 2, z0]))),
        Placed("corner 1", corner, pose(X, Y, (-half[0], -half[1], z0 + 30.0))),
        Placed("corner 2", corner, pose(Y, -X, (half[0], -half[1], z0 + 30.0))),
        Placed("corner 3", corner, pose(-X, -Y, (half[0], half[1], z0 + 30.0))),
        Placed("corner 4", corner, pose(-Y, X, (-half[0], half[1], z0 + 30.0))),
        Placed("module 1", module, shifted(0, 0, 32.0), 1),
        Placed("coolant", glycol, shifted(), 1),
        Placed("gasket", seal, shifted(0, 0, height), LID),
        Placed("lid", lid, shifted(0, 0, height + 2.1), LID),
    ]
    at = {item.mark: item for item in placed}
    pairs = [
        ("front wall", "floor angle front"),
        ("back wall", "floor angle back"),
        ("left wall", "floor angle left"),
        ("right wall", "floor angle right"),
        *(("front wall", f"corner {i}") for i in (1, 2)),
        *(("back wall", f"corner {i}") for i in (3, 4)),
        *(("left wall", f"corner {i}") for i in (1, 4)),
        *(("right wall", f"corner {i}") for i in (2, 3)),
        *(("floor", f"floor angle {side}") for side in ("front", "back", "left", "right")),
    ]
    bonds = tuple(faying(f"{a} to {b}", at[a], at[b], g, GLUE, 1100.0) for a, b in pairs)
    lines = []
    for wall, angle, out, along in (
        ("front wall", "floor angle front", -Y, X),
        ("back wall", "floor angle back", Y, X),
        ("left wall", "floor angle left", -X, Y),
        ("right wall", "floor angle right", X, Y),
    ):
        reach = (length / 2 - 60.0) if along is X else (width / 2 - 60.0)
        start = (ly if along is X else lx) * out
        points = np.array([start + along * u + Z * (z0 + 15.0) for u in np.linspace(-reach, reach, 6)])
        lines.append(_line(f"{wall} foot", wall, angle, points, -out, "wall to floor angle"))
    for wall, out, along, ends in (
        ("front wall", -Y, X, ("corner 1", "corner 2")),
        ("back wall", Y, X, ("corner 4", "corner 3")),
        ("left wall", -X, Y, ("corner 1", "corner 4")),
        ("right wall", X, Y, ("corner 2", "corner 3")),
    ):
        start = (ly if along is X else lx) * out
        for sign, angle in zip((-1.0, 1.0), ends, strict=True):
            u = sign * ((half[0] if along is X else half[1]) - 14.0)
            low = z0 + (45.0 if along is X else 55.0)
            points = np.array([start + along * u + Z * (low + dz) for dz in (0.0, 45.0, 90.0)])
            lines.append(_line(f"{wall} {angle}", wall, angle, points, -out, "wall to corner angle"))
    lid_points = np.array([(x, y, height + 2.1 + 2.5) for x in (-lx + 12.5, 0, lx - 12.5) for y in (-ly + 9, ly - 9)])
    lines.append(
        ScrewLine(
            name="lid",
            joint="lid",
            screw=m5(16.0),
            size="M5",
            length=16.0,
            points=lid_points,
            direction=-Z,
            layers=(Layer("lid", "clearance", 5.5), Layer("gasket", "clearance", 6.0)),
            along=(Along(WASHER, 0.0), Along(INSERT, 4.6)),
            stage=LID,
        )
    )
    return drilled(Assembly(name=name, placed=tuple(placed), bonds=bonds, lines=tuple(lines)))


def _line(name, wall, angle, points, direction, joint):
    return ScrewLine(
        name=name,
        joint=joint,
        screw=m5(10.0),
        size="M5",
        length=10.0,
        points=points,
        direction=direction,
        layers=(Layer(wall, "clearance", 5.5), Layer(angle, "tapped", 4.2, "M5 through")),
        along=(Along(WASHER, 0.0),),
        head=(10.0, 6.0),
        driver=40.0,
    )


@pytest.fixture(scope="session")
def box() -> Assembly:
    """The small box, drilled."""
    return small_box()


@pytest.fixture(scope="session")
def make_box():
    """The function that builds a small box."""
    return small_box


def random_extrusion(seed: int) -> Extrusion:
    """Return a drilled length of a section: angle, channel, bar or tube, through holes and, in bars, blind ones."""
    rng = np.random.default_rng(seed)
    shape = str(rng.choice(["angle", "channel", "bar", "tube", "rod", "round tube"]))
    wide, tall, wall = rng.uniform(20, 60), rng.uniform(20, 60), rng.uniform(2, 5)
    stock = Stock(
        name=f"{shape} test",
        shape=shape,
        width=wide,
        height=wide if shape in ("rod", "round tube") else tall,
        wall=wall,
        material="6060-T66",
        density=2700.0,
        stock_length=6000.0,
    )
    length = rng.uniform(80, 500)
    bare = Extrusion(role="rail", stock=stock, length=length)
    holes = []
    walls = [(name, face) for name, face in bare.faces().items() if not name.startswith("end")]
    count = int(rng.integers(0, 5))
    for place, (name, face) in enumerate(walls):
        for k in range(count):
            # Holes of crossing walls must not meet: each face has stations of its own along the length.
            x = face.width * (k + (place + 0.5) / len(walls)) / count
            if rng.random() < 0.2:
                continue
            y = face.height * rng.uniform(0.4, 0.6)
            d = min(face.height * 0.25, 6.0, face.width / (1.5 * count * len(walls)))
            deep = face.depth * 0.4 if shape == "bar" and rng.random() < 0.4 else face.depth
            loop = circle(x, y, d) if rng.random() < 0.7 else slot(x, y, d * 0.6, d, 0.0)
            holes.append(Hole(face=name, loop=loop, depth=deep, use="tapped", callout="M5"))
    return bare.with_holes(tuple(holes))


@pytest.fixture(scope="session")
def make_extrusion():
    """The function that draws a random extrusion."""
    return random_extrusion


def clean_sheet(sheet: Sheet) -> None:
    """Assert that texts keep off each other and on the sheet, and that nothing is drawn outside its border."""
    assert not [(a.text, b.text) for a, b in overlapping(sheet.texts())]
    for text in sheet.texts():
        corners = text.corners()
        assert (corners.min(axis=0) >= (18, 9)).all(), text
        assert (corners.max(axis=0) <= (sheet.width - 9, sheet.height - 9)).all(), text
    for item in sheet.items:
        if isinstance(item, Stroke):
            points = np.concatenate(item.lines)
            assert (points >= (18, 9)).all()
            assert (points <= (sheet.width - 9, sheet.height - 9)).all()


@pytest.fixture(scope="session")
def clean():
    """The function that asserts that a sheet is fit to be read."""
    return clean_sheet
