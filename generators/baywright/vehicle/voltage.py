"""The shop's electrical tables: what cables carry, what voltage may be touched, isolation, creepage."""

import tomllib
from functools import cache
from math import sqrt
from typing import Any

import numpy as np

from baywright.rooms import room


@cache
def _table(name: str) -> dict[str, Any]:
    return tomllib.loads((room("shared") / name).read_text(encoding="utf-8"))


def ampacity(area: float, insulation: float, surroundings: float) -> tuple[float, str]:
    """Return what a single copper cable in free air carries without stop, A, and the table's source.

    Args:
        area: cross section, mm².
        insulation: what its insulation bears, degrees C.
        surroundings: how warm it is around it, degrees C.

    Raises:
        ValueError: if the area is outside the table by more than a tenth, or the surroundings are too hot.
    """
    table = _table("ampacity.toml")
    areas, amps = table["area"], table["amps"]
    if not 0.9 * areas[0] <= area <= 1.13 * areas[-1]:
        raise ValueError(f"a cable of {area:g} mm² is not in the table: {areas[0]:.0f} to {areas[-1] * 1.12:.0f} mm²")
    if surroundings >= insulation:
        raise ValueError(
            f"a cable good for {insulation:g} degrees C carries nothing in surroundings of {surroundings:g} degrees C"
        )
    x, y = np.log(areas), np.log(amps)
    # A straight line on logarithms, carried on a little beyond the last row for the metric size next to it.
    i = int(np.clip(np.searchsorted(x, np.log(area)), 1, len(x) - 1))
    value = np.exp(y[i - 1] + (y[i] - y[i - 1]) * (np.log(area) - x[i - 1]) / (x[i] - x[i - 1]))
    heat = (insulation - surroundings) / (table["insulation"] - table["surroundings"])
    return float(value) * sqrt(heat), str(table["source"])


def touch() -> tuple[float, str]:
    """Return the DC voltage above which a pack is dangerous to touch, V, and its source."""
    row = _table("rules/voltage.toml")["touch"]
    return float(row["dc"]), str(row["source"])


def isolation() -> tuple[float, str]:
    """Return the least isolation resistance of DC parts, ohm a volt, and its source."""
    row = _table("rules/voltage.toml")["isolation"]
    return float(row["dc"]), str(row["source"])


def air_gap(voltage: float, pollution_degree: int) -> tuple[float, str]:
    """Return the least clearance through air of basic insulation, mm, and its source.

    The pack's voltage gives the impulse that its insulation is rated for, the impulse the distance: the next row up of
    either counts.

    Raises:
        ValueError: if the voltage is over the table, or the degree is not in it.
    """
    row = _table("rules/voltage.toml")["air"]
    column = row.get(str(pollution_degree))
    if column is None:
        raise ValueError(f"no clearance through air for pollution degree {pollution_degree}")
    impulse = next((kv for v, kv in zip(row["voltage"], row["impulse_kv"], strict=True) if voltage <= v), None)
    if impulse is None:
        most = row["voltage"][-1]
        raise ValueError(f"{voltage:g} V is over the table of clearances ({most} V): fewer modules in series")
    gap = next(float(d) for kv, d in zip(row["withstands_kv"], column, strict=True) if impulse <= kv)
    return gap, f"{row['source']}; {impulse:g} kV of impulse"


def creepage(voltage: float, pollution_degree: int, material_group: str) -> tuple[float, str]:
    """Return the least creepage distance of basic insulation, mm, and its source; the next row up counts.

    Raises:
        ValueError: if the voltage is over the table, or the degree or group is not in it.
    """
    row = _table("rules/voltage.toml")["creepage"]
    column = row.get(f"{pollution_degree} {material_group}")
    if column is None:
        raise ValueError(f"no creepage for pollution degree {pollution_degree}, material group {material_group}")
    for step, distance in zip(row["voltage"], column, strict=True):
        if voltage <= step:
            return float(distance), str(row["source"])
    most = row["voltage"][-1]
    raise ValueError(f"{voltage:g} V is over the creepage table ({most} V): fewer modules in series, or more strings")
