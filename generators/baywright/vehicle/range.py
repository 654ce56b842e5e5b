"""How far a pack goes: at steady speeds, over city and highway schedules, and as a label would put it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from baywright.figure import new_figure
from baywright.finding import Finding, at_least
from baywright.vehicle.road import MILE, Losses, RoadLoad, steady, trip

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# The label's adjustment: laboratory consumption over 0.7 (40 CFR 600.210-12, read as the factor of an open program).
LABEL = 0.7
CITY = 0.55  # share of city driving in the label's mix, by distance
LABEL_SOURCE = "40 CFR 600.210-12: two-cycle consumption over 0.7, 55 % city and 45 % highway"
# What such a reckoning is good for, as the same model compared with published labels shows.
TRUST = 0.10
SPEEDS = (50.0, 80.0, 100.0, 110.0, 130.0)
HEATER = 2.0  # kW, common practice, no source
_CAUTION = "± 10 % at best: the same model against published labels; wind, cold, hills and a heavy foot take more"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """A range: what for, Wh/km out of the pack, km."""

    name: str
    per_km: float
    km: float

    @property
    def miles(self) -> float:
        """The range in miles."""
        return self.km / MILE


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranges:
    """How far a pack goes.

    Attributes:
        usable: kWh.
        steady: at steady speeds, by rising speed.
        city: over UDDS.
        highway: over HWFET.
        mixed: 55 % city and 45 % highway, as in the laboratory.
        everyday: the same with the label's adjustment: what to promise.
        cold: everyday with a heater.
    """

    usable: float
    steady: tuple[Reach, ...]
    city: Reach
    highway: Reach
    mixed: Reach
    everyday: Reach
    cold: Reach

    @property
    def rows(self) -> tuple[Reach, ...]:
        """All ranges in reading order."""
        return (self.everyday, self.cold, self.mixed, self.city, self.highway, *self.steady)


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Consumption as a label puts it, in the unit that went in."""

    city: float
    highway: float
    combined: float


def label(city: float, highway: float, charging: float = 1.0, adjustment: float = LABEL) -> Label:
    """Return adjusted consumption from laboratory consumption over city and highway schedules.

    Args:
        city: out of the pack over UDDS, in any unit of energy a distance.
        highway: out of the pack over HWFET.
        charging: efficiency from the socket to the pack; a label counts at the socket.
        adjustment: what the label divides by.
    """
    a, b = city / adjustment / charging, highway / adjustment / charging
    return Label(city=a, highway=b, combined=CITY * a + (1 - CITY) * b)


def ranges(usable: float, load: RoadLoad, losses: Losses, speeds: Sequence[float] = SPEEDS) -> Ranges:
    """Return how far `usable` kWh take a car.

    Raises:
        ValueError: if there is no energy, or a speed is not more than 0.
    """
    if usable <= 0:
        raise ValueError(f"a pack with {usable:g} kWh takes the car nowhere")
    if any(v <= 0 for v in speeds):
        raise ValueError("steady speeds must be more than 0 km/h")

    def reach(name: str, per_km: float) -> Reach:
        return Reach(name=name, per_km=per_km, km=1000 * usable / per_km)

    city, highway = (trip(load, losses, name).per_km for name in ("udds", "hwfet"))
    warm = replace(losses, auxiliary=losses.auxiliary + HEATER)
    cold = label(*(trip(load, warm, name).per_km for name in ("udds", "hwfet")))
    return Ranges(
        usable=usable,
        steady=tuple(reach(f"steady {v:g} km/h", float(steady(load, losses, v))) for v in sorted(speeds)),
        city=reach("city (UDDS)", city),
        highway=reach("highway (HWFET)", highway),
        mixed=reach("city and highway mixed, laboratory", CITY * city + (1 - CITY) * highway),
        everyday=reach("everyday (laboratory mix over 0.7)", label(city, highway).combined),
        cold=reach(f"everyday with a {HEATER:g} kW heater on", cold.combined),
    )


def range_finding(found: Ranges, wanted: float | None) -> Finding:
    """Return whether the everyday range reaches `wanted` km; without a wish, the range alone."""
    every = found.everyday
    message = (
        f"about {every.km:.0f} km ({every.miles:.0f} miles) on {found.usable:.1f} kWh, "
        f"{every.per_km:.0f} Wh/km ({every.per_km * MILE:.0f} Wh/mile)"
    )
    short = wanted is not None and every.km < wanted
    sure = wanted is None or every.km * (1 - TRUST) >= wanted
    if wanted is not None:
        message += f"; {wanted:.0f} km wanted"
        if short:
            message += f": about {wanted * every.per_km / 1000 - found.usable:.1f} kWh more are needed"
        elif not sure:
            message += ": within the reckoning's 10 %"
    return Finding(
        subject="car",
        check="range",
        verdict="fail" if short else "pass" if sure else "look",
        message=message,
        value=every.km,
        limit=wanted,
        unit="km",
        margin=None if wanted is None else at_least(every.km, wanted),
        source=f"{LABEL_SOURCE}; {_CAUTION}",
    )


def _to_miles(km: Any) -> Any:
    return km / MILE


def _to_km(miles: Any) -> Any:
    return miles * MILE


def range_figure(found: Ranges, load: RoadLoad, losses: Losses) -> "Figure":
    """Return a picture of range against steady speed, with the ranges over the schedules beside it."""
    speeds = np.linspace(20.0, 140.0, 241)
    reach = 1000 * found.usable / steady(load, losses, speeds)
    warm = 1000 * found.usable / steady(load, replace(losses, auxiliary=losses.auxiliary + HEATER), speeds)
    figure = new_figure(9.5, 5.6)
    axes = figure.add_subplot()
    axes.fill_between(speeds, reach * (1 - TRUST), reach * (1 + TRUST), color="#0072B2", alpha=0.15, lw=0)
    axes.plot(speeds, reach, color="#0072B2", lw=2.2, label="steady speed, level road, no wind; band: 10 %")
    axes.plot(speeds, warm, color="#0072B2", lw=1.4, ls="--", label=f"with a {HEATER:g} kW heater on")
    marks = (("city schedule", found.city, "#00785A"), ("highway schedule", found.highway, "#A86F00"))
    for name, row, colour in (*marks, ("everyday, as a label puts it", found.everyday, "#CC0000")):
        axes.axhline(row.km, color=colour, lw=1.2, ls=":")
        axes.annotate(
            f"{name}: {row.km:.0f} km, {row.miles:.0f} miles",
            (0.99, row.km),
            xycoords=("axes fraction", "data"),
            ha="right",
            va="bottom",
            fontsize=9,
            color=colour,
        )
    axes.set_xlim(20, 140)
    axes.set_ylim(0, float(max((1 + TRUST) * reach.max(), found.city.km)) * 1.1)
    axes.set_xlabel("speed, km/h")
    axes.set_ylabel("range, km")
    miles = axes.secondary_yaxis("right", functions=(_to_miles, _to_km))
    miles.set_ylabel("range, miles")
    above = axes.secondary_xaxis("top", functions=(_to_miles, _to_km))
    above.set_xlabel("speed, mph")
    axes.set_title(
        f"{found.usable:.1f} kWh usable, {load.mass:.0f} kg with driver, drag area {load.drag_area:.2f} m²", fontsize=11
    )
    axes.grid(color="0.92")
    axes.legend(fontsize=9, loc="upper center")
    return figure
