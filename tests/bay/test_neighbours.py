"""What the job itself puts in a bay: boxes, and rails as they rock."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from baywright.bay.gaps import least_gaps
from baywright.bay.neighbours import boxes_beside, rails_skin
from baywright.bay.outside import case_of, outer_bodies
from baywright.bay.skin import of_bodies
from baywright.design import design_job
from baywright.job.read import read_job
from baywright.piece.solid import Block, Round
from baywright.review import review_job
from baywright.shape.pose import turned

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def rails():
    return design_job(read_job(ROOT / "shared" / "jobs" / "rails-estate.toml")).rails["motor"]


def test_rails_sweep_more_than_they_are_at_rest_by_what_they_move(rails):
    from baywright.rail.clear import rocking
    from baywright.rail.stress import solve

    skin = rails_skin("motor", rails)
    moves = rocking(solve(rails)).moves
    rest = np.concatenate(
        [
            of_bodies([(i.mark, b) for b in i.piece.bodies()], rails.pose.after(i.pose)).vertices
            for i in rails.assembly.placed
            if i.piece.bodies()  # what is bonded on another counts as part of it
        ]
    )
    low, high = skin.bounds
    more = np.concatenate([rest.min(axis=0) - low, high - rest.max(axis=0)])
    assert (more >= -1e-9).all()
    assert 0.1 < more.max() <= moves + 1e-6


def test_a_body_s_faces_hold_it():
    bodies = [
        ("b", Block(np.zeros(3), np.array([10.0, 20, 30]))),
        ("r", Round(np.array([50.0, 0, 0]), np.array([0, 0, 1.0]), 40.0, 20.0)),
    ]
    trimesh = pytest.importorskip("trimesh")
    for one, volume in zip(bodies, (6000.0, np.pi * 100 * 40), strict=True):
        skin = of_bodies([one], turned("z", 30, (5, 6, 7)))
        mesh = trimesh.Trimesh(skin.vertices, skin.faces, process=True)
        assert mesh.is_watertight
        assert volume <= abs(mesh.volume) * (1 + 1e-9)
        assert abs(mesh.volume) < volume * 1.03


def test_two_boxes_in_one_bay_are_held_against_each_other(box):
    near = replace(box, layout=replace(box.layout, ask=box.layout.ask.model_copy(update={"bay": "b"})))
    wide = float((case_of(box).high - case_of(box).low)[1])
    ask = near.layout.ask.model_copy(update={"at": (0.0, wide + 150.0, 0.0)})
    other = replace(near, layout=replace(near.layout, ask=ask))
    (skin,) = boxes_beside({"one": near, "two": other}, "b", but="one")
    assert skin.name == "box 'two'"
    gap = least_gaps(outer_bodies(near), near.pose, skin, reach=200.0).least.distance
    assert 30 < gap < 150.0  # lift lugs stand out of both
    assert boxes_beside({"one": near}, "b", but="one") == ()


def test_the_scanned_demo_has_nothing_that_fails():
    review = review_job(design_job(read_job(ROOT / "shared" / "jobs" / "estate-scanned.toml")))
    assert review.verdict == "look"
    assert any(f.check == "clear of scan 'estate-engine'" and f.verdict == "pass" for f in review.findings)
    assert any("bump and droop" in f.check and f.verdict == "pass" for f in review.findings)
