"""A path of shifts and turns: two random trees that grow towards each other over a box's six freedoms.

The rapidly-exploring random tree grown both ways (Kuffner and LaValle, RRT-Connect, IEEE ICRA 2000), one from the box's
place in the bay, one from above the car. Its random numbers are seeded, so that one job gives one path.
"""

import time
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from baywright.bay.outside import CASE, Marked, few_blocks
from baywright.bay.skin import Skin, joined, of_bodies
from baywright.piece.solid import Block
from baywright.shape.pose import Pose

Array = NDArray[np.float64]

STRIDE = 6.0  # mm: the most that any point of the box moves between two checks
_REACH = 60.0  # mm: how far a tree grows at once, in the planner's own measure
_TILT = 50.0  # degrees: a box is not lifted in at more than this


class _Tree:
    """A tree of poses: each row of `nodes` is x, y, z and a unit quaternion; rows beyond `count` are spare."""

    def __init__(self, root: Array, leaves_place: bool = False) -> None:
        self.leaves_place = leaves_place
        self.rows = np.empty((256, 7))
        self.parent: list[int] = []
        self.add(root, -1)

    @property
    def nodes(self) -> Array:
        return self.rows[: len(self.parent)]

    def nearest(self, q: Array, arm: float) -> int:
        return int(np.argmin(measure(self.nodes, q, arm)))

    def add(self, q: Array, parent: int) -> int:
        count = len(self.parent)
        if count == len(self.rows):
            self.rows = np.concatenate([self.rows, np.empty_like(self.rows)])
        self.rows[count] = q
        self.parent.append(parent)
        return count

    def path(self, i: int) -> list[Array]:
        out = []
        while i >= 0:
            out.append(self.rows[i].copy())
            i = self.parent[i]
        return out


def measure(nodes: Array, q: Array, arm: float) -> Array:
    """Return how far poses (n, 7) are from one, mm: the shift, and the turn on an arm of `arm` mm."""
    nodes = nodes.reshape(-1, 7)
    turn = 2 * np.arccos(np.clip(np.abs(nodes[:, 3:] @ q[3:]), 0.0, 1.0))
    out: Array = np.linalg.norm(nodes[:, :3] - q[:3], axis=1) + arm * turn
    return out


def between(a: Array, b: Array, t: float) -> Array:
    """Return the pose a share `t` of the way from a to b: shifted evenly, turned evenly about one axis."""
    out = np.empty(7)
    out[:3] = a[:3] + t * (b[:3] - a[:3])
    p, q = a[3:], b[3:]
    dot = float(p @ q)
    if dot < 0:
        q, dot = -q, -dot
    angle = np.arccos(min(dot, 1.0))
    if angle < 1e-6:
        mixed = p + t * (q - p)
    else:
        mixed = (np.sin((1 - t) * angle) * p + np.sin(t * angle) * q) / np.sin(angle)
    out[3:] = mixed / np.linalg.norm(mixed)
    return out


def _matrix(q: Array) -> Array:
    w, x, y, z = q.tolist()
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
            [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
            [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
        ]
    )


class Planner:
    """Two trees of the box's turn about its middle, relative to how it stands at its place."""

    def __init__(
        self,
        bodies: Sequence[Marked],
        place: Pose,
        skins: Sequence[Skin],
        clearance: float,
        top: float,
        rng: np.random.Generator,
    ) -> None:
        import fcl

        self.rng, self.tried, self.place = rng, 0, place
        blocks = few_blocks(bodies)
        low = np.min([b.low for b in blocks], axis=0)
        high = np.max([b.high for b in blocks], axis=0)
        self.middle, self.half = (low + high) / 2, (high - low) / 2
        self.arm = float(np.linalg.norm(self.half))
        self.whole = joined(skins)
        self.box = self._grown(fcl, blocks, clearance + self.whole.trust + STRIDE / 2)
        self.tight = self._grown(fcl, blocks, clearance + self.whole.trust)
        self.skin = _soup_of(fcl, self.whole)
        self.start = np.append(place(self.middle), [1.0, 0.0, 0.0, 0.0])
        self.up = top + self.arm + 30.0
        self.top = top
        self._fcl = fcl
        self._request = fcl.CollisionRequest(num_max_contacts=1)

    def _grown(self, fcl: Any, blocks: Sequence[Block], by: float) -> Any:
        around = [(CASE, Block(b.low - by - self.middle, b.high + by - self.middle)) for b in blocks]
        return _soup_of(fcl, of_bodies(around, Pose(np.eye(3), np.zeros(3))))

    def pose(self, q: Array) -> Pose:
        """Return the box's pose of a planner's pose."""
        turn = _matrix(q[3:]) @ self.place.turn
        return Pose(turn, q[:3] - turn @ self.middle)

    def free(self, q: Array, tight: bool = False) -> bool:
        """Tell whether the grown box at a pose is clear of the skin."""
        box = self.tight if tight else self.box
        box.setTransform(self._fcl.Transform(_matrix(q[3:]) @ self.place.turn, q[:3]))
        return int(self._fcl.collide(box, self.skin, self._request, self._fcl.CollisionResult())) == 0

    def clear(self, a: Array, b: Array, start_tight: bool = False) -> bool:
        """Tell whether the way from a to b is free, in strides that move no point of the box by more than `STRIDE`."""
        far = float(measure(a, b, self.arm)[0])
        count = max(int(np.ceil(far / STRIDE)), 1)
        # The far end and the middle first: what is blocked is most often blocked there.
        order = sorted(range(1, count + 1), key=lambda k: -(k & -k) if k < count else -count)
        return all(
            self.free(between(a, b, k / count), tight=start_tight and k / count * far <= 2 * STRIDE) for k in order
        )

    def run(self, until: float, tries: int) -> list[Array] | None:
        """Return the poses from the box's place up to above the car, or None."""
        raised = self.start.copy()
        raised[2] = self.up
        low, high = self._region()
        # Leaving its place the box is nearer to things than on the way: the first strides take the tight box.
        first = _Tree(self.start, leaves_place=True)
        for lift in (10.0, 4.0, 1.5):
            out = self.start.copy()
            out[2] += lift
            if self.free(out):
                first.add(out, 0)
                break
        goal = _Tree(raised)
        trees, towards = (first, goal), 0
        while self.tried < tries and time.monotonic() < until:
            self.tried += 1
            tree, other = trees[towards], trees[1 - towards]
            sample = self._sample(low, high)
            new = self._extend(tree, sample)
            if new is not None:
                met = self._connect(other, tree.nodes[new], until)
                if met is not None:
                    path = tree.path(new)[::-1] + other.path(met)[1:]
                    if towards:
                        path = path[::-1]
                    return self._shortened(path)
            towards = 1 - towards
        return None

    def _region(self) -> tuple[Array, Array]:
        low, high = self.whole.bounds
        reach = self.half.max() + 50.0
        inner = np.minimum(low, self.start[:3] - 100.0)
        return inner - np.array([0.0, 0.0, 0.0]), np.array([high[0], high[1], self.up]) + (reach * 0.2) * np.array(
            [1.0, 1.0, 0.0]
        )

    def _sample(self, low: Array, high: Array) -> Array:
        """Return a random pose: half of them over the box's own place, turned little or much."""
        out = np.empty(7)
        draw = self.rng.random()
        if draw < 0.5:
            out[:3] = self.start[:3] + self.rng.normal(0.0, 80.0, 3)
            out[2] = self.start[2] + self.rng.random() * (self.up - self.start[2])
        else:
            out[:3] = low + self.rng.random(3) * (high - low)
        spread = np.radians(_TILT) * (0.3 if self.rng.random() < 0.5 else 1.0)
        tilt = self.rng.uniform(-spread, spread, 2)
        yaw = self.rng.uniform(-1.0, 1.0) * (np.pi if self.rng.random() < 0.2 else spread)
        axis = np.array([tilt[0], tilt[1], yaw])
        angle = float(np.linalg.norm(axis))
        out[3] = np.cos(angle / 2)
        out[4:] = axis / max(angle, 1e-12) * np.sin(angle / 2)
        return out

    def _extend(self, tree: _Tree, sample: Array) -> int | None:
        near = tree.nearest(sample, self.arm)
        here = tree.nodes[near]
        far = float(measure(here, sample, self.arm)[0])
        new = sample if far <= _REACH else between(here, sample, _REACH / far)
        return tree.add(new, near) if self.clear(here, new, start_tight=near == 0 and tree.leaves_place) else None

    def _connect(self, tree: _Tree, target: Array, until: float) -> int | None:
        while time.monotonic() < until:
            new = self._extend(tree, target)
            if new is None:
                return None
            if float(measure(tree.nodes[new], target, self.arm)[0]) < 1e-9:
                return new
        return None

    def _shortened(self, path: list[Array], rounds: int = 150) -> list[Array]:
        """Return the path with detours cut out where the straight way between two of its poses is free."""
        for _ in range(rounds):
            if len(path) < 3:
                break
            i, j = sorted(self.rng.choice(len(path), 2, replace=False).tolist())
            if j - i > 1 and self.clear(path[i], path[j], start_tight=i == 0):
                path = path[: i + 1] + path[j:]
        return path


def _soup_of(fcl: Any, skin: Skin) -> Any:
    faces, points = skin.faces, skin.vertices
    alone = faces[:, 0] == faces[:, 1]
    if alone.any():  # a point is no triangle to the collision library: a speck of a hundredth of a millimetre is
        specks = points[faces[alone, 0]]
        extra = np.concatenate([specks + np.array([0.01, 0, 0]), specks + np.array([0, 0.01, 0])])
        n, k = len(points), len(specks)
        points = np.concatenate([points, extra])
        faces = faces.copy()
        faces[alone, 1], faces[alone, 2] = n + np.arange(k), n + k + np.arange(k)
    return _object(fcl, points, faces)


def _object(fcl: Any, points: Array, faces: Any) -> Any:
    model = fcl.BVHModel()
    model.beginModel(len(faces), len(points))
    model.addSubModel(points, faces)
    model.endModel()
    return fcl.CollisionObject(model, fcl.Transform())
