"""Straight bars that rails and crossbars are: which way they stand, and where they can be bolted."""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from baywright.piece.extrusion import Extrusion, Stock
from baywright.rail.shop import Kit
from baywright.shape.pose import Pose, cross

Array = NDArray[np.float64]

_FREE = (-1e9, 1e9)
_CORNER = 1.0  # mm that a hole keeps from the round in a tube's corner


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """A face of a bar that something is bolted to, and the way its bolts go.

    Attributes:
        seat: the face's place along its own direction, from the bar's centre line, mm.
        far: where the bolts' nuts sit, mm.
        low: least place of a bolt across the face, mm.
        high: most.
        hole: diameter of the bolts' holes in the bar, mm.
        clear: what a part on it must stay within across the face, mm.
        sleeved: whether the bolts go through a hollow and need crush tubes.
        wall: metal that one bolt hole bears on at this face, mm.
    """

    seat: float
    far: float
    low: float
    high: float
    hole: float
    clear: tuple[float, float] = _FREE
    sleeved: bool = False
    wall: float = 0.0

    def turned(self) -> "Seat":
        """Return the seat as bolts that go in at its far side see it."""
        return replace(self, seat=self.far, far=self.seat)


@dataclass(eq=False, kw_only=True)
class Bar:
    """A straight bar: `u` along it, `v` across it, `w` up; `outward` is the sign of v on its web's side.

    Attributes:
        mark: its mark.
        role: "rail" or "crossbar".
        stock: its section.
        centre: (3,) mm: a point of its centre line, at u = 0.
        u, v, w: (3,) unit vectors, right-handed.
        outward: +1 or -1.
        low, high: its ends along u, mm.
        bolts: places of bolts: (direction "v" or "w", u, across, hole), mm.
    """

    mark: str
    role: str
    stock: Stock
    centre: Array
    u: Array
    v: Array
    w: Array
    outward: int
    low: float
    high: float
    bolts: list[tuple[str, float, float, float]] = field(default_factory=list)

    @property
    def half_v(self) -> float:
        """Half its width, mm: the smaller side of a tube or a bar stands across, the larger up."""
        s = self.stock
        return (s.width if s.shape in ("channel", "angle") else min(s.width, s.height)) / 2

    @property
    def half_w(self) -> float:
        """Half its height, mm."""
        s = self.stock
        return (s.height if s.shape in ("channel", "angle") else max(s.width, s.height)) / 2

    def point(self, u: float, v: float, w: float) -> Array:
        """Return the place (3,) mm at u along, v across and w above its centre line."""
        out: Array = self.centre + self.u * u + self.v * v + self.w * w
        return out

    def own(self, place: Array) -> Array:
        """Return a place (3,) as (u, v, w)."""
        d = place - self.centre
        return np.array([d @ self.u, d @ self.v, d @ self.w])

    def pose(self) -> Pose:
        """Return the pose of its extrusion.

        A channel's web and an angle's upright leg stand on the side `outward`, the angle's other leg on top.
        """
        s, out = self.stock, self.v * self.outward
        if s.shape in ("channel", "angle"):
            x, y = -out, -self.w
        elif s.width <= s.height:
            x, y = self.v, self.w
        else:
            x, y = self.w, -self.v
        z = cross(x, y)
        end = self.low if z @ self.u > 0 else self.high
        return Pose(np.column_stack([x, y, z]), self.centre + self.u * end - x * s.width / 2 - y * s.height / 2)

    def piece(self, role: str) -> Extrusion:
        """Return its extrusion at its present length."""
        return Extrusion(role=role, stock=self.stock, length=self.high - self.low)

    def side(self, sign: int, kit: Kit, size: str) -> Seat:
        """Return the side face that looks toward v = sign, for bolts of a size."""
        s, b, h, t = self.stock, self.half_v, self.half_w, self.stock.wall
        if s.shape == "tube":
            hole = kit.crush(size)[0]
            most = h - t - hole / 2 - _CORNER
            return Seat(seat=sign * b, far=-sign * b, low=-most, high=most, hole=hole, sleeved=True, wall=t)
        hole, edge = kit.hole(size), kit.edge(size)
        if s.shape == "bar":
            return Seat(seat=sign * b, far=-sign * b, low=-h + edge, high=h - edge, hole=hole, wall=2 * b)
        # Of a web (or upright leg) the outer face, or from within its inner one.
        outer = sign == self.outward
        seat, far = (sign * b, sign * (b - t)) if outer else (-sign * (b - t), -sign * b)
        top = h - t - kit.access(size)
        if s.shape == "channel":
            clear = _FREE if outer else (-h + t, h - t)
            return Seat(seat=seat, far=far, low=-top, high=top, hole=hole, clear=clear, wall=t)
        clear = _FREE if outer else (-1e9, h - t)
        return Seat(seat=seat, far=far, low=-h + edge, high=top, hole=hole, clear=clear, wall=t)

    def cap(self, sign: int, kit: Kit, size: str) -> Seat | None:
        """Return the top (+1) or bottom (-1) face for bolts of a size along w; None if it has none."""
        s, b, h, t = self.stock, self.half_v, self.half_w, self.stock.wall
        if s.shape == "tube":
            hole = kit.crush(size)[0]
            most = b - t - hole / 2 - _CORNER
            if most < 0:
                return None
            return Seat(seat=sign * h, far=-sign * h, low=-most, high=most, hole=hole, sleeved=True, wall=t)
        if s.shape == "bar" or (s.shape == "angle" and sign < 0):
            return None
        # Bolts stand between the web's (upright leg's) inner face and the flange's free edge.
        low, high = sorted((self.outward * (b - t - kit.access(size)), -self.outward * (b - kit.edge(size))))
        if b - t - kit.access(size) < kit.edge(size) - b:
            return None
        return Seat(seat=sign * h, far=sign * (h - t), low=low, high=high, hole=kit.hole(size), wall=t)

    def take(self, holes: list[tuple[str, float, float, float]]) -> None:
        """Keep holes (direction, u, across, diameter), and reach over them."""
        self.bolts += holes
        self.low = min([self.low, *(u for _, u, _, _ in holes)])
        self.high = max([self.high, *(u for _, u, _, _ in holes)])

    def free_for(self, way: str, u: float, across: float, hole: float, pitch: float) -> bool:
        """Tell whether a hole keeps `pitch` times the larger hole from every other of the same direction."""
        for other, u2, across2, hole2 in self.bolts:
            if other == way and np.hypot(u - u2, across - across2) < pitch * max(hole, hole2) - 1e-6:
                return False
        return True
