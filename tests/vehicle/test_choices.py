"""The demo job's bays: what goes in, what ends a stack, and a split written back that reads again."""

import tomllib

import pytest

from baywright.bay.fit import check_fit
from baywright.bay.measured import bay_of
from baywright.box.generate import generate
from baywright.job.read import read_job
from baywright.rooms import room
from baywright.shape.mass import point_mass
from baywright.vehicle.asked import car_of
from baywright.vehicle.choices import as_asked, bare_of, bodies_of, changes_for, choices_of, limits_of, reach_of
from baywright.vehicle.split import Limits, split
from baywright.vehicle.write_back import write_back

PATH = room("shared") / "jobs" / "estate.toml"


@pytest.fixture(scope="module")
def job():
    return read_job(PATH)


@pytest.fixture(scope="module")
def tried(job):
    return choices_of(job, most=8)


def test_every_choice_goes_in_and_the_next_one_does_not(job, tried):
    found, refused = tried
    assert [b.bay for b in found] == list(job.boxes)
    for bay in found:
        assert bay.choices
        ask = job.boxes[bay.bay]
        space = bay_of(ask.bay, job.bays[ask.bay])
        for choice in bay.choices:
            box = generate(
                bay.bay, ask.model_copy(update={"count": choice.count, "orientation": choice.place}), job.catalogue
            )
            assert check_fit("box", bodies_of(box), box.pose, space).verdict != "fail"
            assert choice.mass == pytest.approx(box.mass_properties.mass)
        tops = {c.place: max(k.count for k in bay.choices if k.place == c.place) for c in bay.choices}
        for place, top in tops.items():
            assert any(r.box == bay.bay and r.place == place and r.count == top + 1 for r in refused) or top == 8
    assert all(r.reason for r in refused)


def test_a_split_written_back_reads_again(job, tried):
    car = car_of(job.car)
    module = job.catalogue.module(job.boxes["front"].module).electrical
    reach = reach_of(job.asked.road, module.nominal_voltage * module.capacity / 1000, 0.8)
    found = split(bare_of(car), tried[0], limits_of(car), reach)
    i = found.farthest()
    text = PATH.read_text(encoding="utf-8")
    new = write_back(text, changes_for(job, found, i))
    said = tomllib.loads(new)["boxes"]
    assert {name: box["count"] for name, box in said.items()} == {b: n for b, n in found.counts(i).items() if n}
    # Only counts and orientations may differ, and every comment is still there.
    assert [line.split("#")[1] for line in new.splitlines() if "#" in line] == [
        line.split("#")[1] for line in text.splitlines() if "#" in line
    ]


def test_what_else_was_made_stays_in_the_bare_car(job):
    car = car_of(job.car)
    plate = point_mass(9.0, (490.0, 0.0, 400.0))
    bare, more = bare_of(car), bare_of(car, [("adapter", plate)])
    assert more.mass - bare.mass == pytest.approx(9.0)
    assert more.rear - bare.rear == pytest.approx(9.0 * 490 / car.wheelbase)


def test_the_job_is_found_among_its_layouts(job, tried):
    car = car_of(job.car)
    found = split(bare_of(car), tried[0], limits_of(car), lambda n, mass: n * 1.0)
    i = as_asked(job, found)
    assert found.counts(i) == {name: box.count for name, box in job.boxes.items()}
    few = split(bare_of(car), tried[0], Limits(most=4), lambda n, mass: n * 1.0)
    assert as_asked(job, few) is None
