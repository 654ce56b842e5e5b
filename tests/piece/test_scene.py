"""What shares space: quick exact tests of blocks and cylinders against sampling and the CAD kernel."""

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from baywright.piece.assembly import Assembly, Placed
from baywright.piece.bought import Bought
from baywright.piece.joint import Along, Layer, ScrewLine
from baywright.piece.plate import Plate
from baywright.piece.scene import bodies_share, overlapping, scene, shanks
from baywright.piece.solid import Block, Hole, Round, enclosing
from baywright.shape.loop import circle, loop_of, rectangle, slot
from baywright.shape.pose import shifted

AXES = np.eye(3)
NUMBER = st.integers(-12, 12).map(float)
BLOCK = st.tuples(NUMBER, NUMBER, NUMBER, st.integers(2, 12), st.integers(2, 12), st.integers(2, 12)).map(
    lambda v: Block(np.array(v[:3]), np.array(v[:3]) + np.array(v[3:], dtype=float))
)
ROUND = st.tuples(NUMBER, NUMBER, NUMBER, st.integers(0, 2), st.integers(2, 14), st.integers(2, 10)).map(
    lambda v: Round(np.array(v[:3]), AXES[v[3]], float(v[4]), float(v[5]))
)


def solid(body):
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    if isinstance(body, Block):
        return BRepPrimAPI_MakeBox(gp_Pnt(*body.low.tolist()), gp_Pnt(*body.high.tolist())).Shape()
    frame = gp_Ax2(gp_Pnt(*body.start.tolist()), gp_Dir(*body.axis.tolist()))
    return BRepPrimAPI_MakeCylinder(frame, body.diameter / 2, body.length).Shape()


@given(a=st.one_of(BLOCK, ROUND), b=st.one_of(BLOCK, ROUND))
def test_shared_space_is_what_the_kernel_says(a, b) -> None:
    pytest.importorskip("OCP")
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(BRepAlgoAPI_Common(solid(a), solid(b)).Shape(), found)
    volume = abs(found.Mass())
    if 1e-9 < volume < 1e-4:
        return  # the kernel's own noise
    assert bodies_share(a, b) == (volume > 1e-4)
    assert bodies_share(b, a) == bodies_share(a, b)


def _thing(mark: str, body, at=(0.0, 0.0, 0.0)) -> Placed:
    return Placed(mark, Bought(role="thing", name=mark, mass=1.0, bodies_=(body,)), shifted(*at))


def _wall(loop, depth: float = 3, holes: tuple[Hole, ...] | None = None) -> Placed:
    cut = Hole(face="top", loop=loop, depth=depth, use="cut-out")
    plate = Plate(
        role="wall",
        outline=rectangle(0, 0, 100, 80),
        holes=(cut,) if holes is None else holes,
        thickness=3,
        material="5754-H22",
        density=2670,
    )
    return Placed("wall", plate, shifted())


def _sheet(diameter: float) -> Placed:
    return _wall(circle(50, 40, diameter))


# A cut-out 60 x 40 into whose lower edge a tongue of metal reaches up to y = 40.
NOTCHED = loop_of([(20, 20), (48, 20), (48, 40), (52, 40), (52, 20), (80, 20), (80, 60), (20, 60)])


def _row(layer: Layer) -> ScrewLine:
    """Return two M5 screws driven down from a millimetre above the wall, each with a washer and a nut."""
    screw = Bought(
        role="screw",
        name="M5x16",
        mass=0.004,
        bodies_=(Round(np.zeros(3), AXES[2], 5, 8.5), Round(np.zeros(3), -AXES[2], 16, 5)),
    )
    washer = Bought(role="washer", name="5", mass=0.001, bodies_=(Round(np.zeros(3), AXES[2], 1, 10),))
    nut = Bought(role="nut", name="M5", mass=0.001, bodies_=(Block(np.array([-4.0, -4, -4]), np.array([4.0, 4, 0])),))
    return ScrewLine(
        name="row",
        joint="wall to angle",
        screw=screw,
        size="M5",
        length=16,
        points=np.array([[20.0, 30, 4], [60, 30, 4]]),
        direction=-AXES[2],
        layers=(layer,),
        along=(Along(washer, 0.0), Along(nut, 9.0)),
        stage=4,
    )


@pytest.mark.parametrize(("diameter", "clear"), [(20.0, True), (20.5, True), (19.0, False)])
def test_what_passes_a_hole_does_not_share_space(diameter: float, clear: bool) -> None:
    gland = _thing("gland", Round(np.array([50.0, 40, -10]), AXES[2], 30, 20))
    pairs = overlapping(scene(Assembly(name="a", placed=(_sheet(diameter), gland))))
    assert (pairs == []) == clear


def test_off_its_hole_it_does() -> None:
    gland = _thing("gland", Round(np.array([52.0, 40, -10]), AXES[2], 30, 20))
    assert len(overlapping(scene(Assembly(name="a", placed=(_sheet(22.0), gland))))) == 1


def test_touching_is_not_sharing() -> None:
    a = _thing("a", Block(np.zeros(3), np.ones(3) * 10))
    b = _thing("b", Block(np.zeros(3), np.ones(3) * 10), (10.0, 0, 0))
    assert overlapping(scene(Assembly(name="a", placed=(a, b)))) == []


@pytest.mark.parametrize(
    ("loop", "low", "high", "clear"),
    [
        (circle(50, 40, 20), (43, 33), (57, 47), True),  # a bar 14 square: 19.8 over its corners
        (circle(50, 40, 20), (42, 33), (58, 47), False),  # 16 by 14: 21.3 over its corners
        (rectangle(40, 30, 60, 50), (40, 30), (60, 50), True),
        (rectangle(40, 30, 60, 50), (40, 30), (60, 51), False),
        (rectangle(40, 30, 60, 50, 5), (40, 30), (60, 50), False),  # its corners are in the rounded ones
        (slot(50, 40, 10, 60, 45), (45, 35), (55, 45), False),  # inside a skew slot's rectangle, not inside the slot
        (slot(50, 40, 10, 60, 45), (47, 37), (53, 43), True),
        (NOTCHED, (30, 25), (70, 55), False),  # a tongue of metal stands between its corners
        (NOTCHED, (30, 45), (70, 55), True),
    ],
)
def test_a_bar_passes_a_cut_out_of_any_shape(loop, low, high, clear: bool) -> None:
    bar = _thing("bar", Block(np.array([*low, -10.0]), np.array([*high, 30.0])))
    pairs = overlapping(scene(Assembly(name="a", placed=(_wall(loop), bar))))
    assert (pairs == []) == clear


@pytest.mark.parametrize(
    ("x", "y", "diameter", "clear"), [(65, 55, 10, True), (65, 55, 10.2, False), (65, 45, 9, False)]
)
def test_a_hose_passes_a_skew_slot_within_its_edge(x: float, y: float, diameter: float, clear: bool) -> None:
    hose = _thing("hose", Round(np.array([x, y, -10.0]), AXES[2], 30, diameter))
    pairs = overlapping(scene(Assembly(name="a", placed=(_wall(slot(50, 40, 10, 60, 45)), hose))))
    assert (pairs == []) == clear


@pytest.mark.parametrize(("bottom", "clear"), [(1.0, True), (0.9, False), (-5.0, False)])
def test_a_pin_in_a_blind_hole_goes_no_deeper_than_the_hole(bottom: float, clear: bool) -> None:
    pin = _thing("pin", Round(np.array([50.0, 40, bottom]), AXES[2], 20, 8))
    pairs = overlapping(scene(Assembly(name="a", placed=(_wall(circle(50, 40, 8), depth=2), pin))))
    assert (pairs == []) == clear


def test_a_bore_in_a_counterbore_lets_a_pin_through() -> None:
    holes = tuple(
        Hole(face="top", loop=circle(50, 40, d), depth=depth, use="bore") for d, depth in ((20.0, 1.0), (8.0, 3.0))
    )
    pin = _thing("pin", Round(np.array([50.0, 40, -5]), AXES[2], 20, 8))
    assert overlapping(scene(Assembly(name="a", placed=(_wall(circle(0, 0, 1), holes=holes), pin)))) == []


@pytest.mark.parametrize(
    ("layer", "clear"),
    [
        (Layer("wall", "clearance", 5.5), True),
        (Layer("wall", "clearance", 4.9), False),
        (Layer("wall", "tapped", 4.2), True),  # the thread is its own
        (Layer("wall", "clearance", 4.2, recess=5.0), True),
        (Layer("other", "clearance", 9.0), False),
    ],
)
def test_a_screw_stands_in_its_own_hole(layer: Layer, clear: bool) -> None:
    wall = _wall(circle(0, 0, 1), holes=())
    assert (overlapping(scene(Assembly(name="a", placed=(wall,), lines=(_row(layer),)))) == []) == clear


def test_a_scene_holds_every_fastener_where_the_assembly_puts_it() -> None:
    both = Assembly(name="a", placed=(_wall(circle(0, 0, 1)),), lines=(_row(Layer("wall", "clearance", 5.5)),))
    view = scene(both)
    for k, standing in enumerate(view.bodies):
        block = enclosing(standing.body)
        assert (view.low[k], view.high[k]) == (pytest.approx(block.low), pytest.approx(block.high))
    wanted = sorted(
        (item.mark, *np.round([*block.low, *block.high], 9).tolist())
        for item in both.fasteners()
        for block in item.blocks()
    )
    found = sorted(
        (s.item.mark, *np.round([*enclosing(s.body).low, *enclosing(s.body).high], 9).tolist())
        for s in view.bodies
        if s.line is not None
    )
    assert found == wanted
    assert [(s.number, s.stage) for s in view.bodies if s.line is not None] == [(1, 4), (2, 4), (1, 4), (2, 4)] * 2
    longest = [view.bodies[k] for k in shanks(view)]
    assert [(s.item.mark, s.body.length) for s in longest] == [("row 1", 16), ("row 2", 16)]


@pytest.mark.parametrize(
    ("start", "reach"),
    [
        ((0, -20), 5 + 3),  # both run past each other: the sum of their radii
        ((0, 3), 4 + 3),  # the second begins 3 beside the first one's axis, where that is 2 x 4 high
        ((22, -20), 5 + 5**0.5),  # the first ends 2 beside the second one's axis
        ((22, 3), 4 + 5**0.5),
        ((0, 5), 0),  # it begins where the first one's side is
        ((23, -20), 0),
    ],
)
def test_crossing_cylinders_share_by_their_chords(start, reach: float) -> None:
    one = Round(np.array([-20.0, 0, 0]), AXES[0], 40, 10)
    for sign in (-1, 1):
        near, far = (
            Round(np.array([*start, sign * z], dtype=float), AXES[1], 60, 6) for z in (reach - 1e-3, reach + 1e-3)
        )
        assert bodies_share(one, near) == bodies_share(near, one) == (reach > 0)
        assert not bodies_share(one, far)
        assert not bodies_share(far, one)


def test_cylinders_side_by_side_and_beside_a_block_share_by_their_distance() -> None:
    one = Round(np.zeros(3), AXES[2], 20, 10)
    assert not bodies_share(one, Round(np.array([8.0, 8, 5]), AXES[2], 20, 10))  # 11.3 apart
    assert bodies_share(one, Round(np.array([7.0, 7, 5]), AXES[2], 20, 10))  # 9.9 apart
    assert not bodies_share(one, Block(np.array([4.0, 4, 0]), np.array([9.0, 9, 9])))
    assert bodies_share(one, Block(np.array([3.5, 3.5, 0]), np.array([9.0, 9, 9])))
    askew = Round(np.array([4.5, 4.5, 5]), np.array([0.6, 0.8, 0]), 20, 2)
    assert bodies_share(one, askew)  # by its enclosing block: on the safe side
