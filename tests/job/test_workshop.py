"""The workshop's table: in the job, in a file beside it, one over the other; what it changes on the sheets."""

import pytest

from baywright.job.messages import BadInput
from baywright.job.read import read_job
from baywright.release.sheets import rules_of
from baywright.rooms import room

STARTER = (room("shared") / "jobs" / "starter.toml").read_text(encoding="utf-8")


@pytest.fixture
def read(tmp_path):
    def reading(own: str = "", shared: str | None = None):
        (tmp_path / "job.toml").write_text(f"{STARTER}\n{own}", encoding="utf-8")
        if shared is not None:
            (tmp_path / "workshop.toml").write_text(shared, encoding="utf-8")
        return read_job(tmp_path / "job.toml").asked.workshop

    return reading


def test_without_a_word_it_is_the_usual(read):
    found = read()
    assert (found.projection, found.tolerance, found.gap, found.saw_cut) == ("first", "m", 6.0, 3.0)
    assert found.prices == {}


def test_the_job_counts_over_the_file_beside_it(read):
    found = read(
        '[workshop]\ngap = "1/4 in"\nprices = { "5754-H22" = 40 }',
        'name = "A shop"\nprojection = "third"\ngap = 9\n[prices]\npierce = 0.1\n"5754-H22" = 30\n',
    )
    assert found.name == "A shop"
    assert found.gap == pytest.approx(6.35)
    assert found.prices == {"pierce": 0.1, "5754-H22": 40.0}
    rules = rules_of(found)
    assert (rules.angle, rules.tolerance, rules.workshop) == ("third", "m", "A shop")


@pytest.mark.parametrize(
    ("own", "shared", "told"),
    [
        ('[workshop]\nprojection = "second"', None, "workshop.projection: 'second' is none of first, third"),
        ("[workshop]\nprices = { a = -1 }", None, "workshop.prices.a: must be at least 0"),
        ("", 'curency = "EUR"', "workshop.toml:1: curency: unknown key; did you mean 'currency'?"),
        ("", "saw_cut = 60", "workshop.toml:1: saw_cut"),
    ],
)
def test_what_is_wrong_is_told_with_its_file_and_key(read, own, shared, told):
    with pytest.raises(BadInput) as bad:
        read(own, shared)
    assert told in str(bad.value)
