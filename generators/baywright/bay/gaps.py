"""Exact clearance of a box's bodies to a skin: the least distance of each piece, with both points.

Two bounds cut the search down: what a triangle's corners are from a body is never less than its distance, and the
block that holds a triangle in the body's own frame is never farther. What lies between goes to `convex.nearest`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.bay.convex import TOLERANCE, Array, Index, Shapes, hulls, nearest, shapes
from baywright.bay.skin import Skin
from baywright.bay.strike import depth
from baywright.piece.solid import Block, Body, Round
from baywright.shape.pose import Pose, cross

REACH = 150.0  # mm: how far is looked unless asked otherwise
CLOSE = 40.0  # mm: how far every single piece is looked at unless asked otherwise


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """The least distance from a piece to a skin.

    Attributes:
        mark: the piece.
        distance: mm; 0 where they touch; negative: how far at least the skin reaches into the piece.
        on_box: the nearest point of the piece (x, y, z) mm, vehicle frame.
        on_skin: the nearest point of the skin, mm.
    """

    mark: str
    distance: float
    on_box: tuple[float, float, float]
    on_skin: tuple[float, float, float]


@dataclass(frozen=True, eq=False, kw_only=True)
class Gaps:
    """How a box's pieces stand to a skin.

    Attributes:
        least: the least of all; None if the skin holds nothing within `reach`.
        pieces: the least of each piece within `close`, smallest first.
        trust: the skin's, mm.
        reach: how far was looked at all, mm.
        close: how far was looked from every piece, mm.
        struck: number of pairs of a body and a triangle that share space.
    """

    least: Gap | None
    pieces: tuple[Gap, ...]
    trust: float
    reach: float
    close: float
    struck: int

    @property
    def worst(self) -> float:
        """The least distance less the skin's trust, mm; infinite if nothing is within reach."""
        return np.inf if self.least is None else self.least.distance - self.trust


@dataclass(frozen=True, eq=False)
class Frame:
    """A body's own frame: its pose, and the block (half lengths about the origin) that just holds it there."""

    pose: Pose
    half: Array

    def seen(self, points: Array) -> Array:
        """Return points (n, 3) of the vehicle's frame as this frame sees them."""
        out: Array = (points - self.pose.shift) @ self.pose.turn
        return out

    def around(self) -> tuple[Array, Array]:
        """Return the lowest and highest corner (3,) mm of the upright block that holds it in the vehicle's frame."""
        far = np.abs(self.pose.turn) @ self.half
        return self.pose.shift - far, self.pose.shift + far


def frame_of(body: Body, pose: Pose) -> Frame:
    """Return the frame of a body that stands at a pose; a cylinder's z runs along it."""
    if isinstance(body, Block):
        return Frame(pose.after(Pose(np.eye(3), (body.low + body.high) / 2)), (body.high - body.low) / 2)
    z = body.axis
    x = np.eye(3)[int(np.argmin(np.abs(z)))]
    x = x - (x @ z) * z
    x /= np.linalg.norm(x)
    r = body.diameter / 2
    turn = np.column_stack([x, cross(z, x), z])
    return Frame(pose.after(Pose(turn, body.start + z * body.length / 2)), np.array([r, r, body.length / 2]))


def least_gaps(
    bodies: Sequence[tuple[str, Body]], pose: Pose, skin: Skin, reach: float = REACH, close: float = CLOSE
) -> Gaps:
    """Return how bodies (mark, body in the box's frame) at a pose stand to a skin.

    Args:
        bodies: blocks and cylinders, each with its piece's mark.
        pose: from the box's frame to the vehicle's; any.
        skin: vehicle frame.
        reach: how far to look at all, mm.
        close: how far to look from every single piece, mm.
    """
    pair_body, pair_face = _candidates(bodies, pose, skin, reach, min(close, reach))
    solid = shapes([b for _, b in bodies], pose)
    distance, on_box, on_skin = np.zeros(len(pair_body)), *np.zeros((2, len(pair_body), 3))
    # A corner inside a body is the usual way to meet; a box that stands deep in a scan holds thousands.
    inside, spots = _corners_inside(bodies, pose, skin, pair_body, pair_face)
    on_box[inside] = on_skin[inside] = spots[inside]
    rest = np.flatnonzero(~inside)
    distance[rest], on_box[rest], on_skin[rest] = _measured(solid, skin, pair_body[rest], pair_face[rest])
    struck = distance <= 0.0
    if struck.any():
        rows = np.flatnonzero(struck)
        for number in np.unique(pair_body[rows]):
            mine = rows[pair_body[rows] == number]
            frame = frame_of(bodies[number][1], pose)
            distance[mine] = -depth(frame.seen(skin.corners(pair_face[mine]).reshape(-1, 3)), frame.half)
    keep = distance <= reach
    pair_body, distance, on_box, on_skin = pair_body[keep], distance[keep], on_box[keep], on_skin[keep]
    if not len(distance):
        return Gaps(least=None, pieces=(), trust=skin.trust, reach=reach, close=close, struck=0)
    order = np.lexsort((pair_body, distance))
    first: dict[str, int] = {}
    for i in order.tolist():
        first.setdefault(bodies[pair_body[i]][0], i)

    def gap(i: int) -> Gap:
        return Gap(
            mark=bodies[pair_body[i]][0],
            distance=float(distance[i]),
            on_box=spot(on_box[i]),
            on_skin=spot(on_skin[i]),
        )

    return Gaps(
        least=gap(int(order[0])),
        pieces=tuple(gap(i) for i in first.values() if distance[i] <= close),
        trust=skin.trust,
        reach=reach,
        close=close,
        struck=int(struck.sum()),
    )


def _corners_inside(
    bodies: Sequence[tuple[str, Body]], pose: Pose, skin: Skin, body: Index, face: Index
) -> tuple[NDArray[np.bool_], Array]:
    """Tell of pairs (m,) whether a corner of the triangle lies in the body, and which (m, 3) mm."""
    inside, spots = np.zeros(len(body), dtype=bool), np.zeros((len(body), 3))
    for number in np.unique(body):
        mine = np.flatnonzero(body == number)
        corners = skin.corners(face[mine])
        away = _away(bodies[number][1], frame_of(bodies[number][1], pose), corners.reshape(-1, 3)).reshape(-1, 3)
        inside[mine] = (away <= 0.0).any(axis=1)
        spots[mine] = corners[np.arange(len(mine)), away.argmin(axis=1)]
    return inside, spots


def spot(point: Array) -> tuple[float, float, float]:
    """Return a point (3,) as three plain numbers."""
    x, y, z = point.tolist()
    return x, y, z


def strikes(bodies: Sequence[Body], pose: Pose, skin: Skin) -> NDArray[np.bool_]:
    """Tell for each body whether it shares space with the skin or touches it."""
    found = np.zeros(len(bodies), dtype=bool)
    marked = [(str(i), body) for i, body in enumerate(bodies)]
    pair_body, pair_face = _candidates(marked, pose, skin, 1e-3, 1e-3)
    if len(pair_body):
        distance, _, _ = _measured(shapes(bodies, pose), skin, pair_body, pair_face)
        found[pair_body[distance <= 0.0]] = True
    return found


def least_distance(bodies: Sequence[tuple[str, Body]], pose: Pose, skin: Skin, reach: float = REACH) -> float:
    """Return the least distance in mm of all bodies to a skin: 0 if they meet, `reach` if nothing is within it."""
    frames = [frame_of(body, pose) for _, body in bodies]
    if any(_holds_a_corner(body, frame, skin) for (_, body), frame in zip(bodies, frames, strict=True)):
        return 0.0
    pair_body, pair_face = _candidates(bodies, pose, skin, reach, 0.0)
    if not len(pair_body):
        return reach
    distance, _, _ = _measured(shapes([b for _, b in bodies], pose), skin, pair_body, pair_face)
    return float(min(distance.min(), reach))


def _holds_a_corner(body: Body, frame: Frame, skin: Skin) -> bool:
    """Tell whether a triangle's corner in the nearest cells lies in a body: the usual way to meet, soon told."""
    near = skin.cells.near(*frame.around())
    first = np.argsort(near, kind="stable")[:3]
    look = np.zeros(len(near), dtype=bool)
    look[first[near[first] <= 0.0]] = True
    return bool(look.any() and _at_most(body, frame, skin, skin.cells.inside(look)).min() <= 0.0)


def _measured(solid: Shapes, skin: Skin, body: Index, face: Index) -> tuple[Array, Array, Array]:
    """Return exact distances (m,) and points (m, 3) of pairs, in lots that keep memory small."""
    parts = []
    for start in range(0, len(body), 20000):
        run = slice(start, start + 20000)
        corners = hulls(skin.corners(face[run]))
        parts.append(nearest(solid, body[run], corners, np.arange(len(corners))))
    if not parts:
        return np.zeros(0), np.zeros((0, 3)), np.zeros((0, 3))
    return (
        np.concatenate([p[0] for p in parts]),
        np.concatenate([p[1] for p in parts]),
        np.concatenate([p[2] for p in parts]),
    )


def _candidates(
    bodies: Sequence[tuple[str, Body]], pose: Pose, skin: Skin, reach: float, close: float
) -> tuple[Index, Index]:
    """Return pairs of a body's number and a triangle (by its place in the cells' order) that may be a nearest one.

    The nearest triangle of all within `reach` is among them, and that of each piece within `close`.
    """
    cells = skin.cells
    best, best_piece = reach, dict[str, float]()
    found: list[tuple[int, Index, Array]] = []
    frames = [frame_of(body, pose) for _, body in bodies]
    # The largest first: they soon tell what the others need not look at.
    for number in sorted(range(len(bodies)), key=lambda i: -float(np.prod(frames[i].half))):
        mark, body = bodies[number]
        frame = frames[number]
        near = cells.near(*frame.around())
        limit = max(best, best_piece.get(mark, close))
        first = np.argsort(near, kind="stable")[:3]
        first = first[near[first] <= limit]
        if len(first):  # a first look at the nearest cells narrows the search
            look = np.zeros(len(near), dtype=bool)
            look[first] = True
            seen = float(_at_most(body, frame, skin, cells.inside(look)).min())
            best, best_piece[mark] = min(best, seen), min(best_piece.get(mark, close), seen)
        which = cells.inside(near <= max(best, best_piece.get(mark, close)) + TOLERANCE)
        if not len(which):
            continue
        seen = float(_at_most(body, frame, skin, which).min())
        best, best_piece[mark] = min(best, seen), min(best_piece.get(mark, close), seen)
        lower = _at_least(frame, skin, which)
        keep = lower <= max(best, best_piece[mark]) + TOLERANCE
        found.append((number, which[keep], lower[keep]))
    pair_body, pair_face = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for number, which, lower in found:  # once more, now that every limit is known
        keep = lower <= max(best, best_piece[bodies[number][0]]) + TOLERANCE
        pair_face.append(which[keep])
        pair_body.append(np.full(int(keep.sum()), number, dtype=np.int64))
    return np.concatenate(pair_body), np.concatenate(pair_face)


def _at_most(body: Body, frame: Frame, skin: Skin, which: Index) -> Array:
    """Return (m,) mm that triangles can be away at most: the least of their corners' distances."""
    out: Array = _away(body, frame, skin.corners(which).reshape(-1, 3)).reshape(-1, 3).min(axis=1)
    return out


def _away(body: Body, frame: Frame, points: Array) -> Array:
    """Return (n,) mm that points are from a body; 0 inside it."""
    own = frame.seen(points)
    if isinstance(body, Round):
        over = np.maximum(np.hypot(own[:, 0], own[:, 1]) - body.diameter / 2, 0.0)
        round_: Array = np.hypot(over, np.maximum(np.abs(own[:, 2]) - frame.half[2], 0.0))
        return round_
    way = np.maximum(np.abs(own) - frame.half, 0.0)
    out: Array = np.sqrt(np.einsum("mx,mx->m", way, way))
    return out


def _at_least(frame: Frame, skin: Skin, which: Index) -> Array:
    """Return (m,) mm that triangles must be away at least: from the block that holds each in the body's own frame."""
    own = frame.seen(skin.corners(which).reshape(-1, 3)).reshape(-1, 3, 3)
    apart = np.maximum(np.maximum(own.min(axis=1) - frame.half, -frame.half - own.max(axis=1)), 0.0)
    out: Array = np.sqrt(np.einsum("mx,mx->m", apart, apart))
    return out
