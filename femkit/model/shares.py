"""How much length or area of a selection each point stands for."""

import numpy as np

from ..errors import ModelError
from ..mesh.geometry import shape_integrals
from ..mesh.selection import select_cells, select_edges, select_points

__all__ = ["add_at_points", "area_shares", "length_shares", "point_weights"]


def length_shares(mesh, where, user):
    """Half the length of its edges at every point, shape (n_points,), mm.

    Parameters
    ----------
    mesh : Mesh
    where : str or array_like of int, shape (n, 2)
        An edge set's name, or edges.
    user : str
        Who asks, as an error is to name it.
    """
    edges = select_edges(mesh, where, user)
    length = np.linalg.norm(mesh.points[edges[:, 1]] - mesh.points[edges[:, 0]], axis=1)
    if not length.sum() > 0:
        raise ModelError(f"{user}: its edges have no length; it must hold edges between different points.")
    return np.bincount(edges.ravel(), np.repeat(length / 2, 2), minlength=mesh.n_points)


def area_shares(mesh, where, user):
    """Area of its cells that falls to every point, shape (n_points,), mm2: the integral of its shape function."""
    is_chosen = np.zeros(mesh.n_cells)
    is_chosen[select_cells(mesh, where, user)] = 1
    shares = np.zeros((mesh.n_points, 1))
    for _kind, connectivity, block in mesh.blocks():
        area, _vector = shape_integrals(mesh.points[connectivity])
        add_at_points(shares, connectivity, (is_chosen[block, None] * area)[:, :, None])
    return shares[:, 0]


def point_weights(mesh, where, user):
    """The share of a selection that each of its points stands for.

    Returns
    -------
    points : ndarray of int, shape (n,)
    weights : ndarray, shape (n,)
        Sum to 1: by length along an edge set, by area over a cell set, alike otherwise.
    """
    points = select_points(mesh, where, user)
    if not isinstance(where, str) or where in mesh.point_sets:
        return points, np.full(len(points), 1 / len(points))
    shares = (length_shares if where in mesh.edge_sets else area_shares)(mesh, where, user)[points]
    return points, shares / shares.sum()


def add_at_points(at_points, connectivity, values):
    """Add what cells give their corners, (n_cells, n_corners, c), to the rows of `at_points` in place."""
    for component in range(values.shape[2]):
        at_points[:, component] += np.bincount(
            connectivity.ravel(), values[:, :, component].ravel(), minlength=len(at_points)
        )
