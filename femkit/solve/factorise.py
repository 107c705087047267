"""Direct solvers behind one shape: order, factorise, solve, close."""

import ctypes
import warnings
from contextlib import contextmanager
from functools import cache

import numpy as np
from scipy.sparse.linalg import splu
from threadpoolctl import ThreadpoolController

from ..errors import SolveError, nearest_name

__all__ = ["SOLVERS", "NotPositiveError", "Pardiso", "SuperLU", "choose_solver", "one_thread_for_numpy"]


NOTHING = np.zeros((0, 1))


class NotPositiveError(SolveError):
    """The matrix is not positive definite: elimination met a pivot that is zero or negative."""


class Pardiso:
    """PARDISO of the Intel oneAPI Math Kernel Library: symmetric positive definite, upper triangle, in blocks.

    References
    ----------
    Intel oneAPI Math Kernel Library, developer reference for C, "oneMKL PARDISO: parallel direct sparse solver
    interface", with its table of parameters ``iparm`` and of errors.
    """

    POSITIVE_DEFINITE = 2  # its matrix types
    PARAMETERS = (  # entries of its table that are not 0
        (0, 1),  # the table is given
        (1, 2),  # order by nested dissection
        (34, 1),  # indices start at 0, blocks are stored row by row
    )
    BLOCK_SIZE = 36  # place in the table
    # Its errors for a pivot that is zero or negative: -4, and in 3 of 100 such matrices in blocks, seen with release
    # 2026.2, -13, which by its reference is an interruption that nobody here can ask for.
    NOT_POSITIVE = (-4, -13)

    def __init__(self):
        self._run = _mkl()["pardiso"]
        self._handle = np.zeros(64, dtype=np.int64)
        self._parameters = np.zeros(64, dtype=np.int32)
        for place, value in self.PARAMETERS:
            self._parameters[place] = value
        self._matrix = None

    def order(self, matrix):
        """Find the order of elimination and the pattern of the factor."""
        self._parameters[self.BLOCK_SIZE] = matrix.pattern.n_components
        self._matrix = matrix
        self._call(11)

    def factorise(self, matrix):
        """Factor a matrix of the pattern that was ordered.

        Raises
        ------
        NotPositiveError
        """
        self._matrix = matrix
        self._call(22)

    def solve(self, right):
        """Solution (n, k) of right-hand sides (n, k)."""
        right = np.asfortranarray(right)
        solution = np.empty_like(right)
        self._call(33, right, solution)
        return np.ascontiguousarray(solution)

    def close(self):
        """Give the memory of the factor back."""
        if self._matrix is not None:
            self._call(-1)
            self._matrix = None

    def _call(self, phase, right=NOTHING, solution=NOTHING):
        pattern, error = self._matrix.pattern, np.zeros(1, dtype=np.int32)
        self._run(
            _at(self._handle),
            _number(1),  # matrices kept
            _number(1),  # which of them
            _number(self.POSITIVE_DEFINITE),
            _number(phase),
            _number(pattern.n_points),
            _at(self._matrix.blocks),
            _at(pattern.starts),
            _at(pattern.columns),
            None,  # no order given
            _number(right.shape[1]),
            _at(self._parameters),
            _number(0),  # print nothing
            _at(right),
            _at(solution),
            _at(error),
        )
        if error[0] in self.NOT_POSITIVE:
            raise NotPositiveError("the matrix is not positive definite.")
        if error[0]:
            raise SolveError(f"PARDISO gave up: {FAILURES.get(int(error[0]), f'its error {error[0]}')}.")


FAILURES = {
    -1: "its input is inconsistent",
    -2: "not enough memory",
    -3: "reordering failed",
    -8: "the matrix is too large for 32-bit indices",
}


@cache
def _mkl():
    """The library, as pypardiso finds it: a search of the disk, so once only."""
    from pypardiso import PyPardisoSolver

    return PyPardisoSolver().libmkl


def _at(array):
    return ctypes.c_void_p(array.ctypes.data)


def _number(value):
    return ctypes.byref(ctypes.c_int32(value))


# Minimum degree on A + A^T and the diagonal as pivots: keeps the factor symmetric in pattern.
SYMMETRIC = {"permc_spec": "MMD_AT_PLUS_A", "diag_pivot_thresh": 0.0, "options": {"SymmetricMode": True}}


class SuperLU:
    """SciPy's SuperLU in symmetric mode, everywhere there is SciPy; several times slower on large shells."""

    def order(self, matrix):
        """Nothing: SuperLU orders while it factorises."""

    def factorise(self, matrix):
        """Factor a matrix.

        Raises
        ------
        PivotError
        """
        upper = matrix.upper
        halved = matrix.blocks[matrix.pattern.diagonal] / 2  # whole blocks there, and both triangles are added
        upper.data = matrix.blocks.copy()
        upper.data[matrix.pattern.diagonal] = halved
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # what it warns of is raised here
                self._factor = splu((upper.tocsr() + upper.T.tocsr()).tocsc(), **SYMMETRIC)
        except RuntimeError as error:  # "Factor is exactly singular"
            raise NotPositiveError("the matrix is singular.") from error
        if not self._factor.U.diagonal().min() > 0:
            raise NotPositiveError("the matrix is not positive definite.")

    def solve(self, right):
        """Solution (n, k) of right-hand sides (n, k)."""
        return self._factor.solve(right)

    def close(self):
        """Give the memory of the factor back."""
        self._factor = None


SOLVERS = {"pardiso": Pardiso, "superlu": SuperLU}  # fastest first


def choose_solver(name="auto"):
    """Start a direct solver.

    Parameters
    ----------
    name : {"auto", "pardiso", "superlu"}
        ``"auto"`` takes the first that can be loaded.

    Returns
    -------
    name : str
    solver : object with ``order``, ``factorise``, ``solve`` and ``close``

    Raises
    ------
    SolveError
        If there is no solver of that name, or it can't be loaded.
    """
    if name != "auto" and name not in SOLVERS:
        raise SolveError(f'there is no solver "{name}". {nearest_name(name, ["auto", *SOLVERS])[1]}')
    failures = []
    for candidate in SOLVERS if name == "auto" else [name]:
        try:
            return candidate, SOLVERS[candidate]()
        except (ImportError, OSError) as error:
            failures.append(f'the solver "{candidate}" can\'t be loaded ({error})')
    raise SolveError(f'{"; ".join(failures)}; use solver="auto".')


@contextmanager
def one_thread_for_numpy():
    """Limit NumPy's own threads to one: they would fight with those of the solver."""
    libraries = ThreadpoolController().select(internal_api=["openblas", "blis"])
    with libraries.limit(limits=1):
        yield
