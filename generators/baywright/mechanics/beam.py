"""Frames of straight beams, joints and springs.

Euler-Bernoulli bending, Saint-Venant torsion, no shear deflection (below 3 % where a span is over ten times as long as
the section is high: from memory). Units: N, mm, MPa, radians unless a name says degrees.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from baywright.mechanics.section import SectionProperties
from baywright.mechanics.statics import Array, arm_matrix

# A frame whose scaled stiffness has a smaller pivot than this is taken as loose: float noise is 1e-8.
_LOOSE = 1e-7


@dataclass(frozen=True, eq=False, kw_only=True)
class Member:
    """A straight beam between two nodes of a frame.

    Attributes:
        start: number of its first node.
        end: number of its last node.
        section: its properties, in a frame whose x and y are `x_axis` and `y_axis`.
        x_axis: (3,) of unit length: where the section's x points; square to the beam.
        e: modulus of elasticity, MPa.
        g: shear modulus, MPa.
        name: what it is part of.
    """

    start: int
    end: int
    section: SectionProperties
    x_axis: Array
    e: float
    g: float
    name: str = ""


@dataclass(frozen=True, eq=False, kw_only=True)
class Link:
    """A spring between a point fixed to one node and the same point fixed to another node, or to the ground.

    Attributes:
        first: number of a node.
        second: number of a node, or None for the ground.
        at: (3,) mm: the point.
        axes: (3, 3): the spring's directions as columns.
        stiffness: (3,) N/mm along them.
        turning: (3,) N·mm per radian about them.
        name: what it is.
    """

    first: int
    second: int | None
    at: Array
    axes: Array
    stiffness: Array
    turning: Array
    name: str = ""


@dataclass(frozen=True, eq=False)
class Answer:
    """What a frame does under loads.

    Attributes:
        motion: (..., nodes, 6): shift in mm and turn in radians of each node.
        links: (..., links, 6): force (N) and moment (N·mm) of each link on its first node, in the frame's axes, at its
            point.
        members: (..., members, 2, 6): force and moment on the piece of beam between its nodes, at start and end, in its
            own axes: x and y of the section, z along the beam.
        residual: the largest force left over at any node, as a share of the largest load.
    """

    motion: Array
    links: Array
    members: Array
    residual: float


@dataclass(frozen=True, eq=False)
class Frame:
    """Beams and springs between nodes (n, 3) mm."""

    nodes: Array
    members: tuple[Member, ...]
    links: tuple[Link, ...]

    def answer(self, loads: Array) -> Answer:
        """Return what the frame does under loads (..., nodes, 6): forces (N) and moments (N·mm) at the nodes.

        Raises:
            ValueError: if the frame, or a part of it, is not held.
        """
        size, k = 6 * len(self.nodes), self.stiffness
        flat = np.asarray(loads, dtype=float).reshape(-1, size)
        motion = self._solved(flat.T).T
        left = np.abs(motion @ k - flat)
        shape = np.shape(loads)[:-2]
        moved = motion.reshape(*shape, len(self.nodes), 6)
        return Answer(
            moved,
            self._link_forces(moved, shape),
            self._member_forces(moved, shape),
            float(left.max(initial=0.0) / max(np.abs(flat).max(initial=0.0), 1e-30)),
        )

    @cached_property
    def stiffness(self) -> Array:
        """Its stiffness (6 nodes, 6 nodes), N and N·mm per mm and radian."""
        size = 6 * len(self.nodes)
        k: Array = np.zeros((size, size))
        for member in self.members:
            where, local = self._where(member.start, member.end), self._member(member)
            k[np.ix_(where, where)] += local
        for link in self.links:
            where, local = self._link(link)
            k[np.ix_(where, where)] += local
        return k

    @cached_property
    def _inverse(self) -> tuple[Array, Array, Array]:
        """The inverse of the stiffness scaled to ones on its diagonal, that stiffness, and the scale."""
        diagonal = np.diag(self.stiffness)
        if (diagonal <= 0).any():
            raise ValueError("a node of the frame is held by nothing")
        scale = 1 / np.sqrt(diagonal)
        scaled = self.stiffness * np.outer(scale, scale)
        try:
            pivots = np.diag(np.linalg.cholesky(scaled))
        except np.linalg.LinAlgError:
            pivots = np.zeros(1)
        if pivots.min() < _LOOSE:
            raise ValueError("the frame, or a part of it, is not held")
        inverse = np.asarray(np.linalg.inv(scaled), dtype=np.float64)
        return inverse, scaled, scale

    def _solved(self, loads: Array) -> Array:
        """Return the motions (size, cases) under loads (size, cases).

        They are refined with the remainder in long doubles: stiff joints beside soft rubber would otherwise cost
        several digits.
        """
        inverse, scaled, scale = self._inverse
        wanted, exact = (loads * scale[:, None]).astype(np.longdouble), scaled.astype(np.longdouble)
        found = inverse @ wanted.astype(float)
        for _ in range(2):
            found = found + inverse @ (wanted - exact @ found).astype(float)
        out: Array = found * scale[:, None]
        return out

    def _where(self, *nodes: int) -> NDArray[np.int64]:
        return np.concatenate([np.arange(6 * node, 6 * node + 6) for node in nodes])

    def _turn(self, member: Member) -> tuple[Array, float]:
        """Return the rows (3, 3) of a member's own axes in the frame, and its length in mm."""
        run = self.nodes[member.end] - self.nodes[member.start]
        length = float(np.linalg.norm(run))
        z = run / length
        x = member.x_axis - (member.x_axis @ z) * z
        x = x / np.linalg.norm(x)
        return np.stack([x, np.cross(z, x), z]), length

    def _own(self, member: Member) -> Array:
        """Return a member's stiffness (12, 12) in its own axes x, y, z (z along it)."""
        _, n = self._turn(member)
        s, e = member.section, member.e
        k: Array = np.zeros((12, 12))
        for i, value in ((2, e * s.area / n), (5, member.g * s.torsion / n)):
            k[i, i] += value
            k[i + 6, i + 6] += value
            k[i, i + 6] -= value
            k[i + 6, i] -= value
        # Bending with sag (u, v) along x and y: the strain energy is ½ E ∫ (Iy u''² + Ix v''² + 2 Ixy u'' v'').
        # The slopes are u' = turn about y, v' = -turn about x.
        shape = np.array(
            [
                [12.0, 6 * n, -12, 6 * n],
                [6 * n, 4 * n * n, -6 * n, 2 * n * n],
                [-12, -6 * n, 12, -6 * n],
                [6 * n, 2 * n * n, -6 * n, 4 * n * n],
            ]
        ) / (n**3)
        u, v = np.array([0, 4, 6, 10]), np.array([1, 3, 7, 9])
        sign = np.array([1.0, -1, 1, -1])
        k[np.ix_(u, u)] += e * s.iy * shape
        k[np.ix_(v, v)] += e * s.ix * shape * np.outer(sign, sign)
        k[np.ix_(u, v)] += e * s.ixy * shape * sign
        k[np.ix_(v, u)] += e * s.ixy * shape * sign[:, None]
        return k

    def _member(self, member: Member) -> Array:
        turn, _ = self._turn(member)
        big = np.kron(np.eye(4), turn)
        out: Array = big.T @ self._own(member) @ big
        return out

    def _stretch(self, link: Link) -> tuple[NDArray[np.int64], Array]:
        """Return a link's freedoms and the matrix (6, freedoms) of its stretch and turn, first against second."""

        def rows(node: int) -> Array:
            out: Array = np.zeros((6, 6))
            out[:3] = arm_matrix(link.at - self.nodes[node])
            out[3:, 3:] = np.eye(3)
            return out

        if link.second is None:
            return self._where(link.first), rows(link.first)
        return self._where(link.first, link.second), np.hstack([rows(link.first), -rows(link.second)])

    def _spring(self, link: Link) -> Array:
        out: Array = np.zeros((6, 6))
        out[:3, :3] = (link.axes * link.stiffness) @ link.axes.T
        out[3:, 3:] = (link.axes * link.turning) @ link.axes.T
        return out

    def _link(self, link: Link) -> tuple[NDArray[np.int64], Array]:
        where, stretch = self._stretch(link)
        return where, stretch.T @ self._spring(link) @ stretch

    def _link_forces(self, motion: Array, shape: tuple[int, ...]) -> Array:
        flat = motion.reshape(*shape, -1)
        out: Array = np.zeros((*shape, len(self.links), 6))
        for i, link in enumerate(self.links):
            where, stretch = self._stretch(link)
            out[..., i, :] = -(flat[..., where] @ stretch.T) @ self._spring(link)
        return out

    def _member_forces(self, motion: Array, shape: tuple[int, ...]) -> Array:
        flat = motion.reshape(*shape, -1)
        out: Array = np.zeros((*shape, len(self.members), 2, 6))
        for i, member in enumerate(self.members):
            turn, _ = self._turn(member)
            own = flat[..., self._where(member.start, member.end)] @ np.kron(np.eye(4), turn).T
            out[..., i, :, :] = (own @ self._own(member)).reshape(*shape, 2, 6)
        return out


def condensed(frame: Frame, node: int) -> Array:
    """Return the stiffness (6, 6) that one node of a frame feels: the inverse of its flexibility."""
    loads: Array = np.zeros((6, len(frame.nodes), 6))
    # Moments of a size that turns the body about as far as the forces shift it.
    unit = np.array([1.0] * 3 + [300.0] * 3)
    loads[np.arange(6), node, np.arange(6)] = unit
    flexibility = frame.answer(loads).motion[:, node, :] / unit[:, None]
    out: Array = np.linalg.inv((flexibility + flexibility.T) / 2)
    return out
