"""Part numbers: which placed pieces are the same physical part, though they stand turned."""

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.piece.assembly import Assembly, Made, Piece, Placed
from baywright.piece.bought import Bought
from baywright.piece.plate import Plate
from baywright.piece.solid import Block, Hole
from baywright.shape.loop import Loop, as_circle
from baywright.shape.pose import Pose, shifted

_STEP = 1e4  # positions are compared in steps of 1/10 000 mm
# Drawn sizes are round numbers: an odd offset keeps them away from the places where a rounding would tip over.
_OFF = 0.3819660113


@dataclass(frozen=True, eq=False)
class Part:
    """One physical part and every place where it stands.

    Attributes:
        number: its part number.
        piece: the piece, as its first occurrence was drawn.
        occurrences: (mark, pose) of each place; every pose is for `piece`, also where that place's own piece was
            drawn turned.
    """

    number: str
    piece: Piece
    occurrences: tuple[tuple[str, Pose], ...]

    @property
    def quantity(self) -> int:
        """How many are needed."""
        return len(self.occurrences)

    @property
    def made(self) -> bool:
        """Whether the shop makes it (a plate or an extrusion) rather than buys it."""
        return not isinstance(self.piece, Bought)


def slug(text: str) -> str:
    """Return the text as a name for files and part numbers: ASCII letters, digits, dots, single hyphens."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9.]+", "-", plain).strip("-.") or "part"


def letters(index: int) -> str:
    """Return A for 0, B for 1 … Z, then AA, AB."""
    text = ""
    index += 1
    while index:
        index, digit = divmod(index - 1, 26)
        text = chr(ord("A") + digit) + text
    return text


def distinct(assembly: Assembly) -> list[Part]:
    """Return the distinct parts of an assembly in order of first occurrence, bought things and fasteners included.

    Two made pieces are one part if a turn of the blank brings outline and holes over each other to 1/10 000 mm and
    material, role and what each hole is for agree. Mirror images are different parts unless turning the blank over
    makes them equal. Bought things are one part if role, name, mass and drawn bodies agree.

    A number is assembly-role-letter: it does not change when other roles gain or lose parts.
    """
    labels: dict[tuple[object, ...], int] = {}
    keys: dict[int, list[tuple[bytes, Pose]]] = {}
    articles: dict[int, tuple[object, ...]] = {}
    found: dict[tuple[object, ...], tuple[Piece, Pose, list[tuple[str, Pose]]]] = {}
    for item in [*assembly.placed, *assembly.fasteners()]:
        if isinstance(item.piece, Bought):
            if id(item.piece) not in articles:
                articles[id(item.piece)] = _bought_key(item.piece)
            group, turn = articles[id(item.piece)], shifted()
        else:
            if id(item.piece) not in keys:
                keys[id(item.piece)] = _turned_keys(item.piece, labels)
            group, turn = _choose(item, keys[id(item.piece)], found)
        if group not in found:
            found[group] = (item.piece, turn, [])
        _, first_turn, places = found[group]
        places.append((item.mark, item.pose.after(turn.inverse().after(first_turn))))
    count: dict[str, int] = {}
    parts = []
    for piece, _, places in found.values():
        stem = f"{slug(assembly.name)}-{slug(piece.role)}"
        number = f"{stem}-{letters(count.get(stem, 0))}"
        count[stem] = count.get(stem, 0) + 1
        parts.append(Part(number, piece, tuple(places)))
    return parts


def _choose(
    item: Placed,
    turned: list[tuple[bytes, Pose]],
    found: dict[tuple[object, ...], tuple[Piece, Pose, list[tuple[str, Pose]]]],
) -> tuple[tuple[object, ...], Pose]:
    """Return a made piece's group and the turn that brings it there."""
    assert not isinstance(item.piece, Bought)
    smallest = min(key for key, _ in turned)
    group = (*_blank(item.piece), smallest)
    turns = [turn for key, turn in turned if key == smallest]
    if group not in found:
        return group, turns[0]
    # A symmetric piece fits in more than one way: prefer the one that leaves the seen side where it is.
    first = found[group][1]
    return group, max(turns, key=lambda turn: round(float((turn.inverse().after(first)).turn[2, 2]), 6))


def _blank(piece: Made) -> tuple[object, ...]:
    """Return what two pieces must share before their shapes are compared."""
    if isinstance(piece, Plate):
        return ("plate", piece.role, piece.material, piece.seen_from, _whole(piece.thickness), _whole(piece.density))
    s = piece.stock
    sizes = (s.width, s.height, s.wall, s.density, piece.length)
    return ("extrusion", piece.role, s.name, s.shape, s.material, *map(_whole, sizes))


def _bought_key(piece: Bought) -> tuple[object, ...]:
    """Return what makes two bought things one article."""
    bodies = tuple(
        ("block", *map(_whole, np.concatenate([b.low, b.high]).tolist()))
        if isinstance(b, Block)
        else ("round", *map(_whole, [*b.start.tolist(), *b.axis.tolist(), b.length, b.diameter]))
        for b in piece.bodies()
    )
    return ("bought", piece.role, piece.name, round(piece.mass, 9), bodies)


def _whole(value: float) -> int:
    return int(np.floor(value * _STEP + _OFF))


def _turned_keys(piece: Made, labels: dict[tuple[object, ...], int]) -> list[tuple[bytes, Pose]]:
    """Return, for each turn of the blank, a key of its outline and holes so turned, and the turn.

    Every loop is put down as points in space at mid-thickness (a circle as its centre, others as corners and middles
    of edges), each with a label of what it belongs to; sorted, they no longer depend on where a loop starts or which
    way it runs.
    """
    points: list[NDArray[np.float64]] = []
    tags: list[int] = []

    def put(loop: Loop, pose: Pose, height: float, kind: tuple[object, ...]) -> None:
        flat, size = _marks(loop)
        label = labels.setdefault((*kind, *size, len(flat)), len(labels))
        points.append(pose(np.column_stack([flat, np.full(len(flat), height)])))
        tags.extend([label] * len(flat))

    if isinstance(piece, Plate):
        put(piece.outline, shifted(), piece.thickness / 2, ("outline",))
    faces = piece.faces()
    for hole in piece.holes:
        put(hole.loop, faces[hole.face].pose, -hole.depth / 2, _hole_kind(hole))
    if not points:
        return [(b"", turn) for turn in piece.turns()]
    cloud, tag = np.concatenate(points), np.array(tags, dtype=np.int64)
    keys = []
    for turn in piece.turns():
        rows = np.column_stack([tag, np.floor(turn(cloud) * _STEP + _OFF).astype(np.int64)])
        keys.append((rows[np.lexsort(rows.T[::-1])].astype(">i8").tobytes(), turn))
    return keys


def _hole_kind(hole: Hole) -> tuple[object, ...]:
    return ("hole", hole.use, hole.callout, _whole(hole.depth))


def _marks(loop: Loop) -> tuple[NDArray[np.float64], tuple[int, ...]]:
    """Return points (n, 2) that stand for a loop, and its diameter if it is a circle."""
    ring = as_circle(loop)
    if ring is not None:
        return np.array([ring[:2]]), (_whole(ring[2]),)
    chord = np.roll(loop[:, :2], -1, axis=0) - loop[:, :2]
    # The middle of an arc lies half a chord times its bulge to the right of the chord's middle.
    middle = loop[:, :2] + chord / 2 + np.column_stack([chord[:, 1], -chord[:, 0]]) * (loop[:, 2:] / 2)
    return np.concatenate([loop[:, :2], middle]), ()


def made_parts(parts: Iterable[Part]) -> list[Part]:
    """Return the parts that the shop makes."""
    return [part for part in parts if part.made]
