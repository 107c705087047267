"""A symmetric matrix of which only the upper triangle is stored, in blocks, and its products."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import bsr_array, coo_array

from ..errors import SolveError
from .pattern import Pattern

__all__ = ["NotPositiveError", "SymmetricMatrix"]


class NotPositiveError(SolveError):
    """The matrix is not positive definite: elimination met a pivot of zero or below, or mere rounding."""


@dataclass(frozen=True, eq=False)
class SymmetricMatrix:
    """Numbers on a pattern.

    Attributes
    ----------
    pattern : Pattern
    blocks : ndarray, shape (n_blocks, n_components, n_components)
        Those on the diagonal are symmetric and whole.
    """

    pattern: Pattern
    blocks: np.ndarray

    @property
    def diagonal(self):
        """The diagonal, shape (n_unknowns,)."""
        return np.diagonal(self.blocks[self.pattern.diagonal], axis1=1, axis2=2).ravel()

    @property
    def upper(self):
        """The upper triangle as a SciPy array, whole blocks on the diagonal."""
        return _upper(self.pattern, self.blocks)

    @property
    def whole(self):
        """Both triangles as a SciPy array: worth its memory where many products follow."""
        halved = self.blocks.copy()
        halved[self.pattern.diagonal] /= 2  # whole blocks there, and both triangles are added
        upper = _upper(self.pattern, halved).tocsr()
        return upper + upper.T.tocsr()

    def dot(self, vectors):
        """``K @ vectors``, shape (n_unknowns,) or (n_unknowns, n)."""
        return _product(self.pattern, self.blocks, vectors)

    def multiplier(self):
        """`dot` as a function that keeps the lower triangle too: a quarter of the time, where many products follow."""
        lower = self.upper.T
        return lambda vectors: _product(self.pattern, self.blocks, vectors, lower)

    def absolute_dot(self, vectors):
        """``|K| @ |vectors|``: the size of the terms that `dot` adds up."""
        return _product(self.pattern, np.abs(self.blocks), np.abs(vectors))

    def rows(self, unknowns):
        """A few whole rows, both sides of the diagonal, as a SciPy array (n, n_unknowns)."""
        pattern, size = self.pattern, self.pattern.n_components
        is_wanted = np.zeros(pattern.n_points, dtype=bool)
        is_wanted[unknowns // size] = True
        some = pattern.touching(is_wanted)
        row = (pattern.rows[some, None, None] * size + np.arange(size)[:, None] + np.zeros(size, dtype=int)).ravel()
        column = (pattern.columns[some, None, None] * size + np.zeros((size, 1), dtype=int) + np.arange(size)).ravel()
        values, is_off = self.blocks[some].ravel(), row // size != column // size
        shape = (pattern.n_unknowns, pattern.n_unknowns)
        above, below = (values, (row, column)), (values[is_off], (column[is_off], row[is_off]))
        return (coo_array(above, shape=shape).tocsr() + coo_array(below, shape=shape).tocsr())[unknowns]


def _upper(pattern, blocks):
    n = pattern.n_unknowns
    return bsr_array((blocks, pattern.columns, pattern.starts), shape=(n, n))


def _product(pattern, blocks, vectors, lower=None):
    upper, by_point = _upper(pattern, blocks), vectors.reshape(pattern.n_points, pattern.n_components, -1)
    twice = (blocks[pattern.diagonal] @ by_point).reshape(vectors.shape)  # the diagonal is in both
    return upper @ vectors + (upper.T if lower is None else lower) @ vectors - twice
