"""Direct solvers behind one shape: order, factorise, solve, close."""

import warnings
from contextlib import contextmanager

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

    def __init__(self):
        from pypardiso import PyPardisoSolver

        self._solver = PyPardisoSolver(mtype=self.POSITIVE_DEFINITE)
        # set by direct index: `set_iparm` warns on entries that PARDISO does read
        self._solver.iparm[0] = 1  # the rest is given here, not defaults
        self._solver.iparm[1] = 2  # nested dissection (Karypis & Kumar)
        self._solver.iparm[23] = 1  # two-level factorisation: better balance between threads
        self._upper = None

    def order(self, matrix):
        """Find the order of elimination and the pattern of the factor."""
        self._upper = matrix.upper
        self._call(11, np.zeros((self._upper.shape[0], 1)))

    def factorise(self, matrix):
        """Factor a matrix of the pattern that was ordered.

        Raises
        ------
        PivotError
        """
        self._upper = matrix.upper
        self._call(22, np.zeros((self._upper.shape[0], 1)))

    def solve(self, right):
        """Solution (n, k) of right-hand sides (n, k)."""
        return self._call(33, np.asfortranarray(right))

    def close(self):
        """Give the memory of the factor back."""
        if self._upper is not None:
            self._solver.free_memory(everything=True)
            self._upper = None

    def _call(self, phase, right):
        from pypardiso.pardiso_wrapper import PyPardisoError

        self._solver.set_phase(phase)
        try:
            return self._solver._call_pardiso(self._upper, right)
        except PyPardisoError as error:
            if error.value == self.NOT_POSITIVE:
                bad = int(self._solver.iparm[29]) - 1  # its 1-based number of the equation
                raise PivotError("the matrix is not positive definite", bad if bad >= 0 else None) from error
            raise SolveError(
                f"PARDISO gave up with its error {error.value} ({ERRORS.get(error.value, '?')})."
            ) from error


ERRORS = {  # from the MKL reference, Intel oneMKL PARDISO, table of error values
    -1: "input inconsistent",
    -2: "not enough memory",
    -3: "reordering failed",
    -5: "internal error",
    -6: "reordering failed",
    -7: "diagonal matrix is singular",
    -8: "matrix too large for 32-bit indices",
    -9: "not enough memory out of core",
}


class SuperLU:
    """SciPy's SuperLU in symmetric mode, everywhere there is SciPy; several times slower on large shells."""

    OPTIONS = {"permc_spec": "MMD_AT_PLUS_A", "diag_pivot_thresh": 0.0, "options": {"SymmetricMode": True}}

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
                self._factor = splu(whole, **self.OPTIONS)
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
