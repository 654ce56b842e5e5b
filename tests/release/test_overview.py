"""The review at a glance: every finding is counted once, the worst is what a field shows and leads to."""

import pytest

from baywright.design import design_job
from baywright.finding import verdict_of
from baywright.job.read import read_job
from baywright.release.report.overview import (
    BALANCE,
    DRIVE,
    ELECTRICS,
    FIT,
    MAKING,
    STRENGTH,
    TOPICS,
    overview,
    topic_of,
)
from baywright.review import review_job
from baywright.rooms import room


@pytest.fixture(scope="module")
def reviewed():
    return review_job(design_job(read_job(room("shared") / "jobs" / "estate-whole.toml")))


def test_every_finding_is_counted_once_and_the_worst_is_shown(reviewed):
    rows = overview(reviewed)
    cells = [(subject, topic, cell) for subject, some in rows for topic, cell in zip(TOPICS, some, strict=True) if cell]
    assert sum(sum(cell.counts) for _, _, cell in cells) == len(reviewed.findings)
    for subject, topic, cell in cells:
        mine = [f for f in reviewed.findings if f.subject == subject and topic_of(f, reviewed) == topic]
        assert cell.verdict == verdict_of(mine)
        assert reviewed.findings[cell.first] is mine[0]
        assert sum(cell.counts) == len(mine)
    assert rows[0][0] == reviewed.findings[0].subject, "the thing with the worst finding comes first"


def test_findings_are_about_what_they_seem_to_be_about(reviewed):
    def topics(subject, *checks):
        return {topic_of(f, reviewed) for f in reviewed.findings if f.subject == subject and f.check in checks}

    assert topics("box front", "clearance above", "way in", "module gap, width", "inside the bay") == {FIT}
    assert topics("box front", "corner joints", "ledges", "bolts to the car") == {STRENGTH}
    assert topics("box front", "edge distance", "web", "pitch", "cutter", "insert grip") == {MAKING}
    assert topics("box front", "earth straps", "finger-safe") == {ELECTRICS}
    assert topics("pack", "isolation", "cable") == {ELECTRICS}
    assert topics("car", "front share", "gross mass") == {BALANCE}
    assert topics("car", "range", "grip") == {DRIVE}
    assert topics("rails motor", "mount place", "rocking") == {FIT}
    assert topics("adapter five-speed", "gap before the nose", "run-out") == {FIT}
