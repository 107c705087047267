"""What an isotropic section does with strains: membrane force, bending moment and transverse shear.

Signs are those of the whole kit: membrane forces positive in tension; positive moments put the top (the +z side
of the cell) in tension; ``kxy`` is the engineering twist, so that ``mxy = D (1 - nu) / 2 * kxy``.
"""

import numpy as np

__all__ = ["SHEAR_FACTOR", "plane_stiffness", "plane_stress_matrix", "shear_modulus", "shell_stiffness"]

SHEAR_FACTOR = 5.0 / 6.0  # of a rectangle: E. Reissner, J. Appl. Mech. 12 (1945) A69-A77


def shear_modulus(cells):
    """G of each cell, MPa, shape (n_cells,)."""
    return cells.youngs_modulus / (2.0 * (1.0 + cells.poissons_ratio))


def plane_stress_matrix(youngs_modulus, poissons_ratio):
    """From ``exx, eyy, gxy`` to ``sx, sy, txy`` with no stress across the thickness, MPa.

    Parameters
    ----------
    youngs_modulus, poissons_ratio : ndarray, shape (n_cells,)
        MPa, 1.

    Returns
    -------
    matrix : ndarray, shape (n_cells, 3, 3)

    References
    ----------
    Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., art. 8 and 15.
    """
    nu = poissons_ratio
    matrix = np.zeros((len(nu), 3, 3))
    factor = youngs_modulus / (1.0 - nu**2)
    matrix[:, 0, 0] = matrix[:, 1, 1] = factor
    matrix[:, 0, 1] = matrix[:, 1, 0] = factor * nu
    matrix[:, 2, 2] = factor * (1.0 - nu) / 2.0
    return matrix


def plane_stiffness(cells):
    """From plane strains to ``nx, ny, nxy`` (N/mm), shape (n_cells, 3, 3)."""
    return cells.thickness[:, None, None] * plane_stress_matrix(cells.youngs_modulus, cells.poissons_ratio)


def shell_stiffness(cells):
    """From the eight shell strains to forces and moments a unit length.

    Parameters
    ----------
    cells : CellArrays

    Returns
    -------
    stiffness : ndarray, shape (n_cells, 8, 8)
        Turns ``exx eyy gxy kxx kyy kxy gxz gyz`` into ``nx ny nxy`` (N/mm), ``mx my mxy`` (N mm/mm) and ``qx qy``
        (N/mm). No coupling: strains are those about the middle plane.
    """
    stiffness = np.zeros((len(cells), 8, 8))
    stiffness[:, :3, :3] = plane_stiffness(cells)
    stiffness[:, 3:6, 3:6] = stiffness[:, :3, :3] * (cells.thickness**2 / 12.0)[:, None, None]
    stiffness[:, 6, 6] = stiffness[:, 7, 7] = SHEAR_FACTOR * shear_modulus(cells) * cells.thickness
    return stiffness
