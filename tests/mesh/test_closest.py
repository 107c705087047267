"""The nearest place on a sheet, against every cell looked at and against places known by hand."""

import numpy as np
import pytest
from sheets import grid

from femkit.mesh import closest
from femkit.mesh.closest import closest_on_cells
from femkit.verify.grids import grid as any_grid


@pytest.mark.parametrize("kind", ["quad", "triangle", "mixed"])
@pytest.mark.parametrize("aspect", [1.0, 5.0])
def test_candidates_hold_the_nearest_cell(kind, aspect, monkeypatch):
    mesh = grid(12 * 10.0 * aspect, 120.0, 12, 12, kind=kind, wobble=0.2)
    places = np.random.default_rng(4).uniform([0, 0, -5], [120 * aspect, 120, 5], (400, 3))
    cells = np.arange(mesh.n_cells)

    def distance():
        _cell, corners, weights = closest_on_cells(mesh, places, cells)
        assert weights.min() >= 0 and weights.sum(axis=1) == pytest.approx(1)
        return np.linalg.norm(np.einsum("nk,nki->ni", weights, mesh.points[corners]) - places, axis=1)

    few = distance()
    assert few == pytest.approx(np.abs(places[:, 2]), abs=1e-9)  # the sheet is flat and below or above every place
    monkeypatch.setattr(closest, "CANDIDATES", 10**6)
    assert few == pytest.approx(distance(), abs=1e-9)


def test_a_place_beyond_the_edge_comes_nearest_at_the_edge():
    mesh = grid(100, 50, 4, 2)
    _cell, corners, weights = closest_on_cells(mesh, np.array([[130.0, 20.0, 0.0], [-3.0, -4.0, 0.0]]), np.arange(8))
    assert np.einsum("nk,nki->ni", weights, mesh.points[corners]) == pytest.approx(np.array([[100, 20, 0], [0, 0, 0]]))


@pytest.mark.parametrize("kind", ["quad", "triangle", "quad8", "quad9"])
def test_feet_and_their_weights_find_a_place_again(kind):
    # a sheet with leaning sides, quadratic cells with curved ones: Σ N x is the place itself, Σ N is 1
    mesh = any_grid(kind, 5, 4, lambda s, t: np.column_stack([60 * s + 8 * t, 40 * t + 5 * s * t]), wobble=0.2)
    random = np.random.default_rng(1)
    places = np.column_stack([random.uniform(10, 55, 300), random.uniform(3, 38, 300), random.uniform(-2, 2, 300)])
    feet = closest.feet_of(mesh, places)
    for weights, points in ((feet.weights, mesh.points_of_cell), (feet.of_corners, mesh.corners)):
        assert weights.sum(axis=1) == pytest.approx(1, abs=1e-12)
        if kind in ("quad", "triangle") or points is mesh.points_of_cell:
            back = np.einsum("nk,nki->ni", weights, mesh.points[points[feet.cell]])
            assert back[:, :2] == pytest.approx(places[:, :2], abs=1e-9)
    assert feet.gap == pytest.approx(places * [0, 0, 1], abs=1e-9)
    assert feet.distance == pytest.approx(np.abs(places[:, 2]), abs=1e-9)


def test_cells_go_on_a_little_past_their_edges():
    mesh = grid(100, 50, 4, 2)  # cells of 25 mm
    feet = closest.feet_of(mesh, np.array([[102.0, 10.0, 0.0], [110.0, 10.0, 0.0]]))
    # by hand: up to 0.3 half sides, 3.75 mm, the cell is taken as going on; beyond, what is left is the gap
    assert feet.gap == pytest.approx(np.array([[0, 0, 0], [10 - 3.75, 0, 0]]), abs=1e-9)
    assert feet.weights.min() < 0
