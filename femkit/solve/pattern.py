"""Where the matrix has entries: full blocks, one for each pair of points that share a cell, found once a mesh.

Only the upper triangle is kept. Blocks stay full even where they hold zeros: the direct solver then orders points, not
unknowns, which takes it a tenth of the time.
"""

from dataclasses import dataclass

import numpy as np

__all__ = ["NOT_KEPT", "Pattern", "find_pattern"]

NOT_KEPT, ON_DIAGONAL = -1, -2  # marks for pairs of corners without a block of their own above the diagonal


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
    block_of : dict of str to ndarray of int, shape (n_cells, n_corners, n_corners)
        Block that each pair of a cell's corners adds to; `NOT_KEPT` where that lies in the lower triangle.
    """

    n_components: int
    starts: np.ndarray
    columns: np.ndarray
    block_of: dict

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


def find_pattern(mesh, n_components, joined=None, tables=None):
    """The pattern of a mesh's matrices.

    Parameters
    ----------
    mesh : Mesh
    n_components : int
        Unknowns a point.
    joined : ndarray of int, shape (n, 2), optional
        Pairs of points to be joined besides those that share a cell.
    tables : dict of str to ndarray of int, shape (n, k), optional
        Points of all cells by kind, where there are more than the mesh's own.

    Returns
    -------
    pattern : Pattern
    """
    n_points, tables = mesh.n_points, mesh.cells if tables is None else tables
    joined = np.zeros((0, 2), dtype=np.int64) if joined is None else np.sort(joined, axis=1)
    keys = {kind: _keys(connectivity, n_points) for kind, connectivity in tables.items()}
    above = [key[key >= 0] for key in keys.values()] + [(joined @ [n_points, 1])[joined[:, 0] < joined[:, 1]]]
    unique, place = np.unique(np.concatenate(above), return_inverse=True)
    row, column = np.divmod(unique, n_points)
    # every row starts with the block on the diagonal: before the k-th pair there are row + 1 of those
    block = np.arange(len(unique)) + row + 1
    starts = np.searchsorted(row, np.arange(n_points + 1)) + np.arange(n_points + 1)
    columns = np.empty(starts[-1], dtype=np.int32)
    columns[starts[:-1]], columns[block] = np.arange(n_points), column
    place, at, block_of = block[place], 0, {}
    for (kind, key), part in zip(keys.items(), above):
        block_of[kind] = np.where(key == ON_DIAGONAL, starts[tables[kind]][:, :, None], key)
        block_of[kind][key >= 0] = place[at : at + len(part)]
        at += len(part)
    return Pattern(n_components, starts.astype(np.int32), columns, block_of)


def _keys(connectivity, n_points):
    """A number for every pair of a cell's corners that lies above the diagonal, a mark for the others."""
    first, second = connectivity[:, :, None], connectivity[:, None, :]
    keys = np.where(first < second, first * n_points + second, NOT_KEPT)
    keys[first == second] = ON_DIAGONAL
    return keys  # (n_cells, n_corners, n_corners)
