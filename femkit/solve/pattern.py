"""Where the matrix has entries: full blocks, one for each pair of points that share a cell, found once a mesh.

Only the upper triangle is kept. Blocks stay full even where they hold zeros: the direct solver then orders points, not
unknowns, which takes it a tenth of the time.
"""

from dataclasses import dataclass

import numpy as np

__all__ = ["Pattern", "find_pattern"]


@dataclass(frozen=True, eq=False)
class Pattern:
    """The blocks in the upper triangle of a symmetric matrix.

    Attributes
    ----------
    n_components : int
        Unknowns a point, the size of a block.
    starts : ndarray of int32, shape (n_points + 1,)
        First block of each point's row of blocks; it is the one on the diagonal.
    columns : ndarray of int32, shape (n_blocks,)
        Point of each block's columns, ascending along a row.
    block_of : dict of str to ndarray of int, shape (n_cells, n_corners * (n_corners + 1) / 2)
        Block that each pair of a cell's corners adds to, pairs in the order of ``np.triu_indices``.
    is_turned : dict of str to ndarray of bool, the same shape
        Whether the first corner of the pair has the higher point, so that the transpose is added.
    """

    n_components: int
    starts: np.ndarray
    columns: np.ndarray
    block_of: dict
    is_turned: dict

    @property
    def n_points(self):
        """How many points."""
        return len(self.starts) - 1

    @property
    def n_unknowns(self):
        """How many unknowns, held ones included."""
        return self.n_points * self.n_components

    @property
    def n_blocks(self):
        """How many blocks in the upper triangle."""
        return len(self.columns)

    @property
    def n_entries(self):
        """How many entries in the upper triangle, those of blocks on the diagonal counted once."""
        size = self.n_components
        return self.n_blocks * size**2 - self.n_points * size * (size - 1) // 2

    @property
    def rows(self):
        """Point of each block's rows, shape (n_blocks,)."""
        return np.repeat(np.arange(self.n_points, dtype=np.int32), np.diff(self.starts))

    @property
    def diagonal(self):
        """The blocks on the diagonal, shape (n_points,)."""
        return self.starts[:-1]

    def find(self, points, others):
        """Blocks of pairs of joined points, the lower numbers first."""
        keys = self.rows * np.int64(self.n_points) + self.columns  # ascending
        return np.searchsorted(keys, points * np.int64(self.n_points) + others)

    def touching(self, is_chosen):
        """Blocks in the rows or columns of the points chosen by a mask."""
        return np.flatnonzero(is_chosen[self.rows] | is_chosen[self.columns])


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
    # every row starts with the block on the diagonal: before the k-th pair there are row + 1 of those
    block = np.arange(len(unique)) + row + 1
    starts = np.searchsorted(row, np.arange(n_points + 1)) + np.arange(n_points + 1)
    columns = np.empty(starts[-1], dtype=np.int32)
    columns[starts[:-1]], columns[block] = np.arange(n_points), column
    place, at = block[place], 0
    block_of, is_turned = {}, {}
    for kind, connectivity in mesh.cells.items():
        first, second = pairs[kind]
        of_pairs = place[at : at + first.size].reshape(first.shape)
        block_of[kind], is_turned[kind] = _with_diagonal(starts[connectivity], of_pairs, first > second)
        at += first.size
    return Pattern(n_components, starts.astype(np.int32), columns, block_of, is_turned)


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
