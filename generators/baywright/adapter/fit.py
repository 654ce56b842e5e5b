"""Fits: the limits of ISO 286 classes and the play between a hole and what goes into it."""

from dataclasses import dataclass

from baywright.job.adapters import FitClass
from baywright.job.catalogue import Catalogue
from baywright.job.messages import BadInput, Problem, unknown
from baywright.shape.pattern import Pilot

# What a laser or a water jet holds on a hole's diameter, mm: fits finer than this are bored or reamed (cut shops'
# published guides: ±0.1 mm).
CUT_HOLDS = 0.2


@dataclass(frozen=True, slots=True)
class Limits:
    """Least and most size, mm."""

    least: float
    most: float

    @property
    def width(self) -> float:
        """The tolerance, mm."""
        return self.most - self.least

    def holds(self, size: float) -> bool:
        """Tell whether a measured size lies within."""
        return self.least - 1e-9 <= size <= self.most + 1e-9


@dataclass(frozen=True, slots=True)
class Play:
    """Least and most play between a hole and a shaft, mm; negative where they interfere."""

    least: float
    most: float

    @property
    def kind(self) -> str:
        """Return "clearance", "interference" or "transition"."""
        if self.least >= 0:
            return "clearance"
        return "interference" if self.most <= 0 else "transition"


def class_limits(catalogue: Catalogue, name: str, diameter: float) -> Limits:
    """Return the limits of a diameter (mm) in an ISO 286 class such as "H7".

    Raises:
        BadInput: if the class is unknown, or its table does not reach the diameter.
    """
    if name not in catalogue.raw["fit"]:
        raise BadInput([Problem("catalogue", None, "", unknown("fit", name, catalogue.raw["fit"]))])
    row = catalogue.row("fit", name)
    assert isinstance(row, FitClass)
    for over, upto, low, high in row.limits:
        if over < diameter <= upto:
            return Limits(diameter + low / 1000, diameter + high / 1000)
    top = max(upto for _, upto, _, _ in row.limits)
    text = f"the table of {name} reaches to {top:g} mm, not to {diameter:g} mm: give the limits themselves"
    raise BadInput([Problem("catalogue", None, "", text)])


def pilot_limits(catalogue: Catalogue, pilot: Pilot) -> Limits:
    """Return the limits of a pilot: its standard's own, or its class's, or h6/H8 if neither is known.

    Without any figure a spigot is taken as h6 and a recess as H8: common practice, no source.
    """
    if pilot.limits is not None:
        return Limits(*pilot.limits)
    return class_limits(catalogue, pilot.fit or ("h6" if pilot.male else "H8"), pilot.diameter)


def is_hole_class(catalogue: Catalogue, name: str) -> bool:
    """Tell whether a class is known and one of holes."""
    if name not in catalogue.raw["fit"]:
        return False
    row = catalogue.row("fit", name)
    return isinstance(row, FitClass) and row.hole


def play(hole: Limits, shaft: Limits) -> Play:
    """Return the play between a hole and a shaft."""
    return Play(hole.least - shaft.most, hole.most - shaft.least)
