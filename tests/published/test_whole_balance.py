"""One complete balance of the demo, worked again line by line as a person with a calculator would.

The job file is read with the standard library's TOML reader and the units turned by hand; only the two boxes' own mass
and centroid come from the package (they are checked elsewhere: arithmetic, solids, parts list). Sums of mass and
moment, lever rule, raised-axle formula h = r + L dW / (W tan a): as the texts on vehicle dynamics of test_balance.py.
"""

import tomllib
from math import asin, sqrt, tan

import numpy as np
import pytest

from baywright.design import design_job
from baywright.job.read import read_job
from baywright.rooms import room
from baywright.vehicle.whole import vehicle

PATH = room("shared") / "jobs" / "estate.toml"
POUND = 0.45359237  # kg, exact (international pound)


def number(value):
    """Return a figure of the job file without its tolerance: kg for "42 lb", else as it stands."""
    if not isinstance(value, str):
        return float(value)
    first, unit = value.split("±")[0].split()
    return float(first) * (POUND if unit == "lb" else 1.0)


@pytest.fixture(scope="module")
def demo():
    made = design_job(read_job(PATH))
    return tomllib.loads(PATH.read_text(encoding="utf-8"))["car"], made, vehicle(made.job, made.carried).balance


@pytest.fixture(scope="module")
def sheet(demo):
    """Return what came out, what went in: rows of mass, x, y, z, and own inertia about the three axes."""
    car, made, _ = demo
    out = [(number(i["mass"]), *map(number, i["at"]), 0.0, 0.0, 0.0) for i in car["removed"]]
    into = [(number(i["mass"]), *map(number, i["at"]), 0.0, 0.0, 0.0) for i in car["added"]]
    for box in made.boxes.values():
        m = box.mass_properties.moved(box.pose)
        into.append((m.mass, *m.centroid.tolist(), *np.diag(m.inertia).tolist()))
    return np.array(out), np.array(into)


def loads(mass, x, y, wheelbase, tracks):
    """Return what masses put on the wheels: front left, front right, rear left, rear right."""
    rear = mass * x / wheelbase
    front = mass - rear
    wide_front, wide_rear = tracks
    return np.array(
        [
            (front * (0.5 - y / wide_front)).sum(),
            (front * (0.5 + y / wide_front)).sum(),
            (rear * (0.5 - y / wide_rear)).sum(),
            (rear * (0.5 + y / wide_rear)).sum(),
        ]
    )


def test_the_demo_by_hand(demo, sheet):
    car, _, whole = demo
    out, into = sheet
    wheelbase, tracks = car["wheelbase"], (car["track_front"], car["track_rear"])
    names = ("front_left", "front_right", "rear_left", "rear_right")
    wheels = np.mean([[r[n] for n in names] for r in car["weighed"]["corners"]], axis=0)
    # 301.0 295.0 264.0 258.0 off the ticket: 596 and 522 kg, 1118 kg in all, 53.3 % in front.
    assert wheels == pytest.approx([301.0, 295.0, 264.0, 258.0])
    before = wheels.sum()
    front, rear = wheels[:2].sum(), wheels[2:].sum()
    x0 = wheelbase * rear / before
    y0 = ((wheels[1] - wheels[0]) * tracks[0] + (wheels[3] - wheels[2]) * tracks[1]) / 2 / before
    # Raised by 500 mm on 2450 mm, 11.78 degrees: 548 kg under the rear axle, 26 kg more than level.
    test = car["weighed"]["raised_axle"]
    tilt = asin(number(test["by"]) / wheelbase)
    z0 = number(test["radius"]) + wheelbase * (number(test["load"]) - rear) / (before * tan(tilt))
    assert (whole.before.mass, whole.before.x) == pytest.approx((before, x0))
    assert (whole.before.y, whole.before.z) == pytest.approx((y0, z0))
    assert z0 == pytest.approx(563.3, abs=0.1)

    changes = np.concatenate([out * [-1, 1, 1, 1, -1, -1, -1], into])
    steps = [("stripped", out * [-1, 1, 1, 1, -1, -1, -1]), ("after", changes)]
    for name, rows in steps:
        m, x, y, z = rows.T[:4]
        mass = before + m.sum()
        state = getattr(whole, name)
        now = wheels + loads(m, x, y, wheelbase, tracks)
        assert state.mass == pytest.approx(mass)
        assert state.front == pytest.approx(now[:2].sum())
        assert state.rear == pytest.approx(now[2:].sum())
        assert state.corners.as_tuple() == pytest.approx(now.tolist())
        assert state.front_share == pytest.approx(100 * now[:2].sum() / mass)
        assert state.left_share == pytest.approx(100 * (now[0] + now[2]) / mass)
        assert state.cross == pytest.approx(100 * (now[1] + now[2]) / mass)
        assert state.x == pytest.approx((before * x0 + (m * x).sum()) / mass)
        assert state.y == pytest.approx((before * y0 + (m * y).sum()) / mass)
        assert state.z == pytest.approx((before * z0 + (m * z).sum()) / mass)
    gained = loads(*changes.T[:3], wheelbase, tracks)
    assert whole.per_corner.as_tuple() == pytest.approx(gained.tolist())
    assert whole.share_change == pytest.approx(
        100 * (front + gained[:2].sum()) / (before + gained.sum()) - 100 * front / before
    )


def test_its_inertia_by_hand(demo, sheet):
    """About the new centroid: the changes', and the rest of the car's, which now turns about a point further off.

    What the car keeps is a body of unknown inertia K about its own centroid. Before: K and what came out. After: K and
    what went in, each with mass times distance squared to the centroid of then. K drops out of the difference.
    """
    _, _, whole = demo
    out, into = sheet
    kept = whole.stripped
    core = np.array([[kept.mass, kept.x, kept.y, kept.z, 0.0, 0.0, 0.0]])

    def about(rows, state):
        m, own = rows[:, 0], rows[:, 4:]
        d = rows[:, 1:4] - [state.x, state.y, state.z]
        square = (d**2).sum(axis=1, keepdims=True) - d**2
        return (own + m[:, None] * square).sum(axis=0) * 1e-6

    added = about(np.concatenate([core, into]), whole.after) - about(np.concatenate([core, out]), whole.before)
    inertia = whole.inertia
    assert (inertia.roll, inertia.pitch, inertia.yaw) == pytest.approx(added.tolist(), abs=1e-9)


def test_its_laden_cases_and_margins_by_hand(demo):
    car, _, whole = demo
    wheelbase = car["wheelbase"]
    for case, state in zip(car["laden"], whole.laden, strict=True):
        rows = [(number(i["mass"]), *map(number, i["at"])) for i in case["items"]]
        mass = whole.after.mass + sum(r[0] for r in rows)
        rear = whole.after.rear + sum(m * x / wheelbase for m, x, _, _ in rows)
        assert (state.mass, state.rear, state.front) == pytest.approx((mass, rear, mass - rear))
        found = {f.check: f for f in whole.findings}
        left = found[f"gross mass, {case['name']}"]
        assert left.limit - left.value == pytest.approx(car["ratings"]["gross"] - mass)
        left = found[f"rear axle load, {case['name']}"]
        assert left.limit - left.value == pytest.approx(car["ratings"]["rear_axle"] - rear)


def test_its_uncertainty_by_hand(demo):
    """The mass after: four wheels, six things out, five in, two boxes, root of the sum of squares."""
    from baywright.vehicle.asked import car_of
    from baywright.vehicle.scatter import scatter

    _, made, _ = demo
    car = car_of(made.job.car)
    spread = scatter(car, made.carried, count=40_000).after.mass
    errors = [2 * car.corner_error, *(i.errors()[0] for i in (*car.removed, *car.added))]
    errors += [0.02 * body.mass for _, body in made.carried]
    assert (spread.high - spread.low) / 2 / 1.96 == pytest.approx(sqrt(sum(e * e for e in errors)), rel=0.02)
