"""Force at the wheels to look at: motor and engine, gear by gear, against slopes and grip."""

from collections.abc import Sequence
from math import pi
from pathlib import Path

import numpy as np

from baywright.figure import save_figure
from baywright.vehicle.performance import Chassis, Torque, forces

_KMH = 3.6


def force_picture(
    chassis: Chassis,
    sources: Sequence[tuple[str, Torque, float]],
    path: Path,
    slopes: Sequence[float] = (0.0, 0.05, 0.1, 0.2),
) -> None:
    """Write a picture (PNG, SVG or PDF by the name's ending) of force at the wheels against speed, gear by gear.

    Args:
        chassis: the car.
        sources: name, torque by speed, most speed (rev/min) of the motor and, if wanted, of the engine.
        path: the file.
        slopes: rise over run whose road load is drawn.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(9.5, 5.8), dpi=110, layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    limits = [
        most * pi / 30 / (r * chassis.final) * chassis.radius / 1000 * _KMH
        for _, _, most in sources
        for r in chassis.ratios
    ]
    end = min(max(limits) * 1.05, 220.0)
    colours = ("#0072B2", "#B04A00", "#009E73")
    tallest = 0.0
    for (name, torque, most), colour, style in zip(sources, colours, ("-", "--", ":"), strict=False):
        for number, ratio in enumerate(chassis.ratios, 1):
            limit = most * pi / 30 / (ratio * chassis.final) * chassis.radius / 1000 * _KMH
            speed = np.linspace(0.5, min(0.9999 * limit, end), 300)
            pull = forces(chassis, torque, ratio, speed)
            tallest = max(tallest, float(pull.max()))
            axes.plot(speed, pull, style, color=colour, lw=1.8, label=name if number == 1 else None)
            axes.text(speed[0] + 1, pull[0], f"{number}", fontsize=9, color=colour, va="bottom", weight="bold")
    speed = np.linspace(0.0, end, 200)
    for slope in slopes:
        resist = chassis.load.force(speed / _KMH, slope)
        axes.plot(speed, resist, color="0.45", lw=1.0)
        axes.text(speed[-1], resist[-1], f" {100 * slope:.0f} %", fontsize=8, color="0.35", va="center")
    grip = chassis.most_force()
    axes.axhline(grip, color="#CC0000", lw=1.2)
    axes.text(end * 0.98, grip, f"tyres spin: {grip:.0f} N", color="#CC0000", fontsize=9, ha="right", va="bottom")
    axes.set_xlim(0, end)
    axes.set_ylim(0, max(tallest, grip) * 1.08)
    axes.set_xlabel("speed, km/h")
    axes.set_ylabel("force at the wheels, N")
    axes.set_title("force by gear; grey: what the road asks on a slope", fontsize=11)
    axes.grid(color="0.92")
    axes.legend(fontsize=9)
    save_figure(figure, path)
