"""The room between things in the car: against closed forms, and against python-fcl for things that stand askew."""

from dataclasses import replace
from pathlib import Path

import fcl
import numpy as np
import pytest

from baywright.bay.between import between_findings, in_car, keep_out_findings, least_between
from baywright.job.bays import Bay
from baywright.piece.solid import Block, Round
from baywright.shape.pose import shifted, turned

ROOT = Path(__file__).resolve().parents[2]


def cube(x0, y0, z0, size=100.0):
    low = np.array([x0, y0, z0], dtype=float)
    return Block(low, low + size)


def thing(subject, bodies, pose=None, clearance=10.0, rocks=0.0):
    return in_car(subject, [(f"{subject} {i}", b) for i, b in enumerate(bodies)], pose or shifted(), clearance, rocks)


@pytest.mark.parametrize(
    ("pose", "distance"),
    [
        (shifted(150, 0, 0), 50.0),
        (shifted(130, 140, 0), 50.0),  # edges: 3-4-5
        (shifted(120, 110, 220), np.sqrt(20**2 + 10**2 + 120**2)),  # corners
        (turned("z", 45, (300, 50 - 100 * np.sqrt(0.5), 0)), 200 - 100 * np.sqrt(0.5)),  # edge to face
        (shifted(99, 0, 0), 0.0),
    ],
)
def test_two_cubes_by_hand(pose, distance):
    """Distances of cubes: Pythagoras."""
    found, *_ = least_between(thing("a", [cube(0, 0, 0)]), thing("b", [cube(0, 0, 0)], pose))
    assert found == pytest.approx(distance, abs=1e-4)


def test_cylinder_beside_a_cube_by_hand():
    post = Round(np.array([200.0, 50.0, -500.0]), np.array([0.0, 0.0, 1.0]), 1000.0, 60.0)
    found, i, j, at = least_between(thing("a", [cube(0, -2000, 0), cube(0, 0, 0)]), thing("b", [post]))
    assert (found, i, j) == (pytest.approx(70, abs=1e-4), 1, 0)
    assert at[0] == pytest.approx(135, abs=1e-3)


@pytest.mark.parametrize("seed", range(20))
def test_many_bodies_against_another_library(seed):
    """Distances of boxes askew: python-fcl's, pair by pair."""
    rng = np.random.default_rng(seed)
    groups, theirs = [], []
    for k in range(2):
        stands = turned("z", rng.uniform(0, 360), (900.0 * k, 0, 0)).after(turned("x", rng.uniform(0, 360)))
        bodies = [Block(c - s, c + s) for c, s in zip(rng.uniform(-250, 250, (6, 3)), rng.uniform(10, 90, (6, 3)))]  # noqa: B905
        groups.append(thing(f"thing {k}", bodies, stands))
        theirs.append(
            [
                fcl.CollisionObject(
                    fcl.Box(*(b.high - b.low)), fcl.Transform(stands.turn, stands((b.low + b.high) / 2))
                )
                for b in bodies
            ]
        )
    found, i, j, _ = least_between(*groups)
    apart = np.array([[fcl.distance(a, b) for b in theirs[1]] for a in theirs[0]])
    if apart.min() <= 0:
        assert found == 0
    else:
        assert found == pytest.approx(apart.min(), abs=1e-3)
        assert apart[i, j] == pytest.approx(found, abs=1e-3)


def test_what_the_motor_rocks_by_is_taken_off():
    box, motor = thing("box", [cube(0, 0, 0)]), thing("motor", [cube(115, 0, 0)])
    (still,) = between_findings([box], [motor])
    (rocking,) = between_findings([box], [replace(motor, rocks=8.0)])
    assert (still.verdict, still.value) == ("pass", pytest.approx(15, abs=1e-4))
    assert (rocking.verdict, rocking.value) == ("fail", pytest.approx(7, abs=1e-4))
    assert "7 mm when the motor rocks" in rocking.message


def test_drives_bolted_to_each_other_are_left_alone():
    a, b, c = (thing(n, [cube(0, 0, 0)]) for n in "abc")
    assert [(f.subject, f.check, f.verdict) for f in between_findings([a], [b, c])] == [
        ("a", "clear of b", "fail"),
        ("a", "clear of c", "fail"),
    ]


def test_two_boxes_of_a_job_that_share_space_fail_its_review(tmp_path):
    """A box set where another stands: the review ends with 1 and names both."""
    from typer.testing import CliRunner

    from baywright.cli import app

    demo_job_text = (ROOT / "shared" / "jobs" / "estate.toml").read_text(encoding="utf-8")
    at = "at = [2330, 0, 440]"
    assert at in demo_job_text
    job = tmp_path / "job.toml"
    job.write_text(demo_job_text.replace(at, "at = [60, 0, 500]").replace('bay = "rear"\n', ""), encoding="utf-8")
    result = CliRunner().invoke(app, ["review", str(job)])
    assert result.exit_code == 1
    assert "share space near" in " ".join(result.stdout.split())


def test_of_very_many_boxes_none_that_is_near_is_left_out():
    """Thirty cubes in a row, 900 mm apart, two of them into each other: 435 pairs, of which few are measured."""
    places = [1000.0 * k for k in range(29)] + [1050.0]
    found = between_findings([thing(f"box {k}", [cube(x, 0, 0)]) for k, x in enumerate(places)], [])
    told = {(f.subject, f.check.removeprefix("clear of ")): f for f in found}
    assert {pair for pair, f in told.items() if f.verdict == "fail"} == {("box 1", "box 29")}
    assert {name for pair in told for name in pair} == {f"box {k}" for k in range(30)}
    assert len(found) < 60
    for (a, b), finding in told.items():
        apart = abs(places[int(a.split()[1])] - places[int(b.split()[1])]) - 100
        assert finding.value == pytest.approx(max(apart, 0), abs=1e-4)


def test_a_keep_out_of_another_bay_stands_in_the_car_too():
    """A cube of 100 mm 30 mm from a block that the tape puts 5 mm off: 25 mm are left, of 40 that its bay asks."""
    bay = Bay.model_validate(
        {
            "blocks": [{"low": [0, 0, 0], "high": [500, 500, 500]}],
            "keep_outs": [
                {"name": "column", "low": ["130 ± 5", -200, -200], "high": [200, 200, 200]},
                {"name": "hose", "low": [900, 0, 0], "high": [950, 50, 50]},
            ],
            "clearance": 40,
        },
        context={"units": {"length": "mm"}},
    )
    it = thing("box a", [cube(0, 0, 0)])
    (found,) = keep_out_findings([(it, "boot")], {"engine": bay, "boot": bay})
    assert (found.subject, found.check, found.verdict) == ("box a", "clear of bay engine's keep-outs", "fail")
    assert found.value == pytest.approx(25, abs=1e-4)
    assert "'column'" in found.message
    assert keep_out_findings([(it, "engine")], {"engine": bay}) == []
