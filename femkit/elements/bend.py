"""How strongly the sheet curves over one cell: the angle between its normal and the smooth sheet's at its points.

The triangle's membrane needs it, see `shell_triangle`. A sheet goes on across an edge where it turns there by less
than the fold angle, whatever else meets it (the web of a T, a doubler) and whichever way normals point: the turn is
measured between the directions in which the two cells leave the edge. Flat webs and flanges therefore bend by exactly
nothing, up to their folds.
"""

from typing import NamedTuple

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import connected_components

__all__ = ["FOLD_ANGLE", "cell_bend"]

FOLD_ANGLE = np.radians(30.0)  # common practice, no source: coarse arcs turn by less at an edge, pressed folds by more


def cell_bend(points, cells, fold_angle=FOLD_ANGLE):
    """Angle each cell bends through, if it is to follow its smooth sheet.

    Parameters
    ----------
    points : ndarray, shape (n_points, 3)
        mm.
    cells : dict of str to ndarray, shape (n_cells, 3) or (n_cells, 4)
        Points of the cells of each kind.
    fold_angle : float
        The sheet ends at edges where it turns by this or more, rad.

    Returns
    -------
    bend : dict of str to ndarray, shape (n_cells,)
        Twice the largest angle between the cell's normal and the averaged normals of the sheet at its points, rad.
        At a fold only the cells on the cell's own side of it count.

    Examples
    --------
    Two squares that turn by 10 degrees at their common edge: the mean normal there is 5 degrees off.

    >>> turn = np.radians(10.0)
    >>> x, z = np.array([[-1.0, 0.0], [0.0, 0.0], [np.cos(turn), np.sin(turn)]]).T
    >>> points = np.array([[x[i], y, z[i]] for y in (0.0, 1.0) for i in range(3)])
    >>> np.degrees(cell_bend(points, {"quad": np.array([[0, 1, 4, 3], [1, 2, 5, 4]])})["quad"])
    array([10., 10.])
    """
    kinds = [_corners_of(points, corners) for corners in cells.values()]
    sizes = [len(kind.point) for kind in kinds]
    if not sum(sizes):
        return {name: np.zeros(0) for name in cells}
    first = np.cumsum([0] + sizes)
    kinds = [kind._replace(following=kind.following + start) for kind, start in zip(kinds, first)]
    corners = _Corners(*(np.concatenate(arrays) for arrays in zip(*kinds)))
    angle = _angle_to_mean(corners, _sheet_of_corner(corners, fold_angle))
    parts = np.split(angle, first[1:-1])
    return {name: 2.0 * part.reshape(cells[name].shape).max(axis=1) for name, part in zip(cells, parts)}


class _Corners(NamedTuple):
    """All corners of some cells, one after another; each owns the side to the following corner of its cell."""

    point: np.ndarray  # (n,) its point
    following: np.ndarray  # (n,) index of the following corner
    normal: np.ndarray  # (n, 3) of its cell
    angle: np.ndarray  # (n,) between its two sides, rad
    inward: np.ndarray  # (n, 3) from its side into the cell, in the cell's plane


def _corners_of(points, cells):
    """The corners of the cells (n_cells, n_corners) of one kind."""
    n = cells.shape[1]
    at = points[cells]
    side = np.roll(at, -1, axis=1) - at
    diagonals = (at[:, 2] - at[:, 0], at[:, n - 1] - at[:, 1])  # of a triangle: two of its sides
    normal = _unit(np.cross(*diagonals))[:, None]
    along = _unit(side)
    back = np.roll(along, 1, axis=1)
    turn = np.arctan2(np.linalg.norm(np.cross(back, along), axis=2), (back * along).sum(axis=2))
    following = np.roll(np.arange(cells.size).reshape(cells.shape), -1, axis=1)
    # corners run counter-clockwise about the normal, whichever way it points
    inward = np.cross(normal, along)
    normal = np.repeat(normal, n, axis=1)
    return _Corners(
        cells.ravel(), following.ravel(), normal.reshape(-1, 3), (np.pi - turn).ravel(), inward.reshape(-1, 3)
    )


def _sheet_of_corner(corners, fold_angle):
    """Number each corner's sheet: corners at one point share it if their cells join there smoothly, (n,)."""
    size = len(corners.point)
    ends = np.stack([corners.point, corners.point[corners.following]], axis=1)
    edge = ends.min(axis=1) * (corners.point.max() + 1) + ends.max(axis=1)
    order = np.argsort(edge, kind="stable")
    edge, found = edge[order], [np.zeros((0, 2), dtype=int)]
    most = np.unique(edge, return_counts=True)[1].max()
    for step in range(1, most):  # all pairs of the cells at an edge: one step where two meet
        is_same = edge[:-step] == edge[step:]
        a, b = order[:-step][is_same], order[step:][is_same]
        goes_on = (corners.inward[a] * corners.inward[b]).sum(axis=1) < -np.cos(fold_angle)
        a, b = a[goes_on], b[goes_on]
        next_a, next_b = corners.following[a], corners.following[b]
        is_parallel = ends[a, 0] == ends[b, 0]  # neighbours whose normals agree run along their edge in opposite ways
        found.append(np.stack([a, np.where(is_parallel, b, next_b)], axis=1))
        found.append(np.stack([next_a, np.where(is_parallel, next_b, b)], axis=1))
    pairs = np.concatenate(found)
    graph = sparse.coo_array((np.ones(len(pairs)), pairs.T), (size, size))
    return connected_components(graph, directed=False)[1]


def _angle_to_mean(corners, sheet):
    """Angle between each corner's cell normal and the mean normal of its sheet at its point, (n,) rad."""
    _, first = np.unique(sheet, return_index=True)
    # normals have no agreed side: each is turned to the side of its sheet's first corner
    is_opposite = (corners.normal * corners.normal[first[sheet]]).sum(axis=1) < 0.0
    share = corners.angle * np.where(
        is_opposite, -1.0, 1.0
    )  # by the angle at the corner: cutting a cell changes nothing
    mean = np.stack([np.bincount(sheet, share * component) for component in corners.normal.T], axis=1)[sheet]
    across = np.linalg.norm(np.cross(corners.normal, mean), axis=1)
    return np.arctan2(across, np.abs((corners.normal * mean).sum(axis=1)))


def _unit(vectors):
    return vectors / np.linalg.norm(vectors, axis=-1, keepdims=True)
