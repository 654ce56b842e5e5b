"""The adapter's assembly drawing: every side named, nothing over anything, sizes and limits as the design has them."""

from dataclasses import replace

import numpy as np
import pytest

from baywright.adapter.depth import DepthStack
from baywright.design import design_job
from baywright.job.read import read_job
from baywright.release.drawing.adapter import adapter_sheets
from baywright.release.drawing.adapter_section import _clock, _plane
from baywright.release.drawing.cut import section
from baywright.release.drawing.frame import Rules
from baywright.release.drawing.items import items_of
from baywright.release.drawing.lines import light
from baywright.rooms import room


@pytest.fixture(scope="module", params=["adapter-five-speed", "adapter-truck-box"])
def made(request):
    design = design_job(read_job(room("shared") / "jobs" / f"{request.param}.toml"))
    adapter = next(iter(design.adapters.values()))
    return adapter, light(adapter.assembly), design.job.catalogue


@pytest.mark.parametrize("angle", ["first", "third"])
def test_the_sheets_are_clean_and_say_which_side_they_are_seen_from(made, angle, clean):
    adapter, subject, catalogue = made
    rules = Rules(angle=angle, workshop="A workshop with quite a long name, and a town")
    sheets = adapter_sheets(adapter, subject, catalogue, "A job's title that is long", "A", rules)
    for sheet in sheets:
        clean(sheet)
    said = [[text.text for text in sheet.texts()] for sheet in sheets]
    for number, side in enumerate(("MOTOR", "GEARBOX")):
        assert any(f"SEEN FROM THE {side}" in text for text in said[number])
        assert "UP" in said[number]
        assert "terminals" in said[number]
        assert "bleed" in said[number]
    total = f"{adapter.depth.thickness:g}"
    assert all(total in said[k] for k in (0, 2, 3))
    for bore in (bore for some in adapter.bores for bore in some.bores if bore.limits is not None):
        limits = f"{bore.limits.least:.3f} to {bore.limits.most:.3f}"
        assert limits in said[3]
        assert any(limits in text for text in said[2])


def test_every_line_of_bolts_is_an_item_with_a_section(made):
    adapter, subject, catalogue = made
    items = items_of(adapter, subject)
    assert [item.number for item in items] == list(range(1, len(items) + 1))
    assert {item.mark for item in items if item.mark} == {
        placed.mark for placed in adapter.assembly.placed if placed.mark != "motor"
    }
    lines = [item for item in items if item.line is not None]
    assert len(lines) == len(adapter.assembly.lines)
    sheets = adapter_sheets(adapter, subject, catalogue, "job", "A", Rules())
    headings = [text.text for text in sheets[2].texts()]
    for item in lines:
        radius = float(np.hypot(*item.line.points[0][:2]))
        assert any(f"item {item.number}," in h and f"{radius:.1f} off the shaft" in h for h in headings)
    # Every bolt that one side or the other sees bears its item's number there.
    for item in lines:
        seen = sum(t.text == str(item.number) and t.height == 2.2 for sheet in sheets[:2] for t in sheet.texts())
        assert seen >= item.count


def test_the_view_from_the_gearbox_is_the_other_turned_over(made):
    adapter, subject, catalogue = made
    sheets = adapter_sheets(adapter, subject, catalogue, "job", "A", Rules())
    # "keep clear", "coolant in" and "coolant out" stand off the middle: on the other side's sheet on the other hand.
    places = []
    for sheet in sheets[:2]:
        up = next(t for t in sheet.texts() if t.text == "UP").x - 2.0
        texts = {t.text: t.x + t.width / 2 - up for t in sheet.texts()}
        places.append((texts["coolant in"], texts["coolant out"]))
    # Clock 145 is to the right seen from the motor, to the left seen from the gearbox.
    assert places[0][0] > 0 > places[0][1]
    assert places[1][0] < 0 < places[1][1]


def test_a_section_through_a_bolt_has_its_hole_where_the_design_has_it(made):
    adapter, subject, _ = made
    line = adapter.assembly.lines[0]
    point = line.points[0]
    cuts = {cut.mark: cut for cut in section(subject, _plane(_clock(point)), np.zeros(3))}
    layer = next(x for x in line.layers if x.mark != "motor" and x.use == "clearance")
    rings = cuts[layer.mark].rings
    radii = np.sort(np.unique(np.round(np.concatenate([ring[:, 1] for ring in rings]), 2)))
    radius = float(np.hypot(*point[:2]))
    for edge in (radius - layer.diameter / 2, radius + layer.diameter / 2):
        assert np.abs(radii - edge).min() < 0.1, "a chord of the light mesh lies within its sagitta"


def test_a_stack_without_a_coupler_says_so(made, clean):
    adapter, subject, catalogue = made
    bare = DepthStack(layers=adapter.depth.layers, tolerance=adapter.depth.tolerance)
    sheets = adapter_sheets(replace(adapter, depth=bare), subject, catalogue, "job", "A", Rules())
    clean(sheets[3])
    assert any("no coupler" in text.text for text in sheets[3].texts())
