import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright.mechanics.section import equivalent_stress, rectangle_torsion, section_properties
from baywright.piece.extrusion import Stock


def stock(shape, width, height, wall):
    return Stock(
        name="s",
        shape=shape,
        width=width,
        height=height,
        wall=wall,
        material="steel",
        density=7850.0,
        stock_length=6000.0,
    )


@st.composite
def stocks(draw):
    shape = draw(st.sampled_from(["angle", "channel", "tube", "bar", "rod", "round tube"]))
    wide, high = draw(st.floats(15, 120)), draw(st.floats(15, 120))
    if shape in ("rod", "round tube"):
        high = wide
    wall = draw(st.floats(1, 0.3 * min(wide, high)))
    return stock(shape, wide, high, wall)


def cells(section, step=0.25):
    """The section as small squares: centres (n, 2) and the area of one, for sums that share nothing with the code."""
    w, h = section.width, section.height
    lo = (-w / 2, -h / 2) if section.shape in ("rod", "round tube") else (0.0, 0.0)
    x, y = np.meshgrid(np.arange(lo[0] + step / 2, lo[0] + w, step), np.arange(lo[1] + step / 2, lo[1] + h, step))
    t = section.wall
    inside = {
        "angle": lambda: (x < t) | (y < t),
        "channel": lambda: (x < t) | (y < t) | (y > h - t),
        "tube": lambda: (x < t) | (x > w - t) | (y < t) | (y > h - t),
        "bar": lambda: np.full(x.shape, True),
        "rod": lambda: np.hypot(x, y) < w / 2,
        "round tube": lambda: (np.hypot(x, y) < w / 2) & (np.hypot(x, y) > w / 2 - t),
    }[section.shape]()
    return np.column_stack([x[inside], y[inside]]), step * step


@pytest.mark.parametrize(
    ("shape", "sizes"),
    [
        ("angle", (60, 40, 5)),
        ("channel", (40, 80, 4)),
        ("tube", (50, 100, 3)),
        ("bar", (20, 60, 0)),
        ("rod", (30, 30, 0)),
        ("round tube", (40, 40, 3)),
    ],
)
def test_area_and_moments_are_those_of_the_metal(shape, sizes):
    s = stock(shape, *sizes)
    p, (points, one) = section_properties(s), cells(s, 0.1)
    rel = 5e-3 if "ro" in shape else 1e-4
    assert p.area == pytest.approx(len(points) * one, rel=rel)
    centre = points.mean(axis=0)
    assert np.allclose(p.centroid, centre, atol=1e-2)
    d = points - centre
    for value, sum_ in ((p.ix, d[:, 1] ** 2), (p.iy, d[:, 0] ** 2)):
        assert value == pytest.approx(sum_.sum() * one, rel=rel)
    assert p.ixy == pytest.approx((d[:, 0] * d[:, 1]).sum() * one, rel=rel, abs=rel * p.ix)


@given(stocks(), st.floats(-1e6, 1e6), st.floats(-1e6, 1e6))
def test_bending_stress_carries_the_moments(s, mx, my):
    """The plane of stress that the code takes must add up to the moments: checked on the exact area moments."""
    p = section_properties(s)
    i = np.array([[p.ix, p.ixy], [p.ixy, p.iy]])  # of b y + a x: Mx = a Ixy + b Ix, My = -(a Iy + b Ixy)
    b, a = np.linalg.solve(i, [mx, -my])
    outline = s.profile.outer[:, :2] - p.centroid
    expected = np.abs(outline @ [a, b]).max() if not p.round else math.hypot(a, b) * s.width / 2
    assert float(p.bending_stress(np.array(mx), np.array(my))) == pytest.approx(expected, rel=1e-9, abs=1e-12)


@given(stocks())
def test_principal_moments_are_the_extremes(s):
    p = section_properties(s)
    big, small, angle = p.principal()
    a = np.radians(np.arange(0, 180, 1.0))
    about = p.ix * np.cos(a) ** 2 + p.iy * np.sin(a) ** 2 - p.ixy * np.sin(2 * a)
    assert about.max() <= big * (1 + 1e-9)
    assert about.min() >= small * (1 - 1e-9)
    t = math.radians(angle)
    at = p.ix * math.cos(t) ** 2 + p.iy * math.sin(t) ** 2 - p.ixy * math.sin(2 * t)
    assert at == pytest.approx(big, rel=1e-9)


@given(stocks())
def test_shear_stress_is_at_least_the_mean_and_a_rectangle_has_three_halves(s):
    p = section_properties(s)
    assert p.shear_x < p.area
    assert p.shear_y < p.area
    if s.shape == "bar":
        assert p.shear_y == pytest.approx(p.area / 1.5)
        assert p.shear_x == pytest.approx(p.area / 1.5)


def test_shear_of_a_tube_by_hand():
    # 100 x 50 x 3 upright: Q of the upper half = 50·50·25 - 44·47·23.5 = 13 902 mm³, over 6 mm of wall.
    p = section_properties(stock("tube", 50, 100, 3))
    q = 50 * 50 * 25 - 44 * 47 * 23.5
    assert p.shear_y == pytest.approx(p.ix * 6 / q, rel=1e-9)


@given(st.floats(2, 100), st.floats(2, 100))
def test_rectangle_torsion_lies_between_its_known_ends(a, b):
    constant, modulus = rectangle_torsion(a, b)
    wide, thick = max(a, b), min(a, b)
    assert 0.1405 * wide * thick**3 <= constant * (1 + 1e-3)  # a square has the least: 0.1406
    assert constant <= wide * thick**3 / 3
    assert rectangle_torsion(b, a) == pytest.approx((constant, modulus))
    assert 0.2080 * wide * thick**2 <= modulus * (1 + 1e-3)


def test_equivalent_stress():
    assert float(equivalent_stress(np.array(30.0), np.array(40.0))) == pytest.approx(math.sqrt(900 + 4800))


# --- torsion and shear in closed form ------------------------------------------------------------------------------


def test_round_sections_by_their_textbook_forms():
    # J = π/32 (D⁴ - d⁴), its modulus J / R; shear V Q / (I b) on the diameter: Q = 2/3 (R³ - r³), b = 2 (R - r).
    for shape, size, wall, r in (("rod", 30, 0, 0.0), ("round tube", 40, 3, 17.0)):
        p, big = section_properties(stock(shape, size, size, wall)), size / 2
        assert p.round == big
        assert p.torsion == pytest.approx(math.pi / 2 * (big**4 - r**4))
        assert p.torsion_modulus == pytest.approx(math.pi / 2 * (big**4 - r**4) / big)
        i = math.pi / 4 * (big**4 - r**4)
        shear = i * 2 * (big - r) / (2 / 3 * (big**3 - r**3))
        assert (p.shear_x, p.shear_y) == pytest.approx((shear, shear))
        assert (p.ix, p.iy) == pytest.approx((i, i))
        assert p.shear_centre == pytest.approx((0, 0), abs=1e-9)


def test_torsion_of_thin_sections_by_hand():
    # Bredt: the tube's middle line encloses 47 x 97 = 4559 mm² and is 288 mm long.
    tube = section_properties(stock("tube", 50, 100, 3))
    assert tube.torsion == pytest.approx(4 * 4559**2 * 3 / 288)
    assert tube.torsion_modulus == pytest.approx(2 * 4559 * 3)
    # Strips along the middle lines: 57.5 + 37.5 of an angle 60 x 40 x 5, 76 + 2 x 38 of a channel 40 x 80 x 4.
    angle = section_properties(stock("angle", 60, 40, 5))
    assert (angle.torsion, angle.torsion_modulus) == pytest.approx((95 * 5**3 / 3, 95 * 5**2 / 3))
    channel = section_properties(stock("channel", 40, 80, 4))
    assert (channel.torsion, channel.torsion_modulus) == pytest.approx((152 * 4**3 / 3, 152 * 4**2 / 3))


@pytest.mark.parametrize(
    ("ratio", "constant", "modulus"),
    [
        (1, 0.1406, 0.208),
        (1.5, 0.196, 0.231),
        (2, 0.229, 0.246),
        (3, 0.263, 0.267),
        (5, 0.291, 0.291),
        (10, 0.312, 0.312),
    ],
)
def test_rectangle_torsion_by_the_table(ratio, constant, modulus):
    """Timoshenko and Goodier, Theory of Elasticity, table of constants for torsion of a bar (from memory)."""
    j, w = rectangle_torsion(8 * ratio, 8)
    assert j / (8 * ratio * 8**3) == pytest.approx(constant, abs=6e-4)
    assert w / (8 * ratio * 8**2) == pytest.approx(modulus, abs=6e-4)
    bar = section_properties(stock("bar", 8, 8 * ratio, 0))
    assert (bar.torsion, bar.torsion_modulus) == pytest.approx((j, w))


def test_shear_of_open_sections_by_hand():
    # Channel 40 x 80 x 4: above the middle the flange 40 x 4 at 38 mm and 36 mm of web at 18.
    channel = section_properties(stock("channel", 40, 80, 4))
    assert channel.shear_y == pytest.approx(channel.ix * 4 / (40 * 4 * 38 + 4 * 36 * 18))
    # Angle 60 x 40 x 5: above the centroid only the upright leg.
    angle = section_properties(stock("angle", 60, 40, 5))
    up = 40 - (300 * 2.5 + 175 * 22.5) / 475
    assert angle.shear_y == pytest.approx(angle.ix * 5 / (5 * up**2 / 2))
    # Tube 50 x 100 x 3 on its side: the half less its hollow, over two walls.
    tube = section_properties(stock("tube", 50, 100, 3))
    assert tube.shear_x == pytest.approx(tube.iy * 6 / (100 * 25 * 12.5 - 94 * 22 * 11))


def test_shear_centres():
    # An angle's legs meet there; a channel's lies 3 b² / (6 b + h) outside its web's middle line (thin walls).
    assert section_properties(stock("angle", 60, 40, 5)).shear_centre == pytest.approx((2.5, 2.5))
    b, h = 40 - 2, 80 - 4
    thin = section_properties(stock("channel", 40, 80, 4)).shear_centre
    assert thin == pytest.approx((2 - 3 * b**2 / (6 * b + h), 40), rel=0.03)
    assert section_properties(stock("tube", 50, 100, 3)).shear_centre == pytest.approx((25, 50))
