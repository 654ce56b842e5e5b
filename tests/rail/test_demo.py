"""The demo cars: one motor on two cars, where only the chassis end differs."""

from pathlib import Path

import numpy as np
import pytest

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
    assert max(abs(r.residual) for r in readings) < 1.5
    place = estate.located.places["front-left"]
    for r in readings:
        if r.first == "front-left" and r.second in estate.ask.references:
            assert np.linalg.norm(place - estate.ask.references[r.second]) == pytest.approx(r.fitted)


def test_rails_and_motor_are_what_the_car_gains(estate):
    names = [name for name, _ in estate.carried]
    assert names == ["rails motor", "demo motor, 90 kW of rails motor"]
    (_, metal), (_, motor) = estate.carried
    assert motor.mass == 62
    assert 10 < metal.mass < 40
    # The motor's centre: 135 mm behind its face, which stands 64 mm before the bell's, on a shaft that rises 3 degrees.
    along = 64 + 135
    rise = np.radians(3)
    assert motor.centroid == pytest.approx([540 - along * np.cos(rise), 0, 470 + along * np.sin(rise)])
    # The gearbox hangs on the mounts, but was in the car already.
    assert estate.unit.mass == pytest.approx(metal.mass + motor.mass + 21)
