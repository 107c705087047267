"""SciPy's SuperLU in symmetric mode: everywhere there is SciPy, several times slower than PARDISO on large shells."""

import warnings

import numpy as np
from scipy.sparse.linalg import splu

from .matrix import NotPositiveError

__all__ = ["SuperLU"]

# Minimum degree on A + A^T and the diagonal as pivots: keeps the factor symmetric in pattern.
SYMMETRIC = {"permc_spec": "MMD_AT_PLUS_A", "diag_pivot_thresh": 0.0, "options": {"SymmetricMode": True}}


class SuperLU:
    """Factor and solve a symmetric positive definite matrix given as its upper triangle in blocks."""

    def __init__(self):
        self._factor = None

    def order(self, matrix):
        """Nothing: SuperLU orders while it factorises."""

    def factorise(self, matrix):
        """Factor a matrix.

        Raises
        ------
        NotPositiveError
        """
        self._factor = _factor(matrix)
        if not self._factor.U.diagonal().min() > 0:
            raise NotPositiveError("the matrix is not positive definite.")

    def solve(self, right):
        """Solution (n, k) of right-hand sides (n, k)."""
        return self._factor.solve(right)

    @classmethod
    def negative_pivots(cls, matrix):
        """How many eigenvalues of a symmetric matrix are negative (Sylvester's law of inertia).

        Returns
        -------
        count : int or None
            None where rows were exchanged, so that the pivots' signs say nothing.
        """
        factor = _factor(matrix)
        is_symmetric = np.array_equal(factor.perm_r, factor.perm_c)
        return int((factor.U.diagonal() < 0).sum()) if is_symmetric else None

    def close(self):
        """Give the memory of the factor back."""
        self._factor = None


def _factor(matrix):
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what it warns of is raised here
            return splu(matrix.whole.tocsc(), **SYMMETRIC)
    except RuntimeError as error:  # "Factor is exactly singular"
        raise NotPositiveError("the matrix is singular.") from error
