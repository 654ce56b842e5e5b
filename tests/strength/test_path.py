"""The load path's statics: every free body of many boxes in balance, to a billionth of its load."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.strength.path import Statics

from .conftest import built, requests

THROWS = st.tuples(*[st.floats(-400, 400)] * 3).map(np.array)


def balanced(forces, points, load, at) -> None:
    """Assert that forces (n, 3) at points (n, 3) hold a load at a point."""
    scale = max(1.0, float(np.abs(load).max()))
    assert np.abs(np.sum(forces, axis=0) + load).max() < 1e-9 * scale
    moments = np.cross(points, forces).sum(axis=0) + np.cross(at, load)
    assert np.abs(moments).max() < 1e-9 * scale * max(1.0, float(np.abs(points).max()), float(np.abs(at).max()))


@settings(max_examples=30)
@given(asked=requests(), throw=THROWS)
def test_every_free_body_is_in_balance(asked, throw):
    design = built(asked)
    s = Statics(design)
    load = s.module_mass * throw
    got = s.on_hold_downs(throw)
    # A module: its hold-downs hold it against its own mass, thrown.
    on_module = -(got.shear + got.tension[:, None] * [0, 0, 1])
    balanced(on_module, s.holds, load, s.module_centre)
    if design.layout.carry == "ledges":
        for one in s.bearers(throw):
            # A bearer: forces and moments about its level and upright axes (twist is the end screws' couple).
            assert (
                np.abs(one.forces.sum(axis=0) + one.own - one.ends.sum(axis=0)).max() < 1e-9 * np.abs(load).max() + 1e-9
            )
            y = one.points[:, 1]
            for axis in (0, 2):
                about = (one.forces[:, axis] * y).sum() - (one.ends[1, axis] - one.ends[0, axis]) * one.span / 2
                assert abs(about) < 1e-9 * max(1.0, float(np.abs(load).max())) * one.span
    if s.feet:
        body = design.mass_properties
        feet = s.on_feet(throw)
        assert feet.residual < 1e-9
        balanced(feet.forces, np.array([f.at for f in s.feet]), body.mass * throw, body.centroid)


@settings(max_examples=15)
@given(asked=requests(), throw=THROWS)
def test_slotted_feet_hold_nothing_along_the_box(asked, throw):
    design = built(asked)
    s = Statics(design)
    if s.feet:
        slotted = [f.slotted for f in design.feet for _ in f.bolts]
        assert np.abs(s.on_feet(throw).forces[slotted, 0]).max() < 1e-9 * max(1.0, np.abs(throw).max())


def test_a_bearer_by_hand(make_box):
    """Three modules one on another, 10 N/kg down: each hold-down a quarter, 30 mm from a bearer's end."""
    design = make_box()
    s = Statics(design)
    one = s.bearers(np.array([0.0, 0.0, -10.0]))[0]
    weight = 10 * s.module_mass
    # The centre of mass is 4 mm off the hold-downs' middle, which are 544 mm apart: the first bearer carries more.
    share = weight * (0.5 + 4 / 544)
    assert -one.forces[:, 2] == pytest.approx([share / 2] * 2)
    own = 10 * s.mass("bearer 1.1.1")
    assert -one.ends[:, 2] == pytest.approx([share / 2 + own / 2] * 2)
    arm = one.span / 2 - 95
    bend = (share / 2 + own / 2) * arm - own / one.span * arm**2 / 2
    assert np.abs(one.moments) == pytest.approx([bend] * 2)


def test_feet_of_a_tall_box_by_hand(make_box):
    """Thrown across, the box lifts off one pair of feet and stands on the other: m a h / width, less its weight."""
    design = make_box(count=3)
    s = Statics(design)
    body, a = design.mass_properties, 30.0
    forces = s.on_feet(np.array([0.0, a, -9.80665])).forces
    bolts = np.array([f.at for f in s.feet])
    wide = np.ptp(bolts[:, 1])
    lift = body.mass * a * (body.centroid[2] - bolts[0, 2]) / wide
    pulled = forces[bolts[:, 1] < 0, 2].sum()
    y = body.centroid[1]
    assert pulled == pytest.approx(body.mass * 9.80665 * (0.5 - y / wide) - lift)


def test_what_is_kept_is_kept_by_throw(make_box):
    """One box under two throws, each asked for twice: nothing of the one is told of the other."""
    s, other = Statics(make_box(count=2, rows=2)), [np.array([0.0, 0.0, -10.0]), np.array([0.0, 30.0, -10.0])]
    for _ in range(2):
        down, across = (s.bearers(force)[0] for force in other)
        assert np.abs(down.ends[:, 1]).max() < 1e-9
        assert across.ends[:, 1].min() > 100
        assert across.ends[1, 2] < down.ends[1, 2] < across.ends[0, 2]
        assert s.on_feet(other[0]).forces[:, 1] == pytest.approx([0] * 4, abs=1e-6)
        assert s.on_feet(other[1]).forces[:, 1].sum() == pytest.approx(-30 * s.design.mass_properties.mass)
        assert s.on_hold_downs(other[1]).across.sum() > 100 > s.on_hold_downs(other[0]).across.sum()
        assert s.bearers(other[0], 1, 2)[0].points[0, 0] > s.bearers(other[0], 1, 1)[0].points[0, 0] + 500
        assert s.bearers(other[0], 1, 2)[0].mark == "bearer 1.2.1"
