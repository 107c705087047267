"""Areas, normals, local axes and shape-function integrals of all cells of a kind at once."""

import numpy as np

from .shapes import SHAPES, surface_elements

__all__ = ["cell_frames", "cell_normals", "half_side_integrals", "shape_integrals"]

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


def shape_integrals(points):
    """Integral of each point's shape function over its cell, as area and as vector area.

    Parameters
    ----------
    points : ndarray, shape (n_cells, k, 3)
        All points of cells of one kind.

    Returns
    -------
    area : ndarray, shape (n_cells, k)
        mm2; sums to the cell's area (that of the true surface where a quadrilateral is warped, or sides are curved).
    vector_area : ndarray, shape (n_cells, k, 3)
        mm2; sums to `cell_normals` for straight sides. A pressure p on the top pushes point n by
        ``-p * vector_area[:, n]``.
    """
    if points.shape[1] == 3:
        vector = cell_normals(points)
        area = np.linalg.norm(vector, axis=1)
        return np.repeat(area[:, None] / 3, 3, axis=1), np.repeat(vector[:, None] / 3, 3, axis=1)
    shape = SHAPES[points.shape[1]]
    surface, values = surface_elements(points, shape), shape.values(shape.gauss)
    return np.linalg.norm(surface, axis=2) @ values, values.T @ surface


def half_side_integrals(points):
    """Integral of the three functions of a quadratic side over its first half, by length.

    Parameters
    ----------
    points : ndarray, shape (n, 3, 3)
        First end, middle, last end.

    Returns
    -------
    length : ndarray, shape (n, 3)
        mm; over both halves of a straight even side they add up to 1/6, 2/3 and 1/6 of its length.
    """
    at, weight = np.polynomial.legendre.leggauss(3)
    at, weight = (at - 1) / 2, weight / 2  # from -1, the first end, to 0
    values = np.stack([at * (at - 1) / 2, 1 - at**2, at * (at + 1) / 2], axis=1)  # (n_gauss, 3)
    slopes = np.stack([at - 0.5, -2 * at, at + 0.5], axis=1)
    return np.linalg.norm(slopes @ points, axis=2) * weight @ values


def _unit(vectors):
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    return vectors / np.where(length > 0, length, 1.0)
