"""The direct solvers on small matrices whose answers are known."""

import numpy as np
import pytest
from small_models import SOLVERS, panel

from femkit.errors import SolveError
from femkit.mesh import Mesh
from femkit.solve.assemble import assemble
from femkit.solve.factorise import choose_solver
from femkit.solve.matrix import NotPositiveError
from femkit.solve.pattern import find_pattern


def matrix_of(mesh, make, shift=0.0):
    """A matrix of two unknowns a point from random positive definite cell matrices, its diagonal shifted."""
    rng = np.random.default_rng(0)
    halves = rng.normal(size=(mesh.n_cells, 8, 8))
    matrix = assemble(find_pattern(mesh, 2), lambda kind, some: (halves @ halves.transpose(0, 2, 1))[some])
    more = (make(matrix.pattern.n_unknowns) + shift).reshape(-1, 2, 1) * np.eye(2)
    matrix.blocks[matrix.pattern.diagonal] += more
    return matrix


@pytest.fixture(params=SOLVERS)
def engine(request):
    _name, engine = choose_solver(request.param)
    yield engine
    engine.close()


def test_many_right_hand_sides_at_once(engine):
    matrix = matrix_of(panel(4, 3), np.zeros, shift=1.0)
    expected = np.random.default_rng(1).normal(size=(matrix.pattern.n_unknowns, 3))
    engine.order(matrix)
    engine.factorise(matrix)
    np.testing.assert_allclose(engine.solve(matrix.dot(expected)), expected, rtol=1e-8, atol=1e-9)


def test_order_is_kept_for_another_matrix_of_the_same_pattern(engine):
    first, second = (matrix_of(panel(4, 3), np.zeros, shift=shift) for shift in (1.0, 5.0))
    right = np.ones((first.pattern.n_unknowns, 1))
    engine.order(first)
    for matrix in (first, second):
        engine.factorise(matrix)
        np.testing.assert_allclose(matrix.dot(engine.solve(right)), right, rtol=1e-9)


def test_a_negative_pivot_is_told(engine):
    def one_negative(n):
        shift = np.ones(n)
        shift[17] = -1e6
        return shift

    matrix = matrix_of(panel(4, 3), one_negative)
    engine.order(matrix)
    with pytest.raises(NotPositiveError):
        engine.factorise(matrix)


def test_an_unknown_solver_is_refused_with_the_nearest_name():
    with pytest.raises(SolveError, match=r'there is no solver "pardisso". Did you mean "pardiso"\?'):
        choose_solver("pardisso")


def test_the_first_solver_that_loads_is_taken(monkeypatch):
    assert choose_solver("auto")[0] == "pardiso"

    def not_installed():
        raise ImportError("No module named 'pypardiso'")

    monkeypatch.setattr("femkit.solve.pardiso._mkl", not_installed)
    assert choose_solver("auto")[0] == "superlu"
    with pytest.raises(SolveError, match=r'the solver "pardiso" can\'t be loaded .* use solver="auto"'):
        choose_solver("pardiso")


def test_one_cell_is_enough(engine):
    mesh = Mesh([[0, 0], [1, 0], [1, 1], [0, 1]], {"quad": [[0, 1, 2, 3]]})
    matrix = matrix_of(mesh, np.zeros, shift=1.0)
    engine.order(matrix)
    engine.factorise(matrix)
    np.testing.assert_allclose(matrix.dot(engine.solve(np.ones((8, 1)))), 1.0, rtol=1e-10)


@pytest.mark.parametrize("solver", SOLVERS)
def test_every_matrix_that_is_not_positive_definite_is_told(solver):
    for seed in range(60):
        rng = np.random.default_rng(seed)
        matrix = matrix_of(panel(int(rng.integers(1, 8)), 3), np.ones)
        block = rng.integers(matrix.pattern.n_points)
        matrix.blocks[matrix.pattern.diagonal[block], 1, 1] -= 10.0 ** rng.uniform(3, 6)
        _name, engine = choose_solver(solver)
        engine.order(matrix)
        with pytest.raises(NotPositiveError):
            engine.factorise(matrix)
        engine.close()
