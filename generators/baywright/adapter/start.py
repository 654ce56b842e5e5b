"""A first layout of the holes from their distances alone, and the hinges about which part of it could fold over."""

import math
from collections.abc import Iterator
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from baywright.adapter.readings import ARM, SQUARE_EDGES, Layout, Reading

# Holes with at most this many readings are tried on the other side of each pair of their partners.
_FEW = 4


def first_guess(layout: Layout) -> NDArray[np.float64]:
    """Return starting values for all unknowns of the layout.

    Distances that were not read are bridged by the shortest path over those that were; classical scaling (Torgerson
    1952: the two largest eigenvectors of the doubly centred squared distances) then lays the holes out.

    Raises:
        ValueError: if the readings fall into groups that no reading ties together; the message names them.
    """
    nodes, known = layout.nodes, _known_distances(layout)
    apart = _shortest_paths(known)
    if not np.isfinite(apart).all():
        one = [n for n, d in zip(nodes, apart[0], strict=True) if np.isfinite(d)]
        rest = [n for n in nodes if n not in one]
        raise ValueError(f"no reading ties {_names(one)} to {_names(rest)}: measure between them")
    out = np.zeros(layout.size)
    out[: 2 * len(nodes)] = _scaled(apart).ravel()
    return with_frames(layout, out)


def with_frames(layout: Layout, unknowns: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the unknowns with diameters, edges and scan frames fitted to the hole positions that they hold."""
    out = unknowns.copy()
    d0, o0, t0, f0 = layout.starts
    p = layout.positions(out)
    node = {name: k for k, name in enumerate(layout.nodes)}
    typical = _typical_diameters(layout)
    for k, name in enumerate(layout.gauged):
        out[d0 + k] = typical.get(name, 0.0)
    offs = [r for r in layout.readings if r.how.startswith("edge")]
    groups = [offs] if layout.square else [[r for r in offs if r.second == e] for e in layout.edges]
    for k, group in enumerate(g for g in groups if g):
        angle = _edge_turn(layout, group, p, node)
        out[t0 + k] = angle * ARM
        for name in {r.second for r in group}:
            quarter = SQUARE_EDGES[name] if layout.square else 0
            n = np.array([math.cos(angle + quarter * math.pi / 2), math.sin(angle + quarter * math.pi / 2)])
            gaps = [r.value - float(n @ p[node[r.first]]) for r in group if r.second == name]
            out[o0 + layout.edges.index(name)] = float(np.mean(gaps))
    for k, scan in enumerate(layout.scans):
        seen = _scan_centres(layout, scan)
        ours = np.array([p[node[name]] for name in seen])
        theirs = np.array(list(seen.values()))
        a, b = ours - ours.mean(axis=0), theirs - theirs.mean(axis=0)
        turn = math.atan2(float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum()), float((a * b).sum()))
        c, s = math.cos(turn), math.sin(turn)
        shift = theirs.mean(axis=0) - np.array([[c, -s], [s, c]]) @ ours.mean(axis=0)
        out[f0 + 3 * k : f0 + 3 * k + 3] = (turn * ARM, *shift)
    return out


def mirrored(layout: Layout, unknowns: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the unknowns of the mirror image."""
    out = unknowns.copy()
    out[0 : 2 * len(layout.nodes) : 2] *= -1
    return with_frames(layout, out)


def folds(layout: Layout, positions: NDArray[np.float64]) -> Iterator[tuple[list[int], NDArray[np.float64]]]:
    """Yield what could fold over a hinge: the nodes that move, and all positions after it.

    If everything that ties some holes to the rest runs through two holes, their mirror image about the line through
    those two fits the distances just as well. A hole with one or two readings more is tried too: a start may have put
    it on the wrong side, and readings to holes that nearly lie in line hardly tell.
    """
    ties = _ties(layout)
    n = len(layout.nodes)
    framed = {k for k in range(n) if any(t >= n for t in ties[k])}  # a scan or square edges fix the hand
    yielded: set[frozenset[int]] = set()
    for k in range(n):
        partners = [t for t in ties[k] if t < n]
        if k not in framed and 3 <= len(partners) <= _FEW:
            for a, b in combinations(partners, 2):
                yield [k], _folded(positions, [k], a, b)
    for a, b in combinations(range(n), 2):
        parts = _parts(ties, {a, b}, n)
        if len(parts) < 2:
            continue
        for part in sorted(parts, key=len)[:-1]:
            moving = {k for k in part if k < n}
            if any(t >= n for t in part):  # the hand of this part is fixed: fold the rest instead, if that is free
                others = set().union(*(q for q in parts if q is not part))
                if any(t >= n for t in others):
                    continue
                moving = {k for k in others if k < n}
            if moving and frozenset(moving) not in yielded:
                yielded.add(frozenset(moving))
                yield sorted(moving), _folded(positions, sorted(moving), a, b)


def _folded(positions: NDArray[np.float64], moving: list[int], a: int, b: int) -> NDArray[np.float64]:
    along = positions[b] - positions[a]
    along = along / max(float(np.linalg.norm(along)), 1e-9)
    off = positions[moving] - positions[a]
    out = positions.copy()
    out[moving] = positions[a] + 2 * np.outer(off @ along, along) - off
    return out


def _ties(layout: Layout) -> list[set[int]]:
    """Return for each node, scan and (square) edge frame what a reading ties it to; frames come after the nodes."""
    n = len(layout.nodes)
    node = {name: k for k, name in enumerate(layout.nodes)}
    frame = {name: n + k for k, name in enumerate(layout.scans)}
    if layout.square:
        frame |= dict.fromkeys(layout.edges, n + len(layout.scans))
    else:
        frame |= {name: n + len(layout.scans) + k for k, name in enumerate(layout.edges)}
    ties: list[set[int]] = [set() for _ in range(n + len(layout.scans) + max(len(layout.edges), 1))]
    for r in layout.readings:
        if r.how == "diameter":
            continue
        a = node[r.first]
        b = node[r.second] if r.how in ("centre", "inside", "outside") else frame[r.second]
        ties[a].add(b)
        ties[b].add(a)
    return ties


def _parts(ties: list[set[int]], without: set[int], nodes: int) -> list[set[int]]:
    """Return the groups that stay tied together when some nodes are taken away; groups without a hole do not count."""
    left = set(range(len(ties))) - without
    found = []
    while left:
        part, edge = set(), {left.pop()}
        while edge:
            part |= edge
            edge = set().union(*(ties[k] for k in edge)) - part - without
        left -= part
        if any(k < nodes for k in part):
            found.append(part)
    return found


def _scaled(apart: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return positions (n, 2) by classical scaling of distances (n, n)."""
    n = len(apart)
    centring = np.eye(n) - 1.0 / n
    values, vectors = np.linalg.eigh(-centring @ apart**2 @ centring / 2)
    out: NDArray[np.float64] = np.zeros((n, 2))
    for axis in range(min(2, n)):
        out[:, axis] = vectors[:, -1 - axis] * math.sqrt(max(float(values[-1 - axis]), 0.0))
    return out


def _shortest_paths(known: NDArray[np.float64]) -> NDArray[np.float64]:
    out = known.copy()
    for k in range(len(out)):
        out = np.minimum(out, out[:, k, None] + out[None, k, :])
    return out


def _known_distances(layout: Layout) -> NDArray[np.float64]:
    """Return the centre distances (n, n) that readings give directly, infinite where none does."""
    n = len(layout.nodes)
    node = {name: k for k, name in enumerate(layout.nodes)}
    listed: dict[tuple[int, int], list[float]] = {}
    typical = _typical_diameters(layout)
    for r in layout.readings:
        if r.how in ("centre", "inside", "outside"):
            half = (typical.get(r.first, 0.0) + typical.get(r.second, 0.0)) / 2
            value = r.value + {"centre": 0.0, "inside": half, "outside": -half}[r.how]
            i, j = sorted((node[r.first], node[r.second]))
            listed.setdefault((i, j), []).append(max(value, 1e-3))
    for scan in layout.scans:
        _add_pairs(_scan_centres(layout, scan), node, listed)
    if layout.square:
        _add_pairs(_square_places(layout), node, listed)
    out = np.full((n, n), np.inf)
    np.fill_diagonal(out, 0.0)
    for (i, j), values in listed.items():
        out[i, j] = out[j, i] = float(np.median(values))
    return out


def _add_pairs(
    places: dict[str, tuple[float, float]], node: dict[str, int], listed: dict[tuple[int, int], list[float]]
) -> None:
    for a, b in combinations(places, 2):
        i, j = sorted((node[a], node[b]))
        listed.setdefault((i, j), []).append(math.dist(places[a], places[b]))


def _typical_diameters(layout: Layout) -> dict[str, float]:
    """Return a first value for each diameter: its own readings, else from inside and outside of the same pair."""
    read: dict[str, list[float]] = {}
    for r in layout.readings:
        if r.how == "diameter":
            read.setdefault(r.first, []).append(r.value)
    out = {name: float(np.median(values)) for name, values in read.items()}
    over: dict[frozenset[str], dict[str, float]] = {}
    for r in layout.readings:
        if r.how in ("inside", "outside"):
            over.setdefault(frozenset((r.first, r.second)), {})[r.how] = r.value
    for pair, both in over.items():
        if len(both) == 2:
            half = (both["outside"] - both["inside"]) / 2
            for name in pair:
                out.setdefault(name, max(half, 0.0))
    spare = float(np.median(list(out.values()))) if out else 0.0
    return {name: out.get(name, spare) for name in layout.gauged}


def _scan_centres(layout: Layout, scan: str) -> dict[str, tuple[float, float]]:
    """Return a centre for each hole that one set of points shows: as scanned, or the circle through its rim."""
    rims: dict[str, list[tuple[float, float]]] = {}
    out: dict[str, tuple[float, float]] = {}
    for r in layout.readings:
        if r.second == scan and r.how == "point":
            out[r.first] = r.at
        elif r.second == scan and r.how == "rim":
            rims.setdefault(r.first, []).append(r.at)
    for name, points in rims.items():
        out.setdefault(name, _circle_centre(points))
    return out


def _circle_centre(points: list[tuple[float, float]]) -> tuple[float, float]:
    """Return the centre of the circle nearest to points: linear least squares (Kasa 1976), the mean of fewer than 3."""
    p = np.array(points)
    if len(p) < 3:
        x, y = p.mean(axis=0).tolist()
        return x, y
    middle = p.mean(axis=0)
    q = p - middle
    found, *_ = np.linalg.lstsq(np.column_stack([2 * q, np.ones(len(q))]), (q**2).sum(axis=1), rcond=None)
    x, y = (middle + found[:2]).tolist()
    return x, y


def _square_places(layout: Layout) -> dict[str, tuple[float, float]]:
    """Return places from square edges, for the holes that were measured from an upright and a level one."""
    across: dict[str, float] = {}
    up: dict[str, float] = {}
    span = {"right": _span(layout, "left", "right"), "top": _span(layout, "bottom", "top")}
    for r in layout.readings:
        if r.second == "left":
            across.setdefault(r.first, r.value)
        elif r.second == "bottom":
            up.setdefault(r.first, r.value)
        elif r.second == "right" and span["right"] is not None:
            across.setdefault(r.first, span["right"] - r.value)
        elif r.second == "top" and span["top"] is not None:
            up.setdefault(r.first, span["top"] - r.value)
    return {name: (across[name], up[name]) for name in across if name in up}


def _span(layout: Layout, low: str, high: str) -> float | None:
    """Return how far two facing edges are apart, if one hole was measured from both.

    Where nothing was measured from the low edge any number will do, because it only shifts everything; None if some
    holes have one edge and some the other.
    """
    near = {r.first: r.value for r in layout.readings if r.second == low}
    sums = [r.value + near[r.first] for r in layout.readings if r.second == high and r.first in near]
    if sums:
        return float(np.median(sums))
    return None if near else 0.0


def _edge_turn(layout: Layout, group: list[Reading], p: NDArray[np.float64], node: dict[str, int]) -> float:
    """Return the direction (radians) from an edge to the part that fits its readings best, holes where they are."""
    names = sorted({r.second for r in group})
    rows, values = [], []
    for r in group:
        x, y = p[node[r.first]]
        quarter = SQUARE_EDGES[r.second] if layout.square else 0
        a, b = {0: (x, y), 1: (y, -x), 2: (-x, -y), 3: (-y, x)}[quarter]
        rows.append([a, b, *(1.0 if r.second == name else 0.0 for name in names)])
        values.append(r.value)
    found, *_ = np.linalg.lstsq(np.array(rows), np.array(values), rcond=None)
    return math.atan2(float(found[1]), float(found[0]))


def _names(names: list[str]) -> str:
    shown = ["the shaft" if n == "shaft" else f"hole {n}" for n in names]
    return shown[0] if len(shown) == 1 else ", ".join(shown[:-1]) + " and " + shown[-1]
