"""Plane stress cells with quadratic functions: triangles of 6 points, quadrilaterals of 8 and 9, curved or not.

Isoparametric and fully integrated: a straight-sided cell with its points at the middles of its sides has every
quadratic displacement (triangle6 and quad9 on any such shape, quad8 on parallelograms), so it bends exactly in its
plane. The functions, and who they are from, stand in `femkit.mesh.shapes`; the formulation is that of O. C.
Zienkiewicz, R. L. Taylor, *The Finite Element Method*, vol. 1, chapters on isoparametric elements (from memory).
"""

import numpy as np

from ..mesh.shapes import SHAPES
from .frames import plane_corners, to_global
from .plane_quad import strain_of
from .quadrature import integrate
from .section import membrane_rigidity

__all__ = ["stiffness", "strain_operator"]


def stiffness(cells):
    """Stiffness of quadratic plane stress cells in global axes.

    Parameters
    ----------
    cells : CellArrays
        Of k = 6, 8 or 9 points in the plane z = const; z, `offset` and `bend` do not matter.

    Returns
    -------
    stiffness : ndarray, shape (n_cells, 2 k, 2 k)
        N/mm; unknowns ux uy, point by point.
    """
    shape = SHAPES[cells.corners.shape[1]]
    strain, area = _strain_at(cells, shape, shape.gauss)
    return integrate(strain, membrane_rigidity(cells), area * shape.weights)


def strain_operator(cells):
    """From displacements to strains at the centre and the corners of quadratic plane stress cells.

    Parameters
    ----------
    cells : CellArrays

    Returns
    -------
    operator : ndarray, shape (n_cells, 4 or 5, 3, 2 k)
        ``exx, eyy, gxy`` in the cell's axes from the global ux uy; place 0 is the centre.
    """
    shape = SHAPES[cells.corners.shape[1]]
    corners = shape.places[: 3 if len(shape.places) == 6 else 4]
    strain, _area = _strain_at(cells, shape, np.vstack([corners.mean(axis=0), corners]))
    return strain.reshape(*strain.shape[:3], 2 * len(shape.places))


def _strain_at(cells, shape, places):
    """Strain of unit ux, uy (n_cells, n_places, 3, k, 2), and what a reference unit covers (n_cells, n_places), mm2."""
    xy, frames = plane_corners(cells)
    slopes = shape.slopes(places)  # (n_places, 2, k)
    jacobian = slopes @ xy[:, None]  # (n_cells, n_places, 2, 2): rows along r and s, columns x and y
    gradients = np.linalg.solve(jacobian, np.broadcast_to(slopes, (len(cells), *slopes.shape)))
    strain = strain_of(gradients).reshape(len(cells), len(places), 3, len(shape.places), 2)
    return to_global(strain, frames), np.linalg.det(jacobian)
