"""Which sides of cells stay straight, because the cell beyond them can't bend them.

Between its points a quadrilateral's side stays straight in the cell's plane, and the rotation along it linear; a shell
triangle bends it by the rotations of its ends. Where the two meet, the triangle has to keep the side as the
quadrilateral does, or a constant state of stress or moment would not pass from one to the other: what the triangle's
points take from it would find no answer.
"""

import numpy as np

__all__ = ["straight_sides"]


def straight_sides(cells):
    """Sides that a quadrilateral has, cell by cell.

    Parameters
    ----------
    cells : dict of str to ndarray, shape (n_cells, 3) or (n_cells, 4)
        Points of the cells of each kind.

    Returns
    -------
    is_straight : dict of str to ndarray of bool, shape (n_cells, n_corners)
        The side from each corner to the next.

    Examples
    --------
    >>> straight_sides({"triangle": np.array([[1, 4, 2]]), "quad": np.array([[0, 1, 2, 3]])})["triangle"]
    array([[False, False,  True]])
    """
    sides = {kind: _sides(corners) for kind, corners in cells.items()}
    of_quads = sides.get("quad", np.zeros((0, 4), dtype=np.int64))
    return {kind: np.isin(key, of_quads) for kind, key in sides.items()}


def _sides(corners):
    """One number a side, the same from both of its cells: (n_cells, n_corners)."""
    ends = np.sort(np.stack([corners, np.roll(corners, -1, axis=1)], axis=-1), axis=-1).astype(np.int64)
    return (ends[..., 0] << 32) + ends[..., 1]  # a mesh has fewer than 2**31 points
