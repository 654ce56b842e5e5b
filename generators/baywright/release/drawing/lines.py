"""Views as a draughtsman draws them: the edges of solids that the viewer sees, hidden ones left out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.piece.assembly import Assembly, Placed
from baywright.piece.numbering import Part, distinct
from baywright.piece.plate import Plate
from baywright.release.mesh import Mesh, mesh
from baywright.release.raster import fitted, nearest_faces

_FOLD = 0.8  # cosine: an edge is drawn where two faces turn by more (37 degrees), so that round holes stay smooth
_SAGITTA = 0.08  # mm
_SLIVER = 1e-3  # mm: triangles lower than this have no certain direction
_STEP = 1.5  # picture points between the places where an edge is looked at
_BEHIND = 0.2  # mm that a face may stand before an edge and not hide it: less than any bond line
_SHORT = 2.0  # picture points: what is seen of an edge for less is noise


@dataclass(frozen=True, eq=False)
class Light:
    """An assembly as light meshes: each part once, and where each piece and fastener stands.

    Attributes:
        assembly: the assembly.
        parts: its distinct parts.
        shapes: by part number, its mesh in its own frame.
        folds: by part number, its sharp edges: corners (k, 2) and the two faces (k, 2) at each.
    """

    assembly: Assembly
    parts: tuple[Part, ...]
    shapes: dict[str, Mesh]
    folds: dict[str, tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.bool_]]]


def light(assembly: Assembly, parts: Sequence[Part] | None = None) -> Light:
    """Return an assembly's light meshes."""
    found = tuple(distinct(assembly) if parts is None else parts)
    shapes = {part.number: mesh(part.piece, _SAGITTA) for part in found if part.piece.bodies()}
    return Light(assembly, found, shapes, {number: edges_of(*shape) for number, shape in shapes.items()})


def edges_of(
    vertices: NDArray[np.float64], faces: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.bool_]]:
    """Return the edges of a closed mesh: corners (k, 2), the two faces (k, 2) at each, and whether they fold there."""
    normal = normals(vertices, faces)
    sides = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    owner = np.tile(np.arange(len(faces)), 3)
    order = np.lexsort((sides[:, 1], sides[:, 0]))
    sides, owner = sides[order], owner[order]
    same = (sides[1:] == sides[:-1]).all(axis=1)
    pair, ends = np.column_stack([owner[:-1][same], owner[1:][same]]), sides[:-1][same]
    # Slivers between collinear corners have no direction of their own: what they seem to fold is flat.
    corners = vertices[faces]
    step = corners - np.roll(corners, 1, axis=1)
    twice = np.linalg.norm(np.cross(step[:, 0], step[:, 1]), axis=1)
    sound = twice > _SLIVER * np.linalg.norm(step, axis=2).max(axis=1)
    pair, ends = pair[sound[pair].all(axis=1)], ends[sound[pair].all(axis=1)]
    folded: NDArray[np.bool_] = (normal[pair[:, 0]] * normal[pair[:, 1]]).sum(axis=1) < _FOLD
    return ends, pair, folded


def sharp_edges(vertices: NDArray[np.float64], faces: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the edges (k, 2) of a closed mesh along which its faces turn: what a draughtsman would draw."""
    edges, _, folded = edges_of(vertices, faces)
    return edges[folded]


def normals(vertices: NDArray[np.float64], faces: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return the outward unit normal (m, 3) of each face."""
    corners = vertices[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    unit: NDArray[np.float64] = normal / np.maximum(np.linalg.norm(normal, axis=1), 1e-30)[:, None]
    return unit


def seen_lines(
    subject: Light,
    axes: NDArray[np.float64],
    *,
    marks: set[str] | None = None,
    apart: dict[str, NDArray[np.float64]] | None = None,
    points: int = 900,
) -> list[NDArray[np.float64]]:
    """Return what is seen of an assembly's edges as lines (2, 2) mm along the viewer's right and up: `seen_apart`."""
    return seen_apart(subject, axes, set(), marks=marks, apart=apart, points=points)[0]


def seen_apart(
    subject: Light,
    axes: NDArray[np.float64],
    strong: set[str],
    *,
    marks: set[str] | None = None,
    apart: dict[str, NDArray[np.float64]] | None = None,
    points: int = 900,
) -> tuple[list[NDArray[np.float64]], list[NDArray[np.float64]]]:
    """Return what is seen of an assembly's edges, those of the pieces in `strong` by themselves, second.

    Lines are (2, 2) mm along the viewer's right and up.

    Args:
        subject: the assembly's meshes.
        axes: (3, 3): rows point right, up and out of the picture.
        strong: marks of pieces whose lines are told apart.
        marks: the pieces and fasteners that are there; all if None.
        apart: by mark, how far (3,) mm a piece is drawn from its place.
        points: picture points along the longer side that hidden lines are told apart with.
    """
    solid, faces, ends, bold = [], [], [], []
    start = 0
    for part in subject.parts:
        if part.number not in subject.shapes:
            continue
        vertices, own = subject.shapes[part.number]
        edges, pair, folded = subject.folds[part.number]
        facing_own = normals(vertices, own)
        for mark, where in part.occurrences:
            if marks is not None and mark not in marks:
                continue
            stands = where(vertices) + (0.0 if apart is None else apart.get(mark, 0.0))
            front = facing_own @ (where.turn.T @ axes[2]) > 1e-9
            sides = front[pair]
            drawn = (folded & sides.any(axis=1)) | (sides[:, 0] != sides[:, 1])
            solid.append(stands)
            faces.append(own[front] + start)
            ends.append(stands[edges[drawn]])
            bold.append(np.full(int(drawn.sum()), mark in strong))
            start += len(vertices)
    if not solid:
        return [], []
    vertices, triangles, lines = np.concatenate(solid), np.concatenate(faces), np.concatenate(ends)
    flat, whose = _visible(vertices, triangles, lines, axes, points)
    told = np.concatenate(bold)[whose]
    return list(flat[~told]), list(flat[told])


def _visible(
    vertices: NDArray[np.float64],
    faces: NDArray[np.int64],
    lines: NDArray[np.float64],
    axes: NDArray[np.float64],
    points: int,
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return the parts (m, 2, 2) mm of lines (k, 2, 3) that no face hides, and which line (m,) each is of."""
    reach = np.ptp(vertices @ axes[:2].T, axis=0)
    shape = np.maximum((reach / reach.max() * points).astype(int) + 8, 16)
    view = fitted(axes, vertices, int(shape[0]), int(shape[1]), 0.01)
    corners = view.flat(vertices)[faces]
    _, nearest = nearest_faces(corners, view.width, view.height)
    start, slope = _planes(corners)
    a, b = view.flat(lines[:, 0]), view.flat(lines[:, 1])
    long = np.hypot(*(b - a)[:, :2].T)
    keep = long > 0.3
    a, b, long, number = a[keep], b[keep], long[keep], np.flatnonzero(keep)
    count = np.maximum(np.ceil(long / _STEP).astype(int), 2)
    which = np.repeat(np.arange(len(a)), count)
    place = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    share = (place + 0.5) / count[which]
    at = a[which] + (b[which] - a[which]) * share[:, None]
    # An edge is seen if at any of the points round it what is nearest ends there or lies behind: its own faces do. The
    # face's plane is taken at the edge itself, so that what lies a sheet's thickness behind a panel stays hidden.
    seen = np.zeros(len(at), dtype=bool)
    for dx, dy in ((-0.7, -0.7), (0.7, -0.7), (-0.7, 0.7), (0.7, 0.7)):
        i = np.clip((at[:, 1] + dy).astype(int), 0, view.height - 1)
        j = np.clip((at[:, 0] + dx).astype(int), 0, view.width - 1)
        face = nearest[i, j]
        over = start[face, 2] + ((at[:, :2] - start[face, :2]) * slope[face]).sum(axis=1)
        seen |= (face < 0) | (over <= at[:, 2] + _BEHIND)
    flat, line = _runs(a, b, count, which, place, seen, view.scale, view.origin)
    return flat, number[line]


def _planes(corners: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return a corner (m, 3) of each flat face and how its nearness grows across and up (m, 2)."""
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    safe = np.where(np.abs(area) < 1e-9, 1.0, area)
    across = (a[:, 2] * b[:, 1] - a[:, 1] * b[:, 2]) / safe
    up = (a[:, 0] * b[:, 2] - a[:, 2] * b[:, 0]) / safe
    return corners[:, 0], np.column_stack([across, up])


def _runs(
    a: NDArray[np.float64],
    b: NDArray[np.float64],
    count: NDArray[np.int64],
    which: NDArray[np.int64],
    place: NDArray[np.int64],
    seen: NDArray[np.bool_],
    scale: float,
    origin: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return each unbroken run of seen places as a line (m, 2, 2) mm, and which line (m,) it is of."""
    first = place == 0
    starts = np.flatnonzero(seen & (first | ~np.append(False, seen[:-1])))
    last = place == count[which] - 1
    stops = np.flatnonzero(seen & (last | ~np.append(seen[1:], False)))
    line = which[starts]
    low, high = place[starts] / count[line], (place[stops] + 1) / count[line]
    p = a[line, :2] + (b - a)[line, :2] * low[:, None]
    q = a[line, :2] + (b - a)[line, :2] * high[:, None]
    long = np.hypot(*(q - p).T)
    whole = (place[starts] == 0) & (place[stops] == count[line] - 1)
    kept = whole | (long >= _SHORT)
    flat, line = np.stack([p, q], axis=1)[kept] / scale + origin, line[kept]
    # A line over another is drawn once.
    rounded = np.round(np.sort(flat, axis=1).reshape(-1, 4), 2)
    _, once = np.unique(rounded, axis=0, return_index=True)
    once = np.sort(once)
    return flat[once], line[once]


def is_lining(item: Placed) -> bool:
    """Tell whether a piece is soft lining: gasket or liner."""
    return isinstance(item.piece, Plate) and item.piece.role.startswith(("liner", "gasket"))
