"""A crash pulse on the box: how much more than its peak a box feels that swings on its feet.

The steady force of a load case stands in for a pulse. A mass on a spring follows a pulse that is slow beside its own
swing; one that is quick it overshoots. The factor is the undamped shock response, reckoned exactly for a pulse of
straight lines; steel and aluminium damp by one or two parts in a hundred, which hardly changes the first swing.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

_PER_SWING = 60  # points at which the answer of one swing is looked at


def shock_response(pulse: Sequence[tuple[float, float]], hertz: float) -> float:
    """Return the largest acceleration of a mass on a spring over the largest of its footing, undamped.

    Args:
        pulse: (time in ms, acceleration) corners of the footing's pulse, at rest before and after.
        hertz: the mass's natural frequency, Hz.

    Source: Duhamel's integral for straight lines, in textbooks on vibration; a step gives 2, a half sine at most 1.77.
    """
    corners = np.array(pulse, dtype=float)
    t, a, w = corners[:, 0] / 1000, corners[:, 1], 2 * np.pi * hertz
    peak = float(np.abs(a).max())
    # Each line adds a step of height and a step of slope: to a step the mass answers 1 - cos, to a slope t - sin / w.
    steps, slopes = _breaks(t, a)
    end = float(t[-1]) + 1.0 / hertz
    now = np.linspace(float(t[0]), end, int((end - t[0]) * hertz * _PER_SWING) + 400)
    answer = np.zeros_like(now)
    for at, height in steps:
        answer += np.where(now >= at, height * (1 - np.cos(w * (now - at))), 0.0)
    for at, slope in slopes:
        answer += np.where(now >= at, slope * ((now - at) - np.sin(w * (now - at)) / w), 0.0)
    return float(np.abs(answer).max()) / peak


def _breaks(
    t: NDArray[np.float64], a: NDArray[np.float64]
) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """Return where a polyline that is zero before and after jumps, and where its slope changes, with by how much."""
    steps = [(float(t[0]), float(a[0])), (float(t[-1]), -float(a[-1]))]
    slope, slopes = 0.0, []
    for i in range(len(t) - 1):
        rise = float(a[i + 1] - a[i])
        if t[i + 1] == t[i]:
            steps.append((float(t[i]), rise))
            continue
        new = rise / float(t[i + 1] - t[i])
        slopes.append((float(t[i]), new - slope))
        slope = new
    slopes.append((float(t[-1]), -slope))
    return steps, slopes
