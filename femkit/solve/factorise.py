"""Direct solvers behind one shape: order, factorise, solve, close."""

import warnings
from contextlib import contextmanager
from copy import copy
from functools import cache

import numpy as np
from scipy.sparse.linalg import splu
from threadpoolctl import ThreadpoolController

from ..errors import SolveError, nearest_name

__all__ = ["SOLVERS", "Pardiso", "PivotError", "SuperLU", "choose_solver", "one_thread_for_numpy"]


class PivotError(SolveError):
    """The matrix is not positive definite. `unknown` is where elimination found that out, or None."""

    def __init__(self, message, unknown=None):
        super().__init__(message)
        self.unknown = unknown


class Pardiso:
    """MKL PARDISO through pypardiso: symmetric positive definite, upper triangle, point blocks recognised."""

    POSITIVE_DEFINITE = 2  # PARDISO's matrix type
    NOT_POSITIVE = -4  # its error for a pivot that is zero or negative
    # Entries of its table of parameters that differ from 0. They are set by index: `set_iparm` warns on some of them.
    PARAMETERS = ((0, 1), (1, 2), (23, 1))  # not its defaults; nested dissection; two-level factorisation
    ONE_LEVEL, BAD_EQUATION = 23, 29  # places in that table

    def __init__(self):
        self._solver = copy(_pardiso())
        self._solver.pt, self._solver.iparm = np.zeros_like(self._solver.pt), np.zeros_like(self._solver.iparm)
        for place, value in self.PARAMETERS:
            self._solver.iparm[place] = value
        self._upper = None

    def order(self, matrix):
        """Find the order of elimination and the pattern of the factor."""
        self._upper = matrix.upper
        self._call(11)

    def factorise(self, matrix):
        """Factor a matrix of the pattern that was ordered.

        Raises
        ------
        PivotError
        """
        self._upper = matrix.upper
        try:
            self._call(22)
        except PivotError as error:
            raise PivotError(str(error), self._bad_pivot()) from error

    def solve(self, right):
        """Solution (n, k) of right-hand sides (n, k)."""
        return self._call(33, np.asfortranarray(right))

    def close(self):
        """Give the memory of the factor back."""
        if self._upper is not None:
            self._solver.free_memory(everything=True)
            self._upper = None

    def _call(self, phase, right=None):
        from pypardiso.pardiso_wrapper import PyPardisoError

        self._solver.set_phase(phase)
        try:
            return self._solver._call_pardiso(
                self._upper, np.zeros((self._upper.shape[0], 1)) if right is None else right
            )
        except PyPardisoError as error:
            if error.value == self.NOT_POSITIVE:
                raise PivotError("the matrix is not positive definite") from error
            raise SolveError(f"PARDISO gave up: {FAILURES.get(error.value, f'its error {error.value}')}.") from error

    def _bad_pivot(self):
        """The unknown where elimination broke down, from a second try: only the one-level algorithm tells."""
        upper = self._upper
        self.close()
        self._upper, self._solver.iparm[self.ONE_LEVEL] = upper, 0
        try:
            self._call(12)
        except PivotError:
            return int(self._solver.iparm[self.BAD_EQUATION]) - 1  # its numbers start at 1
        return None


FAILURES = {  # Intel oneAPI Math Kernel Library, developer reference, "pardiso", values of `error`
    -1: "its input is inconsistent",
    -2: "not enough memory",
    -3: "reordering failed",
    -6: "preordering failed",
    -8: "the matrix is too large for 32-bit indices",
}


@cache
def _pardiso():
    """A solver of pypardiso's to be copied: it searches the disk for its library each time one is made."""
    from pypardiso import PyPardisoSolver

    return PyPardisoSolver(mtype=Pardiso.POSITIVE_DEFINITE)


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
        whole = (upper + upper.T).tocsc()
        whole.setdiag(matrix.diagonal)
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # what it warns of is raised here
                self._factor = splu(whole, **SYMMETRIC)
        except RuntimeError as error:
            raise PivotError(f"SuperLU: {error}") from error
        pivots = self._factor.U.diagonal()
        if not pivots.min() > 0:
            at = np.empty(len(pivots), dtype=np.int64)
            at[self._factor.perm_c] = np.arange(len(pivots))
            raise PivotError("the matrix is not positive definite", int(at[pivots.argmin()]))

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
