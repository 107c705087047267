"""The shell quadrilateral: four points of six unknowns, for thin and moderately thick, flat and warped cells.

Flat on the plane through its mean point and normal to the cross product of its diagonals; rigid arms along the
normal join the plane to the points, so that a warped cell moves freely as a rigid body and stays in balance. On it act

- a membrane with incompatible modes that bend it in its plane, see `plane_quad`;
- bending after Reissner and Mindlin, the rotations of the normals with the same incompatible modes (J. C. Simo,
  M. S. Rifai, *A class of mixed assumed strain methods and the method of incompatible modes*, Int. J. Numer. Meth.
  Engng 29 (1990) 1595-1638), and transverse shear assumed from the mid-sides (K. J. Bathe, E. N. Dvorkin, *A four-node
  plate bending element based on Mindlin/Reissner plate theory and a mixed interpolation*, Int. J. Numer. Meth. Engng
  21 (1985) 367-383);
- a penalty between the rotation about the normal and the membrane's own rotation (T. J. R. Hughes, F. Brezzi, *On
  drilling degrees of freedom*, Comput. Methods Appl. Mech. Engrg 72 (1989) 105-121): of full strength at the centre
  and a thousandth of it at the Gauss points. Full strength everywhere locks curved shells; a token one everywhere
  lets moments about the normal vanish between warped cells.
"""

import numpy as np

from femkit.elements.frames import local_corners, shell_operator, shell_stiffness
from femkit.elements.plane_quad import bilinear_gradients, flexible_strain
from femkit.elements.quadrature import CENTRE, CORNERS, GAUSS_2X2, PLACES_QUAD, integrate
from femkit.elements.section import membrane_rigidity, plate_rigidity, shear_modulus, shell_rigidity

__all__ = ["NORMAL_ROTATION_RATIO", "section_stiffness", "stiffness", "strain_operator", "thermal_forces"]

NORMAL_ROTATION_RATIO = 1e-3  # of the penalty at the Gauss points to that at the centre; studied in tests/elements/

# Each side as it runs along ξ or η, and the corners it joins.
SIDES = ((0, 1), (3, 2), (0, 3), (1, 2))


def stiffness(cells):
    """Stiffness of shell quadrilaterals about their points, in global axes.

    Parameters
    ----------
    cells : CellArrays
        With four corners.

    Returns
    -------
    stiffness : ndarray, shape (n_cells, 24, 24)
        N/mm, N and N mm; unknowns ux uy uz rx ry rz, point by point.
    """
    xy, arm = _plane_and_arms(cells)
    membrane, plate, area = _strains(xy, cells.poissons_ratio, GAUSS_2X2.places)
    membrane_stiffness = integrate(membrane, membrane_rigidity(cells), area)
    membrane_stiffness += _normal_rotation_stiffness(xy, shear_modulus(cells) * cells.thickness)
    return shell_stiffness(membrane_stiffness, integrate(plate, plate_rigidity(cells), area), arm, cells.frames)


def strain_operator(cells):
    """From the points' displacements to shell strains at the centre and the corners.

    Parameters
    ----------
    cells : CellArrays

    Returns
    -------
    operator : ndarray, shape (n_cells, 5, 8, 24)
        ``exx eyy gxy`` of the middle plane, ``kxx kyy kxy`` (1/mm, positive with the top stretched), ``gxz gyz`` in
        the cell's axes, from the global ux uy uz rx ry rz of the points; place 0 is the centre.
    """
    xy, arm = _plane_and_arms(cells)
    membrane, plate, _ = _strains(xy, cells.poissons_ratio, PLACES_QUAD)
    return shell_operator(membrane, plate, arm, cells.frames)


def section_stiffness(cells):
    """From the eight strains to ``nx ny nxy mx my mxy qx qy``, shape (n_cells, 8, 8); N/mm and N mm/mm."""
    return shell_rigidity(cells)


def thermal_forces(cells, strain):
    """Point forces as strong as a free uniform expansion.

    Parameters
    ----------
    cells : CellArrays
    strain : ndarray, shape (n_cells,)
        Thermal strain, expansion coefficient × change of temperature.

    Returns
    -------
    forces : ndarray, shape (n_cells, 24)
        N and N mm, global axes.
    """
    # the forces that hold the expanded cell: the same as the integral of its stress when it is held
    free = np.zeros((len(cells), 4, 6))
    free[..., :3] = strain[:, None, None] * (cells.corners - cells.corners.mean(axis=1, keepdims=True))
    return (stiffness(cells) @ free.reshape(-1, 24, 1))[..., 0]


def _plane_and_arms(cells):
    """Corners on the cell's plane (n_cells, 4, 2), and arms from the points to it along local z (n_cells, 4), mm."""
    local = local_corners(cells)
    return local[..., :2], cells.offset[:, None] - local[..., 2]


def _strains(xy, poissons_ratio, places):
    """Strains in local axes of the membrane's and the plate's unknowns.

    Returns
    -------
    membrane : ndarray, shape (n_cells, n_places, 3, 4, 3)
        ``exx eyy gxy`` of unit ux uy rz.
    plate : ndarray, shape (n_cells, n_places, 5, 4, 3)
        ``kxx kyy kxy gxz gyz`` of unit uz rx ry.
    area : ndarray, shape (n_cells, n_places)
    """
    flexible, area = flexible_strain(xy, poissons_ratio, places)
    membrane = np.zeros((*area.shape, 3, 4, 3))
    membrane[..., :2] = flexible
    plate = np.zeros((*area.shape, 5, 4, 3))
    # a place at height z moves by z ry along x and by -z rx along y
    plate[:, :, :3, :, 1], plate[:, :, :3, :, 2] = -flexible[..., 1], flexible[..., 0]
    plate[:, :, 3:] = _transverse_shear(xy, places)
    return membrane, plate, area


def _transverse_shear(xy, places):
    """``gxz, gyz`` of unit uz rx ry, assumed from the four mid-sides: (n_cells, n_places, 2, 4, 3)."""
    sides = np.zeros((len(xy), 4, 4, 3))  # shear along each side: slope of the chord and mean rotation of its ends
    for side, (start, end) in enumerate(SIDES):
        across = (xy[:, end] - xy[:, start]) / 4.0  # a unit of the reference square is half a side
        sides[:, side, (start, end), 0] = -0.5, 0.5
        sides[:, side, (start, end), 1], sides[:, side, (start, end), 2] = -across[:, 1:], across[:, :1]
    xi, eta = places.T
    share = np.zeros((len(places), 2, 4))  # of the sides in the shears along ξ and η
    share[:, 0, 0], share[:, 0, 1] = (1.0 - eta) / 2.0, (1.0 + eta) / 2.0
    share[:, 1, 2], share[:, 1, 3] = (1.0 - xi) / 2.0, (1.0 + xi) / 2.0
    _, inverse, _ = bilinear_gradients(xy, places)
    shear = (inverse @ share) @ sides.reshape(-1, 1, 4, 12)
    return shear.reshape(len(xy), len(places), 2, 4, 3)


def _normal_rotation_stiffness(xy, shear_rigidity):
    """Penalty on the rotation about the normal less the membrane's own: (n_cells, 12, 12), unknowns ux uy rz."""
    stiffness = np.zeros((len(xy), 12, 12))
    for rule, ratio in ((CENTRE, 1.0), (GAUSS_2X2, NORMAL_ROTATION_RATIO)):
        gradients, _, area = bilinear_gradients(xy, rule.places)
        excess = np.zeros((*area.shape, 1, 4, 3))
        excess[:, :, 0, :, 0], excess[:, :, 0, :, 1] = gradients[:, :, 1] / 2.0, -gradients[:, :, 0] / 2.0
        excess[:, :, 0, :, 2] = np.prod(1.0 + rule.places[:, None] * CORNERS, axis=2) / 4.0
        stiffness += integrate(excess, ratio * shear_rigidity[:, None, None], area * rule.weights)
    return stiffness
