"""Two jobs or releases side by side: which pieces changed and how, what must be made again, what the balance did."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from baywright.release.stand import BALANCE, MadePiece, Stand
from baywright.shape.loop import Loop, area, as_circle, bounds, lie

# Files keep nine decimals, a shop sees a hundredth of a millimetre at best.
_SAME = 0.01  # mm
Again = Literal["keep", "drill more", "make again", "make", "drop", "make more", "make fewer", "renumber"]


@dataclass(frozen=True, eq=False, kw_only=True)
class Change:
    """What became of one made part.

    Attributes:
        number: its number (the new one where it was renumbered).
        what: its role.
        again: what the shop has to do.
        told: how it differs, a few words each.
        old: as it was; None if it is new.
        new: as it is; None if it is gone.
    """

    number: str
    what: str
    again: Again
    told: tuple[str, ...]
    old: MadePiece | None
    new: MadePiece | None


@dataclass(frozen=True, eq=False, kw_only=True)
class Changes:
    """Everything that differs between two stands.

    Attributes:
        old: one.
        new: the other.
        pieces: made parts that differ, what must be made again first.
        same: how many made parts do not.
        bought: (group, name, before, after, unit) of what is bought in another quantity.
        masses: (name, kg before, kg after, centroid's shift in mm) of things that differ.
        balance: (name, before, after, unit) of the finished car.
        sources: files behind both that are not what they were.
    """

    old: Stand
    new: Stand
    pieces: tuple[Change, ...]
    same: int
    bought: tuple[tuple[str, str, float, float, str], ...]
    masses: tuple[tuple[str, float | None, float | None, tuple[float, float, float] | None], ...]
    balance: tuple[tuple[str, float | None, float | None, str], ...]
    sources: tuple[str, ...]


def compare(old: Stand, new: Stand) -> Changes:
    """Return what differs between two stands."""
    pieces: list[Change] = []
    same = 0
    found: set[str] = set()  # numbers of old parts that are there still, as they were or changed
    for number, piece in new.made.items():
        before = old.made.get(number)
        if before is not None and not _differences(before, piece):
            same += 1
            found.add(number)
            continue
        # Parts keep their numbers unless one of the same role came before them: then the shape says which is which.
        stem = number.rsplit("-", 1)[0]
        alike = (o for o in old.made.values() if o.number.rsplit("-", 1)[0] == stem)
        twin = next((o for o in alike if not _differences(o, piece, but_quantity=True)), None)
        if twin is not None and twin.number != number:
            found.add(twin.number)
            told = (f"was {twin.number}", *_quantity(twin, piece))
            pieces.append(Change(number=number, what=piece.what, again="renumber", told=told, old=twin, new=piece))
        elif before is None:
            told = (f"{piece.quantity} × {piece.size}, {piece.material}",)
            pieces.append(Change(number=number, what=piece.what, again="make", told=told, old=None, new=piece))
        else:
            found.add(number)
            pieces.append(_changed(before, piece))
    told = ("not needed any more",)
    pieces += [
        Change(number=number, what=piece.what, again="drop", told=told, old=piece, new=None)
        for number, piece in old.made.items()
        if number not in found
    ]
    order = ("make again", "make", "make more", "drill more", "make fewer", "renumber", "drop")
    rank = {again: place for place, again in enumerate(order)}
    pieces.sort(key=lambda change: (rank[change.again], change.number))
    amounts = []
    for key in sorted({*old.bought, *new.bought}):
        before_, after_ = old.bought.get(key, (0.0, "pcs")), new.bought.get(key, (0.0, "pcs"))
        if abs(before_[0] - after_[0]) > 1e-6:
            amounts.append((*key, before_[0], after_[0], after_[1] or before_[1]))
    return Changes(
        old=old,
        new=new,
        pieces=tuple(pieces),
        same=same,
        bought=tuple(amounts),
        masses=tuple(_masses(old, new)),
        balance=tuple((name, old.balance[key], new.balance[key], unit) for key, (name, unit) in BALANCE.items()),
        sources=tuple(sorted(name for name, was in old.sources.items() if new.sources.get(name, was) != was)),
    )


def _quantity(old: MadePiece, new: MadePiece) -> tuple[str, ...]:
    return () if old.quantity == new.quantity else (f"{old.quantity} → {new.quantity} pieces",)


def _differences(old: MadePiece, new: MadePiece, but_quantity: bool = False) -> bool:
    if old.material != new.material or old.size != new.size:
        return True
    if not but_quantity and old.quantity != new.quantity:
        return True
    if set(old.views) != set(new.views):
        return True
    return any(shape_of(old.views[view]) != shape_of(new.views[view]) for view in old.views)


def key_of(loop: Loop) -> tuple[float, ...]:
    """Return what tells a loop from others, to what a shop can see: its middle, its size, its area, and how that lies.

    A notch at the left and one at the right leave one size and one area: where the area's own middle lies, and which
    way it leans, tell a piece from its mirror image.
    """
    ring = as_circle(loop)
    if ring is not None:
        return tuple(_step(v) for v in (ring[0], ring[1], ring[2], ring[2]))
    x0, y0, x1, y1 = bounds(loop)
    (x, y, leans), metal = lie(loop), abs(area(loop))
    middle, size = ((x0 + x1) / 2, (y0 + y1) / 2), (x1 - x0, y1 - y0)
    return tuple(_step(v) for v in (*middle, *size, metal / 10, x - middle[0], y - middle[1], leans))


def _step(value: float) -> int:
    """Return which step of a hundredth a value is in; drawn sizes are round numbers, so the steps' ends are not."""
    return math.floor(value / _SAME + 0.3819660113)


def shape_of(loops: Sequence[Loop]) -> tuple[tuple[float, ...], frozenset[tuple[float, ...]]]:
    """Return what tells one view of a part from another: its outline's key, and its holes'."""
    return key_of(loops[0]), frozenset(key_of(loop) for loop in loops[1:])


@dataclass(slots=True)
class _Moves:
    """How the holes of one view differ."""

    added: list[Loop] = field(default_factory=list)
    removed: list[Loop] = field(default_factory=list)
    moved: list[tuple[Loop, Loop, float]] = field(default_factory=list)


def _moves(old: Sequence[Loop], new: Sequence[Loop]) -> _Moves:
    """Return the holes that came, went and moved: of those that went, the nearest of equal size counts as moved."""
    keys = {key_of(loop) for loop in new[1:]}, {key_of(loop) for loop in old[1:]}
    went = [loop for loop in old[1:] if key_of(loop) not in keys[0]]
    came = [loop for loop in new[1:] if key_of(loop) not in keys[1]]
    found = _Moves()
    for loop in went:
        alike = [c for c in came if key_of(c)[2:] == key_of(loop)[2:]]
        if not alike:
            found.removed.append(loop)
            continue
        away = [math.dist(_middle(loop), _middle(c)) for c in alike]
        nearest = alike[int(np.argmin(away))]
        came = [c for c in came if c is not nearest]
        found.moved.append((loop, nearest, min(away)))
    found.added = came
    return found


def _middle(loop: Loop) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds(loop)
    return (x0 + x1) / 2, (y0 + y1) / 2


def _holes(count: int) -> str:
    return "1 hole" if count == 1 else f"{count} holes"


def _changed(old: MadePiece, new: MadePiece) -> Change:
    """Return how one part differs, and whether the old one can still be used."""
    told = list(_quantity(old, new))
    again: Again = "keep"
    spoiled = False  # metal is gone where it must be
    if old.material != new.material:
        told.append(f"{old.material} → {new.material}")
        again = "make again"
    if old.size != new.size:
        told.append(f"{old.size} → {new.size} mm")
        again = "make again"
    for view in sorted({*old.views, *new.views}):
        a, b = old.views.get(view, ()), new.views.get(view, ())
        on = f" on {view}" if view else ""
        if a and b and key_of(a[0]) != key_of(b[0]) and again != "make again":
            told.append(f"another outline{on}")
            again = "make again"
        if again == "make again":  # measured from other corners, single holes can't be told apart
            if len(a) != len(b):
                told.append(f"{max(len(a) - 1, 0)} → {_holes(max(len(b) - 1, 0))}{on}")
            continue
        moves = _moves(a or b[:1], b or a[:1])
        if moves.added:
            told.append(f"{_holes(len(moves.added))} more{on}")
        if moves.removed:
            told.append(f"{_holes(len(moves.removed))} fewer{on}")
        if moves.moved:
            most = max(distance for *_, distance in moves.moved)
            told.append(f"{_holes(len(moves.moved))} moved by up to {most:.2f} mm{on}")
        if moves.removed or moves.moved:
            spoiled = True
        elif moves.added:
            again = "drill more"
    if spoiled:
        again = "make again"
    if again == "keep":
        again = "make more" if new.quantity > old.quantity else "make fewer"
    return Change(number=new.number, what=new.what, again=again, told=tuple(told), old=old, new=new)


def _masses(old: Stand, new: Stand) -> list[tuple[str, float | None, float | None, tuple[float, float, float] | None]]:
    rows: list[tuple[str, float | None, float | None, tuple[float, float, float] | None]] = []
    for name in sorted({*old.masses, *new.masses}):
        a, b = old.masses.get(name), new.masses.get(name)
        if a is None or b is None:
            rows.append((name, a[0] if a else None, b[0] if b else None, None))
            continue
        shift = (b[1][0] - a[1][0], b[1][1] - a[1][1], b[1][2] - a[1][2])
        if abs(b[0] - a[0]) > 1e-6 or max(map(abs, shift)) > 1e-3:
            rows.append((name, a[0], b[0], shift))
    return rows
