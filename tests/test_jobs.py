"""The jobs to start from: each reviews without a failure, each is in the list, and what the list promises holds."""

import re
from pathlib import Path

import numpy as np
import pytest

from baywright.design import design_job
from baywright.job.read import read_job
from baywright.review import review_job
from baywright.rooms import room

HOME = room("shared") / "jobs"
JOBS = sorted(
    str(path.relative_to(HOME)) for path in HOME.rglob("*.toml") if "parts" not in path.relative_to(HOME).parts
)


@pytest.mark.parametrize("name", JOBS)
def test_every_job_reviews_without_a_failure(name: str) -> None:
    result = review_job(design_job(read_job(HOME / name)))
    assert [f"{f.subject}: {f.message}" for f in result.findings if f.verdict == "fail"] == []


@pytest.mark.parametrize("name", JOBS)
def test_every_job_is_in_the_list(name: str) -> None:
    assert f"`{name}`" in (HOME / "README.md").read_text(encoding="utf-8")


def test_every_file_that_the_list_names_is_there() -> None:
    told = re.findall(r"shared/jobs/([\w./-]+\.toml)", (HOME / "README.md").read_text(encoding="utf-8"))
    assert told
    assert [name for name in told if not (HOME / name).is_file()] == []


def test_three_modules_become_five_without_another_plan(tmp_path: Path) -> None:
    """Common practice, no source: the same box system whether it holds three modules or five."""
    text = (HOME / "boot-box.toml").read_text(encoding="utf-8")
    boxes = []
    for count in (3, 5):
        job = tmp_path / f"{count}.toml"
        job.write_text(text.replace("count = 3", f"count = {count}"), encoding="utf-8")
        boxes.append(design_job(read_job(job)).boxes["boot"])
    three, five = boxes
    assert three.layout.outside == five.layout.outside
    for a, b in zip(three.feet, five.feet, strict=True):
        np.testing.assert_array_equal(a.bolts, b.bolts)
