import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright.mechanics.beam import Frame, Link, Member, condensed
from baywright.mechanics.section import section_properties
from baywright.mechanics.statics import Support, share, stiffness
from baywright.piece.extrusion import Stock
from baywright.shape.pose import turned

E, G = 210000.0, 81000.0
EYE, NONE = np.eye(3), np.zeros(3)
STIFF = np.full(3, 1e8)


def section(shape="tube", w=50, h=100, t=3):
    made = Stock(
        name="s", shape=shape, width=w, height=h, wall=t, material="steel", density=7850.0, stock_length=6000.0
    )
    return section_properties(made)


def chain(start, count, section, x_axis, e, g):
    """The members that join nodes start, start + 1, … start + count in a row."""
    return tuple(
        Member(start=i, end=i + 1, section=section, x_axis=x_axis, e=e, g=g) for i in range(start, start + count)
    )


# Single spans: sag over w L⁴ / EI and moment over w L² (even load), over F L³ / EI and F L (a force at mid-span, or at
# a cantilever's tip); (βL)² of the lowest natural frequency. Any handbook (Roark; Blevins), from memory.
EVEN = {"simple": (5 / 384, 1 / 8), "fixed": (1 / 384, 1 / 12), "cantilever": (1 / 8, 1 / 2)}
POINT = {"simple": (1 / 48, 1 / 4), "fixed": (1 / 192, 1 / 8), "cantilever": (1 / 3, 1.0)}
LOWEST = {"simple": np.pi**2, "fixed": 4.730040744862704**2, "cantilever": 1.875104068711961**2}


def straight(length, count, stands=None):
    """Nodes along z, or along the z of a pose, and that pose's x."""
    nodes = np.column_stack([np.zeros(count + 1), np.zeros(count + 1), np.linspace(0, length, count + 1)])
    return (nodes, EYE[0]) if stands is None else (stands(nodes), stands.turn[:, 0])


def fixed(node, at):
    return Link(first=node, second=None, at=at, axes=EYE, stiffness=STIFF * 100, turning=STIFF * 1e6)


@given(st.floats(0, 360), st.floats(0, 360), st.sampled_from(["tube", "angle", "channel"]))
def test_a_cantilever_in_any_direction(a, b, shape):
    """Tip load square to an unsymmetric section: the plane of stress gives the sag, u'' and v'' from the moments."""
    s = section(shape)
    stands = turned("x", a).after(turned("y", b))
    nodes, x_axis = straight(800, 3, stands)
    frame = Frame(nodes, chain(0, 3, s, x_axis, E, G), (fixed(0, nodes[0]),))
    force = np.array([300.0, -700.0])
    loads = np.zeros((4, 6))
    loads[3, :3] = stands.direction([*force, 0.0])
    got = frame.answer(loads)
    i = np.array([[s.iy, s.ixy], [s.ixy, s.ix]])  # u'' and v'' of (force along x, force along y)
    sag = np.linalg.solve(i, force) * 800**3 / (3 * E)
    tip = stands.inverse().direction(got.motion[3, :3])
    assert tip[:2] == pytest.approx(sag, rel=1e-4)
    assert got.residual < 1e-9
    # The wall holds the whole load.
    assert np.allclose(got.links[0, :3], -loads[3, :3], rtol=1e-9, atol=1e-6)
    assert np.allclose(got.links[0, 3:], -np.cross(nodes[3] - nodes[0], loads[3, :3]), rtol=1e-7, atol=1e-3)
    first = got.members[0, 0]
    assert first[:3] == pytest.approx([-300.0, 700.0, 0.0], abs=1e-4)
    assert first[3:5] == pytest.approx([-700 * 800, -300 * 800], rel=1e-6)  # -(z × F)·L


def test_twist_of_a_shaft():
    s = section()
    nodes, x_axis = straight(1000, 4)
    frame = Frame(nodes, chain(0, 4, s, x_axis, E, G), (fixed(0, nodes[0]),))
    loads = np.zeros((5, 6))
    loads[4, 5] = 2e5
    assert np.degrees(frame.answer(loads).motion[4, 5]) == pytest.approx(
        np.degrees(2e5 * 1000 / (G * s.torsion)), rel=1e-4
    )


def span(ends, s, n, length):
    """Return a straight beam of n members, held at its ends as one of the handbooks' cases is."""
    nodes, x_axis = straight(length, n)
    pin = {"axes": EYE, "stiffness": STIFF * 10, "turning": np.array([0.0, 0, 1e9])}
    held = {
        "simple": [Link(first=i, second=None, at=nodes[i], **pin) for i in (0, n)],
        "fixed": [fixed(0, nodes[0]), fixed(n, nodes[n])],
        "cantilever": [fixed(0, nodes[0])],
    }[ends]
    return Frame(nodes, chain(0, n, s, x_axis, E, G), tuple(held))


@pytest.mark.parametrize("ends", ["simple", "fixed", "cantilever"])
def test_spans_in_closed_form_against_the_frame(ends):
    s, n, length = section("bar", 20, 50), 40, 1200.0
    frame = span(ends, s, n, length)
    loads = np.zeros((2, n + 1, 6))
    loads[0, :, 1] = -2.0 * length / n
    loads[0, (0, n), 1] /= 2
    loads[1, n if ends == "cantilever" else n // 2, 1] = -500.0
    got = frame.answer(loads)
    for case, (table, force) in enumerate(((EVEN, 2.0 * length), (POINT, 500.0))):
        sag, moment = table[ends]
        assert np.abs(got.motion[case, :, 1]).max() == pytest.approx(sag * force * length**3 / (E * s.ix), rel=2e-3)
        assert np.abs(got.members[case, :, :, 3]).max() == pytest.approx(moment * force * length, rel=5e-3)


@pytest.mark.parametrize("ends", ["simple", "fixed", "cantilever"])
def test_lowest_frequency_against_the_frame(ends):
    """The beam's mass lumped at its nodes: power iteration on flexibility times mass finds the lowest mode."""
    s, n, length, rho = section("bar", 20, 50), 24, 1000.0, 7.85e-6 * 1000
    frame = span(ends, s, n, length)
    loads = np.zeros((n + 1, n + 1, 6))
    loads[np.arange(n + 1), np.arange(n + 1), 1] = 1.0
    flexibility = frame.answer(loads).motion[:, :, 1]
    mass = np.full(n + 1, rho * length / n)
    mass[[0, n]] /= 2
    root = np.sqrt(mass)
    value = np.linalg.eigvalsh(flexibility * np.outer(root, root))[-1]
    hertz = np.sqrt(1000 / value) / (2 * np.pi)
    # N·mm² over kg/mm is mm⁴ · 1000 / s².
    known = LOWEST[ends] / (2 * np.pi * length**2) * np.sqrt(1000 * E * s.ix / rho)
    assert hertz == pytest.approx(known, rel=5e-3)


def test_a_frame_that_is_stiff_shares_like_a_stiff_body():
    points = np.array([[0.0, 0, 0], [600, 0, 0], [600, 400, 50], [0, 400, 20]])
    big = section("bar", 400, 400, 0)
    members = tuple(m for i in range(3) for m in chain(i, 1, big, np.array([0.0, 0, 1]), E * 100, G * 100))
    k = np.array([[300.0, 400, 500], [100, 100, 900], [250, 800, 200], [600, 100, 50]])
    links = tuple(
        Link(first=i, second=None, at=points[i], axes=EYE, stiffness=k[i], turning=NONE, name=str(i)) for i in range(4)
    )
    loads = np.zeros((4, 6))
    loads[1] = [500, -300, -2000, 1e5, -4e5, 2e5]
    got = Frame(points, members, links).answer(loads)
    held = [Support(name=str(i), at=points[i], axes=EYE, stiffness=k[i]) for i in range(4)]
    stiff = share(held, loads[1, :3], loads[1, 3:], points[1])
    assert np.allclose(got.links[:, :3], stiff.forces, rtol=2e-3, atol=2.0)
    assert np.allclose(condensed(Frame(points, members, links), 1), stiffness(held, points[1]), rtol=5e-3, atol=1e4)


@given(st.integers(0, 10_000))
def test_ground_holds_what_is_put_on(seed):
    """Stiff bolts beside soft rubber: the reactions still balance to nine figures."""
    rng = np.random.default_rng(seed)
    s, n = section(), 12
    nodes, x_axis = straight(900, n)
    nodes = np.vstack([nodes, [[30.0, 200, 450]]])
    bolts = tuple(
        Link(first=i, second=n + 1, at=nodes[i] + [side, 50, 0], axes=EYE, stiffness=np.full(3, 1e6), turning=NONE)
        for i, side in ((3, -20), (4, 20), (8, -20), (9, 20))
    )
    ground = tuple(
        Link(
            first=i,
            second=None,
            at=nodes[i] + [*rng.normal(size=2) * 30, 0] + [0, side, 0],
            axes=EYE,
            stiffness=rng.uniform(100, 900, 3),
            turning=NONE,
        )
        for i, side in ((0, -150), (0, 150), (12, -150), (12, 150))
    )
    loads = np.zeros((n + 2, 6))
    loads[n + 1, :3], loads[n + 1, 3:] = rng.normal(size=3) * 3000, rng.normal(size=3) * 4e5
    got = Frame(nodes, chain(0, n, s, x_axis, E, G), bolts + ground).answer(loads)
    hold = got.links[len(bolts) :, :3]
    size = np.abs(hold).max()
    assert np.allclose(hold.sum(axis=0), -loads[n + 1, :3], rtol=0, atol=1e-9 * size)
    arms = np.array([g.at for g in ground]) - nodes[n + 1]
    assert np.allclose(np.cross(arms, hold).sum(axis=0), -loads[n + 1, 3:], rtol=0, atol=1e-9 * size * 900)


def test_what_is_not_held_is_told():
    s = section()
    nodes, x_axis = straight(500, 2)
    with pytest.raises(ValueError, match="not held"):
        Frame(nodes, chain(0, 2, s, x_axis, E, G), ()).answer(np.zeros((3, 6)))
    loose = np.vstack([nodes, [[9.0, 9, 9]]])
    with pytest.raises(ValueError, match="held by nothing"):
        Frame(loose, chain(0, 2, s, x_axis, E, G), (fixed(0, nodes[0]),)).answer(np.zeros((4, 6)))
