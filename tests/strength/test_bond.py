"""Bonds against their own differential equations, solved numerically, and against numbers worked by hand.

- Volkersen's shear lag: τ'' = λ² τ between the strains of the two sheets at the ends; solved by scipy;
- peel of a leg: D w'''' + (Ea / ta) w = 0, a long beam on an elastic foundation with an end force or moment (Hetényi);
  solved by scipy over a finite length;
- Goland and Reissner's peel of a very long lap: hyperbolic functions of a large argument, cosh = sinh.
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from baywright.job.catalogue import load_catalogue
from baywright.strength.allow import Allow, Metal
from baywright.strength.bond import COUPON_E, _coupon, bond_use, coupon_peaks, goland_reissner, peak_factor
from baywright.strength.bond import Lap as Joint
from baywright.strength.working import Working

LEG = Metal("leg", 70_000.0, 0.30, 2700.0, 23e-6, 150.0, 195.0, "made up")
WALL = Metal("wall", 68_000.0, 0.33, 2700.0, 23e-6, 130.0, 220.0, "made up")
# The table's epoxy: G 600, E 1700 MPa, 20 MPa at 23 °C, 5 at 80 °C; half of it counts, a third of that (limit state).
G_A, E_A, BOND = 600.0, 1700.0, 0.25


@pytest.fixture(autouse=True)
def nothing_kept():
    """The coupon is reckoned anew for each test."""
    _coupon.cache_clear()


@pytest.fixture
def allow():
    catalogue = load_catalogue(None)
    return Allow(catalogue, catalogue.load("guideline-20g"), catalogue.adhesive("epoxy-2k"))


def use(allow, w=None, **more):
    """Return the use and the values of a bond 60 mm wide, a leg of 6 mm over 40 mm on a wall of 3 mm."""
    w = w or Working()
    given = {"bond": BOND, "area": 2400.0, "overlap": 40.0, "leg": LEG, "leg_thickness": 6.0, "wall": WALL}
    given |= {"wall_thickness": 3.0, "shear": 3000.0, "along": 60.0}
    found = bond_use(w, allow, **(given | more))
    assert w.values["use"] == found
    return found, w.values


def allowed() -> float:
    """At 60 °C on the straight line from 20 MPa at 23 °C to 5 MPa at 80 °C, halved, over 3."""
    return (20 - 15 * (60 - 23) / (80 - 23)) * 0.5 / 3


def shear_peak(first: float, second: float, overlap: float) -> float:
    """Return peak over average of the shear in a lap of two sheets of such stiffness (N/mm), by its equation."""
    rate = G_A / BOND
    # A unit of force leaves the first sheet and enters the second: τ' = G/ta (strain 2 - strain 1).
    x = np.linspace(0, overlap, 400)

    def flow(_, y):
        return np.vstack([y[1], rate * (1 / first + 1 / second) * y[0]])

    found = solve_bvp(
        flow,
        lambda a, b: np.array([a[1] + rate / first, b[1] - rate / second]),
        x,
        np.zeros((2, 400)),
        tol=1e-7,
        max_nodes=20_000,
    )
    return float(np.abs(found.sol(x)[0]).max()) * overlap


def test_shear_alone(allow):
    got, v = use(allow)
    assert v["τ"] == pytest.approx(3000 / 2400)
    assert v["τ_Rd"] == pytest.approx(allowed())
    stiff = 70_000 * 6 / 2 / 1.3, 68_000 * 3 / 2 / 1.33  # G t
    assert v["κ"] == pytest.approx(shear_peak(*stiff, 40.0), rel=1e-5)
    coupon = shear_peak(70_000 * 1.6, 70_000 * 1.6, 12.7)
    assert v["κ_c"] == pytest.approx(coupon, rel=1e-5)
    assert got == pytest.approx(v["κ"] / coupon * 1.25 / allowed(), rel=1e-5)
    # A short stiff lap is sheared evenly, the coupon is not: there the average governs.
    short, v = use(allow, overlap=2.0, area=120.0)
    assert v["κ"] < v["κ_c"]
    assert short == pytest.approx(3000 / 120 / allowed())


@pytest.mark.parametrize(
    "change",
    [{"bond": 0.3}, {"overlap": 30.0}, {"leg": WALL}, {"leg_thickness": 5.0}, {"wall": LEG}, {"wall_thickness": 4.0}],
)
def test_a_bond_that_differs_is_reckoned_by_itself(allow, change):
    """The peaks of a joint are kept: of the one asked for, not of another."""
    plain, changed = use(allow)[1]["κ"], use(allow, **change)[1]["κ"]
    fresh = Allow(allow.catalogue, allow.case, allow.adhesive)
    assert changed == use(fresh, **change)[1]["κ"] != plain == use(allow)[1]["κ"]


def test_formulas_of_lines_above(allow):
    w = Working()
    w.given("R", 1500.0, "N", "a force")
    got, v = use(allow, w, shear="2 * R", pull="R / 5", moment="R * 2")
    assert (v["V"], v["N"], v["M_e"]) == (3000, 300, 3000)
    assert got == pytest.approx(use(allow, pull=300.0, moment=3000.0)[0])


def peel(force: float, moment: float, long: float = 300.0) -> tuple[float, float]:
    """Return the largest pull and the largest pressure (MPa) under a leg of 6 mm, a mm of it, loaded at one end."""
    stiff = 70_000 * 6**3 / 12 / (1 - 0.3**2)
    x = np.linspace(0, long, 600)

    def flow(_, y):
        return np.vstack([y[1], y[2], y[3], -E_A / BOND / stiff * y[0]])

    def ends(a, b):
        return np.array([a[2] - moment / stiff, a[3] - force / stiff, b[2], b[3]])

    found = solve_bvp(flow, ends, x, np.zeros((4, 600)), tol=1e-6, max_nodes=20_000)
    s = E_A / BOND * found.sol(np.linspace(0, long, 20_001))[0]
    return float(s.max()), float(-s.min())


def test_peel_of_a_leg_on_its_layer(allow):
    # An edge force of 10 N/mm and an edge moment of 100 N, each by itself. Signs: a pull lifts the edge.
    _, v = use(allow, pull=600.0, shear=0.0)
    assert v["σ"] == pytest.approx(peel(10.0, 0.0)[0], rel=1e-4)
    _, v = use(allow, moment=6000.0, shear=0.0)
    lifted, pressed = peel(0.0, 100.0)
    assert (v["ρ"], v["σ"]) == pytest.approx((1, lifted), rel=1e-4)
    # The same moment the other way round presses the edge on; what pulls is the wave behind it.
    _, v = use(allow, moment=6000.0, shear=0.0, presses=True)
    assert v["σ"] == pytest.approx(pressed, rel=1e-3)
    assert v["ρ"] == pytest.approx(math.exp(-math.pi / 2))


def test_shear_and_peel_together(allow):
    shear, v = use(allow)
    pull, p = use(allow, pull=600.0, shear=0.0)
    assert pull == pytest.approx(p["σ"] / (p["π_c"] * allowed()))
    both, _ = use(allow, pull=600.0)
    assert both == pytest.approx(math.hypot(shear, pull))
    more, v = use(allow, pull=600.0, moment=6000.0)
    assert v["σ"] == pytest.approx(p["σ"] + use(allow, moment=6000.0, shear=0.0)[1]["σ"])
    assert more > both
    # Short and hardly pulled, the average governs still.
    short, _ = use(allow, overlap=2.0, area=120.0, pull=0.1)
    assert short == pytest.approx(3000 / 120 / allowed())


def test_the_coupons_own_peaks(allow):
    """12.7 mm lap of 1.6 mm sheets of 70 GPa, as it breaks at 20 MPa: force 254 N/mm; the table's epoxy at 0.25 mm."""
    w = Working()
    shear, pull = coupon_peaks(w, allow, BOND)
    assert shear == w.values["κ_c"] == peak_factor(Joint(12.7, COUPON_E * 1.6, COUPON_E * 1.6, G_A, BOND))
    broken = goland_reissner(20 * 12.7, 12.7, 1.6, 70_000.0, 0.33, E_A, BOND)
    assert pull == w.values["π_c"] == pytest.approx(broken / 20)


def test_peak_of_a_lap_of_unequal_sheets():
    assert peak_factor(Joint(25.0, 200_000.0, 100_000.0, G_A, BOND)) == pytest.approx(
        shear_peak(200_000.0, 100_000.0, 25.0), rel=1e-5
    )
    assert peak_factor(Joint(25.0, 100_000.0, 200_000.0, G_A, BOND)) == pytest.approx(
        shear_peak(200_000.0, 100_000.0, 25.0), rel=1e-5
    )


def test_goland_and_reissner_of_a_long_lap():
    """As the lap grows, k → 1 / (1 + 2√2) and the peel's peak → F t / c² (n² k / 2 + n k')."""
    force, t, e, nu, ea, ta = 254.0, 1.6, 70_000.0, 0.33, 1700.0, 0.25
    for overlap in (300.0, 3000.0, 30_000.0):
        c = overlap / 2
        n = c / t * (6 * ea * t / (e * ta)) ** 0.25
        k = 1 / (1 + 2 * math.sqrt(2) * math.tanh(c / t * math.sqrt(1.5 * (1 - nu**2) * force / (t * e))))
        k_shear = k * c / t * math.sqrt(3 * (1 - nu**2) * force / (t * e))
        known = force * t / c**2 * (n**2 * k / 2 + n * k_shear)
        assert goland_reissner(force, overlap, t, e, nu, ea, ta) == pytest.approx(known, rel=1e-6)
