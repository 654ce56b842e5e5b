"""Voltages, creepage, isolation and cables against their standards' tables.

Creepage: IEC 60664-1 Table F.4, basic insulation, as a maker of terminal blocks prints it (read). Touch voltage 60 V DC
and isolation 100 ohm a volt: ISO 6469-3, UN R100 and FMVSS 305 S3 (the 60 V read in the last, the rest from memory).
Cable: ABYC E-11, single conductors rated 105 degrees C outside and inside an engine space, as a supplier prints it
(read). The pack of 96 in series is plain arithmetic.
"""

import pytest

from baywright.job.drive import PackAsk
from baywright.job.parts import Electrical
from baywright.vehicle.pack import BoxLoad, pack_of
from baywright.vehicle.pack_limits import pack_findings
from baywright.vehicle.voltage import air_gap, ampacity, creepage, isolation, touch

CELLS = Electrical.model_validate(
    {
        "series": 12,
        "parallel": 1,
        "capacity": 60,
        "nominal_voltage": 12 * 3.65,
        "full_voltage": 12 * 4.2,
        "cutoff_voltage": 12 * 3.0,
        "continuous_current": 60,
        "peak_current": 180,
        "resistance_mohm": 12.0,
    }
)


def test_96_in_series():
    pack = pack_of(CELLS, [BoxLoad(name="box", count=8)], PackAsk())
    assert (pack.nominal, pack.full, pack.cutoff) == pytest.approx((350.4, 403.2, 288.0))
    assert pack.energy == pytest.approx(21.024)


@pytest.mark.parametrize(
    ("volts", "degree", "group", "distance"),
    [
        (400, 2, "I", 2.0),
        (400, 2, "II", 2.8),
        (400, 2, "III", 4.0),
        (400, 3, "I", 5.0),
        (400, 3, "II", 5.6),
        (400, 3, "III", 6.3),
        (500, 2, "III", 5.0),
        (500, 3, "III", 8.0),
        (320, 2, "III", 3.2),
        (320, 3, "II", 4.5),
        (800, 3, "III", 12.5),
        (1000, 2, "I", 5.0),
        (160, 3, "III", 2.5),
        (401, 2, "III", 5.0),  # the next row up
    ],
)
def test_creepage(volts, degree, group, distance):
    assert creepage(volts, degree, group)[0] == distance


# Clearances through air, IEC 60664-1 tables F.1 (category II) and F.2 (inhomogeneous field), from memory.
@pytest.mark.parametrize(
    ("volts", "degree", "distance"),
    [(50, 2, 0.2), (150, 2, 0.5), (150, 3, 0.8), (300, 2, 1.5), (301, 3, 3.0), (600, 2, 3.0), (800, 3, 5.5)],
)
def test_clearance_through_air(volts, degree, distance):
    gap, source = air_gap(volts, degree)
    assert gap == distance
    assert "from memory" in source


def test_what_is_too_high_or_too_dirty_for_the_table_of_clearances():
    with pytest.raises(ValueError, match="fewer modules"):
        air_gap(1001, 2)
    with pytest.raises(ValueError, match="pollution degree 4"):
        air_gap(400, 4)


def finding(check, **ask):
    pack = PackAsk.model_validate(ask)
    boxes = [BoxLoad(name="box", count=8)]
    return next(f for f in pack_findings(pack_of(CELLS, boxes, pack), CELLS, pack) if f.check == check)


def test_a_creepage_just_short_of_the_table_fails():
    # 403.2 V: the row of 500 V, 8.0 mm.
    assert finding("creepage", creepage=7.9).verdict == "fail"
    assert finding("creepage", creepage=8.0).verdict == "pass"


def test_a_gap_through_air_just_short_of_the_table_fails():
    assert finding("clearance in air").verdict == "look"
    assert finding("clearance in air", air_gap=2.9).verdict == "fail"
    assert finding("clearance in air", air_gap=3.0).verdict == "pass"


def test_touch_voltage_begins_above_60_volts():
    limit, _ = touch()
    assert limit == 60.0
    at_limit = CELLS.model_copy(update={"full_voltage": 60.0})
    over = CELLS.model_copy(update={"full_voltage": 60.1})
    for module, verdict in ((at_limit, "pass"), (over, "look")):
        pack = pack_of(module, [BoxLoad(name="box", count=1)], PackAsk())
        assert next(f for f in pack_findings(pack, module, PackAsk()) if f.check == "touch voltage").verdict == verdict


def test_isolation_of_400_volts_is_40_kiloohm():
    assert isolation()[0] * 400 / 1000 == 40.0
    assert finding("isolation", isolation_kohm=40.3).verdict == "fail"  # 403.2 V ask 40.32 kΩ
    assert finding("isolation", isolation_kohm=40.4).verdict == "pass"


@pytest.mark.parametrize(("area", "amps"), [(8.366, 80), (21.151, 160), (33.631, 210), (53.475, 285), (107.219, 445)])
def test_cable_in_free_air(area, amps):
    assert ampacity(area, 105, 30)[0] == pytest.approx(amps, rel=1e-6)


@pytest.mark.parametrize(("area", "amps"), [(8.366, 68), (21.151, 136), (33.631, 178), (53.475, 242), (107.219, 378)])
def test_the_same_table_inside_an_engine_space(area, amps):
    """The heat balance that carries the table to other temperatures, against its own second column (50 degrees C)."""
    assert ampacity(area, 105, 50)[0] == pytest.approx(amps, rel=0.015)
