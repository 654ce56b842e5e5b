"""Threads that adapter plates meet: the shop's screws and the larger bolts, metric and unified."""

from dataclasses import dataclass

from baywright.job.adapters import BoltSize
from baywright.job.catalogue import Catalogue
from baywright.job.messages import BadInput, Problem, unknown
from baywright.job.shop import ScrewSize


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """A thread and its row.

    Attributes:
        name: "M10", "3/8-16".
        diameter: nominal, mm.
        row: what goes with it.
    """

    name: str
    diameter: float
    row: ScrewSize | BoltSize

    @property
    def counterbore_depth(self) -> float:
        """Depth of a counterbore that hides a cap head, mm: its table's, else the head and 0.6 mm (DIN 974-1 row 1)."""
        depth = self.row.counterbore.depth
        return self.row.cap.head_height + 0.6 if depth is None else depth

    def usual_class(self) -> str:
        """Return the property class that shops keep: "8.8", or SAE "grade 5"."""
        return "8.8" if "8.8" in self.row.proof_load else next(iter(self.row.proof_load))


def thread_of(catalogue: Catalogue, name: str) -> Thread:
    """Return a thread by its name.

    Raises:
        BadInput: if neither table has it.
    """
    if name in catalogue.raw["screw"]:
        return Thread(name=name, diameter=float(name.lstrip("M")), row=catalogue.screw(name))
    if name in catalogue.raw["bolt"]:
        row = catalogue.row("bolt", name)
        assert isinstance(row, BoltSize)
        return Thread(name=name, diameter=row.diameter, row=row)
    raise BadInput([Problem("catalogue", None, "", unknown("thread", name, threads(catalogue)))])


def threads(catalogue: Catalogue) -> list[str]:
    """Return the names of all threads."""
    return [*catalogue.names("screw"), *catalogue.names("bolt")]


def is_thread(catalogue: Catalogue, name: str) -> bool:
    """Tell whether a thread is known."""
    return name in catalogue.raw["screw"] or name in catalogue.raw["bolt"]
