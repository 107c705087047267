"""Mass of shell and plane-stress cells: the inertia of the shape functions that carry the loads, or lumped at points.

A shell's mass sits at its middle plane and has its own rotary inertia, ``mass × t²/12`` about the axes in the plane
(R. D. Mindlin, *J. Appl. Mech.* 18 (1951) 31-38); about the normal a point has none.

Lumped, every corner gets the integral of its shape function: the sum of its row (T. J. R. Hughes, *The Finite Element
Method*, 1987, sec. 7.3.2). On triangles and parallelograms the diagonal scaled to the cell's mass (E. Hinton, T. Rock,
O. C. Zienkiewicz, *Earthq. Eng. Struct. Dyn.* 4 (1976) 245-249) gives the same; on others only the row sums keep the
centre of gravity. Quadratic cells, whose corners would get nothing or less, take the scaled one. A point has mass,
first moment of an offset plate and rotary inertia: a block of 6 × 6, diagonal where nothing is offset or oblique, so
that mass, first moment and rotary inertia are all right, in any axes. What is lost is how far a cell's mass lies inside
its corners: with sides a and b its inertia about its own centre is ``mass × (a² + b²)/4``, not ``/12``; of the whole
body's a part that falls fourfold as cells are halved.
"""

import numpy as np

from ..mesh.shapes import SHAPES, surface_elements
from .middle_plane import combine, spread

__all__ = ["plane_mass", "shell_mass"]


def shell_mass(cells, area_mass, is_lumped=False):
    """Mass of shell cells about their points, in global axes.

    Parameters
    ----------
    cells : CellArrays
    area_mass : ndarray, shape (n_cells,)
        tonne/mm2, structure and what is added to it.
    is_lumped : bool

    Returns
    -------
    mass : ndarray, shape (n_cells, k * 6, k * 6)
        tonne, tonne mm and tonne mm2; unknowns ux uy uz rx ry rz, point by point.
    """
    normal = cells.frames[:, 2]
    in_plane = np.eye(3) - normal[:, :, None] * normal[:, None, :]
    turning = (cells.thickness**2 / 12)[:, None, None] * in_plane
    return spread(_shared_mass(cells, area_mass, is_lumped), cells, turning)


def plane_mass(cells, area_mass, is_lumped=False):
    """The same for plane stress, shape (n_cells, k * 2, k * 2), tonne; unknowns ux uy, point by point."""
    shared = _shared_mass(cells, area_mass, is_lumped)
    return combine(shared, np.broadcast_to(np.eye(2), (len(cells), 2, 2)))


def _shared_mass(cells, area_mass, is_lumped):
    shared = area_mass[:, None, None] * _shared_area(cells.corners)
    if not is_lumped:
        return shared
    at_points = shared.sum(axis=2)
    if shared.shape[1] > 4:
        at_points = np.einsum("eaa->ea", shared) * (shared.sum(axis=(1, 2)) / np.einsum("eaa->e", shared))[:, None]
    return at_points[:, :, None] * np.eye(shared.shape[1])


def _shared_area(corners):
    """Integral of the product of every two points' shape functions, shape (n_cells, k, k), mm2."""
    if corners.shape[1] == 3:
        area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1) / 2
        return area[:, None, None] * (np.ones((3, 3)) + np.eye(3)) / 12
    k = corners.shape[1]
    surface = np.linalg.norm(surface_elements(corners, SHAPES[k]), axis=2)  # (n_cells, n_gauss)
    values = SHAPES[k].values(SHAPES[k].gauss)
    products = (values[:, :, None] * values[:, None, :]).reshape(-1, k * k)
    return (surface @ products).reshape(-1, k, k)
