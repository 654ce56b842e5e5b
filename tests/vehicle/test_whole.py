"""A whole job's car: every part of it in one go, its tables and pictures, and what is refused."""

import numpy as np
import pytest

from baywright.design import design_job
from baywright.figure import save_figure
from baywright.job.messages import BadInput
from baywright.job.read import read_job
from baywright.piece.solid import Block
from baywright.vehicle.balance import balance
from baywright.vehicle.moved import what_moved
from baywright.vehicle.picture import balance_figure
from baywright.vehicle.scatter import scatter
from baywright.vehicle.tables import (
    render_balance,
    render_corners,
    render_inertia,
    render_items,
    render_moved,
    render_pack,
    render_performance,
    render_ranges,
)
from baywright.vehicle.whole import vehicle

JOB = """
[job]
name = "saloon"

[car]
name = "saloon"
wheelbase = 2450
track_front = 1305
track_rear = 1285
ratings = { front_axle = 760, rear_axle = 840, gross = 1560 }
removed = [{ name = "engine", mass = 171, at = [-35, 0, 560] }, { name = "tank", mass = "38 ± 4", at = [2830, 0, 420] }]
added = [{ name = "motor", mass = 74, at = [235, 0, 470] }]
rules = ["workshop"]
tyres = { front = 82, rear = 84 }
papers = { kerb = 1100, power = 47 }
laden = [{ name = "two up", items = [{ name = "seats", mass = "150 kg ± 10 kg", at = [1250, 0, 600] }] }]

[car.weighed]
corners = [
    { front_left = 301, front_right = 295, rear_left = 264, rear_right = 258 },
    { front_left = 302, front_right = 294, rear_left = 263, rear_right = 259 },
]
raised_axle = { axle = "front", by = "500 mm ± 5 mm", load = "546 kg ± 1 kg", radius = "290 mm ± 3 mm" }
"""
BOXES = """
[boxes.front]
module = "m590"
count = 3
at = [30, 0, 345]
yaw = 90

[boxes.rear]
module = "m590"
count = 5
at = [2250, 0, 440]
yaw = -90
"""
REST = """
[pack]
controller = { least_voltage = 200, most_voltage = 420, continuous_current = 120, peak_current = 300 }
[road]
range_wanted = 60
[drive]
motor = { peak_torque = 220, peak_power = 120, continuous_power = 40, most_speed = 9000 }
gears = { ratios = [3.4, 2.1, 1.4, 1.0], final = 4.1, tyre_radius = 290 }
engine = { speeds = [1000, 2500, 4000, 5500], torques = [80, 105, 98, 78] }
"""
FULL = JOB + BOXES + REST


def job_of(folder, text):
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return read_job(path)


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    job = job_of(tmp_path_factory.mktemp("job"), FULL)
    carried = design_job(job).carried
    return vehicle(job, carried), carried


def test_everything_is_reckoned(whole):
    found, carried = whole
    checks = {f.check for f in found.findings}
    assert checks >= {
        "weighing",
        "centroid height",
        "rear axle load, two up",
        "front tyre load",
        "voltage, full",
        "touch voltage",
        "range",
        "gearbox torque",
        "kerb mass change (workshop)",
    }
    assert all(f.source for f in found.findings)
    assert found.pack.modules == 8
    assert found.load.mass == pytest.approx(found.balance.after.mass + 75)
    assert found.ranges.usable == found.pack.usable
    # The pack gives less than the motor could take: 300 A at its sagged voltage.
    assert found.motor.power == pytest.approx(found.pack.sagged * 0.3)
    assert found.engine.shaft_torque == pytest.approx(105, rel=1e-3)
    assert [name for name, _ in carried] == [i.name for i in found.balance.added[-2:]]


def test_tables_have_their_rows(whole):
    found, carried = whole
    spread = scatter(found.car, carried, 1000)
    assert render_balance(found.balance, spread).row_count == 9
    assert len(render_balance(found.balance).columns) == 5
    assert render_items(found.balance).row_count == len(found.balance.removed) + len(found.balance.added)
    assert render_corners(found.balance).row_count == 4
    assert render_inertia(found.balance).row_count == 2
    assert render_pack(found.pack).row_count >= 7
    assert render_ranges(found.ranges).row_count == len(found.ranges.rows)
    assert render_performance(found.motor, found.engine).row_count == 10
    shifts, things = render_moved(what_moved(balance(found.car), found.balance))
    assert shifts.row_count > 10
    assert things.row_count == 2


OUTSIDE = [("front", Block(np.array([-160.0, -430, 345]), np.array([230.0, 430, 765])))]


def test_the_balance_picture_is_written_the_same_twice(whole, tmp_path):
    found, carried = whole
    spread = scatter(found.car, carried, 1000)
    for name in ("a.png", "b.png", "a.svg", "b.svg"):
        save_figure(balance_figure(found.car, found.balance, spread, OUTSIDE), tmp_path / name)
    for kind in ("png", "svg"):
        assert (tmp_path / f"a.{kind}").read_bytes() == (tmp_path / f"b.{kind}").read_bytes()


def test_a_car_of_which_little_is_known_can_be_drawn(whole, tmp_path):
    from dataclasses import replace

    found, _ = whole
    bare = replace(found.car, corners=None, height=None, track_front=None, track_rear=None)
    save_figure(balance_figure(bare, balance(bare)), tmp_path / "bare.pdf")
    assert (tmp_path / "bare.pdf").stat().st_size > 5000


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('rules = ["workshop"]', 'rules = ["worksop"]', "did you mean 'workshop'"),
        ("[pack]", "[pack]\nstrings = 3", "take 6 or 9 modules"),
        ("mass = 171", "mass = 1710", "check masses and places"),
        ("[pack]", "[pack]\ncable = { area = 2.5 }", "not in the table"),
    ],
)
def test_what_cannot_be_true_is_said_with_its_key(tmp_path, old, new, words):
    assert FULL.count(old) == 1
    job = job_of(tmp_path, FULL.replace(old, new))
    with pytest.raises(BadInput, match=words) as caught:
        vehicle(job, design_job(job).carried)
    assert caught.value.problems[0].line is not None
    assert caught.value.problems[0].key


def test_a_job_without_drive_or_boxes(tmp_path):
    job = job_of(tmp_path, JOB)
    found = vehicle(job, [])
    assert (found.pack, found.ranges, found.chassis, found.motor) == (None, None, None, None)
