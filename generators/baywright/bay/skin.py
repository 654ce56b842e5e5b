"""The skin of a bay: triangles or points of a scan, or the walls that a tape measured, sorted by place.

A scan is open, noisy and not watertight, so nothing here asks what is inside: only where the skin is. Triangles lie
sorted in cells, each cell with the block that just holds its triangles, so that a search looks at few of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from baywright.piece.solid import Block, Body
from baywright.shape.pose import Pose

if TYPE_CHECKING:
    from baywright.bay.envelope import Bay

Array = NDArray[np.float64]
Index = NDArray[np.int64]

CELL = 40.0  # mm: a cell holds some hundred triangles of a usual scan; any size gives the same answers
_AROUND = 400.0  # mm of solid car assumed around a bay that a tape measured
_SHEET = 2.0  # mm of sheet metal assumed around its opening
# The corners of a block by their places between low and high, and its faces as triangles.
_CORNERS = np.array([[i & 1, i >> 1 & 1, i >> 2 & 1] for i in range(8)], dtype=float)
_SIX_FACES = np.array(
    [
        (0, 2, 1), (1, 2, 3), (4, 5, 6), (5, 7, 6), (0, 1, 4), (1, 5, 4),
        (2, 6, 3), (3, 6, 7), (0, 4, 2), (2, 4, 6), (1, 3, 5), (3, 7, 5),
    ]
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Skin:
    """Triangles in the vehicle's frame; a single point is a triangle whose corners are one.

    Attributes:
        vertices: (v, 3) mm.
        faces: (m, 3) indices of vertices.
        trust: mm: how far the true skin may be from this one, added to every clearance.
        name: what it is, for messages.
    """

    vertices: Array
    faces: Index
    trust: float = 0.0
    name: str = "scan"

    def __len__(self) -> int:
        return len(self.faces)

    @cached_property
    def bounds(self) -> tuple[Array, Array]:
        """The lowest and highest coordinates (3,) mm of the triangles."""
        used = self.vertices[self.faces.ravel()]
        return used.min(axis=0), used.max(axis=0)

    @cached_property
    def cells(self) -> "Cells":
        """The triangles sorted by place; built when first asked for."""
        return _cells(self.vertices, self.faces)

    def corners(self, which: Index) -> Array:
        """Return the corners (k, 3, 3) mm of triangles in the order of `cells`."""
        return self.vertices[self.faces[self.cells.order[which]]]

    def above(self, height: float) -> "Skin":
        """Return the skin without the triangles that lie wholly below a height, mm: what a box stands on."""
        _, last = _spans(self.vertices, self.faces)
        return replace(self, faces=self.faces[last[:, 2] > height])

    def cropped(self, low: Array, high: Array) -> "Skin":
        """Return the triangles that reach into a block (3,) to (3,) mm; those that cross its edge are kept whole."""
        first, last = _spans(self.vertices, self.faces)
        keep = ((first <= high) & (last >= low)).all(axis=1)
        used, faces = np.unique(self.faces[keep].ravel(), return_inverse=True)
        return replace(self, vertices=self.vertices[used], faces=faces.reshape(-1, 3).astype(np.int64))


@dataclass(frozen=True, eq=False)
class Cells:
    """Triangles by cell.

    Attributes:
        order: (m,) triangle numbers, cell after cell.
        start: (c + 1,) where each cell starts in `order`.
        low, high: (c, 3) mm: the block that just holds each cell's triangles.
    """

    order: Index
    start: Index
    low: Array
    high: Array

    def near(self, low: Array, high: Array) -> Array:
        """Return (c,) mm: at least how far each cell is from a block."""
        apart = np.maximum(np.maximum(self.low - high, low - self.high), 0.0)
        out: Array = np.sqrt(np.einsum("cx,cx->c", apart, apart))
        return out

    def inside(self, cells: NDArray[np.bool_]) -> Index:
        """Return the places in `order` of all triangles of the cells marked."""
        which = np.flatnonzero(cells)
        count = self.start[which + 1] - self.start[which]
        total = int(count.sum())
        ends = np.cumsum(count)
        out: Index = np.arange(total) - np.repeat(ends - count, count) + np.repeat(self.start[which], count)
        return out


def _spans(vertices: Array, faces: Index) -> tuple[Array, Array]:
    """Return the lowest and highest coordinates (m, 3) of each triangle."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    return np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)


def _cells(vertices: Array, faces: Index) -> Cells:
    low, high = _spans(vertices, faces)
    middle, size = (low + high) / 2, (high - low).max(axis=1)
    place = np.floor((middle - middle.min(axis=0)) / CELL).astype(np.int64)
    # Triangles much larger than a cell lie in cells of their own, so that they do not blow up the others' blocks.
    kind = np.where(size <= CELL, 0, np.where(size <= 8 * CELL, 1, 2))
    nx, ny, nz = (place.max(axis=0) + 1).tolist()
    key = ((kind * nx + place[:, 0]) * ny + place[:, 1]) * nz + place[:, 2]
    order = np.argsort(key, kind="stable")
    start = np.flatnonzero(np.concatenate([[True], np.diff(key[order]) != 0]))
    return Cells(
        order,
        np.append(start, len(order)),
        np.minimum.reduceat(low[order], start, axis=0),
        np.maximum.reduceat(high[order], start, axis=0),
    )


def of_points(points: Array, trust: float = 0.0, name: str = "scan") -> Skin:
    """Return points (n, 3) mm as a skin."""
    return Skin(np.asarray(points, dtype=float), np.repeat(np.arange(len(points))[:, None], 3, axis=1), trust, name)


def of_bodies(bodies: Sequence[tuple[str, Body]], pose: Pose, trust: float = 0.0, name: str = "box") -> Skin:
    """Return the faces of bodies (mark, body in their own frame) at a pose as a skin.

    A cylinder counts as a prism around it, half a percent of its diameter outside it.
    """
    points, faces, count = [], [], 0
    for _, body in bodies:
        at, triangles = _faces_of(body)
        points.append(pose(at))
        faces.append(triangles + count)
        count += len(at)
    return Skin(np.concatenate(points), np.concatenate(faces), trust, name)


def _faces_of(body: Body) -> tuple[Array, Index]:
    """Return the corners (n, 3) mm and the triangles (m, 3) of a body."""
    if isinstance(body, Block):
        return body.low + _CORNERS * (body.high - body.low), _SIX_FACES
    ring = ring_about(body.start, body.axis, body.diameter / 2)
    n = np.arange(len(ring))
    after = (n + 1) % len(ring)
    side = np.concatenate(
        [np.column_stack([n, after, n + len(ring)]), np.column_stack([after, after + len(ring), n + len(ring)])]
    )
    ends = np.column_stack([np.zeros(len(n) - 2, dtype=np.int64), n[1:-1], n[2:]])
    return np.concatenate([ring, ring + body.axis * body.length]), np.concatenate([side, ends, ends + len(ring)])


def ring_about(centre: Array, axis: Array, radius: float, sides: int = 24) -> Array:
    """Return corners (sides, 3) mm round an axis of unit length, as far out as their edges just hold the circle."""
    x = np.cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
    x /= np.linalg.norm(x)
    angle = np.arange(sides) * 2 * np.pi / sides
    across = np.cos(angle)[:, None] * x + np.sin(angle)[:, None] * np.cross(axis, x)
    out: Array = centre + across * radius / np.cos(np.pi / sides)
    return out


def joined(skins: Sequence[Skin]) -> Skin:
    """Return several skins as one, with the largest of their trusts.

    Raises:
        ValueError: if there is none.
    """
    if not skins:
        raise ValueError("no skin to join")
    shift = np.cumsum([0, *(len(s.vertices) for s in skins)])
    return Skin(
        np.concatenate([s.vertices for s in skins]),
        np.concatenate([s.faces + n for s, n in zip(skins, shift, strict=False)]),
        max(s.trust for s in skins),
        " and ".join(dict.fromkeys(s.name for s in skins)),
    )


def of_bay(bay: "Bay", *, open_top: bool) -> Skin:
    """Return the skin of a bay as taped: the faces of its spaces, and its keep-outs.

    The car is taken as solid around the bay; with `open_top` nothing lies above the opening's rim, as with the bonnet
    or the lid of the boot open. A bay without an opening stays shut.
    """
    import manifold3d

    low = np.array([min(float(s.outline[:, k].min()) for s in bay.spaces) for k in (0, 1)] + [bay.levels[0]])
    high = np.array([max(float(s.outline[:, k].max()) for s in bay.spaces) for k in (0, 1)] + [bay.levels[-1]])
    size = high - low + 2 * _AROUND
    if open_top and bay.opening is not None:  # nothing of the car lies above the opening's rim
        size[2] = bay.opening.height + _SHEET - (low[2] - _AROUND)
    car = manifold3d.Manifold.cube(size.tolist()).translate((low - _AROUND).tolist())
    hollow = [_upright(s.outline, s.low, s.high) for s in bay.spaces]
    if open_top and bay.opening is not None:
        hollow.append(_upright(bay.opening.outline, bay.opening.height - 1e-3, bay.opening.height + 2 * _SHEET))
    car = car - manifold3d.Manifold.batch_boolean(hollow, manifold3d.OpType.Add)
    solid = [car, *(_upright(t.outline, t.low, t.high) for t in bay.keep_outs)]
    raw = manifold3d.Manifold.batch_boolean(solid, manifold3d.OpType.Add).to_mesh64()
    vertices = np.asarray(raw.vert_properties)[:, :3].astype(float)
    faces = np.asarray(raw.tri_verts).astype(np.int64)
    # The outside of the block of car assumed around the bay is no skin of it.
    first, last = _spans(vertices, faces)
    outside = ((first <= low - _AROUND / 2) & (last <= low - _AROUND / 2)).any(axis=1)
    outside |= ((first >= high + _AROUND / 2) & (last >= high + _AROUND / 2)).any(axis=1)
    slack = max(float(s.slack.max(initial=0.0)) for s in (*bay.spaces, *bay.keep_outs))
    slack = max([slack, *(max(s.low_slack, s.high_slack) for s in bay.spaces)])
    return Skin(vertices, faces[~outside], slack, f"bay '{bay.name}' as taped")


def _upright(outline: Array, low: float, high: float) -> Any:
    import manifold3d

    section = manifold3d.CrossSection([outline], manifold3d.FillRule.NonZero)
    return section.extrude(high - low).translate([0.0, 0.0, low])
