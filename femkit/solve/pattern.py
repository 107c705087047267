"""Where the matrix has entries: full blocks, one for each pair of points that share a cell, found once a mesh.

Only the upper triangle is kept. Blocks are full even where they hold zeros: the direct solver recognises unknowns with
equal columns by them and orders points instead of unknowns.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import bsr_array

__all__ = ["Pattern", "find_pattern"]


@dataclass(frozen=True, eq=False)
class Pattern:
    """The upper triangle of a symmetric matrix in blocks, and the same entry by entry in compressed rows.

    Attributes
    ----------
    n_components : int
        Unknowns a point, the size of a block.
    starts : ndarray of int, shape (n_points + 1,)
        First block of each point's row of blocks; it is the one on the diagonal.
    columns : ndarray of int, shape (n_blocks,)
        Point of each block's columns, ascending along a row.
    block_of : dict of str to ndarray of int, shape (n_cells, n_corners * (n_corners + 1) / 2)
        Block that each pair of a cell's corners adds to, pairs in the order of ``np.triu_indices``.
    is_turned : dict of str to ndarray of bool, the same shape
        Whether the first corner of the pair has the higher point, so that the transpose is added.
    indptr, indices : ndarray of int32, shape (n_unknowns + 1,), (n_entries,)
        Compressed rows of the upper triangle, diagonal first.
    entries : ndarray of int, shape (n_entries,)
        Place of each entry in the blocks laid out flat.
    """

    n_components: int
    starts: np.ndarray
    columns: np.ndarray
    block_of: dict
    is_turned: dict
    indptr: np.ndarray
    indices: np.ndarray
    entries: np.ndarray

    @property
    def n_points(self):
        """How many points."""
        return len(self.starts) - 1

    @property
    def n_unknowns(self):
        """How many unknowns, held ones included."""
        return len(self.indptr) - 1

    @property
    def n_blocks(self):
        """How many blocks in the upper triangle."""
        return len(self.columns)

    @property
    def diagonal(self):
        """Place of every diagonal entry."""
        return self.indptr[:-1]

    def find(self, rows, columns):
        """Places of entries among the compressed rows.

        Parameters
        ----------
        rows, columns : ndarray of int
            Unknowns, in either triangle; their points must be joined in the pattern.

        Returns
        -------
        places : ndarray of int
        """
        row, column = np.minimum(rows, columns), np.maximum(rows, columns)
        (point, unknown), (other, _) = np.divmod(row, self.n_components), np.divmod(column, self.n_components)
        keys = _row_of(self.starts) * self.n_points + self.columns  # ascending
        block = np.searchsorted(keys, point * self.n_points + other)
        in_row = self.n_components * (block - self.starts[point])
        return self.indptr[row] + in_row - unknown + column % self.n_components


def find_pattern(mesh, n_components, joined=None):
    """The pattern of a mesh's matrices.

    Parameters
    ----------
    mesh : Mesh
    n_components : int
        Unknowns a point.
    joined : ndarray of int, shape (n, 2), optional
        Pairs of points to be joined besides those that share a cell.

    Returns
    -------
    pattern : Pattern
    """
    n_points = mesh.n_points
    pairs = {kind: _corner_pairs(connectivity) for kind, connectivity in mesh.cells.items()}
    joined = np.zeros((0, 2), dtype=np.int64) if joined is None else joined[joined[:, 0] != joined[:, 1]]
    keys = [np.minimum(a, b) * n_points + np.maximum(a, b) for a, b in (*pairs.values(), joined.T)]
    unique, place = np.unique(np.concatenate([key.ravel() for key in keys]), return_inverse=True)
    row, column = np.divmod(unique, n_points)
    # every row of blocks starts with its diagonal one, so the k-th pair is preceded by row + 1 of those
    starts = np.searchsorted(row, np.arange(n_points + 1)) + np.arange(n_points + 1)
    columns = np.empty(starts[-1], dtype=np.int64)
    columns[starts[:-1]] = np.arange(n_points)
    block = np.arange(len(unique)) + row + 1
    columns[block] = column
    place, at = block[place], 0
    block_of, is_turned = {}, {}
    for kind, connectivity in mesh.cells.items():
        first, second = pairs[kind]
        block_of[kind], is_turned[kind] = _with_diagonal(
            starts[connectivity], place[at : at + first.size].reshape(first.shape), first > second
        )
        at += first.size
    return Pattern(n_components, starts, columns, block_of, is_turned, *_entries(n_components, starts, columns))


def _corner_pairs(connectivity):
    """Points of every pair of different corners: two arrays (n_cells, n_pairs)."""
    first, second = np.triu_indices(connectivity.shape[1], k=1)
    return connectivity[:, first], connectivity[:, second]


def _with_diagonal(diagonal, off_diagonal, turned):
    """Put the blocks of single corners among those of pairs, in the order of ``np.triu_indices``."""
    first, second = np.triu_indices(diagonal.shape[1])
    blocks = np.empty((len(diagonal), len(first)), dtype=np.int64)
    is_turned = np.zeros(blocks.shape, dtype=bool)
    blocks[:, first == second], blocks[:, first != second] = diagonal, off_diagonal
    is_turned[:, first != second] = turned
    return blocks, is_turned


def _entries(size, starts, columns):
    """Blocks entry by entry: row pointers, columns and places of the upper triangle."""
    places = np.arange(len(columns) * size**2, dtype=np.int32 if len(columns) * size**2 < 2**31 else np.int64)
    shape = (size * (len(starts) - 1),) * 2
    whole = bsr_array((places.reshape(-1, size, size), columns, starts), shape=shape).tocsr()
    row_starts = whole.indptr[:-1].reshape(-1, size)
    is_upper = np.ones(len(places), dtype=bool)
    for row in range(1, size):
        is_upper[row_starts[:, row, None] + np.arange(row)] = False  # the diagonal block leads each row
    shorter = np.arange(size) * np.ones((len(row_starts), 1), dtype=np.int64)
    indptr = whole.indptr - np.concatenate([[0], np.cumsum(shorter)])
    return indptr.astype(np.int32), whole.indices[is_upper].astype(np.int32), whole.data[is_upper]


def _row_of(starts):
    return np.repeat(np.arange(len(starts) - 1), np.diff(starts))
