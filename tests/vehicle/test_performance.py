"""Performance against closed forms: constant force, constant power, grip with weight transfer."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright.figure import save_figure
from baywright.job.drive import Drive, MotorAsk
from baywright.vehicle.force_picture import Source, force_figure
from baywright.vehicle.performance import (
    ENGINE,
    WHEELS,
    Chassis,
    chassis_of,
    compare,
    drive_findings,
    engine_torque,
    motor_torque,
    performance,
)
from baywright.vehicle.road import RoadLoad

FREE = RoadLoad(mass=1000.0, drag_area=1e-9, rolling=0.0)
ROAD = RoadLoad(mass=1100.0, drag_area=0.72, rolling=0.012)
CHASSIS = Chassis(
    load=FREE,
    front_share=0.5,
    wheelbase=2400.0,
    height=500.0,
    driven="rear",
    grip=10.0,
    final=4.0,
    ratios=(3.0, 1.5, 1.0),
    radius=300.0,
    efficiency=1.0,
)
ASKED = Drive.model_validate(
    {
        "motor": {"peak_torque": 220, "peak_power": 80, "continuous_power": 40, "most_speed": 9000},
        "gears": {"ratios": [3.4, 2.1, 1.4, 1.0], "final": 4.1, "tyre_radius": 290},
        "engine": {"speeds": [1000, 2500, 4000, 5500], "torques": [80, 105, 98, 78]},
        "most_road_speed": "130 km/h",
    }
)


def level(torque):
    return lambda turns: np.full_like(turns, torque)


def test_constant_force_gives_the_schoolbook_time():
    one = replace(CHASSIS, ratios=(1.0,))
    found = performance("motor", one, level(90.0), level(90.0), 1e5)
    force = 90.0 * 4.0 / 0.3
    inertia = 1000.0 * (1 + WHEELS + ENGINE * 16)
    assert found.gears[0].force == pytest.approx(force)
    assert found.time == pytest.approx(inertia * (100 / 3.6) / force, rel=1e-6)
    assert found.gears[0].axle_torque == pytest.approx(360.0)


def test_constant_power_gives_the_kinetic_energy_over_power():
    one = replace(CHASSIS, ratios=(1.0,))
    motor = MotorAsk.model_validate(
        {"peak_torque": 1e5, "peak_power": 50, "continuous_power": 50, "most_speed": 20_000}
    )
    found = performance("motor", one, motor_torque(motor), motor_torque(motor), 20_000)
    inertia = 1000.0 * (1 + WHEELS + ENGINE * 16)
    # Grip holds it back below 50 kW / 98 kN, a walking pace: a hair of the time.
    assert found.time == pytest.approx(inertia * (100 / 3.6) ** 2 / 2 / 50_000, rel=2e-3)
    assert found.power == pytest.approx(50.0, rel=1e-9)


def test_top_speed_is_where_power_meets_the_road():
    car = replace(CHASSIS, load=ROAD, grip=0.8, ratios=(1.0,))
    motor = ASKED.motor
    found = performance("motor", car, motor_torque(motor), motor_torque(motor, 40.0), 60_000)
    v = found.top / 3.6
    assert float(ROAD.force(v)) * v == pytest.approx(40_000, rel=0.01)


def test_the_shaft_sets_the_speed_of_a_short_gear():
    found, _ = compare(ASKED, chassis_of(ASKED, ROAD, 48.0, 2400.0, 520.0))
    for row in found.gears:
        turns = row.limit / 3.6 / 0.29 * row.ratio * 4.1 * 60 / (2 * np.pi)
        assert turns == pytest.approx(9000)
        assert row.top <= row.limit + 1e-9
    assert found.gears[0].top == pytest.approx(found.gears[0].limit)


@given(st.sampled_from(["front", "rear"]), st.floats(0.3, 1.2), st.floats(0.35, 0.65), st.floats(300, 800))
def test_grip_with_weight_transfer(driven, grip, share, height):
    """At the limit the driven axle's load, shifted by the force itself, times the friction is the force."""
    car = replace(CHASSIS, driven=driven, grip=grip, front_share=share, height=height)
    force = car.most_force()
    weight = 1000.0 * 9.80665
    axle = weight * (share if driven == "front" else 1 - share)
    axle += (-1 if driven == "front" else 1) * force * height / 2400.0
    if force < grip * weight * (1 - 1e-12):
        assert force == pytest.approx(grip * axle)
    still = replace(car, height=None).most_force()
    assert (force < still) == (driven == "front")


def test_start_on_a_slope():
    car = replace(CHASSIS, load=replace(FREE, rolling=0.01), ratios=(1.0,))
    found = performance("motor", car, level(150.0), level(150.0), 5000)
    force = 150 * 4 / 0.3
    sine = force / (1000 * 9.80665) - 0.01
    assert found.gears[0].slope == pytest.approx(np.tan(np.arcsin(sine)), rel=1e-6)


def test_changing_gear_costs_time():
    car = chassis_of(ASKED, ROAD, 48.0, 2400.0, 520.0)
    found, old = compare(ASKED, car)
    assert found.time is not None
    assert old is not None
    assert old.time is not None
    assert old.time > found.time
    assert old.shifts >= 1
    # Never slower than staying in any one gear: a change is made only where it pays.
    assert found.time <= min(row.time for row in found.gears if row.time is not None)
    assert old.time <= min(row.time for row in old.gears if row.time is not None)


def test_a_weak_motor_does_not_get_there():
    weak = ASKED.model_copy(
        update={
            "motor": MotorAsk.model_validate(
                {"peak_torque": 40, "peak_power": 9, "continuous_power": 8, "most_speed": 9000}
            )
        }
    )
    found, _ = compare(weak, chassis_of(weak, ROAD, 48.0, 2400.0, 520.0))
    assert found.time is None
    assert found.top < 100
    feeble = weak.model_copy(update={"gears": weak.gears.model_copy(update={"ratios": [1.0]})})
    slow, _ = compare(feeble, chassis_of(feeble, ROAD, 48.0, 2400.0, 520.0))
    assert drive_findings(slow, feeble, None)[0].verdict == "look"


def test_the_pack_may_hold_the_motor_back():
    car = chassis_of(ASKED, ROAD, 48.0, 2400.0, 520.0)
    assert compare(ASKED, car, pack_power=45.0)[0].power == pytest.approx(45.0)
    assert compare(ASKED, car, pack_power=450.0)[0].power == pytest.approx(80.0)


def test_what_a_person_reads():
    car = chassis_of(ASKED, ROAD, 48.0, 2400.0, 520.0)
    new, old = compare(ASKED, car)
    found = {f.check: f for f in drive_findings(new, ASKED, old)}
    assert found["gearbox torque"].verdict == "look"
    assert "105 N·m" in found["gearbox torque"].message
    assert found["grip"].verdict == "look"
    assert found["motor speed"].verdict == "pass"
    slow = ASKED.model_copy(update={"most_road_speed": 400.0})
    assert {f.check: f.verdict for f in drive_findings(new, slow, old)}["motor speed"] == "fail"
    gentle = ASKED.model_copy(update={"motor": ASKED.motor.model_copy(update={"peak_torque": 100.0})})
    assert {f.check: f.verdict for f in drive_findings(compare(gentle, car)[0], gentle, old)}[
        "gearbox torque"
    ] == "pass"


def test_an_engines_clutch_slips_below_its_curve():
    torque = engine_torque(ASKED.engine)
    assert torque(np.array([0.0, 1000.0, 2500.0, 5500.0, 5501.0])).tolist() == [80, 80, 105, 78, 0]


def test_the_picture_is_written_the_same_twice(tmp_path):
    car = chassis_of(ASKED, ROAD, 48.0, 2400.0, 520.0)
    sources = [
        Source("motor", motor_torque(ASKED.motor), motor_torque(ASKED.motor, 38.0), 9000.0, 140.0),
        Source("engine", engine_torque(ASKED.engine), None, 5500.0, 147.0),
    ]
    for name in ("a.png", "b.png"):
        save_figure(force_figure(car, sources), tmp_path / name)
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()
