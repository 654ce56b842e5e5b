"""Both ends of a set of rails beside another car's: what is common stays, what is the chassis's differs."""

import copy

import pytest

from baywright.release.compare import compare
from baywright.release.compared import rail_tables, write_comparison
from baywright.release.rail_ends import ends_beside, ends_of, read_ends, write_ends
from baywright.release.stand import read_stand
from baywright.rooms import room


@pytest.fixture(scope="module")
def changes():
    jobs = room("shared") / "jobs"
    return compare(read_stand(jobs / "rails-estate.toml"), read_stand(jobs / "rails-saloon.toml"))


def test_of_two_cars_only_the_chassis_end_differs(changes, tmp_path):
    ((name, rows),) = rail_tables(changes)
    assert name == "motor"
    told = {end: (verdict, how) for end, verdict, how in rows}
    assert told["cradle"][0] == "equal"
    assert told["cradle"][1].startswith("all 16 holes")
    assert {v for end, (v, _) in told.items() if end != "cradle"} <= {"differs", "new", "gone"}
    assert told["mount gearbox"][0] == "new"
    assert told["mount rear-left"][0] == "gone"
    # The cleats are the same part; rails, hangers and what holds them are not.
    assert changes.same == 1
    assert not any("cleat" in c.number for c in changes.pieces)
    page, _ = write_comparison(changes, tmp_path)
    assert "all 16 holes that hold a motor" in page.read_text(encoding="utf-8")


def test_a_table_read_back_is_the_same(demo, tmp_path):
    ends = ends_of(demo)
    write_ends(ends, tmp_path)
    again = read_ends(tmp_path)
    assert again.cradle == ends.cradle
    assert again.bars == ends.bars
    assert {end: verdict for end, verdict, _ in ends_beside(ends, again)} == dict.fromkeys(
        ["cradle", *(f"mount {m.name}" for m in demo.mounts), *demo.bars], "equal"
    )


def test_one_motor_and_two_in_line_have_one_pattern(base, made, demo):
    two = copy.deepcopy(base)
    two["motor"] |= {"count": 2, "pitch": 400}
    for name in ("front-left", "front-right"):
        two["mounts"][name]["at"] = [-480, two["mounts"][name]["at"][1], 390]
    rows = {end: (verdict, how) for end, verdict, how in ends_beside(ends_of(demo), ends_of(made(two)))}
    assert rows["cradle"][0] == "equal"
    assert "1 before, 2 after" in rows["cradle"][1]
    assert "mm long" in rows["rail left"][1]


def test_another_cradle_is_told(base, made, demo):
    base["cradle"]["lugs"]["holes"] = [[125, -40], [125, 4]]
    end, verdict, _ = ends_beside(ends_of(demo), ends_of(made(base)))[0]
    assert (end, verdict) == ("cradle", "differs")
