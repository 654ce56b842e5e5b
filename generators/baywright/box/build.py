"""Collects the pieces and joints of one box while it is laid out, and holds the poses that every part of it uses."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from baywright.box.kit import LOADED_THREAD_D, THIN_THREAD_PITCHES, Kit
from baywright.piece.assembly import Assembly, Piece, Placed, faying
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion, Stock
from baywright.piece.joint import Along, Bond, Layer, ScrewLine
from baywright.piece.plate import Plate
from baywright.piece.solid import Hole
from baywright.piece.spread import Pitch
from baywright.shape.loop import Loop, rectangle
from baywright.shape.pose import Pose, cross, pose

X, Y, Z = np.eye(3)

# Straight room that a hand driver or a bit on an extension needs over a head, mm (common practice, no source).
DRIVER_REACH = 100.0


@dataclass(eq=False)
class Build:
    """What has been put together so far."""

    name: str
    kit: Kit
    placed: dict[str, Placed] = field(default_factory=dict)
    bonds: list[Bond] = field(default_factory=list)
    lines: list[ScrewLine] = field(default_factory=list)

    def put(self, mark: str, piece: Piece, where: Pose, stage: int = 0) -> Placed:
        """Place a piece and return it."""
        if mark in self.placed:
            raise ValueError(f"two pieces are called '{mark}' in {self.name}")
        self.placed[mark] = Placed(mark, piece, where, stage)
        return self.placed[mark]

    def panel(
        self,
        mark: str,
        role: str,
        where: Pose,
        size: tuple[float, float],
        thickness: float,
        material: str,
        *,
        holes: Sequence[Hole] = (),
        seen_from: str = "outside",
        stage: int = 0,
        outline: Loop | None = None,
    ) -> Placed:
        """Place a rectangular plate of `size` mm (or an outline) whose frame stands at `where`."""
        piece = Plate(
            role=role,
            outline=rectangle(0, 0, *size) if outline is None else outline,
            holes=tuple(holes),
            thickness=thickness,
            material=material,
            density=self.kit.density(material),
            seen_from=seen_from,
        )
        return self.put(mark, piece, where, stage)

    def angle(
        self,
        mark: str,
        role: str,
        stock: Stock,
        heel: ArrayLike,
        along: NDArray[np.float64],
        leg: NDArray[np.float64],
        other: NDArray[np.float64],
        length: float,
        stage: int = 0,
    ) -> Placed:
        """Place an angle whose heel starts at `heel` and runs `length` mm along `along`, its legs the two ways given.

        Which leg becomes the section's own x leg follows from the hand of the three directions.
        """
        right_handed = float(cross(leg, other) @ along) > 0
        where = pose(leg, other, heel) if right_handed else pose(other, leg, heel)
        return self.put(mark, Extrusion(role=role, stock=stock, length=length), where, stage)

    def bar(
        self,
        mark: str,
        role: str,
        stock: Stock,
        centre: ArrayLike,
        along: NDArray[np.float64],
        across: NDArray[np.float64],
        length: float,
        stage: int = 0,
    ) -> Placed:
        """Place a flat bar about the middle of its lower broad face, its length and its width the ways given."""
        up = cross(along, across)
        start = np.asarray(centre, dtype=float) - along * length / 2 - across * stock.width / 2
        return self.put(mark, Extrusion(role=role, stock=stock, length=length), pose(across, up, start), stage)

    def bond(self, first: str, second: str) -> Bond:
        """Glue two placed pieces where their faces lie a bond line apart, and return the bond."""
        adhesive = self.kit.adhesive
        made = faying(
            f"bond {first} / {second}",
            self.placed[first],
            self.placed[second],
            self.kit.style.bond_line,
            adhesive.name,
            adhesive.density,
        )
        self.bonds.append(made)
        return made

    def pitch(self) -> Pitch:
        """Return the style's rule for joint screws."""
        style, rule = self.kit.style, self.kit.style.joint_screw
        beside = max(self.kit.diameter(t) for t in (rule.size, style.feet.screw, style.bearer_screw.size))
        return Pitch(
            least=rule.pitch_least,
            most=rule.pitch_most,
            edge=rule.edge_least_d * self.kit.diameter(rule.size),
            first=rule.first_most,
            beside=3.0 * beside,  # least pitch 3 d: handbooks on riveted aluminium
        )

    def screws(
        self,
        name: str,
        joint: str,
        points: ArrayLike,
        direction: NDArray[np.float64],
        through: Sequence[str],
        into: str,
        thread: float,
        *,
        size: str,
        head: str,
        grip: float,
        stage: int = 0,
        washer: bool = False,
        loaded: bool = False,
        blind: bool = False,
    ) -> None:
        """Add a line of screws: clearance through the pieces `through`, from the head on, tapped in `into`.

        Args:
            name: the line's name.
            joint: what it holds.
            points: (n, 3) mm under the heads.
            direction: from head to tip.
            through: marks of the pieces with clearance holes.
            into: mark of the tapped piece.
            thread: length of metal that can be tapped, mm.
            size: thread.
            head: "button" or "cap".
            grip: from under the head to the tapped metal, mm.
            stage: when they are driven.
            washer: whether one lies under each head.
            loaded: whether the thread carries load, and so engages 1.5 d rather than two pitches.
            blind: whether the tapped hole ends in the metal, two pitches past the screw's tip.
        """
        kit, where = self.kit, np.atleast_2d(np.asarray(points, dtype=float))
        if not where.size:
            return
        row, d = kit.size(size), kit.diameter(size)
        least = (
            min(thread, LOADED_THREAD_D * d) if loaded else min(thread, max(THIN_THREAD_PITCHES * row.pitch, thread))
        )
        under = row.washer.thickness if washer else 0.0
        length = kit.screw_length(size, grip + under, least)
        wide, high = kit.head(size, head)
        if washer:
            wide, high = max(wide, row.washer.outside), high + under
        depth = length - under - grip + 2 * row.pitch if blind else None
        to = "through" if depth is None else f"{depth:.1f} deep"
        layers = [Layer(mark, "clearance", kit.clearance(size), f"clearance for {size}") for mark in through]
        layers.append(Layer(into, "tapped", row.tap_drill, f"{size} x {row.pitch:g} tapped {to}", depth=depth))
        self.lines.append(
            ScrewLine(
                name=name,
                joint=joint,
                screw=kit.screw(size, head, length, washer),
                size=size,
                length=length,
                points=where,
                direction=direction,
                layers=tuple(layers),
                head=(wide, high),
                driver=DRIVER_REACH,
                stage=stage,
            )
        )

    def inserted(
        self,
        name: str,
        joint: str,
        points: ArrayLike,
        direction: NDArray[np.float64],
        through: str,
        into: str,
        *,
        grip: float,
        size: str,
        head: str,
        insert: str,
        stage: int,
    ) -> None:
        """Add a line of screws through one piece into inserts set in another, their flanges towards the head."""
        kit, where = self.kit, np.atleast_2d(np.asarray(points, dtype=float))
        row, length = kit.catalogue.insert(insert), kit.length_into_insert(size, grip, insert)
        self.lines.append(
            ScrewLine(
                name=name,
                joint=joint,
                screw=kit.screw(size, head, length),
                size=size,
                length=length,
                points=where,
                direction=direction,
                layers=(
                    Layer(through, "clearance", kit.clearance(size), f"clearance for {size}"),
                    Layer(into, "insert", row.hole, f"{row.name}: hole {row.hole:g}"),
                ),
                along=(Along(kit.insert(insert), grip),),
                head=kit.head(size, head),
                driver=DRIVER_REACH,
                stage=stage,
            )
        )

    def extra(self, mark: str, role: str, name: str, mass: float, at: ArrayLike, source: str, stage: int = 0) -> None:
        """Add a mass without a body: a liquid, an allowance."""
        if mass > 0:
            piece = Bought(role=role, name=name, mass=mass, source=source, group="allowances")
            self.put(mark, piece, Pose(np.eye(3), np.asarray(at, dtype=float)), stage)

    def assembly(self) -> Assembly:
        """Return what has been put together, not yet drilled."""
        return Assembly(
            name=self.name, placed=tuple(self.placed.values()), bonds=tuple(self.bonds), lines=tuple(self.lines)
        )
