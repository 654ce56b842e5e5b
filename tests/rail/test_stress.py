import copy

import numpy as np
import pytest

from baywright.mechanics.section import section_properties
from baywright.rail.bars import Bar
from baywright.rail.design import Foot
from baywright.rail.hold import (
    Demand,
    bolt_line_stress,
    bolt_tension,
    cleat_stress,
    plate_stress,
    root_stress,
    wall_pull,
    weld_use,
)
from baywright.rail.loads import mount_forces
from baywright.rail.net import left_of
from baywright.rail.rules import assumptions, check_rails, holds
from baywright.rail.stress import solve

X, Y, Z = np.eye(3)


def soft(base, along=2.0, across=2.0):
    """The same mounts, but so soft that rails and hangers are stiff beside them."""
    for mount in base["mounts"].values():
        mount["rubber"] = {"along_n_per_mm": along, "across_n_per_mm": across, "travel": 500, "source": "invented"}
    return base


def test_on_soft_mounts_the_frame_shares_like_a_stiff_body(base, made):
    design = made(soft(base))
    solved = solve(design)
    stiff = mount_forces(design.mounts, 1.0, design.unit, solved.cases)
    for i, mount in enumerate(design.mounts):
        assert np.allclose(solved.mounts[mount.name], stiff[:, i], rtol=2e-3, atol=0.5)
    assert solved.residual < 1e-12
    assert solved.rounding < 1e-7


def test_frequencies_on_soft_mounts_in_closed_form(base, made):
    """Bounce: √(4 k / m) / 2π, one of the six, when nothing else is soft."""
    design = made(soft(base, 50.0, 50.0))
    hertz = solve(design).model.frequencies()
    bounce = np.sqrt(4 * 50.0 * 1000 / design.unit.mass) / (2 * np.pi)
    assert np.abs(hertz - bounce).min() < 0.02 * bounce


def test_stiffer_mounts_swing_faster_and_rock_less(base, made):
    from baywright.rail.clear import rocking

    weak, strong = solve(made(soft(copy.deepcopy(base), 100, 60))), solve(made(soft(base, 400, 240)))
    assert (strong.model.frequencies() > weak.model.frequencies()).all()
    assert rocking(strong).angle < rocking(weak).angle


def test_rocking_in_closed_form(base, made):
    """Four springs of k at ± y and z from the twist's axis turn by T / Σ k (y² + z²) about that axis."""
    from baywright.rail.clear import rocking

    k = 20.0
    base["shaft"]["rise"] = 0.0
    design = made(soft(base, k, k))
    solved = solve(design)
    places = np.array([m.at for m in design.mounts])
    centre = places.mean(axis=0)
    # Equal springs in all directions: their axis of twist goes through the middle of them.
    about = k * ((places - centre)[:, 1:] ** 2).sum()
    torque = max(float(np.linalg.norm(c.moment)) for c in solved.cases)
    assert rocking(solved).angle == pytest.approx(np.degrees(torque / about), rel=0.02)


def test_the_load_factor_is_on_every_strength_figure(base, made):
    one = made(base | {"shop": {"load_factor": 1.0}})
    two = made(base | {"shop": {"load_factor": 2.0}})
    if [h.foot.mark for h in one.hangers] == [h.foot.mark for h in two.hangers]:
        a, b = solve(one), solve(two)
        ratio = b.bar(two.bars["rail left"]).value / a.bar(one.bars["rail left"]).value
        assert ratio == pytest.approx(2.0, rel=0.1)  # hangers may differ a little
        assert b.sag().value == pytest.approx(a.sag().value, rel=0.3)  # at rest, no factor


def test_a_cut_rail_is_in_balance(base, made):
    """Whatever acts on a rail beyond a cut, bolt by bolt, is what the beam carries across the cut: statics alone."""
    design = made(base)
    solved = solve(design)
    frame = solved.model.frame
    rail = design.bars["rail left"]
    stations = solved.model.stations["rail left"]
    for i, number in enumerate(solved.model.members["rail left"]):
        cut = (stations[i] + stations[i + 1]) / 2
        member = frame.members[number]
        low = min(member.start, member.end)
        force, moment = np.zeros((len(solved.cases), 3)), np.zeros((len(solved.cases), 3))
        for joint in design.joints:
            if rail.mark not in (joint.first, joint.second) or joint.first == joint.second:
                continue
            sign = 1.0 if joint.first == rail.mark else -1.0
            for point, link in zip(joint.points, solved.model.joints[joint.name], strict=True):
                near = stations[np.abs(stations - rail.own(point)[0]).argmin()]
                if near > cut:
                    on = sign * solved.answer.links[:, link]
                    force += on[:, :3]
                    moment += on[:, 3:] + np.cross(point - frame.nodes[low], on[:, :3])
        # At the member's end on the near side acts what the far part passes on.
        end = 0 if member.start == low else 1
        z = frame.nodes[member.end] - frame.nodes[member.start]
        z = z / np.linalg.norm(z)
        turn = np.stack([member.x_axis, np.cross(z, member.x_axis), z])
        own = solved.answer.members[:, number, end]
        assert np.allclose(own[:, :3] @ turn, -force, atol=1e-3)
        assert np.allclose(own[:, 3:] @ turn, -moment, atol=1.0)


def test_holes_take_out_what_they_are(catalogue):
    from baywright.job.rails import RailShop
    from baywright.rail.shop import Kit

    stock = Kit(RailShop(), catalogue).stock("tube-50x50x3-s235", "section")
    bar = Bar(mark="b", role="rail", stock=stock, centre=np.zeros(3), u=X, v=Y, w=Z, outward=1, low=0, high=400)
    section = section_properties(stock)
    assert left_of(bar, section, 100.0).area == 1
    bar.bolts.append(("v", 100.0, 0.0, 15.0))
    left = left_of(bar, section, 100.0)
    assert left.area == pytest.approx(1 - 2 * 3 * 15 / section.area)
    # ∫v² loses both walls' holes at 23.5 mm, ∫w² only their own height: the worse counts.
    assert left.bending == pytest.approx(1 - 2 * 3 * 15 * 23.5**2 / section.ix)
    assert left_of(bar, section, 120.0).area == 1


def foot(kit_stock, **more):
    sizes = {
        "length": 80.0,
        "ends": (40.0, 40.0),
        "arm": 40.0,
        "gauge": 30.0,
        "reach": 60.0,
        "gussets": 0.0,
        "gusset_side": 0.0,
        "hole": 11.0,
    } | more
    return Foot(mark="f", stock=kit_stock, root=np.zeros(3), along=X, out=Y, up=Z, **sizes)


def test_a_foot_by_hand(catalogue):
    from baywright.job.rails import RailShop
    from baywright.rail.shop import Kit

    stock = Kit(RailShop(), catalogue).stock("angle-60x60x6-s235", "shop.angle_sections")
    f = foot(stock)
    up = Demand(up=np.array([1000.0]), along=np.zeros(1), out=np.zeros(1))
    # The bolt's force spreads at 45 degrees over 34 mm, but there are only 40 mm of metal either way: 80 wide.
    assert root_stress(f, up)[0] == pytest.approx(1000 * 34 / (80 * 36 / 6))
    # The bolted leg: force times 40 mm over 80 less two holes.
    assert bolt_line_stress(f, up)[0] == pytest.approx(1000 * 40 / (58 * 36 / 6) + 1000 / (6 * 58))
    # Two bolts, the leg tips about its nearer edge, 30 mm off.
    assert bolt_tension(f, up)[0] == pytest.approx(1000 * 40 / 30 / 2)
    ribbed = foot(stock, gussets=6.0, gusset_side=52.0)
    assert root_stress(ribbed, up)[0] < root_stress(f, up)[0] / 5
    assert weld_use(f, up, 360.0)[0] == 0
    assert 0 < weld_use(ribbed, up, 360.0)[0] < 1


def test_a_hanger_plate_by_hand():
    demand = Demand(up=np.array([1000.0]), along=np.array([500.0]), out=np.array([200.0]))
    got = plate_stress(
        thickness=8.0, width=100.0, hole=11.0, demand=demand, arm=30.0, free=60.0, offset=0.0, heel=120.0
    )
    across = (1000 * 34 + 200 * 120) / (78 * 64 / 6)
    within = 500 * 120 / (8 * 78**2 / 6)
    assert got[0] == pytest.approx(across + within + 1500 / (8 * 78))


def test_every_finding_has_a_source_and_a_margin_where_it_has_a_limit(demo):
    found = check_rails(demo)
    checks = {f.check for f in found}
    assert {
        "torque reaction",
        "equilibrium",
        "mount bolt",
        "rubber",
        "stud",
        "bar stress",
        "sag",
        "bolts",
        "bearing",
        "wall pull",
        "cleat stress",
        "foot stress",
        "natural frequency",
        "rocking",
        "overlap",
        "driver access",
    } <= checks
    for f in found:
        assert f.source, f.check
        assert f.message
        if f.limit is not None and f.value is not None:
            assert f.margin is not None, f.check
    assert holds(demo)
    assert len(assumptions(demo)) > 5


@pytest.mark.parametrize(
    ("change", "check"),
    [
        (lambda t: t["mounts"]["front-left"]["rubber"].update(travel=0.5), "rubber"),
        (lambda t: t["mounts"]["front-left"].update(stud=12), "stud"),
        (lambda t: t["motor"].update(mass=700), "bar stress"),
        (lambda t: t["shop"].update(deflection_most=0.001), "sag"),
        (lambda t: t["motor"].update(mass=300), "cleat stress"),
        (lambda t: t["motor"].update(mass=900), "wall pull"),
    ],
)
def test_what_does_not_hold_fails(base, made, change, check):
    base["shop"] = {"plate_thicknesses": [12, 15]}
    change(base)
    assert any(f.check == check and f.verdict == "fail" for f in check_rails(made(base)))


@pytest.mark.parametrize(
    ("change", "check"),
    [
        (lambda t: t["mounts"]["rear-left"].update(behind="closed"), "nut behind"),
        (lambda t: t["mounts"]["rear-left"].update(at=["400 ± 4", "-230 ± 4", "330 ± 4"]), "mount place"),
        (lambda t: t["shop"].update(frequency_least=150), "natural frequency"),
    ],
)
def test_what_a_person_should_look_at(base, made, change, check):
    base["shop"] = {}
    change(base)
    assert any(f.check == check and f.verdict == "look" for f in check_rails(made(base)))


def test_a_cleat_by_hand():
    """Two legs of 6 mm, 120 high, pulled 1200 N square to the rail with the rail's bolts 30 mm from the heel."""
    force = np.array([[0.0, 1200.0, 0.0]])
    heel, bolts = np.array([[0.0, 0.0, 0.0]]), np.array([[0.0, 0.0, 1200.0 * 30]])
    stress = cleat_stress(force, np.array([heel, bolts]), 6.0, 120.0, 98.0)
    assert stress[0] == pytest.approx(36000 / (98 * 36 / 6) + 1200 / (6 * 98))
    on_edge = cleat_stress(force, np.array([[[36000.0, 0.0, 0.0]]]), 6.0, 120.0, 98.0)
    assert on_edge[0] == pytest.approx(36000 / (6 * 120**2 / 6) + 1200 / (6 * 98))


def test_a_cleats_moments_are_its_bolts_moments(demo):
    """At the heel: every rail bolt's force times its way to the heel, added up one by one."""
    solved = solve(demo)
    joint = next(j for j in demo.joints if j.name == "cleat 1 left to lug")
    rail = next(j for j in demo.joints if j.name == "cleat 1 left to rail")
    heel = np.array([joint.points[0, 0], rail.points[0, 1], rail.points[:, 2].mean()])
    links = solved.answer.links[:, solved.model.joints[rail.name]] * solved.factor
    worst = 0.0
    for case in links:
        about = sum(np.cross(p - heel, f[:3]) + f[3:] for p, f in zip(rail.points, case, strict=True))
        piece = demo.assembly.by_mark["cleat 1 left"].piece
        worst = max(worst, abs(about[2]) / (piece.length * piece.stock.wall**2 / 6))
    assert solved.cleat(joint).value >= worst > 0


@pytest.mark.parametrize("clear", [22.0, 44.0, 72.0, 400.0])
def test_the_pull_that_yields_a_wall(clear):
    """Between a point load's 2 pi M (Tresca) and the yield lines' 4 pi M R / (R - a) (Johansen), both from memory."""
    m, a = 235 * 4.0**2 / 4, 10.0
    pull = wall_pull(4.0, 235.0, a, clear)
    assert 2 * np.pi * m < pull < 4 * np.pi * m * (clear / 2) / (clear / 2 - a)
    # The moment along the radius runs from +M at the washer to -M at the edge: integrated in small steps.
    edge, total = clear / 2, pull / (2 * np.pi)
    r, moment = np.linspace(a, edge, 200_001), m
    step = r[1] - r[0]
    for x in r[:-1]:
        round_it = m if moment > 0 else m + moment
        moment += step * (round_it - total - moment) / x
    assert moment == pytest.approx(-m, rel=2e-3)
