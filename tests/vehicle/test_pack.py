"""Packs: strings over boxes, windows, currents, cable and fuse."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright.job.drive import PackAsk
from baywright.job.parts import Electrical
from baywright.vehicle.pack import COPPER, BoxLoad, pack_of, share_out
from baywright.vehicle.pack_limits import pack_findings
from baywright.vehicle.voltage import ampacity, creepage

MODULE = Electrical.model_validate(
    {
        "series": 12,
        "capacity": 84,
        "nominal_voltage": 44.0,
        "full_voltage": 50.4,
        "cutoff_voltage": 36.0,
        "continuous_current": 126,
        "peak_current": 336,
        "resistance_mohm": 9.6,
    }
)
CONTROL = {"least_voltage": 200, "most_voltage": 420, "continuous_current": 120, "peak_current": 300}
EIGHT = [BoxLoad(name="front", count=3, at=(0.0, 0.0, 600.0)), BoxLoad(name="rear", count=5, at=(2200.0, 100.0, 600.0))]


def found(check, boxes=EIGHT, **ask):
    model = PackAsk.model_validate(ask)
    return next(f for f in pack_findings(pack_of(MODULE, boxes, model), MODULE, model) if f.check == check)


def test_a_pack_of_eight_in_two_boxes():
    pack = pack_of(MODULE, EIGHT, PackAsk.model_validate({"controller": CONTROL}))
    assert (pack.modules, pack.in_series, pack.strings) == (8, 8, 1)
    assert pack.energy == pytest.approx(8 * 44 * 84 / 1000)
    assert pack.usable == pytest.approx(0.8 * pack.energy)
    assert pack.sagged == pytest.approx(8 * 44 - 300 * 8 * 0.0096)
    assert pack.short_circuit == pytest.approx(8 * 50.4 / (8 * 0.0096))
    assert pack.crossing == (1,)


def test_strings_in_parallel_share_current_and_capacity():
    boxes = [BoxLoad(name="front", count=4), BoxLoad(name="rear", count=4)]
    two = pack_of(MODULE, boxes, PackAsk.model_validate({"controller": CONTROL, "strings": 2}))
    assert (two.in_series, two.capacity, two.continuous, two.peak) == (4, 168, 60, 150)
    assert two.resistance == pytest.approx(4 * 0.0096 / 2)
    assert two.crossing == ()
    with pytest.raises(ValueError, match="take 6 or 9 modules"):
        pack_of(MODULE, boxes, PackAsk(strings=3))
    with pytest.raises(ValueError, match="no box holds"):
        pack_of(MODULE, [], PackAsk())


@given(st.lists(st.integers(0, 12), min_size=1, max_size=4), st.integers(1, 8))
def test_every_module_is_in_one_string_and_every_string_is_full(counts, in_series):
    total = sum(counts)
    counts[-1] += -total % in_series
    boxes = [(f"box {i}", c) for i, c in enumerate(counts)]
    strings = share_out(boxes, in_series)
    assert all(sum(c for _, c in s) == in_series for s in strings)
    for name, count in boxes:
        assert sum(c for s in strings for n, c in s if n == name) == count
    # Strings within one box are as many as can be.
    assert sum(len(s) == 1 for s in strings) >= sum(c // in_series for _, c in boxes)


def test_unequal_boxes_cross_and_say_how():
    boxes = [BoxLoad(name="front", count=3), BoxLoad(name="rear", count=5)]
    finding = found("strings across boxes", boxes, strings=2)
    assert finding.verdict == "look"
    assert "string 2: 3 in front, 1 in rear" in finding.message


def test_cable_lengths_follow_the_boxes():
    ask = PackAsk.model_validate({"controller": {**CONTROL, "at": [400.0, 0.0, 700.0]}, "cable": {"area": 50}})
    pack = pack_of(MODULE, EIGHT, ask)
    steps = [400 + 100, 2200 + 100, 1800 + 100 + 100]
    assert [link.metres for link in pack.links] == pytest.approx([(1.15 * s + 600) / 1000 for s in steps])
    wire = COPPER * sum(link.metres for link in pack.links) / 50
    assert pack.resistance == pytest.approx(8 * 0.0096 + wire)
    assert pack_of(MODULE, EIGHT, PackAsk()).links[0].first == "front"
    assert pack_of(MODULE, [BoxLoad(name="a", count=1), BoxLoad(name="b", count=1)], PackAsk()).links == ()


@pytest.mark.parametrize(
    ("check", "change", "verdict"),
    [
        ("voltage, full", {"most_voltage": 403}, "fail"),
        ("voltage, full", {"most_voltage": 404}, "pass"),
        ("voltage, empty", {"least_voltage": 289}, "fail"),
        ("voltage under peak current", {"least_voltage": 330}, "fail"),
        ("voltage under peak current", {}, "pass"),
        ("continuous current of a module", {"continuous_current": 127}, "fail"),
        ("peak current of a module", {"peak_current": 337}, "fail"),
        ("peak current of a module", {"peak_current": 336}, "pass"),
    ],
)
def test_the_controller_and_the_modules(check, change, verdict):
    assert found(check, controller={**CONTROL, **change}).verdict == verdict


def test_regeneration_raises_the_top():
    finding = found("voltage, full and regenerating", controller={**CONTROL, "regeneration_current": 100})
    assert finding.value == pytest.approx(403.2 + 100 * 8 * 0.0096)


def test_charger():
    assert found("voltage, charging", charger={"most_voltage": 400, "power": 6.6}).verdict == "fail"
    assert found("charging", charger={"most_voltage": 420, "power": 6.6}).value == pytest.approx(0.8 * 29.568 / 6.6)
    assert found("charging current of a module", charger={"most_voltage": 420, "power": 22}).verdict == "look"


@pytest.mark.parametrize(
    ("check", "cable", "fuse", "verdict"),
    [
        ("cable", {"area": 16}, {"rating": 250, "voltage": 500}, "pass"),
        ("cable", {"area": "13 mm**2", "surroundings_temperature": 60}, {"rating": 250, "voltage": 500}, "fail"),
        ("fuse against current", {"area": 50}, {"rating": 150, "voltage": 500}, "pass"),
        ("fuse against current", {"area": 50}, {"rating": 149, "voltage": 500}, "fail"),
        ("fuse against cable", {"area": 50}, {"rating": 250, "voltage": 500}, "pass"),
        ("fuse against cable", {"area": 35}, {"rating": 250, "voltage": 500}, "fail"),
        ("fuse's voltage", {"area": 50}, {"rating": 250, "voltage": 400}, "fail"),
        ("fuse's breaking capacity", {"area": 50}, {"rating": 250, "voltage": 500, "breaking": 3000}, "fail"),
        ("fuse's breaking capacity", {"area": 50}, {"rating": 250, "voltage": 500, "breaking": 10000}, "pass"),
    ],
)
def test_cable_and_fuse(check, cable, fuse, verdict):
    assert found(check, controller=CONTROL, cable=cable, fuse=fuse).verdict == verdict


def test_the_cables_lose_volts():
    """By hand: 0.01995 Ω mm²/m of hot copper, out and back, at what a string carries."""
    control = CONTROL | {"at": (400, 200, 700)}
    one = found("cable's voltage drop", controller=control, cable={"area": 50})
    pack = pack_of(MODULE, EIGHT, PackAsk.model_validate({"controller": control, "cable": {"area": 50}}))
    volts = 300 * 0.01724 * (1 + 0.00393 * 40) * sum(link.metres for link in pack.links) / 50
    assert one.value == pytest.approx(100 * volts / (8 * 44))
    assert f"{volts:.2f} V at 300 A" in one.message
    assert one.verdict == "pass"
    # Two strings share the current, and each has its own way.
    two = PackAsk.model_validate({"controller": control, "cable": {"area": 50}, "strings": 2})
    metres = sum(link.metres for link in pack_of(MODULE, EIGHT, two).links) / 2
    both = found("cable's voltage drop", controller=control, cable={"area": 50}, strings=2)
    assert both.value == pytest.approx(100 * 150 * COPPER * metres / 50 / (4 * 44))
    far = [EIGHT[0], BoxLoad(name="rear", count=5, at=(4400.0, 100.0, 600.0))]
    assert found("cable's voltage drop", far, controller=control, cable={"area": 6}).verdict == "look"


def test_no_fuse_asks_for_one():
    assert found("fuse").verdict == "look"


def test_ampacity_rises_with_area_and_falls_with_heat():
    areas = [6, 10, 16, 25, 35, 50, 70, 95, 120]
    amps = [ampacity(a, 105, 30)[0] for a in areas]
    assert amps == sorted(amps)
    assert ampacity(50, 105, 60)[0] < ampacity(50, 105, 40)[0] < ampacity(50, 125, 40)[0]
    for wrong in ((4.0, 105, 30), (150.0, 105, 30), (50.0, 105, 105)):
        with pytest.raises(ValueError, match="cable"):
            ampacity(*wrong)
    with pytest.raises(ValueError, match="over the creepage table"):
        creepage(1001, 3, "III")
    with pytest.raises(ValueError, match="no creepage"):
        creepage(400, 4, "III")


def test_strings_in_parallel_share_the_cable():
    """Two strings, each with its own way: half the resistance of one, cable and all."""
    places = [BoxLoad(name="a", count=4, at=(0, 0, 500)), BoxLoad(name="b", count=4, at=(2000, 0, 500))]
    ask = PackAsk.model_validate({"strings": 2, "cable": {"area": 10}, "controller": {**CONTROL, "at": [500, 0, 500]}})
    both = pack_of(MODULE, places, ask)
    one = pack_of(MODULE, places[:1], ask.model_copy(update={"strings": 1}))
    other = pack_of(MODULE, places[1:], ask.model_copy(update={"strings": 1}))
    assert both.resistance == pytest.approx((one.resistance + other.resistance) / 4)


def test_sense_wires_stay_in_unless_one_board_watches_all():
    boxes = [BoxLoad(name="a", count=3, at=(0, 0, 500)), BoxLoad(name="b", count=5, at=(2000, 300, 500))]
    inside = pack_of(MODULE, boxes, PackAsk())
    assert [(s.wires, s.metres) for s in inside.senses] == [(3 * (MODULE.series + 1), 0), (5 * (MODULE.series + 1), 0)]
    ask = PackAsk.model_validate({"monitor": [0, 0, 500]})
    one_board = pack_of(MODULE, boxes, ask)
    # 2300 mm of steps times 1.15 and 600 mm to make off.
    assert [s.metres for s in one_board.senses] == pytest.approx([0.6, 3.245])
    found = {f.check: f for f in pack_findings(one_board, MODULE, ask)}
    assert found["sense wires"].verdict == "look"
    assert found["sense wires"].value == pytest.approx(3 * 13 * 0.6 + 5 * 13 * 3.245)


def test_a_peak_over_the_fuse_s_rating_asks_for_its_curve():
    ask = PackAsk.model_validate({"fuse": {"rating": 200, "voltage": 500}, "controller": CONTROL})
    found = {f.check: f for f in pack_findings(pack_of(MODULE, [BoxLoad(name="a", count=8)], ask), MODULE, ask)}
    assert found["fuse under peak current"].verdict == "look"
    assert "1.5 times" in found["fuse under peak current"].message
