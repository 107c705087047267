"""The plane stress triangle: three points and constant strain.

The oldest element there is (M. J. Turner, R. W. Clough, H. C. Martin, L. J. Topp, *Stiffness and deflection analysis of
complex structures*, J. Aeronaut. Sci. 23 (1956) 805-823): exact in constant stress, several times too stiff in bending
in its plane. It is here to fill meshes of quadrilaterals.
"""

import numpy as np

from .frames import plane_corners, to_global
from .section import membrane_rigidity

__all__ = ["linear_gradients", "stiffness", "strain_operator"]


def stiffness(cells):
    """Stiffness of plane stress triangles in global axes.

    Parameters
    ----------
    cells : CellArrays
        Three corners in the plane z = const; z, `offset` and `bend` do not matter.

    Returns
    -------
    stiffness : ndarray, shape (n_cells, 6, 6)
        N/mm; unknowns ux uy, point by point.
    """
    strain, area = _constant_strain(cells)
    return strain.transpose(0, 2, 1) @ (membrane_rigidity(cells) * area[:, None, None]) @ strain


def strain_operator(cells):
    """From displacements to strains at the centre and the corners: the same everywhere.

    Parameters
    ----------
    cells : CellArrays

    Returns
    -------
    operator : ndarray, shape (n_cells, 4, 3, 6)
        ``exx, eyy, gxy`` in the cell's axes from the global ux uy; place 0 is the centre.
    """
    return np.repeat(_constant_strain(cells)[0][:, None], 4, axis=1)


def linear_gradients(xy):
    """Gradients of the three corner functions, and the area.

    Parameters
    ----------
    xy : ndarray, shape (n_cells, 3, 2)
        Corners in the cell's plane, mm.

    Returns
    -------
    gradients : ndarray, shape (n_cells, 2, 3)
        d/dx and d/dy of each corner's function, 1/mm.
    area : ndarray, shape (n_cells,)
        mm².
    """
    opposite = np.roll(xy, -1, axis=1) - np.roll(xy, -2, axis=1)  # negative of the side opposite each corner
    across = np.stack([opposite[..., 1], -opposite[..., 0]], axis=1)  # (n_cells, 2, 3)
    area = (across[:, 0] * xy[..., 0]).sum(axis=1) / 2.0
    return across / (2.0 * area)[:, None, None], area


def _constant_strain(cells):
    """Strain of unit ux, uy (n_cells, 3, 6) and the area (n_cells,)."""
    xy, frames = plane_corners(cells)
    gradients, area = linear_gradients(xy)
    strain = np.zeros((len(cells), 3, 3, 2))
    strain[:, 0, :, 0] = strain[:, 2, :, 1] = gradients[:, 0]
    strain[:, 1, :, 1] = strain[:, 2, :, 0] = gradients[:, 1]
    return to_global(strain, frames).reshape(-1, 3, 6), area
