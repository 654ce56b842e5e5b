"""Rails and adapter of one job: one depth, one mass, one place; and what cannot be joined."""

from pathlib import Path

import numpy as np
import pytest

from baywright.design import design_job
from baywright.job.messages import BadInput
from baywright.job.read import read_job

JOBS = Path(__file__).resolve().parents[1] / "shared" / "jobs"


def text(**changed: str) -> str:
    """Return the demo rails with the demo adapter before their motor."""
    rails = (JOBS / "rails-estate.toml").read_text(encoding="utf-8")
    adapter = (JOBS / "adapter-five-speed.toml").read_text(encoding="utf-8")
    rails = rails.replace("stand_off = 75 ", "").replace("mass = 73", "mass = 52")
    rails = rails.replace("[rails.motor]\n", '[rails.motor]\nadapter = "five-speed"\n')
    whole = rails + "\n" + adapter[adapter.index("[adapters.five-speed]") :]
    for old, new in changed.items():
        assert old in whole
        whole = whole.replace(old, new)
    return whole


@pytest.fixture
def job(tmp_path):
    def write(whole: str) -> Path:
        path = tmp_path / "job.toml"
        path.write_text(whole, encoding="utf-8")
        return path

    return write


def test_one_depth_one_mass_one_place(job):
    made = design_job(read_job(job(text())))
    rails, adapter = made.rails["motor"], made.adapters["five-speed"]
    assert rails.given.motor.stand_off == pytest.approx(sum(p.thickness for p in adapter.plates))
    stands = made.adapter_poses["five-speed"]
    # The adapter's middle of the motor's face is the motor's front end; its gearbox's face is the shaft's centre.
    np.testing.assert_allclose(stands((0, 0, 0)), rails.pose((rails.given.motor.stand_off, 0, 0)), atol=1e-9)
    np.testing.assert_allclose(stands((0, 0, rails.given.motor.stand_off)), (695, 0, 470), atol=1e-9)
    # Its y is up (the shaft rises by 3 degrees); who looks from the motor to the rear has the car's right on his left,
    # where the adapter's own x points.
    assert stands.direction((0, 1, 0))[2] == pytest.approx(np.cos(np.radians(3)))
    np.testing.assert_allclose(stands.direction((1, 0, 0)), (0, 1, 0), atol=1e-9)
    # In the balance it counts once, as the adapter; on the mounts it hangs with the motor.
    names = [name for name, _ in made.carried]
    assert names == ["adapter five-speed", "rails motor", "demo motor, 90 kW of rails motor"]
    assert rails.unit.mass == pytest.approx(rails.metal.mass + rails.motor.mass + 21 + adapter.metal.mass)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('part = "demo-motor-90"', 'part = "demo-motor-small"', ("rails.motor.motor.part", "must be 'demo-motor-90'")),
        ('stock = "alu-6082"', 'stock = "alu-6082"\nat = [0, 0, 0]', ("rails.motor.adapter", "leave out its own `at`")),
        ("{ at = -25, thickness = 25,", "{ at = -20, thickness = 20,", ("rails.motor.cradle.lugs", "{ at = -25,")),
        (
            "[rails.motor.motor]",
            "[rails.motor.motor]\nstand_off = 75",
            ("rails.motor", "motor.stand_off: leave it out, adapter gives it"),
        ),
        ('adapter = "five-speed"', 'adapter = "six-speed"', ("rails.motor.adapter", "did you mean 'five-speed'")),
        ('adapter = "five-speed"', "", ("rails.motor", "motor.stand_off is missing")),
    ],
)
def test_what_cannot_be_joined_is_one_sentence(job, old, new, words):
    with pytest.raises(BadInput) as bad:
        design_job(read_job(job(text(**{old: new}))))
    assert all(word in str(bad.value) for word in words), str(bad.value)
