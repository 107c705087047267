"""Matrices of the middle plane's displacement, brought to the points that it is offset from."""

import numpy as np

__all__ = ["spread"]


def spread(shared, cells, turning=None):
    """A cell's matrix from what every two corners share, alike for all three components of the displacement.

    Parameters
    ----------
    shared : ndarray, shape (n_cells, k, k)
        What two corners' displacements of the middle plane have to do with each other.
    cells : CellArrays
    turning : ndarray, shape (n_cells, 3, 3), optional
        What is shared by rotations besides, as a multiple of `shared`, global axes.

    Returns
    -------
    matrix : ndarray, shape (n_cells, k * 6, k * 6)
        Unknowns ux uy uz rx ry rz, point by point.
    """
    x, y, z = (-cells.offset[:, None] * cells.frames[:, 2]).T  # a rotation r moves the middle plane by arm @ r
    zero = np.zeros_like(x)
    arm = np.stack([zero, -z, y, z, zero, -x, -y, x, zero], axis=1).reshape(-1, 3, 3)
    point = np.zeros((len(cells), 6, 6))
    point[:, range(3), range(3)] = 1.0
    point[:, :3, 3:], point[:, 3:, :3] = arm, np.swapaxes(arm, 1, 2)
    point[:, 3:, 3:] = np.swapaxes(arm, 1, 2) @ arm + (0.0 if turning is None else turning)
    return combine(shared, point)


def combine(shared, point):
    """Every two corners have a point's matrix (n_cells, u, u) times what they share (n_cells, k, k)."""
    n, k, size = len(shared), shared.shape[1], point.shape[1]
    return (shared[:, :, None, :, None] * point[:, None, :, None, :]).reshape(n, k * size, k * size)
