"""Geometric stiffness of shell cells: what membrane forces do to a sheet that turns.

A sheet under membrane forces N that is turned by the gradient of its displacement does the work ``½ ∇u · N ∇u`` on each
unit of area, here for all three components of the middle plane's displacement (S. P. Timoshenko, J. M. Gere, *Theory of
Elastic Stability*, 2nd ed., ch. 8, for the one normal to the sheet). Compression softens.
"""

import numpy as np

from .frames import local_corners
from .middle_plane import spread
from .plane_quad import bilinear
from .plane_triangle import linear_gradients
from .quadrature import CORNERS, GAUSS_2X2

__all__ = ["geometric_stiffness"]


def geometric_stiffness(cells, membrane_force):
    """Geometric stiffness of shell cells about their points, in global axes.

    Parameters
    ----------
    cells : CellArrays
    membrane_force : ndarray, shape (n_cells, k, 3)
        ``nx ny nxy`` at the corners in the cells' axes, N/mm, tension positive; linear between them.

    Returns
    -------
    stiffness : ndarray, shape (n_cells, k * 6, k * 6)
        N/mm, N and N mm.
    """
    xy = local_corners(cells)[..., :2]
    if xy.shape[1] == 3:
        gradients, area = linear_gradients(xy)  # (n_cells, 2, 3)
        gradients, area, force = gradients[:, None], area[:, None], membrane_force.mean(axis=1)[:, None]
    else:
        at_gauss = bilinear(xy, GAUSS_2X2.places)
        gradients, area = at_gauss.gradients, at_gauss.area * GAUSS_2X2.weights
        xi, eta = GAUSS_2X2.places[:, :1], GAUSS_2X2.places[:, 1:]
        shape = 0.25 * (1 + xi * CORNERS[:, 0]) * (1 + eta * CORNERS[:, 1])
        force = shape @ membrane_force  # (n_cells, n_gauss, 3)
    tensor = force[..., np.array([[0, 2], [2, 1]])] * area[..., None, None]
    shared = (np.swapaxes(gradients, 2, 3) @ tensor @ gradients).sum(axis=1)  # (n_cells, k, k), N/mm
    return spread(shared, cells)
