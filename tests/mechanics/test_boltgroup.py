import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from baywright.mechanics.boltgroup import (
    bearing_resistance,
    bolt_shear_resistance,
    bolt_tension_resistance,
    bolt_use,
    group_forces,
)
from baywright.shape.pose import turned

number = st.floats(-1e4, 1e4, allow_nan=False)
triple = st.tuples(number, number, number).map(np.array)


@st.composite
def groups(draw):
    count = draw(st.integers(3, 8))
    flat = draw(
        st.lists(st.tuples(st.floats(-150, 150), st.floats(-150, 150)), min_size=count, max_size=count, unique=True)
    )
    points = np.column_stack([np.array(flat), np.zeros(count)])
    assume(np.linalg.svd(points - points.mean(axis=0), compute_uv=False)[1] > 10)
    stands = turned("x", draw(st.floats(0, 360))).after(turned("y", draw(st.floats(0, 360))))
    return stands(points) + draw(triple) / 100, stands.turn[:, 2]


@given(groups(), triple, triple, triple)
def test_bolt_forces_add_up_to_the_load(group, force, moment, at):
    points, axis = group
    got = group_forces(points, axis, force, moment * 100, at)
    each = got.shear + got.tension[:, None] * axis
    scale = np.abs(force).max() + np.abs(moment).max() + 1
    assert np.allclose(each.sum(axis=0), force, atol=1e-8 * scale)
    about = np.cross(points - at, each).sum(axis=0)
    assert np.allclose(about, moment * 100, atol=1e-6 * scale * 100)
    assert np.allclose(got.shear @ axis, 0, atol=1e-8 * scale)


def test_many_load_cases_at_once_are_the_same_as_one_by_one():
    rng = np.random.default_rng(3)
    points = np.array([[0, 0, 0], [40, 0, 0], [0, 60, 0], [40, 60, 0]], dtype=float)
    force, moment = rng.normal(size=(5, 3)), rng.normal(size=(5, 3))
    together = group_forces(points, [0, 0, 1], force, moment, [10, 20, 30])
    for i in range(5):
        alone = group_forces(points, [0, 0, 1], force[i], moment[i], [10, 20, 30])
        assert np.allclose(together.shear[i], alone.shear)
        assert np.allclose(together.tension[i], alone.tension)


def test_one_bolt_and_bolts_in_line_are_told():
    with pytest.raises(ValueError, match="single bolt"):
        group_forces([[0, 0, 0]], [0, 0, 1], [10, 0, 0], [0, 0, 0], [0, 50, 0])
    with pytest.raises(ValueError, match="in one line"):
        group_forces([[0, 0, 0], [50, 0, 0]], [0, 0, 1], [0, 0, 10], [0, 0, 0], [0, 50, 0])
    single = group_forces([[0, 0, 0]], [0, 0, 1], [10, 0, 5], [0, 0, 0], [0, 0, 0])
    assert single.across[0] == pytest.approx(10)
    assert single.tension[0] == pytest.approx(5)


def test_use_of_a_bolt():
    shear, tension = bolt_shear_resistance(800, 36.6), bolt_tension_resistance(800, 36.6)
    assert float(bolt_use(np.array(shear), np.array(0.0), shear, tension)) == pytest.approx(1)
    assert float(bolt_use(np.array(0.0), np.array(tension), shear, tension)) == pytest.approx(1)
    assert float(bolt_use(np.array(0.0), np.array(-tension), shear, tension)) == 0
    half = float(bolt_use(np.array(shear / 2), np.array(tension / 2), shear, tension))
    assert half == pytest.approx(0.5 + 0.5 / 1.4)
    with pytest.raises(ValueError, match="A2-70"):
        bolt_shear_resistance(700, 36.6, "A2-70")


COMMON = {"diameter": 8, "hole": 9, "thickness": 3, "strength": 290, "bolt_strength": 800}


def test_bearing_grows_with_edge_distance_up_to_its_bound():
    last = 0.0
    for edge in (10.8, 13.5, 18.0, 27.0):
        value = bearing_resistance(**COMMON, end=edge, side=20)
        assert value > last
        last = value
    assert bearing_resistance(**COMMON, end=60, side=60) == pytest.approx(2.5 * 290 * 8 * 3 / 1.25)


@pytest.mark.parametrize(
    ("bad", "word"),
    [({"end": 10.7}, "end"), ({"side": 10.7}, "side"), ({"pitch": 19.7}, "pitch"), ({"beside": 21.5}, "beside")],
)
def test_bearing_refuses_holes_too_near(bad, word):
    with pytest.raises(ValueError, match=word):
        bearing_resistance(**COMMON, **({"end": 20, "side": 20} | bad))


def test_bearing_by_its_four_bounds():
    """EN 1993-1-8, table 3.4 (from memory): αb is the least of e1/3d0, p1/3d0 - 1/4, fub/fu, 1; k1 likewise."""

    def bears(**places):
        return bearing_resistance(**(COMMON | {"end": 60, "side": 60, "gamma": 1.0} | places)) / (290 * 8 * 3)

    assert bears() == pytest.approx(2.5)
    assert bears(end=18) == pytest.approx(2.5 * 18 / 27)
    assert bears(pitch=27) == pytest.approx(2.5 * 0.75)
    assert bears(pitch=60) == pytest.approx(2.5)
    assert bears(bolt_strength=232) == pytest.approx(2.5 * 0.8)
    assert bears(side=11.25) == pytest.approx(2.8 * 1.25 - 1.7)
    assert bears(beside=22.5) == pytest.approx(1.4 * 2.5 - 1.7)
    assert bears(beside=60) == pytest.approx(2.5)
    assert bears(end=18, side=11.25) == pytest.approx((2.8 * 1.25 - 1.7) * 18 / 27)
    # Right at the least distances the rule still holds.
    assert bears(end=10.8, side=10.8, pitch=19.8, beside=21.6) > 0


@pytest.mark.parametrize(("grade", "share"), [("4.6", 0.6), ("5.6", 0.6), ("8.8", 0.6), ("10.9", 0.5), ("12.9", 0.5)])
def test_the_share_that_counts_in_shear(grade, share):
    assert bolt_shear_resistance(1000, 125, grade) == pytest.approx(share * 1000 * 125 / 1.25)


def test_bolts_not_about_the_origin_and_a_pull_beside_their_middle():
    # 1000 N along the bolts at 30 mm from the middle of two pairs 40 mm apart: 250 each ± 1000·30 / 40 / 2.
    holes = np.array([[480, 310, 70], [520, 310, 70], [480, 290, 70], [520, 290, 70]])
    got = group_forces(holes, [0, 0, 1], [0, 0, 1000], [0, 0, 0], [530, 300, 70])
    assert got.tension == pytest.approx([-125, 625, -125, 625])
    assert got.across == pytest.approx([0] * 4, abs=1e-9)
    # Two bolts hold a moment across their line, and nothing is left of a moment of nothing.
    pair = group_forces([[0, 0, 0], [50, 0, 0]], [0, 0, 1], [0, 0, 0], [0, -5000, 0], [0, 0, 0])
    assert pair.tension == pytest.approx([-100, 100])
    assert group_forces([[0, 0, 0]], [0, 0, 1], [0, 0, 0], [0, 0, 0], [9, 9, 9]).tension == pytest.approx([0])
