"""The plane stress quadrilateral: four points, incompatible modes that let it bend in its plane.

Bilinear displacement and two quadratic modes a direction that no neighbour sees, condensed away
(E. L. Wilson, R. L. Taylor, W. P. Doherty, J. Ghaboussi, 1973). Their gradients use the Jacobian of the centre, scaled
so that they do no work on constant stress: the patch test is passed on any shape
(R. L. Taylor, P. J. Beresford, E. L. Wilson, *A non-conforming element for stress analysis*, Int. J. Numer. Meth.
Engng 10 (1976) 1211-1219).
"""

import numpy as np

from femkit.elements.frames import local_corners, to_global
from femkit.elements.quadrature import CORNERS_SQUARE, GAUSS_2X2, PLACES_SQUARE
from femkit.elements.section import plane_stiffness, plane_stress_matrix

__all__ = [
    "bilinear_gradients",
    "bubble_gradients",
    "in_plane_strain",
    "incompatible_amplitudes",
    "plane_strain_of",
    "section_stiffness",
    "stiffness",
    "strain_operator",
    "thermal_forces",
]

CENTRE = np.zeros((1, 2))


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
    xy, frames = local_corners(cells)[..., :2], cells.frames[:, :2, :2]
    strain, area = in_plane_strain(xy, cells.poissons_ratio, GAUSS_2X2.points)
    strain = to_global(strain, frames)  # (n_cells, 4, 3, 8)
    force = (plane_stiffness(cells)[:, None] @ strain) * area[..., None, None]
    shape = (len(cells), 12, 8)
    return strain.reshape(shape).transpose(0, 2, 1) @ force.reshape(shape)


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
    strain, _ = in_plane_strain(local_corners(cells)[..., :2], cells.poissons_ratio, PLACES_SQUARE)
    return to_global(strain, cells.frames[:, :2, :2])


def section_stiffness(cells):
    """From ``exx, eyy, gxy`` to ``nx, ny, nxy`` (N/mm), shape (n_cells, 3, 3)."""
    return plane_stiffness(cells)


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
    # equal to the integral of the stress the held cell would have, since the cell passes the patch test
    free = strain[:, None, None] * cells.corners[..., :2]  # (n_cells, 4, 2)
    return (stiffness(cells) @ free.reshape(len(cells), 8, 1))[..., 0]


def bilinear_gradients(xy, places):
    """Gradients of the four corner functions, and the area a unit of the reference square covers.

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
        Determinant of the Jacobian, mm².
    """
    slopes = _reference_slopes(places)  # (n_places, 2, 4)
    jacobian = slopes @ xy[:, None]  # (n_cells, n_places, 2, 2)
    area = jacobian[..., 0, 0] * jacobian[..., 1, 1] - jacobian[..., 0, 1] * jacobian[..., 1, 0]
    inverse = np.empty_like(jacobian)
    inverse[..., 0, 0], inverse[..., 1, 1] = jacobian[..., 1, 1], jacobian[..., 0, 0]
    inverse[..., 0, 1], inverse[..., 1, 0] = -jacobian[..., 0, 1], -jacobian[..., 1, 0]
    inverse /= area[..., None, None]
    return inverse @ slopes, inverse, area


def plane_strain_of(gradients):
    """From gradients (n_cells, n_places, 2, n) to ``exx, eyy, gxy``: shape (n_cells, n_places, 3, n, 2)."""
    strain = np.zeros((*gradients.shape[:2], 3, gradients.shape[-1], 2))
    strain[:, :, 0, :, 0] = strain[:, :, 2, :, 1] = gradients[:, :, 0]
    strain[:, :, 1, :, 1] = strain[:, :, 2, :, 0] = gradients[:, :, 1]
    return strain


def bubble_gradients(xy, places, area):
    """Gradients of the modes ``1 - ξ²`` and ``1 - η²``, corrected for the patch test: (n_cells, n_places, 2, 2)."""
    _, inverse, centre_area = bilinear_gradients(xy, CENTRE)
    scale = -2.0 * centre_area / area  # (n_cells, n_places)
    return inverse * (scale[..., None] * places)[:, :, None, :]


def incompatible_amplitudes(strain, bubbles, poissons_ratio, area):
    """How strong the incompatible modes are in each displacement: they take the shape of least energy.

    Parameters
    ----------
    strain : ndarray, shape (n_cells, 4, 3, 4, 2)
        Bilinear strain at the Gauss points.
    bubbles : ndarray, shape (n_cells, 4, 3, 2, 2)
        Strain of the modes at the same points.
    poissons_ratio : ndarray, shape (n_cells,)
    area : ndarray, shape (n_cells, 4)
        Jacobian × weight.

    Returns
    -------
    amplitudes : ndarray, shape (n_cells, 4, 8)
    """
    n_cells = len(strain)
    matrix = plane_stress_matrix(np.ones(n_cells), poissons_ratio)  # Young's modulus drops out
    stress = (matrix[:, None] @ bubbles.reshape(n_cells, 4, 3, 4)) * area[..., None, None]
    stress = stress.reshape(n_cells, 12, 4).transpose(0, 2, 1)
    return -np.linalg.solve(stress @ bubbles.reshape(n_cells, 12, 4), stress @ strain.reshape(n_cells, 12, 8))


def in_plane_strain(xy, poissons_ratio, places):
    """Strain in the cell's plane at some places, incompatible modes condensed in.

    Parameters
    ----------
    xy : ndarray, shape (n_cells, 4, 2)
    poissons_ratio : ndarray, shape (n_cells,)
    places : ndarray, shape (n_places, 2)

    Returns
    -------
    strain : ndarray, shape (n_cells, n_places, 3, 4, 2)
        ``exx, eyy, gxy`` of unit displacements ux, uy of each corner, local axes.
    area : ndarray, shape (n_cells, n_places)
    """
    gradients, _, area = bilinear_gradients(xy, GAUSS_2X2.points)
    strain, bubbles = plane_strain_of(gradients), plane_strain_of(bubble_gradients(xy, GAUSS_2X2.points, area))
    amplitudes = incompatible_amplitudes(strain, bubbles, poissons_ratio, area)
    if places is not GAUSS_2X2.points:
        gradients, _, area = bilinear_gradients(xy, places)
        strain, bubbles = plane_strain_of(gradients), plane_strain_of(bubble_gradients(xy, places, area))
    n_cells, n_places = strain.shape[:2]
    strain += (bubbles.reshape(n_cells, n_places * 3, 4) @ amplitudes).reshape(strain.shape)
    return strain, area


def _reference_slopes(places):
    """d/dξ and d/dη of the four corner functions: (n_places, 2, 4)."""
    along, across = CORNERS_SQUARE.T
    xi, eta = places[:, :1], places[:, 1:]
    return np.stack([along * (1.0 + across * eta), across * (1.0 + along * xi)], axis=1) / 4.0
