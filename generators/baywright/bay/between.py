"""The room between the things of one job in the car: box to box, box to motor and rails, box to adapter."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from baywright.bay.convex import Shapes, nearest, shapes
from baywright.bay.outside import outer_bodies
from baywright.box.generate import BoxDesign
from baywright.finding import Finding, at_least
from baywright.job.bays import Bay, KeepOut
from baywright.piece.assembly import Assembly
from baywright.piece.solid import Block, Body
from baywright.shape.pose import Pose, shifted

if TYPE_CHECKING:
    from baywright.adapter.design import AdapterDesign
    from baywright.rail.design import RailDesign

Array = NDArray[np.float64]

_NEAR = 1e-6
# A car holds a few boxes and all pairs are told. Beyond so many pairs, what is farther apart than this is left out, mm.
_FEW, _FAR = 100, 500.0
SOURCE = "common practice, no source: a finger's width between what is bolted in, or as the bay asks"
ROCKING_SOURCE = f"{SOURCE}; what the motor rocks by is taken off"


@dataclass(frozen=True, eq=False, kw_only=True)
class InCar:
    """One thing where it stands in the car.

    Attributes:
        subject: what findings call it: "box front".
        marks: (n,) the name of each body's piece.
        solids: its n bodies in the vehicle frame.
        low: (n, 3) mm, the lowest corner of the upright block round each body.
        high: (n, 3) mm.
        clearance: what it asks for round itself, mm.
        rocks: how far it may move, mm.
    """

    subject: str
    marks: tuple[str, ...]
    solids: Shapes
    low: Array
    high: Array
    clearance: float
    rocks: float = 0.0


def in_car(
    subject: str, bodies: Sequence[tuple[str, Body]], stands: Pose, clearance: float, rocks: float = 0.0
) -> InCar:
    """Return a thing in its place.

    Args:
        subject: what findings call it.
        bodies: (mark, body) in the thing's own frame.
        stands: from its frame to the vehicle's.
        clearance: what it asks for round itself, mm.
        rocks: how far it may move, mm.
    """
    solid = shapes([body for _, body in bodies], stands)
    across = solid.radius[:, None] * np.sqrt(np.clip(1 - solid.axis**2, 0, None))
    return InCar(
        subject=subject,
        marks=tuple(mark for mark, _ in bodies),
        solids=solid,
        low=solid.points.min(axis=1) - across,
        high=solid.points.max(axis=1) + across,
        clearance=clearance,
        rocks=rocks,
    )


def box_in_car(box: BoxDesign, clearance: float) -> InCar:
    """Return a box where it stands, its case solid, with the room that its cables and hoses need outside."""
    return in_car(f"box {box.name}", outer_bodies(box, rooms=True), box.pose, clearance)


def rails_in_car(rails: "RailDesign", rocks: float) -> InCar:
    """Return motor, rails, hangers and their bolts where they stand; `rocks` is how far the motor moves, mm."""
    return in_car(f"rails {rails.name}", _every_body(rails.assembly), rails.pose, rails.ask.clearance, rocks)


def adapter_in_car(adapter: "AdapterDesign", stands: Pose, clearance: float) -> InCar:
    """Return an adapter's plates, rings and bolts where they stand."""
    return in_car(f"adapter {adapter.name}", _every_body(adapter.assembly), stands, clearance)


def _every_body(assembly: Assembly) -> list[tuple[str, Body]]:
    items = [*assembly.placed, *assembly.fasteners()]
    return [(item.mark, body.moved(item.pose)) for item in items for body in item.piece.bodies()]


def between_findings(boxes: Sequence[InCar], drive: Sequence[InCar]) -> list[Finding]:
    """Return whether things share space, and the least distance, for every two boxes and every box and drive.

    Of a job of very many boxes only what stands near is measured, and each box's nearest.

    Args:
        boxes: battery boxes.
        drive: adapters and rails with their motors: they are bolted to each other, so only boxes keep clear of them.
    """
    pairs = [*combinations(boxes, 2), *((box, other) for box in boxes for other in drive)]
    if len(pairs) > _FEW:
        pairs = _near_ones(pairs)
    return [_pair(first, second) for first, second in pairs]


def keep_out_findings(things: Sequence[tuple[InCar, str | None]], bays: Mapping[str, Bay]) -> list[Finding]:
    """Return, for each thing and each bay but its own, the nearest keep-out of that bay.

    A keep-out stands in the car, whichever bay it was measured with; those of a thing's own bay are looked at there.

    Args:
        things: what is in the car, and the bay that it names.
        bays: the job's bays by name. Keep-outs are taken as large as the tape allows.
    """
    found = []
    for name, bay in bays.items():
        if bay.keep_outs:
            blocks = [(keep.name, Block(*_as_large_as(keep))) for keep in bay.keep_outs]
            stay = in_car(f"bay {name}'s keep-outs", blocks, shifted(), bay.clearance)
            found += [_pair(thing, stay) for thing, own in things if own != name]
    return found


def _as_large_as(keep: KeepOut) -> tuple[Array, Array]:
    """Return a keep-out's corners (3,) mm as far out as its tape may be off."""
    low, high = (np.array([[at.value, at.tolerance] for at in corner]) for corner in (keep.low, keep.high))
    return low[:, 0] - low[:, 1], high[:, 0] + high[:, 1]


def _near_ones(pairs: Sequence[tuple[InCar, InCar]]) -> list[tuple[InCar, InCar]]:
    """Return the pairs whose upright blocks are near each other, and for each thing the pair with its nearest."""
    things = {id(thing): thing for pair in pairs for thing in pair}
    blocks = {key: (thing.low.min(axis=0), thing.high.max(axis=0)) for key, thing in things.items()}
    first, second = ([id(pair[side]) for pair in pairs] for side in (0, 1))
    low, high = (np.array([[blocks[key][end] for key in keys] for keys in (first, second)]) for end in (0, 1))
    gaps = _apart(low[0], high[0], low[1], high[1])
    kept = set(np.flatnonzero(gaps <= _FAR).tolist())
    nearest_of: dict[int, int] = {}
    for number in np.argsort(gaps, kind="stable").tolist():
        for key in (first[number], second[number]):
            nearest_of.setdefault(key, number)
    return [pairs[number] for number in sorted(kept | set(nearest_of.values()))]


def _pair(first: InCar, second: InCar) -> Finding:
    asked, rocks = max(first.clearance, second.clearance), max(first.rocks, second.rocks)
    distance, i, j, at = least_between(first, second)
    left = distance - rocks
    ours, theirs = first.marks[i], second.marks[j]
    x, y, z = at
    place = f"near X {x:.0f}, Y {y:.0f}, Z {z:.0f} mm"
    if distance <= 0:
        text = f"'{ours}' and '{theirs}' of {second.subject} share space {place}: move or turn one of them"
    else:
        text = f"{distance:.0f} mm from '{ours}' to '{theirs}' of {second.subject}, {place}"
        text += f"; {left:.0f} mm when the motor rocks" if rocks else ""
        text += "" if left >= asked - _NEAR else f"; {asked:g} mm asked: move or turn one of them"
    return Finding(
        subject=first.subject,
        check=f"clear of {second.subject}",
        verdict="pass" if left >= asked - _NEAR else "fail",
        message=text,
        value=left,
        limit=asked,
        unit="mm",
        margin=at_least(left, asked),
        source=ROCKING_SOURCE if rocks else SOURCE,
        where=(ours, theirs),
        at=at,
    )


def least_between(first: InCar, second: InCar) -> tuple[float, int, int, tuple[float, float, float]]:
    """Return the least distance (mm, 0 if they share space), both bodies' numbers, and the point halfway between.

    Bodies are exact; only pairs whose upright blocks are near enough to matter are measured.
    """
    # From each body to the other thing as a whole: what is farther than any one pair needs no look at its pairs.
    to_second = _apart(first.low, first.high, second.low.min(axis=0), second.high.max(axis=0))
    to_first = _apart(second.low, second.high, first.low.min(axis=0), first.high.max(axis=0))
    a = int(to_second.argmin())
    b = int(_apart(second.low, second.high, first.low[a], first.high[a]).argmin())
    most = nearest(first.solids, np.array([a]), second.solids, np.array([b]))[0][0] + _NEAR
    ours, theirs = np.flatnonzero(to_second <= most), np.flatnonzero(to_first <= most)
    bound = _apart(first.low[ours, None], first.high[ours, None], second.low[theirs], second.high[theirs])
    near = np.nonzero(bound <= most)
    i, j = ours[near[0]], theirs[near[1]]
    distance, on_first, on_second = nearest(first.solids, i, second.solids, j)
    best = int(distance.argmin())
    x, y, z = ((on_first[best] + on_second[best]) / 2).tolist()
    return float(distance[best]), int(i[best]), int(j[best]), (x, y, z)


def _apart(low: Array, high: Array, their_low: Array, their_high: Array) -> Array:
    """Return the distances (…) mm between upright blocks given by their corners (…, 3)."""
    gap: Array = np.linalg.norm(np.maximum(np.maximum(low - their_high, their_low - high), 0.0), axis=-1)
    return gap
