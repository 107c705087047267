"""The plane stress quadrilateral: four points, incompatible modes that let it bend in its plane.

Bilinear displacement and two quadratic modes a direction that no neighbour sees, condensed away
(E. L. Wilson, R. L. Taylor, W. P. Doherty, J. Ghaboussi, *Incompatible displacement models*, 1973). Their gradients use
the Jacobian of the centre, scaled so that they do no work on constant stress: the patch test is passed on any shape
(R. L. Taylor, P. J. Beresford, E. L. Wilson, *A non-conforming element for stress analysis*, Int. J. Numer. Meth.
Engng 10 (1976) 1211-1219).
"""

from typing import NamedTuple

import numpy as np

from .frames import plane_corners, to_global
from .quadrature import CENTRE, CORNERS, GAUSS_2X2, PLACES_QUAD, integrate
from .section import membrane_rigidity, plane_stress

__all__ = [
    "Bilinear",
    "bilinear",
    "flexible_strain",
    "stiffness",
    "strain_of",
    "strain_operator",
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
    centre, gauss = bilinear(xy, CENTRE.places), bilinear(xy, GAUSS_2X2.places)
    strain = flexible_strain(centre, gauss, gauss, cells.poissons_ratio)
    return integrate(to_global(strain, frames), membrane_rigidity(cells), gauss.area)


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
    centre, gauss, places = (bilinear(xy, places) for places in (CENTRE.places, GAUSS_2X2.places, PLACES_QUAD))
    strain = flexible_strain(centre, gauss, places, cells.poissons_ratio)
    return to_global(strain, frames).reshape(len(cells), 5, 3, 8)


class Bilinear(NamedTuple):
    """The bilinear corner functions at some places of every cell."""

    places: np.ndarray  # (n_places, 2) in the reference square
    gradients: np.ndarray  # (n_cells, n_places, 2, 4) d/dx and d/dy of each corner's function, 1/mm
    inverse: np.ndarray  # (n_cells, n_places, 2, 2) turns gradients in the reference square into those in x and y
    area: np.ndarray  # (n_cells, n_places) what a unit of the reference square covers, mm²


def bilinear(xy, places):
    """Bilinear corner functions at `places` (n_places, 2) of cells with corners `xy` (n_cells, 4, 2) in their plane."""
    along, across = CORNERS.T
    xi, eta = places[:, :1], places[:, 1:]
    slopes = np.stack([along * (1.0 + across * eta), across * (1.0 + along * xi)], axis=1) / 4.0  # (n_places, 2, 4)
    x_xi, x_eta, y_xi, y_eta = (xy[..., i] @ slopes[:, j].T for i in (0, 1) for j in (0, 1))  # (n_cells, n_places)
    area = x_xi * y_eta - x_eta * y_xi
    inverse = np.stack([y_eta, -y_xi, -x_eta, x_xi], axis=-1).reshape(*area.shape, 2, 2) / area[..., None, None]
    return Bilinear(places, inverse @ slopes, inverse, area)


def flexible_strain(centre, gauss, at, poissons_ratio):
    """Strain of a vector field in the cell's plane, incompatible modes condensed in.

    The field is the displacement for the membrane, and the rotation of the normals for a plate.

    Parameters
    ----------
    centre, gauss : Bilinear
        At the centre and at the Gauss points.
    at : Bilinear
        Where strains are wanted.
    poissons_ratio : ndarray, shape (n_cells,)

    Returns
    -------
    strain : ndarray, shape (n_cells, n_places, 3, 4, 2)
        ``exx, eyy, gxy`` of unit components along x and y at each corner, local axes.
    """
    compatible, modes = strain_of(gauss.gradients), strain_of(_mode_gradients(centre, gauss))
    # the modes take the shape of least energy; thickness and Young's modulus drop out
    stress = (plane_stress(poissons_ratio)[:, None] @ modes) * gauss.area[..., None, None]
    stress = stress.reshape(-1, 12, 4).transpose(0, 2, 1)
    amplitude = np.linalg.solve(stress @ modes.reshape(-1, 12, 4), stress @ compatible.reshape(-1, 12, 8))
    if at is not gauss:
        compatible, modes = strain_of(at.gradients), strain_of(_mode_gradients(centre, at))
    return (compatible - modes @ amplitude[:, None]).reshape(*at.area.shape, 3, 4, 2)


def _mode_gradients(centre, at):
    """Gradients of the incompatible modes 1 - ξ² and 1 - η²: (n_cells, n_places, 2, 2)."""
    # with the Jacobian of the centre; the ratio of areas makes their mean over the cell vanish
    return centre.inverse * (-2.0 * centre.area / at.area)[..., None, None] * at.places[:, None, :]


def strain_of(gradients):
    """From gradients (n_cells, n_places, 2, n) of n functions to ``exx, eyy, gxy``: (n_cells, n_places, 3, n * 2)."""
    n_cells, n_places, _, n = gradients.shape
    strain = np.zeros((n_cells, n_places, 3, n, 2))
    strain[:, :, 0, :, 0] = strain[:, :, 2, :, 1] = gradients[:, :, 0]
    strain[:, :, 1, :, 1] = strain[:, :, 2, :, 0] = gradients[:, :, 1]
    return strain.reshape(n_cells, n_places, 3, n * 2)
