"""Room to work once the box is in the car: cables, connectors, the lid, drivers on screws, hands at the feet."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from baywright.bay.gaps import strikes
from baywright.bay.outside import case_of, rooms_outside
from baywright.bay.skin import Skin
from baywright.bay.straight import straight_up
from baywright.bay.surround import Surround, underfoot
from baywright.box.generate import BoxDesign
from baywright.finding import Finding
from baywright.piece.assembly import IN_CAR, LID
from baywright.piece.joint import ScrewLine
from baywright.piece.solid import Block, Body, Round, enclosing
from baywright.shape.pose import Pose

Array = NDArray[np.float64]

# A hand with a spanner at a foot's bolt, mm: out from the box, to each side of the bolt, and up from the foot.
_HAND = (100.0, 50.0, 60.0)
_HAND_SOURCE = "a hand with a spanner takes about 100 x 100 x 60 mm: common practice, no source"
_SOCKET = 4.0  # mm: how much wider than a head or washer the driver's socket is (common practice, no source)
# What a screw needs at the car, by when it is driven.
_DRIVEN = {LID: "lid screws", IN_CAR: "bolts to the car"}


@dataclass(frozen=True, eq=False)
class Room:
    """Space that must be free to work: a kind, a name, and the body (mm, the box's frame).

    Attributes:
        kind: "cable", "driver", "hand".
        name: what it is for.
        body: the space.
        source: on whose word.
        way: for a block the axis (0 x, 1 y, 2 z) along which it leads away from the box, and whether upward on it.
    """

    kind: str
    name: str
    body: Body
    source: str
    way: tuple[int, bool] = (2, True)


def rooms_of(box: BoxDesign) -> list[Room]:
    """Return the rooms that a box needs in the car; screws that are driven on the bench need none."""
    case = case_of(box)
    bends = f"bend {box.layout.kit.style.bend_factor:g} times the outside diameter: the shop's box style"
    found = [Room("cable", name, block, bends) for name, block in rooms_outside(box)]
    for line in box.assembly.lines:
        if line.driver > 0 and line.stage in _DRIVEN:
            found += [
                Room("driver", f"{line.name} {n}", b, "the shop's box style") for n, b in enumerate(_drivers(line), 1)
            ]
    for foot in box.feet:
        for number, bolt in enumerate(foot.bolts, 1):
            found.append(Room("hand", f"{foot.mark} bolt {number}", _hand(case, bolt), _HAND_SOURCE))
    return [replace(r, way=_away(case, r.body)) if isinstance(r.body, Block) else r for r in found]


def _away(case: Block, block: Block) -> tuple[int, bool]:
    """Return the axis along which a block leads away from the case, and whether upward on it."""
    over = np.concatenate([case.low - block.low, block.high - case.high])
    way = int(np.argmax(over))
    return way % 3, way >= 3


def _drivers(line: ScrewLine) -> list[Round]:
    width, height = line.head
    start = line.points - line.direction * height
    return [Round(p, -line.direction, line.driver, width + _SOCKET) for p in start]


def _hand(case: Block, bolt: Array) -> Block:
    """Return the room for a hand at a foot's bolt: out from the wall that the foot stands at."""
    over = np.concatenate([case.low - bolt, bolt - case.high])
    over[[2, 5]] = -np.inf
    way = int(np.argmax(over))
    axis, outward = way % 3, way >= 3
    low, high = bolt - _HAND[1], bolt + _HAND[1]
    wall = float(case.high[axis] if outward else case.low[axis])
    low[axis], high[axis] = (wall, wall + _HAND[0]) if outward else (wall - _HAND[0], wall)
    low[2], high[2] = bolt[2], bolt[2] + _HAND[2]
    return Block(low, high)


def check_rooms(name: str, box: BoxDesign, pose: Pose, around: Surround) -> list[Finding]:
    """Return findings about room to work at a pose, bonnet or boot lid open: one for each kind, the worst told.

    Args:
        name: the box's name for the findings.
        box: the box.
        pose: where it stands.
        around: its bay.
    """
    bodies: list[tuple[str, Body]] = [(i.mark, b.moved(i.pose)) for i in box.assembly.placed for b in i.piece.bodies()]
    skins = [s for s in underfoot(bodies, pose, around.opened) if len(s)]
    rooms = rooms_of(box)
    taken = np.zeros(len(rooms), dtype=bool)
    for skin in skins:
        # The skin may be nearer than it looks by its trust: the room is tried with that much more around it.
        taken |= strikes([_grown(r.body, skin.trust) for r in rooms], pose, skin)
    found = []
    for kind, what in (
        ("cable", "room for cables in the car"),
        ("driver", "driver in the car"),
        ("hand", "hand at the feet"),
    ):
        mine = [(r, t) for r, t in zip(rooms, taken, strict=True) if r.kind == kind]
        if mine:
            found.append(_finding(name, what, mine, pose, skins))
    found.append(_lid(name, box, pose, skins))
    return found


def _finding(
    name: str, check: str, mine: Sequence[tuple[Room, np.bool_]], pose: Pose, skins: Sequence[Skin]
) -> Finding:
    bad = [r for r, t in mine if t]
    source = "; ".join(dict.fromkeys(r.source for r, _ in mine))
    if not bad:
        return Finding(
            subject=name, check=check, verdict="pass", message=f"all {len(mine)} are free in the car", source=source
        )
    short = sorted(((_free_length(r, pose, skins), r) for r in bad), key=lambda s: s[0] / _length(s[1]))
    free, worst = short[0]
    length = _length(worst)
    message = f"{len(bad)} of {len(mine)} are not free: '{worst.name}' has {free:.0f} of {length:.0f} mm"
    message += {"cable": "; turn the box, move it, or place the fitting elsewhere", "driver": "; use a shorter driver, "
                "or move the box", "hand": "; bolt it from below, or move the box"}[worst.kind]  # fmt: skip
    middle = enclosing(worst.body)
    return Finding(
        subject=name,
        check=check,
        verdict="fail" if worst.kind == "cable" else "look",
        message=message,
        value=free,
        limit=length,
        unit="mm",
        margin=(free - length) / length,
        source=source,
        where=tuple(r.name for _, r in short[:5]),
        at=tuple(pose((middle.low + middle.high) / 2).tolist()),
    )


def _grown(body: Body, by: float) -> Body:
    if isinstance(body, Block):
        return Block(body.low - by, body.high + by)
    return Round(body.start, body.axis, body.length + by, body.diameter + 2 * by)


def _length(room: Room) -> float:
    body = room.body
    return body.length if isinstance(body, Round) else float((body.high - body.low)[room.way[0]])


def _free_length(room: Room, pose: Pose, skins: Sequence[Skin]) -> float:
    """Return how much of a room's length, from the box on, is free, mm: to a millimetre."""
    low, high = 0.0, _length(room)
    while high - low > 1.0:
        middle = (low + high) / 2
        part = _part(room, middle)
        hit = any(bool(strikes([_grown(part, s.trust)], pose, s)[0]) for s in skins)
        low, high = (low, middle) if hit else (middle, high)
    return low


def _part(room: Room, length: float) -> Body:
    """Return the part of a room from the box on that is `length` mm long."""
    body = room.body
    if isinstance(body, Round):
        return Round(body.start, body.axis, length, body.diameter)
    low, high = body.low.copy(), body.high.copy()
    axis, up = room.way
    if up:
        high[axis] = low[axis] + length
    else:
        low[axis] = high[axis] - length
    return Block(low, high)


def _lid(name: str, box: BoxDesign, pose: Pose, skins: Sequence[Skin]) -> Finding:
    lids: list[tuple[str, Body]] = [
        (i.mark, b.moved(i.pose)) for i in box.assembly.placed if i.mark == "lid" for b in i.piece.bodies()
    ]
    top = max((float(s.bounds[1][2]) for s in skins), default=0.0)
    spare = straight_up(lids, pose, skins, top)
    ok = spare >= 0
    return Finding(
        subject=name,
        check="lid off in the car",
        verdict="pass" if ok else "look",
        message=f"the lid goes straight up with {spare:.0f} mm to spare"
        if ok
        else "the lid does not go straight up: something hangs over it; it must slide out, or the box must come out",
        value=spare,
        limit=0.0,
        unit="mm",
        source="the bay as measured, bonnet or boot lid open",
        where=("lid",),
    )
