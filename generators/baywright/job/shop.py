"""The shop's own tables: materials, adhesives, screws, inserts, sheets, cutters."""

import re
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator

from baywright.job.row import Named, Number, Row, YesNo
from baywright.job.units import (
    Density,
    Length,
    NonNegativeLength,
    PositiveLength,
    PositiveMass,
    Stress,
    quantity,
)


def gauge(number: int) -> float:
    """Return the thickness in mm of a sheet's American (Brown & Sharpe) gauge number.

    Source: the gauge's definition, 0.005 in at 36, ratio 92 over 39 steps (ASTM B258): 0.127 · 92^((36 - n)/39) mm.
    """
    return float(0.127 * 92 ** ((36 - number) / 39))


def _thickness(value: object, info: ValidationInfo) -> object:
    """Return a sheet thickness; "11 ga" is a gauge number."""
    if isinstance(value, str) and value.strip().lower().endswith("ga"):
        number = value.strip()[:-2].strip()
        if not number.isdigit() or not 0 <= int(number) <= 40:
            raise ValueError(f"'{value}' is no gauge number; write it like '11 ga' (0 to 40)")
        return gauge(int(number))
    declared = info.context.get("units") if info.context else None
    found = quantity(value, "length", declared).value
    if not 0.2 <= found <= 60:
        raise ValueError(f"a thickness of {found:g} mm is no sheet or plate: 0.2 to 60 mm")
    return found


Thickness = Annotated[float, BeforeValidator(_thickness)]


class Strength(Row):
    """Strengths of a product on one basis, MPa.

    Attributes:
        basis: "typical", "minimum" (a standard's least) or "characteristic" (EN 1999-1-1).
        product: the form and temper it is of.
        f_yield: 0.2 % proof strength.
        f_ultimate: tensile strength.
        f_shear: shear strength, where known.
        thickness_most: the largest thickness it is good for, mm.
        source: where it is from.
    """

    basis: Literal["typical", "minimum", "characteristic"]
    product: str
    f_yield: Stress
    f_ultimate: Stress
    f_shear: Stress | None = None
    thickness_most: PositiveLength | None = None
    source: str


class Material(Named):
    """A material: density kg/m³, moduli MPa, expansion 1/K, strengths by basis."""

    density: Density
    E: Stress | None = None
    G: Stress | None = None
    nu: Number | None = Field(default=None, gt=0, lt=0.5)
    expansion: Number | None = Field(default=None, gt=0, lt=1e-3)
    conductive: YesNo
    strengths: list[Strength] = Field(default=[])


class BondLine(Row):
    """The bond line that an adhesive takes, mm."""

    least: PositiveLength
    nominal: PositiveLength
    most: PositiveLength


class Span(Row):
    """A least and a most, in the unit of what it is of."""

    least: Number
    most: Number


class Adhesive(Named):
    """A structural adhesive. Strengths are of lap coupons (ASTM D1002 form), MPa: not design values.

    Attributes:
        density: kg/m³, cured.
        bond_line: mm.
        shear_strength: at room temperature.
        hot_shear_strength: at `hot_temperature`.
        hot_temperature: °C.
        shear_modulus: MPa.
        young_modulus: MPa.
        service_temperature: °C.
        open_time_min: minutes from mixing to closing the joint.
        handling_time_h: hours until it may be moved.
        cure_time_h: hours to full cure, at `cured_at` °C.
        knock_down: factors on the strength by cause.
    """

    density: Density
    bond_line: BondLine
    shear_strength: Stress
    hot_shear_strength: Stress
    hot_temperature: Number
    shear_modulus: Stress
    young_modulus: Stress
    service_temperature: Span
    open_time_min: Number = Field(gt=0)
    handling_time_h: Number = Field(gt=0)
    cure_time_h: Number = Field(gt=0)
    cured_at: Number
    knock_down: dict[str, Annotated[Number, Field(gt=0, le=1)]] = Field(default={})


class Clearance(Row):
    """Through holes of ISO 273, mm."""

    fine: PositiveLength
    medium: PositiveLength
    coarse: PositiveLength


class HeadSize(Row):
    """A screw head, mm: diameter, height, key across flats."""

    head_diameter: PositiveLength
    head_height: PositiveLength
    key: PositiveLength


class Washer(Row):
    """A plain washer, ISO 7089, mm."""

    inside: PositiveLength
    outside: PositiveLength
    thickness: PositiveLength


class Nut(Row):
    """A hexagon nut, ISO 4032, mm: width across flats and height."""

    width: PositiveLength
    height: PositiveLength


class Counterbore(Row):
    """A counterbore for a cap screw, DIN 974-1, mm."""

    diameter: PositiveLength
    depth: PositiveLength | None = None


class Thread(Named):
    """A thread and what goes with it; mm, mm², N.

    Attributes:
        pitch: of the thread.
        tap_drill: hole before tapping.
        clearance: through holes, ISO 273 or ASME B18.2.8 (close, normal, loose).
        minor_diameter: d3, at the root of the external thread.
        pitch_diameter: d2.
        stress_area: nominal, ISO 898-1.
        proof_load: by property class or grade.
        ultimate_load: by property class or grade.
        lengths: standard lengths under the head.
    """

    pitch: PositiveLength
    tap_drill: PositiveLength
    clearance: Clearance
    minor_diameter: PositiveLength
    pitch_diameter: PositiveLength
    stress_area: Number = Field(gt=0)
    proof_load: dict[str, Annotated[Number, Field(gt=0)]] = Field(min_length=1)
    ultimate_load: dict[str, Annotated[Number, Field(gt=0)]] = Field(min_length=1)
    washer: Washer
    nut: Nut
    cap: HeadSize
    counterbore: Counterbore
    lengths: list[PositiveLength] = Field(min_length=1)


class ScrewSize(Thread):
    """A screw of the metric coarse series, as boxes are put together with: three kinds of head."""

    button: HeadSize
    countersunk: HeadSize

    @field_validator("name")
    @classmethod
    def _metric(cls, value: str) -> str:
        if not re.fullmatch(r"M[1-9]\d?(\.\d)?", value):
            raise ValueError("a screw is called by its metric thread, such as M14")
        return value

    @property
    def diameter(self) -> float:
        """The thread's nominal diameter, mm, which is its name."""
        return float(self.name[1:])


class Grip(Row):
    """The thickness of metal that an insert takes, mm."""

    least: NonNegativeLength
    most: PositiveLength


class Insert(Named):
    """A blind rivet nut, mm, kg.

    Attributes:
        thread: "M5".
        hole: the hole it is set in.
        body_length: from under its flange to its end, before setting.
        flange_diameter: of the flange on the metal; the bulge behind it is taken as wide.
        flange_thickness: of the flange.
        grip: the metal it takes.
        edge_distance: least distance of its axis from a free edge.
        mass: each.
    """

    thread: str
    hole: PositiveLength
    body_length: PositiveLength
    flange_diameter: PositiveLength
    flange_thickness: PositiveLength
    grip: Grip
    edge_distance: PositiveLength
    mass: PositiveMass
    pull_out: Number | None = Field(default=None, gt=0, description="pull-out in N, where known")


class SheetStock(Named):
    """Sheet as it is bought: a material, its thicknesses, the sheets' size, mm.

    Attributes:
        material: its name.
        thicknesses: what it can be had in.
        sheet_size: length and width.
        grain: whether it has a grain or a finish along its length: no piece is then nested turned by a quarter.
    """

    material: str
    thicknesses: list[Thickness] = Field(min_length=1)
    sheet_size: tuple[PositiveLength, PositiveLength]
    grain: YesNo = False

    @property
    def told(self) -> str:
        """What it is, for a list: material and thicknesses."""
        return self.description or f"{self.material}, {', '.join(f'{t:g}' for t in self.thicknesses)} mm"


class Cutter(Named):
    """What a cutting shop wants of a file and can hold; mm, ratios to the sheet's thickness.

    Attributes:
        kerf_policy: "drawn nominal": the shop offsets for its own kerf.
        kerf: what it takes away, for the shop's own planning.
        least_hole_to_thickness, least_hole: the least hole.
        least_web_to_thickness, least_web: the least metal between cuts.
        text: whether a part number may be marked on the part.
        dxf_version: the file's version.
        layers: "by meaning", or "cut only": outlines on one layer and nothing else.
        tolerance: either way.
        inner_corner_radius: the least radius of an inner corner.
    """

    kerf_policy: Literal["drawn nominal"]
    kerf: NonNegativeLength
    least_hole_to_thickness: Number = Field(gt=0)
    least_hole: PositiveLength
    least_web_to_thickness: Number = Field(gt=0)
    least_web: PositiveLength
    text: YesNo
    dxf_version: Literal["R2000", "R2010"]
    layers: Literal["by meaning", "cut only"]
    tolerance: Length
    inner_corner_radius: NonNegativeLength
