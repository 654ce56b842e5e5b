"""Loops as SVG paths: arcs stay arcs, y up as on the drawing."""

from collections.abc import Iterable

import numpy as np

from baywright.shape.loop import Loop, as_circle


def path_of(loops: Iterable[Loop], digits: int = 3) -> str:
    """Return the `d` of an SVG path through closed loops (n, 3) mm, with y turned over: SVG counts it downward."""
    return " ".join(_closed(loop, digits) for loop in loops)


def _closed(loop: Loop, digits: int) -> str:
    def n(value: float) -> str:
        return f"{round(value, digits) + 0.0:g}" if abs(value) < 1e5 else f"{value:.{digits}f}"

    ring = as_circle(loop)
    if ring is not None:
        x, y, d = ring
        r = n(d / 2)
        return f"M{n(x - d / 2)} {n(-y)}a{r} {r} 0 1 0 {n(d)} 0a{r} {r} 0 1 0 {n(-d)} 0Z"
    text = f"M{n(loop[0, 0])} {n(-loop[0, 1])}"
    for (x0, y0, bulge), (x1, y1, _) in zip(loop.tolist(), np.roll(loop, -1, axis=0).tolist(), strict=True):
        if not bulge:
            text += f"L{n(x1)} {n(-y1)}"
            continue
        chord = float(np.hypot(x1 - x0, y1 - y0))
        radius = chord * (1 + bulge * bulge) / (4 * abs(bulge))
        # More than half a circle is the large arc; y turned over turns the sweep over too.
        text += f"A{n(radius)} {n(radius)} 0 {int(abs(bulge) > 1)} {int(bulge < 0)} {n(x1)} {n(-y1)}"
    return text + "Z"
