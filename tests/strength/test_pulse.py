"""The answer of a swinging mass to a pulse against the equation of motion itself, solved by scipy.

x'' = -ω² (x - s) and s'' the pulse: in the distance u = x - s, u'' + ω² u = -s''; the mass's acceleration is -ω² u.
"""

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from baywright.strength.pulse import shock_response


def solved(pulse: list[tuple[float, float]], hertz: float) -> float:
    """Return the largest acceleration of the mass over the pulse's, each straight piece integrated by itself."""
    w, state, most = 2 * np.pi * hertz, np.zeros(2), 0.0
    pieces = [*pairwise(pulse), (pulse[-1], (pulse[-1][0] + 1500 / hertz, None))]
    for (t0, a0), (t1, a1) in pieces:
        if t1 == t0:
            continue

        def at(t: float, t0: float = t0, a0: float = a0, t1: float = t1, a1: float | None = a1) -> float:
            return 0.0 if a1 is None else a0 + (a1 - a0) * (t * 1000 - t0) / (t1 - t0)

        run = solve_ivp(
            lambda t, y: [y[1], -w * w * y[0] - at(t)],
            (t0 / 1000, t1 / 1000),
            state,
            rtol=1e-8,
            atol=1e-12,
            max_step=1 / hertz / 60,
        )
        most, state = max(most, float(np.abs(w * w * run.y[0]).max())), run.y[:, -1]
    return most / max(abs(a) for _, a in pulse)


PULSES = [
    [(0.0, 10.0), (50.0, 28.0), (80.0, 28.0), (120.0, 10.0)],  # begins and ends with a jump
    [(20.0, 0.0), (50.0, 20.0), (65.0, 20.0), (100.0, 0.0)],
    [(0.0, 4.0), (30.0, 4.0), (30.0, -9.0), (70.0, -2.0)],  # a jump within
    [(-40.0, 3.0), (10.0, 12.0)],
]


@pytest.mark.parametrize("pulse", PULSES)
@pytest.mark.parametrize("hertz", [4.0, 11.0, 37.0, 120.0])
def test_against_the_equation_of_motion(pulse, hertz):
    assert shock_response(pulse, hertz) == pytest.approx(solved(pulse, hertz), rel=2e-3)


def test_a_step_that_ends_late_doubles_and_a_short_one_is_hardly_felt():
    assert shock_response([(0, 5), (3000, 5)], 3.0) == pytest.approx(2.0, abs=2e-3)
    # An impulse of 1 ms at 5 Hz: ω t.
    assert shock_response([(0, 5), (1, 5)], 5.0) == pytest.approx(2 * np.pi * 5 * 1e-3, rel=1e-2)
    # It is after a short pulse that the mass swings farthest.
    assert shock_response([(0, 5), (20, 5)], 5.0) == pytest.approx(2 * np.sin(np.pi * 5 * 0.020), rel=1e-3)
