"""Bought-in things as the catalogue holds them: modules, sections, fittings."""

from typing import Literal

from pydantic import Field, model_validator

from baywright.job.row import Named, Number, Row, Whole
from baywright.job.units import (
    Charge,
    Current,
    Length,
    NonNegativeLength,
    PositiveLength,
    PositiveMass,
    Voltage,
    Volume,
)

Exit = Literal["+x", "-x", "+y", "-y", "+z", "-z"]
Orientation = Literal["flat", "side", "end"]
Point = tuple[Length, Length, Length]
Size = tuple[PositiveLength, PositiveLength, PositiveLength]


class HoldDown(Row):
    """Holes by which a module is held, all along one of its axes.

    Attributes:
        axis: the holes' direction in the module's frame.
        screw: thread of the screw that goes through ("M6").
        hole: the sleeve's bore, mm.
        seat: height above the lower face along the axis at which a head rests; the full size is a through sleeve, mm.
        recess: diameter that is free from a lower seat up to the module's far face, for head, washer and driver, mm.
        positions: in the plane square to the axis: (x, y) for z, (x, z) for y, (y, z) for x; z from the underside, mm.
    """

    axis: Literal["x", "y", "z"]
    screw: str
    hole: PositiveLength
    seat: PositiveLength
    recess: PositiveLength | None = None
    positions: list[tuple[Length, Length]] = Field(min_length=2, max_length=50)


class Terminal(Row):
    """A power terminal: where its cable leaves and how thick it is (outside diameter), mm."""

    name: str
    at: Point
    exit: Exit
    cable: PositiveLength


class Port(Row):
    """A coolant port: where its hose leaves and how thick it is (outside diameter), mm."""

    name: str
    at: Point
    exit: Exit
    hose: PositiveLength
    kind: Literal["in", "out"] = "in"


class Electrical(Row):
    """What a module is electrically: Ah, V, A, milliohm.

    Attributes:
        series, parallel: cells one after another, and side by side.
        capacity: of the whole module, Ah.
        nominal_voltage, full_voltage, cutoff_voltage: of the whole module, V.
        continuous_current, peak_current: that its data sheet allows out, A.
        resistance_mohm: of the whole module, milliohm.
    """

    series: Whole = Field(ge=1, le=1000)
    parallel: Whole = Field(default=1, ge=1, le=1000)
    capacity: Charge
    nominal_voltage: Voltage
    full_voltage: Voltage
    cutoff_voltage: Voltage
    continuous_current: Current
    peak_current: Current
    resistance_mohm: Number = Field(gt=0)

    @model_validator(mode="after")
    def _ordered(self) -> "Electrical":
        if not self.cutoff_voltage < self.nominal_voltage < self.full_voltage:
            raise ValueError("voltages must rise: cutoff_voltage, nominal_voltage, full_voltage")
        if self.peak_current < self.continuous_current:
            raise ValueError("peak_current must be at least continuous_current")
        return self


class Module(Named):
    """A battery module. Its frame: origin in the middle of the underside, x along its length, z up, lying flat; mm, kg.

    Attributes:
        size: length, width, height.
        mass: kg.
        centre_of_mass: [x, y, z] in the module's frame; half its height up where nothing better is known.
        gap: least free gap to a neighbour or a wall along x, y, z.
        orientations: how its data sheet lets it lie.
        hold_downs: the holes that hold it, a table [[NAME.hold_downs]] a group: axis, screw, hole, seat, positions.
        terminals: power terminals: name, at, exit, cable.
        ports: coolant ports: name, at, exit, hose, kind.
        coolant_litres: coolant inside.
        electrical: a table: series, capacity, voltages, currents, resistance_mohm, from its data sheet.
    """

    size: Size
    mass: PositiveMass
    centre_of_mass: Point
    gap: tuple[NonNegativeLength, NonNegativeLength, NonNegativeLength]
    orientations: list[Orientation] = Field(default=["flat"], min_length=1)
    hold_downs: list[HoldDown] = Field(min_length=1, max_length=10)
    terminals: list[Terminal] = Field(default=[], max_length=20)
    ports: list[Port] = Field(default=[], max_length=20)
    coolant_litres: Volume = 0.0
    electrical: Electrical

    @model_validator(mode="after")
    def _inside(self) -> "Module":
        half = (self.size[0] / 2, self.size[1] / 2)
        x, y, z = self.centre_of_mass
        if abs(x) > half[0] or abs(y) > half[1] or not 0 <= z <= self.size[2]:
            raise ValueError("centre_of_mass lies outside the module: give it from the middle of the underside")
        spans = {"x": (-half[0], half[0]), "y": (-half[1], half[1]), "z": (0.0, self.size[2])}
        for group in self.hold_downs:
            plane = [axis for axis in "xyz" if axis != group.axis]
            full = self.size["xyz".index(group.axis)]
            if group.seat > full + 1e-6:
                raise ValueError(
                    f"hold_downs: seat {group.seat:g} mm is above the module ({full:g} mm along {group.axis})"
                )
            if group.recess is None and group.seat < full - 1e-6:
                raise ValueError(
                    f"hold_downs: seat {group.seat:g} mm lies {full - group.seat:g} mm below the far face: give "
                    "recess, the diameter that is free above it for head, washer and driver"
                )
            for position in group.positions:
                for axis, value in zip(plane, position, strict=True):
                    low, high = spans[axis]
                    if not low <= value <= high:
                        raise ValueError(f"hold_downs: {axis} = {value:g} mm lies outside the module")
        return self


class Section(Named):
    """A stock section, corners sharp (EN 755-9 lets extruded corners be rounded a little; that is left out), mm.

    Attributes:
        shape: the kind of section.
        size: angle [leg, leg]; tube [width, height]; bar [width, thickness]; channel [flange, height];
            round tube [outside diameter]; rod [diameter].
        thickness: of the walls; not for bar and rod.
        material: name of the material.
        stock_length: what it is bought in.
    """

    shape: Literal["angle", "tube", "bar", "channel", "round tube", "rod"]
    size: list[PositiveLength] = Field(min_length=1, max_length=2)
    thickness: PositiveLength | None = None
    material: str
    stock_length: PositiveLength = 6000.0

    @property
    def told(self) -> str:
        """What it is, for a list: shape, sizes, material."""
        sizes = self.size if self.thickness is None else [*self.size, self.thickness]
        return self.description or f"{self.shape} {' x '.join(f'{s:g}' for s in sizes)} mm, {self.material}"

    @model_validator(mode="after")
    def _complete(self) -> "Section":
        sides = 1 if self.shape in ("round tube", "rod") else 2
        if len(self.size) != sides:
            raise ValueError(f"a {self.shape} takes {sides} size{'s' if sides > 1 else ''}")
        solid = self.shape in ("bar", "rod")
        if not solid and self.thickness is None:
            raise ValueError(f"a {self.shape} needs a thickness")
        if not solid and self.thickness is not None and 2 * self.thickness >= min(self.size):
            raise ValueError("the walls are thicker than half the section")
        return self


class CutOut(Row):
    """The opening a fitting needs: round with a diameter, or a rectangle [along the wall, up the wall], mm."""

    shape: Literal["round", "rectangle"] = "round"
    diameter: PositiveLength | None = None
    size: tuple[PositiveLength, PositiveLength] | None = None
    corner_radius: NonNegativeLength = 0.0

    @model_validator(mode="after")
    def _complete(self) -> "CutOut":
        if (self.diameter is None) == (self.shape == "round") or (self.size is None) == (self.shape == "rectangle"):
            raise ValueError(f"a {self.shape} needs {'a diameter' if self.shape == 'round' else 'a size [w, h]'}, only")
        return self


class Fixing(Row):
    """Screws round a fitting's opening: hole, thread, and positions from the opening's centre, mm."""

    hole: PositiveLength
    screw: str
    positions: list[tuple[Length, Length]] = Field(min_length=1, max_length=50)


class Reach(Row):
    """How far a fitting's own body stands off the wall, mm."""

    depth: NonNegativeLength


class Fitting(Named):
    """A fitting on the service end, mm. Positions are seen from outside: x along the wall, y up.

    Attributes:
        kind: what it does.
        mass: kg, mating part not counted.
        cut_out: the opening in the wall.
        fixing: its screws, if it has any.
        body: its outline on the wall.
        outside: how far the body stands out.
        inside: how far it reaches in.
        keep_out: width and height on the wall that nothing else may enter (mating part, spanner).
        outside_depth: free room straight outside: mating part and the cable's straight part.
        inside_depth: free room straight inside.
        cable: outside diameter of its cable.
    """

    kind: Literal[
        "power gland",
        "signal connector",
        "coolant",
        "breather",
        "burst vent",
        "service disconnect",
        "earth stud",
    ]
    mass: PositiveMass
    cut_out: CutOut
    fixing: Fixing | None = None
    body: CutOut
    outside: Reach
    inside: Reach
    keep_out: tuple[PositiveLength, PositiveLength]
    outside_depth: NonNegativeLength = 0.0
    inside_depth: NonNegativeLength = 0.0
    cable: PositiveLength | None = None
