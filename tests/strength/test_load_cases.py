"""Load cases in a job: named, the job's own, and wrong ones told in one sentence."""

import pytest

from baywright.job.messages import BadInput
from baywright.job.read import read_job
from baywright.rooms import room

BASE = (room("shared") / "jobs" / "starter.toml").read_text(encoding="utf-8")


@pytest.fixture
def read(tmp_path):
    def reader(head: str = "", tail: str = ""):
        path = tmp_path / "job.toml"
        path.write_text(f"{head}\n{BASE}\n{tail}", encoding="utf-8")
        return read_job(path)

    return reader


def test_the_shops_own_case_if_none_is_named(read):
    assert [case.name for case in read().load_cases] == ["workshop"]


def test_several_and_ones_own(read):
    job = read(
        'loads = ["guideline-20g", "tow"]',
        '[load_cases.tow]\nsource = "our own"\nkind = "road"\nforward = 3\nload_factor = 1.5\n',
    )
    own = job.load_cases[1]
    assert [case.name for case in job.load_cases] == ["guideline-20g", "tow"]
    assert (own.forward, own.basis, own.weight) == (3.0, "limit state", True)


@pytest.mark.parametrize(
    ("head", "tail", "said"),
    [
        ('loads = ["guidline-20g"]', "", "loads 1: unknown load 'guidline-20g'; did you mean 'guideline-20g'?"),
        ("loads = []", "", "needs at least 1"),
        ('loads = "workshop"', "", "expected a list"),
        ("", '[load_cases.a]\nsource = "x"\nkind = "road"', "needs at least one of forward"),
        ("", '[load_cases.a]\nsource = "x"\nkind = "road"\nup = -2', "load_cases.a.up: must be more than 0"),
        ("", '[load_cases.a]\nsource = "x"\nkind = "road"\nup = 2\nbasis = "limit"', "unknown basis 'limit'"),
        ("", '[load_cases.a]\nkind = "road"\nup = 2', "load_cases.a.source: is needed"),
        ("", '[load_cases.a]\nsource = "x"\nkind = "crush"\nup = 2', "'crush' is none of road, crash"),
    ],
)
def test_wrong_cases(read, head, tail, said):
    with pytest.raises(BadInput) as bad:
        read(head, tail)
    assert said in str(bad.value)
