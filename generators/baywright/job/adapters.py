"""Adapter plates as a job asks for them, and the motors, gearboxes, bolts and fits that they need."""

import re
from typing import Literal

from pydantic import Field, field_validator, model_validator

from baywright.job.patterns import PilotRow
from baywright.job.row import Named, Number, Row, YesNo
from baywright.job.shop import Thread
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

Clocks = tuple[Angle, Angle]
Paper = Literal["A4", "A3", "letter", "tabloid"]


class BoltSize(Thread):
    """A bolt's thread and what goes with it: large metric coarse and unified coarse.

    Attributes:
        diameter: nominal, mm.
    """

    diameter: PositiveLength

    @field_validator("name")
    @classmethod
    def _thread(cls, value: str) -> str:
        if not re.fullmatch(r"M[1-9]\d?(\.\d)?|[1-9]\d*(/[1-9]\d*)?-[1-9]\d*", value):
            raise ValueError("a bolt is called by its thread, such as M16 or 3/8-16")
        return value


class FitClass(Named):
    """An ISO 286 tolerance class.

    Attributes:
        hole: True for holes ("H7"), False for shafts ("m6").
        limits: over mm, up to mm, lower and upper deviation in micrometres.
    """

    hole: YesNo
    limits: list[tuple[Number, Number, Number, Number]] = Field(min_length=1)

    @model_validator(mode="after")
    def _ordered(self) -> "FitClass":
        for over, upto, low, high in self.limits:
            if over >= upto or low >= high:
                raise ValueError(f"the row over {over:g} up to {upto:g} mm is not in order")
        return self


class FeatureRow(Row):
    """Something on the motor that sticks out or must be reached: its clock positions, degrees clockwise from the top.

    Seen from the motor's side (standing behind the motor, looking towards the gearbox), from the first to the second.
    """

    name: str
    clocks: Clocks


class ShaftRow(Row):
    """The motor's shaft: how far it stands out of the face, its diameter, its run-out to the spigot (TIR); mm."""

    length: MeasuredLength
    diameter: PositiveLength
    run_out: NonNegativeLength = 0.0


class CradleRow(Row):
    """Where the car carries the motor: bolt holes on the plate's side lugs, the same for every adapter of the motor.

    Attributes:
        holes: [x, y] from the shaft's centre line, seen from the motor, car upright, mm.
        bolt: their thread.
        wall: metal round each hole, from its edge, mm.
    """

    holes: list[tuple[Length, Length]] = Field(min_length=2, max_length=24)
    bolt: str
    wall: PositiveLength


class MotorRow(Named):
    """A motor.

    Attributes:
        pattern: its face's bolt pattern.
        counterpart: True if its face is what bolts onto that pattern, not the pattern itself.
        mass: kg.
        diameter: of its body, mm.
        length: of its body behind the face, mm.
        flange: thickness that its bolts pass through, where its face has free holes, mm.
        centre: its centre of mass behind the face, mm; the middle if not given.
        shaft: the shaft.
        torque: most, N·m.
        features: terminals, ports, feet and the like.
        cradle: where the car carries it.
    """

    pattern: str
    counterpart: YesNo = False
    mass: PositiveMass
    diameter: PositiveLength
    length: PositiveLength
    flange: PositiveLength | None = None
    centre: PositiveLength | None = None
    shaft: ShaftRow
    torque: Torque = Field(gt=0)
    features: list[FeatureRow] = Field(default=[], max_length=40)
    cradle: CradleRow | None = None


class GearboxRow(Named):
    """A gearbox, with its bellhousing if it has one. Distances along the shaft from the bell's face, mm.

    Attributes:
        pattern: its face's bolt pattern.
        counterpart: True if its face is what bolts onto that pattern (a bell onto a flywheel housing).
        pilot: its own centring step, where it is not the pattern's.
        opening: diameter that is free inside the bell at its face: heads within it may stand out of the plate.
        flange: thickness that its bolts pass through.
        nose_out: how far the input shaft's nose stands out of the face towards the motor; negative if it stays behind.
        spline_out: the same of the spline's near end.
        spline_length: of the spline.
        nose_length: of the nose's plain journal, for a pilot bearing.
        nose_diameter: of that journal.
        needs_pilot: True if the input shaft has one bearing only.
        run_out: of the locating step to the input shaft (TIR).
    """

    pattern: str
    counterpart: YesNo = False
    pilot: PilotRow | None = None
    opening: NonNegativeLength = 0.0
    flange: PositiveLength
    nose_out: MeasuredLength | None = None
    spline_out: MeasuredLength | None = None
    spline_length: PositiveLength | None = None
    nose_length: PositiveLength | None = None
    nose_diameter: PositiveLength | None = None
    needs_pilot: YesNo = False
    run_out: NonNegativeLength = 0.0


class PilotBearing(Row):
    """The pilot bearing in the coupler: from the coupler's gearbox end to its near side, and its width; mm."""

    inset: MeasuredLength
    width: PositiveLength


class Flywheel(Row):
    """A flywheel that is kept, mm.

    Attributes:
        face: from the coupler's motor end to the friction face.
        setting: how far the friction face must lie behind the bell's face, inside the bell; negative outside.
    """

    face: PositiveMeasuredLength
    setting: MeasuredLength


class Coupler(Row):
    """What joins the motor's shaft to the gearbox's, mm.

    Attributes:
        seat: from the motor's face to the coupler's motor end.
        length: over all.
        diameter: the room it turns in.
        bore_depth: from its gearbox end to the floor that the nose would meet.
        spline_length: of its internal spline, from the gearbox end.
        pilot: the pilot bearing, if it holds one.
        flywheel: the flywheel, if one is kept.
    """

    seat: MeasuredLength
    length: PositiveMeasuredLength
    diameter: PositiveLength
    bore_depth: PositiveMeasuredLength
    spline_length: PositiveLength
    pilot: PilotBearing | None = None
    flywheel: Flywheel | None = None


class Sector(Row):
    """A part of the circle, degrees clockwise from the top as seen from the motor, from the first to the second."""

    name: str
    clocks: Clocks


class Wanted(Row):
    """Where a feature of the motor must lie: a bleed port high, a drain low."""

    feature: str
    clocks: Clocks


class Pocket(Row):
    """An opening for a starter, a sensor, an inspection window, a breather; mm.

    Attributes:
        name: what it is for.
        at: its middle [x, y] from the shaft's centre line, seen from the motor.
        diameter: if it is round.
        size: [width, height] if it is a rectangle.
        corner_radius: of the rectangle.
        turn: of the rectangle, degrees counter-clockwise.
        wall: metal that the outline leaves round it.
    """

    name: str
    at: tuple[Length, Length]
    diameter: PositiveLength | None = None
    size: tuple[PositiveLength, PositiveLength] | None = None
    corner_radius: NonNegativeLength = 3.0
    turn: Angle = 0.0
    wall: PositiveLength = 12.0

    @model_validator(mode="after")
    def _one(self) -> "Pocket":
        if (self.diameter is None) == (self.size is None):
            raise ValueError("give either a diameter or a size [width, height]")
        if self.size is not None and 2 * self.corner_radius > min(self.size):
            raise ValueError("the corner radius is more than half the narrow side")
        return self


class Outline(Row):
    """The plate's outline from a drawing: a closed line on one layer, in the drawing's own place."""

    file: str
    layer: str
    origin: tuple[Number, Number] = (0.0, 0.0)
    units: Literal["mm", "in", "cm", "m"] | None = None


class AdapterAsk(Row):
    """An adapter between a motor and a gearbox; mm.

    Attributes:
        motor: the motor's row.
        gearbox: the gearbox's row.
        stock: the sheet stock of plates and rings.
        stock_tolerance: how far a thickness may be off, either way.
        thickness: of the whole stack, if it is not to be found from the depth stack.
        plates: "auto", "one", or "three" (plate, ring, plate).
        clocking: degrees clockwise that the motor is turned, seen from the motor; "best" lets the program choose.
        keep_out: parts of the circle that the motor's features must stay out of.
        wanted: parts of the circle that features must lie in.
        outline: "hull" round the holes, "round", or a drawing.
        edge: least distance of a hole's middle from the outline, in its diameters.
        least_web: least metal between two holes or a hole and an opening.
        bore: inner bore; without it as wide as coupler and pilot need.
        pockets: openings.
        windows: least metal round lightening windows between the bolts; none without it.
        pilot_height: a spigot's height where neither pattern nor gearbox says it.
        pilot_fit: ISO 286 class of bored recesses.
        dowel_hole, dowel_pin: ISO 286 classes.
        coupler: the coupler, for the depth stack.
        end_gap: least and most gap before the nose.
        spline_least: least engagement of the spline.
        pilot_least: least engagement of the nose in its bearing.
        indicated: run-out (TIR) to which the bolted-up plate is moved by indicator before the gearbox's dowels are
            reamed through it; without it they are reamed where they are drawn.
        run_out_limit: most run-out (TIR) of the input shaft to the motor's shaft.
        placing: diameter of the zone within which the shop places bored and reamed features on the plate.
        bolt_class: property class of bolts, if not the shop's usual one.
        lugs: whether the plate carries the motor's cradle pattern.
        paper: of the full-size template.
        at: the middle of the motor's face in the vehicle frame; with it the adapter's mass counts in the balance.
        yaw: turn about Z: at 0 the gearbox lies behind the motor, at 90 to its right; degrees.
        cutter: who makes its plates; they are bored, so not the job's cutter of sheet.
    """

    motor: str
    gearbox: str
    stock: str = "alu-6082"
    stock_tolerance: NonNegativeLength = 0.3
    thickness: PositiveLength | None = None
    plates: Literal["auto", "one", "three"] = "auto"
    clocking: Angle | Literal["best"] = "best"
    keep_out: list[Sector] = Field(default=[], max_length=40)
    wanted: list[Wanted] = Field(default=[], max_length=40)
    outline: Literal["hull", "round"] | Outline = "hull"
    edge: Number = Field(default=2.0, ge=1.2, le=6)
    least_web: PositiveLength = 5.0
    bore: PositiveLength | None = None
    pockets: list[Pocket] = Field(default=[], max_length=40)
    windows: PositiveLength | None = None
    pilot_height: PositiveLength = 5.0
    pilot_fit: str = "H7"
    dowel_hole: str = "H7"
    dowel_pin: str = "m6"
    coupler: Coupler | None = None
    end_gap: tuple[NonNegativeLength, PositiveLength] = (3.0, 5.0)
    spline_least: PositiveLength = 20.0
    pilot_least: PositiveLength = 8.0
    indicated: PositiveLength | None = None
    run_out_limit: PositiveLength = 0.13
    placing: PositiveLength = 0.05
    bolt_class: str | None = None
    lugs: YesNo = True
    paper: Paper = "A4"
    at: tuple[Length, Length, Length] | None = None
    yaw: Angle = 0.0
    cutter: str = "mill-general"

    @field_validator("end_gap")
    @classmethod
    def _gap(cls, value: tuple[float, float]) -> tuple[float, float]:
        if value[0] >= value[1]:
            raise ValueError("give [least, most]")
        return value

    @model_validator(mode="after")
    def _depth(self) -> "AdapterAsk":
        if self.thickness is None and self.coupler is None:
            raise ValueError("give either a thickness, or a coupler so that the depth stack can find one")
        return self
