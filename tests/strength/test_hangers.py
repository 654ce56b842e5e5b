"""Feet, saddles, plates and welds of rails by hand: the lines as written, from made-up sizes and forces.

Short beams and statics from first principles; EN 1993-1-8, 4.5.3.3 for fillets (from memory), correlation factor 0.8 of
S235, 1.25; ISO 898-1: M10 in class 8.8 breaks at 46 400 N, 58.0 mm².
"""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from baywright.job.catalogue import load_catalogue
from baywright.job.rails import RailShop
from baywright.rail.design import Foot, Hanger, Saddle
from baywright.rail.hold import Demand
from baywright.rail.shop import Kit, Metal
from baywright.rail.stress import Use
from baywright.strength.hangers import hanger_calculations

X, Y, Z = np.eye(3)
# Two cases; the second is the one that governs here.
DEMAND = Demand(up=np.array([9.0, 4000.0]), along=np.array([8.0, 1500.0]), out=np.array([7.0, 800.0]))
PULL_M10 = 0.9 * 46_400 / 1.25


@pytest.fixture(scope="module")
def kit():
    return Kit(RailShop(bolt="M10"), load_catalogue(None))


def solved(kit, hanger, **uses: Use):
    """Return what stands for a solved frame: two load cases, whose second governs whatever is asked."""

    def use(name: str):
        return lambda *_: uses.get(name, Use(value=1.0, limit=2.0, case="second", at=(1.0, 2.0, 3.0), note="so"))

    bar = SimpleNamespace(u=X, v=Y, w=Z)
    metal = Metal(
        name="S235", density=7850.0, e=210_000.0, g=81_000.0, f_yield=235.0, f_ultimate=360.0, source="EN 10025-2"
    )
    asked: list[tuple[str, str, float]] = []

    def of(name: str, key: str, thickness: float) -> Metal:
        asked.append((name, key, thickness))
        return metal

    made = SimpleNamespace(metal=of, row=kit.row, hole=kit.hole, shop=kit.shop)
    design = SimpleNamespace(
        kit=made, bars={"rail": bar}, ask=SimpleNamespace(shop=kit.shop), hangers=(hanger,), asked=asked
    )
    cases = [SimpleNamespace(name="first"), SimpleNamespace(name="second")]
    names = ("foot", "foot_bolts", "weld", "plate")
    return SimpleNamespace(design=design, cases=cases, demand=lambda _: DEMAND, **{name: use(name) for name in names})


def angle(kit, **more: object) -> Foot:
    sizes: dict[str, object] = {
        "length": 80.0,
        "ends": (30.0, 50.0),
        "arm": 40.0,
        "gauge": 33.0,
        "reach": 60.0,
        "gussets": 0.0,
        "gusset_side": 0.0,
        "hole": 11.0,
    }
    stock = kit.stock("angle-60x60x6-s235", "shop.angle_sections")
    return Foot(mark="foot a", stock=stock, root=np.array([5.0, 0, 90]), along=X, out=Y, up=Z, **(sizes | more))


def hanger(foot, **more: object) -> Hanger:
    mount = SimpleNamespace(name="front-left", at=np.array([7.0, 0.0, 130.0]))
    return Hanger(mount=mount, bar="rail", foot=foot, plate_root=np.array([3.0, 0, 10]), lean=0.0, **more)


def done(kit, one):
    found = list(hanger_calculations(solved(kit, one), one))
    for calculation in found:
        assert (calculation.case, calculation.throw, calculation.note) == ("second", "load factor in", "so") or (
            calculation.member == "hanger length"
        )
        assert calculation.where == (calculation.piece,)
        assert calculation.piece in (one.foot.mark, one.plate)
        assert calculation.use == pytest.approx(calculation.demand / calculation.resistance)
    return {c.member: c for c in found}


def ribbed(width: float, t: float, rib: float, depth: float) -> float:
    """Return the modulus of a strip with two ribs, by its centroid and parallel axes."""
    flat, ribs = width * t, 2 * rib * depth
    z = (flat * t / 2 + ribs * (t + depth / 2)) / (flat + ribs)
    second = width * t**3 / 12 + flat * (z - t / 2) ** 2 + 2 * rib * depth**3 / 12 + ribs * (t + depth / 2 - z) ** 2
    return second / max(z, t + depth - z)


def test_a_foot_at_its_root(kit):
    """34 mm from bolt to root; at 45 degrees and the hole 45 mm each way, but 20 one way: 65 mm wide."""
    got = done(kit, hanger(angle(kit, length=120.0, ends=(20.0, 100.0))))
    assert set(got) == {"foot stress", "foot bolts"}
    one = got["foot stress"]
    at_root = 4000 * 34 / (65 * 36 / 6) + 1500 * 34 / (6 * 120**2 / 6) + 800 / (6 * (120 - 11))
    assert one.what == "at the root of the leg to the mount"
    assert one.demand == pytest.approx(at_root)
    assert (one.resistance, one.unit, one.piece) == (235, "MPa", "foot a")
    assert "angle" in one.help
    # The bolt near the other end is the same.
    other = done(kit, hanger(angle(kit, length=120.0, ends=(100.0, 20.0))))["foot stress"]
    assert other.demand == pytest.approx(at_root)


def test_a_foot_at_its_bolts(kit):
    """With gussets to the root the bolted leg is the weaker: 58 mm net, the ribs 52 - 27 mm deep there."""
    foot = angle(kit, gussets=6.0, gusset_side=52.0)
    got = done(kit, hanger(foot))
    one = got["foot stress"]
    moment = 4000 * 40 + 800 * 33
    assert one.what == "at its bolts"
    assert one.demand == pytest.approx(moment / ribbed(58, 6, 6, 52 - 27) + 5500 / (6 * 58))
    # The ribs end short of the bolts: the plain strip.
    short = angle(kit, gussets=6.0, gusset_side=27.0)
    one = done(kit, hanger(short))["foot stress"]
    assert one.demand == pytest.approx(moment / (58 * 36 / 6) + 5500 / (6 * 58))


def test_a_gusseted_foot_at_its_root(kit):
    foot = angle(kit, gussets=4.0, gusset_side=8.0, gauge=8.0, length=200.0, ends=(5.0, 195.0))
    one = done(kit, hanger(foot))["foot stress"]
    flat = 4000 * 34 / ribbed(5 + 45, 6, 4, 8)
    assert one.what == "at the root of the leg to the mount"
    assert one.demand == pytest.approx(flat + 6 * 1500 * 34 / (6 * 200**2) + 800 / (6 * 189))


def test_the_bolts_of_a_foot(kit):
    """They hold the leg from tipping about its toe, 27 mm from them, nearer than its heel at 33."""
    one = done(kit, hanger(angle(kit)))["foot bolts"]
    assert one.demand == pytest.approx(((4000 * 40 + 800 * 33) / 27 + 800) / 2)
    assert (one.resistance, one.unit) == (pytest.approx(PULL_M10), "N")
    one = done(kit, hanger(angle(kit, gauge=20.0)))["foot bolts"]
    assert one.demand == pytest.approx(((4000 * 40 + 800 * 20) / 20 + 800) / 2)
    assert one.what == "tension of its bolts by hand"


def test_the_welds_of_gussets(kit):
    foot = angle(kit, gussets=6.0, gusset_side=52.0)
    one = done(kit, hanger(foot))["weld"]
    pull = 4000 * 34 / (2 / 3 * 52)
    # Two gussets, both sides, the outer half of 42 mm each; throat 0.7 of 4 mm.
    holds = 360 / (math.sqrt(3) * 0.8 * 1.25) * 0.7 * 4 * (4 * 42 / 2)
    assert (one.demand, one.resistance) == pytest.approx((pull, holds))
    assert (one.piece, one.unit) == ("foot a", "N")
    tiny = done(kit, hanger(angle(kit, gussets=6.0, gusset_side=10.5)))["weld"]
    assert tiny.working.values["L_w"] == pytest.approx(2)


def saddle(**more: object) -> Saddle:
    sizes: dict[str, object] = {"width": 70.0, "free": 25.0, "arm": 60.0, "offset": -12.0, "apart": 50.0}
    sizes |= {"support": 30.0, "gap": 20.0, "hole": 11.0}
    return Saddle(mark="s", wall=10.0, material="S235", root=np.zeros(3), along=X, out=Y, up=Z, **(sizes | more))


def test_a_saddle(kit):
    got = done(kit, hanger(saddle()))
    assert set(got) == {"foot stress", "foot bolts"}
    one = got["foot stress"]
    on_edge = (1500 * 60 + 800 * 12) / (10 * 70**2 / 6)
    assert one.demand == pytest.approx(4000 * 25 / (70 * 100 / 6) + on_edge + 800 / (10 * 70))
    assert (one.what, one.piece) == ("where it leaves what it bears on", "s")
    assert "plates" in one.help
    bolts = got["foot bolts"]
    tip = (4000 * 60 + 800 * (20 + 10)) / 30 / 2
    assert bolts.demand == pytest.approx(tip + 4000 * (0.5 + 12 / 50))
    assert bolts.resistance == pytest.approx(PULL_M10)
    assert "plates" in bolts.help


def test_a_hangers_plate(kit):
    """From its bolts in the bar at (3, 10) to the foot's at (5, 90): 80 mm free, 2 off; the seat 120 mm down."""
    one = hanger(angle(kit), plate="plate a", thickness=8.0, width=90.0, free=48.0)
    got = done(kit, one)
    plate = got["plate stress"]
    hole = kit.hole("M10")
    assert hole == 11
    net = 90 - 22
    flat = (4000 * (40 + 4) + 800 * 120) / (net * 64 / 6)
    edge = (4000 * 2 + 1500 * 120) / (8 * net**2 / 6)
    assert plate.demand == pytest.approx(flat + edge + 5500 / (8 * net))
    assert (plate.piece, plate.resistance) == ("plate a", 235)
    length = got["hanger length"]
    assert (length.demand, length.resistance, length.unit) == (48, kit.shop.reach_to_thickness * 8, "mm")
    assert (length.piece, length.at, length.case) == ("plate a", (3.0, 0.0, 10.0), "first")
    # A plate that is all holes is no division by nothing.
    slim = done(kit, hanger(angle(kit), plate="plate a", thickness=8.0, width=20.0, free=48.0))
    assert slim["plate stress"].working.values["b_n"] == 1


def test_each_metal_is_asked_for_by_what_it_is(kit):
    one = hanger(angle(kit, gussets=5.0, gusset_side=52.0), plate="plate a", thickness=8.0, width=90.0, free=48.0)
    stub = solved(kit, one)
    list(hanger_calculations(stub, one))
    assert stub.design.asked == [
        ("S235", "shop.angle_sections", 6.0),
        (kit.shop.plate_material, "shop.plate_material", 5.0),
        (kit.shop.plate_material, "shop.plate_material", 8.0),
    ]
