"""Bodies that stand at any angle: whether they share space, and how far they are apart.

A block is a block in its own piece's frame; a cylinder counts as the block round it, and for distances also as the
ball-ended cylinder round it, whichever is farther: both enclose it, so the distance is never too large.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.piece.assembly import Assembly, Placed
from baywright.piece.joint import ScrewLine
from baywright.piece.scene import TOUCH, Standing, overlapping, scene
from baywright.piece.solid import Body, Round, enclosing
from baywright.shape.pose import Pose, cross

Array = NDArray[np.float64]

_BITS = np.array([[i & 1, i >> 1 & 1, i >> 2 & 1] for i in range(8)], dtype=float) * 2 - 1
_EDGES = np.array([(i, i | bit) for i in range(8) for bit in (1, 2, 4) if not i & bit])


@dataclass(frozen=True, eq=False)
class Box:
    """A block at any angle: centre (3,) mm, axes (3, 3) as columns, half sizes (3,) mm; radius of a cylinder, else 0.

    A cylinder lies along its first axis.
    """

    centre: Array
    axes: Array
    half: Array
    radius: float = 0.0

    def corners(self) -> Array:
        """Return its corners (8, 3) mm."""
        out: Array = self.centre + (_BITS * self.half) @ self.axes.T
        return out

    def moved(self, pose: Pose) -> "Box":
        """Return the box seen from outside `pose`."""
        return Box(pose(self.centre), pose.turn @ self.axes, self.half, self.radius)

    def line(self) -> "Box":
        """Return a cylinder's axis as a box without width."""
        return Box(self.centre, self.axes, np.array([self.half[0], 0.0, 0.0]))


def box_of(body: Body, pose: Pose) -> Box:
    """Return a body of a piece as a box in the frame that `pose` leads to."""
    if isinstance(body, Round):
        axis = body.axis / np.linalg.norm(body.axis)
        side = np.eye(3)[int(np.abs(axis).argmin())]
        across = side - (side @ axis) * axis
        across = across / np.linalg.norm(across)
        axes = np.column_stack([axis, across, cross(axis, across)])
        half = np.array([body.length, body.diameter, body.diameter]) / 2
        return Box(body.start + axis * body.length / 2, axes, half, body.diameter / 2).moved(pose)
    block = enclosing(body)
    return Box((block.low + block.high) / 2, np.eye(3), (block.high - block.low) / 2).moved(pose)


def share(a: Box, b: Box) -> bool:
    """Tell whether two boxes share more than their surface (separating axes; Gottschalk 1996)."""
    between = b.centre - a.centre
    if float(between @ between) > (np.linalg.norm(a.half) + np.linalg.norm(b.half)) ** 2:
        return False
    crossed = np.cross(a.axes.T[:, None], b.axes.T[None]).reshape(-1, 3)
    length = np.linalg.norm(crossed, axis=1)
    keep = length > 1e-9
    axes = np.vstack([a.axes.T, b.axes.T, crossed[keep] / length[keep, None]])
    gap = np.abs(axes @ between) - np.abs(axes @ a.axes) @ a.half - np.abs(axes @ b.axes) @ b.half
    return bool((gap < -TOUCH).all())


def distance(a: Box, b: Box) -> tuple[float, Array]:
    """Return how far two boxes are apart in mm (0 if they meet), and the nearest place on the second."""
    if a.radius or b.radius:
        flat, place = distance(_plain(a), _plain(b))
        lean, other = distance(a.line() if a.radius else a, b.line() if b.radius else b)
        lean -= a.radius + b.radius
        return (lean, other) if lean > flat else (flat, place)
    if share(a, b):
        return 0.0, b.centre
    near_b, on_b, _ = _corners_to(a, b)
    near_a, _, corner = _corners_to(b, a)
    between, _, edge = _edges(a, b)
    return min(((near_b, on_b), (near_a, corner), (between, edge)), key=lambda found: found[0])


def _plain(box: Box) -> Box:
    return Box(box.centre, box.axes, box.half)


def _corners_to(a: Box, b: Box) -> tuple[float, Array, Array]:
    """Return the least distance of a's corners to b, the place on b, and the corner."""
    corners = a.corners()
    own = (corners - b.centre) @ b.axes
    on = np.clip(own, -b.half, b.half)
    gaps = np.linalg.norm(own - on, axis=1)
    i = int(gaps.argmin())
    return float(gaps[i]), b.centre + b.axes @ on[i], corners[i]


def _edges(a: Box, b: Box) -> tuple[float, Array, Array]:
    """Return the least distance between edges of a and b, and the places on a and on b (Ericson 2005, segments)."""
    p, q = a.corners(), b.corners()
    p0, d1 = p[_EDGES[:, 0]][:, None], (p[_EDGES[:, 1]] - p[_EDGES[:, 0]])[:, None]
    q0, d2 = q[_EDGES[:, 0]][None], (q[_EDGES[:, 1]] - q[_EDGES[:, 0]])[None]
    r = p0 - q0
    aa, ee = (d1 * d1).sum(-1), (d2 * d2).sum(-1)
    ff, cc, bb = (d2 * r).sum(-1), (d1 * r).sum(-1), (d1 * d2).sum(-1)
    aa, ee = np.maximum(aa, 1e-12), np.maximum(ee, 1e-12)
    denominator = aa * ee - bb * bb
    s = np.where(denominator > 1e-9 * aa * ee, (bb * ff - cc * ee) / np.where(denominator > 0, denominator, 1.0), 0.0)
    s = np.clip(s, 0.0, 1.0)
    t = np.clip((bb * s + ff) / ee, 0.0, 1.0)
    s = np.clip((bb * t - cc) / aa, 0.0, 1.0)
    one, other = p0 + d1 * s[..., None], q0 + d2 * t[..., None]
    gaps = np.linalg.norm(one - other, axis=-1)
    i, j = np.unravel_index(int(gaps.argmin()), gaps.shape)
    return float(gaps[i, j]), one[i, j], other[i, j]


def overlaps(assembly: Assembly) -> list[tuple[Standing, Standing]]:
    """Return every pair of bodies of two things that share space, turned pieces compared by their own blocks.

    The block test of `piece.scene` encloses a turned body; the pairs that it names are looked at once more here.
    """
    view = scene(assembly)
    met = overlapping(view)
    if not met:
        return []
    # The scene lists bodies in this order.
    owners: list[tuple[Placed, Body]] = [(p, body) for p in assembly.placed for body in p.piece.bodies()]
    owners += [(p, body) for p in assembly.fasteners() for body in p.piece.bodies()]
    own = {id(s): owner for s, owner in zip(view.bodies, owners, strict=True)}
    found = []
    for a, b in met:
        (one, body), (other, another) = own[id(a)], own[id(b)]
        first, second = box_of(body, one.pose), box_of(another, other.pose)
        if (_square(first) and _square(second)) or share(first, second):
            found.append((a, b))
    return found


def _square(box: Box) -> bool:
    """Tell whether a box stands along the axes."""
    return bool(np.abs(np.abs(box.axes).max(axis=0) - 1).max() < 1e-9)


def blocked(assembly: Assembly) -> list[tuple[str, str, Array]]:
    """Return every head that a driver cannot get at: (line, what stands straight over it, place under the head).

    What is fitted later than the bolt does not count.
    """
    bodies = [(p.mark, p.stage, box_of(body, p.pose)) for p in assembly.placed for body in p.piece.bodies()]
    for line in assembly.lines:
        alone = Assembly(name="", placed=(), lines=(line,))
        bodies += [(p.mark, line.stage, box_of(body, p.pose)) for p in alone.fasteners() for body in p.piece.bodies()]
    centres = np.array([box.centre for _, _, box in bodies])
    reach = np.array([float(np.linalg.norm(box.half)) for _, _, box in bodies])
    found = []
    for line in assembly.lines:
        for number, (point, body) in enumerate(driver_ways(line), 1):
            own = f"{line.name} {number}"
            way = box_of(body, Pose(np.eye(3), np.zeros(3)))
            far = np.linalg.norm(centres - way.centre, axis=1) > reach + float(np.linalg.norm(way.half))
            for i in np.flatnonzero(~far):
                mark, stage, box = bodies[i]
                if stage <= line.stage and mark != own and not mark.startswith(f"{own} ") and share(way, box):
                    found.append((line.name, mark, point))
                    break
    return found


def driver_ways(line: ScrewLine) -> list[tuple[Array, Round]]:
    """Return the way that a key needs straight over each head of a line, with the place under the head."""
    if line.screw is None or line.driver <= 0:
        return []
    wide, high = line.head
    return [(p, Round(p - line.direction * high, -line.direction, line.driver, wide)) for p in line.points]
