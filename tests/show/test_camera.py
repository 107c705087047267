"""Which pixel a point falls on, and which view is taken."""

import numpy as np
import pytest

from femkit.errors import ModelError
from femkit.show.camera import VIEWS, Camera, view_axes

BOX = np.array([[0, 0, 0], [7200, 100, 2200], [0, 100, 0], [7200, 0, 2200.0]])


@pytest.mark.parametrize("view", [*VIEWS, (1, 2, 3), (0, 0, -2), (0, 0, 5)])
def test_axes_of_every_view_are_right_handed_and_of_unit_length(view):
    axes = view_axes(view, BOX)
    assert axes @ axes.T == pytest.approx(np.eye(3)) and np.linalg.det(axes) == pytest.approx(1)


def test_a_side_wall_is_seen_from_outside_with_x_to_the_right_and_z_up():
    assert view_axes("side", BOX) == pytest.approx(np.array([[1, 0, 0], [0, 0, 1], [0, -1, 0]]))
    assert view_axes("inside", BOX)[0] == pytest.approx([-1, 0, 0])
    assert view_axes(None, BOX) == pytest.approx(view_axes("side", BOX))  # thin in y
    assert view_axes(None, BOX[:, [0, 2, 1]]) == pytest.approx(view_axes("above", BOX))  # a panel in x and y
    assert view_axes(None, BOX * (1, 30, 1)) == pytest.approx(view_axes("iso", BOX))


def test_points_fall_on_their_pixels():
    camera = Camera.around(BOX, view_axes("side", BOX), 1400)
    width, height = camera.size
    assert width == 1400 and camera.project(BOX.mean(axis=0)[None])[0] == pytest.approx([700, height / 2])
    pixels = camera.project(BOX)
    assert pixels[:, 0].min() == pytest.approx(12) and pixels[:, 0].max() == pytest.approx(1388)
    assert np.ptp(pixels[:, 1]) == pytest.approx(2200 * np.ptp(pixels[:, 0]) / 7200)


@pytest.mark.parametrize("view, words", [("sid", 'Did you mean "side"'), ((0, 0, 0), "not all 0"), ((1, 2), "three")])
def test_views_that_are_not_there_are_refused(view, words):
    with pytest.raises(ModelError, match=words):
        view_axes(view, BOX)
