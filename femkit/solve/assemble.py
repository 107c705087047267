"""The whole model's matrix from those of its cells, block by block and a few thousand cells at a time."""

import numpy as np
from scipy.sparse import csr_array

from ..elements import beam, spring_stiffness
from .cells import by_chunks, cell_arrays, element_family, springs
from .matrix import SymmetricMatrix
from .pattern import NOT_KEPT

__all__ = ["assemble", "assemble_stiffness"]


def assemble_stiffness(model, pattern, arrays=None, *, former=None, is_changed=None):
    """Stiffness of a model without its supports.

    Parameters
    ----------
    model : Model
    pattern : Pattern
    arrays : dict of str to CellArrays, optional
        From `cell_arrays`, if at hand.
    former : SymmetricMatrix, optional
        Stiffness of a model like it; its numbers are overwritten.
    is_changed : dict of str to ndarray of bool, shape (n_cells,)
        With `former`: which cells are not as they were there, by kind; none of the kinds left out.

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

    return assemble(pattern, matrices_of, former=former, is_changed=is_changed)


def assemble(pattern, matrices_of, *, former=None, is_changed=None):
    """Add up the matrices of all cells.

    Parameters
    ----------
    pattern : Pattern
    matrices_of : callable
        ``matrices_of(kind, cells)`` gives symmetric matrices (n, k, k) for some of the cells of a kind, None if they
        add nothing.
    former, is_changed : optional
        As in `assemble_stiffness`. Blocks that changed cells add to are summed up anew, from their unchanged
        neighbours too: differences would leave the rounding of what was there.

    Returns
    -------
    matrix : SymmetricMatrix
    """
    size = pattern.n_components
    flat = (pattern.n_blocks, size * size)  # as the parts are added by one product
    blocks, is_open = np.zeros(flat) if former is None else former.blocks.reshape(flat), None
    if former is not None:
        is_open = np.zeros(pattern.n_blocks, dtype=bool)
        for kind, block_of in pattern.block_of.items():
            if kind in is_changed:
                touched = block_of[is_changed[kind]]
                is_open[touched[touched != NOT_KEPT]] = True
        blocks[is_open] = 0.0
    for kind, block_of in pattern.block_of.items():
        n_corners, cells = block_of.shape[1], np.arange(len(block_of))
        if is_open is not None:
            block_of = np.where(is_open[block_of], block_of, NOT_KEPT)
            cells = np.flatnonzero((block_of != NOT_KEPT).any(axis=(1, 2)))

        def parts_of(some, kind=kind, n_corners=n_corners, cells=cells):
            matrices = matrices_of(kind, cells[some])
            if matrices is None:
                return None
            by_corner = matrices.reshape(-1, n_corners, size, n_corners, size)
            return by_corner.transpose(0, 1, 3, 2, 4).reshape(-1, size * size)

        for some, parts in by_chunks(parts_of, len(cells)):
            if parts is not None:
                _add(blocks, block_of[cells[some]].ravel(), parts)
    return SymmetricMatrix(pattern, blocks.reshape(-1, size, size))


def _add(blocks, block_of, parts):
    """Add parts to the blocks they belong to, many to one."""
    is_kept = block_of != NOT_KEPT
    touched, place = np.unique(block_of[is_kept], return_inverse=True)
    ends = np.concatenate([[0], np.cumsum(is_kept)])
    to_touched = csr_array((np.ones(len(place)), place, ends), shape=(len(block_of), len(touched)))
    blocks[touched] += to_touched.T @ parts
