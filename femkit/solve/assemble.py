"""The whole model's matrix from those of its cells, block by block and a few thousand cells at a time."""

import numpy as np
from scipy.sparse import csr_array

from .cells import cell_arrays, chunks, element_family
from .matrix import SymmetricMatrix

__all__ = ["assemble", "assemble_stiffness"]


def assemble_stiffness(model, pattern, arrays=None):
    """Stiffness of a model without its supports.

    Parameters
    ----------
    model : Model
    pattern : Pattern
    arrays : dict of str to CellArrays, optional
        From `cell_arrays`, if at hand.

    Returns
    -------
    stiffness : SymmetricMatrix
        N/mm, N and N mm.
    """
    arrays = cell_arrays(model) if arrays is None else arrays
    return assemble(pattern, lambda kind, some: element_family(model, kind).stiffness(arrays[kind][some]))


def assemble(pattern, matrices_of):
    """Add up the matrices of all cells.

    Parameters
    ----------
    pattern : Pattern
    matrices_of : callable
        ``matrices_of(kind, cells)`` gives symmetric matrices (n, k, k) for a slice of the cells of a kind.

    Returns
    -------
    matrix : SymmetricMatrix
    """
    size = pattern.n_components
    blocks = np.zeros((pattern.n_blocks, size * size))  # flat, as the parts are added by one product
    for kind, block_of in pattern.block_of.items():
        for some in chunks(len(block_of)):
            parts = _blocks_of(matrices_of(kind, some), pattern.is_turned[kind][some], size)
            _add(blocks, block_of[some].ravel(), parts)
    return SymmetricMatrix(pattern, blocks.reshape(-1, size, size))


def _blocks_of(matrices, is_turned, size):
    """Cut cell matrices into the blocks of their pairs of corners, shape (n_cells * n_pairs, size * size)."""
    n_cells, n_corners = len(matrices), matrices.shape[1] // size
    by_corner = matrices.reshape(n_cells, n_corners, size, n_corners, size)
    first, second = np.triu_indices(n_corners)
    parts = np.empty((n_cells, len(first), size, size))
    for pair, (a, b) in enumerate(zip(first, second)):
        parts[:, pair] = by_corner[:, a, :, b]
    parts[is_turned] = parts[is_turned].transpose(0, 2, 1)
    return parts.reshape(-1, size * size)


def _add(blocks, block_of, parts):
    """Add parts to the blocks they belong to, many to one."""
    touched, place = np.unique(block_of, return_inverse=True)
    to_touched = csr_array((np.ones(len(place)), place, np.arange(len(place) + 1)), shape=(len(place), len(touched)))
    blocks[touched] += to_touched.T @ parts
