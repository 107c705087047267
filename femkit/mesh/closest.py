"""Where on a sheet a place comes nearest: the cell, and the three corners that carry the place by weights."""

import numpy as np
from scipy.spatial import cKDTree

__all__ = ["closest_on_cells"]

CANDIDATES = 32  # triangles by their centres; cells five times as long as wide are tested in tests/mesh/


def closest_on_cells(mesh, places, cells):
    """Nearest place on some cells, quadrilaterals taken as two triangles.

    Parameters
    ----------
    mesh : Mesh
    places : ndarray, shape (n, 3)
        mm.
    cells : ndarray of int, shape (m,)

    Returns
    -------
    cell : ndarray of int, shape (n,)
    corners : ndarray of int, shape (n, 3)
        Points of that cell.
    weights : ndarray, shape (n, 3)
        Of the corners, none negative, 1 in all: their weighted mean is the nearest place.
    """
    corners = mesh.corners[cells]
    is_quad = corners[:, 3] >= 0
    triangles = np.concatenate([corners[:, [0, 1, 2]], corners[is_quad][:, [0, 2, 3]]])  # (t, 3)
    owner = np.concatenate([cells, cells[is_quad]])
    centres = mesh.points[triangles].mean(axis=1)
    n_near = min(CANDIDATES, len(triangles))
    near = cKDTree(centres).query(places, k=n_near)[1].reshape(len(places), n_near)
    weights = _weights(places[:, None], mesh.points[triangles[near]])  # (n, n_near, 3)
    foot = np.einsum("nck,ncki->nci", weights, mesh.points[triangles[near]])
    best = np.linalg.norm(foot - places[:, None], axis=2).argmin(axis=1)
    rows = np.arange(len(places))
    chosen = near[rows, best]
    return owner[chosen], triangles[chosen], weights[rows, best]


def _weights(place, corners):
    """Weights of the corners (..., 3, 3) of triangles at the place on each that is nearest to `place` (..., 3)."""
    a, b, c = np.moveaxis(corners, -2, 0)
    normal = np.cross(b - a, c - a)
    area = (normal**2).sum(axis=-1)
    inner = [(np.cross(q - p, place - p) * normal).sum(axis=-1) / area for p, q in ((b, c), (c, a), (a, b))]
    inside = np.stack(inner, axis=-1)
    found, nearest = inside, np.where(np.all(inside >= 0, axis=-1), -1.0, np.inf)
    for first, second in ((0, 1), (1, 2), (2, 0)):
        p, q = corners[..., first, :], corners[..., second, :]
        side = q - p
        share = np.clip(((place - p) * side).sum(axis=-1) / (side**2).sum(axis=-1), 0, 1)
        distance = np.linalg.norm(p + share[..., None] * side - place, axis=-1)
        weights = np.zeros_like(inside)
        weights[..., first], weights[..., second] = 1 - share, share
        is_nearer = distance < nearest
        found = np.where(is_nearer[..., None], weights, found)
        nearest = np.minimum(nearest, distance)
    return found
