"""Pictures: what is in front hides what is behind, whatever the order; the file is what was asked for."""

import matplotlib.image
import numpy as np
import pytest

from baywright.release.picture import write_picture
from baywright.release.raster import View, fitted, render, view_axes

SQUARE = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]])
FACES = np.array([[0, 1, 2], [0, 2, 3]])


def test_axes_are_right_handed_and_look_where_asked():
    for around in (0, 35, 200):
        for above in (0, 28, 89):
            axes = view_axes(around, above)
            assert np.allclose(axes @ axes.T, np.eye(3))
            assert np.linalg.det(axes) == pytest.approx(1)
    assert np.allclose(view_axes(0, 0), [[1, 0, 0], [0, 0, 1], [0, -1, 0]])
    assert np.allclose(view_axes(0, 90), np.eye(3))


def test_the_nearer_of_two_crossing_squares_is_seen_on_each_side():
    """A level square and one that leans through it: no order of whole squares draws this right."""
    level = SQUARE * 100
    leaning = np.array([[0, 0, -50], [100, 0, 50], [100, 100, 50], [0, 100, -50]], dtype=float)
    vertices = np.concatenate([level, leaning])
    faces = np.concatenate([FACES, FACES + 4])
    colours = np.array([[1.0, 0, 0]] * 2 + [[0, 0, 1.0]] * 2)
    view = View(view_axes(0, 90), np.zeros(2), 1.0, 100, 100)
    for order in (np.arange(4), np.arange(4)[::-1]):
        image = render(view, vertices, faces[order], colours[order], np.array([0, 0, 1, 1])[order])
        left, right = image[50, 20, :3], image[50, 80, :3]
        assert left[0] > left[2]
        assert right[2] > right[0]
        assert image[50, 20, 3] == 1


def test_every_point_of_a_square_is_filled_once_and_none_outside():
    view = View(view_axes(0, 90), np.array([-10.0, -10.0]), 1.0, 60, 50)
    image = render(view, SQUARE * 30, FACES, np.ones((2, 3)), np.zeros(2, dtype=np.int64))
    solid = image[::-1, :, 3] > 0
    assert solid[10:40, 10:40].all()
    assert solid.sum() <= 32 * 32  # lines may lie one point outside
    assert not solid[:9].any()


def test_faces_turned_away_are_not_drawn():
    view = View(view_axes(0, 90), np.zeros(2), 1.0, 30, 30)
    image = render(view, SQUARE * 30, FACES[:, ::-1], np.ones((2, 3)), np.zeros(2, dtype=np.int64))
    assert not image[..., 3].any()


def test_a_view_fits_what_it_is_given():
    points = np.random.default_rng(1).uniform(-300, 500, (200, 3))
    view = fitted(view_axes(35, 28), points, 400, 300, 0.1)
    seen = view.flat(points)
    assert seen[:, 0].min() >= 0.1 * 400 - 1e-6
    assert seen[:, 0].max() <= 0.9 * 400 + 1e-6
    assert seen[:, 1].min() >= 0.1 * 300 - 1e-6
    assert seen[:, 1].max() <= 0.9 * 300 + 1e-6


def near(image, colour):
    """Return the share of points whose hue is near a colour's."""
    flat = image[..., :3].reshape(-1, 3)
    unit = flat / np.maximum(np.linalg.norm(flat, axis=1, keepdims=True), 1e-6)
    return float((unit @ (np.array(colour) / np.linalg.norm(colour)) > 0.998).mean())


def test_the_lid_hides_the_module_until_it_is_taken_off(box, tmp_path):
    from baywright.release.colours import colour_of

    green = colour_of(box.by_mark["module 1"].piece)
    blue = colour_of(box.by_mark["lid"].piece)
    shut = matplotlib.image.imread(write_picture(box, tmp_path / "shut.png", size=(400, 280)))
    open_ = matplotlib.image.imread(write_picture(box, tmp_path / "open.png", size=(400, 280), hide=("lid",)))
    assert shut.shape[:2] == (280, 400)
    assert near(shut, blue) > 0.05
    assert near(open_, green) > 0.05 > 10 * near(shut, green)
    assert near(open_, blue) < 0.002


def test_exploded_pictures_stay_in_the_frame(box, tmp_path):
    image = matplotlib.image.imread(write_picture(box, tmp_path / "apart.png", size=(400, 280), explode=0.6))
    assert np.allclose(image[:, :8, :3], 1)
    assert np.allclose(image[:8, :, :3], 1)


def test_svg_is_written_too(box, tmp_path):
    text = write_picture(box, tmp_path / "box.svg", size=(300, 200), title="front & back").read_text()
    assert "<svg" in text


def test_nothing_left_to_draw_is_said(alone, make_plate, tmp_path):
    with pytest.raises(ValueError, match="nothing is left"):
        write_picture(alone(make_plate(1)), tmp_path / "x.png", hide=("panel",))
