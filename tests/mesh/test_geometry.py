"""Vector areas, local axes and shape-function integrals, against plain geometry."""

import numpy as np
import pytest

from femkit.mesh.geometry import cell_frames, cell_normals, shape_integrals

RANDOM = np.random.default_rng(11)
SQUARE = np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]], dtype=float)
TRIANGLE = SQUARE[:3]


def some(corners, n):
    """The same cell n times, its corners moved at random."""
    return corners + RANDOM.normal(0, 0.15, (n, *corners.shape))


def turns(n):
    """Random rotations, (n, 3, 3)."""
    q, _ = np.linalg.qr(RANDOM.normal(size=(n, 3, 3)))
    return q * np.linalg.det(q)[:, None, None]


def test_normals_follow_the_right_hand():
    for corners in (TRIANGLE * 2, SQUARE * 2):
        area = 2 if len(corners) == 3 else 4
        np.testing.assert_allclose(cell_normals(corners[None]), [[0, 0, area]])
        np.testing.assert_allclose(cell_normals(corners[None, ::-1]), [[0, 0, -area]])


@pytest.mark.parametrize("corners", [TRIANGLE, SQUARE], ids=["triangle", "quad"])
def test_a_closed_surface_has_no_vector_area(corners):
    # Gauss's theorem: a cell and its fan of triangles to any point enclose a volume
    cells = some(corners, 20)
    apex = RANDOM.normal(size=(20, 3))
    total = -cell_normals(cells)
    for k in range(len(corners)):
        total += cell_normals(np.stack([cells[:, k], cells[:, (k + 1) % len(corners)], apex], axis=1))
    np.testing.assert_allclose(total, 0, atol=1e-14)


@pytest.mark.parametrize("corners", [TRIANGLE, SQUARE], ids=["triangle", "quad"])
@pytest.mark.parametrize("n", [0, 1, 50])
def test_frames_are_right_handed_and_turn_with_the_cell(corners, n):
    cells, turn = some(corners, n), turns(n)
    frames = cell_frames(cells)
    assert frames.shape == (n, 3, 3)
    np.testing.assert_allclose(frames @ frames.swapaxes(1, 2), np.broadcast_to(np.eye(3), (n, 3, 3)), atol=1e-14)
    np.testing.assert_allclose(np.linalg.det(frames), np.ones(n))
    np.testing.assert_allclose(np.cross(cell_normals(cells), frames[:, 2]), np.zeros((n, 3)), atol=1e-14)
    turned = cell_frames(cells @ turn.swapaxes(1, 2), reference=turn[:, :, 0])
    np.testing.assert_allclose(turned, frames @ turn.swapaxes(1, 2), atol=1e-12)


def test_local_x_is_the_reference_laid_on_the_cell_and_not_the_first_edge():
    wall = np.array([[[0, 0, 0], [0, 0, 1], [1, 0, 1], [1, 0, 0]]], dtype=float)  # first edge along z, normal +y
    np.testing.assert_allclose(cell_frames(wall), [[[1, 0, 0], [0, 0, -1], [0, 1, 0]]], atol=1e-15)
    np.testing.assert_allclose(cell_frames(np.roll(wall, 1, axis=1)), cell_frames(wall), atol=1e-15)
    np.testing.assert_allclose(cell_frames(wall, reference=(0, 7, 3))[0, 0], [0, 0, 1], atol=1e-15)


@pytest.mark.parametrize(("tilt", "is_second"), [(4, True), (8, False)])
def test_the_second_choice_is_taken_within_six_degrees_of_the_normal(tilt, is_second):
    lean = np.radians(tilt)
    post = np.array([[0, 0, 0], [np.sin(lean), np.cos(lean), 0], [np.sin(lean), np.cos(lean), 1], [0, 0, 1]])
    frames = cell_frames(post[None])  # normal nearly x
    assert abs(frames[0, 2, 0]) > 0.98
    expected = [0, 0, 1] if is_second else [np.sin(lean), np.cos(lean), 0]
    np.testing.assert_allclose(frames[0, 0], expected, atol=1e-12)


def test_where_both_choices_fail_global_y_is_taken():
    np.testing.assert_allclose(cell_frames(SQUARE[None], reference=(0, 0, 1))[0, 0], [0, 1, 0])


@pytest.mark.parametrize("corners", [TRIANGLE, SQUARE], ids=["triangle", "quad"])
@pytest.mark.parametrize("n", [0, 1, 50])
def test_shape_integrals_sum_to_area_and_vector_area(corners, n):
    cells = some(corners, n)
    area, vector = shape_integrals(cells)
    assert area.shape == cells.shape[:2]
    np.testing.assert_allclose(vector.sum(axis=1), cell_normals(cells), atol=1e-14)
    assert (area.sum(axis=1) >= np.linalg.norm(cell_normals(cells), axis=1) - 1e-12).all()


def test_a_trapezium_pushes_its_long_side_more():
    # a = 3 below and b = 1 above, height 1: by hand, the load of a unit pressure on the two lower corners is
    # (2 a + b) / 6 = 7/6 together, and on the upper ones (a + 2 b) / 6 = 5/6 (linear from foot to head)
    trapezium = np.array([[[0, 0, 0], [3, 0, 0], [2, 1, 0], [1, 1, 0]]], dtype=float)
    area, vector = shape_integrals(trapezium)
    np.testing.assert_allclose(area[0], [7 / 12, 7 / 12, 5 / 12, 5 / 12])
    np.testing.assert_allclose(vector[0, :, 2], area[0])
    np.testing.assert_allclose(vector[0, :, :2], 0)


def test_the_area_of_a_warped_cell_is_that_of_its_surface():
    # z = h x y over the unit square, area = integral of sqrt(1 + h2 (x2 + y2)), by adaptive integration
    from scipy.integrate import dblquad

    for lift, tolerance in ((0.1, 2e-7), (0.2, 3e-6), (0.4, 3e-5)):  # two Gauss points a side: error ~ h4
        corners = SQUARE.copy()
        corners[2, 2] = lift
        exact, _ = dblquad(lambda x, y, h=lift: np.sqrt(1 + h * h * (x * x + y * y)), 0, 1, 0, 1)
        assert shape_integrals(corners[None])[0].sum() == pytest.approx(exact, rel=tolerance)
