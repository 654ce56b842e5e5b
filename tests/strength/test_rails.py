"""Rails by hand: each kind of calculation from made-up forces of a frame; the frame itself has tests of its own.

EN 1993-1-8 table 3.4 (from memory); the elastic method of bolt groups (Shigley); ISO 898-1: M10 in class 8.8 breaks at
46 400 N, 58.0 mm²; von Mises; bending askew to the principal axes, solved here as two equations for a plane of stress.
S235 tube 60 x 40 x 3: area 564 mm², second moments by outer less inner rectangle.
"""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from baywright.job.catalogue import load_catalogue
from baywright.job.rails import RailShop
from baywright.mechanics.section import section_properties
from baywright.piece.extrusion import Stock
from baywright.rail.design import Joint, Ply
from baywright.rail.shop import Kit
from baywright.rail.stress import Use
from baywright.strength import rails as written
from baywright.strength.working import Working

X, Y, Z = np.eye(3)
SHEAR, PULL = 0.6 * 46_400 / 1.25, 0.9 * 46_400 / 1.25
USE = Use(value=1.0, limit=2.0, case="second", at=(0.0, 0.0, 0.0), note="so")
CASES = [SimpleNamespace(name="first"), SimpleNamespace(name="second")]


@pytest.fixture(scope="module")
def kit():
    return Kit(RailShop(bolt="M10"), load_catalogue(None))


def stands_for(kit, **more: object) -> SimpleNamespace:
    """Return what stands for a solved frame of two cases, whose second governs."""
    design = SimpleNamespace(kit=kit, ask=SimpleNamespace(shop=kit.shop), **more.pop("design", {}))
    return SimpleNamespace(design=design, cases=CASES, factor=1.5, **more)


def sheet(kit, name: str, forces: tuple[float, ...], area: float = 1.0, bending: float = 1.0):
    stock = kit.stock(name, "shop.rail_sections")
    section = section_properties(stock)
    solved = SimpleNamespace(model=SimpleNamespace(sections={"rail": section}))
    bar = SimpleNamespace(mark="rail", stock=stock)
    return written._bar_at(solved, bar, np.array(forces, dtype=float), area, bending).values, section


def test_a_tube_bent_sheared_and_twisted(kit):
    v, _ = sheet(kit, "tube-60x40x3-s235", (300.0, -800.0, -5000.0, 4e5, -2e5, 1e5), 0.8, 0.9)
    area = 60 * 40 - 54 * 34
    i_x, i_y = (60 * 40**3 - 54 * 34**3) / 12, (40 * 60**3 - 34 * 54**3) / 12
    direct = 5000 / (0.8 * area)
    bent = (4e5 * 20 / i_x + 2e5 * 30 / i_y) / 0.9  # at the corner where both add up
    # Shear at the middle of the webs: V Q / (I b); Bredt: T / (2 A_m t).
    q_y = 60 * 20 * 10 - 54 * 17 * 8.5
    q_x = 40 * 30 * 15 - 34 * 27 * 13.5
    shear = (300 * q_x / (i_y * 6) + 800 * q_y / (i_x * 6) + 1e5 / (2 * 57 * 37 * 3)) / 0.8
    assert v["σ_N"] == pytest.approx(direct)
    assert v["σ_b"] == pytest.approx(bent)
    assert v["τ"] == pytest.approx(shear)
    assert v["σ_v"] == pytest.approx(math.sqrt((direct + bent) ** 2 + 3 * shear**2))
    # Whichever way it is bent, one of its corners has both.
    for m_x, m_y in ((4e5, 2e5), (-4e5, 2e5), (-4e5, -2e5), (2e5, 4e5), (2e5, -4e5)):
        v, _ = sheet(kit, "tube-60x40x3-s235", (0.0, 0.0, 0.0, m_x, m_y, 0.0))
        assert v["σ_b"] == pytest.approx(abs(m_x) * 20 / i_x + abs(m_y) * 30 / i_y)


def test_a_round_tube(kit):
    """Bent any way, its stress is that of the whole moment over W = π (D⁴ - d⁴) / (32 D)."""
    sizes = {"width": 60.0, "height": 60.0, "wall": 4.0, "density": 7850.0, "stock_length": 6000.0}
    stock = Stock(name="pipe", shape="round tube", material="S235", **sizes)
    solved = SimpleNamespace(model=SimpleNamespace(sections={"rail": section_properties(stock)}))
    bar = SimpleNamespace(mark="rail", stock=stock)
    v = written._bar_at(solved, bar, np.array([0.0, 0, 0, 3e5, -4e5, 0]), 1.0, 0.8).values
    assert v["σ_b"] == pytest.approx(5e5 / (math.pi * (60**4 - 52**4) / (32 * 60)) / 0.8)
    assert v["r_o"] == 30


def test_an_angle_bends_askew(kit):
    """The stress is a plane a x + b y over the section; its moments are those given, and no force along it is left."""
    v, section = sheet(kit, "angle-60x60x6-s235", (0.0, 0.0, 0.0, 3e5, 1e5, 0.0))
    # My = -∫ σ x, Mx = ∫ σ y.
    a, b = np.linalg.solve([[-section.iy, -section.ixy], [section.ixy, section.ix]], [1e5, 3e5])
    worst = max(abs(a * x + b * y) for x, y in section.corners.tolist())
    assert section.ixy != 0
    assert v["σ_b"] == pytest.approx(worst)
    assert v["σ_v"] == pytest.approx(worst)


def test_a_bar_at_its_worst_place(kit):
    """Of both sides of the joint that governs the harder; pieces elsewhere do not count."""
    stock = kit.stock("tube-60x40x3-s235", "shop.rail_sections")
    left = SimpleNamespace(area=1.0, bending=1.0)
    forces = np.zeros((2, 6))
    ends = []
    for u, push in ((100.0, 1000.0), (100.0, 2000.0), (400.0, 9000.0)):
        here = forces.copy()
        here[1, 2] = push
        here[0, 2] = 50_000.0
        ends.append((u, here, left))
    bar = SimpleNamespace(mark="rail", stock=stock, point=lambda u, v, w: np.array([u, 0.0, 0.0]))
    use = Use(value=1.0, limit=2.0, case="second", at=(100.0, 0.0, 0.0))
    solved = stands_for(
        kit,
        model=SimpleNamespace(sections={"rail": section_properties(stock)}),
        bar=lambda _: use,
        bar_ends=lambda _: iter(ends),
    )
    one = written._bar(solved, bar)
    assert one.demand == pytest.approx(2000 / 564)
    assert (one.resistance, one.unit, one.piece, one.member) == (235, "MPa", "rail", "bar stress")
    assert one.use == pytest.approx(2000 / 564 / 235)
    assert "564 mm²" in one.what


def joint(points, axis=Z, lever=20.0, lug=False, **more) -> Joint:
    first = "plate"
    return Joint(
        name="j to lug" if lug else "j",
        first=first,
        second=first if lug else "rail",
        points=np.array(points, dtype=float),
        axis=np.asarray(axis, dtype=float),
        size="M10",
        plies=more.get("plies", ()),
        lever=lever,
    )


def test_a_bolt_of_a_row(kit):
    """300 and 400 N across, 700 along; 60 and 80 N·m tip the part, whose nearer edge is 20 mm off; factor 1.5."""
    made = joint([(0, 0, 0), (50, 0, 0)])
    links = np.zeros((2, 5, 6))
    links[1, 3] = (300.0, 400.0, -700.0, 60e3, 80e3, 5e3)
    links[1, 2] = 1.0
    solved = stands_for(
        kit,
        answer=SimpleNamespace(links=links),
        model=SimpleNamespace(joints={"j": [2, 3]}),
        bolts=lambda _: Use(value=1.0, limit=1.0, case="second", at=(50.0, 0.0, 0.0)),
    )
    one = written._bolts(solved, made)
    v = one.working.values
    shear, pull = 1.5 * 500, 1.5 * (700 + 100e3 / 20)
    assert (v["V"], v["N"]) == pytest.approx((shear, pull))
    assert (v["F_v_Rd"], v["F_t_Rd"]) == pytest.approx((SHEAR, PULL))
    assert one.use == pytest.approx(max(shear / SHEAR + pull / (1.4 * PULL), pull / PULL))
    assert (one.member, one.piece, one.what) == ("bolts", "j", "M10 in shear and tension, the worst of 2")
    tilted = joint([(0, 0, 0), (50, 0, 0)], axis=(0.6, 0.8, 0.0), lever=0.2)
    one = written._bolts(solved, tilted).working.values
    along = (300 * 0.6 + 400 * 0.8) * 1.5
    assert one["V"] == pytest.approx(math.sqrt((1.5**2) * (500**2 + 700**2) - along**2))
    tip = math.sqrt(100e3**2 + 5e3**2 - (60e3 * 0.6 + 80e3 * 0.8) ** 2) * 1.5
    assert one["N"] == pytest.approx(along + tip)  # a lever under 1 mm counts as 1


def test_the_bolts_of_a_lug(kit):
    """Three in a triangle: direct share, turning in their plane, and tipping by the elastic method."""
    made = joint([(0, 0, 0), (60, 0, 0), (30, 40, 7)], lug=True)  # along the bolts nothing counts
    force, moment, tip = np.array([900.0, 600.0, 1200.0]), np.array([8e3, 12e3, 30e3]), 4e3
    loads = tuple(np.stack([np.zeros_like(x), x]) for x in (force, moment, np.array(tip)))
    solved = stands_for(kit, lug_load=lambda _: loads)
    r = made.points - made.points.mean(axis=0)
    r[:, 2] = 0
    polar, s_x, s_y = (r**2).sum(), (r[:, 0] ** 2).sum(), (r[:, 1] ** 2).sum()
    for bolt in range(3):
        w = Working()
        written._bolt_force(w, solved, made, 1, bolt)
        x, y, _ = r[bolt]
        shear = math.hypot(300 - 30e3 * y / polar, 200 + 30e3 * x / polar)
        pull = abs(400 + 8e3 * y / s_y - 12e3 * x / s_x) + 4e3 / 20 / 3
        assert (w.values["V"], w.values["N"]) == pytest.approx((shear, pull))


def test_a_lug_with_two_bolts(kit):
    made = joint([(0, 0, 0), (0, 60, 0)], lug=True)
    loads = (np.array([[0.0, 0, 0], [900, 600, 1200]]), np.array([[0.0, 0, 0], [12e3, 0, 30e3]]), np.array([0.0, 4e3]))
    solved = stands_for(kit, lug_load=lambda _: loads)
    w = Working()
    written._bolt_force(w, solved, made, 1, 1)
    # Along y, 30 mm each side: the turn pushes across the row, the moment about x pulls.
    assert w.values["V"] == pytest.approx(math.hypot(450 - 30e3 / 60, 300))
    assert w.values["N"] == pytest.approx(600 + 12e3 / 60 + 4e3 / 20 / 2)
    assert "M_1" not in w.values


PLATE = {"mark": "plate", "thickness": 8.0, "hole": 11.0, "bears": 10.0, "material": "S235"}


@pytest.mark.parametrize(
    ("edge", "apart", "factor"),
    [
        (60.0, None, 2.5),
        (20.0, None, 2.5 * 20 / 33),
        (15.0, None, (2.8 * 15 / 11 - 1.7) * 15 / 33),
        (None, None, 2.5),  # round a corner: 3 d0 taken
        (60.0, 30.0, 2.5 * (30 / 33 - 0.25)),
        (60.0, 5.0, 2.5 * (2.2 * 11 / 33 - 0.25)),  # nearer than the rule's least, 2.2 d0
        (20.0, 200.0, 2.5 * 20 / 33),
    ],
)
def test_bearing(kit, edge, apart, factor):
    w = Working()
    written._hole(w, stands_for(kit), Ply(edge=edge, **PLATE), "M10", apart)
    assert w.values["F_b_Rd"] == pytest.approx(factor * 360 * 10 * 8 / 1.25)
    assert w.values["f_ub1"] == pytest.approx(46_400 / 58)


def test_bearing_of_a_bolts_own_force(kit):
    made = joint([(0, 0, 0), (30, 0, 0)])
    links = np.zeros((2, 2, 6))
    links[1, 0, :2] = (600.0, 800.0)
    solved = stands_for(
        kit,
        answer=SimpleNamespace(links=links),
        model=SimpleNamespace(joints={"j": [0, 1]}),
        bearing=lambda *_: USE,
    )
    one = written._bearing(solved, made, Ply(edge=60.0, **PLATE))
    assert one.demand == pytest.approx(1500)
    assert one.resistance == pytest.approx(2.5 * (30 / 33 - 0.25) * 360 * 10 * 8 / 1.25)
    assert (one.member, one.piece, one.what, one.unit) == ("bearing", "plate", "holes of j", "N")


def test_the_wall_of_a_tube_under_a_washer(kit):
    """Limit analysis: the p for which (p - 1) ln(ρ (p - 1) / p) is 1; a washer of 10 mm in 27 mm of half wall."""
    made = joint([(0, 0, 0)], axis=Y)
    links = np.zeros((2, 1, 6))
    links[1, 0, 1] = 2000.0
    ratio = 27 / 10
    low, high = 1.0 + 1e-9, 100.0
    for _ in range(100):
        p = (low + high) / 2
        low, high = (p, high) if (p - 1) * math.log(ratio * (p - 1) / p) < 1 else (low, p)
    limit = 2 * math.pi * 235 * 3**2 / 4 * low
    bar = SimpleNamespace(v=Y, half_w=30.0, half_v=20.0)
    solved = stands_for(
        kit,
        design={"bars": {"rail": bar}},
        answer=SimpleNamespace(links=links),
        model=SimpleNamespace(joints={"j": [0]}),
        wall=lambda *_: Use(value=1.0, limit=limit, case="second", at=(0.0, 0.0, 0.0)),
    )
    ply = Ply(mark="rail", thickness=3.0, hole=11.0, bears=10.0, material="S235", edge=None)
    one = written._wall(solved, made, ply)
    v = one.working.values
    assert v["r_w"] == 10  # washer of M10, 20 mm across
    assert (v["R"], v["ρ"]) == (27, 2.7)
    assert v["one"] == pytest.approx(1)
    assert (one.demand, one.resistance) == pytest.approx((3000, limit))
    # Along the other way the wall is the narrower one.
    bar.v = X
    assert written._wall(solved, made, ply).working.values["R"] == 17


def test_a_cleat(kit):
    """Angle 8 mm thick, 120 long less a column of 33 mm: a leg bent flat and on edge, at the worst of three places."""
    moments = np.zeros((3, 2, 3))
    moments[:, 1] = [(3e4, 4e4, 1e5), (3e4, 4e4, 2e5), (3e5, 0.0, 1.9e5)]
    force = np.array([[0.0, 0, 0], [200.0, 300.0, 600.0]])
    ply = Ply(mark="cleat", thickness=8.0, hole=11.0, bears=10.0, material="S235", edge=20.0)
    solved = stands_for(
        kit,
        cleat=lambda _: USE,
        cleat_load=lambda _: (ply, force, moments, 87.0),
        cleat_length=lambda _: 120.0,
    )
    one = written._cleat(solved, joint([(0, 0, 0)], lug=True))
    places = [6 * flat / (87 * 64) + 6 * edge / (8 * 120**2) for flat, edge in ((1e5, 5e4), (2e5, 5e4), (1.9e5, 3e5))]
    assert one.demand == pytest.approx(max(places) + 700 / (8 * 87))
    assert places[2] > places[1] > places[0]
    assert (one.resistance, one.piece, one.what) == (235, "j", "at its bolts in the rail")


def test_the_worst_place_of_a_cleat(kit):
    """Whatever the moments, the place with the largest sum of both bendings is told."""
    ply = Ply(mark="cleat", thickness=8.0, hole=11.0, bears=10.0, material="S235", edge=20.0)
    rng, force = np.random.default_rng(5), np.zeros((2, 3))
    for _ in range(40):
        moments = rng.normal(size=(3, 2, 3)) * (8e5, 8e5, 6e4)
        solved = stands_for(
            kit,
            cleat=lambda _: USE,
            cleat_load=lambda _, m=moments: (ply, force, m, 87.0),
            cleat_length=lambda _: 120.0,
        )
        one = written._cleat(solved, joint([(0, 0, 0)], lug=True))
        places = [6 * abs(c) / (87 * 64) + 6 * math.hypot(a, b) / (8 * 120**2) for a, b, c in moments[:, 1].tolist()]
        assert one.demand == pytest.approx(max(places))


def mount_of(rubber=None):
    ask = SimpleNamespace(bolt="M10", rubber=rubber)
    return SimpleNamespace(name="front-left", ask=ask, faces=Z, at=np.array([1.0, 2.0, 3.0]))


def given(layout="front engine", torque=200.0):
    drive = SimpleNamespace(
        layout=layout, first_gear=3.0, final_drive=4.0, grip=0.9, driven_mass=600.0, wheel_radius=300.0
    )
    return SimpleNamespace(ask=SimpleNamespace(drive=drive), motor=SimpleNamespace(torque=torque, count=2))


def mounted(kit, force, rubber=None, gives=None, case=None, **more):
    mount, ply = mount_of(rubber), Ply(edge=60.0, **PLATE)
    foot = SimpleNamespace(up=Z, mark="foot a")
    hanger = SimpleNamespace(mount=mount, foot=foot)
    body = SimpleNamespace(mass=80.0, centroid=np.array([5.0, 6.0, 7.0]))
    solved = stands_for(
        kit,
        design={"given": given(**more)},
        model=SimpleNamespace(body=body),
        mounts={"front-left": np.stack([np.zeros(3), np.array(force)])},
        gives={"front-left": gives},
        mount_bolt=lambda _: USE,
        mount_bearing=lambda _: USE,
        mount_ply=lambda _: ply,
    )
    solved.cases = [
        SimpleNamespace(name="first", force=np.zeros(3), moment=np.zeros(3)),
        SimpleNamespace(
            name="second", force=np.array([0.0, 0.0, -80 * 9.80665 * 3]), moment=np.array(case or [0.0] * 3)
        ),
    ]
    return list(written._mount(solved, hanger))


def test_a_mounts_own_bolt(kit):
    bolt, bears = mounted(kit, (300.0, 400.0, -700.0))
    v = bolt.working.values
    # Pulled off: 700 N against the way the mount faces; 1.5 times.
    assert (v["V"], v["N"]) == pytest.approx((750, 1050))
    assert bolt.use == pytest.approx(750 / SHEAR + 1050 / (1.4 * PULL))
    assert (v["m"], v["a"], v["F"]) == pytest.approx((80, 3, 3 * 80 * 9.80665))
    assert "T" not in v
    assert (bolt.member, bolt.piece, bolt.what) == ("mount bolt", "front-left", "M10 in shear and tension")
    pressed, _ = mounted(kit, (300.0, 400.0, 700.0))
    assert pressed.working.values["N"] == 0
    # Its hole in the foot takes what is across.
    assert bears.demand == pytest.approx(750)
    assert bears.resistance == pytest.approx(2.5 * 360 * 10 * 8 / 1.25)
    assert (bears.member, bears.piece, bears.what) == ("bearing at mounts", "foot a", "hole of M10 of front-left")


def test_the_torque_that_the_mounts_hold(kit):
    """Two motors of 200 N·m, first gear 3, final drive 4; the tyres let 0.9 · 600 kg · g · 0.3 m through."""
    tyres = 0.9 * 600 * 9.80665 * 0.3
    (bolt, _) = mounted(kit, (1.0, 0.0, 0.0), case=[1.0, 0, 0])
    v = bolt.working.values
    assert (v["T_g"], v["T_t"], v["T"]) == pytest.approx((1200, tyres / 4, tyres / 4))
    (bolt, _) = mounted(kit, (1.0, 0.0, 0.0), case=[1.0, 0, 0], torque=20.0)
    assert bolt.working.values["T"] == pytest.approx(120)
    (bolt, _) = mounted(kit, (1.0, 0.0, 0.0), case=[1.0, 0, 0], layout="transaxle")
    v = bolt.working.values
    assert (v["T_g"], v["T_t"], v["T"]) == pytest.approx((4800, tyres, tyres))


def test_rubber(kit):
    rubber = SimpleNamespace(along_n_per_mm=400.0, across_n_per_mm=100.0, travel=6.0, source="made up")
    gives = np.array([[0.0, 0.0, 0.0], [1.75, 3.0, -4.0]])
    _, _, one = mounted(kit, (300.0, 400.0, -700.0), rubber, gives)
    assert one.demand == pytest.approx(4.0)  # 400 N over 100 N/mm
    assert (one.resistance, one.unit, one.member, one.case) == (6, "mm", "rubber", "second")
    assert one.at == (1.0, 2.0, 3.0)
    assert one.use == pytest.approx(4 / 6)
    stiff = SimpleNamespace(along_n_per_mm=100.0, across_n_per_mm=400.0, travel=6.0, source="made up")
    assert mounted(kit, (300.0, 400.0, -700.0), stiff, gives)[2].demand == pytest.approx(7.0)


def test_sag(kit):
    """The motor drops 1 mm and turns 0.002 about y: a seat 400 mm off would drop 1.8 mm with it; it drops 2.6."""
    near = SimpleNamespace(mount=SimpleNamespace(name="near", at=np.array([500.0, 0, 0])))
    far = SimpleNamespace(mount=SimpleNamespace(name="far", at=np.array([-500.0, 0, 0])))
    motion = np.zeros((2, 3, 6))
    motion[1, 0] = (0, 0, -1.0, 0, 0.002, 0)
    motion[1, 2, :3] = (0.6, 0.0, -1.8 - 0.8)
    solved = stands_for(
        kit,
        design={"hangers": (far, near)},
        answer=SimpleNamespace(motion=motion),
        model=SimpleNamespace(frame=SimpleNamespace(nodes=np.diag([100.0, 0, 0])), seats={"near": 2, "far": 1}),
        sag=lambda: Use(value=1.0, limit=1.0, case="second", at=(500.0, 0.0, 0.0)),
    )
    one = written._sag(solved)
    assert one.demand == pytest.approx(1.0)  # 0.6 along, 0.8 down
    assert (one.piece, one.resistance, one.unit) == ("near", kit.shop.deflection_most, "mm")


def test_the_lowest_frequency(kit):
    body = SimpleNamespace(centroid=np.array([5.0, 6.0, 7.0]))
    solved = stands_for(kit, model=SimpleNamespace(frequencies=lambda: np.array([12.0, 20.0]), body=body))
    one = written._frequency(solved)
    assert (one.demand, one.resistance) == pytest.approx((kit.shop.frequency_least, 12.0))
    assert one.use == pytest.approx(kit.shop.frequency_least / 12)
    assert (one.advice, one.throw, one.at, one.case) == (True, "free", (5.0, 6.0, 7.0), "swinging")
