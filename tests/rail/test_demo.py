"""The demo cars: one motor on two cars, where only the chassis end differs."""

from pathlib import Path

import numpy as np
import pytest

from baywright.design import design_job
from baywright.job.read import read_job
from baywright.rail.generate import generate
from baywright.rail.rules import check_rails
from baywright.rail.stress import solve
from baywright.shape.loop import as_circle

JOBS = Path(__file__).resolve().parents[2] / "shared" / "jobs"


def rails(name):
    job = read_job(JOBS / f"{name}.toml")
    return generate("motor", job.rails["motor"], job.catalogue)


@pytest.fixture(scope="module")
def estate():
    return rails("rails-estate")


@pytest.fixture(scope="module")
def saloon():
    return rails("rails-saloon")


def holes(design, wanted):
    """Holes of the rails as (rail, diameter, x, y, z) in the rail frame, whose lines start with any of some words."""
    found = set()
    for mark in ("rail left", "rail right"):
        item = design.assembly.by_mark[mark]
        for hole in item.piece.holes:
            if hole.line.startswith(wanted):
                x, y, d = as_circle(hole.loop)
                face = item.piece.faces()[hole.face]
                place = item.pose.after(face.pose)(np.array([x, y, 0.0]))
                found.add((mark, round(d, 6), *np.round(place, 6).tolist()))
    return found


def test_the_cradle_end_is_the_same_and_only_the_chassis_end_differs(estate, saloon):
    cradle = ("cleat",)
    assert holes(estate, cradle) == holes(saloon, cradle)
    assert len(holes(estate, cradle)) >= 16
    cleats = [{p.mark: p.piece for p in d.assembly.placed if p.piece.role == "cleat"} for d in (estate, saloon)]
    assert cleats[0].keys() == cleats[1].keys()
    for mark, piece in cleats[0].items():
        other = cleats[1][mark]
        assert (piece.stock.name, piece.length) == (other.stock.name, other.length)
        places = [d.assembly.by_mark[mark].pose for d in (estate, saloon)]
        assert np.allclose(places[0].turn, places[1].turn)
        assert np.allclose(places[0].shift, places[1].shift)
    # The chassis end: other mounts, other hangers, other lengths.
    assert {m.name for m in estate.mounts} != {m.name for m in saloon.mounts}
    chassis = ("saddle", "plate", "foot", "crossbar")
    assert holes(estate, chassis)
    assert holes(estate, chassis).isdisjoint(holes(saloon, chassis))
    assert estate.bars["rail left"].stock.name == saloon.bars["rail left"].stock.name
    assert estate.bars["rail left"].high - estate.bars["rail left"].low != (
        saloon.bars["rail left"].high - saloon.bars["rail left"].low
    )


def test_both_hold(estate, saloon):
    for design in (estate, saloon):
        found = check_rails(design)
        assert [f.message for f in found if f.verdict == "fail"] == []
        assert solve(design).residual < 1e-9


def test_the_estates_front_mounts_come_from_a_tape(estate):
    readings = estate.located.readings
    assert len(readings) == 11
    assert max(abs(r.residual) for r in readings) < 3.0  # as well as they were read
    place = estate.located.places["front-left"]
    for r in readings:
        if r.first == "front-left" and r.second in estate.ask.references:
            assert np.linalg.norm(place - estate.ask.references[r.second]) == pytest.approx(r.fitted)


def test_rails_and_motor_are_what_the_car_gains(estate):
    names = [name for name, _ in estate.carried]
    assert names == ["rails motor", "demo motor, 90 kW of rails motor"]
    (_, metal), (_, motor) = estate.carried
    assert motor.mass == 73
    assert 10 < metal.mass < 40
    # The motor's centre: 135 mm behind its face, which stands 75 mm before the bell's, on a shaft that rises 3 degrees.
    along = 75 + 135
    rise = np.radians(3)
    assert motor.centroid == pytest.approx([695 - along * np.cos(rise), 0, 470 + along * np.sin(rise)])
    # The gearbox hangs on the mounts, but was in the car already.
    assert estate.unit.mass == pytest.approx(metal.mass + motor.mass + 21)


def test_the_rails_alone_are_those_of_the_whole_car(estate):
    """The same rails twice: with the adapter's depth and mass written out, and with the adapter in the job."""
    whole = design_job(read_job(JOBS / "estate-whole.toml"))
    rails, adapter = whole.rails["motor"], whole.adapters["five-speed"]
    assert estate.given.motor.stand_off == pytest.approx(rails.given.motor.stand_off)
    assert estate.given.motor.mass == pytest.approx(rails.given.motor.mass + adapter.metal.mass, abs=0.5)
    assert {m: b.stock.name for m, b in estate.bars.items()} == {m: b.stock.name for m, b in rails.bars.items()}
    marks = [{item.mark for item in one.assembly.placed} for one in (estate, rails)]
    assert marks[0] == marks[1]
    for name, place in rails.located.places.items():
        np.testing.assert_allclose(estate.located.places[name], place, atol=1e-6)
    assert holes(estate, ("cleat", "saddle", "plate", "foot")) == holes(rails, ("cleat", "saddle", "plate", "foot"))
