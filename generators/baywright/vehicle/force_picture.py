"""Force at the wheels to look at: motor and engine, gear by gear, against slopes and grip."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from baywright.figure import new_figure
from baywright.vehicle.performance import Chassis, Torque, forces

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_KMH = 3.6
_COLOURS = ("#0072B2", "#B04A00", "#009E73")


@dataclass(frozen=True, slots=True)
class Source:
    """What gives torque: its name, torque by speed for a burst, for good (None if the same), its most rev/min, km/h."""

    name: str
    burst: Torque
    lasting: Torque | None
    most_speed: float
    top: float


def force_figure(
    chassis: Chassis, sources: Sequence[Source], slopes: Sequence[float] = (0.0, 0.05, 0.1, 0.2)
) -> "Figure":
    """Return a picture of force at the wheels against speed, gear by gear.

    Args:
        chassis: the car.
        sources: motor and, if wanted, engine; their best speeds end the picture.
        slopes: rise over run whose road load is drawn.
    """
    figure = new_figure(10.0, 6.0)
    axes = figure.add_subplot()
    end = 1.25 * max(s.top for s in sources)
    grip, tallest = chassis.most_force(), 0.0
    for source, colour, style in zip(sources, _COLOURS, ("-", "--", ":"), strict=False):
        for number, ratio in enumerate(chassis.ratios, 1):
            limit = source.most_speed * pi / 30 / (ratio * chassis.final) * chassis.radius / 1000 * _KMH
            speed = np.linspace(0.5, min(0.9999 * limit, end), 300)
            pull = forces(chassis, source.burst, ratio, speed)
            tallest = max(tallest, float(pull.max()))
            axes.plot(speed, pull, style, color=colour, lw=1.8, label=source.name if number == 1 else None)
            axes.text(speed[0] + 1, pull[0], f"{number}", fontsize=9, color=colour, va="bottom", weight="bold")
            if source.lasting is not None:
                label = f"{source.name}, for as long as one likes" if number == 1 else None
                lasting = forces(chassis, source.lasting, ratio, speed)
                axes.plot(speed, np.minimum(lasting, pull), color=colour, lw=0.9, alpha=0.8, label=label)
            if limit < end:
                axes.plot(limit, pull[-1], "|", color=colour, ms=13, mew=2.2)
                axes.annotate(
                    f"gear {number} ends: {limit:.0f} km/h",
                    (limit, pull[-1]),
                    xytext=(5, 7) if limit < 0.85 * end else (-5, 9),
                    ha="left" if limit < 0.85 * end else "right",
                    textcoords="offset points",
                    fontsize=7.5,
                    color=colour,
                )
    speed = np.linspace(0.0, end, 200)
    for slope in slopes:
        resist = chassis.load.force(speed / _KMH, slope)
        axes.plot(speed, resist, color="0.45", lw=1.0, label="what the road asks on a slope" if slope == 0 else None)
        axes.text(speed[-1], resist[-1], f" {100 * slope:.0f} %", fontsize=8, color="0.35", va="center")
    axes.axhline(grip, color="#CC0000", lw=1.2)
    if tallest > grip:
        axes.axhspan(grip, 1.08 * tallest, color="#CC0000", alpha=0.06, lw=0)
    axes.text(
        end * 0.98, grip, f"the tyres spin above {grip:.0f} N", color="#CC0000", fontsize=9, ha="right", va="bottom"
    )
    axes.set_xlim(0, end)
    axes.set_ylim(0, max(tallest, grip) * 1.08)
    axes.set_xlabel("speed, km/h")
    axes.set_ylabel("force at the wheels, N")
    axes.set_title("Force at the wheels by gear; where it meets a grey line, the speed up that slope ends", fontsize=11)
    axes.grid(color="0.92")
    axes.legend(fontsize=9, loc="upper right")
    return figure
