"""Light triangle meshes of pieces, straight from their profiles: for pictures and reports, without the CAD kernel."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from baywright.piece.assembly import Assembly, Piece
from baywright.piece.extrusion import Extrusion
from baywright.piece.numbering import distinct
from baywright.piece.plate import Plate
from baywright.piece.solid import Block, Round
from baywright.shape.loop import counter_clockwise, polygon
from baywright.shape.pose import Pose, pose, shifted
from baywright.shape.profile import Profile

SAGITTA = 0.05  # mm that a chord may stand off its arc

Mesh = tuple[NDArray[np.float64], NDArray[np.int64]]


def meshes(
    assembly: Assembly, sagitta: float = SAGITTA
) -> list[tuple[str, str, NDArray[np.float64], NDArray[np.int64]]]:
    """Return every piece and fastener with a body as (mark, part number, vertices (n, 3) mm, faces (m, 3)).

    Vertices stand in the assembly's frame; faces turn counter-clockwise seen from outside and close up.

    Args:
        assembly: drilled or not.
        sagitta: how far chords may leave the true arcs, mm.
    """
    found = []
    for part in distinct(assembly):
        if not part.piece.bodies():
            continue
        vertices, faces = mesh(part.piece, sagitta)
        found += [(mark, part.number, where(vertices), faces) for mark, where in part.occurrences]
    return found


def mesh(piece: Piece, sagitta: float = SAGITTA) -> Mesh:
    """Return a piece's closed mesh in its own frame: vertices (n, 3) mm and faces (m, 3); bodies are joined."""
    import manifold3d

    if isinstance(piece, Plate):
        body = _prism(piece.profile, piece.thickness, shifted(), sagitta)
        top = piece.thickness
        # A pocket's tool stands out over the face a little, so that no skin is left over it.
        tools = [_prism(p, h.depth + 1.0, shifted(z=top - h.depth), sagitta) for p, h in piece.pockets()]
    elif isinstance(piece, Extrusion):
        body = _prism(piece.stock.profile, piece.length, shifted(), sagitta)
        faces = piece.faces()
        tools = []
        for hole in piece.holes:
            face = faces[hole.face]
            through = hole.depth >= face.depth - 1e-6
            below = hole.depth + (_over(piece) if through else 0.0)
            whole = Profile(counter_clockwise(hole.loop))
            tools.append(_prism(whole, below + 1.0, face.pose.after(shifted(z=-below)), sagitta))
    else:
        bodies = [_body(part, sagitta) for part in piece.bodies()]
        if not bodies:
            raise ValueError(f"{piece.role}: has no body to draw")
        body, tools = manifold3d.Manifold.batch_boolean(bodies, manifold3d.OpType.Add), []
    if tools:
        body = body - manifold3d.Manifold.batch_boolean(tools, manifold3d.OpType.Add)
    raw = body.to_mesh64()
    return np.asarray(raw.vert_properties)[:, :3].astype(float), np.asarray(raw.tri_verts).astype(np.int64)


def _over(piece: Extrusion) -> float:
    """Return how far a drill may run out past a wall without touching the next one, mm."""
    return 0.0 if piece.stock.shape == "bar" else min(1.0, piece.stock.wall / 2)


def _prism(shape: Profile, height: float, where: Pose, sagitta: float) -> Any:
    import manifold3d

    loops = [polygon(loop, sagitta) for loop in (shape.outer, *shape.holes)]
    section = manifold3d.CrossSection(loops, manifold3d.FillRule.EvenOdd)
    matrix = np.column_stack([where.turn, where.shift])
    return section.extrude(height).transform(matrix)


def _body(body: Block | Round, sagitta: float) -> Any:
    import manifold3d

    if isinstance(body, Block):
        return manifold3d.Manifold.cube((body.high - body.low).tolist()).translate(body.low.tolist())
    r = body.diameter / 2
    sides = max(int(np.ceil(np.pi / np.arccos(max(1 - sagitta / r, 0.0)))), 20)
    return manifold3d.Manifold.cylinder(body.length, r, r, sides).transform(
        np.column_stack([_frame(body.axis).turn, body.start])
    )


def _frame(z: NDArray[np.float64]) -> Pose:
    """Return a pose with the given z axis (3,)."""
    x = np.eye(3)[int(np.argmin(np.abs(z)))]
    x = x - (x @ z) * z
    x /= np.linalg.norm(x)
    return pose(x, np.cross(z, x), np.zeros(3))
