"""Edges at which two sets of cells meet."""

import numpy as np
import pytest
from mesh_shapes import cross, grid

from femkit.errors import ModelError, UnknownSetError
from femkit.mesh import Mesh, edges_between


def test_two_halves_of_a_grid_meet_along_the_line_between_them():
    mesh = grid(4, 3)  # 4 × 3 cells
    left = mesh.centres[:, 0] < np.median(mesh.points[:, 0])
    edges = edges_between(mesh, left, ~left)
    assert len(edges) == 3
    assert np.ptp(mesh.points[edges][..., 0]) == 0
    assert np.array_equal(edges, edges_between(mesh, left))  # all other cells
    assert np.array_equal(edges, edges_between(mesh, ~left, left))


def test_a_set_within_another_borders_on_the_rest_of_it():
    mesh = grid(3, 3)
    inner = [4]
    assert len(edges_between(mesh, inner, np.arange(9))) == 4


def test_every_pair_of_sheets_meets_at_a_junction():
    mesh = cross([0, 1.0, 2.0], n=2)
    of_sheet = [np.arange(k, k + mesh.n_cells // 3) for k in range(0, mesh.n_cells, mesh.n_cells // 3)]
    borders = {tuple(map(tuple, edges_between(mesh, a, b))) for a, b in zip(of_sheet, np.roll(of_sheet, 1, axis=0))}
    assert len(borders) == 1


def test_sets_that_share_no_edge_are_told_how_far_apart_they_are():
    points = [[0, 0], [1, 0], [1, 1], [0, 1], [4, 0], [5, 0], [5, 1], [4, 1]]
    mesh = Mesh(points, {"quad": [[0, 1, 2, 3], [4, 5, 6, 7]]}, cell_sets={"near": [0], "far": [1]})
    with pytest.raises(ModelError, match='weld: "near" and "far" share no edge; the nearest two points are 3 mm apart'):
        edges_between(mesh, "near", "far", "weld")
    with pytest.raises(UnknownSetError, match=r'no cell set of the name "nera"\. Did you mean "near"'):
        edges_between(mesh, "nera", "far")
    with pytest.raises(ModelError, match="the second has no cell of its own"):
        edges_between(mesh, "near", "near")


def test_touching_at_a_point_is_no_border():
    mesh = Mesh([[0, 0], [1, 0], [0, 1], [-1, 0], [0, -1]], {"triangle": [[0, 1, 2], [0, 3, 4]]})
    with pytest.raises(ModelError, match="share no edge; they have 1 point in common, the first at \\(0, 0, 0\\)"):
        edges_between(mesh, [0], [1])


def test_a_quadratic_side_is_two_edges():
    points = [[0, 0], [2, 0], [2, 2], [0, 2], [1, 0], [2, 1], [1, 2], [0, 1], [4, 0], [4, 2], [3, 0], [4, 1], [3, 2]]
    mesh = Mesh(points, {"quad8": [[0, 1, 2, 3, 4, 5, 6, 7], [1, 8, 9, 2, 10, 11, 12, 5]]})
    assert sorted(map(sorted, edges_between(mesh, [0], [1]).tolist())) == [[1, 5], [2, 5]]
