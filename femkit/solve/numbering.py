"""Which unknown is which: point by point, ``n_components`` each, all points of the mesh in their own order."""

import numpy as np

from ..model.values import COMPONENTS

__all__ = ["describe_unknown", "neighbours"]


def describe_unknown(model, unknown):
    """An unknown in words: its name, its point, where that lies and the plate it is on."""
    point, component = divmod(int(unknown), model.n_components)
    place = ", ".join(f"{value:.6g}" for value in model.mesh.points[point])
    cells = np.flatnonzero((model.mesh.points_of_cell == point).any(axis=1))
    plate = f' on plate "{model.plate_of_cell[cells[0]]}"' if len(cells) else ""
    return f"{COMPONENTS[component]} of point {point} at ({place}) mm{plate}"


def neighbours(tables, n_points, points):
    """Pairs of one of the `points` and each point that shares a cell with it, itself included.

    Parameters
    ----------
    tables : iterable of ndarray of int, shape (n, k)
        Points of all cells of each kind.
    n_points : int
    points : array_like of int

    Returns
    -------
    pairs : ndarray of int, shape (n, 2)
        Without repeats.
    """
    wanted = np.zeros(n_points, dtype=bool)
    wanted[points] = True
    pairs = [np.stack([points, points], axis=1)]
    for connectivity in tables:
        near = connectivity[wanted[connectivity].any(axis=1)]
        n_corners = near.shape[1]
        both = np.stack([np.repeat(near, n_corners, axis=1), np.tile(near, n_corners)], axis=2).reshape(-1, 2)
        pairs.append(both[wanted[both[:, 0]]])
    return np.unique(np.concatenate(pairs), axis=0)
