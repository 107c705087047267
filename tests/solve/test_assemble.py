"""Pattern and assembly against SciPy's triplets."""

import numpy as np
import pytest
from small_models import assemble_plainly, cantilever, panel, pulled_sheet

from femkit.mesh import Mesh
from femkit.solve.assemble import assemble, assemble_stiffness
from femkit.solve.cells import chunks
from femkit.solve.pattern import find_pattern

MODELS = {
    "plane quads": lambda: pulled_sheet(panel(5, 3, shake=0.2)),
    "plane mixed": lambda: pulled_sheet(panel(5, 3, shake=0.2, triangles=2)),
    "shell triangles": lambda: cantilever(panel(4, 3, rise=20, triangles=4)),
    "shell mixed": lambda: cantilever(panel(5, 4, rise=20, shake=0.2, triangles=2)),
    "shell renumbered": lambda: cantilever(panel(5, 4, rise=20, order=np.random.default_rng(3).permutation(30))),
}


@pytest.fixture(params=MODELS)
def model(request):
    return MODELS[request.param]()


def test_matrix_is_that_of_triplets(model):
    pattern = find_pattern(model.mesh, model.n_components)
    upper = assemble_stiffness(model, pattern).upper.toarray()
    plain = assemble_plainly(model).toarray()
    size = model.n_components
    above = np.kron(np.triu(np.ones((model.mesh.n_points,) * 2)), np.ones((size, size)))
    # rounding only: the parts are added in another order
    np.testing.assert_allclose(upper, above * plain, atol=1e-13 * np.abs(plain).max(), rtol=0)


def test_pattern_keeps_full_blocks_with_sorted_columns(model):
    pattern = find_pattern(model.mesh, model.n_components)
    size, corners = model.n_components, model.mesh.corners
    joined = {
        (min(a, b), max(a, b)) for cell in corners for a in cell[cell >= 0] for b in cell[cell >= 0]
    }  # pairs of points of a cell, each once
    assert pattern.n_blocks == len(joined)
    assert pattern.n_entries == pattern.n_blocks * size**2 - pattern.n_points * size * (size - 1) // 2
    assert np.array_equal(pattern.columns[pattern.diagonal], np.arange(pattern.n_points))
    assert np.all(np.diff(pattern.rows * pattern.n_points + pattern.columns) > 0)
    assert np.all(pattern.columns >= pattern.rows)


def test_order_of_cells_does_not_matter():
    mesh = panel(6, 4, rise=15, shake=0.2)
    turned = Mesh(mesh.points, {"quad": np.roll(mesh.cells["quad"][::-1], 2, axis=1)})
    first, second = (
        assemble_stiffness(m, find_pattern(m.mesh, 6)) for m in map(cantilever, (mesh, _with_sets(turned, mesh)))
    )
    assert np.array_equal(first.pattern.columns, second.pattern.columns)
    # the element's own numbers are alike to rounding only: it starts from another corner
    np.testing.assert_allclose(first.blocks, second.blocks, atol=1e-11 * np.abs(first.blocks).max(), rtol=0)


def _with_sets(mesh, other):
    return Mesh(mesh.points, mesh.cells, edge_sets=other.edge_sets, point_sets=other.point_sets)


def test_find_gives_the_block_of_every_pair(model):
    pattern = find_pattern(model.mesh, model.n_components, np.array([[0, 17], [17, 3]]))
    assert np.array_equal(pattern.find(pattern.rows, pattern.columns), np.arange(pattern.n_blocks))
    assert pattern.columns[pattern.find(np.array([0, 3]), np.array([17, 17]))].tolist() == [17, 17]


def test_products_and_rows_are_those_of_the_whole_matrix(model):
    matrix = assemble_stiffness(model, find_pattern(model.mesh, model.n_components))
    whole = np.triu(matrix.upper.toarray())
    whole = whole + np.triu(whole, 1).T
    vectors = np.random.default_rng(0).normal(size=(len(whole), 3))
    size = np.abs(whole).max()
    np.testing.assert_allclose(matrix.dot(vectors), whole @ vectors, rtol=0, atol=1e-13 * size)
    np.testing.assert_allclose(matrix.dot(vectors[:, 0]), whole @ vectors[:, 0], rtol=0, atol=1e-13 * size)
    np.testing.assert_allclose(matrix.absolute_dot(vectors), np.abs(whole) @ np.abs(vectors), rtol=1e-13)
    np.testing.assert_allclose(matrix.rows(np.array([2, 11])).toarray(), whole[[2, 11]], rtol=0, atol=1e-13 * size)
    np.testing.assert_allclose(matrix.diagonal, np.diag(whole))


def test_chunks_cover_every_cell_once():
    assert chunks(0) == []
    for n_cells in (1, 9, 10, 11):
        assert [i for some in chunks(n_cells, 5) for i in range(n_cells)[some]] == list(range(n_cells))


def test_many_chunks_add_up_to_one(monkeypatch):
    model = cantilever(panel(5, 4, rise=20, triangles=2))
    pattern = find_pattern(model.mesh, 6)
    whole = assemble_stiffness(model, pattern)
    monkeypatch.setattr("femkit.solve.cells.chunks", lambda n, _size: chunks(n, 3))
    np.testing.assert_allclose(
        assemble_stiffness(model, pattern).blocks, whole.blocks, rtol=0, atol=1e-12 * np.abs(whole.blocks).max()
    )


def test_points_without_cells_have_a_diagonal_block():
    mesh = Mesh([[0, 0], [9, 9], [1, 0], [1, 1], [0, 1]], {"quad": [[0, 2, 3, 4]]})
    matrix = assemble(find_pattern(mesh, 2), lambda kind, some: np.ones((1, 8, 8)))
    assert matrix.diagonal.tolist() == [1, 1, 0, 0, 1, 1, 1, 1, 1, 1]


def test_a_point_twice_in_a_cell_gets_both_its_parts():
    mesh = Mesh([[0, 0], [1, 0], [0, 1]], {"quad": [[0, 1, 2, 2]]})
    matrix = assemble(find_pattern(mesh, 2), lambda kind, some: np.ones((1, 8, 8)))
    assert matrix.diagonal.tolist() == [1, 1, 1, 1, 4, 4]
