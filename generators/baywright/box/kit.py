"""The shop's rows that one box is made from, looked up once: stock, screws, inserts, materials, adhesive."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from baywright.job.catalogue import Catalogue
from baywright.job.parts import Section
from baywright.job.shop import Adhesive, Insert, ScrewSize
from baywright.job.style import Style
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Stock
from baywright.piece.solid import Body, Round
from baywright.shape.mass import KG_PER_MM3

HEAD_STANDARD = {"button": "ISO 7380-1", "cap": "ISO 4762", "countersunk": "ISO 10642"}
# Engagement of a clamping thread in thin metal: at least two pitches (common practice, no source).
THIN_THREAD_PITCHES = 2.0
# Engagement of a loaded thread in aluminium: 1.5 d (a rule of thumb of engineering tables).
LOADED_THREAD_D = 1.5

_UP = np.array([0.0, 0.0, 1.0])


def stock_of(section: Section, catalogue: Catalogue) -> Stock:
    """Return the stock section of a catalogue row, with its material's density."""
    size = section.size
    thin = section.thickness if section.thickness is not None else (size[1] if len(size) > 1 else size[0])
    return Stock(
        name=section.name,
        shape=section.shape,
        width=size[0],
        height=size[1] if len(size) > 1 else size[0],
        wall=thin,
        material=section.material,
        density=catalogue.material(section.material).density,
        stock_length=section.stock_length,
    )


@dataclass(frozen=True, eq=False)
class Kit:
    """The rows that a style names."""

    style: Style
    catalogue: Catalogue

    @cached_property
    def corner_angle(self) -> Stock:
        """Angle inside the upright edges."""
        return self.stock(self.style.corner_angle)

    @cached_property
    def floor_angle(self) -> Stock:
        """Angle along the foot of the walls."""
        return self.stock(self.style.floor_angle)

    @cached_property
    def flange_angle(self) -> Stock:
        """Angle around the top that the lid sits on."""
        return self.stock(self.style.flange_angle)

    @cached_property
    def ledge_angle(self) -> Stock:
        """Angle on the long walls that carries a layer's bearers."""
        return self.stock(self.style.ledge_angle)

    @cached_property
    def bearer(self) -> Stock:
        """Flat bar across the box that modules are screwed down to."""
        return self.stock(self.style.bearer)

    @cached_property
    def adhesive(self) -> Adhesive:
        """The structural adhesive."""
        return self.catalogue.adhesive(self.style.adhesive)

    def stock(self, name: str) -> Stock:
        """Return the stock section called `name`."""
        return stock_of(self.catalogue.section(name), self.catalogue)

    def density(self, material: str) -> float:
        """Return a material's density in kg/m³."""
        return self.catalogue.material(material).density

    def size(self, thread: str) -> ScrewSize:
        """Return the screw table's row for a thread ("M5")."""
        return self.catalogue.screw(thread)

    def diameter(self, thread: str) -> float:
        """Return a thread's nominal diameter in mm."""
        return self.size(thread).diameter

    def head(self, thread: str, head: str) -> tuple[float, float]:
        """Return a screw head's diameter and height in mm."""
        row = getattr(self.size(thread), head)
        return row.head_diameter, row.head_height

    def clearance(self, thread: str) -> float:
        """Return the through hole for a thread, ISO 273, in the style's class (mm)."""
        fit: float = getattr(self.size(thread).clearance, self.style.joint_screw.clearance_class)
        return fit

    def screw_length(self, thread: str, grip: float, least: float) -> float:
        """Return the shortest standard length that passes `grip` mm and engages at least `least` mm.

        Raises:
            ValueError: if the table has none so long.
        """
        for length in self.size(thread).lengths:
            if length >= grip + least - 1e-9:
                return float(length)
        raise ValueError(f"no standard {thread} screw is {grip + least:.1f} mm long")

    def length_into_insert(self, thread: str, grip: float, insert: str) -> float:
        """Return the length of a screw through `grip` mm into an insert with full thread.

        It reaches through the insert's threaded end: at least 1 d beyond the metal that the insert takes.
        """
        return self.screw_length(thread, grip + self.catalogue.insert(insert).grip.most, self.diameter(thread))

    def screw(self, thread: str, head: str, length: float, washer: bool = False) -> Bought:
        """Return a screw: under its head (or washer) at z = 0, the tip at z = -length.

        The mass is that of plain cylinders at the thread's nominal diameter and a full head: a little more than real.
        """
        d = self.diameter(thread)
        wide, high = self.head(thread, head)
        under = self.size(thread).washer.thickness if washer else 0.0
        bodies: list[Body] = [
            Round(np.array([0, 0, under]), _UP, high, wide),
            Round(np.array([0, 0, under - length]), _UP, length, d),
        ]
        volume = np.pi / 4 * (wide**2 * high + d**2 * length)
        name = f"{thread} x {length:g} {head} head screw {HEAD_STANDARD[head]}, class 8.8"
        if washer:
            w = self.size(thread).washer
            bodies.insert(1, Round(np.zeros(3), _UP, under, w.outside))
            volume += np.pi / 4 * (w.outside**2 - w.inside**2) * under
            name += " + washer ISO 7089"
        mass = float(volume) * self.density("steel") * KG_PER_MM3
        return Bought(
            role="screw",
            name=name,
            mass=mass,
            bodies_=tuple(bodies),
            source="computed from the screw table",
            group="screws",
        )

    def insert(self, name: str) -> Bought:
        """Return a blind rivet nut: its flange on the metal at z = 0…, its body below, bulged under the metal."""
        row: Insert = self.catalogue.insert(name)
        grip = row.grip.most
        return Bought(
            role="insert",
            name=row.name,
            mass=row.mass,
            bodies_=(
                Round(np.zeros(3), _UP, row.flange_thickness, row.flange_diameter),
                Round(np.array([0, 0, -grip]), _UP, grip, row.hole),
                Round(np.array([0, 0, -row.body_length]), _UP, row.body_length - grip, row.flange_diameter),
            ),
            source=row.source,
            group="inserts",
        )

    def tie_rod(self, thread: str, under_nut: float, engaged: float) -> Bought:
        """Return a threaded rod with washer and nut on top: under the washer at z = 0, its lower end below.

        Args:
            thread: "M6".
            under_nut: from under the washer to the metal that it is screwed into, mm.
            engaged: length in that metal, mm.
        """
        d, row = self.diameter(thread), self.size(thread)
        w, nut = row.washer, row.nut
        below, above = under_nut + engaged, w.thickness + nut.height + 2 * row.pitch  # two threads past the nut
        bodies = (
            Round(np.array([0, 0, -below]), _UP, below + above, d),
            Round(np.zeros(3), _UP, w.thickness, w.outside),
            Round(np.array([0, 0, w.thickness]), _UP, nut.height, nut.width * 2 / np.sqrt(3)),
        )
        hexagon = np.sqrt(3) / 2 * nut.width**2 - np.pi / 4 * d**2
        volume = (
            np.pi / 4 * (d**2 * (below + above) + (w.outside**2 - w.inside**2) * w.thickness) + hexagon * nut.height
        )
        return Bought(
            role="tie rod",
            name=f"{thread} threaded rod cut to {below + above:.1f}, class 8.8 + washer ISO 7089 + nut ISO 4032",
            mass=float(volume) * self.density("steel") * KG_PER_MM3,
            bodies_=bodies,
            source="computed from the screw table",
            group="screws",
        )
