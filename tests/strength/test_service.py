"""Stiffness and heat of a box by hand, and its swings on its feet by a general eigenvalue solver.

- a simply supported plate: π/2 √(D / m) (1/a² + 1/b²) (Blevins; Timoshenko), D = E t³ / 12 (1 - ν²);
- a cantilever: 3 E I / L³;
- a stiff body on springs: det(K - ω² M) = 0, K from the springs' energy, by scipy;
- growth: L Δα ΔT, 5754 23.8e-6 and steel 12e-6 1/K, fitted at 20 °C.
"""

import math

import numpy as np
import pytest
from scipy.linalg import eigh

from baywright.finding import Finding
from baywright.strength.box import calculations
from baywright.strength.pulse import shock_response
from baywright.strength.service import box_frequencies, foot_stiffness, panel_frequencies, pulse_finding, service
from baywright.strength.verdict import carried

from .conftest import _SHOP, bench, box


@pytest.fixture(scope="module")
def demo():
    return box()


def of(found: list[Finding], check: str) -> Finding:
    (one,) = [f for f in found if f.check == check]
    return one


def test_panels(demo):
    """740 x 284 mm inside, walls 406.25 mm high; what lines a panel and what is fitted to it swings with it."""
    s = bench(demo).statics
    hertz = panel_frequencies(demo)
    fitted = sum(f.row.mass for f in demo.fitted)
    assert fitted > 0.1
    for mark, a, b, thick, mass in (
        ("floor", 740, 284, 4.0, s.mass("floor") + s.mass_of("liner floor")),
        ("wall right", 740, 406.25, 3.0, s.lined_mass("wall right", "liner right")),
        ("wall service", 284, 406.25, 3.0, s.lined_mass("wall service", "liner service") + fitted),
        ("lid", 740, 284, 2.5, s.mass("lid")),
    ):
        stiff = 70_000 * thick**3 / 12 / (1 - 0.33**2)
        known = math.pi / 2 * math.sqrt(stiff * 1000 / (mass / (a * b))) * (1 / a**2 + 1 / b**2)
        assert hertz[mark] == pytest.approx(known)
    assert s.mass_of("liner floor") > 0.1


def test_a_panel_without_a_modulus_is_left_out():
    bare = _SHOP.material("5754-H22").model_copy(update={"E": None, "name": "bare"})
    shop = _SHOP.with_row("material", bare)
    lid = _SHOP.style("workshop").lid.model_copy(update={"material": "bare"})
    assert "lid" not in panel_frequencies(box({"lid": lid}, catalogue=shop))


def test_what_is_said_of_panels(demo):
    hertz = panel_frequencies(demo)
    assert {f.subject for f in service(demo, [])} == {"box made"}
    one = of(service(demo, []), "panel frequency")
    assert one.message.startswith("panels' lowest: floor ")
    assert (one.value, one.limit, one.verdict) == (min(hertz.values()), 50, "pass")
    assert one.margin == pytest.approx(one.value / 50 - 1)
    assert one.where == ()
    assert "coupler" not in one.message
    thin = box({"wall.thickness": 2.0})
    one = of(service(thin, []), "panel frequency")
    assert (one.verdict, one.where) == ("look", ("wall right",))
    assert "'wall right' is within the road's 7 to 50 Hz" in one.message
    # 6000 turns a minute are 100 Hz: it passes the long walls and the lid.
    text = of(service(demo, [], 6000.0), "panel frequency").message
    assert text.startswith("panels' lowest: floor ")
    assert text.endswith("; a coupler shakes once a turn, to 100 Hz, and passes wall right, lid")
    assert of(service(demo, [], 600.0), "panel frequency").message.endswith("once a turn, to 10 Hz")


def test_a_foot_as_a_cantilever(demo):
    """60 mm of a leg 6 mm thick, 27 mm to the bolt."""
    assert foot_stiffness(demo) == pytest.approx(3 * 70_000 * (60 * 6**3 / 12) / 27**3)


def swings(design, upright: float) -> np.ndarray:
    """Return the frequencies of a stiff body on its bolts' springs, from their energy."""
    body, bolts = design.mass_properties, np.vstack([f.bolts for f in design.feet])
    k = np.zeros((6, 6))
    for x, y, z in bolts - body.centroid:
        # The point's shift of a body that shifts by u and turns by t: u + t × r.
        shift = np.array([[1, 0, 0, 0, z, -y], [0, 1, 0, -z, 0, x], [0, 0, 1, y, -x, 0]])
        k += shift.T @ np.diag([1e5, 1e5, upright]) @ shift
    mass = np.zeros((6, 6))
    mass[:3, :3], mass[3:, 3:] = body.mass * np.eye(3), body.inertia
    return np.sqrt(eigh(k, mass, eigvals_only=True) * 1000) / (2 * math.pi)


def test_swings_on_the_feet(demo):
    assert box_frequencies(demo) == pytest.approx(swings(demo, 3 * 70_000 * 1080 / 27**3), rel=1e-6)
    # Two bolts in a foot share its leg.
    pairs = box(start="crash-40g")
    leg = 3 * 70_000 * (110 * 12**3 / 12) / 16**3
    assert box_frequencies(pairs) == pytest.approx(swings(pairs, leg / 2), rel=1e-6)
    one = of(service(demo, []), "frequency on its feet")
    assert (one.value, one.limit, one.verdict) == (pytest.approx(box_frequencies(demo).min()), 50, "look")
    assert one.where == ("foot blind 1",)
    assert of(service(pairs, []), "frequency on its feet").verdict == "pass"


def test_growth_between_the_feet(demo):
    """812.5 mm from bolt to bolt, 60 K from 20 °C to the adhesive's coldest and warmest; slots of 16 mm, holes of 9."""
    one = of(service(demo, []), "growth with heat")
    grown = 812.5 * (23.8e-6 - 12e-6) * 60
    assert (one.value, one.limit) == pytest.approx((grown, (16 - 9) / 2))
    assert one.margin == pytest.approx(1 - grown / 3.5)
    assert (one.verdict, one.where) == ("pass", ("foot service 1", "foot service 2"))
    assert "round holes, 0.5 mm, would bind" in one.message
    long = box(rows=3, count=3, fittings=[])
    assert of(service(long, []), "growth with heat").value > 1
    short = box(module="m355", count=1, fittings=[], lift=False)
    text = of(service(short, []), "growth with heat").message
    assert "round holes have 0.5 mm" in text
    cold = _SHOP.adhesive("epoxy-2k")
    span = cold.service_temperature.model_copy(update={"least": -60.0, "most": 30.0})
    shop = _SHOP.with_row("adhesive", cold.model_copy(update={"service_temperature": span}))
    one = of(service(box(catalogue=shop), []), "growth with heat")
    assert one.value == pytest.approx(grown * 80 / 60)
    tight = box({"feet.slot_length": 10.0})
    one = of(service(tight, []), "growth with heat")
    assert (one.verdict, one.limit) == ("fail", 0.5)
    assert one.message.endswith("; longer slots")


def test_without_feet_nothing_swings_or_grows():
    found = {f.check for f in service(box(feet=False), [])}
    assert found == {"panel frequency", "adhesive's temperature"}


@pytest.mark.parametrize(
    ("cases", "value", "limit", "verdict", "left"),
    [
        ((20.0, 80.0), 80, 80, "pass", 0),
        ((20.0, 80.5), 80.5, 80, "fail", -0.5),
        ((20.0, -40.0), -40, -40, "pass", 0),
        ((60.0, -41.0), -41, -40, "fail", -1),  # the coldest case counts, whatever the warmest is
        ((-60.0, 90.0), -60, -40, "fail", -20),
        ((20.0, 60.0), 60, 80, "pass", 20),
    ],
)
def test_the_adhesives_temperature(demo, cases, value, limit, verdict, left):
    """From -40 to 80 °C: the nearer end counts, and what is left of the range of 120 K."""
    every = [_SHOP.load("workshop").model_copy(update={"temperature": t}) for t in cases]
    one = of(service(demo, every), "adhesive's temperature")
    assert (one.value, one.limit, one.verdict) == (value, limit, verdict)
    assert one.margin == pytest.approx(left / 120)
    assert one.message.endswith(": another adhesive") == (verdict == "fail")
    assert of(service(demo, []), "adhesive's temperature").value == 20


def test_a_pulse_on_the_feet(demo):
    """The largest answer of its six swings to either pulse, times what the steady case uses most."""
    case = _SHOP.load("r100-least")
    done = calculations(demo, [case])
    swings_, worst = box_frequencies(demo), carried(done)
    assert worst is not None
    over = max(shock_response(pulse, f) for pulse in (case.pulse.lengthwise, case.pulse.across) for f in swings_)
    one = pulse_finding(demo, case, done)
    assert one.value == pytest.approx(100 * over * worst.use)
    assert (one.limit, one.unit, one.verdict) == (100, "%", "look")
    assert one.margin == pytest.approx(1 - one.value / 100)
    assert f"{over:.2f} times the peak of the pulse" in one.message
    assert f"{worst.member}, then is at {one.value:.0f} %" in one.message
    assert f"swing at {min(swings_):.0f} Hz" in one.message
    assert (one.where, one.subject) == (("foot blind 1",), "box made")
    light = [c for c in done if c.use < 0.2]
    assert pulse_finding(demo, case, light).verdict == "pass"
    assert pulse_finding(demo, case, []).value == 0
