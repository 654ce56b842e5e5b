"""The workshop's own ways: how it draws, nests, saws and buys, and its prices."""

from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, field_validator

from baywright.job.faults import read_as
from baywright.job.row import Number, Row, Whole
from baywright.job.toml import Path_, read_toml
from baywright.job.units import NonNegativeLength

NAME = "workshop.toml"


class Workshop(Row):
    """How a workshop works: the table [workshop] of a job, over the file workshop.toml beside it.

    The defaults of what is lost and left are common practice, no source.

    Attributes:
        name: for the title blocks; left open to write in by hand.
        projection: "first" or "third" angle: where a drawing's views stand (ISO 128-3).
        tolerance: class of ISO 2768-1 for sizes that have no tolerance of their own.
        gap: metal left between nested pieces, mm.
        edge: metal left along a stock sheet's edge, mm.
        saw_cut: lost to each cut of the saw, mm.
        squeeze_out: adhesive bought beyond what stays in the joints, as a share.
        nesting_seconds: how long each lot of odd shapes is thought about; its answer then depends on the machine.
        papers: sheets that drilling templates are spread over at full size, an edition for each.
        currency: a sign or three letters.
        prices: each, or per unit of its line, by part number, name or material; and of the work: "cut metre", "pierce",
            "sheet NAME THICKNESS", "saw cut", "drilled hole", "tapped hole", "screw driven", "bead metre".
    """

    name: str = Field(default="", max_length=60)
    projection: Literal["first", "third"] = "first"
    tolerance: Literal["f", "m", "c", "v"] = "m"
    gap: NonNegativeLength = Field(default=6.0, le=100)
    edge: NonNegativeLength = Field(default=10.0, le=200)
    saw_cut: NonNegativeLength = Field(default=3.0, le=20)
    squeeze_out: Number = Field(default=0.3, ge=0, le=3)
    nesting_seconds: Whole = Field(default=0, ge=0, le=600)
    papers: list[Literal["A4", "A3", "letter", "tabloid"]] = Field(default=["A4", "A3"], max_length=4)
    currency: str = Field(default="", max_length=4)
    prices: dict[str, Annotated[Number, Field(ge=0)]] = Field(default={}, max_length=2000)

    @field_validator("prices", mode="before")
    @classmethod
    def _whole(cls, value: object) -> object:
        """Let a price be a whole number."""
        if not isinstance(value, dict):
            return value
        return {key: float(one) if type(one) is int else one for key, one in value.items()}


def workshop_of(
    own: dict[str, Any], folder: Path, units: dict[str, str], file: Path, lines: dict[Path_, int]
) -> Workshop:
    """Return a job's workshop: what the job says, over what the file beside it says, over the defaults.

    Args:
        own: the job's table [workshop].
        folder: where the job lies.
        units: the job's declared units.
        file: the job file.
        lines: the line of each of its keys.

    Raises:
        BadInput: if either can't be used.
    """
    shared = folder / NAME
    if not shared.is_file():
        return read_as(Workshop, own, file=file, lines=lines, at=("workshop",), units=units)
    said, its_lines = read_toml(shared)
    its_units = said.pop("units", {})
    theirs = read_as(Workshop, said, file=shared, lines=its_lines, units=its_units)
    mine = read_as(Workshop, own, file=file, lines=lines, at=("workshop",), units=units)
    known = {key: getattr(mine, key) for key in mine.model_fields_set}
    known["prices"] = {**theirs.prices, **mine.prices}
    return theirs.model_copy(update=known)
