"""The demo job's bays: what goes in, what ends a stack, and a split written back that reads and reviews again."""

import tomllib
from dataclasses import replace

import pytest

from baywright.bay.fit import check_fit
from baywright.bay.measured import bay_of
from baywright.box.generate import generate
from baywright.design import design_job
from baywright.job.read import read_job
from baywright.job.units import quantity
from baywright.review import review_job
from baywright.rooms import room
from baywright.shape.mass import point_mass
from baywright.strength.box import strength_findings
from baywright.vehicle.asked import car_of
from baywright.vehicle.choices import bodies_of, choices_of
from baywright.vehicle.split import Limits, split
from baywright.vehicle.split_job import as_asked, bare_of, changes_for, forbidden_totals, limits_of, reach_of
from baywright.vehicle.whole import vehicle
from baywright.vehicle.write_back import write_back

PATH = room("shared") / "jobs" / "estate.toml"


@pytest.fixture(scope="module")
def job():
    return read_job(PATH)


@pytest.fixture(scope="module")
def tried(job):
    """Every box where the job has it."""
    return choices_of(job, most=6, search=False)


@pytest.fixture(scope="module")
def searched(job):
    """The rear box at every place, up to three modules."""
    return choices_of(job, most=3, boxes=["rear"])


def made(job, name, choice):
    """Return the box that a choice asks for, in its place."""
    keys = {**choice.keys, "at": tuple(choice.keys["at"])}
    return generate(name, job.boxes[name].model_copy(update=keys), job.catalogue)


def test_every_choice_goes_in_and_the_next_one_does_not(job, tried):
    found, refused = tried
    assert [b.bay for b in found] == list(job.boxes)
    for bay in found:
        assert bay.choices
        space = bay_of(job.boxes[bay.bay].bay, job.bays[job.boxes[bay.bay].bay])
        for choice in bay.choices:
            box = made(job, bay.bay, choice)
            assert check_fit("box", bodies_of(box), box.pose, space).verdict != "fail"
            assert all(f.verdict != "fail" for f in strength_findings(box, job.load_cases))
            assert choice.mass == pytest.approx(box.mass_properties.mass)
        tops = {c.place: max(k.count for k in bay.choices if k.place == c.place) for c in bay.choices}
        for place, top in tops.items():
            assert top == 6 or any(r.box == bay.bay and r.place == place and r.count == top + 1 for r in refused)
    assert all(r.reason for r in refused)


def test_the_search_finds_other_places_and_stacks_where_the_box_goes_in(job, searched):
    (rear,), _ = searched
    space = bay_of("rear", job.bays["rear"])
    stacks = {(c.keys["orientation"], c.keys["columns"], c.keys["rows"]) for c in rear.choices}
    assert len(stacks) > 2
    places = [c for c in rear.choices if c.keys["at"] != list(job.boxes["rear"].at)]
    assert {"forward", "rearward"} <= {c.place.rsplit(" ", 1)[-1] for c in places}
    for choice in places[::3]:
        box = made(job, "rear", choice)
        assert check_fit("box", bodies_of(box), box.pose, space).verdict != "fail"
        there = box.mass_properties.moved(box.pose)
        assert (choice.x, choice.y, choice.z) == pytest.approx(there.centroid.tolist())
        assert choice.inertia[2] == pytest.approx(there.inertia[2, 2])
    own = {(c.count, c.keys["columns"]): c.x for c in rear.choices if c not in places}
    forward = [c for c in places if c.place.endswith("forward")]
    assert all(c.x < own[c.count, c.keys["columns"]] for c in forward if (c.count, c.keys["columns"]) in own)


def test_a_box_searched_for_writes_back_to_a_job_that_reviews(job, searched, tmp_path):
    choice = next(c for c in searched[0][0].choices if c.place.endswith("forward"))
    (bay,) = searched[0]
    one = replace(bay, choices=(choice,))
    front = replace(choices_of(job, most=3, boxes=["front"], search=False)[0][0])
    whole = 3 + choice.count
    found = split(bare_of(car_of(job.car)), [front, one], Limits(least=whole, most=whole), lambda n, _mass: n * 1.0)
    assert len(found.mass)
    new = tmp_path / "new.toml"
    new.write_text(write_back(PATH.read_text(encoding="utf-8"), changes_for(job, found, 0)), encoding="utf-8")
    result = review_job(design_job(read_job(new)))
    assert [f.check for f in result.findings if f.verdict == "fail" and f.subject == "box rear"] == []
    after = result.vehicle.balance.after
    assert (after.mass, after.front, after.z) == pytest.approx((found.mass[0], found.front[0], found.z[0]))
    inertia = result.vehicle.balance.inertia
    assert found.inertia[0] == pytest.approx([inertia.roll, inertia.pitch, inertia.yaw])


def test_a_job_in_inches_gets_its_place_with_a_unit(job, searched):
    choice = next(c for c in searched[0][0].choices if c.place.endswith("forward"))
    inches = replace(
        job, asked=job.asked.model_copy(update={"units": job.asked.units.model_copy(update={"length": "in"})})
    )
    found = split(
        bare_of(car_of(job.car)),
        [replace(searched[0][0], choices=(choice,))],
        Limits(),
        lambda n, _mass: n * 1.0,
    )
    at = changes_for(inches, found, 0)["rear"]["at"]
    assert [quantity(v, "length", {"length": "in"}).value for v in at] == pytest.approx(choice.keys["at"])


def test_the_window_forbids_what_the_review_would_fail(job):
    totals = forbidden_totals(job, "m590")
    assert set(totals) >= {"voltage, full and regenerating", "voltage, empty", "voltage, charging"}
    # 8 modules are 403 V full: the window ends at 420 V, and 5 modules empty are its least, 180 V.
    for name, keeps, breaks in (("voltage, charging", 8, 9), ("voltage, empty", 5, 4)):
        assert keeps not in totals[name]
        assert breaks in totals[name]


def test_a_split_keeps_the_share_of_the_whole_car(job, tried):
    """The layout that the job asks for weighs what the job's own balance says."""
    car = car_of(job.car)
    found = split(bare_of(car), tried[0], limits_of(car), lambda n, _mass: n * 1.0)
    i = as_asked(job, found)
    whole = vehicle(job, design_job(job).carried).balance
    assert found.front[i] == pytest.approx(whole.after.front)
    assert found.share_change[i] == pytest.approx(whole.share_change)
    assert found.z[i] == pytest.approx(whole.after.z)


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
    # Every comment is still there.
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
