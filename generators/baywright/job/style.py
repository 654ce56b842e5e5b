"""How the shop builds boxes: one style a file in shared/styles, and every box follows."""

from typing import Literal

from pydantic import Field, model_validator

from baywright.job.row import Named, Number, Row, Whole
from baywright.job.shop import Thickness
from baywright.job.units import NonNegativeLength, NonNegativeMass, PositiveLength

Head = Literal["button", "cap", "countersunk"]
Carry = Literal["ledges", "tie rods"]


class Panel(Row):
    """A sheet of the style: material and thickness ("3 mm", "11 ga")."""

    material: str
    thickness: Thickness


class Liner(Row):
    """The insulating liner; a thickness of 0 leaves it out."""

    material: str
    thickness: NonNegativeLength


class JointScrew(Row):
    """The screws along bonded joints: thread, head, pitch, first screw from an end (mm), edge distance in diameters."""

    size: str
    head: Head
    pitch_least: PositiveLength
    pitch_most: PositiveLength
    first_most: PositiveLength
    edge_least_d: Number = Field(ge=1.2, le=5)
    clearance_class: Literal["fine", "medium", "coarse"] = "medium"

    @model_validator(mode="after")
    def _ordered(self) -> "JointScrew":
        if not self.pitch_least <= self.pitch_most / 2 * 1.5:
            raise ValueError("pitch_least must leave room to spread screws: at most three quarters of pitch_most")
        return self


class LidScrew(Row):
    """The lid's screws: thread, head, most pitch (mm), and the insert they go into."""

    size: str
    head: Head
    pitch_most: PositiveLength
    insert: str


class EndScrew(Row):
    """The screws into the bearers' ends."""

    size: str
    head: Head


class Gasket(Row):
    """The lid's gasket: material, free thickness and width (mm), and how much of the thickness is squeezed out."""

    material: str
    thickness: PositiveLength
    width: PositiveLength
    compression: Number = Field(gt=0, lt=0.6)


class Feet(Row):
    """The feet: brackets of angle on the walls, bolted down to the car; lengths in mm.

    Attributes:
        on: the walls that they stand at. On the long walls they are wide apart, and short of arm to tip the box.
        section: an angle: its upright leg on the wall, its lower leg out from it.
        length: of each.
        per_wall_least: how many a wall, at least.
        spacing_most: between the feet of a wall.
        bolts: bolts to the car in each foot.
        bolt_from_leg: from the upright leg's face out to the bolts; left out, they stand on the leg's gauge line.
        screw: of the upright leg, through the wall.
        bolt: to the car.
        stand_off: how far the lower leg hangs under the floor.
        slot_length: of the holes away from the blind end.
        doubler_thickness: of the plate behind the wall.
    """

    on: Literal["end walls", "long walls"] = "end walls"
    section: str
    length: PositiveLength
    per_wall_least: Whole = Field(ge=2, le=8)
    spacing_most: PositiveLength
    bolts: Whole = Field(default=1, ge=1, le=3)
    bolt_from_leg: PositiveLength | None = None
    screw: str
    bolt: str
    stand_off: PositiveLength
    slot_length: PositiveLength
    doubler_thickness: Thickness


class Lift(Row):
    """The lift lugs: section, length, eye and screws; mm."""

    section: str
    length: PositiveLength
    hole: PositiveLength
    screw: str


class Braid(Row):
    """The earth straps' braid: cross section mm², kg a metre."""

    cross_section_mm2: Number = Field(gt=0)
    mass_per_metre: NonNegativeMass


class Wiring(Row):
    """What wiring, monitoring and busbars weigh, as an allowance: kg a module and kg a box."""

    per_module: NonNegativeMass
    fixed: NonNegativeMass


class Tolerances(Row):
    """How far a cut, a saw length and a bond line may be off, either way, mm."""

    sheet_cut: NonNegativeLength
    saw_cut: NonNegativeLength
    bond_line: NonNegativeLength


class Style(Named):
    """How the shop builds boxes: one file, and every box follows. Lengths in mm.

    Attributes:
        corner_angle, floor_angle, flange_angle, ledge_angle: sections.
        flange: whether the lid's flange turns in or out.
        carry: how layers are carried unless a box says otherwise.
        bearer: flat bar across the box under each layer; with tie rods, the bar on the floor that they stand in.
        clamp_bar, spacer: with tie rods, the bar on top and the tube between layers.
        hold_screw_head: head of the screws that hold modules down.
        tip_clearance: from any screw to any module.
        side_clearance, end_clearance: from a module on its way in to ledges and flange.
        layer_clearance: from a module's top to what is above it.
        cut_back: gap between the ends of angles that would meet.
        bearer_end_gap: at each end of a bearer.
        bend_factor: a cable's bend by its outside diameter.
    """

    wall: Panel
    floor: Panel
    lid: Panel
    corner_angle: str
    floor_angle: str
    flange_angle: str
    ledge_angle: str
    flange: Literal["in", "out"]
    carry: Carry
    bearer: str
    clamp_bar: str
    spacer: str
    doubler: Panel
    liner: Liner
    adhesive: str
    bond_line: PositiveLength
    joint_screw: JointScrew
    lid_screw: LidScrew
    bearer_screw: EndScrew
    hold_screw_head: Head = "cap"
    gasket: Gasket
    tip_clearance: NonNegativeLength
    side_clearance: NonNegativeLength
    end_clearance: NonNegativeLength
    layer_clearance: NonNegativeLength
    cut_back: NonNegativeLength
    bearer_end_gap: NonNegativeLength
    feet: Feet
    lift: Lift
    earth_strap: Braid
    wiring_allowance: Wiring
    bend_factor: Number = Field(ge=3, le=12)
    tolerances: Tolerances
