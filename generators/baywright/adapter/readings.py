"""What was measured on a pattern, and how each reading follows from the places of the holes.

The unknowns are the hole centres, the diameters of holes that were gauged over their edges, one line for each straight
edge of the part, and one frame for each set of scanned points. Lengths in mm; angles are carried as arc lengths at a
100 mm arm, so that all unknowns are of one size.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

How = Literal["centre", "inside", "outside", "diameter", "edge", "edge near", "edge far", "point", "rim"]

SHAFT = "shaft"  # the name that readings give the shaft's bore or centre
ARM = 100.0  # mm: one radian of a frame's or an edge's turn counts as this much

# How much of the holes' diameters a reading holds: inside jaws touch the near edges, outside jaws the far ones.
_SHARE = {"centre": 0.0, "inside": -0.5, "outside": 0.5, "edge": 0.0, "edge near": -0.5, "edge far": 0.5}

# Edges that are square to each other, by the direction from the edge to the part, as quarter turns.
SQUARE_EDGES = {"left": 0, "bottom": 1, "right": 2, "top": 3}


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading.

    Attributes:
        how: "centre", "inside" or "outside" between two holes; "diameter" of one; "edge" from a straight edge of the
            part to a hole's centre, "edge near" and "edge far" to its near and far side; "point" a scanned centre,
            "rim" a scanned point on a hole's edge.
        first: a hole's name, or "shaft".
        second: the other hole, the edge, or the set of scanned points.
        value: mm; 0 for scanned points.
        at: a scanned point's coordinates in its own set, mm.
        sigma: its standard deviation, mm.
        label: how the readings file calls it ('inside 1-2').
    """

    how: How
    first: str
    second: str = ""
    value: float = 0.0
    at: tuple[float, float] = (0.0, 0.0)
    sigma: float
    label: str


@dataclass(frozen=True, eq=False, kw_only=True)
class Layout:
    """Readings sorted for arithmetic: which unknown is where in the vector, and index arrays for each kind of reading.

    Scanned centres count as two observations, everything else as one.

    Attributes:
        readings: in the file's order.
        square: True if the edges left, right, top and bottom are square to each other.
    """

    readings: tuple[Reading, ...]
    square: bool = False

    @cached_property
    def nodes(self) -> tuple[str, ...]:
        """Holes in natural order ("2" before "10"), the shaft last if a reading reaches it."""
        names = {r.first for r in self.readings} | {r.second for r in self.readings if r.how in _BETWEEN}
        holes = sorted(names - {SHAFT}, key=natural)
        return (*holes, SHAFT) if SHAFT in names else tuple(holes)

    @cached_property
    def gauged(self) -> tuple[str, ...]:
        """Nodes whose diameter is an unknown."""
        wanted: set[str] = set()
        for r in self.readings:
            if r.how in ("diameter", "edge near", "edge far", "rim"):
                wanted.add(r.first)
            elif r.how in ("inside", "outside"):
                wanted |= {r.first, r.second}
        return tuple(n for n in self.nodes if n in wanted)

    @cached_property
    def edges(self) -> tuple[str, ...]:
        """Names of the straight edges."""
        return tuple(sorted({r.second for r in self.readings if r.how.startswith("edge")}))

    @cached_property
    def scans(self) -> tuple[str, ...]:
        """Names of the sets of scanned points."""
        return tuple(sorted({r.second for r in self.readings if r.how in ("point", "rim")}))

    @cached_property
    def starts(self) -> tuple[int, int, int, int]:
        """Where diameters, edge offsets, edge turns and scan frames begin in the vector of unknowns."""
        diameters = 2 * len(self.nodes)
        offsets = diameters + len(self.gauged)
        turns = offsets + len(self.edges)
        frames = turns + ((1 if self.edges else 0) if self.square else len(self.edges))
        return diameters, offsets, turns, frames

    @property
    def size(self) -> int:
        """The number of unknowns."""
        return self.starts[3] + 3 * len(self.scans)

    @cached_property
    def owner(self) -> NDArray[np.intp]:
        """The reading (index) that each observation belongs to, (m,)."""
        between = [k for k, r in enumerate(self.readings) if r.how in _BETWEEN]
        sizes = [k for k, r in enumerate(self.readings) if r.how == "diameter"]
        edge = [k for k, r in enumerate(self.readings) if r.how.startswith("edge")]
        points = [k for k, r in enumerate(self.readings) if r.how == "point"]
        rims = [k for k, r in enumerate(self.readings) if r.how == "rim"]
        return np.array([*between, *sizes, *edge, *points, *points, *rims], dtype=np.intp)

    @cached_property
    def values(self) -> NDArray[np.float64]:
        """The observed values (m,) mm, in the order of `owner`."""
        listed = [self.readings[k] for k in self.owner]
        seen: set[int] = set()
        out = []
        for k, r in zip(self.owner.tolist(), listed, strict=True):
            out.append((r.at[1] if k in seen else r.at[0]) if r.how == "point" else r.value)
            seen.add(k)
        return np.array(out)

    @cached_property
    def sigmas(self) -> NDArray[np.float64]:
        """The standard deviations (m,) mm."""
        return np.array([self.readings[k].sigma for k in self.owner])

    @cached_property
    def _index(self) -> "_Index":
        return _index(self)

    def positions(self, unknowns: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the node positions (nodes, 2) mm in a vector of unknowns."""
        return unknowns[: 2 * len(self.nodes)].reshape(-1, 2)

    def diameter(self, unknowns: NDArray[np.float64], node: str) -> float | None:
        """Return a node's diameter in mm, or None if no reading says it."""
        if node not in self.gauged:
            return None
        return float(unknowns[self.starts[0] + self.gauged.index(node)])

    def predicted(self, unknowns: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return what the readings should be (m,) mm and how they change with each unknown (m, size)."""
        ix, m = self._index, len(self.owner)
        p = self.positions(unknowns)
        out, jac = np.zeros(m), np.zeros((m, self.size))
        rows = np.arange(m)
        d0, o0, t0, f0 = self.starts
        diameters = np.append(unknowns[d0:o0], 0.0)  # index -1: no diameter is involved

        def add_diameter(at: NDArray[np.intp], which: NDArray[np.intp], share: NDArray[np.float64]) -> None:
            out[at] += share * diameters[which]
            known = which >= 0
            jac[at[known], d0 + which[known]] += share[known]

        at = rows[ix.between]
        step = p[ix.i] - p[ix.j]
        far = np.maximum(np.hypot(step[:, 0], step[:, 1]), 1e-9)
        unit = step / far[:, None]
        out[at] = far
        for axis in (0, 1):
            jac[at, 2 * ix.i + axis] += unit[:, axis]
            jac[at, 2 * ix.j + axis] -= unit[:, axis]
        add_diameter(at, ix.di, ix.share)
        add_diameter(at, ix.dj, ix.share)

        add_diameter(rows[ix.diameter], ix.which, np.ones(len(ix.which)))

        at = rows[ix.edge]
        angle = unknowns[t0 + ix.turn] / ARM + ix.quarter * math.pi / 2
        c, s = np.cos(angle), np.sin(angle)
        q = p[ix.e]
        out[at] = c * q[:, 0] + s * q[:, 1] + unknowns[o0 + ix.offset]
        jac[at, 2 * ix.e] = c
        jac[at, 2 * ix.e + 1] = s
        jac[at, o0 + ix.offset] = 1.0
        jac[at, t0 + ix.turn] = (c * q[:, 1] - s * q[:, 0]) / ARM
        add_diameter(at, ix.de, ix.eshare)

        if len(self.scans):
            frames = unknowns[f0:].reshape(-1, 3)
            self._points(p, frames, out, jac, rows, f0)
            self._rims(p, frames, out, jac, rows, f0)
            add_diameter(rows[ix.rim], ix.dr, np.full(len(ix.dr), -0.5))
        return out, jac

    def _in_scan(
        self, p: NDArray[np.float64], frames: NDArray[np.float64], node: NDArray[np.intp], scan: NDArray[np.intp]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Return x, y of nodes in their scans' frames, and cos, sin of the frames' turns."""
        c, s = np.cos(frames[scan, 0] / ARM), np.sin(frames[scan, 0] / ARM)
        x, y = p[node, 0], p[node, 1]
        return c * x - s * y + frames[scan, 1], s * x + c * y + frames[scan, 2], c, s

    def _points(
        self,
        p: NDArray[np.float64],
        frames: NDArray[np.float64],
        out: NDArray[np.float64],
        jac: NDArray[np.float64],
        rows: NDArray[np.intp],
        f0: int,
    ) -> None:
        ix = self._index
        u, v, c, s = self._in_scan(p, frames, ix.pnode, ix.pscan)
        ax, ay = rows[ix.px], rows[ix.py]
        out[ax], out[ay] = u, v
        jac[ax, 2 * ix.pnode], jac[ax, 2 * ix.pnode + 1] = c, -s
        jac[ay, 2 * ix.pnode], jac[ay, 2 * ix.pnode + 1] = s, c
        at = f0 + 3 * ix.pscan
        jac[ax, at], jac[ax, at + 1] = -(v - frames[ix.pscan, 2]) / ARM, 1.0
        jac[ay, at], jac[ay, at + 2] = (u - frames[ix.pscan, 1]) / ARM, 1.0

    def _rims(
        self,
        p: NDArray[np.float64],
        frames: NDArray[np.float64],
        out: NDArray[np.float64],
        jac: NDArray[np.float64],
        rows: NDArray[np.intp],
        f0: int,
    ) -> None:
        ix = self._index
        u, v, c, s = self._in_scan(p, frames, ix.rnode, ix.rscan)
        du, dv = u - ix.rat[:, 0], v - ix.rat[:, 1]
        far = np.maximum(np.hypot(du, dv), 1e-9)
        du, dv = du / far, dv / far
        at = rows[ix.rim]
        out[at] = far
        jac[at, 2 * ix.rnode] = du * c + dv * s
        jac[at, 2 * ix.rnode + 1] = dv * c - du * s
        frame = f0 + 3 * ix.rscan
        jac[at, frame] = (dv * (u - frames[ix.rscan, 1]) - du * (v - frames[ix.rscan, 2])) / ARM
        jac[at, frame + 1], jac[at, frame + 2] = du, dv

    def only(self, kept: Sequence[int]) -> "Layout":
        """Return the layout of some of the readings (by index)."""
        return Layout(readings=tuple(self.readings[k] for k in kept), square=self.square)


_BETWEEN = ("centre", "inside", "outside")


def natural(name: str) -> tuple[str, int, str]:
    """Return a sort key that puts "2" before "10" and "D2" before "D10"."""
    head = name.rstrip("0123456789")
    return head, int(name[len(head) :] or 0), name


@dataclass(frozen=True, eq=False, kw_only=True)
class _Index:
    """Where observations and unknowns meet: slices of observations, indices of unknowns."""

    between: slice
    i: NDArray[np.intp]
    j: NDArray[np.intp]
    di: NDArray[np.intp]
    dj: NDArray[np.intp]
    share: NDArray[np.float64]
    diameter: slice
    which: NDArray[np.intp]
    edge: slice
    e: NDArray[np.intp]
    de: NDArray[np.intp]
    eshare: NDArray[np.float64]
    offset: NDArray[np.intp]
    turn: NDArray[np.intp]
    quarter: NDArray[np.float64]
    px: slice
    py: slice
    pnode: NDArray[np.intp]
    pscan: NDArray[np.intp]
    rim: slice
    rnode: NDArray[np.intp]
    rscan: NDArray[np.intp]
    rat: NDArray[np.float64]
    dr: NDArray[np.intp]


def _index(layout: Layout) -> _Index:
    node = {name: k for k, name in enumerate(layout.nodes)}
    wide = {name: k for k, name in enumerate(layout.gauged)}
    edge = {name: k for k, name in enumerate(layout.edges)}
    scan = {name: k for k, name in enumerate(layout.scans)}

    def whole(values: list[int]) -> NDArray[np.intp]:
        return np.array(values, dtype=np.intp)

    pairs = [r for r in layout.readings if r.how in _BETWEEN]
    sizes = [r for r in layout.readings if r.how == "diameter"]
    offs = [r for r in layout.readings if r.how.startswith("edge")]
    points = [r for r in layout.readings if r.how == "point"]
    rims = [r for r in layout.readings if r.how == "rim"]
    ends = np.cumsum([0, len(pairs), len(sizes), len(offs), len(points), len(points), len(rims)]).tolist()
    cut = [slice(a, b) for a, b in pairwise(ends)]
    return _Index(
        between=cut[0],
        i=whole([node[r.first] for r in pairs]),
        j=whole([node[r.second] for r in pairs]),
        di=whole([wide[r.first] if r.how != "centre" else -1 for r in pairs]),
        dj=whole([wide[r.second] if r.how != "centre" else -1 for r in pairs]),
        share=np.array([_SHARE[r.how] for r in pairs]),
        diameter=cut[1],
        which=whole([wide[r.first] for r in sizes]),
        edge=cut[2],
        e=whole([node[r.first] for r in offs]),
        de=whole([wide[r.first] if r.how != "edge" else -1 for r in offs]),
        eshare=np.array([_SHARE[r.how] for r in offs]),
        offset=whole([edge[r.second] for r in offs]),
        turn=whole([0 if layout.square else edge[r.second] for r in offs]),
        quarter=np.array([SQUARE_EDGES[r.second] if layout.square else 0 for r in offs], dtype=float),
        px=cut[3],
        py=cut[4],
        pnode=whole([node[r.first] for r in points]),
        pscan=whole([scan[r.second] for r in points]),
        rim=cut[5],
        rnode=whole([node[r.first] for r in rims]),
        rscan=whole([scan[r.second] for r in rims]),
        rat=np.array([r.at for r in rims], dtype=float).reshape(-1, 2),
        dr=whole([wide[r.first] for r in rims]),
    )
