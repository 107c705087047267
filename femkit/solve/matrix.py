"""A symmetric matrix of which only the upper triangle is stored, and its products."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array

from .pattern import Pattern

__all__ = ["SymmetricMatrix"]


@dataclass(frozen=True, eq=False)
class SymmetricMatrix:
    """Numbers on a pattern.

    Attributes
    ----------
    pattern : Pattern
    data : ndarray, shape (n_entries,)
        Entries of the upper triangle, row by row.
    """

    pattern: Pattern
    data: np.ndarray

    @property
    def upper(self):
        """The upper triangle as a SciPy array that shares the numbers."""
        return self._upper(self.data)

    @property
    def diagonal(self):
        """The diagonal, shape (n_unknowns,)."""
        return self.data[self.pattern.diagonal]

    def dot(self, vectors):
        """``K @ vectors``, shape (n_unknowns,) or (n_unknowns, n)."""
        return self._product(self.data, vectors)

    def absolute_dot(self, vectors):
        """``|K| @ |vectors|``: the size of the terms that `dot` adds up."""
        return self._product(np.abs(self.data), np.abs(vectors))

    def rows(self, unknowns):
        """Whole rows, both sides of the diagonal, as a SciPy array (n, n_unknowns)."""
        upper = self.upper
        right, below = upper[unknowns], upper[:, unknowns].T.tocsr()
        below[np.arange(len(unknowns)), unknowns] = 0.0  # the diagonal is in both
        return (right + below).tocsr()

    def _product(self, data, vectors):
        upper = self._upper(data)
        diagonal = data[self.pattern.diagonal]
        return upper @ vectors + upper.T @ vectors - (diagonal * vectors.T).T

    def _upper(self, data):
        n = self.pattern.n_unknowns
        return csr_array((data, self.pattern.indices, self.pattern.indptr), shape=(n, n))
