"""Load cases and the bases on which strength is judged, as the shop's tables hold them."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from baywright.job.row import Named, Number, Row, Whole
from baywright.job.units import NonNegativeMass, PositiveLength

# Standard gravity, m/s² (exact by definition).
G = 9.80665

DIRECTIONS = ("forward", "rearward", "left", "right", "up", "down")
Shove = Annotated[Number, Field(gt=0, le=200)]


class Basis(Named):
    """How strengths become resistances: one kind of strength and its factors, which are never mixed with another's.

    Attributes:
        strengths: the basis of the materials' strengths that it takes.
        on_yield: divides the proof strength.
        on_ultimate: divides the tensile strength, in bearing, tearing and threads.
        on_fastener: divides the strength of bolts and screws.
        on_bond: divides the strength of adhesives, on top of their own knock-downs.
    """

    strengths: Literal["typical", "minimum", "characteristic"]
    on_yield: Number = Field(ge=1, le=5)
    on_ultimate: Number = Field(ge=1, le=5)
    on_fastener: Number = Field(ge=1, le=6)
    on_bond: Number = Field(ge=1, le=20)


class PlateRule(Row):
    """The least thickness that a rule asks of aluminium sheet, mm: floor; walls, covers and lids."""

    floor: PositiveLength
    walls: PositiveLength
    rule: str


class PerMass(Row):
    """A number of mounts for boxes up to a mass, kg."""

    up_to: NonNegativeMass
    points: Whole = Field(ge=1, le=40)


class CornerRule(Row):
    """Mounts at a box's corners, which a rule allows instead of a number by mass.

    Attributes:
        least: how many, at least.
        within: how far from a corner at most, mm.
        share: of the box's mass that each must hold.
        g: how hard that mass is thrown, any way, in g.
        rule: the clause.
    """

    least: Whole = Field(ge=4, le=40)
    within: PositiveLength
    share: Number = Field(gt=0, le=1)
    g: Number = Field(gt=0, le=200)
    rule: str


class MountRule(Row):
    """What a rule asks of the mounts: how many by mass, and the force each must hold in any direction, N.

    Attributes:
        points: by mass, lightest first; a mass that is on the limit belongs to the next row.
        points_above: for heavier ones.
        each: force, N.
        rule: the clause.
        corners: what it asks instead of mounts at the corners.
    """

    points: list[PerMass]
    points_above: Whole = Field(ge=1, le=40)
    each: Number = Field(gt=0)
    rule: str
    corners: CornerRule | None = None


class Pulse(Row):
    """A crash pulse as corners (time in ms, g), at rest before and after: lengthwise, and across.

    Attributes:
        lengthwise, across: the corners, times rising.
    """

    lengthwise: list[tuple[Number, Number]] = Field(min_length=2, max_length=200)
    across: list[tuple[Number, Number]] = Field(min_length=2, max_length=200)

    @model_validator(mode="after")
    def _in_time(self) -> "Pulse":
        for name in ("lengthwise", "across"):
            corners = getattr(self, name)
            times = [t for t, _ in corners]
            if times != sorted(times) or times[0] == times[-1]:
                raise ValueError(f"the times of a pulse must rise: see {name}")
            if not any(g for _, g in corners):
                raise ValueError(f"a pulse needs a peak: see {name}")
        return self


class LoadCase(Named):
    """Loads on a box, in g: which way it is thrown. Left out is not loaded.

    Attributes:
        kind: what happens: "road" (again and again), "crash" (once, and the box must stay where it is), or "lifting".
        forward, rearward, left, right, up, down: the way the box and what is in it are thrown, in g.
        weight: whether the box's own weight acts beside a throw forward, rearward, left or right.
        load_factor: multiplies every force.
        basis: how strengths are judged.
        temperature: of the adhesive, °C.
        edge_distance_d: edge distance of screws that a rule asks, in diameters.
        plates: least sheet thicknesses that a rule asks.
        mounts: what a rule asks of the mounts.
        pulse: the crash pulse that the steady forces stand in for.
        apart_mass: modules heavier than this on each side need a wall between them, kg.
        apart_rule: the clause for it.
        remarks: what else a person should know.
    """

    kind: Literal["road", "crash", "lifting"]
    forward: Shove | None = None
    rearward: Shove | None = None
    left: Shove | None = None
    right: Shove | None = None
    up: Shove | None = None
    down: Shove | None = None
    weight: bool = True
    load_factor: Number = Field(default=1.0, ge=1, le=5)
    basis: str = "limit state"
    temperature: Number = Field(default=23.0, ge=-60, le=150)
    edge_distance_d: Number | None = Field(default=None, ge=1, le=5)
    plates: PlateRule | None = None
    mounts: MountRule | None = None
    pulse: Pulse | None = None
    apart_mass: Number | None = Field(default=None, gt=0)
    apart_rule: str = ""
    remarks: list[str] = Field(default=[])

    @model_validator(mode="after")
    def _some(self) -> "LoadCase":
        if all(getattr(self, name) is None for name in DIRECTIONS):
            raise ValueError(f"a load case needs at least one of {', '.join(DIRECTIONS)}, in g")
        return self
