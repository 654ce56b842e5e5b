"""Shaded pictures of triangles with true hidden surfaces: a small depth-buffer renderer in numpy.

Sorting whole triangles by distance draws long panels over short screws; here every picture point keeps what is nearest.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_LIGHT = np.array([0.60, 0.55, 0.60])  # toward the lamp, in the viewer's frame: right, up, out of the picture
_FILL = np.array([-0.8, 0.1, 0.6])  # a weaker lamp from the other side, so that no face is black
_BEND = 0.9  # cosine: faces that turn by less run on without a line between them
_CHUNK = 400_000  # picture points worked on at once: what stays near the processor


@dataclass(frozen=True, eq=False)
class View:
    """Where a picture is taken from: rows of `axes` (3, 3) point right, up and out of the picture.

    Attributes:
        axes: (3, 3), orthogonal.
        origin: (2,) mm: what stands at the picture's lower left corner, along right and up.
        scale: picture points to a mm.
        width: picture points across.
        height: picture points up.
    """

    axes: NDArray[np.float64]
    origin: NDArray[np.float64]
    scale: float
    width: int
    height: int

    def flat(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return points (n, 3) mm as (n, 3): across, up (picture points from the lower left), nearness (mm)."""
        seen = points @ self.axes.T
        seen[:, :2] = (seen[:, :2] - self.origin) * self.scale
        return seen


def view_axes(around: float, above: float) -> NDArray[np.float64]:
    """Return a viewer's axes (3, 3) standing `around` degrees from -y toward +x, looking down by `above` degrees."""
    a, b = np.radians(around), np.radians(above)
    out = np.array([np.sin(a) * np.cos(b), -np.cos(a) * np.cos(b), np.sin(b)])
    right = np.array([np.cos(a), np.sin(a), 0.0])
    return np.array([right, np.cross(out, right), out])


def fitted(axes: NDArray[np.float64], points: NDArray[np.float64], width: int, height: int, margin: float) -> View:
    """Return the view along `axes` that just holds points (n, 3) mm, with a margin as a share of the picture."""
    seen = points @ axes[:2].T
    low, high = seen.min(axis=0), seen.max(axis=0)
    size = np.maximum(high - low, 1e-6)
    scale = float(min(np.array([width, height]) * (1 - 2 * margin) / size))
    origin = (low + high) / 2 - np.array([width, height]) / (2 * scale)
    return View(axes, origin, scale, width, height)


def render(
    view: View,
    vertices: NDArray[np.float64],
    faces: NDArray[np.int64],
    colours: NDArray[np.float64],
    owners: NDArray[np.int64],
) -> NDArray[np.float32]:
    """Return a picture (height, width, 4), red, green, blue, opacity from 0 to 1, first row at the top.

    Faces are lit flat; edges are drawn where the piece, the face's direction or the depth changes.

    Args:
        view: where it is taken from.
        vertices: (n, 3) mm.
        faces: (m, 3) corners, counter-clockwise seen from outside.
        colours: (m, 3) of each face.
        owners: (m,) the number of the piece that each face belongs to.
    """
    seen = view.flat(vertices)
    corners = vertices[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1)
    normal = (normal / np.maximum(size, 1e-30)[:, None]) @ view.axes.T
    front = np.flatnonzero((normal[:, 2] > 1e-6) & (size > 1e-12))
    nearest, which = nearest_faces(seen[faces[front]], view.width, view.height)
    # One past the last face stands for the empty ground; -1 picks it.
    index = np.append(front, len(faces)).astype(np.int32)[which]
    table = np.zeros((len(faces) + 1, 4), dtype=np.float32)
    table[:-1, :3] = np.clip(colours * _lit(normal)[:, None], 0, 1)
    table[:-1, 3] = 1.0
    picture: NDArray[np.float32] = table[index]
    line = _lines(index, nearest, normal, owners, view)
    picture[line, :3] *= 0.25
    picture[line, 3] = 1.0
    return picture[::-1]


def _lit(normal: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the brightness (m,) of faces by their direction in the viewer's frame."""
    main = np.clip(normal @ (_LIGHT / np.linalg.norm(_LIGHT)), 0, None)
    fill = np.clip(normal @ (_FILL / np.linalg.norm(_FILL)), 0, None)
    brightness: NDArray[np.float64] = 0.44 + 0.56 * main + 0.18 * fill
    return brightness


def nearest_faces(
    corners: NDArray[np.float64], width: int, height: int
) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    """Return nearness (height, width) and the index of the nearest triangle, -1 where there is none.

    Triangles (m, 3, 3) are cut into rows of picture points and those into points, all at once in numpy; a point belongs
    to a triangle if its middle lies in it.
    """
    depth = np.full(width * height, -np.inf, dtype=np.float32)
    who = np.full(width * height, -1, dtype=np.int32)
    x, y, z = corners[..., 0], corners[..., 1], corners[..., 2]
    low = np.clip(np.ceil(y.min(axis=1) - 0.5), 0, height).astype(np.int64)
    high = np.clip(np.ceil(y.max(axis=1) - 0.5), 0, height).astype(np.int64)
    # The plane of each triangle: nearness as a straight function of x and y.
    ax, ay, az = x[:, 1] - x[:, 0], y[:, 1] - y[:, 0], z[:, 1] - z[:, 0]
    bx, by, bz = x[:, 2] - x[:, 0], y[:, 2] - y[:, 0], z[:, 2] - z[:, 0]
    area = ax * by - ay * bx
    safe = np.where(np.abs(area) < 1e-9, 1.0, area)
    slope_x, slope_y = (az * by - ay * bz) / safe, (ax * bz - az * bx) / safe
    rows = np.where(np.abs(area) < 1e-9, 0, np.maximum(high - low, 0))
    triangle = np.repeat(np.arange(len(corners)), rows)
    row = np.arange(len(triangle)) - np.repeat(np.cumsum(rows) - rows, rows) + low[triangle]
    middle = row + 0.5
    start, end = np.full(len(row), np.inf), np.full(len(row), -np.inf)
    for i, j in ((0, 1), (1, 2), (2, 0)):
        yi, yj = y[triangle, i], y[triangle, j]
        crosses = (np.minimum(yi, yj) <= middle) & (middle <= np.maximum(yi, yj)) & (yi != yj)
        share = (middle - yi) / np.where(yi == yj, 1.0, yj - yi)
        at = x[triangle, i] + share * (x[triangle, j] - x[triangle, i])
        np.minimum(start, at, out=start, where=crosses)
        np.maximum(end, at, out=end, where=crosses)
    empty = ~np.isfinite(start)
    first = np.clip(np.ceil(np.where(empty, 0.0, start) - 0.5), 0, width).astype(np.int64)
    last = np.clip(np.ceil(np.where(empty, 0.0, end) - 0.5), 0, width).astype(np.int64)
    count = np.maximum(last - first, 0)
    kept = count > 0
    triangle, row, first, count = triangle[kept], row[kept], first[kept], count[kept]
    # Of each strip: its first point's place and nearness, and how that grows from point to point.
    near = z[triangle, 0] + slope_x[triangle] * (first + 0.5 - x[triangle, 0])
    near += slope_y[triangle] * (row + 0.5 - y[triangle, 0])
    begins, nears = (row * width + first).astype(np.int32), near.astype(np.float32)
    grows, whose = slope_x[triangle].astype(np.float32), triangle.astype(np.int32)
    total = np.cumsum(count)
    cut = 0
    while cut < len(count):
        stop = max(int(np.searchsorted(total, (total[cut - 1] if cut else 0) + _CHUNK)), cut + 1)
        n = count[cut:stop]
        along = np.arange(int(n.sum()), dtype=np.int32) - np.repeat((np.cumsum(n) - n).astype(np.int32), n)
        place = np.repeat(begins[cut:stop], n) + along
        here = np.repeat(nears[cut:stop], n) + np.repeat(grows[cut:stop], n) * along.astype(np.float32)
        # Most points of a crowded picture lie behind what was drawn before: only the others are looked at again.
        ahead = np.flatnonzero(here > depth[place])
        place, here = place[ahead], here[ahead]
        np.maximum.at(depth, place, here)
        won = here == depth[place]
        who[place[won]] = np.repeat(whose[cut:stop], n)[ahead[won]]
        cut = stop
    return depth.reshape(height, width), who.reshape(height, width)


def _lines(
    index: NDArray[np.int32],
    nearness: NDArray[np.float32],
    normal: NDArray[np.float64],
    owners: NDArray[np.int64],
    view: View,
) -> NDArray[np.bool_]:
    """Return where lines are drawn: between a point and its neighbour above or to the right that is another face."""
    line = np.zeros(index.size, dtype=bool)
    face, near = index.ravel(), np.where(index < len(owners), nearness, -np.inf).ravel()
    owner = np.append(owners, -1)
    facing = np.vstack([normal, np.zeros(3)])
    wide = index.shape[1]
    # Within one face there is never a line: only its borders are looked at.
    above = np.flatnonzero(face[:-wide] != face[wide:])
    beside = np.flatnonzero(index[:, :-1] != index[:, 1:])
    beside += beside // (wide - 1)
    for p, q in ((above, above + wide), (beside, beside + 1)):
        one, other = face[p], face[q]
        turned = (facing[one] * facing[other]).sum(axis=1) < _BEND
        # How far (mm) a smooth face may fall from one point to the next, and a little more.
        fall = 4.0 / view.scale / np.maximum(np.abs(facing[one, 2]), 0.05) + 0.6
        with np.errstate(invalid="ignore"):
            apart = np.abs(near[p] - near[q]) > fall
        differ = (owner[one] != owner[other]) | turned | apart
        # The line belongs to the nearer of the two: it stays on the piece whose edge it is.
        line[np.where(near[p] >= near[q], p, q)[differ]] = True
    return line.reshape(index.shape)
