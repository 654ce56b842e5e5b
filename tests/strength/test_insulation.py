"""Insulation and touch: the liner, poles to bare metal, fittings. Distances by hand from the demo's drawing."""

import numpy as np
import pytest

from baywright.strength.insulation import AIR, touch

from .conftest import _SHOP, box


@pytest.fixture(scope="module")
def demo():
    return box()


def of(design, check: str):
    (one,) = [f for f in touch(design) if f.check == check]
    return one


def test_the_liner(demo):
    one = of(demo, "liner")
    assert (one.verdict, one.subject) == ("pass", "box made")
    assert "1 mm polycarbonate" in one.message
    assert one.source == _SHOP.material("polycarbonate").source
    assert of(box({"liner.thickness": 0.0}), "liner").verdict == "fail"
    metal = of(box({"liner.material": "5754-H22"}), "liner")
    assert metal.verdict == "fail"
    assert "'5754-H22' conducts" in metal.message


def test_poles_to_the_nearest_metal(demo):
    """A module 225 wide in 284 mm: its poles at ±70 mm are 72 from the walls; the upper ones are nearest to the lid."""
    one = of(demo, "poles to metal")
    layer = demo.layout.places[-1]
    top = float(layer[3][2])
    to_lid = demo.layout.lid_under - top - 78
    along = 740 / 2 - (float(layer[3][0]) + 295)
    assert one.value == pytest.approx(min(142 - 70, to_lid, along))
    assert (one.limit, one.unit, one.verdict) == (AIR, "mm", "pass")
    assert one.margin == pytest.approx(one.value / 10 - 1)
    assert "of module 3.1.1" in one.message
    assert one.message.endswith("creepage along surfaces is in the pack's findings")


def test_a_pole_near_a_wall():
    """At 110 mm of 142 it is 32 mm from the wall, nearer than to the lid."""
    module = _SHOP.module("m590")
    for at, gap in (([295.0, 110.0, 60.0], 32.0), ([295.0, -110.0, 60.0], 32.0)):
        one = module.terminals[0].model_copy(update={"at": at})
        design = box(catalogue=_SHOP.with_row("module", module.model_copy(update={"terminals": [one]})))
        assert of(design, "poles to metal").value == pytest.approx(design.layout.inside[1] / 2 - 142 + gap)
        assert of(design, "poles to metal").subject == "box made"


def test_poles_too_near():
    module = _SHOP.module("m590")
    near = [t.model_copy(update={"at": [295.0, 70.0 if t.name == "+" else -70.0, 107.0]}) for t in module.terminals]
    shop = _SHOP.with_row("module", module.model_copy(update={"terminals": near}))
    design = box(catalogue=shop)
    one = of(design, "poles to metal")
    top = float(design.layout.places[-1][3][2])
    assert one.value == pytest.approx(min(design.layout.lid_under - top - 107, 72))
    assert (one.verdict == "look") == (one.value < 10)
    assert np.isfinite(one.margin)
    if one.verdict == "look":
        assert one.message.endswith(": cover it, or leave 10 mm")


def test_a_module_without_terminals_is_to_be_measured():
    bare = _SHOP.module("m590").model_copy(update={"terminals": []})
    one = of(box(catalogue=_SHOP.with_row("module", bare)), "poles to metal")
    assert (one.verdict, one.value) == ("look", None)
    assert "names no terminals" in one.message


def test_fingers():
    one = of(box(fittings=["breather-m12"]), "finger-safe")
    assert one.verdict == "look"
    assert one.message.startswith("no power fitting named")
    assert "IPXXB" in one.source
    power = [
        name for name in _SHOP.names("fitting") if _SHOP.fitting(name).kind in ("power gland", "service disconnect")
    ]
    assert power
    twice = box(fittings=[power[0], power[0]])
    one = of(twice, "finger-safe")
    assert one.verdict == "pass"
    assert one.message.startswith(f"to see to when fitted: {power[0]} finger-safe")
