"""Between a cell's own axes and the global ones, and from the points to the middle plane."""

import numpy as np

__all__ = ["local_corners", "to_global", "to_points"]


def local_corners(cells):
    """Corners in each cell's own axes, from their mean, mm, shape (n_cells, n_corners, 3)."""
    return (cells.corners - cells.corners.mean(axis=1, keepdims=True)) @ cells.frames.transpose(0, 2, 1)


def to_points(operator, arm):
    """Let an operator on the ends of rigid arms along local z act on the points the arms start from.

    The end of an arm of length ``a`` moves by ``u + theta × (a z)``: ``ux + a ry``, ``uy - a rx``, ``uz``.

    Parameters
    ----------
    operator : ndarray, shape (n_cells, n_rows, n_corners, 6)
        Acts on ux uy uz rx ry rz in local axes; changed in place.
    arm : ndarray, shape (n_cells, n_corners)
        Signed length of the arms, mm.

    Returns
    -------
    operator : ndarray, the same array
    """
    operator[..., 4] += arm[:, None] * operator[..., 0]
    operator[..., 3] -= arm[:, None] * operator[..., 1]
    return operator


def to_global(operator, frames):
    """Let an operator on local components act on global ones.

    Parameters
    ----------
    operator : ndarray, shape (n_cells, ..., n_corners, n_unknowns)
        Acts on components in local axes: ux uy uz rx ry rz, or ux uy.
    frames : ndarray, shape (n_cells, 3, 3) or (n_cells, 2, 2)
        Rows are the local axes.

    Returns
    -------
    operator : ndarray, shape (n_cells, ..., n_corners * n_unknowns)
    """
    n_cells, size = len(operator), frames.shape[-1]
    turned = operator.reshape(n_cells, np.prod(operator.shape[1:]) // size, size) @ frames
    return turned.reshape(*operator.shape[:-2], operator.shape[-2] * operator.shape[-1])
