"""Checks that hold for every assembly: overlaps, edge distance, pitch, web, and a driver's way to each screw.

Their subject is the assembly's name; whoever asks says what kind of thing it is.
"""

from collections import defaultdict
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from baywright.finding import Finding, at_least, at_most
from baywright.piece.assembly import Assembly, Placed
from baywright.piece.bought import Bought
from baywright.piece.scene import Scene, bodies_share, overlapping
from baywright.piece.solid import Face, Round, enclosing
from baywright.shape.loop import as_circle, bounds
from baywright.shape.reach import distance_to

EDGE_SOURCE = "edge distance 2 d: handbooks on riveted aluminium"
PITCH_SOURCE = "most pitch: the shop's box style; least 3 d: handbooks on riveted aluminium"
WEB_SOURCE = "web at least the sheet's thickness and 2 mm: cut shops' guides"
_EDGE_D, _PITCH_D, _WEB_MM = 2.0, 3.0, 2.0
_NEAR = 1e-6


def overlap_findings(assembly: Assembly, view: Scene) -> list[Finding]:
    """Return a failure for every two things that share space, or one pass that says how many were compared."""
    pairs = {tuple(sorted((a.item.mark, b.item.mark))): (a, b) for a, b in overlapping(view)}
    subject = assembly.name
    if not pairs:
        things = len({s.item.mark for s in view.bodies})
        return [
            Finding(
                subject=subject,
                check="overlap",
                verdict="pass",
                message=f"none of {things} pieces and fasteners overlap",
            )
        ]
    found = []
    for (first, second), (a, b) in sorted(pairs.items()):
        one, other = enclosing(a.body), enclosing(b.body)
        low, high = np.maximum(one.low, other.low), np.minimum(one.high, other.high)
        depth, at = float((high - low).min()), (low + high) / 2
        found.append(
            Finding(
                subject=subject,
                check="overlap",
                verdict="fail",
                message=f"'{first}' and '{second}' overlap by {depth:.2f} mm",
                value=depth,
                limit=0.0,
                unit="mm",
                margin=-1.0,
                where=(first, second),
                at=(float(at[0]), float(at[1]), float(at[2])),
            )
        )
    return found


def edge_findings(assembly: Assembly) -> list[Finding]:
    """Return the least edge distance of screw holes by piece, in diameters of the screw, against 2 d.

    Free edges count: a leg's toe and both ends, a plate's outline; not the heel, where the metal goes on.
    """
    sizes = {line.name: line.diameter for line in assembly.lines if line.size}
    worst: dict[str, tuple[float, float, float, Placed, NDArray[np.float64]]] = {}
    for item in assembly.placed:
        if isinstance(item.piece, Bought):
            continue
        role = item.piece.role
        for name, face in item.piece.faces().items():
            held = [h for h in item.piece.holes if h.face == name and h.line in sizes]
            if not held or name.startswith("end"):
                continue
            centres = np.array([_centre(hole.loop) for hole in held])
            for hole, centre, distance in zip(held, centres, _edge_distances(face, centres).tolist(), strict=True):
                d = sizes[hole.line]
                if role not in worst or distance / d < worst[role][0]:
                    at = item.pose.after(face.pose)(np.array([*centre, 0.0]))
                    worst[role] = (distance / d, distance, d, item, at)
    found = []
    for role, (ratio, distance, d, item, at) in worst.items():
        ok = ratio >= _EDGE_D - _NEAR
        found.append(
            Finding(
                subject=assembly.name,
                check="edge distance",
                verdict="pass" if ok else "fail",
                message=f"{role}: least edge distance {distance:.1f} mm = {ratio:.2f} d of M{d:g}"
                + ("" if ok else ": move the screw or widen the piece"),
                value=distance,
                limit=_EDGE_D * d,
                unit="mm",
                margin=at_least(distance, _EDGE_D * d),
                source=EDGE_SOURCE,
                where=(item.mark,),
                at=(float(at[0]), float(at[1]), float(at[2])),
            )
        )
    return found


def pitch_findings(assembly: Assembly, most: float, first: float, narrow: float = 8.0) -> list[Finding]:
    """Return the pitch of the screws along every bond: at most `most` mm, at least 3 d, the first within `first` mm.

    Bonds narrower than `narrow` mm (a panel's edge) have no screws. Only the longest gap and the shortest are told.
    """
    by_pair: dict[frozenset[str], list[tuple[NDArray[np.float64], float]]] = defaultdict(list)
    for line in assembly.lines:
        marks = [layer.mark for layer in line.layers]
        d = line.diameter
        for i, a in enumerate(marks):
            for b in marks[i + 1 :]:
                by_pair[frozenset((a, b))] += [(point, d) for point in line.points]
    long_, short, ends = [], [], []
    for bond in assembly.bonds:
        x0, y0, x1, y1 = bounds(bond.region)
        if min(x1 - x0, y1 - y0) < narrow:
            continue
        axis = 0 if x1 - x0 >= y1 - y0 else 1
        low, high = (x0, x1) if axis == 0 else (y0, y1)
        back = bond.pose.inverse()
        screws = by_pair.get(frozenset((bond.first, bond.second)), [])
        inside = sorted({(round(float(back(p)[axis]), 6), d) for p, d in screws})
        at = bond.pose(np.array([(x0 + x1) / 2, (y0 + y1) / 2, 0.0]))
        if not inside:
            ends.append((float("inf"), bond.name, at))
            continue
        ends.append((max(inside[0][0] - low, high - inside[-1][0]), bond.name, at))
        for (s, d), (t, e) in pairwise(inside):
            place = np.array([(x0 + x1) / 2, (y0 + y1) / 2, 0.0])
            place[axis] = (s + t) / 2
            long_.append((t - s, bond.name, bond.pose(place)))
            if t - s > _NEAR:
                short.append(((t - s) / max(d, e), t - s, bond.name, bond.pose(place)))
    subject, found = assembly.name, []
    for name, rows, limit in (("pitch", long_, most), ("first screw", ends, first)):
        if not rows:
            continue
        value, bond_name, at = max(rows, key=lambda r: r[0])
        ok = value <= limit + _NEAR
        what = "longest gap between screws" if name == "pitch" else "first screw from an end"
        text = "no screw" if value == float("inf") else f"{value:.1f} mm"
        found.append(
            Finding(
                subject=subject,
                check=name,
                verdict="pass" if ok else "look",
                message=f"{bond_name}: {what} {text}"
                + ("" if ok else f", over {limit:g} mm: something keeps screws away there"),
                value=None if value == float("inf") else value,
                limit=limit,
                unit="mm",
                margin=-1.0 if value == float("inf") else at_most(value, limit),
                source=PITCH_SOURCE,
                where=(bond_name,),
                at=(float(at[0]), float(at[1]), float(at[2])),
            )
        )
    if short:
        ratio, apart, bond_name, at = min(short, key=lambda r: r[0])
        ok = ratio >= _PITCH_D - _NEAR
        found.append(
            Finding(
                subject=subject,
                check="least pitch",
                verdict="pass" if ok else "look",
                message=f"{bond_name}: screws {apart:.1f} mm apart = {ratio:.1f} d",
                value=ratio,
                limit=_PITCH_D,
                unit="d",
                margin=at_least(ratio, _PITCH_D),
                source=PITCH_SOURCE,
                where=(bond_name,),
                at=(float(at[0]), float(at[1]), float(at[2])),
            )
        )
    return found


def web_findings(assembly: Assembly) -> list[Finding]:
    """Return the least metal between two holes of one face, by role, against its thickness and 2 mm."""
    worst: dict[str, tuple[float, float, float, Placed]] = {}
    for item in assembly.placed:
        if isinstance(item.piece, Bought) or item.piece.role == "gasket":
            continue
        by_face: dict[str, list[NDArray[np.float64]]] = defaultdict(list)
        for hole in item.piece.holes:
            by_face[hole.face].append(hole.loop)
        for loops in by_face.values():
            if len(loops) < 2:
                continue
            web = _webs(loops)
            least, role = float(web.min()), item.piece.role
            limit = max(item.piece.thickness if item.piece.thickness < 10 else 0.0, _WEB_MM)
            if role not in worst or least / limit < worst[role][0]:
                worst[role] = (least / limit, least, limit, item)
    return [
        Finding(
            subject=assembly.name,
            check="web",
            verdict="pass" if least >= limit - _NEAR else "fail",
            message=f"{role}: least metal between two holes {least:.1f} mm",
            value=least,
            limit=limit,
            unit="mm",
            margin=at_least(least, limit),
            source=WEB_SOURCE,
            where=(item.mark,),
        )
        for role, (_, least, limit, item) in worst.items()
    ]


def driver_findings(assembly: Assembly, view: Scene) -> list[Finding]:
    """Return the screws that a driver cannot reach: something that is fitted by then stands straight over the head."""
    blocked: dict[tuple[str, str], int] = defaultdict(int)
    place: dict[tuple[str, str], NDArray[np.float64]] = {}
    total = 0
    for line in assembly.lines:
        if line.driver <= 0 or line.head[0] <= 0:
            continue
        recesses = {layer.mark: layer.recess for layer in line.layers if layer.recess}
        for number, point in enumerate(line.points, 1):
            total += 1
            way = Round(point - line.direction * line.head[1], -line.direction, line.driver, line.head[0])
            for index in view.near(enclosing(way)):
                other = view.bodies[index]
                own = other.line is line and other.number == number
                own = own or (other.line is None and line.head[0] <= recesses.get(other.item.mark, 0.0))
                if not own and other.stage <= line.stage and bodies_share(way, other.body):
                    key = (line.name, other.item.mark)
                    blocked[key] += 1
                    place.setdefault(key, point)
    subject = assembly.name
    if not blocked:
        return [
            Finding(
                subject=subject, check="driver access", verdict="pass", message=f"a driver reaches all {total} screws"
            )
        ]
    return [
        Finding(
            subject=subject,
            check="driver access",
            verdict="fail",
            message=f"{count} screws of '{line}' can't be reached: '{other}' stands over them",
            value=float(count),
            limit=0.0,
            margin=-1.0,
            where=(line, other),
            at=(float(place[line, other][0]), float(place[line, other][1]), float(place[line, other][2])),
        )
        for (line, other), count in sorted(blocked.items())
    ]


def _webs(loops: list[NDArray[np.float64]]) -> NDArray[np.float64]:
    """Return the metal between every two holes (n, n) mm: exact for two circles or two upright rectangles.

    Any other shape counts as the rectangle round it, which gives the least it can be.
    """
    box = np.array([bounds(loop) for loop in loops])
    gap_x = np.maximum(box[:, None, 0] - box[None, :, 2], box[None, :, 0] - box[:, None, 2])
    gap_y = np.maximum(box[:, None, 1] - box[None, :, 3], box[None, :, 1] - box[:, None, 3])
    apart = np.hypot(np.maximum(gap_x, 0), np.maximum(gap_y, 0))
    web = np.where((gap_x < 0) & (gap_y < 0), np.maximum(gap_x, gap_y), apart)
    round_ = np.array([as_circle(loop) is not None for loop in loops])
    middle, width = (box[:, :2] + box[:, 2:]) / 2, box[:, 2] - box[:, 0]
    exact = np.hypot(*(middle[:, None] - middle[None]).transpose(2, 0, 1)) - (width[:, None] + width[None]) / 2
    web = np.array(np.where(round_[:, None] & round_[None], exact, web), dtype=float)
    np.fill_diagonal(web, np.inf)
    return web


def _centre(loop: NDArray[np.float64]) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds(loop)
    return (x0 + x1) / 2, (y0 + y1) / 2


def _edge_distances(face: Face, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the distances (n,) mm from points (n, 2) to the face's nearest free edge."""
    if face.outline is not None:
        return distance_to(face.outline, points)
    x, y = points.T
    free = [x, face.width - x]
    if "low" not in face.held:
        free.append(y)
    if "high" not in face.held:
        free.append(face.height - y)
    found: NDArray[np.float64] = np.min(free, axis=0)
    return found
