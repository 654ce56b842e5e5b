"""The shop's rows that rails are made from: sections, steel, bolts, nuts, crush tubes."""

import math
from dataclasses import dataclass

import numpy as np

from baywright.finding import CannotBuild
from baywright.job.catalogue import Catalogue
from baywright.job.messages import BadInput
from baywright.job.rails import RailShop
from baywright.job.shop import ScrewSize
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Stock
from baywright.piece.solid import Body, Round
from baywright.shape.mass import KG_PER_MM3

_UP = np.array([0.0, 0.0, 1.0])

# Crush tubes by thread: outside and wall, mm. Cold-drawn steel tube, sizes common practice, no source; their bore
# passes the bolt.
CRUSH = {
    "M6": (10.0, 1.5),
    "M8": (12.0, 1.5),
    "M10": (15.0, 2.0),
    "M12": (18.0, 2.5),
    "M14": (20.0, 2.5),
    "M16": (22.0, 2.5),
}
# What a crush tube's metal bears before it shortens, MPa: E355+C, cold drawn, has more (EN 10305-1, from memory).
CRUSH_YIELD = 355.0
# Outside radius of a socket by the nut's width across flats (from memory: thin-walled sockets, ISO 2725-1).
_SOCKET = 0.72
# Straight room over a head for its key: the short arm of a hexagon key, ISO 2936, from memory, mm.
KEY_ARM = {"M6": 28.0, "M8": 32.0, "M10": 36.0, "M12": 40.0, "M14": 45.0, "M16": 56.0}
# Edge distance of a bolt by its diameter: handbooks on riveted metal, 2 d.
EDGE_D = 2.0
# Least distance of two holes by the larger one (EN 1993-1-8, table 3.3: 2.2, from memory).
PITCH_HOLE = 2.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Metal:
    """A metal's figures: density kg/m³, moduli and strengths MPa, and whose they are."""

    name: str
    density: float
    e: float
    g: float
    f_yield: float
    f_ultimate: float
    source: str

    @property
    def welds(self) -> bool:
        """Whether a bench weld leaves it its strength: structural steel, not tempered aluminium."""
        return self.e > 150_000


def crush_load(thread: str) -> float:
    """Return the bolt load that the crush tube for a thread of the table takes without getting shorter, N."""
    outside, wall = CRUSH[thread]
    return math.pi * (outside - wall) * wall * CRUSH_YIELD


@dataclass(frozen=True, eq=False)
class Kit:
    """Rows looked up for one set of rails."""

    shop: RailShop
    catalogue: Catalogue

    def stock(self, name: str, key: str) -> Stock:
        """Return a section; `key` names where the job asks for it.

        Raises:
            CannotBuild: if there is none of this name.
        """
        try:
            row = self.catalogue.section(name)
        except BadInput as no:
            raise CannotBuild(key, no.problems[0].message) from None
        size, solid = row.size, row.shape in ("bar", "rod")
        high = size[1] if len(size) > 1 else size[0]
        return Stock(
            name=row.name,
            shape=row.shape,
            width=size[0],
            height=high,
            wall=high if solid or row.thickness is None else row.thickness,
            material=row.material,
            density=self.metal(row.material, key).density,
            stock_length=row.stock_length,
        )

    def metal(self, name: str, key: str, thickness: float = 0.0) -> Metal:
        """Return a metal's figures at a thickness: its least guaranteed strengths if its row has such.

        Raises:
            CannotBuild: if it has no modulus or no strength.
        """
        try:
            row = self.catalogue.material(name)
        except BadInput as no:
            raise CannotBuild(key, no.problems[0].message) from None
        fits = [s for s in row.strengths if s.thickness_most is None or thickness <= s.thickness_most + 1e-9]
        if row.E is None or not fits:
            raise CannotBuild(
                key, f"material '{name}' has no modulus or no strength for {thickness:g} mm in the shop's table"
            )
        rank = {"minimum": 0, "characteristic": 1, "typical": 2}
        best = min(fits, key=lambda s: (rank[s.basis], s.f_yield))
        return Metal(
            name=name,
            density=row.density,
            e=row.E,
            g=row.G if row.G is not None else row.E / 2.6,
            f_yield=best.f_yield,
            f_ultimate=best.f_ultimate,
            source=f"{best.source} ({best.basis})",
        )

    def row(self, thread: str, key: str = "shop.bolt") -> ScrewSize:
        """Return a thread's row.

        Raises:
            CannotBuild: if the table has none.
        """
        try:
            return self.catalogue.screw(thread)
        except BadInput as no:
            raise CannotBuild(key, no.problems[0].message) from None

    def diameter(self, thread: str) -> float:
        """Return a thread's nominal diameter, mm."""
        return self.row(thread).diameter

    def hole(self, thread: str) -> float:
        """Return the through hole, ISO 273 medium, mm."""
        return self.row(thread).clearance.medium

    def crush(self, thread: str) -> tuple[float, float]:
        """Return outside and bore of the crush tube for a thread, mm.

        Raises:
            CannotBuild: if the shop has none for it.
        """
        if thread not in CRUSH:
            raise CannotBuild("shop.bolt", f"no crush tube is known for {thread}: one of {', '.join(CRUSH)}")
        outside, wall = CRUSH[thread]
        return outside, outside - 2 * wall

    def access(self, thread: str) -> float:
        """Return the radius that a nut with its washer and a socket need, mm."""
        row = self.row(thread)
        return max(row.washer.outside / 2, _SOCKET * row.nut.width) + 1.0

    def washer(self, thread: str) -> float:
        """Return a washer's outside radius, mm."""
        return self.row(thread).washer.outside / 2

    def nut_stack(self, thread: str) -> float:
        """Return how far washer, nut and two threads stand out, mm."""
        row = self.row(thread)
        return row.washer.thickness + self.diameter(thread) + 2 * row.pitch

    def head_stack(self, thread: str) -> float:
        """Return how far washer and head stand out, mm."""
        row = self.row(thread)
        return row.washer.thickness + row.cap.head_height

    def edge(self, thread: str) -> float:
        """Return the least distance of a bolt's centre from a free edge, mm."""
        return EDGE_D * self.diameter(thread)

    def driver(self, thread: str) -> float:
        """Return the straight room that a key needs over a head, mm."""
        return KEY_ARM.get(thread, max(KEY_ARM.values()))

    def length(self, thread: str, least: float) -> float:
        """Return the shortest standard bolt length of at least `least` mm.

        Beyond the table lengths go on in steps of 20 mm to 300 mm (ISO 888, from memory).

        Raises:
            CannotBuild: if none is so long.
        """
        row = self.row(thread)
        known = [float(n) for n in row.lengths]
        for one in [*known, *(float(n) for n in range(20, 301, 20) if n > known[-1])]:
            if one >= least - 1e-9:
                return one
        raise CannotBuild("shop.bolt", f"no standard {thread} bolt is {least:.0f} mm long: use a lower section")

    def bolt(self, thread: str, length: float) -> Bought:
        """Return a cap screw with its washer: under the washer at z = 0, its tip below."""
        row, d = self.row(thread), self.diameter(thread)
        w, cap = row.washer, row.cap
        bodies: tuple[Body, ...] = (
            Round(np.array([0, 0, w.thickness]), _UP, cap.head_height, cap.head_diameter),
            Round(np.zeros(3), _UP, w.thickness, w.outside),
            Round(np.array([0, 0, w.thickness - length]), _UP, length, d),
        )
        volume = cap.head_diameter**2 * cap.head_height + d**2 * length + (w.outside**2 - w.inside**2) * w.thickness
        name = f"{thread} x {length:g} cap head screw ISO 4762, class {self.shop.grade} + washer ISO 7089"
        return self._steel("screw", name, bodies, math.pi / 4 * volume, "screws")

    def nut(self, thread: str) -> Bought:
        """Return a self-locking nut with its washer: the washer against the metal at z = 0, the nut below.

        Height: one diameter (ISO 7042, from memory); an all-metal nut holds when hot and under vibration.
        """
        row, d = self.row(thread), self.diameter(thread)
        w, across = row.washer, row.nut.width
        bodies: tuple[Body, ...] = (
            Round(np.array([0, 0, -w.thickness]), _UP, w.thickness, w.outside),
            Round(np.array([0, 0, -w.thickness - d]), _UP, d, across * 2 / math.sqrt(3)),
        )
        volume = (math.sqrt(3) / 2 * across**2 - math.pi / 4 * d**2) * d
        volume += math.pi / 4 * (w.outside**2 - w.inside**2) * w.thickness
        name = f"{thread} nut ISO 7042 (all-metal, self-locking), class 8 + washer ISO 7089"
        return self._steel("nut", name, bodies, volume, "screws")

    def sleeve(self, thread: str, length: float, role: str = "crush tube") -> Bought:
        """Return a crush tube: from z = 0 down."""
        outside, inside = self.crush(thread)
        body = Round(np.array([0, 0, -length]), _UP, length, outside)
        wall = (outside - inside) / 2
        name = f"cold-drawn steel tube {outside:g} x {wall:g}, E355+C, cut to {length:.1f}, ends square"
        return self._steel(role, name, (body,), math.pi / 4 * (outside**2 - inside**2) * length, "crush tubes")

    def weld(self, leg: float, length: float, at: np.typing.NDArray[np.float64]) -> Bought:
        """Return a fillet weld's metal (a triangle of the given legs) at a point."""
        return Bought(
            role="weld",
            name=f"fillet weld, leg {leg:g} mm, {length:.0f} mm long, on the bench",
            mass=leg * leg / 2 * length * 7850.0 * KG_PER_MM3,
            centre=at,
            source="computed",
            group="welds",
        )

    def _steel(self, role: str, name: str, bodies: tuple[Body, ...], volume: float, group: str) -> Bought:
        density = self.catalogue.material("steel").density
        return Bought(
            role=role,
            name=name,
            mass=float(volume) * density * KG_PER_MM3,
            bodies_=bodies,
            source="computed from the screw table",
            group=group,
        )
