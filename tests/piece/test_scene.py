"""What shares space: quick exact tests of blocks and cylinders against sampling and the CAD kernel."""

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from baywright.piece.assembly import Assembly, Placed
from baywright.piece.bought import Bought
from baywright.piece.plate import Plate
from baywright.piece.scene import bodies_share, overlapping, scene
from baywright.piece.solid import Block, Hole, Round
from baywright.shape.loop import circle, rectangle
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


def _sheet(diameter: float) -> Placed:
    hole = Hole(face="top", loop=circle(50, 40, diameter), depth=3, use="cut-out")
    plate = Plate(
        role="wall", outline=rectangle(0, 0, 100, 80), holes=(hole,), thickness=3, material="5754-H22", density=2670
    )
    return Placed("wall", plate, shifted())


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
