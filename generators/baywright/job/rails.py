"""Motor rails asked for: the shaft, the motor and its cradle, the mounts that the car has, loads and limits."""

import re
from typing import Annotated, Literal

from pydantic import Field, model_validator

from baywright.job.parts import Point
from baywright.job.row import Number, Row, Whole, YesNo
from baywright.job.shop import Thickness
from baywright.job.units import (
    Angle,
    Length,
    MeasuredLength,
    NonNegativeLength,
    PositiveLength,
    PositiveMass,
    PositiveMeasuredLength,
    Torque,
)

Way = Literal["up", "down", "front", "rear", "left", "right"]
_Spot = tuple[MeasuredLength, MeasuredLength, MeasuredLength]


class ShaftAsk(Row):
    """The shaft's line, kept from the engine that came out (vehicle frame, mm, degrees).

    Attributes:
        centre: the crankshaft's centre on the gearbox's face.
        toward: the way from that face to the motor.
        rise: how much the shaft rises on that way.
        swing: how much it swings on that way, clockwise seen from above.
        second: in place of rise and swing, a second point of the shaft's line, on the motor's side.
    """

    centre: Point
    toward: Literal["front", "rear", "left", "right"]
    rise: Angle = 0.0
    swing: Angle = 0.0
    second: Point | None = None

    @model_validator(mode="after")
    def _one_way(self) -> "ShaftAsk":
        if self.second is not None and (self.rise or self.swing):
            raise ValueError("give either a second point of the shaft, or rise and swing")
        if abs(self.rise) > 20 or abs(self.swing) > 20:
            raise ValueError("rise and swing must be within 20 deg: name another way in `toward`")
        return self


class MotorAsk(Row):
    """The motor, a cylinder about the shaft; one, or two in line on the same shaft; mm, kg, N·m.

    Attributes:
        part: a motor of the catalogue: what follows, down to `torque`, may be left out then, and counts if it is not.
        name: what it is called.
        length: of its body.
        diameter: of its body.
        mass: of one, with what is bolted to it (adapter, coupler) unless that is listed as carried.
        centre: its centre of mass: behind its front (gearbox) end, right of the shaft seen from there, above it.
        torque: the most it gives, one motor.
        stand_off: from the gearbox's face to its front end; an adapter of the job gives it where `adapter` names one.
        count: motors in line.
        pitch: from one motor's front end to the next one's.
    """

    part: str | None = None
    name: str = ""
    length: PositiveLength | None = None
    diameter: PositiveLength | None = None
    mass: PositiveMass | None = None
    centre: Point | None = None
    torque: Annotated[Torque, Field(gt=0)] | None = None
    stand_off: NonNegativeLength | None = None
    count: Whole = Field(default=1, ge=1, le=2)
    pitch: PositiveLength | None = None

    @model_validator(mode="after")
    def _known(self) -> "MotorAsk":
        missing = [k for k in ("length", "diameter", "mass", "torque") if getattr(self, k) is None]
        if self.part is None and missing:
            raise ValueError(f"give {', '.join(missing)}, or part, a motor of the catalogue")
        if self.count == 2 and self.pitch is None:
            raise ValueError("two motors need a pitch: from one motor's front end to the next one's")
        return self


class LugPlate(Row):
    """A plate square to the shaft whose lugs the rails are bolted to.

    Attributes:
        at: where its cleats lie on it, behind the motor's front end, mm.
        thickness: mm.
        cleats: which of its faces they lie on: the one toward the gearbox, or toward the motor's tail.
    """

    at: Length
    thickness: PositiveLength
    cleats: Literal["gearbox", "tail"]


class Lugs(Row):
    """Lugs left and right on plates square to the shaft, all plates drilled alike.

    Attributes:
        edge: from the shaft to the lugs' outer edge; may be left out, like the holes, if the motor's part has a cradle.
        holes: (out from the shaft, above the shaft) of the bolts in one lug; the other side is its mirror image.
        tapped: whether the lugs are tapped; else the bolts have nuts.
        plates: the plates of one motor.
    """

    edge: PositiveLength | None = None
    holes: list[tuple[PositiveLength, Length]] | None = Field(default=None, min_length=2, max_length=4)
    tapped: YesNo = False
    plates: list[LugPlate] = Field(min_length=2, max_length=3)


class Feet(Row):
    """Feet left and right under the motor that stand on the rails.

    Attributes:
        out: from the shaft to the row of holes.
        height: of their underside above the shaft (negative: below it).
        thickness: of the foot.
        holes: where the holes are, behind the motor's front end; alike on both sides.
        tapped: whether the feet are tapped; else the bolts go down through them.
    """

    out: PositiveLength
    height: Length
    thickness: PositiveLength
    holes: list[Length] = Field(min_length=2, max_length=8)
    tapped: YesNo = False


class Cradle(Row):
    """The pattern by which every car's rails hold this motor: lugs or feet, and the bolt (else its part's, or M10)."""

    bolt: str | None = None
    lugs: Lugs | None = None
    feet: Feet | None = None

    @model_validator(mode="after")
    def _one(self) -> "Cradle":
        if (self.lugs is None) == (self.feet is None):
            raise ValueError("give either lugs or feet")
        return self


class Rubber(Row):
    """A rubber mount: stiffness along its bolt and square to it, N/mm, and how far it gives in its linear range, mm."""

    along_n_per_mm: Number = Field(gt=0, le=1e6)
    across_n_per_mm: Number = Field(gt=0, le=1e6)
    travel: PositiveLength
    source: str


class MountAsk(Row):
    """A mount that the car has: the place where the hanger's foot will sit.

    Attributes:
        at: the middle of the face that the foot sits on (vehicle frame, mm); or by tape:
        tape: distances to reference points and to other mounts, mm;
        height: of that point above the ground, mm;
        near: roughly where it is (vehicle frame, mm), if the tape leaves two places.
        faces: the way that face looks, away from the car's metal: a name, or a direction.
        bolt: its thread.
        fixing: "stud" that stands out of the face, plain "hole", or "tapped" hole.
        stud: how far the stud stands out, mm.
        metal: thickness of the car's metal at a plain hole, mm.
        behind: whether a nut can be put behind it.
        rubber: a rubber mount; rigid without.
    """

    at: _Spot | None = None
    tape: dict[str, PositiveMeasuredLength] = Field(default={})
    height: MeasuredLength | None = None
    near: Point | None = None
    faces: Way | tuple[Number, Number, Number] = "up"
    bolt: str = "M10"
    fixing: Literal["stud", "hole", "tapped"] = "hole"
    stud: PositiveLength | None = None
    metal: PositiveLength = 4.0
    behind: Literal["open", "closed"] = "open"
    rubber: Rubber | None = None

    @model_validator(mode="after")
    def _complete(self) -> "MountAsk":
        if (self.at is None) == (not self.tape and self.height is None):
            raise ValueError("give either at = [x, y, z], or tape (and height)")
        if self.fixing == "stud" and self.stud is None:
            raise ValueError('a stud needs its length: stud = "30 mm"')
        if not isinstance(self.faces, str) and sum(c * c for c in self.faces) < 1e-6:
            raise ValueError("faces must be a direction, not [0, 0, 0]")
        return self


class Drive(Row):
    """What turns the motor's torque into the mounts' reaction.

    Attributes:
        layout: "longitudinal": the gearbox is bolted to the motor and turns a propshaft; "transaxle": gears and final
            drive are bolted to it and turn the wheels; "direct": no gears between motor and propshaft.
        first_gear: ratio of the lowest gear.
        final_drive: ratio of the final drive.
        wheel_radius: rolling radius of the driven wheels, mm.
        driven_mass: on the driven axle, laden, kg.
        grip: of the tyres, the most that the wheels can push for what they weigh.
    """

    layout: Literal["longitudinal", "transaxle", "direct"]
    first_gear: Number = Field(default=1.0, gt=0, le=20)
    final_drive: Number = Field(gt=0, le=20)
    wheel_radius: PositiveLength
    driven_mass: PositiveMass
    grip: Number = Field(default=1.0, gt=0, le=2)

    @model_validator(mode="after")
    def _geared(self) -> "Drive":
        if self.layout == "direct" and self.first_gear != 1.0:
            raise ValueError("a direct drive has no first gear: leave first_gear out")
        return self


class Carried(Row):
    """What else hangs on the mounts: a mass (kg) at a place (vehicle frame, mm)."""

    name: str
    mass: PositiveMass
    at: Point


class KeepClear(Row):
    """A block between two opposite corners that nothing may enter (vehicle frame, mm, with the tape's tolerance)."""

    name: str
    low: _Spot
    high: _Spot

    @model_validator(mode="after")
    def _ordered(self) -> "KeepClear":
        for axis, low, high in zip("xyz", self.low, self.high, strict=True):
            if high.value <= low.value:
                raise ValueError(f"{axis}: high ({high.value:g} mm) must be more than low ({low.value:g} mm)")
        return self


class LoadCase(Row):
    """One thing that happens: which way and how hard everything is thrown (g, vehicle frame), and the torque."""

    name: str
    felt: tuple[Number, Number, Number]
    torque: Literal["none", "drive", "reverse"] = "none"


_CASES = [
    LoadCase(name="standing", felt=(0, 0, -1)),
    LoadCase(name="pothole", felt=(0, 0, -4)),
    LoadCase(name="rebound", felt=(0, 0, 2)),
    LoadCase(name="braking", felt=(-1.2, 0, -1)),
    LoadCase(name="starting", felt=(1, 0, -1), torque="drive"),
    LoadCase(name="reversing", felt=(-0.5, 0, -1), torque="reverse"),
    LoadCase(name="cornering left", felt=(0, 1.2, -1)),
    LoadCase(name="cornering right", felt=(0, -1.2, -1)),
    LoadCase(name="kerb", felt=(-3, 0, -1)),
]
CASES_SOURCE = "load cases: common practice, no source"


class RailShop(Row):
    """How the shop builds rails; mm, and limits.

    Attributes:
        rail_sections: sections to choose from where the job names none, lightest first that holds.
        angle_sections: angles for cleats and feet.
        plate_material, plate_thicknesses: of hangers, gussets, doublers.
        bolt: of the joints between rails, hangers and crossbars.
        grade: property class of every bolt.
        slot: how far a slotted hole lets a foot move either way.
        end_margin: least distance of a rail's end from its last hole.
        reach_to_thickness: the longest free length of a hanger plate, times its thickness.
        lean_most: how far a mount's bolt may lean from square to its foot, degrees, taken up by a taper washer.
        doubler_under: metal thinner than this gets a doubler.
        load_factor: on every load.
        deflection_most: of the rails between mounts and motor, standing, mm.
        frequency_least: lowest natural frequency of the motor on its mounts, Hz.
        bolt_stiffness_n_per_mm, rigid_mount_n_per_mm: of a bolted joint, and of a rigid mount in the car's metal.
    """

    rail_sections: list[str] = Field(
        default=[
            "tube-50x50x3-s235",
            "tube-60x40x3-s235",
            "tube-60x60x3-s235",
            "tube-60x60x4-s235",
            "tube-80x60x4-s235",
        ],
        min_length=1,
    )
    angle_sections: list[str] = Field(
        default=[
            "angle-50x50x5-s235",
            "angle-60x60x6-s235",
            "angle-80x80x8-s235",
            "angle-100x100x10-s235",
            "angle-120x120x12-s235",
        ],
        min_length=1,
    )
    plate_material: str = "S235"
    plate_thicknesses: list[Thickness] = Field(default=[6.0, 8.0, 10.0, 12.0, 15.0], min_length=1)
    bolt: str = "M10"
    grade: Literal["8.8", "10.9"] = "8.8"
    slot: NonNegativeLength = 5.0
    end_margin: PositiveLength = 25.0
    reach_to_thickness: Number = Field(default=20.0, gt=1, le=60)
    lean_most: Angle = 8.0
    doubler_under: NonNegativeLength = 3.0
    load_factor: Number = Field(default=1.5, ge=1, le=5)
    deflection_most: PositiveLength = 1.0
    frequency_least: Number = Field(default=6.0, ge=0, le=200)
    bolt_stiffness_n_per_mm: Number = Field(default=2e5, gt=1e3, le=1e8)
    rigid_mount_n_per_mm: Number = Field(default=2e4, gt=1e2, le=1e8)


class RailsAsk(Row):
    """Rails asked for.

    Attributes:
        shaft: where the shaft is.
        motor: the motor or motors.
        cradle: how the motor is held: equal for every car.
        mounts: the car's mounts by name, three at least.
        references: points that tapes were held to (vehicle frame, mm).
        drive: what its torque becomes.
        adapter: the job's adapter that joins motor and gearbox: its depth, mass and place then follow by themselves.
        carried: what else hangs on these mounts (a gearbox bolted to the motor); its mass is not new in the car.
        section: of the rails, if not chosen.
        bay: the bay that motor and rails stand in, if any.
        keep_outs: what they must stay clear of.
        clearance: least distance to keep-outs, the motor's rocking taken off, mm.
        loads: load cases.
        shop: how they are built.
    """

    shaft: ShaftAsk
    motor: MotorAsk
    cradle: Cradle
    mounts: dict[str, MountAsk] = Field(max_length=20)
    references: dict[str, Point] = Field(default={}, max_length=100)
    drive: Drive
    adapter: str | None = None
    carried: list[Carried] = Field(default=[], max_length=100)
    section: str | None = None
    bay: str | None = None
    keep_outs: list[KeepClear] = Field(default=[], max_length=100)
    clearance: NonNegativeLength = 10.0
    loads: list[LoadCase] = Field(default=_CASES, min_length=1, max_length=20)
    shop: RailShop = RailShop()

    @model_validator(mode="after")
    def _mounted(self) -> "RailsAsk":
        if self.adapter is None and self.motor.stand_off is None:
            raise ValueError("motor.stand_off is missing: how far the motor's front end stands from the gearbox's face")
        if self.adapter is not None and self.motor.stand_off is not None:
            raise ValueError("motor.stand_off: leave it out, adapter gives it")
        if not 3 <= len(self.mounts) <= 8:
            raise ValueError(f"mounts: a motor needs three to eight mounts, got {len(self.mounts)}")
        for name, mount in self.mounts.items():
            if not re.match(r"^[^\W_][\w -]{0,30}$", name):
                raise ValueError(f"mounts: '{name}' names parts: use letters, digits, spaces and hyphens, at most 31")
            for other in mount.tape:
                if other == name or (other not in self.references and other not in self.mounts):
                    raise ValueError(f"mounts.{name}.tape: '{other}' is neither a reference point nor another mount")
        return self
