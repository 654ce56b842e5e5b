"""Quantities at the edge: numbers in a file's own units, or text with a unit, become plain floats here and only here.

Inside, lengths are mm, masses kg, angles degrees, forces N, stresses MPa. A number without a unit is in the unit that
the file declares for lengths, masses and angles; for every other quantity it is in the unit named by its type.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, NamedTuple, get_args

from pydantic import BeforeValidator, ValidationInfo

# Only what a workshop writes. A registry of these lines loads in a millisecond, pint's own list in a tenth of a second.
_DEFINITIONS = """
meter = [length] = m = metre
gram = [mass] = g
second = [time] = s = sec
ampere = [current] = A
kelvin = [temperature] = K
radian = [] = rad
milli- = 1e-3 = m-
centi- = 1e-2 = c-
kilo- = 1e3 = k-
micro- = 1e-6 = µ- = u-
mega- = 1e6 = M-
giga- = 1e9 = G-
inch = 0.0254 meter = in
foot = 12 inch = ft
thou = 0.001 inch = mil
yard = 3 foot = yd
mile = 5280 foot = mi
pound = 0.45359237 kilogram = lb = lbs
ounce = pound / 16 = oz
tonne = 1000 kilogram = t
degree = 3.141592653589793 / 180 * radian = deg = °
minute = 60 second = min
hour = 3600 second = h = hr
newton = kilogram * meter / second ** 2 = N
newton_meter = newton * meter = Nm
pascal = newton / meter ** 2 = Pa
bar = 100000 pascal
force_pound = 9.80665 * pound * meter / second ** 2 = lbf
psi = force_pound / inch ** 2
ksi = 1000 psi
joule = newton * meter = J
watt = joule / second = W
horsepower = 745.699872 watt = hp
volt = watt / ampere = V
ohm = volt / ampere = Ω
coulomb = ampere * second = C
ampere_hour = ampere * hour = Ah
watt_hour = watt * hour = Wh
kilowatt_hour = 1000 watt_hour = kWh
kilometer_per_hour = 1000 meter / hour = kph
mile_per_hour = mile / hour = mph
liter = 0.001 meter ** 3 = L = l = litre
gravity = 9.80665 meter / second ** 2 = gn
""".strip().splitlines()

# What each quantity is kept in, what a person calls it, and the most that can be meant.
_KINDS: dict[str, tuple[str, str, float]] = {
    "length": ("mm", "a length", 1e6),
    "mass": ("kg", "a mass", 1e5),
    "angle": ("deg", "an angle", 1e4),
    "force": ("N", "a force", 1e9),
    "stress": ("MPa", "a stress", 1e7),
    "density": ("kg/m**3", "a density", 1e5),
    "voltage": ("V", "a voltage", 1e5),
    "charge": ("A*h", "a charge", 1e5),
    "current": ("A", "a current", 1e6),
    "power": ("kW", "a power", 1e5),
    "torque": ("N*m", "a torque", 1e6),
    "energy": ("kW*h", "an energy", 1e6),
    "area": ("mm**2", "an area", 1e12),
    "volume": ("L", "a volume", 1e6),
    "distance": ("km", "a distance", 1e5),
    "speed": ("km/h", "a speed", 2e3),
}
# What nearly every tape, scale and data sheet reads in: exact by definition, and known without the library of units,
# which takes longer to load than all else in reading a job. The rest is the library's; a test holds them together.
_EVERYDAY = {
    ("length", "cm"): 10.0,
    ("length", "m"): 1000.0,
    ("length", "in"): 25.4,
    ("length", '"'): 25.4,
    ("length", "ft"): 304.8,
    ("mass", "g"): 0.001,
    ("mass", "lb"): 0.45359237,
    ("distance", "km"): 1.0,
    ("distance", "mi"): 1.609344,
    ("charge", "Ah"): 1.0,
    ("energy", "kWh"): 1.0,
    ("volume", "l"): 1.0,
}
_DECLARED = ("length", "mass", "angle")
_PLUS_MINUS = re.compile(r"\s*(?:±|\+/-|\+-)\s*")
_FRACTION = re.compile(r"^([+-]?)(?:(\d+)[\s-]+)?(\d+)\s*/\s*(\d+)(.*)$")  # "3/4", "1 3/8", "1-3/8"
_POWER = re.compile(r"(?<=[A-Za-z])([23])\b")  # "kg/m3", as everybody writes it
_NUMBER = re.compile(r"^([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)(.*)$")


class Measured(NamedTuple):
    """A value and how far it may be off either way, in the same unit."""

    value: float
    tolerance: float = 0.0


@cache
def _registry() -> Any:
    import pint  # a tenth of a second: only where a text with a unit is met

    return pint.UnitRegistry(_DEFINITIONS)


@cache
def factor(unit: str, kind: str) -> float:
    """Return what one `unit` is in the unit that `kind` is kept in.

    Raises:
        ValueError: if the unit is unknown or measures something else; the text says so.
    """
    kept, name, _ = _KINDS[kind]
    if unit.strip() == kept:
        return 1.0
    if (kind, unit.strip()) in _EVERYDAY:
        return _EVERYDAY[kind, unit.strip()]
    ureg = _registry()
    text = unit.strip().replace("^", "**").replace("²", "**2").replace("³", "**3").replace("·", "*").replace('"', "in")
    text = _POWER.sub(r"**\1", text)
    try:
        one = ureg.Quantity(1.0, text)
    except Exception:  # pint raises many kinds for text that is no unit
        raise ValueError(
            f"{told_value(unit.strip())} is not a unit known here; {name} is written like '{_example(kind)}'"
        ) from None
    try:
        # Fifteen digits: 25.4, not 25.399999999999999.
        return float(f"{float(one.to(kept).magnitude):.15g}")
    except Exception:
        raise ValueError(
            f"{told_value(unit.strip())} does not measure {name}; write it like '{_example(kind)}'"
        ) from None


def _example(kind: str) -> str:
    return {
        "length": "19 mm or 3/4 in",
        "mass": "12.5 kg or 25 lb",
        "angle": "7.5 deg",
        "force": "500 N",
        "stress": "240 MPa",
        "density": "2700 kg/m**3",
    }.get(kind, f"10 {_KINDS[kind][0]}")


def quantity(value: object, kind: str, declared: Mapping[str, str] | None = None) -> Measured:
    """Return a quantity in the unit it is kept in, with its tolerance (0 if none is given).

    Args:
        value: a number, or text such as "3/4 in", "1 3/8 in", "612 mm ± 3 mm", "612 ± 3".
        kind: one of length, mass, angle, force, stress, density, voltage, charge, current, power, torque, energy, area,
            volume, speed.
        declared: the file's own units of lengths, masses and angles.

    Raises:
        ValueError: with one sentence that says what was expected.
    """
    kept, name, most = _KINDS[kind]
    default = (declared or {}).get(kind, kept) if kind in _DECLARED else kept
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ValueError(f"expected {name} like '{_example(kind)}', got {told_value(value)}")
    if isinstance(value, str):
        parts = _PLUS_MINUS.split(value.strip())
        if len(parts) > 2 or not parts[0]:
            raise ValueError(f"{told_value(value)} is not {name}; write it like '{_example(kind)}'")
        number, unit = _split(parts[0], value, name, kind)
        off, off_unit = _split(parts[1], value, name, kind) if len(parts) == 2 else (0.0, "")
        # "612 ± 3 mm": one unit for both, wherever it stands.
        unit, off_unit = unit or off_unit or default, off_unit or unit or default
        result = Measured(number * factor(unit, kind), abs(off) * factor(off_unit, kind))
    else:
        try:
            plain = float(value)
        except OverflowError:  # a whole number of more than 308 digits
            plain = math.inf
        result = Measured(plain * (1.0 if default == kept else factor(default, kind)))
    if not math.isfinite(result.value) or not math.isfinite(result.tolerance):
        raise ValueError(f"expected {name}, got {told_value(value)}")
    if abs(result.value) > most:
        raise ValueError(f"{told_value(value)} is beyond anything that can be meant: at most {most:g} {kept}")
    return result


def told_value(value: object) -> str:
    """Return a value as its file has it, shortened if it is long."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int) and abs(value) >= 10**40:
        return "a number of more than 40 digits"
    if isinstance(value, dict):
        return "a table"
    text = repr(value)
    if isinstance(value, list) and ("{" in text or "[[[" in text):
        return f"a list of {len(value)} {'entry' if len(value) == 1 else 'entries'}"
    return text if len(text) <= 60 else text[:57] + "…"


def _split(text: str, whole: str, name: str, kind: str) -> tuple[float, str]:
    """Return number and unit of one quantity's text."""
    text = text.strip()
    match = _FRACTION.match(text)
    if match is not None:
        sign, full, top, bottom, unit = match.groups()
        if float(bottom) == 0:
            raise ValueError(f"{told_value(whole)} divides by nothing; write {name} like '{_example(kind)}'")
        number = float(full or 0) + float(top) / float(bottom)
        return (-number if sign == "-" else number), unit.strip()
    match = _NUMBER.match(text)
    if match is None:
        raise ValueError(f"{told_value(whole)} is not {name}; write it like '{_example(kind)}'")
    return float(match.group(1)), match.group(2).strip()


@dataclass(frozen=True, slots=True)
class Reads(BeforeValidator):
    """The pydantic step that reads a quantity; `unit` is what it is kept in."""

    unit: str = ""


def _reader(kind: str, least: float | None = None, over: float | None = None, tolerance: bool = False) -> Reads:
    """Return the step that reads a quantity with the units that the file declares (validation context)."""

    def read(value: object, info: ValidationInfo) -> float | Measured:
        if isinstance(value, Measured):
            return value if tolerance else value.value
        declared = info.context.get("units") if isinstance(info.context, Mapping) else None
        found = quantity(value, kind, declared)
        if over is not None and found.value <= over:
            raise ValueError(f"must be more than {over:g} {_KINDS[kind][0]}, got {told_value(value)}")
        if least is not None and found.value < least:
            raise ValueError(f"must be at least {least:g} {_KINDS[kind][0]}, got {told_value(value)}")
        if tolerance:
            return found
        if found.tolerance:
            raise ValueError(f"takes no tolerance, got {told_value(value)}")
        return found.value

    return Reads(read, unit=_KINDS[kind][0])


def unit_of(annotation: object) -> str:
    """Return the unit that a field of this type is kept in, "" if it is no quantity."""
    for part in get_args(annotation):
        unit = part.unit if isinstance(part, Reads) else unit_of(part)
        if unit:
            return unit
    return ""


Length = Annotated[float, _reader("length")]
PositiveLength = Annotated[float, _reader("length", over=0.0)]
NonNegativeLength = Annotated[float, _reader("length", least=0.0)]
MeasuredLength = Annotated[Measured, _reader("length", tolerance=True)]
PositiveMeasuredLength = Annotated[Measured, _reader("length", over=0.0, tolerance=True)]
Mass = Annotated[float, _reader("mass")]
PositiveMass = Annotated[float, _reader("mass", over=0.0)]
NonNegativeMass = Annotated[float, _reader("mass", least=0.0)]
MeasuredMass = Annotated[Measured, _reader("mass", least=0.0, tolerance=True)]
Angle = Annotated[float, _reader("angle")]
Force = Annotated[float, _reader("force")]
Stress = Annotated[float, _reader("stress", over=0.0)]
Density = Annotated[float, _reader("density", over=0.0)]
Voltage = Annotated[float, _reader("voltage", over=0.0)]
Charge = Annotated[float, _reader("charge", over=0.0)]
Current = Annotated[float, _reader("current", over=0.0)]
Power = Annotated[float, _reader("power", over=0.0)]
Torque = Annotated[float, _reader("torque")]
Energy = Annotated[float, _reader("energy", over=0.0)]
Area = Annotated[float, _reader("area", over=0.0)]
Volume = Annotated[float, _reader("volume", least=0.0)]
Distance = Annotated[float, _reader("distance", over=0.0)]
Speed = Annotated[float, _reader("speed", over=0.0)]
