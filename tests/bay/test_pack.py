"""Several boxes beside each other: against trying every place of every one, on small cases."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright.bay.pack import Stand, packed


def by_force(boxes: list[list[Stand]], step: float, gap: float, stood: list | None = None) -> bool:
    """Tell whether boxes go in together, the plain way: every turn and place of each, none left out."""
    stood = stood or []
    if not boxes:
        return True
    for stand in boxes[0]:
        for i, j in np.argwhere(stand.free):
            low, high = stand.low + step * np.array([i, j]), stand.high + step * np.array([i, j])
            clear = all(((low >= h + gap - 1e-6) | (high <= lo - gap + 1e-6)).any() for lo, h in stood)
            if clear and by_force(boxes[1:], step, gap, [*stood, (low, high)]):
                return True
    return False


@st.composite
def bays(draw):
    """Return a small ragged bay and two to four boxes in it, each as it stands either way round."""
    rng = np.random.default_rng(draw(st.integers(0, 1_000_000)))
    size = rng.integers(4, 8, 2)
    taken = rng.random(size) < 0.12
    boxes = []
    for _ in range(draw(st.integers(2, 4))):
        cells = rng.integers(1, 5, 2)
        stands = []
        for a, b in {tuple(cells), tuple(cells[::-1])}:
            free = np.zeros(size, dtype=bool)
            for i, j in product(range(size[0] - a + 1), range(size[1] - b + 1)):
                free[i, j] = not taken[i : i + a, j : j + b].any()
            stands.append(Stand(np.zeros(2), 10.0 * np.array([a, b]), free))
        boxes.append(stands)
    return boxes


@settings(max_examples=150)
@given(boxes=bays(), gap=st.sampled_from([0.0, 3.0, 10.0]))
def test_as_every_place_says(boxes, gap):
    found = packed(boxes, 10.0, gap)
    assert (found is not None) == by_force(boxes, 10.0, gap)
    if found is None:
        return
    stood = []
    for box, spot in zip(boxes, found, strict=True):
        stand = box[spot.turn]
        assert stand.free[spot.i, spot.j]
        at = 10.0 * np.array([spot.i, spot.j])
        assert all(((stand.low + at >= h + gap - 1e-6) | (stand.high + at <= lo - gap + 1e-6)).any() for lo, h in stood)
        stood.append((stand.low + at, stand.high + at))


def test_a_pinwheel_of_four_round_a_post():
    """Four boxes 3 x 2 round a post in the middle of 5 x 5: no straight cut parts them."""
    taken = np.zeros((5, 5), dtype=bool)
    taken[2, 2] = True
    kind = []
    for a, b in ((3, 2), (2, 3)):
        free = np.zeros((5, 5), dtype=bool)
        for i, j in product(range(6 - a), range(6 - b)):
            free[i, j] = not taken[i : i + a, j : j + b].any()
        kind.append(Stand(np.zeros(2), np.array([a, b], dtype=float), free))
    found = packed([kind] * 4, 1.0, 0.0)
    assert found is not None
    assert sorted(s.turn for s in found) == [0, 0, 1, 1]
    assert packed([kind] * 5, 1.0, 0.0) is None


@pytest.mark.parametrize(("spare", "goes"), [(0.0, True), (-1.0, False)])
def test_two_boxes_need_just_their_gap(spare, goes):
    free = np.ones((31, 1), dtype=bool)
    long = Stand(np.array([-100.0, 0]), np.array([100.0, 50]), free)
    assert (packed([[long], [long]], 10.0, 100.0 - spare) is not None) is goes
