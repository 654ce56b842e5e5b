"""How far a box can shift each way until it meets the skin: the clearance that counts on each side.

A floor beside a foot is near, but moving sideways does not bring it nearer: what a shop asks is how far the box may go
that way. Each pair of a body and a triangle is advanced to contact by steps that cannot pass it (conservative
advancement: the plane between the two nearest points says how far a shift is safe).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from baywright.bay.convex import Array, Index, Shapes, hulls, nearest, shapes
from baywright.bay.gaps import REACH, Frame, frame_of, spot
from baywright.bay.near import SIDES
from baywright.bay.skin import Skin
from baywright.piece.solid import Block, Body
from baywright.shape.pose import Pose

WAYS = {  # vehicle frame: X rearward, Y to the right, Z up
    "front": (-1.0, 0.0, 0.0),
    "rear": (1.0, 0.0, 0.0),
    "left": (0.0, -1.0, 0.0),
    "right": (0.0, 1.0, 0.0),
    "above": (0.0, 0.0, 1.0),
    "below": (0.0, 0.0, -1.0),
}
_MEETS = 1e-3  # mm: nearer than this counts as met


@dataclass(frozen=True, slots=True, kw_only=True)
class Travel:
    """How far a box can go one way.

    Attributes:
        side: one of `near.SIDES`.
        way: mm until something is met.
        mark: the piece that meets it.
        at: where on the skin (x, y, z) mm.
    """

    side: str
    way: float
    mark: str
    at: tuple[float, float, float]


def travels(
    bodies: Sequence[tuple[str, Body]], pose: Pose, skin: Skin, reach: float = REACH, sides: Sequence[str] = SIDES
) -> tuple[Travel, ...]:
    """Return how far bodies (mark, body in the box's frame) at a pose can shift to each side, where within `reach` mm.

    What they meet already, or stand on, does not count: see `gaps` for that.
    """
    solid = shapes([b for _, b in bodies], pose)
    frames = [frame_of(body, pose) for _, body in bodies]
    found = []
    for side in sides:
        way = np.array(WAYS[side])
        body, face = _ahead([b for _, b in bodies], frames, skin, way, reach)
        going, at = _advanced(solid, skin, body, face, way, reach)
        if len(going) and going.min() < reach:
            i = int(np.argmin(going))
            found.append(Travel(side=side, way=float(going[i]), mark=bodies[body[i]][0], at=spot(at[i])))
    return tuple(found)


def _ahead(
    bodies: Sequence[Body], frames: Sequence[Frame], skin: Skin, way: Array, reach: float
) -> tuple[Index, Index]:
    """Return the pairs of a body and a triangle that may be the first to meet on a way (3,) along one axis."""
    cells, best = skin.cells, reach
    axis = int(np.argmax(np.abs(way)))
    sign = way[axis]
    across = [k for k in range(3) if k != axis]
    found: list[tuple[int, Index, Array]] = []
    for number in sorted(range(len(bodies)), key=lambda i: -float(np.prod(frames[i].half))):
        frame = frames[number]
        low, high = frame.around()
        front = high[axis] if sign > 0 else -low[axis]

        def gap(first: Array, last: Array, front: float = float(front)) -> Array:
            out: Array = (first[:, axis] if sign > 0 else -last[:, axis]) - front
            return out

        beside = ((cells.low <= high) & (cells.high >= low))[:, across].all(axis=1)
        behind = (cells.high[:, axis] < low[axis]) if sign > 0 else (cells.low[:, axis] > high[axis])
        which = cells.inside(beside & ~behind & (gap(cells.low, cells.high) <= best))
        if not len(which):
            continue
        corner = skin.corners(which)
        first, last = corner.min(axis=1), corner.max(axis=1)
        keep = ((first <= high) & (last >= low))[:, across].all(axis=1)
        keep &= (last[:, axis] >= low[axis]) if sign > 0 else (first[:, axis] <= high[axis])
        which, corner, lower = which[keep], corner[keep], gap(first[keep], last[keep])
        if isinstance(bodies[number], Block) and len(which):
            best = min(best, _first_corner(frame, corner.reshape(-1, 3), way))
        keep = lower <= best
        found.append((number, which[keep], lower[keep]))
    body, face = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for number, which, lower in found:
        keep = lower <= best
        face.append(which[keep])
        body.append(np.full(int(keep.sum()), number, dtype=np.int64))
    return np.concatenate(body), np.concatenate(face)


def _first_corner(frame: Frame, corner: Array, way: Array) -> float:
    """Return the least way (mm) after which a block meets one of some points that lie outside it; infinite if none."""
    own, back = frame.seen(corner), -(way @ frame.pose.turn)
    with np.errstate(divide="ignore", invalid="ignore"):
        t0, t1 = (-frame.half - own) / back, (frame.half - own) / back
    still = np.abs(back) < 1e-12
    within = np.abs(own) <= frame.half
    first = np.where(still, np.where(within, -np.inf, np.inf), np.minimum(t0, t1)).max(axis=1)
    last = np.where(still, np.where(within, np.inf, -np.inf), np.maximum(t0, t1)).min(axis=1)
    hit = (first > 0) & (first <= last)
    return float(first[hit].min(initial=np.inf))


def _advanced(solid: Shapes, skin: Skin, body: Index, face: Index, way: Array, reach: float) -> tuple[Array, Array]:
    """Return how far (m,) mm each pair goes until it meets, infinite if it does not, and where (m, 3)."""
    going, at = np.full(len(body), np.inf), np.zeros((len(body), 3))
    corners = skin.corners(face)
    here = np.zeros(len(body))
    open_, best = np.arange(len(body)), reach
    for step in range(100):
        if not len(open_):
            break
        distance, on_body, on_skin = nearest(
            solid, body[open_], hulls(corners[open_] - here[open_, None, None] * way), np.arange(len(open_))
        )
        if step == 0:  # what is met before the first step is a strike, not a way
            off = distance > 0
            open_, distance, on_body, on_skin = open_[off], distance[off], on_body[off], on_skin[off]
        met = distance <= _MEETS
        going[open_[met]] = here[open_[met]]
        at[open_[met]] = on_skin[met] + here[open_[met], None] * way
        best = min(best, float(going.min(initial=best)))
        slope = ((on_skin - on_body) @ way) / np.maximum(distance, 1e-300)
        toward = ~met & (slope > 1e-9)
        here[open_[toward]] += distance[toward] / slope[toward]
        open_ = open_[toward]
        open_ = open_[here[open_] <= best]
    return going, at
