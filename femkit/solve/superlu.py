"""SciPy's SuperLU in symmetric mode: everywhere there is SciPy, several times slower than PARDISO on large shells."""

import warnings

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
