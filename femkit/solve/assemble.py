"""The whole model's matrix from those of its cells, block by block and a few thousand cells at a time."""

import numpy as np
from scipy.sparse import csr_array

from ..elements import beam, spring_stiffness
from .cells import by_chunks, cell_arrays, element_family, springs
from .matrix import SymmetricMatrix
from .pattern import NOT_KEPT

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
    spring = [spring_stiffness(one, model.mesh.points) for one in springs(model)]
    spring = np.concatenate(spring) if spring else None

    def matrices_of(kind, some):
        if kind == "spring":
            return spring[some]
        if kind == "beam":
            return beam.stiffness(model.beam_cells[some])
        return element_family(model, kind).stiffness(arrays[kind][some])

    return assemble(pattern, matrices_of)


def assemble(pattern, matrices_of):
    """Add up the matrices of all cells.

    Parameters
    ----------
    pattern : Pattern
    matrices_of : callable
        ``matrices_of(kind, cells)`` gives symmetric matrices (n, k, k) for a slice of the cells of a kind, None if
        they add nothing.

    Returns
    -------
    matrix : SymmetricMatrix
    """
    size = pattern.n_components
    blocks = np.zeros((pattern.n_blocks, size * size))  # flat, as the parts are added by one product
    for kind, block_of in pattern.block_of.items():
        n_corners = block_of.shape[1]

        def parts_of(some, kind=kind, n_corners=n_corners):
            matrices = matrices_of(kind, some)
            if matrices is None:
                return None
            by_corner = matrices.reshape(-1, n_corners, size, n_corners, size)
            return by_corner.transpose(0, 1, 3, 2, 4).reshape(-1, size * size)

        for some, parts in by_chunks(parts_of, len(block_of)):
            if parts is not None:
                _add(blocks, block_of[some].ravel(), parts)
    return SymmetricMatrix(pattern, blocks.reshape(-1, size, size))


def _add(blocks, block_of, parts):
    """Add parts to the blocks they belong to, many to one."""
    is_kept = block_of != NOT_KEPT
    touched, place = np.unique(block_of[is_kept], return_inverse=True)
    ends = np.concatenate([[0], np.cumsum(is_kept)])
    to_touched = csr_array((np.ones(len(place)), place, ends), shape=(len(block_of), len(touched)))
    blocks[touched] += to_touched.T @ parts
