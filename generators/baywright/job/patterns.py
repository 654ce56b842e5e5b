"""Bolt patterns as files say them: coordinates, bolt circles, a drawing's circles, or readings taken on the part."""

import re
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, field_validator, model_validator

from baywright.job.faults import read_as
from baywright.job.messages import BadInput, Problem, shown, unknown
from baywright.job.row import Named, Number, Row, Whole, YesNo
from baywright.job.toml import Path_, line_of, read_toml
from baywright.job.units import (
    Angle,
    Length,
    Measured,
    NonNegativeLength,
    PositiveLength,
    PositiveMeasuredLength,
    quantity,
)

Side = Literal["motor", "gearbox"]
HoleKind = Literal["through", "tapped", "dowel"]

_NAME = r"[A-Za-z0-9_]+"
_WALKING = re.compile(
    rf"^\s*({_NAME})\s*(?:,|->|→|\s)\s*({_NAME})\s*(?:,|->|→|\s)\s*({_NAME})\s+(?:goes\s+)?"
    r"(clockwise|counter-?clockwise|anti-?clockwise)\s*,?\s+seen from (?:the )?(motor|gearbox)(?:'s)?(?: side)?\s*$",
    re.IGNORECASE,
)
_LEVEL = re.compile(rf"^\s*({_NAME})\s+to\s+({_NAME})\s*$")
_PAIR = re.compile(rf"^\s*({_NAME})\s*-\s*({_NAME})\s*$")


class PilotRow(Row):
    """The centring step: spigot (male) or recess; diameter, ISO 286 class or outright limits, height; mm."""

    male: YesNo
    diameter: PositiveLength
    fit: str = ""
    height: NonNegativeLength = 0.0
    limits: tuple[PositiveLength, PositiveLength] | None = None

    @model_validator(mode="after")
    def _ordered(self) -> "PilotRow":
        if self.limits is not None and self.limits[0] > self.limits[1]:
            raise ValueError("limits are [least, most]")
        return self


class HoleMake(Row):
    """What a hole is: kind, thread of its bolt, its own diameter, zone of its axis, depth of full thread; mm.

    Attributes:
        kind: "through", "tapped" or "dowel".
        thread: "M10", "3/8-16"; not for a dowel.
        diameter: a dowel's size; a through hole's bore, if not the medium clearance of its thread.
        position: diameter of the zone that the hole's axis lies in.
        depth: full thread of a tapped hole.
    """

    kind: HoleKind
    thread: str = ""
    diameter: NonNegativeLength = 0.0
    position: NonNegativeLength = 0.0
    depth: NonNegativeLength = 0.0

    @model_validator(mode="after")
    def _complete(self) -> "HoleMake":
        if self.kind == "dowel" and (self.thread or not self.diameter):
            raise ValueError("a dowel hole needs a diameter and no thread")
        if self.kind != "dowel" and not self.thread:
            raise ValueError(f'a {self.kind} hole needs the thread of its bolt, like thread = "M10"')
        return self


class HoleRow(HoleMake):
    """A hole at coordinates, mm: x to the right and y up from the shaft's centre line."""

    name: str = Field(pattern=rf"^{_NAME}$")
    at: tuple[Length, Length]


class CircleRow(HoleMake):
    """Like holes on a circle.

    Attributes:
        circle: diameter of the bolt circle, mm.
        count: how many, spread evenly; with `clocks` not needed.
        first: clock position of the first, degrees clockwise from the top; without it they straddle the vertical.
        clocks: the clock position of every hole, where they are not even.
        prefix: put before the holes' numbers, where a pattern has several circles.
    """

    circle: PositiveLength
    count: Whole | None = Field(default=None, ge=1, le=72)
    first: Angle | None = None
    clocks: list[Angle] | None = Field(default=None, min_length=1, max_length=72)
    prefix: str = Field(default="", pattern=rf"^({_NAME})?$")

    @model_validator(mode="after")
    def _one(self) -> "CircleRow":
        if (self.count is None) == (self.clocks is None) or (self.clocks is not None and self.first is not None):
            raise ValueError("give either count (and first, if it matters) or clocks")
        return self


class DxfRow(Row):
    """Circles of a drawing.

    Attributes:
        file: the drawing, beside the file that names it.
        layers: what the circles of each layer are; other layers are ignored.
        origin: where the shaft's centre line is in the drawing, in the drawing's own units.
        units: the drawing's unit, where the drawing itself does not say or says it wrongly.
    """

    file: str
    layers: dict[str, HoleMake] = Field(min_length=1)
    origin: tuple[Number, Number] = (0.0, 0.0)
    units: Literal["mm", "in", "cm", "m"] | None = None


class PatternRow(Named):
    """A bolt pattern, mm: at least one of circles, holes, dxf, readings.

    Attributes:
        seen_from: the side that coordinates and clock positions are seen from.
        circles: holes on circles.
        holes: holes at coordinates.
        dxf: circles of a drawing.
        readings: a readings file, beside the file that names it.
        pilot: the centring step.
        outer: outside diameter of the flange.
        run_out: full indicator movement that the standard allows for bore and face.
        memory: what of it is from memory and not from a text.
    """

    seen_from: Side = "motor"
    circles: list[CircleRow] = Field(default=[], max_length=20)
    holes: list[HoleRow] = Field(default=[], max_length=200)
    dxf: DxfRow | None = None
    readings: str | None = None
    pilot: PilotRow | None = None
    outer: NonNegativeLength = 0.0
    run_out: PositiveLength | None = None
    memory: str = ""

    @model_validator(mode="after")
    def _some(self) -> "PatternRow":
        if not (self.circles or self.holes or self.dxf or self.readings):
            raise ValueError("needs holes: give circles, holes, dxf or readings")
        names = [h.name for h in self.holes]
        twice = next((n for n in names if names.count(n) > 1), None)
        if twice is not None:
            raise ValueError(f"two holes are called '{twice}'")
        return self


def _several(value: object) -> object:
    return value if isinstance(value, list) else [value]


Several = Annotated[list[PositiveMeasuredLength], BeforeValidator(_several), Field(min_length=1, max_length=50)]


class EdgeReadings(Row):
    """Distances from one straight edge of the part to holes: to the centre, the near side, the far side; mm."""

    centre: dict[str, Several] = Field(default={})
    near: dict[str, Several] = Field(default={})
    far: dict[str, Several] = Field(default={})


class PointReadings(Row):
    """Scanned or traced points in a frame of their own: hole centres, and points on holes' edges; mm.

    Attributes:
        centre: [x, y] by hole.
        rim: lists of [x, y] by hole.
        uncertainty: standard deviation of a point in x and in y.
    """

    centre: dict[str, tuple[Length, Length]] = Field(default={})
    rim: dict[str, list[tuple[Length, Length]]] = Field(default={})
    uncertainty: PositiveLength


class HolesRead(Row):
    """What the measured holes are.

    Attributes:
        names: every hole, so that a slip in a reading is seen at once; without it the readings say which there are.
        kind: of the bolt holes.
        thread: of their bolts.
        dowels: names of the dowel holes.
        dowel_diameter: their nominal size; without it their measured one.
    """

    names: list[str] = Field(default=[], max_length=100)
    kind: Literal["through", "tapped"] = "through"
    thread: str
    dowels: list[str] = Field(default=[])
    dowel_diameter: PositiveLength | None = None


class ReadingsFile(Named):
    """Readings taken on a part.

    Attributes:
        seen_from: the side that scanned points and edges are seen from, and the result is wanted for.
        walking: three holes and which way round they are met: "1, 4, 7 clockwise seen from the motor".
        level: two holes (or shaft) whose line runs level from left to right: "7 to 3".
        uncertainty: standard deviation of a caliper reading, mm; "±" behind a reading says its own.
        holes: what the holes are.
        pilot: the centring step, if there is one.
        outer: outside diameter of the flange, mm.
        centre, inside, outside: distances by pair ("1-2"); a list where one was read several times.
        diameter: by hole.
        edges: distances from straight edges.
        square_edges: true if the edges left, right, top and bottom are square to each other.
        points: sets of scanned or traced points.
        cut: standard deviation of the plate's own holes, mm.
        located: what will hold the plate in place when it is bolted on.
    """

    seen_from: Side = "motor"
    walking: tuple[tuple[str, str, str], bool, Side] = Field(
        description='which way round three holes are met, like "1, 4, 7 clockwise seen from the motor": distances '
        "alone cannot tell a pattern from its mirror image"
    )
    level: tuple[str, str] | None = None
    uncertainty: PositiveLength
    holes: HolesRead
    pilot: PilotRow | None = None
    outer: NonNegativeLength = 0.0
    centre: dict[str, Several] = Field(default={})
    inside: dict[str, Several] = Field(default={})
    outside: dict[str, Several] = Field(default={})
    diameter: dict[str, Several] = Field(default={})
    edges: dict[str, EdgeReadings] = Field(default={})
    square_edges: YesNo = False
    points: dict[str, PointReadings] = Field(default={})
    cut: NonNegativeLength = 0.1
    located: Literal["free", "pilot", "fixed"] = "free"

    @field_validator("walking", mode="before")
    @classmethod
    def _walk(cls, value: object) -> object:
        match = _WALKING.match(value) if isinstance(value, str) else None
        if match is None:
            raise ValueError('write it like "1, 4, 7 clockwise seen from the motor"')
        *holes, way, side = match.groups()
        if len(set(holes)) < 3:
            raise ValueError("name three different holes")
        return tuple(holes), way.lower() == "clockwise", side.lower()

    @field_validator("level", mode="before")
    @classmethod
    def _level(cls, value: object) -> object:
        match = _LEVEL.match(value) if isinstance(value, str) else None
        if match is None or match.group(1) == match.group(2):
            raise ValueError('write it like "7 to 3": two places whose line runs level, from left to right')
        return match.groups()

    @field_validator("centre", "inside", "outside")
    @classmethod
    def _pairs(cls, value: dict[str, Any]) -> dict[str, Any]:
        for key in value:
            match = _PAIR.match(key)
            if match is None:
                raise ValueError(f"'{key}' names no two holes: write it like \"1-2\"")
            if match.group(1) == match.group(2):
                raise ValueError(f"'{key}' is from a hole to itself")
        return value

    @model_validator(mode="after")
    def _square(self) -> "ReadingsFile":
        odd = [e for e in self.edges if e not in ("left", "right", "top", "bottom")]
        if self.square_edges and odd:
            raise ValueError(f"square edges are called left, right, top and bottom, not '{odd[0]}'")
        return self


def pair_of(key: str) -> tuple[str, str]:
    """Return the two holes that a pair's key names ("1-2")."""
    match = _PAIR.match(key)
    assert match is not None  # the model has checked it
    return match.group(1), match.group(2)


def read_readings(path: Path) -> ReadingsFile:
    """Return a readings file.

    Raises:
        BadInput: with every problem found: syntax, keys, values, names of holes that are not listed.
    """
    data, lines = read_toml(path)
    units = data.pop("units", {})
    if not isinstance(units, dict) or set(units) - {"length"}:
        raise BadInput([Problem(shown(path), lines.get(("units",)), "units", 'expected a table like length = "in"')])
    try:
        quantity(1.0, "length", units)
    except ValueError as error:
        raise BadInput([Problem(shown(path), lines.get(("units",)), "units.length", str(error))]) from None
    found = read_as(ReadingsFile, data, file=path, lines=lines, units=units)
    problems = _strangers(found, path, lines)
    if problems:
        raise BadInput(problems)
    return found


def holes_read(file: ReadingsFile) -> set[str]:
    """Return the names that readings use, the shaft's with them."""
    names = {n for table in (file.centre, file.inside, file.outside) for key in table for n in pair_of(key)}
    names |= set(file.diameter)
    for edge in file.edges.values():
        names |= {*edge.centre, *edge.near, *edge.far}
    for scan in file.points.values():
        names |= {*scan.centre, *scan.rim}
    return names


def _strangers(file: ReadingsFile, path: Path, lines: dict[Path_, int]) -> list[Problem]:
    """Return a problem for every hole that is named and not known."""
    read = holes_read(file) - {"shaft"}
    known = set(file.holes.names) or read
    found: list[Problem] = []

    def check(name: str, at: Path_, text: str) -> None:
        if name not in known and name != "shaft":
            said = unknown("hole", name, known)
            found.append(Problem(shown(path), line_of(lines, at), text, said))

    for kind in ("centre", "inside", "outside"):
        for key in getattr(file, kind):
            for name in pair_of(key):
                check(name, (kind, key), f'{kind} "{key}"')
    for name in file.diameter:
        check(name, ("diameter", name), f'diameter "{name}"')
    for name in file.walking[0]:
        check(name, ("walking",), "walking")
        if name == "shaft":
            found.append(
                Problem(shown(path), line_of(lines, ("walking",)), "walking", "name three holes, not the shaft")
            )
    for name in file.level or ():
        check(name, ("level",), "level")
        if name == "shaft" and name not in holes_read(file):
            found.append(Problem(shown(path), line_of(lines, ("level",)), "level", "no reading reaches the shaft"))
    for name in file.holes.dowels:
        check(name, ("holes", "dowels"), "holes.dowels")
    for kind in ("edges", "points"):
        for group, rows in getattr(file, kind).items():
            for field in type(rows).model_fields:
                table = getattr(rows, field)
                for name in table if isinstance(table, dict) else ():
                    check(name, (kind, group, field, name), f"{kind}.{group}.{field}")
    for name in sorted(known - read):
        found.append(
            Problem(shown(path), line_of(lines, ("holes", "names")), "holes.names", f"no reading reaches hole '{name}'")
        )
    return found


def sigma_of(value: Measured, usual: float) -> float:
    """Return a reading's standard deviation in mm: its own if it states one."""
    return value.tolerance or usual
