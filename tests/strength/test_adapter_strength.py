"""An adapter under its motor: bolts and plate by hand."""

import math

import pytest

from baywright.design import design_job
from baywright.job.read import read_job
from baywright.rooms import room
from baywright.strength.adapter import adapter_calculations, adapter_findings


@pytest.fixture(scope="module")
def adapter(shop):
    job = read_job(room("shared") / "jobs" / "adapter-five-speed.toml")
    (made,) = design_job(job).adapters.values()
    return made


@pytest.fixture(scope="module")
def case(shop):
    return shop.load("guideline-20g")


@pytest.fixture(scope="module")
def thick(adapter, case):
    """The case on a basis for which the plates' metal has a strength at their thickness."""
    material = adapter.given.material
    thickness = adapter.plates[0].thickness
    fits = any(
        s.basis == "characteristic" and (s.thickness_most is None or thickness <= s.thickness_most)
        for s in material.strengths
    )
    if not fits:
        pytest.skip(f"no characteristic strength of {material.name} at {thickness:g} mm in the shop's table")
    return adapter_calculations(adapter, case)


def test_a_missing_strength_is_said_or_every_member_is_judged(adapter, case):
    found = adapter_findings(adapter, [case])
    assert found
    if found[0].check == "strength data":
        assert "shared/materials.toml" in found[0].message
    else:
        assert {f.check for f in found} == {
            "bolts to the motor",
            "bolts to the gearbox",
            "plate under the motor's overhang",
        }


def test_bolts_by_hand(adapter, thick):
    (one,) = [c for c in thick if c.member == "bolts to the motor" and c.throw == "10 g up"]
    row = adapter.given.motor
    bolts = [h.hole for h in adapter.motor_holes if h.thread is not None]
    force = row.mass * 10 * 9.80665
    moment = force * (row.centre if row.centre is not None else row.length / 2)
    radius = sum(h.radius for h in bolts) / len(bolts)
    # Even bolts on a circle: Σ y² = n r² / 2.
    pull = moment * radius / (len(bolts) * radius**2 / 2)
    shear = force / len(bolts) + row.torque * 1000 * radius / (len(bolts) * radius**2)
    assert one.working.values["N"] == pytest.approx(pull, rel=0.02)
    assert one.working.values["V"] == pytest.approx(shear, rel=0.02)


def test_plate_by_hand(adapter, thick):
    (one,) = [c for c in thick if c.member.startswith("plate") and c.throw == "10 g up"]
    v = one.working.values
    inner = min(v["r_1"], v["r_2"])
    pull = v["M"] / (4 * inner / math.pi)
    assert v["σ"] == pytest.approx(6 * pull * abs(v["r_2"] - v["r_1"]) / (2 * inner * v["t"] ** 2), rel=1e-5)
