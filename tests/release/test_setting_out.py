"""The setting-out sheet: boxes, adapters and rails where they stand, in plan, from the side and in the table."""

import numpy as np
import pytest

from baywright.design import design_job
from baywright.job.read import read_job
from baywright.release.drawing.frame import Rules
from baywright.release.drawing.lines import light
from baywright.release.drawing.setting_out import (
    Standing,
    setting_out_sheet,
    standing_adapter,
    standing_box,
    standing_rails,
)
from baywright.rooms import room


@pytest.fixture(scope="module")
def whole():
    return design_job(read_job(room("shared") / "jobs" / "estate-whole.toml"))


@pytest.fixture(scope="module")
def standing(whole) -> list[Standing]:
    found = [standing_box(box, light(box.assembly)) for box in whole.boxes.values()]
    for name, adapter in whole.adapters.items():
        pose = whole.adapter_poses[name]
        found.append(standing_adapter(adapter, light(adapter.assembly), pose, motor=False))
    return found + [standing_rails(held, light(held.assembly)) for held in whole.rails.values()]


def test_one_sheet_shows_everything_and_is_clean(whole, standing, clean):
    car = whole.job.car
    rules = Rules(workshop="A workshop with quite a long name, and a town")
    sheet = setting_out_sheet(standing, car.name, car.wheelbase, (1305, 1285), "A job's title", "A", rules)
    clean(sheet)
    said = [text.text for text in sheet.texts()]
    for letter, thing in zip("ABCD", standing, strict=True):
        assert said.count(f"{letter}  {thing.name}") == 2, "its name stands in both views"
        for number, (_, place, _) in enumerate(thing.places, 1):
            here = f"{letter}{number}"
            # In the table once, and in each view by itself or with what stands behind it.
            assert sum(here in text.replace(",", " ").split() for text in said) == 3, here
            for value in place:
                assert f"{round(float(value), 1) + 0.0:.1f}" in said
    for name, held in whole.rails.items():
        assert any(f"rails {name}: mount" in text for text in said)
        assert sum(f"rails {name}: mount" in text for text in said) == len(held.hangers)


def test_lines_stand_where_the_car_has_them(whole, standing):
    box = next(thing for thing in standing if thing.name == "box front")
    low, high = box.reach()
    above = np.concatenate(box.seen(np.eye(3)))
    # A fine line that the picture can't tell apart may be missing, an outermost edge is not.
    assert above.min(axis=0) == pytest.approx(low[:2], abs=3.0)
    assert above.max(axis=0) == pytest.approx(high[:2], abs=3.0)
    beside = np.concatenate(box.seen(np.array([(1.0, 0, 0), (0, 0, 1.0), (0, -1.0, 0)])))
    assert beside.min(axis=0) == pytest.approx(low[[0, 2]], abs=3.0)
    assert beside.max(axis=0) == pytest.approx(high[[0, 2]], abs=3.0)


def test_the_shafts_ends_are_the_stacks_thickness_apart(whole, standing):
    thing = next(thing for thing in standing if thing.name.startswith("adapter"))
    ends = [place for _, place, _ in thing.places]
    thick = next(iter(whole.adapters.values())).depth.thickness
    assert np.linalg.norm(ends[1] - ends[0]) == pytest.approx(thick)
    # The gearbox's face is where the job puts the crankshaft's centre.
    assert ends[1] == pytest.approx((695, 0, 470), abs=1e-6)
