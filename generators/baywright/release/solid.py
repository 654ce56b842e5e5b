"""Solids from the CAD kernel, drawn straight from the design: prisms of flat faces that already have their holes.

Cutting a panel's forty holes with one of the kernel's Boolean operations takes some thirty times longer and gives the
same body; they are left for the few shapes that cannot be put together face by face. Only this file, `step.py` and
`verify_step.py` import the kernel.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from OCP.BRep import BRep_Builder
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeSolid,
    BRepBuilderAPI_MakeWire,
    BRepBuilderAPI_Sewing,
)
from OCP.BRepGProp import BRepGProp
from OCP.BRepLib import BRepLib
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakePrism
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_FACE, TopAbs_SHELL, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Compound, TopoDS_Shape
from OCP.TopTools import TopTools_ListOfShape

from baywright.piece.assembly import Piece
from baywright.piece.extrusion import Extrusion
from baywright.piece.plate import Plate
from baywright.piece.solid import Block, Body, Hole
from baywright.shape.loop import SAME, Loop, arcs, as_circle, bounds, counter_clockwise, mapped, rectangle
from baywright.shape.pose import Pose, shifted
from baywright.shape.pose import pose as place
from baywright.shape.profile import Profile, profile

_SEAM = 1e-6  # mm: edges of neighbouring faces closer than this are one edge


def solid(piece: Piece) -> TopoDS_Shape:
    """Return a piece's body in its own frame (mm): one solid, or a compound of solids for a bought thing's bodies.

    Raises:
        ValueError: if a bought thing has no bodies, or the kernel cannot make the body.
    """
    if isinstance(piece, Plate):
        return _plate(piece)
    if isinstance(piece, Extrusion):
        return _extrusion(piece)
    bodies = [_body(body) for body in piece.bodies()]
    if not bodies:
        raise ValueError(f"{piece.role}: has no body to draw")
    return bodies[0] if len(bodies) == 1 else compound(bodies)


def location(pose: Pose) -> TopLoc_Location:
    """Return a pose as the kernel's location."""
    move = gp_Trsf()
    # Turns come as products of exact ones; the kernel wants them orthogonal to its own precision.
    rows = np.column_stack([pose.turn, pose.shift])
    move.SetValues(*(float(v) for v in rows.ravel()))
    return TopLoc_Location(move)


def compound(shapes: Sequence[TopoDS_Shape]) -> TopoDS_Compound:
    """Return shapes as one compound."""
    builder, whole = BRep_Builder(), TopoDS_Compound()
    builder.MakeCompound(whole)
    for shape in shapes:
        builder.Add(whole, shape)
    return whole


def wire(loop: Loop, pose: Pose) -> Any:
    """Return a loop (n, 3) mm, in the x-y plane of a pose, as a closed wire; a circle is one edge."""
    ring = as_circle(loop)
    z = gp_Dir(*pose.turn[:, 2].tolist())
    if ring is not None:
        x, y, diameter = ring
        axis = gp_Ax2(gp_Pnt(*pose((x, y, 0.0)).tolist()), z, gp_Dir(*pose.turn[:, 0].tolist()))
        edge = BRepBuilderAPI_MakeEdge(gp_Circ(axis, diameter / 2)).Edge()
        made = BRepBuilderAPI_MakeWire(edge).Wire()
        return made if loop[0, 2] > 0 else made.Reversed()
    points = [gp_Pnt(*p) for p in pose(np.column_stack([loop[:, :2], np.zeros(len(loop))])).tolist()]
    maker = BRepBuilderAPI_MakeWire()
    found = iter(arcs(loop))
    for index, bulge in enumerate(loop[:, 2].tolist()):
        start, end = points[index], points[(index + 1) % len(points)]
        if bulge:
            cx, cy, r, begin, turn = next(found)
            middle = begin + turn / 2
            over = pose((cx + r * np.cos(middle), cy + r * np.sin(middle), 0.0)).tolist()
            maker.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(start, gp_Pnt(*over), end).Value()).Edge())
        else:
            maker.Add(BRepBuilderAPI_MakeEdge(start, end).Edge())
    return maker.Wire()


def face(shape: Profile, pose: Pose) -> Any:
    """Return a profile in the x-y plane of a pose as a flat face with its holes."""
    maker = BRepBuilderAPI_MakeFace(wire(shape.outer, pose), True)
    for hole in shape.holes:
        maker.Add(TopoDS.Wire_s(wire(hole, pose)))
    return maker.Face()


def _prism(shape: Profile, pose: Pose, height: float) -> TopoDS_Shape:
    """Return a profile drawn out along the z of its pose by `height` mm (downward if negative)."""
    return BRepPrimAPI_MakePrism(face(shape, pose), gp_Vec(*(pose.turn[:, 2] * height).tolist())).Shape()


def _plate(plate: Plate) -> TopoDS_Shape:
    body = _prism(plate.profile, shifted(), plate.thickness)
    pockets = plate.pockets()
    if not pockets:
        return body
    top = shifted(z=plate.thickness)
    return _cut(body, [_prism(shape, top, -hole.depth) for shape, hole in pockets], plate.role)


def _cut(body: TopoDS_Shape, tools: Sequence[TopoDS_Shape], role: str) -> TopoDS_Shape:
    """Return a body less all tools in one Boolean operation."""
    # Each tool an argument of its own: tools of one compound must not touch each other, these may.
    whole, away = TopTools_ListOfShape(), TopTools_ListOfShape()
    whole.Append(body)
    for tool in tools:
        away.Append(tool)
    done = BRepAlgoAPI_Cut()
    done.SetArguments(whole)
    done.SetTools(away)
    done.Build()
    if not done.IsDone():
        raise ValueError(f"{role}: the kernel could not cut its {len(tools)} holes")
    explorer = TopExp_Explorer(done.Shape(), TopAbs_SOLID)
    if not explorer.More():
        raise ValueError(f"{role}: nothing is left after cutting its {len(tools)} holes")
    left = explorer.Current()
    explorer.Next()
    if explorer.More():
        raise ValueError(f"{role}: its holes cut it in pieces")
    return left


def _body(body: Body) -> TopoDS_Shape:
    if isinstance(body, Block):
        return BRepPrimAPI_MakeBox(gp_Pnt(*body.low.tolist()), gp_Pnt(*body.high.tolist())).Solid()
    axis = gp_Ax2(gp_Pnt(*body.start.tolist()), gp_Dir(*body.axis.tolist()))
    return BRepPrimAPI_MakeCylinder(axis, body.diameter / 2, body.length).Solid()


def _extrusion(piece: Extrusion) -> TopoDS_Shape:
    section = piece.stock.profile
    base = face(section, shifted())
    maker = BRepPrimAPI_MakePrism(base, gp_Vec(0, 0, piece.length))
    if not piece.holes:
        return maker.Shape()
    walls = _walls(piece)
    plan = None if walls is None else _plan(piece, walls)
    if plan is None:
        faces = piece.faces()
        tools = [
            _prism(Profile(counter_clockwise(hole.loop)), faces[hole.face].pose, -hole.depth) for hole in piece.holes
        ]
        return _cut(maker.Shape(), tools, piece.role)
    return _pierced(piece, maker.Shape(), plan)


# A flat wall of a section: its start and end (x, y) mm in the section's plane.
_Wall = tuple[NDArray[np.float64], NDArray[np.float64]]


def _walls(piece: Extrusion) -> list[_Wall] | None:
    """Return the straight edges of a section, or None if it has arcs."""
    loops = [piece.stock.profile.outer, *piece.stock.profile.holes]
    if any(loop[:, 2].any() for loop in loops):
        return None
    return [
        (start, end) for loop in loops for start, end in zip(loop[:, :2], np.roll(loop[:, :2], -1, axis=0), strict=True)
    ]


def _plan(piece: Extrusion, walls: list[_Wall]) -> list[tuple[Hole, Pose, int, int | None]] | None:
    """Return, for each hole, the wall that it enters and the one that it leaves (None: it ends in the metal).

    None as a whole if a hole does not pass cleanly through one wall, or holes might meet inside the metal.
    """
    faces = piece.faces()
    used = {hole.face for hole in piece.holes}
    if any(name.startswith("end") for name in used):
        return None
    if _holes_meet(piece):
        return None
    plan: list[tuple[Hole, Pose, int, int | None]] = []
    for hole in piece.holes:
        here = faces[hole.face].pose
        x0, y0, x1, y1 = bounds(hole.loop)
        if x0 <= SAME or x1 >= piece.length - SAME:
            return None
        near = _wall_of(walls, here, y0, y1, 0.0)
        far = _wall_of(walls, here, y0, y1, -hole.depth)
        if near is None or (far is None and hole.depth >= faces[hole.face].depth - SAME):
            return None
        plan.append((hole, here, near, far))
    return plan


def _holes_meet(piece: Extrusion) -> bool:
    """Tell whether the blocks round any two holes share space: then only a Boolean operation cuts them truly."""
    faces = piece.faces()
    blocks = []
    for hole in piece.holes:
        x0, y0, x1, y1 = bounds(hole.loop)
        block = Block(np.array([x0, y0, -hole.depth]), np.array([x1, y1, 0.0]))
        blocks.append(block.moved(faces[hole.face].pose))
    low, high = np.array([b.low for b in blocks]), np.array([b.high for b in blocks])
    share = ((low[:, None] < high[None] + SAME) & (low[None] < high[:, None] + SAME)).all(axis=2)
    return bool(np.triu(share, 1).any())


def _wall_of(walls: list[_Wall], here: Pose, y0: float, y1: float, z: float) -> int | None:
    """Return the wall in which a strip of a face, from y0 to y1 at height z of its frame, lies wholly inside."""
    points = here(np.array([(0.0, y0, z), (0.0, y1, z)]))[:, :2]
    for index, (start, end) in enumerate(walls):
        along = end - start
        length = float(np.hypot(*along))
        along = along / length
        away = points - start
        across = away @ np.array([-along[1], along[0]])
        reach = away @ along
        if np.abs(across).max() < SAME and reach.min() > SAME and reach.max() < length - SAME:
            return index
    return None


def _pierced(piece: Extrusion, bare: TopoDS_Shape, plan: list[tuple[Hole, Pose, int, int | None]]) -> TopoDS_Shape:
    """Return an undrilled length with holes put in face by face: flat faces get inner wires, holes their own walls."""
    walls = _walls(piece) or []
    frames = [_wall_frame(wall) for wall in walls]
    inner: dict[int, list[Loop]] = {}
    faces: list[Any] = []
    for hole, here, near, far in plan:
        depth = gp_Vec(*(here.turn[:, 2] * -hole.depth).tolist())
        faces += _faces_of(BRepPrimAPI_MakePrism(wire(hole.loop, here), depth).Shape())
        if far is None:
            faces.append(face(Profile(counter_clockwise(hole.loop)), here.after(shifted(z=-hole.depth))))
        for index in (near, far):
            if index is not None:
                across = frames[index].inverse().after(here)
                shift = (float(across.shift[0]), float(across.shift[1]))
                inner.setdefault(index, []).append(mapped(hole.loop, across.turn[:2, :2], shift))
    for flat in _faces_of(bare):
        index = _wall_at(flat, frames)
        if index is None or index not in inner:
            faces.append(flat)
        else:
            start, end = walls[index]
            whole = rectangle(0, 0, piece.length, float(np.hypot(*(end - start))))
            faces.append(face(profile(whole, inner[index]), frames[index]))
    sewing = BRepBuilderAPI_Sewing(_SEAM)
    for part in faces:
        sewing.Add(part)
    sewing.Perform()
    explorer = TopExp_Explorer(sewing.SewedShape(), TopAbs_SHELL)
    if sewing.NbFreeEdges() or not explorer.More():
        raise ValueError(f"{piece.role}: the kernel could not close its body over {len(plan)} holes")
    body = BRepBuilderAPI_MakeSolid(TopoDS.Shell_s(explorer.Current())).Solid()
    BRepLib.OrientClosedSolid_s(body)
    return body


def _wall_frame(wall: _Wall) -> Pose:
    """Return a wall's frame: x along the length, y from the wall's start to its end."""
    start, end = wall
    along = (end - start) / np.hypot(*(end - start))
    return place(np.array([0.0, 0.0, 1.0]), np.array([*along, 0.0]), np.array([*start, 0.0]))


def _wall_at(flat: Any, frames: list[Pose]) -> int | None:
    """Return which wall a flat face of the bare length is; None for its two ends."""
    centre = GProp_GProps()
    BRepGProp.SurfaceProperties_s(flat, centre)
    middle = np.array(centre.CentreOfMass().Coord())
    # The middle of a wall's face is the middle of the wall: no other wall has it.
    for index, frame in enumerate(frames):
        x, y, z = frame.inverse()(middle).tolist()
        if abs(z) < SAME and x > SAME and y > SAME:
            return index
    return None


def _faces_of(shape: TopoDS_Shape) -> list[Any]:
    explorer, found = TopExp_Explorer(shape, TopAbs_FACE), []
    while explorer.More():
        found.append(TopoDS.Face_s(explorer.Current()))
        explorer.Next()
    return found
