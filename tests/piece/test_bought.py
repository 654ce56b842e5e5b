"""Bought pieces: weighed as an even block of their size, their centre of mass where the data sheet says."""

import numpy as np
import pytest

from baywright.piece.bought import Bought
from baywright.piece.solid import Block, Round

BODY = Block(np.array([-100.0, -50.0, 0.0]), np.array([100.0, 50.0, 60.0]))
STUD = Round(np.array([80.0, 0.0, 60.0]), np.array([0.0, 0.0, 1.0]), 20.0, 10.0)


def test_an_even_block_of_its_enclosing_size():
    found = Bought(role="module", name="m", mass=12.0, bodies_=(BODY, STUD)).mass_properties()
    assert found.mass == 12
    assert found.centroid == pytest.approx([0, 0, 40])  # body and stud together reach to z = 80
    assert np.diag(found.inertia) == pytest.approx([100**2 + 80**2, 200**2 + 80**2, 200**2 + 100**2])  # 12 kg / 12


def test_a_stated_centre_moves_the_centroid_and_keeps_the_inertia_about_it():
    even = Bought(role="module", name="m", mass=12.0, bodies_=(BODY,)).mass_properties()
    stated = Bought(role="module", name="m", mass=12.0, bodies_=(BODY,), centre=np.array([8.0, -3.0, 25.0]))
    assert stated.mass_properties().centroid == pytest.approx([8, -3, 25])
    assert stated.mass_properties().inertia == pytest.approx(even.inertia)


def test_an_allowance_without_a_body_is_a_point():
    found = Bought(role="coolant", name="glycol", mass=0.4, centre=np.array([1.0, 2.0, 3.0])).mass_properties()
    assert found.mass == 0.4
    assert found.centroid == pytest.approx([1, 2, 3])
    assert not found.inertia.any()
    nowhere = Bought(role="wiring", name="looms", mass=2.0).mass_properties()
    assert nowhere.centroid == pytest.approx([0, 0, 0])


def test_what_to_order_is_its_name():
    assert Bought(role="screw", name="socket screw M5x10", mass=0.003).size_text() == "socket screw M5x10"
