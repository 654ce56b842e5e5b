"""The way in: straight down if that goes, else a path of shifts and turns found by a planner.

The planner grows two random trees towards each other over the six freedoms of the box, one from its place in the bay,
one from above the car (the rapidly-exploring random tree, both ways: Kuffner and LaValle, RRT-Connect, IEEE ICRA
2000). The numbers behind it are seeded, so that one job gives one path. Every step is checked against the skin with the
box made larger by the clearance asked and by half of what the step moves any of its points, so nothing is passed
between two checks. That no path was found proves nothing: the time or the tries ran out.
"""

import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from baywright.bay.outside import CASE, Marked, around_all, few_blocks, outer_bodies
from baywright.bay.skin import Skin, joined, of_bodies
from baywright.bay.surround import Surround, underfoot, worst_distance
from baywright.box.generate import BoxDesign
from baywright.piece.solid import Block, Body, Round, enclosing
from baywright.shape.pose import Pose

Array = NDArray[np.float64]

STRIDE = 6.0  # mm: the most that any point of the box moves between two checks
_REACH = 60.0  # mm: how far a tree grows at once, in the planner's own measure
_TILT = 50.0  # degrees: a box is not lifted in at more than this
_LOOK = 60.0  # mm: clearance on the way beyond this is not told


@dataclass(frozen=True, eq=False, kw_only=True)
class Route:
    """How a thing goes in.

    Attributes:
        method: "straight down", "planned", "not found" or "blocked" (its own place is not free).
        frames: poses from above the car down to its place, or fewer if it was not found.
        worst: the least clearance on the way less what tape and scan may be off, mm; None if not found.
        at_frame: at which frame that is.
        asked: the clearance on the way that was asked, mm.
        tries: samples drawn by the planner.
        seconds: how long it took.
        said: what a person should know.
    """

    method: str
    frames: tuple[Pose, ...]
    worst: float | None
    at_frame: int
    asked: float
    tries: int
    seconds: float
    said: str

    @property
    def found(self) -> bool:
        """Whether a way in was found."""
        return self.method in ("straight down", "planned")


def way_in(
    bodies: Sequence[Marked],
    pose: Pose,
    around: Surround,
    *,
    clearance: float = 3.0,
    seconds: float = 30.0,
    tries: int = 100_000,
    seed: int = 1,
) -> Route:
    """Return the way of a box (from `outside.outer_bodies`, the case first) from above the car to its place.

    Args:
        bodies: mark and body in the box's frame.
        pose: its place.
        around: the bay, its bonnet or lid open.
        clearance: to keep on the way, mm; what the box stands on at its place is left out there.
        seconds: the most time for the planner.
        tries: the most samples for the planner.
        seed: of its random numbers.
    """
    start = time.monotonic()
    skins = [s for s in underfoot(bodies, pose, around.opened) if len(s)]
    top = max(float(s.bounds[1][2]) for s in around.opened if len(s))
    least = worst_distance(bodies, pose, skins, _LOOK)
    straight = straight_up(bodies, pose, skins, top)
    spent = time.monotonic() - start
    if straight >= clearance:
        high = Pose(pose.turn, pose.shift + np.array([0.0, 0.0, _above(bodies, pose, top)]))
        low = Pose(pose.turn, (pose.shift + high.shift) / 2)
        said = f"goes straight down through the opening with {straight:.1f} mm to spare at worst"
        return Route(
            method="straight down",
            frames=(high, low, pose),
            worst=straight,
            at_frame=2,
            asked=clearance,
            tries=0,
            seconds=spent,
            said=said,
        )
    if least < clearance:
        said = f"its own place leaves {least:.1f} mm, less than the {clearance:g} mm asked on the way: nothing to plan"
        return _none("blocked", clearance, 0, spent, said)
    planner = _Planner(bodies, pose, skins, clearance, top, np.random.default_rng(seed))
    path = planner.run(start + seconds, tries)
    if path is None:
        said = (
            f"no path found in {planner.tried} tries: that is no proof that there is none; try longer, another seed, "
            "less clearance on the way, or offer up a cardboard box"
        )
        return _none("not found", clearance, planner.tried, time.monotonic() - start, said)
    frames = tuple(planner.pose(q) for q in reversed(path))
    spare = [worst_distance(bodies, f, skins, _LOOK) for f in frames]
    worst = int(np.argmin(spare))
    return Route(
        method="planned",
        frames=frames,
        worst=spare[worst],
        at_frame=worst,
        asked=clearance,
        tries=planner.tried,
        seconds=time.monotonic() - start,
        said=f"goes in by shifts and turns, {len(frames)} frames; tightest at frame {worst + 1}: {spare[worst]:.1f} mm",
    )


def _none(method: str, clearance: float, tries: int, seconds: float, said: str) -> Route:
    return Route(
        method=method, frames=(), worst=None, at_frame=0, asked=clearance, tries=tries, seconds=seconds, said=said
    )


def straight_up(bodies: Sequence[Marked], pose: Pose, skins: Sequence[Skin], top: float) -> float:
    """Return the least clearance (mm, less trust, at most 60) of all that bodies sweep on a straight way up.

    Exact for bodies that stand upright or lie along the axes; others sweep their enclosing block.
    """
    swept: list[tuple[str, Body]] = []
    for mark, body in bodies:
        there = body.moved(pose)
        upright = isinstance(body, Block) and np.abs(pose.turn[2, :2]).max() < 1e-9
        if upright and isinstance(body, Block):  # a yawed block stays a block in its own frame
            rise = max(top - float(pose(body.low)[2]), 0.0) + 1.0
            swept.append((mark, Block(body.low, body.high + np.array([0.0, 0.0, rise]))))
            continue
        back = pose.inverse()
        if isinstance(there, Round) and abs(there.axis[2]) > 1 - 1e-9:
            low = min(there.start[2], there.start[2] + there.axis[2] * there.length)
            foot = np.array([there.start[0], there.start[1], low])
            up = Round(foot, np.array([0.0, 0.0, 1.0]), max(top - low, 1.0) + 1.0, there.diameter)
            swept.append((mark, up.moved(back)))
            continue
        around = enclosing(there)
        if np.abs(pose.turn[2, :2]).max() < 1e-9:
            own = enclosing(body)
            rise = max(top - float(around.low[2]), 0.0) + 1.0
            swept.append((mark, Block(own.low, own.high + np.array([0.0, 0.0, rise]))))
        else:
            return _tilted_up(bodies, pose, skins, top)
    return worst_distance(swept, pose, skins, _LOOK)


def _tilted_up(bodies: Sequence[Marked], pose: Pose, skins: Sequence[Skin], top: float) -> float:
    """Return the same for a box that stands askew: its enclosing blocks in the vehicle's frame, swept."""
    swept: list[tuple[str, Body]] = []
    for mark, body in bodies:
        around = enclosing(body.moved(pose))
        high = np.array([around.high[0], around.high[1], max(top, around.high[2]) + 1.0])
        swept.append((mark, Block(around.low, high)))
    return worst_distance(swept, Pose(np.eye(3), np.zeros(3)), skins, _LOOK)


def _above(bodies: Sequence[Marked], pose: Pose, top: float) -> float:
    """Return how far bodies at a pose must go up to be over everything, mm."""
    low, _ = around_all(bodies, pose)
    return max(top - float(low[2]), 0.0) + 20.0


@dataclass(eq=False)
class _Tree:
    """A tree of poses: each row of `nodes` is x, y, z and a unit quaternion."""

    nodes: list[Array]
    parent: list[int] = field(default_factory=lambda: [-1])

    def nearest(self, q: Array, arm: float) -> int:
        return int(np.argmin(_measure(np.array(self.nodes), q, arm)))

    def add(self, q: Array, parent: int) -> int:
        self.nodes.append(q)
        self.parent.append(parent)
        return len(self.nodes) - 1

    def path(self, i: int) -> list[Array]:
        out = []
        while i >= 0:
            out.append(self.nodes[i])
            i = self.parent[i]
        return out


def _measure(nodes: Array, q: Array, arm: float) -> Array:
    """Return how far poses (n, 7) are from one, mm: the shift, and the turn on an arm of `arm` mm."""
    nodes = nodes.reshape(-1, 7)
    turn = 2 * np.arccos(np.clip(np.abs(nodes[:, 3:] @ q[3:]), 0.0, 1.0))
    out: Array = np.linalg.norm(nodes[:, :3] - q[:3], axis=1) + arm * turn
    return out


def _between(a: Array, b: Array, t: float) -> Array:
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


class _Planner:
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
        far = float(_measure(a, b, self.arm)[0])
        count = max(int(np.ceil(far / STRIDE)), 1)
        # The far end and the middle first: what is blocked is most often blocked there.
        order = sorted(range(1, count + 1), key=lambda k: -(k & -k) if k < count else -count)
        return all(
            self.free(_between(a, b, k / count), tight=start_tight and k / count * far <= 2 * STRIDE) for k in order
        )

    def run(self, until: float, tries: int) -> list[Array] | None:
        """Return the poses from the box's place up to above the car, or None."""
        raised = self.start.copy()
        raised[2] = self.up
        low, high = self._region()
        # Leaving its place the box is nearer to things than on the way: the first strides take the tight box.
        first = _Tree([self.start])
        for lift in (10.0, 4.0, 1.5):
            out = self.start.copy()
            out[2] += lift
            if self.free(out):
                first.add(out, 0)
                break
        goal = _Tree([raised])
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
        far = float(_measure(here, sample, self.arm)[0])
        new = sample if far <= _REACH else _between(here, sample, _REACH / far)
        return tree.add(new, near) if self.clear(here, new, start_tight=here is self.start) else None

    def _connect(self, tree: _Tree, target: Array, until: float) -> int | None:
        while time.monotonic() < until:
            new = self._extend(tree, target)
            if new is None:
                return None
            if float(_measure(tree.nodes[new], target, self.arm)[0]) < 1e-9:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """What hangs on the hoist: what it is, and its mass, kg."""

    what: str
    mass: float


def lifts(box: BoxDesign) -> tuple[Lift, ...]:
    """Return what may hang on the hoist: the whole box, the box without its modules, one module, the lid."""
    whole = box.mass_properties.mass
    modules = sum(i.piece.mass_properties().mass for i in box.assembly.placed if i.piece.role == "module")
    # Coolant is in the modules; it goes in last either way.
    coolant = sum(i.piece.mass_properties().mass for i in box.assembly.placed if i.piece.role == "coolant")
    lid = sum(i.piece.mass_properties().mass for i in box.assembly.placed if i.mark == "lid")
    return (
        Lift(what="whole box", mass=whole),
        Lift(what="empty box", mass=whole - modules - coolant),
        Lift(what="one module", mass=box.layout.module.module.mass),
        Lift(what="lid", mass=lid),
    )


def modules_in(box: BoxDesign, pose: Pose, around: Surround) -> list[str]:
    """Return the modules that can't go straight down into the box where it stands in the car, bonnet or boot open.

    That they go down past the box's own parts is the box's own check.
    """
    skins = [s for s in underfoot(outer_bodies(box), pose, around.opened) if len(s)]
    top = max((float(s.bounds[1][2]) for s in skins), default=0.0)
    blocked = []
    for item in box.assembly.placed:
        if item.piece.role == "module":
            bodies = [(item.mark, b.moved(item.pose)) for b in item.piece.bodies()]
            if straight_up(bodies, pose, skins, top) < 0:
                blocked.append(item.mark)
    return blocked
