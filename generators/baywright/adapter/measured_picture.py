"""A picture of a measured pattern: holes, how well each is held, and the readings that do not agree."""

from pathlib import Path

import numpy as np

from baywright.adapter.measured import IN_95, Measured
from baywright.adapter.readings import SHAFT
from baywright.figure import new_figure, save_figure


def save_picture(measured: Measured, path: Path) -> Path:
    """Write the picture as SVG, PNG or PDF, by the file's suffix, and return the path.

    Holes are drawn to scale; the ellipses that hold each hole 19 times in 20 are drawn much larger, by a factor that
    the picture states.
    """
    from matplotlib.patches import Circle, Ellipse

    figure = new_figure(8, 8)
    axes = figure.add_subplot()
    where = dict(zip(measured.names, measured.positions, strict=True))
    where[SHAFT] = np.zeros(2)
    for reading in measured.solution.layout.readings:
        if reading.second in where:
            (x0, y0), (x1, y1) = where[reading.first], where[reading.second]
            axes.plot([x0, x1], [y0, y1], color="#c9d3d9", linewidth=0.7, zorder=1)
    for number, suspect in enumerate(measured.suspects):
        if suspect.reading.second in where:
            (x0, y0), (x1, y1) = where[suspect.reading.first], where[suspect.reading.second]
            label = "left out: wrong" if number == 0 else None
            axes.plot([x0, x1], [y0, y1], color="#c0392b", linewidth=2.0, linestyle="--", zorder=2, label=label)
    reach = float(np.abs(measured.positions).max(initial=1.0))
    widest = max(h.long for h in measured.holes)
    factor = _round_down(reach / 12 / max(IN_95 * widest, 1e-6))
    for hole in measured.holes:
        wide = hole.diameter or 8.0
        axes.add_patch(Circle((hole.x, hole.y), wide / 2, fill=False, edgecolor="#1f3440", linewidth=1.4, zorder=3))
        axes.add_patch(
            Ellipse(
                (hole.x, hole.y),
                2 * IN_95 * hole.long * factor,
                2 * IN_95 * hole.short * factor,
                angle=hole.direction,
                facecolor="#e8a33d55",
                edgecolor="#b8741a",
                linewidth=0.8,
                zorder=2,
            )
        )
        away = np.array([hole.x, hole.y]) / max(float(np.hypot(hole.x, hole.y)), 1e-9)
        axes.annotate(
            hole.name,
            (hole.x, hole.y),
            xytext=(14 * away[0], 14 * away[1]),
            textcoords="offset points",
            ha="center",
            va="center",
            fontsize=11,
            fontweight="bold",
        )
    if measured.origin == SHAFT:
        axes.plot([0], [0], marker="+", markersize=16, color="#1f3440")
        axes.annotate("shaft", (0, 0), xytext=(8, 8), textcoords="offset points", fontsize=9)
    axes.set_aspect("equal")
    axes.margins(0.12)
    axes.set_xlabel("mm right of the shaft")
    axes.set_ylabel("mm above the shaft")
    axes.set_title(
        f"{measured.name}: seen from the {measured.seen_from}\nellipses hold 19 in 20, {factor:g} times life size"
    )
    if measured.suspects:
        axes.legend(loc="upper right", frameon=False)
    axes.grid(True, color="#eef2f4", linewidth=0.6)
    return save_figure(figure, path)


def _round_down(value: float) -> float:
    """Return the largest 1, 2 or 5 times a power of ten that is not above a value."""
    if value <= 1:
        return 1.0
    power = 10.0 ** np.floor(np.log10(value))
    return float(max(step * power for step in (1, 2, 5) if step * power <= value * (1 + 1e-9)))
