"""Collects the pieces and bolts of one set of rails while it is laid out, and refuses what would not fit."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from baywright.piece.assembly import Assembly, Piece, Placed
from baywright.piece.joint import Along, Layer, ScrewLine
from baywright.piece.scene import TOUCH
from baywright.piece.solid import enclosing
from baywright.rail.bars import Bar, Seat
from baywright.rail.oriented import Box, blocked, box_of, driver_ways, overlaps, share
from baywright.rail.shop import Kit
from baywright.shape.pose import Pose

Array = NDArray[np.float64]


@dataclass(eq=False)
class Lot:
    """Pieces and bolts that belong together and are tried as one."""

    placed: list[Placed] = field(default_factory=list)
    lines: list[ScrewLine] = field(default_factory=list)

    def put(self, mark: str, piece: Piece, where: Pose, stage: int = 0) -> Placed:
        """Add a piece and return it."""
        self.placed.append(Placed(mark, piece, where, stage))
        return self.placed[-1]


def end_margin(kit: Kit) -> float:
    """Return how far a bar reaches past its last hole, mm."""
    return max(kit.shop.end_margin, kit.edge(kit.shop.bolt))


@dataclass(frozen=True, slots=True)
class Clash:
    """Why a lot does not fit, and the marks of what is in the way of each other."""

    text: str
    marks: tuple[str, str]


@dataclass(eq=False)
class Build:
    """What has been put together so far; a later piece or line of the same name replaces the earlier one."""

    name: str
    kit: Kit
    keep_outs: list[tuple[str, Box]] = field(default_factory=list)
    placed: dict[str, Placed] = field(default_factory=dict)
    lines: dict[str, ScrewLine] = field(default_factory=dict)
    _room: dict[Placed | ScrewLine, tuple[Array, Array]] = field(default_factory=dict)

    def add(self, lot: Lot) -> None:
        """Take a lot in."""
        for item in lot.placed:
            self.placed[item.mark] = item
        for line in lot.lines:
            self.lines[line.name] = line

    def kept(self) -> tuple[dict[str, Placed], dict[str, ScrewLine]]:
        """Return what is in it now, for `back_to`."""
        return dict(self.placed), dict(self.lines)

    def back_to(self, kept: tuple[dict[str, Placed], dict[str, ScrewLine]]) -> None:
        """Put it back as it was."""
        self.placed, self.lines = dict(kept[0]), dict(kept[1])

    def clash(self, lot: Lot) -> Clash | None:
        """Return what keeps a lot from fitting, or None."""
        for item in lot.placed:
            for body in item.piece.bodies():
                box = box_of(body, item.pose)
                for name, thing in self.keep_outs:
                    if share(box, thing):
                        return Clash(f"'{item.mark}' would stand in the keep-out '{name}'", (item.mark, name))
        marks, names = {p.mark for p in lot.placed}, {line.name for line in lot.lines}
        own = [*(self._blocks(p) for p in lot.placed), *(self._blocks(line) for line in lot.lines)]
        low, high = np.concatenate([b[0] for b in own]), np.concatenate([b[1] for b in own])
        near = [p for p in self.placed.values() if p.mark not in marks and self._near(p, low, high)]
        lines = [line for line in self.lines.values() if line.name not in names and self._near(line, low, high)]
        tried = Assembly(name=self.name, placed=(*near, *lot.placed), lines=(*lines, *lot.lines))
        for a, b in overlaps(tried):
            if self._is_of(a.item.mark, marks, names) or self._is_of(b.item.mark, marks, names):
                return Clash(f"'{a.item.mark}' and '{b.item.mark}' would meet", (a.item.mark, b.item.mark))
        for line, other, _ in blocked(tried):
            if line in names or self._is_of(other, marks, names):
                return Clash(f"'{other}' would stand in the way of a driver for '{line}'", (other, line))
        return None

    def _near(self, thing: Placed | ScrewLine, low: Array, high: Array) -> bool:
        """Tell whether a piece or a line of bolts comes into any of some blocks (n, 3)."""
        own_low, own_high = self._blocks(thing)
        return bool(((own_low[:, None] < high[None]) & (low[None] < own_high[:, None])).all(axis=2).any())

    def _blocks(self, thing: Placed | ScrewLine) -> tuple[Array, Array]:
        """Return the blocks (n, 3) round each body of a piece, or of a line's bolts and the ways of their drivers."""
        if thing not in self._room:
            if isinstance(thing, Placed):
                found = thing.blocks()
            else:
                alone = Assembly(name="", placed=(), lines=(thing,))
                found = [block for item in alone.fasteners() for block in item.blocks()]
                found += [enclosing(way) for _, way in driver_ways(thing)]
            shrunk = TOUCH / 2  # blocks that only touch are not near
            self._room[thing] = (
                np.array([b.low for b in found]).reshape(-1, 3) + shrunk,
                np.array([b.high for b in found]).reshape(-1, 3) - shrunk,
            )
        return self._room[thing]

    @staticmethod
    def _is_of(mark: str, marks: set[str], names: set[str]) -> bool:
        return mark in marks or any(mark.startswith(f"{name} ") for name in names)

    def bolts(
        self,
        lot: Lot,
        name: str,
        joint: str,
        points: ArrayLike,
        direction: Array,
        layers: Sequence[Layer],
        grip: float,
        *,
        size: str,
        nut: bool = True,
        engaged: float = 0.0,
        sleeves: Sequence[tuple[float, float]] = (),
        along: Sequence[Along] = (),
        stage: int = 0,
        tight_by: str = "",
    ) -> ScrewLine:
        """Add a line of bolts with washers and nuts, or screwed into the last layer, and return it.

        Args:
            lot: where it belongs.
            name: the line's name.
            joint: what it holds.
            points: (n, 3) mm on the metal under the heads.
            direction: from head to tip.
            layers: what it passes, from the head on.
            grip: from under the head's washer to the nut's washer, or to the tapped metal, mm.
            size: thread.
            nut: whether it has a nut.
            engaged: length in tapped metal, mm.
            sleeves: crush tubes on its way as (distance from the head's seat, length), mm.
            along: what else stands on its way.
            stage: when it is driven.
            tight_by: who says how tight, if not the shop.
        """
        kit, row = self.kit, self.kit.row(size)
        w = row.washer.thickness
        need = grip + w + (w + kit.diameter(size) + 2 * row.pitch if nut else engaged)
        length = kit.length(size, need)
        if not nut:  # the next length down that still engages, or the table's: a tip must not bottom out
            length = max((float(n) for n in row.lengths if n <= need + 1e-9), default=length)
        extras = [*along, *(Along(kit.sleeve(size, long), offset) for offset, long in sleeves)]
        if nut:
            extras.append(Along(kit.nut(size), grip))
        line = ScrewLine(
            name=name,
            joint=joint,
            screw=kit.bolt(size, length),
            size=size,
            length=length,
            points=np.atleast_2d(np.asarray(points, dtype=float)),
            direction=direction,
            layers=tuple(layers),
            along=tuple(extras),
            head=(row.washer.outside, w + row.cap.head_height),
            driver=kit.driver(size),
            stage=stage,
            tight_by=tight_by,
        )
        lot.lines.append(line)
        return line

    def far_walls(self, lot: Lot, line: ScrewLine, bar: Bar, seat: Seat, way: Array) -> None:
        """Add the holes of a line in the far wall of a hollow bar, where its crush tubes come out.

        Args:
            lot: where they belong.
            line: the bolts.
            bar: the bar.
            seat: the face that the bolts go in at.
            way: the direction (v or w of the bar) that `seat` is measured along.
        """
        back = line.points - np.outer((line.points - bar.centre) @ way - seat.far, way)
        outside, _ = self.kit.crush(line.size)
        lot.lines.append(
            ScrewLine(
                name=f"{line.name}, far wall",
                joint=line.joint,
                screw=None,
                size=line.size,
                length=0.0,
                points=back,
                direction=-line.direction,
                layers=(Layer(bar.mark, "clearance", outside, self.crush_text(line.size)),),
                stage=line.stage,
            )
        )

    def crush_text(self, size: str) -> str:
        """Return the callout of a crush tube's hole."""
        outside, inside = self.kit.crush(size)
        return f"crush tube {outside:g} x {(outside - inside) / 2:g} for {size}"

    def wall_layer(self, bar: Bar, seat: Seat, size: str) -> Layer:
        """Return the layer of a bar at the face that bolts go in at."""
        if seat.sleeved:
            return Layer(bar.mark, "clearance", seat.hole, self.crush_text(size))
        return Layer(bar.mark, "clearance", seat.hole, f"clearance for {size}")
