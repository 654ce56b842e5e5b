"""A scan of a bay, with the points that tell where in the car it is; and what moves in a bay."""

from pathlib import Path
from typing import Literal

from pydantic import Field, field_validator, model_validator

from baywright.job.faults import read_as
from baywright.job.messages import BadInput, Problem, shown
from baywright.job.row import Number, Row
from baywright.job.toml import read_toml
from baywright.job.units import Angle, Length, MeasuredLength, NonNegativeLength, PositiveLength, factor

Spot = tuple[Number, Number, Number]


class Reference(Row):
    """A point that can be found both in the scan and on the car.

    Attributes:
        name: what the shop calls it: "left strut top, centre".
        scan: its place in the scan, in the scan file's own units.
        car: its place in the vehicle's frame, with the tape's tolerance.
    """

    name: str = Field(min_length=1, max_length=80)
    scan: Spot
    car: tuple[MeasuredLength, MeasuredLength, MeasuredLength]


class Crop(Row):
    """What of the scan counts: a block between two corners, vehicle frame, mm."""

    low: tuple[Length, Length, Length]
    high: tuple[Length, Length, Length]

    @model_validator(mode="after")
    def _ordered(self) -> "Crop":
        for axis, low, high in zip("xyz", self.low, self.high, strict=True):
            if high <= low:
                raise ValueError(f"{axis}: high ({high:g} mm) must be more than low ({low:g} mm)")
        return self


class ScanAsk(Row):
    """A scan as its own file says it.

    Attributes:
        file: the mesh or cloud, beside this file or by its path: STL, PLY, OBJ, GLB or XYZ; a ".gz" may follow.
        units: the file's unit of length; if left out it is guessed from the size and asked back.
        accuracy: how far the scanner may be off over a bay, ± mm; 3 mm if not known.
        source: the scanner, or who made the scan.
        points: reference points; with none the file must be in the vehicle's frame already.
        crop: what of it counts.
        merge: points nearer to each other than this become one, mm; 0 keeps everything.
    """

    file: str = Field(min_length=1)
    units: str | None = None
    accuracy: NonNegativeLength = 3.0
    description: str = ""
    source: str = ""
    points: list[Reference] = Field(default=[], max_length=200)
    crop: Crop | None = None
    merge: NonNegativeLength = 0.0

    @field_validator("units")
    @classmethod
    def _length(cls, value: str | None) -> str | None:
        if value is not None:
            factor(value, "length")
        return value

    @model_validator(mode="after")
    def _enough(self) -> "ScanAsk":
        if len(self.points) in (1, 2):
            raise ValueError("an alignment needs at least three points, not on one line; give more or leave them out")
        names = [p.name for p in self.points]
        twice = next((n for n in names if names.count(n) > 1), None)
        if twice is not None:
            raise ValueError(f"two points are called '{twice}': give each its own name")
        return self


def read_scan_file(path: Path) -> tuple[ScanAsk, Path]:
    """Return what a scan's own TOML file says, and the path of the mesh or cloud that it names.

    Numbers without a unit are mm, but for `scan` of a point, which is in the mesh's own units.

    Raises:
        BadInput: with every problem: syntax, keys, values.
    """
    data, lines = read_toml(path)
    asked = read_as(ScanAsk, data, file=path, lines=lines)
    mesh = Path(asked.file)
    mesh = mesh if mesh.is_absolute() else path.parent / mesh
    if not mesh.is_file():
        raise BadInput([Problem(shown(path), lines.get(("file",)), "file", f"no such file: {shown(mesh)}")])
    return asked, mesh


class Turn(Row):
    """A turn about an axis of the car through a point, between two angles (right-handed about the axis).

    Attributes:
        about: a point of the axis, vehicle frame, mm.
        axis: "x" (a roll), "y" (bump and droop of a shaft across the car, a pitching motor) or "z" (steering).
        least: degrees.
        most: degrees.
    """

    about: tuple[Length, Length, Length]
    axis: Literal["x", "y", "z"]
    least: Angle
    most: Angle

    @model_validator(mode="after")
    def _ordered(self) -> "Turn":
        if not self.least <= 0 <= self.most or self.most - self.least > 180 or self.least == self.most:
            raise ValueError("least is 0 or below, most 0 or above, and no more than half a turn lies between them")
        return self


class Rod(Row):
    """A round bar from end to end, vehicle frame, mm: a driveshaft, a tie rod."""

    ends: tuple[tuple[Length, Length, Length], tuple[Length, Length, Length]]
    diameter: PositiveLength


class Moving(Row):
    """Something in or beside a bay that moves: given at rest, and how far it goes.

    Attributes:
        name: what the shop calls it.
        rod, or low and high: its shape at rest.
        turn: a turn about an axis; or
        shift: how far it goes from rest, one way and the other, mm.
    """

    name: str = Field(min_length=1, max_length=80)
    rod: Rod | None = None
    low: tuple[Length, Length, Length] | None = None
    high: tuple[Length, Length, Length] | None = None
    turn: Turn | None = None
    shift: list[tuple[Length, Length, Length]] = Field(default=[], max_length=2)

    @model_validator(mode="after")
    def _whole(self) -> "Moving":
        block = self.low is not None and self.high is not None
        if block == (self.rod is not None) or (self.low is None) != (self.high is None):
            raise ValueError("give its shape at rest: either low and high, or a rod with ends and diameter")
        if self.low is not None and self.high is not None:
            for axis, low, high in zip("xyz", self.low, self.high, strict=True):
                if high <= low:
                    raise ValueError(f"{axis}: high ({high:g} mm) must be more than low ({low:g} mm)")
        if self.rod is not None and self.rod.ends[0] == self.rod.ends[1]:
            raise ValueError("the rod's ends are the same point")
        if (self.turn is None) == (not self.shift):
            raise ValueError("give how it moves: either turn or shift")
        return self
