"""The nearest place on a sheet, against every cell looked at and against places known by hand."""

import numpy as np
import pytest
from sheets import grid

from femkit.mesh import closest
from femkit.mesh.closest import closest_on_cells


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
