"""What a job's work is counted by: saw cuts, holes, threads, screws, beads; what a workshop puts a price on."""

from collections.abc import Sequence
from dataclasses import dataclass

from baywright.piece.assembly import Assembly
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion
from baywright.piece.numbering import Part
from baywright.piece.plate import Plate
from baywright.release.sawing import Bar
from baywright.release.steps.pages import bead


@dataclass(frozen=True, slots=True)
class Work:
    """One kind of work: the key of its price, what it is, how much in which unit."""

    key: str
    what: str
    amount: float
    unit: str


def work_of(assemblies: Sequence[Assembly], parts: Sequence[Part], plan: Sequence[Bar]) -> list[Work]:
    """Return what there is to do by hand and machine, cutting of sheets apart.

    Args:
        assemblies: what is put together.
        parts: the distinct parts of all of them.
        plan: how the bars are sawn.
    """
    drilled = tapped = reamed = 0
    edges = 0.0
    for part in parts:
        piece, count = part.piece, part.quantity
        if isinstance(piece, Bought):
            continue
        tapped += count * sum(hole.use == "tapped" for hole in piece.holes)
        reamed += count * sum("ream" in hole.callout for hole in piece.holes)
        if isinstance(piece, Extrusion):
            drilled += count * len(piece.holes)
        elif isinstance(piece, Plate):
            drilled += count * len(piece.pockets())
            edges += count * 2 * piece.profile.cut_length()
    screws = sum(len(line.points) for one in assemblies for line in one.lines if line.screw is not None)
    beads = sum(bead(bond, one.bond_area(bond))[0] for one in assemblies for bond in one.bonds)
    found = [
        Work("saw cut", "cuts of the saw", sum(len(bar.cuts) for bar in plan), "cuts"),
        Work("drilled hole", "holes drilled in sawn pieces, and blind holes in plates", drilled, "holes"),
        Work("tapped hole", "threads cut", tapped, "holes"),
        Work("reamed hole", "holes reamed", reamed, "holes"),
        Work("deburred metre", "edges of plates to deburr, both sides", edges / 1000, "m"),
        Work("bead metre", "adhesive laid", beads / 1000, "m"),
        Work("screw driven", "screws and pins driven", screws, "screws"),
    ]
    return [one for one in found if one.amount]
