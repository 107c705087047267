"""Areas, normals, local axes and shape-function integrals of all cells of a kind at once."""

import numpy as np

__all__ = ["cell_frames", "cell_normals", "shape_integrals"]

_G = 1 / np.sqrt(3)
_QUAD_GAUSS = np.array([[-_G, -_G], [_G, -_G], [_G, _G], [-_G, _G]])  # exact for the bilinear map's area
_QUAD_SIGNS = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])  # reference corners
X_AXIS, Y_AXIS, Z_AXIS = np.eye(3)


def cell_normals(corners):
    """Vector area of each cell: along its normal, as long as its (mean-plane) area.

    Parameters
    ----------
    corners : ndarray, shape (n_cells, 3 or 4, 3)

    Returns
    -------
    vector_area : ndarray, shape (n_cells, 3)
        mm2; points to the side from which the corners run counter-clockwise, which is the cell's top.
    """
    if corners.shape[1] == 3:
        return 0.5 * np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return 0.5 * np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])


def cell_frames(corners, reference=X_AXIS):
    """Local axes of each cell: x the reference direction laid on the cell, z its normal.

    Parameters
    ----------
    corners : ndarray, shape (n_cells, 3 or 4, 3)
    reference : array_like, shape (3,) or (n_cells, 3)
        Direction of local x; needs no unit length. Where it lies within 6 degrees of the normal, global z is taken,
        and where that does too, global y.

    Returns
    -------
    frames : ndarray, shape (n_cells, 3, 3)
        Rows are local x, y, z in global axes.
    """
    normal = _unit(cell_normals(corners))
    x = np.zeros_like(normal)
    is_open = np.ones(len(corners), dtype=bool)
    for direction in (reference, Z_AXIS, Y_AXIS):
        direction = _unit(np.broadcast_to(np.asarray(direction, dtype=float), normal.shape))
        laid = direction - (direction * normal).sum(axis=1, keepdims=True) * normal
        fits = is_open & (np.linalg.norm(laid, axis=1) > 0.1)  # sin 6 degrees
        x[fits] = laid[fits]
        is_open &= ~fits
    x = _unit(x)
    return np.stack([x, np.cross(normal, x), normal], axis=1)


def shape_integrals(corners):
    """Integral of each corner's shape function over its cell, as area and as vector area.

    Parameters
    ----------
    corners : ndarray, shape (n_cells, 3 or 4, 3)

    Returns
    -------
    area : ndarray, shape (n_cells, n_corners)
        mm2; sums to the cell's area (that of the true bilinear surface where a quadrilateral is warped).
    vector_area : ndarray, shape (n_cells, n_corners, 3)
        mm2; sums to `cell_normals`. A pressure p on the top pushes corner n by ``-p * vector_area[:, n]``.
    """
    if corners.shape[1] == 3:
        vector = cell_normals(corners)
        area = np.linalg.norm(vector, axis=1)
        return np.repeat(area[:, None] / 3, 3, axis=1), np.repeat(vector[:, None] / 3, 3, axis=1)
    xi, eta = _QUAD_GAUSS[:, :1], _QUAD_GAUSS[:, 1:]
    shape = 0.25 * (1 + xi * _QUAD_SIGNS[:, 0]) * (1 + eta * _QUAD_SIGNS[:, 1])  # (n_gauss, 4)
    along_xi = 0.25 * _QUAD_SIGNS[:, 0] * (1 + eta * _QUAD_SIGNS[:, 1])
    along_eta = 0.25 * _QUAD_SIGNS[:, 1] * (1 + xi * _QUAD_SIGNS[:, 0])
    surface = np.cross(along_xi @ corners, along_eta @ corners)  # (n_cells, n_gauss, 3)
    return np.linalg.norm(surface, axis=2) @ shape, shape.T @ surface


def _unit(vectors):
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    return vectors / np.where(length > 0, length, 1.0)
