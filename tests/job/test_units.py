"""Quantities: numbers in the file's units, text with units, fractions, tolerances, and what is refused."""

import math

import hypothesis.strategies as st
import pytest
from hypothesis import given
from pydantic import ValidationError

from baywright.job import units
from baywright.job.row import Row
from baywright.job.units import (
    Angle,
    Length,
    Mass,
    Measured,
    MeasuredLength,
    NonNegativeLength,
    PositiveLength,
    PositiveMass,
    factor,
    quantity,
)


class Sample(Row):
    """One of each kind that a job has."""

    length: Length = 0.0
    wide: PositiveLength = 1.0
    gap: NonNegativeLength = 0.0
    mass: Mass = 0.0
    heavy: PositiveMass = 1.0
    angle: Angle = 0.0
    taped: MeasuredLength = Measured(0.0)


def read(declared: dict[str, str] | None = None, **values: object) -> Sample:
    return Sample.model_validate(values, context={"units": declared or {}})


def refused(**values: object) -> str:
    with pytest.raises(ValidationError) as caught:
        read(**values)
    return str(caught.value.errors()[0]["msg"]).removeprefix("Value error, ")


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("3/4 in", 19.05),
        ("1 3/8 in", 34.925),
        ("1-3/8 in", 34.925),
        ("-1 3/8 in", -34.925),
        ("0.75 in", 19.05),
        ('3/4"', 19.05),
        (".5 in", 12.7),
        ("19.05 mm", 19.05),
        ("19.05mm", 19.05),
        ("  19.05  mm ", 19.05),
        ("2.5 cm", 25.0),
        ("1 m", 1000.0),
        ("2 ft", 609.6),
        ("80 thou", 2.032),
        ("1e3 mm", 1000.0),
        ("612", 612.0),
        (612, 612.0),
        (61.25, 61.25),
    ],
)
def test_lengths_are_kept_in_mm(text, mm):
    assert read(length=text).length == pytest.approx(mm, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kg"),
    [("25 lb", 11.33980925), ("8 oz", 0.226796185), ("12.5 kg", 12.5), ("1.6 g", 0.0016), ("1 t", 1000.0)],
)
def test_masses_are_kept_in_kg(text, kg):
    assert read(mass=text).mass == pytest.approx(kg, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("7.5 deg", "angle", 7.5),
        ("7.5°", "angle", 7.5),
        ("1 rad", "angle", 180 / math.pi),
        ("100 lbf", "force", 444.8221615),
        ("2 kN", "force", 2000.0),
        ("35 ksi", "stress", 241.3165),
        ("2 GPa", "stress", 2000.0),
        ("2.7 g/cm^3", "density", 2700.0),
        ("2700 kg/m3", "density", 2700.0),
        ("2700 kg/m³", "density", 2700.0),
        ("60 Ah", "charge", 60.0),
        ("350 V", "voltage", 350.0),
        ("300 A", "current", 300.0),
        ("60 kW", "power", 60.0),
        ("100 hp", "power", 74.5699872),
        ("200 N*m", "torque", 200.0),
        ("200 N·m", "torque", 200.0),
        ("200 Nm", "torque", 200.0),
        ("3.7 kWh", "energy", 3.7),
        ("60 mph", "speed", 96.56064),
        ("1 in^2", "area", 645.16),
        ("500 ml", "volume", 0.5),
    ],
)
def test_other_quantities(text, kind, value):
    assert quantity(text, kind).value == pytest.approx(value, rel=1e-6)


def test_numbers_are_in_the_units_that_the_file_declares():
    got = read({"length": "in", "mass": "lb", "angle": "rad"}, length=10, mass=10, angle=1, taped="10 ± 1/8")
    assert got.length == pytest.approx(254.0)
    assert got.mass == pytest.approx(4.5359237)
    assert got.angle == pytest.approx(180 / math.pi)
    assert got.taped == pytest.approx((254.0, 3.175))


def test_text_with_a_unit_does_not_care_what_the_file_declares():
    assert read({"length": "in"}, length="10 mm").length == 10.0


@pytest.mark.parametrize(
    ("text", "value", "tolerance"),
    [
        ("612 mm ± 3 mm", 612, 3),
        ("612 ± 3 mm", 612, 3),
        ("612 mm ± 3", 612, 3),
        ("612 ± 3", 612, 3),
        ("612±3", 612, 3),
        ("612 +/- 3", 612, 3),
        ("612 mm +- 3 mm", 612, 3),
        ("24 in ± 1/8 in", 609.6, 3.175),
        ("24 1/2 ± 1/8 in", 622.3, 3.175),
        ("612 mm ± 1/8 in", 612, 3.175),
        ("-30 ± 2", -30, 2),
        ("612 mm", 612, 0),
        (612, 612, 0),
    ],
)
def test_tolerances(text, value, tolerance):
    assert read(taped=text).taped == pytest.approx((value, tolerance))


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"length": "25 lb"}, "does not measure a length"),
        ({"mass": "25 mm"}, "does not measure a mass"),
        ({"angle": "25 mm"}, "does not measure an angle"),
        ({"length": "25 furlongs"}, "'furlongs' is not a unit known here"),
        ({"length": "12,5 mm"}, "not a unit known here"),
        ({"length": "mm"}, "is not a length"),
        ({"length": "about 30 mm"}, "is not a length"),
        ({"length": ""}, "is not a length"),
        ({"length": "1/0 in"}, "divides by nothing"),
        ({"length": "nan"}, "is not a length"),
        ({"length": "inf mm"}, "is not a length"),
        ({"length": "1e999 mm"}, "expected a length"),
        ({"length": float("nan")}, "expected a length"),
        ({"length": float("inf")}, "expected a length"),
        ({"length": 10**400}, "a length"),
        ({"length": "x" * 5000}, "is not a length"),
        ({"length": "5 " + "x" * 5000}, "not a unit"),
        ({"length": True}, "expected a length"),
        ({"length": None}, "expected a length"),
        ({"length": [1]}, "expected a length"),
        ({"length": {"mm": 1}}, "expected a length"),
        ({"length": "1000001 mm"}, "beyond anything"),
        ({"length": 2e6}, "beyond anything"),
        ({"mass": "200 t"}, "beyond anything"),
        ({"length": "612 ± 3 mm"}, "takes no tolerance"),
        ({"taped": "612 ± 3 ± 2"}, "is not a length"),
        ({"taped": "± 3"}, "is not a length"),
        ({"taped": "612 ± x"}, "is not a length"),
        ({"wide": 0}, "must be more than 0 mm"),
        ({"wide": "-3/4 in"}, "must be more than 0 mm"),
        ({"gap": -1}, "must be at least 0 mm"),
        ({"heavy": 0}, "must be more than 0 kg"),
        ({"length": "__import__('os')"}, "is not a length"),
        ({"length": "5 m**2"}, "does not measure a length"),
    ],
)
def test_refused_in_one_plain_sentence(values, says):
    sentence = refused(**values)
    assert says in sentence
    assert "\n" not in sentence
    assert len(sentence) < 200


def test_a_long_value_is_not_repeated_whole():
    assert len(refused(length="9" * 5000 + " mm")) < 200


@given(st.floats(-1e5, 1e5, allow_nan=False))
def test_inches_and_back(mm):
    """repr of a float reads back exactly; 25.4 costs at most two roundings."""
    inches = mm / 25.4
    assert quantity(f"{inches!r} in", "length").value == pytest.approx(mm, rel=1e-14, abs=1e-12)
    assert quantity(f"{mm!r} mm", "length").value == mm
    assert quantity(mm, "length").value == mm
    assert quantity(inches, "length", {"length": "in"}).value == pytest.approx(mm, rel=1e-14, abs=1e-12)


@given(st.integers(0, 400), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_mixed_fractions_are_what_a_tape_says(whole, top, bottom):
    text = f"{whole} {top}/{bottom} in"
    assert quantity(text, "length").value == pytest.approx((whole + top / bottom) * 25.4, rel=1e-14)


@given(st.floats(0.1, 5000), st.floats(0, 50), st.sampled_from(["±", "+/-", "+-", " ± "]))
def test_tolerance_reads_back(value, tolerance, sign):
    got = quantity(f"{value!r} mm{sign}{tolerance!r} mm", "length")
    assert got == (value, tolerance)


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text):
    try:
        got = quantity(text, "length")
    except ValueError:
        return
    assert math.isfinite(got.value)
    assert abs(got.value) <= 1e6


def test_the_inch_and_the_pound_are_exact():
    assert factor("in", "length") == pytest.approx(25.4, rel=1e-15)
    assert factor("lb", "mass") == pytest.approx(0.45359237, rel=1e-15)


@pytest.mark.parametrize(("kind", "unit"), units._EVERYDAY)
def test_everyday_factors_are_those_of_the_library(kind, unit):
    kept = units._KINDS[kind][0]
    theirs = units._registry().Quantity(1.0, unit.replace('"', "in")).to(kept).magnitude
    assert factor(unit, kind) == pytest.approx(float(theirs), rel=1e-14)


def test_everyday_units_need_no_library():
    """Half a review's time would go into loading it: a job in mm, inches, kg and pounds must not."""
    import subprocess
    import sys

    code = (
        "import sys; from baywright.job.units import quantity; quantity('612 mm ± 3 mm', 'length'); "
        "quantity('612 ± 3', 'length'); quantity(5, 'mass', {'mass': 'lb'}); quantity('3/4 in', 'length'); "
        "assert 'pint' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
