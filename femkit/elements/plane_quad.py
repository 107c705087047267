"""The plane stress quadrilateral: four points, incompatible modes that let it bend in its plane.

Bilinear displacement and two quadratic modes a direction that no neighbour sees, condensed away
(E. L. Wilson, R. L. Taylor, W. P. Doherty, J. Ghaboussi, *Incompatible displacement models*, 1973). Their gradients use
the Jacobian of the centre, scaled so that they do no work on constant stress: the patch test is passed on any shape
(R. L. Taylor, P. J. Beresford, E. L. Wilson, *A non-conforming element for stress analysis*, Int. J. Numer. Meth.
Engng 10 (1976) 1211-1219).
"""

import numpy as np

from femkit.elements.frames import plane_corners, to_global
from femkit.elements.quadrature import CENTRE, CORNERS, GAUSS_2X2, PLACES_QUAD, integrate
from femkit.elements.section import membrane_rigidity, plane_stress

__all__ = [
    "bilinear_gradients",
    "flexible_strain",
    "section_stiffness",
    "stiffness",
    "strain_operator",
    "thermal_forces",
]


def stiffness(cells):
    """Stiffness of plane stress quadrilaterals in global axes.

    Parameters
    ----------
    cells : CellArrays
        Four corners in the plane z = const; z, `offset` and `bend` do not matter.

    Returns
    -------
    stiffness : ndarray, shape (n_cells, 8, 8)
        N/mm; unknowns ux uy, point by point.
    """
    xy, frames = plane_corners(cells)
    strain, area = flexible_strain(xy, cells.poissons_ratio, GAUSS_2X2.places)
    strain = to_global(strain, frames).reshape(strain.shape)
    return integrate(strain, membrane_rigidity(cells), area)


def strain_operator(cells):
    """From displacements to strains at the centre and the corners of plane stress quadrilaterals.

    Parameters
    ----------
    cells : CellArrays

    Returns
    -------
    operator : ndarray, shape (n_cells, 5, 3, 8)
        ``exx, eyy, gxy`` in the cell's axes from the global ux uy; place 0 is the centre.
    """
    xy, frames = plane_corners(cells)
    strain, _ = flexible_strain(xy, cells.poissons_ratio, PLACES_QUAD)
    return to_global(strain, frames)


def section_stiffness(cells):
    """From ``exx, eyy, gxy`` to ``nx, ny, nxy`` (N/mm), shape (n_cells, 3, 3)."""
    return membrane_rigidity(cells)


def thermal_forces(cells, strain):
    """Point forces as strong as a free uniform expansion.

    Parameters
    ----------
    cells : CellArrays
    strain : ndarray, shape (n_cells,)
        Thermal strain, expansion coefficient × change of temperature.

    Returns
    -------
    forces : ndarray, shape (n_cells, 8)
        N, global axes.
    """
    # the forces that hold the expanded cell: the same as the integral of its stress when it is held
    free = strain[:, None, None] * (cells.corners - cells.corners.mean(axis=1, keepdims=True))[..., :2]
    return (stiffness(cells) @ free.reshape(-1, 8, 1))[..., 0]


def bilinear_gradients(xy, places):
    """Gradients of the four corner functions.

    Parameters
    ----------
    xy : ndarray, shape (n_cells, 4, 2)
        Corners in the cell's plane, mm.
    places : ndarray, shape (n_places, 2)
        In the reference square.

    Returns
    -------
    gradients : ndarray, shape (n_cells, n_places, 2, 4)
        d/dx and d/dy of each corner's function, 1/mm.
    inverse : ndarray, shape (n_cells, n_places, 2, 2)
        Turns gradients in the reference square into those in x and y.
    area : ndarray, shape (n_cells, n_places)
        What a unit of the reference square covers, mm².
    """
    along, across = CORNERS.T
    xi, eta = places[:, :1], places[:, 1:]
    slopes = np.stack([along * (1.0 + across * eta), across * (1.0 + along * xi)], axis=1) / 4.0  # (n_places, 2, 4)
    jacobian = slopes @ xy[:, None]  # (n_cells, n_places, 2, 2)
    area = jacobian[..., 0, 0] * jacobian[..., 1, 1] - jacobian[..., 0, 1] * jacobian[..., 1, 0]
    inverse = np.empty_like(jacobian)
    inverse[..., 0, 0], inverse[..., 1, 1] = jacobian[..., 1, 1], jacobian[..., 0, 0]
    inverse[..., 0, 1], inverse[..., 1, 0] = -jacobian[..., 0, 1], -jacobian[..., 1, 0]
    inverse /= area[..., None, None]
    return inverse @ slopes, inverse, area


def flexible_strain(xy, poissons_ratio, places):
    """Strain of a vector field in the cell's plane, incompatible modes condensed in.

    The field is the displacement for the membrane, and the rotation of the normals for a plate.

    Parameters
    ----------
    xy : ndarray, shape (n_cells, 4, 2)
    poissons_ratio : ndarray, shape (n_cells,)
    places : ndarray, shape (n_places, 2)

    Returns
    -------
    strain : ndarray, shape (n_cells, n_places, 3, 4, 2)
        ``exx, eyy, gxy`` of unit components along x and y at each corner, local axes.
    area : ndarray, shape (n_cells, n_places)
        What a unit of the reference square covers, mm².
    """
    at_gauss, modes_at_gauss, area_at_gauss = _compatible_and_modes(xy, GAUSS_2X2.places)
    if places is GAUSS_2X2.places:
        strain, modes, area = at_gauss, modes_at_gauss, area_at_gauss
    else:
        strain, modes, area = _compatible_and_modes(xy, places)
    n_cells, n_places = area.shape
    # the modes take the shape of least energy; thickness and Young's modulus drop out
    stress = (plane_stress(poissons_ratio)[:, None] @ modes_at_gauss) * area_at_gauss[..., None, None]
    stress = stress.reshape(n_cells, 12, 4).transpose(0, 2, 1)
    amplitude = np.linalg.solve(stress @ modes_at_gauss.reshape(-1, 12, 4), stress @ at_gauss.reshape(-1, 12, 8))
    flexible = strain - modes @ amplitude[:, None]  # (n_cells, n_places, 3, 8)
    return flexible.reshape(n_cells, n_places, 3, 4, 2), area


def _compatible_and_modes(xy, places):
    """Strain of the corner functions (n_cells, n_places, 3, 8) and of the incompatible modes (…, 4), and the area."""
    gradients, _, area = bilinear_gradients(xy, places)
    _, inverse, centre_area = bilinear_gradients(xy, CENTRE.places)
    # of 1 - ξ² and 1 - η², with the centre's Jacobian; the area ratio makes their mean over the cell vanish
    bubbles = inverse * (-2.0 * centre_area / area)[..., None, None] * places[:, None, :]
    return _strain_of(gradients), _strain_of(bubbles), area


def _strain_of(gradients):
    """From gradients (n_cells, n_places, 2, n) of n functions to ``exx, eyy, gxy``: (n_cells, n_places, 3, n * 2)."""
    n_cells, n_places, _, n = gradients.shape
    strain = np.zeros((n_cells, n_places, 3, n, 2))
    strain[:, :, 0, :, 0] = strain[:, :, 2, :, 1] = gradients[:, :, 0]
    strain[:, :, 1, :, 1] = strain[:, :, 2, :, 0] = gradients[:, :, 1]
    return strain.reshape(n_cells, n_places, 3, n * 2)
