import numpy as np
import pytest

from baywright.rail.given import given
from baywright.rail.loads import G, cases, mount_forces, reaction
from baywright.rail.measure import locate
from baywright.rail.place import mounts_of, shaft_pose
from baywright.shape.mass import point_mass


def known(base, asked, catalogue, **drive):
    base["drive"] |= drive
    return given(asked(base), catalogue)


def test_a_propshaft_turns_the_unit_back_by_first_gear(base, asked, catalogue):
    """200 N·m through 3.5 is 700 N·m: over 0.5 m of track two mounts take 1.4 kN up and down."""
    base["motor"]["torque"] = 200
    got = reaction(known(base, asked, catalogue, driven_mass=3000))
    assert got.torque == pytest.approx(700)
    assert got.about == "the shaft"
    assert got.torque * 1000 / 500 == pytest.approx(1400)


def test_a_transaxle_by_the_final_drive_too(base, asked, catalogue):
    base["motor"]["torque"] = 200
    got = reaction(known(base, asked, catalogue, layout="transaxle", driven_mass=3000))
    assert got.torque == pytest.approx(200 * 3.5 * 3.9)
    assert got.about == "the axle"


def test_grip_is_the_cap(base, asked, catalogue):
    got = reaction(known(base, asked, catalogue, driven_mass=500, grip=0.9))
    wheels = 0.9 * 500 * G * 0.295
    assert got.torque == pytest.approx(wheels / 3.9)
    across = reaction(known(base, asked, catalogue, layout="transaxle"))
    assert across.torque == pytest.approx(wheels)


def test_two_motors_give_twice_the_torque(base, asked, catalogue):
    one = reaction(known(base, asked, catalogue)).geared
    base["motor"] |= {"count": 2, "pitch": 400}
    assert reaction(given(asked(base), catalogue)).geared == pytest.approx(2 * one)


def test_cases_come_both_ways_round_and_along_the_right_axis(base, asked, catalogue):
    g = known(base, asked, catalogue)
    pose = shaft_pose(g.ask.shaft)
    listed = cases(g, pose, 80.0)
    assert listed[0].name == "at rest"
    assert pose.direction(listed[0].force) == pytest.approx([0, 0, -80 * G])
    turned = [c for c in listed if np.any(c.moment)]
    assert len(turned) == 4
    assert np.allclose(turned[0].moment, -turned[1].moment)
    assert np.allclose(np.cross(turned[0].moment, [1, 0, 0]), 0)  # about the shaft
    braking = next(c for c in listed if c.name == "braking")
    assert pose.direction(braking.force) == pytest.approx([-1.2 * 80 * G, 0, -80 * G])  # thrown forward and down
    across = cases(known(base, asked, catalogue, layout="transaxle"), pose, 80.0)
    moment = next(c for c in across if np.any(c.moment)).moment
    assert np.allclose(np.cross(pose.direction(moment), [0, 1, 0]), 0, atol=1e-6)  # about the axle


def test_weight_is_shared_as_levers_ask(base, asked, catalogue):
    """Four equal mounts, the unit's weight a quarter of the way from front to rear: 3 to 1, by first principles."""
    for mount in base["mounts"].values():
        mount.pop("rubber", None)
        mount["at"][2] = 390
    g = known(base, asked, catalogue)
    pose = shaft_pose(g.ask.shaft)
    mounts = mounts_of(g.ask.mounts, locate(g.ask.mounts, {}), pose)
    front, rear = np.array([-80.0, 0, 390]), np.array([400.0, 0, 390])
    body = point_mass(100.0, pose.inverse()(0.75 * front + 0.25 * rear).tolist())
    at_rest = cases(g, pose, 100.0)[:1]
    up = pose.direction(mount_forces(mounts, 1e4, body, at_rest)[0])[:, 2]
    assert up == pytest.approx([100 * G * 0.375] * 2 + [100 * G * 0.125] * 2, rel=1e-6)


def test_a_motor_of_the_catalogue_brings_its_cradle(base, asked, catalogue):
    base["motor"] = {"part": "demo-motor-90", "stand_off": 64}
    base["cradle"] = {"lugs": {"plates": base["cradle"]["lugs"]["plates"]}}
    g = given(asked(base), catalogue)
    row = catalogue.row("motor", "demo-motor-90")
    assert (g.motor.mass, g.motor.length, g.motor.torque) == (row.mass, row.length, row.torque)
    assert g.motor.centre == (row.centre, 0.0, 0.0)
    assert g.lugs is not None
    assert g.lugs.holes == ((252.0, -130.0), (252.0, -50.0))
    assert g.lugs.edge == pytest.approx(252 + 11 / 2 + 12)  # the plate's own lug: hole, and the wall round it
    assert g.bolt == "M10"
    base["motor"]["mass"] = 70
    assert given(asked(base), catalogue).motor.mass == 70


def test_a_request_in_inches_is_the_same_request(catalogue):
    """1 in = 25.4 mm exactly; a value with a unit of its own keeps it."""
    from baywright.job.rails import RailsAsk

    def table(one):
        return {
            "shaft": {"centre": [12.0 * one, 0, 18.0 * one], "toward": "front"},
            "motor": {
                "length": 10.0 * one,
                "diameter": 9.0 * one,
                "mass": 60,
                "torque": 180,
                "stand_off": 2.5 * one,
            },
            "cradle": {
                "feet": {"out": 4.5 * one, "height": -5.0 * one, "thickness": 0.5 * one, "holes": [one, 9.0 * one]}
            },
            "drive": {
                "layout": "direct",
                "final_drive": 3.9,
                "wheel_radius": 11.5 * one,
                "driven_mass": 700,
            },
            "mounts": {
                n: {"at": [x * one, y * one, "430 mm"]} for n, x, y in (("a", -3, 9), ("b", -3, -9), ("c", 16, 0))
            },
        }

    inches = RailsAsk.model_validate(table(1), context={"units": {"length": "in"}})
    metric = RailsAsk.model_validate(table(25.4), context={"units": {}})
    assert inches.shaft.centre == pytest.approx(metric.shaft.centre)
    assert given(inches, catalogue).motor.length == pytest.approx(254.0)
    assert [c.value for c in inches.mounts["a"].at] == pytest.approx([c.value for c in metric.mounts["a"].at])
    assert inches.cradle.feet.holes == pytest.approx(metric.cradle.feet.holes)
