"""What is said of rails asked for wrongly: each slip in the demo job, with its file and key.

What the request alone refuses is asked in tests/rail; here are the slips that only a whole job shows, and their keys.
"""

from pathlib import Path

import pytest

from baywright.job.messages import BadInput
from baywright.job.read import read_job
from baywright.rooms import room

GOOD = (room("shared") / "jobs" / "rails-estate.toml").read_text(encoding="utf-8")

# (what is changed, into what, key, what is said)
WRONG = [
    ("rise = 3", "rise = 3\nswing = -21", "rails.motor.shaft", "within 20 deg"),
    ('part = "demo-motor-90"', "", "rails.motor.motor", "give length, diameter, torque, or part"),
    ("stand_off = 75", "", "rails.motor", "motor.stand_off is missing"),
    ('section = "tube', 'adapter = "plate"\nsection = "tube', "rails.motor", "leave it out, adapter gives it"),
    ("near = [340, -340, 320]", "faces = [0, 0, 0]", "rails.motor.mounts.front-left", "not [0, 0, 0]"),
    ("high = [640, 425, 330]", "high = [290, 425, 330]", "rails.motor.keep_outs 1", "must be more than low"),
]


@pytest.mark.parametrize(("old", "new", "key", "said"), WRONG, ids=[f"{w[2]}: {w[3][:25]}" for w in WRONG])
def test_a_slip_is_said_with_its_key(tmp_path: Path, old: str, new: str, key: str, said: str) -> None:
    assert old in GOOD
    path = tmp_path / "job.toml"
    path.write_text(GOOD.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        read_job(path)
    text = str(caught.value)
    assert key in text
    assert said in text
    assert "job.toml" in text
