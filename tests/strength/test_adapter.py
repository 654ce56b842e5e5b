"""An adapter under its motor by hand: made-up holes, so that every figure can be worked out here.

Statics; the elastic method of bolt groups (Shigley): Σ y² of six even bolts on a circle is 3 r²; the middle of a half
circle is at 2 r / π; EN 1993-1-8 table 3.4 (from memory); ISO 898-1: M10 in class 8.8 breaks at 46 400 N, M8 in 10.9 at
38 100 N; 6082-T6 plate over 12.5 mm: 240 MPa (EN 1999-1-1 table 3.2, from memory).
"""

import math
from types import SimpleNamespace

import pytest

from baywright.finding import Finding
from baywright.job.catalogue import load_catalogue
from baywright.strength.adapter import adapter_calculations, adapter_findings, adapter_sheets
from baywright.strength.allow import Unchecked

SHOP = load_catalogue(None)
G = 9.80665


def holes(radius: float, count: int, size: str = "M10", off: tuple[float, float] = (0.0, 0.0)):
    row, found = SHOP.screw(size), []
    for i in range(count):
        turn = 2 * math.pi * i / count
        x, y = off[0] + radius * math.cos(turn), off[1] + radius * math.sin(turn)
        found.append(
            SimpleNamespace(hole=SimpleNamespace(x=x, y=y, radius=radius), thread=SimpleNamespace(row=row, name=size))
        )
    dowel = SimpleNamespace(hole=SimpleNamespace(x=500.0, y=0.0, radius=500.0), thread=None)
    return [*found, dowel]


def adapter(yaw: float = 0.0, grade: str = "8.8", centre: float | None = 135.0, material: str = "6082-T6", **more):
    motor = SimpleNamespace(name="motor", source="made up", mass=48.0, centre=centre, length=280.0, torque=240.0)
    given = SimpleNamespace(
        catalogue=SHOP,
        ask=SimpleNamespace(yaw=yaw),
        motor=motor,
        material=SHOP.material(material),
        bolt_class=lambda _: grade,
    )
    plates = tuple(SimpleNamespace(thickness=20.0, mark=f"plate {i}") for i in (1, 2))
    sides = {"motor_holes": holes(80.0, 6), "gearbox_holes": holes(150.0, 8, off=(10.0, 20.0))} | more
    return SimpleNamespace(name="a", given=given, plates=plates, depth=SimpleNamespace(thickness=65.0), **sides)


def under(way: str, g: float = 10.0, design=None, weight: bool = False):
    case = SHOP.load("guideline-20g").model_copy(
        update=dict.fromkeys(("forward", "rearward", "left", "right", "up", "down")) | {way: g, "weight": weight}
    )
    found = adapter_calculations(design or adapter(), case)
    assert [c.member for c in found] == [
        "bolts to the motor",
        "bolts to the gearbox",
        "plate under the motor's overhang",
    ]
    for one in found:
        assert one.throw == f"{g:g} g {way}"
        assert one.case == "guideline-20g"
    return found


def test_bolts_of_both_faces_thrown_up():
    force = 48 * 10 * G
    motor, gearbox, _ = under("up")
    for one, arm, radius, count in ((motor, 135, 80, 6), (gearbox, 135 + 65, 150, 8)):
        pull = force * arm / (count / 2 * radius)
        shear = force / count + 240e3 / (count * radius)
        v = one.working.values
        assert (v["N"], v["V"]) == pytest.approx((pull, shear))
        together = shear / (0.6 * 46_400 / 1.25) + pull / (1.4 * 0.9 * 46_400 / 1.25)
        assert one.use == one.demand == pytest.approx(max(together, pull / (0.9 * 46_400 / 1.25)))
        assert one.resistance == 1
        assert one.piece == f"{count} x M10"
        assert one.what.startswith("M10, class 8.8")
    assert (motor.where, gearbox.where) == (("plate 1",), ("plate 2",))


def test_pull_alone_may_govern():
    far = adapter(centre=4000.0)
    one = under("up", design=far)[0]
    pull = 48 * 10 * G * 4000 / (3 * 80)
    assert one.use == pytest.approx(pull / (0.9 * 46_400 / 1.25))


def test_along_the_shaft():
    """Forward is away from the gearbox: the bolts pull; rearward the motor is pressed on."""
    force = 48 * 10 * G
    forward = under("forward", weight=True)[0].working.values
    overhang = 48 * G * 135
    assert forward["N"] == pytest.approx(force / 6 + overhang / (3 * 80))
    rearward = under("rearward", weight=True)[0].working.values
    assert rearward["N"] == pytest.approx(overhang / (3 * 80))
    # Turned half round, the other way.
    turned = under("rearward", design=adapter(yaw=180.0))[0].working.values
    assert turned["N"] == pytest.approx(force / 6)
    assert turned["V"] == pytest.approx(240e3 / (6 * 80))


def test_across_with_the_weight():
    v = under("left", weight=True)[0].working.values
    assert v["a_t"] == pytest.approx(G * math.hypot(10, 1))
    assert v["N"] == pytest.approx(48 * G * math.hypot(10, 1) * 135 / (3 * 80))


def test_a_motor_whose_centre_is_not_known():
    assert under("up", design=adapter(centre=None))[0].working.values["c_m"] == 140


def test_uneven_bolts_count_by_their_weakest_way():
    """A flat pattern: 4 bolts at ±100, ±30: Σ y² = 3600 is the weakest, the farthest is the diagonal."""
    flat = [h for h in holes(1.0, 4) if h.thread]
    for one, (x, y) in zip(flat, ((100, 30), (-100, 30), (-100, -30), (100, -30)), strict=True):
        one.hole.x, one.hole.y = x + 7.0, y - 3.0
    v = under("up", design=adapter(motor_holes=flat))[0].working.values
    assert (v["S"], v["S_p"], v["r_m"]) == pytest.approx((4 * 900, 4 * 10_900, math.hypot(100, 30)))


def test_the_weakest_bolt_and_its_class():
    mixed = [*holes(80.0, 5), *holes(80.0, 1, "M8")]
    one = under("up", design=adapter(motor_holes=mixed, grade="10.9"))[0]
    assert one.piece == "6 x M8"
    assert one.working.values["F_v_Rd"] == pytest.approx(0.5 * 38_100 / 1.25)
    inch = SHOP.row("bolt", "3/8-16")
    other = holes(80.0, 6)
    for hole in other[:-1]:
        hole.thread = SimpleNamespace(row=inch, name="3/8-16")
    design = adapter(motor_holes=other)
    design.given.bolt_class = lambda thread: "grade 5" if thread.name == "3/8-16" else "8.8"
    one = under("up", design=design)[0]
    # A class without a row of its own counts half in shear.
    assert one.working.values["F_v_Rd"] == pytest.approx(0.5 * inch.ultimate_load["grade 5"] / 1.25)


@pytest.mark.parametrize(("inner", "outer"), [("motor_holes", "gearbox_holes"), ("gearbox_holes", "motor_holes")])
def test_the_plate_between_its_circles(inner, outer):
    """The upper half of the inner circle pulls M / (4 r / π); 50 mm to the other circle, over its diameter."""
    design = adapter(**{inner: holes(100.0, 6), outer: holes(150.0, 6)})
    one = under("up", design=design)[2]
    moment = 48 * 10 * G * 135
    pull = moment / (4 * 100 / math.pi)
    assert one.demand == pytest.approx(6 * pull * 50 / (200 * 20**2), rel=1e-6)
    assert (one.resistance, one.unit, one.piece, one.where) == (
        pytest.approx(240 / 1.1),
        "MPa",
        "plate 1",
        ("plate 1",),
    )
    assert one.use == pytest.approx(one.demand / one.resistance)
    along = under("forward", design=design)[2]
    assert along.demand == pytest.approx(6 * (48 * 10 * G / 2) * 50 / (200 * 20**2), rel=1e-6)


def test_fewer_than_three_bolts_do_not_hold():
    design = adapter(gearbox_holes=holes(150.0, 2))
    with pytest.raises(Unchecked, match="the gearbox's face has 2 bolts: fewer than three do not hold a motor"):
        under("up", design=design)
    assert len(under("up", design=adapter(gearbox_holes=holes(150.0, 3)))) == 3


def test_findings_and_sheets():
    case = SHOP.load("guideline-20g")
    bare = case.model_copy(update={"name": "asd", "basis": "allowable stress"})
    found = adapter_findings(adapter(), [case, bare])
    assert [f.check for f in found] == [
        "bolts to the motor",
        "bolts to the gearbox",
        "plate under the motor's overhang",
        "strength data",
    ]
    assert {f.subject for f in found} == {"adapter a"}
    gap: Finding = found[-1]
    assert gap.verdict == "look"
    assert gap.message.startswith("under 'asd': material '6082-T6' has no minimum strength for 20 mm")
    done = adapter_calculations(adapter(), case)
    assert len(done) == 18
    assert found[0].value == pytest.approx(100 * max(c.use for c in done if c.member == "bolts to the motor"))
    assert [c.use for c in adapter_sheets(adapter(), [bare, case])] == [c.use for c in done]
    assert len(adapter_sheets(adapter(), [case, bare, case])) == 36
