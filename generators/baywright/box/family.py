"""The family table: one style and module for N = 1, 2, 3 …, side by side."""

from collections.abc import Iterable
from dataclasses import dataclass

from baywright.box.generate import BoxDesign, generate
from baywright.finding import CannotBuild
from baywright.job.catalogue import Catalogue
from baywright.job.models import BoxAsk
from baywright.piece.plate import Plate
from baywright.shape.loop import area


@dataclass(frozen=True, kw_only=True)
class Member:
    """One box of a family.

    Attributes:
        count: modules.
        problem: why it can't be made, or "".
        outside: length, width, height of the panels, mm.
        mass: whole box, kg.
        metal: mass of what the shop cuts and saws, kg.
        centroid: (3,) mm in the box's frame.
        sheet: area of the cut blanks by thickness and material, m².
        screws: number of screws.
        adhesive: volume of the bonds, ml.
        feet: the feet's bolts in plan, mm.
    """

    count: int
    problem: str = ""
    outside: tuple[float, float, float] = (0.0, 0.0, 0.0)
    mass: float = 0.0
    metal: float = 0.0
    centroid: tuple[float, float, float] = (0.0, 0.0, 0.0)
    sheet: float = 0.0
    screws: int = 0
    adhesive: float = 0.0
    feet: tuple[tuple[float, float], ...] = ()


def family(name: str, ask: BoxAsk, counts: Iterable[int], catalogue: Catalogue) -> list[Member]:
    """Return the family's members; one that can't be made carries the sentence that says why."""
    members = []
    for count in counts:
        try:
            members.append(member_of(generate(name, ask.model_copy(update={"count": count}), catalogue)))
        except CannotBuild as no:
            members.append(Member(count=count, problem=no.sentence))
    return members


def member_of(design: BoxDesign) -> Member:
    """Return a design's figures as a member of its family."""
    layout, assembly = design.layout, design.assembly
    made = [p.piece for p in assembly.placed if hasattr(p.piece, "outline") or hasattr(p.piece, "stock")]
    metal = [piece for piece in made if not piece.role.startswith(("liner", "gasket"))]
    properties = design.mass_properties
    return Member(
        count=layout.ask.count,
        outside=(*layout.outside, layout.lid_under + layout.kit.style.lid.thickness),
        mass=properties.mass,
        metal=sum(piece.mass_properties().mass for piece in metal),
        centroid=(float(properties.centroid[0]), float(properties.centroid[1]), float(properties.centroid[2])),
        sheet=sum(abs(area(piece.outline)) for piece in metal if isinstance(piece, Plate)) / 1e6,
        screws=sum(len(line.points) for line in assembly.lines if line.screw is not None),
        adhesive=assembly.adhesive_volume() / 1000,
        feet=tuple((float(x), float(y)) for foot in design.feet for x, y, _ in foot.bolts),
    )
