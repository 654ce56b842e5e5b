"""A motor's map against constant efficiency, and two motors in line."""

import numpy as np
import pytest
from pydantic import ValidationError

from baywright.job.drive import Drive, MotorMap, PackAsk
from baywright.job.parts import Electrical
from baywright.vehicle.motor_map import power_train
from baywright.vehicle.pack import BoxLoad, pack_of
from baywright.vehicle.performance import Chassis, compare, motor_torque
from baywright.vehicle.road import Losses, RoadLoad, steady, trip

MOTOR = {"peak_torque": 210, "peak_power": 95, "continuous_power": 38, "most_speed": 9000}
GEARS = {"ratios": [3.4, 2.1, 1.4, 1.0], "final": 4.1, "tyre_radius": 290, "efficiency": 0.95}
FLAT = {"speeds": [0, 9000], "torques": [0, 210], "efficiency": [[0.88, 0.88], [0.88, 0.88]]}
LOAD = RoadLoad(mass=1200.0, drag_area=0.75, rolling=0.012, rotating=0.04)


def drive(**motor):
    return Drive.model_validate({"motor": {**MOTOR, **motor}, "gears": GEARS})


def test_a_level_map_is_constant_efficiency():
    mapped = Losses(train=power_train(drive(map=FLAT)), share=0.6, auxiliary=0.4)
    plain = Losses(driving=0.88 * 0.95, regeneration=0.88 * 0.95, share=0.6, auxiliary=0.4)
    for name in ("udds", "hwfet"):
        assert trip(LOAD, mapped, name).pack == pytest.approx(trip(LOAD, plain, name).pack, rel=1e-12)
    speeds = np.array([20.0, 80.0, 130.0])
    assert steady(LOAD, mapped, speeds) == pytest.approx(steady(LOAD, plain, speeds), rel=1e-12)


def test_the_gear_that_loses_least_is_taken():
    """Efficient only when it turns slowly: the longest gear. Efficient only turning fast: the shortest allowed."""
    table = [[0.9, 0.5], [0.9, 0.5]]
    slow = power_train(drive(map={**FLAT, "efficiency": table}))
    fast = power_train(drive(map={**FLAT, "efficiency": [row[::-1] for row in table]}))
    speed = np.array([60 / 3.6])
    turns = speed * slow.turns  # by gear
    share = turns / 9000
    assert slow.efficiency(np.array([8000.0]), speed)[0] == pytest.approx(0.95 * (0.9 - 0.4 * share[-1]))
    # First gear would turn the motor 8126 rev/min at 60 km/h: allowed; at 80 km/h it is not, and second gear it is.
    assert fast.efficiency(np.array([8000.0]), speed)[0] == pytest.approx(0.95 * (0.5 + 0.4 * share[0]))
    quick = np.array([80 / 3.6])
    second = quick[0] * fast.turns[1] / 9000
    assert fast.efficiency(np.array([8000.0]), quick)[0] == pytest.approx(0.95 * (0.5 + 0.4 * second))


def test_the_map_is_read_straight_between_its_entries():
    chart = {
        "speeds": [0, 4000, 9000],
        "torques": [0, 100, 210],
        "efficiency": [[0.5, 0.6, 0.7], [0.8, 0.9, 0.85], [0.7, 0.8, 0.75]],
    }
    one = Drive.model_validate(
        {"motor": {**MOTOR, "map": chart}, "gears": {**GEARS, "ratios": [1.0], "efficiency": 1.0}}
    )
    train = power_train(one)
    speed = 2000 / train.turns[0]
    torque = 50.0
    power = torque * 2000 * np.pi / 30
    found = train.efficiency(np.array([power]), np.array([speed]))[0]
    assert found == pytest.approx((0.5 + 0.6 + 0.8 + 0.9) / 4)


def test_two_identical_motors_in_line_double_the_output():
    """Common practice, no source."""
    one, two = drive(), drive(count=2)
    turns = np.linspace(1, 9100, 300)
    assert motor_torque(two.motor)(turns) == pytest.approx(2 * motor_torque(one.motor)(turns))
    chassis = Chassis(
        load=LOAD,
        front_share=0.5,
        wheelbase=2400,
        height=550,
        driven="rear",
        grip=1.5,
        final=4.1,
        ratios=(2.1,),
        radius=290,
        efficiency=0.95,
    )
    single, double = (compare(asked, chassis)[0] for asked in (one, two))
    assert (double.name, double.shaft_torque, double.power) == (
        "2 motors",
        2 * single.shaft_torque,
        pytest.approx(2 * single.power),
    )
    assert double.gears[0].limit == single.gears[0].limit
    assert double.time < single.time
    # One pack feeds both: its power may be what holds them back.
    assert compare(two, chassis, pack_power=95.0)[0].power == pytest.approx(single.power)


def test_each_motor_at_half_the_torque_sits_elsewhere_in_its_map():
    rising = {**FLAT, "efficiency": [[0.6, 0.6], [0.9, 0.9]]}
    one, two = (power_train(drive(count=n, map=rising)) for n in (1, 2))
    power, speed = np.array([20_000.0]), np.array([20.0])
    assert two.efficiency(power, speed)[0] < one.efficiency(power, speed)[0]


def test_two_controllers_draw_twice_from_one_pack():
    module = Electrical.model_validate(
        {
            "series": 12,
            "parallel": 1,
            "capacity": 60,
            "nominal_voltage": 44,
            "full_voltage": 50.4,
            "cutoff_voltage": 36.0,
            "continuous_current": 60,
            "peak_current": 180,
            "resistance_mohm": 12.0,
        }
    )
    control = {"least_voltage": 180, "most_voltage": 420, "continuous_current": 100, "peak_current": 300}
    one, two = (
        pack_of(module, [BoxLoad(name="a", count=8)], PackAsk.model_validate({"controller": {**control, "count": n}}))
        for n in (1, 2)
    )
    assert (two.continuous, two.peak) == (2 * one.continuous, 2 * one.peak)
    assert one.nominal - two.sagged == pytest.approx(2 * (one.nominal - one.sagged))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"speeds": [0, 0]}, "speeds must rise"),
        ({"efficiency": [[0.9, 0.9]] * 3}, "2 rows, one a torque"),
        ({"efficiency": [[0.9, 90], [0.9, 0.9]]}, "each efficiency is a share"),
    ],
)
def test_a_map_that_is_none_is_refused(change, words):
    with pytest.raises(ValidationError, match=words):
        MotorMap.model_validate({**FLAT, **change})
