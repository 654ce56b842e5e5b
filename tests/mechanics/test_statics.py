import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from baywright.mechanics.boltgroup import group_forces
from baywright.mechanics.statics import (
    NotHeld,
    Support,
    collinearity,
    moment_about,
    natural_frequencies,
    share,
    stiffness,
)
from baywright.shape.mass import MassProperties, block, point_mass
from baywright.shape.pose import turned

number = st.floats(-1e4, 1e4, allow_nan=False)
triple = st.tuples(number, number, number).map(np.array)


def support(name, at, k):
    return Support(
        name=name, at=np.array(at, dtype=float), axes=np.eye(3), stiffness=np.broadcast_to(k, 3).astype(float)
    )


@st.composite
def supports(draw):
    count = draw(st.integers(3, 8))
    found = []
    for i in range(count):
        at = [draw(st.floats(-900, 900)) for _ in range(3)]
        axes = turned("x", draw(st.floats(0, 360))).after(turned("z", draw(st.floats(0, 360)))).turn
        k = np.array([draw(st.floats(50, 5000)) for _ in range(3)])
        found.append(Support(name=str(i), at=np.array(at), axes=axes, stiffness=k))
    assume(collinearity([s.at for s in found]) > 40)
    return found


@given(supports(), triple, triple, triple)
def test_reactions_balance_the_load(found, force, moment, at):
    got = share(found, force, moment * 100, at / 10)
    assert got.residual < 1e-9
    # The balance once more, about another point, and not by the code's own sum.
    total = got.forces.sum(axis=0) + force
    arms = np.array([s.at for s in found]) - 77.0
    turning = np.cross(arms, got.forces).sum(axis=0) + moment * 100 + np.cross(at / 10 - 77.0, force)
    size = max(
        np.abs(force).max(), np.abs(moment * 100).max() / 900, np.linalg.norm(np.cross(at / 10 + 77, force)) / 900
    )
    assert np.abs(total).max() <= 1e-9 * size + 1e-12
    assert np.abs(turning).max() <= 1e-9 * size * 3000 + 1e-9


@given(supports(), triple, triple)
def test_each_support_pushes_back_by_its_own_stiffness(found, force, at):
    got = share(found, force, np.zeros(3), at / 10)
    for s, pushed in zip(found, got.forces, strict=True):
        moved = got.motion[:3] + np.cross(got.motion[3:], s.at - got.about)
        own = s.axes.T @ moved
        assert np.allclose(s.axes.T @ pushed, -s.stiffness * own, atol=1e-6 * (np.abs(pushed).max() + 1))


def test_equal_supports_share_like_a_bolt_group():
    points = np.array([[75, 60, 0], [75, -60, 0], [-75, 60, 0], [-75, -60, 0]], dtype=float)
    got = share([support(str(i), p, 1e4) for i, p in enumerate(points)], [0, -16000, 0], np.zeros(3), [425, 0, 0])
    bolts = group_forces(points, [0, 0, 1], [0, -16000, 0], [0, 0, 0], [425, 0, 0])
    assert np.allclose(-got.forces, bolts.shear, rtol=1e-9, atol=1e-6)


def test_a_soft_support_takes_less():
    found = [support("a", [0, 0, 0], 1000), support("b", [100, 0, 0], 1000), support("c", [50, 80, 0], 250)]
    got = share(found, [0, 0, -900], np.zeros(3), [50, 20, 0])
    # Three supports: the split of a vertical load is fixed by statics alone, whatever their stiffness.
    assert got.forces[:, 2] == pytest.approx([337.5, 337.5, 225.0])


def test_what_is_not_held_is_told():
    with pytest.raises(NotHeld, match="one mount"):
        share([support("a", [0, 0, 0], 100)], [0, 0, 1], np.zeros(3), [0, 0, 0])
    line = [support(n, [x, 0, 0], 100) for n, x in (("a", 0), ("b", 100), ("c", 250))]
    with pytest.raises(NotHeld, match="a, b, c lie in one line"):
        share(line, [0, 0, 1], np.zeros(3), [0, 50, 0])
    weak = [support(n, p, [0, 0, 100]) for n, p in (("a", [0, 0, 0]), ("b", [100, 0, 0]), ("c", [0, 100, 0]))]
    with pytest.raises(NotHeld, match="do not stop a"):
        share(weak, [0, 0, 1], np.zeros(3), [0, 50, 0])


def test_frequencies_of_a_block_on_four_springs_in_closed_form():
    body = block(50.0, [-200, -150, -100], [200, 150, 100])
    found = [support(str((x, y)), [x, y, 0], [300, 400, 500]) for x in (-250, 250) for y in (-180, 180)]
    hertz, shapes = natural_frequencies(stiffness(found, [0, 0, 0]), body, [0, 0, 0])
    rate = 1000 / (2 * np.pi) ** 2
    inertia = np.diag(body.inertia)
    # Springs in the plane of the centroid: no shift and turn are coupled.
    expected = np.sqrt(
        rate
        * np.array(
            [
                4 * 300 / 50,
                4 * 400 / 50,
                4 * 500 / 50,
                4 * 500 * 180**2 / inertia[0],
                4 * 500 * 250**2 / inertia[1],
                4 * (300 * 180**2 + 400 * 250**2) / inertia[2],
            ]
        )
    )
    assert hertz == pytest.approx(sorted(expected), rel=1e-9)
    assert shapes.shape == (6, 6)


@given(supports(), triple)
def test_frequencies_do_not_depend_on_the_reference_point(found, about):
    body = MassProperties(60.0, np.array([40.0, -30, 90]), np.diag([1e6, 2e6, 2.5e6]))
    one, _ = natural_frequencies(stiffness(found, [0, 0, 0]), body, [0, 0, 0])
    other, _ = natural_frequencies(stiffness(found, about / 100), body, about / 100)
    assert np.allclose(one, other, rtol=1e-6)


def test_moment_and_collinearity():
    assert moment_about([0, 0, 0], [0, 2, 0], [0, 0, 5]).tolist() == [10, 0, 0]
    assert collinearity([[0, 0, 0], [10, 10, 10]]) == 0
    assert collinearity([[0, 0, 0], [100, 0, 0], [50, 3, 0]]) == pytest.approx(2, rel=1e-3)
    assert point_mass(1.0, (0, 0, 0)).mass == 1


def test_the_motion_that_is_free_is_named():
    points = [[0, 0, 0], [300, 0, 40], [0, 200, -30]]
    sliding = [support(str(i), p, [0, 100, 100]) for i, p in enumerate(points)]
    with pytest.raises(NotHeld, match=r"do not stop a shift along \(-?1\.00, -?0\.00, -?0\.00\)"):
        share(sliding, [1, 0, 0], np.zeros(3), [0, 0, 0])
    # Round a circle, stiff outwards and upwards only: the ring turns.
    ring = [
        Support(name=str(a), at=t.turn @ np.array([250.0, 0, 0]), axes=t.turn, stiffness=np.array([100.0, 0, 100]))
        for a in (0, 120, 240)
        for t in [turned("z", a)]
    ]
    with pytest.raises(NotHeld, match=r"do not stop a turn about \(-?0\.00, -?0\.00, -?1\.00\)"):
        share(ring, [1, 0, 0], np.zeros(3), [0, 0, 0])
    with pytest.raises(NotHeld, match="one mount"):
        share([], [1, 0, 0], np.zeros(3), [0, 0, 0])


def test_no_load_moves_nothing_and_soft_mounts_hold_as_stiff_ones_do():
    corners = [[0, 0, 0], [400, 0, 0], [0, 300, 0]]
    rest = share([support(str(p), p, 1000) for p in corners], np.zeros(3), np.zeros(3), [0, 0, 0])
    assert rest.residual == 0
    assert np.abs(rest.forces).max() == 0
    hard, soft = (
        share([support(str(p), p, k) for p in corners], [30, -20, -900], [1e4, 0, 5e3], [90, 80, 150])
        for k in (1e6, 1e-6)
    )
    assert soft.forces == pytest.approx(hard.forces)
    assert soft.motion == pytest.approx(hard.motion * 1e12)
