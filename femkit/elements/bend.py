"""How strongly the sheet curves over one cell: the angle between its normal and the smooth sheet's at its points.

The triangle's membrane needs it, see `shell_triangle`. A sheet goes on across an edge where it turns there by less
than the fold angle, whatever else meets it (the web of a T, a doubler) and whichever way normals point: the turn is
measured between the directions in which the two cells leave the edge. Flat webs and flanges therefore bend by exactly
nothing, up to their folds.
"""

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import connected_components

__all__ = ["FOLD_ANGLE", "cell_bend"]

FOLD_ANGLE = np.radians(30.0)  # common practice, no source: coarse arcs turn by less, pressed edges by more


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
    """
    kinds = [_Kind(points, corners) for corners in cells.values()]
    size = sum(kind.corners.size for kind in kinds)
    of_corner = np.concatenate([kind.normal_of_corner for kind in kinds]) if kinds else np.zeros((0, 3))
    weight = np.concatenate([kind.angle_of_corner for kind in kinds]) if kinds else np.zeros(0)
    pairs = _joined_corners(kinds, len(points), fold_angle)
    graph = sparse.coo_array((np.ones(len(pairs)), pairs.T), (size, size))
    n_sheets, sheet = connected_components(graph, directed=False)
    # normals have no agreed side: each is turned to that of its sheet's first corner, and a turned average is as good
    _, first = np.unique(sheet, return_index=True)
    side = np.where(np.einsum("ci,ci->c", of_corner, of_corner[first[sheet]]) < 0.0, -1.0, 1.0)
    mean = np.stack([np.bincount(sheet, side * weight * n, n_sheets) for n in of_corner.T], axis=1)[sheet]
    across = np.linalg.norm(np.cross(of_corner, mean), axis=1)
    angle = np.arctan2(across, np.abs(np.einsum("ci,ci->c", of_corner, mean)))
    parts = np.split(angle, np.cumsum([kind.corners.size for kind in kinds])[:-1])
    return {name: 2.0 * part.reshape(cells[name].shape).max(axis=1, initial=0.0) for name, part in zip(cells, parts)}


class _Kind:
    """Normals, corner angles and sides of the cells of one kind."""

    def __init__(self, points, corners):
        n = corners.shape[1]
        self.corners, at = corners, points[corners]  # (n_cells, n, 3)
        side = np.roll(at, -1, axis=1) - at  # from each corner to the next
        normal = np.cross(at[:, 2] - at[:, 0], at[:, n - 1] - at[:, 1]) if n == 4 else np.cross(side[:, 0], side[:, 1])
        normal = normal / np.linalg.norm(normal, axis=1, keepdims=True)
        self.normal_of_corner = np.repeat(normal, n, axis=0)
        along = side / np.linalg.norm(side, axis=2, keepdims=True)
        back = np.roll(along, 1, axis=1)
        turn = np.arctan2(np.linalg.norm(np.cross(back, along), axis=2), np.einsum("eni,eni->en", back, along))
        self.angle_of_corner = (np.pi - turn).ravel()
        # corners run counter-clockwise about the normal, so this points from the side into the cell
        self.inward = np.cross(normal[:, None], along).reshape(-1, 3)
        self.ends = np.stack([corners.ravel(), np.roll(corners, -1, axis=1).ravel()], axis=1)


def _joined_corners(kinds, n_points, fold_angle):
    """Pairs of cell corners at one point whose cells go on smoothly across a shared edge: (n_pairs, 2)."""
    if not kinds:
        return np.zeros((0, 2), dtype=int)
    ends = np.concatenate([kind.ends for kind in kinds])
    inward = np.concatenate([kind.inward for kind in kinds])
    start = np.arange(len(ends))
    first = np.cumsum([0] + [kind.corners.size for kind in kinds])
    end = np.concatenate(
        [
            f + np.roll(np.arange(k.corners.size).reshape(k.corners.shape), -1, axis=1).ravel()
            for f, k in zip(first, kinds)
        ]
    )
    key = ends.min(axis=1) * n_points + ends.max(axis=1)
    order = np.argsort(key, kind="stable")
    key, found = key[order], []
    for step in range(1, np.unique(key, return_counts=True)[1].max(initial=1)):  # all pairs at an edge of many cells
        a, b = order[:-step][key[:-step] == key[step:]], order[step:][key[:-step] == key[step:]]
        goes_on = np.einsum("si,si->s", inward[a], inward[b]) < -np.cos(fold_angle)
        a, b = a[goes_on], b[goes_on]
        is_same_way = ends[a, 0] == ends[b, 0]  # neighbours of one orientation run along their edge in opposite ways
        found.append(np.stack([start[a], np.where(is_same_way, start[b], end[b])], axis=1))
        found.append(np.stack([end[a], np.where(is_same_way, end[b], start[b])], axis=1))
    return np.concatenate(found) if found else np.zeros((0, 2), dtype=int)
