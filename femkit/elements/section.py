"""What an isotropic section does with strains: membrane force, bending moment and transverse shear.

Signs are those of the whole kit: membrane forces positive in tension; positive moments put the top (the +z side
of the cell) in tension; ``kxy`` is the engineering twist, so that ``mxy = D (1 - nu) / 2 * kxy``.
"""

import numpy as np

__all__ = ["SHEAR_FACTOR", "membrane_rigidity", "plane_stress", "plate_rigidity", "shear_modulus", "shell_rigidity"]

SHEAR_FACTOR = 5.0 / 6.0  # of a rectangle: E. Reissner, J. Appl. Mech. 12 (1945) A69-A77


def shear_modulus(cells):
    """G of each cell, MPa, shape (n_cells,)."""
    return cells.youngs_modulus / (2.0 * (1.0 + cells.poissons_ratio))


def plane_stress(poissons_ratio):
    """From ``exx, eyy, gxy`` to ``sx, sy, txy`` with no stress across the thickness, for a Young's modulus of 1.

    Parameters
    ----------
    poissons_ratio : ndarray, shape (n_cells,)

    Returns
    -------
    matrix : ndarray, shape (n_cells, 3, 3)

    References
    ----------
    S. P. Timoshenko, J. N. Goodier, *Theory of Elasticity*, 3rd ed., art. 8 and 15.
    """
    nu = poissons_ratio
    matrix = np.zeros((len(nu), 3, 3))
    matrix[:, 0, 0] = matrix[:, 1, 1] = 1.0 / (1.0 - nu**2)
    matrix[:, 0, 1] = matrix[:, 1, 0] = nu / (1.0 - nu**2)
    matrix[:, 2, 2] = 0.5 / (1.0 + nu)
    return matrix


def membrane_rigidity(cells):
    """From ``exx, eyy, gxy`` to ``nx, ny, nxy`` (N/mm), shape (n_cells, 3, 3)."""
    return plane_stress(cells.poissons_ratio) * (cells.youngs_modulus * cells.thickness)[:, None, None]


def plate_rigidity(cells):
    """From ``kxx kyy kxy gxz gyz`` to ``mx my mxy`` (N mm/mm) and ``qx qy`` (N/mm), shape (n_cells, 5, 5)."""
    rigidity = np.zeros((len(cells), 5, 5), dtype=cells.thickness.dtype)
    rigidity[:, :3, :3] = membrane_rigidity(cells) * (cells.thickness**2 / 12.0)[:, None, None]
    rigidity[:, 3, 3] = rigidity[:, 4, 4] = SHEAR_FACTOR * shear_modulus(cells) * cells.thickness
    return rigidity


def shell_rigidity(cells):
    """From the eight shell strains to forces and moments a unit length.

    Parameters
    ----------
    cells : CellArrays

    Returns
    -------
    rigidity : ndarray, shape (n_cells, 8, 8)
        Turns ``exx eyy gxy kxx kyy kxy gxz gyz`` into ``nx ny nxy`` (N/mm), ``mx my mxy`` (N mm/mm) and ``qx qy``
        (N/mm). No coupling: strains are those about the middle plane.
    """
    rigidity = np.zeros((len(cells), 8, 8), dtype=cells.thickness.dtype)
    rigidity[:, :3, :3] = membrane_rigidity(cells)
    rigidity[:, 3:, 3:] = plate_rigidity(cells)
    return rigidity
