"""The shell quadrilateral: four points of six unknowns, for thin and moderately thick, flat and warped cells.

Flat on the plane through its mean point and normal to the cross product of its diagonals; rigid arms along the
normal join the plane to the points, so that a warped cell moves freely as a rigid body and stays in balance. On it act

- a membrane with incompatible bending modes, see `plane_quad`;
- bending after Reissner and Mindlin with transverse shear assumed from the mid-sides (K. J. Bathe, E. N. Dvorkin,
  *A four-node plate bending element based on Mindlin/Reissner plate theory and a mixed interpolation*, Int. J. Numer.
  Meth. Engng 21 (1985) 367-383);
- a penalty between the rotation about the normal and the membrane's own rotation (T. J. R. Hughes, F. Brezzi, *On
  drilling degrees of freedom*, Comput. Methods Appl. Mech. Engrg 72 (1989) 105-121): of full strength at the centre
  and a thousandth of it at the Gauss points. Full strength everywhere locks curved shells; a token one everywhere
  lets moments about the normal vanish between warped cells.
"""

import numpy as np

from femkit.elements.frames import local_corners, to_global, to_points
from femkit.elements.plane_quad import CENTRE, bilinear_gradients, in_plane_strain
from femkit.elements.quadrature import GAUSS_2X2, PLACES_SQUARE
from femkit.elements.section import SHEAR_FACTOR, plane_stiffness, shear_modulus, shell_stiffness

__all__ = ["section_stiffness", "stiffness", "strain_operator", "thermal_forces"]

NORMAL_ROTATION_RATIO = 1e-3  # of the penalty at the Gauss points to that at the centre; studied in tests/elements/


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
    local = local_corners(cells)
    xy, arm = local[..., :2], cells.offset[:, None] - local[..., 2]
    gradients, inverse, area = bilinear_gradients(xy, GAUSS_2X2.points)
    membrane, _ = in_plane_strain(xy, cells.poissons_ratio, GAUSS_2X2.points)
    n_cells = len(cells)
    operator = np.zeros((n_cells, 37, 4, 6))
    operator[:, :12, :, :2] = membrane.reshape(n_cells, 12, 4, 2)
    operator[:, 12:24, :, 3:5] = _curvature(gradients).reshape(n_cells, 12, 4, 2)
    operator[:, 24:32, :, 2:5] = _transverse_shear(xy, inverse, GAUSS_2X2.points).reshape(n_cells, 8, 4, 3)
    operator[:, 32:36] = _normal_rotation(gradients, GAUSS_2X2.points)
    centre_gradients, _, centre_area = bilinear_gradients(xy, CENTRE)
    operator[:, 36:] = _normal_rotation(centre_gradients, CENTRE)
    operator = to_global(to_points(operator, arm), cells.frames)  # (n_cells, 37, 24)
    force = np.empty_like(operator)
    in_plane = plane_stiffness(cells)[:, None] * area[..., None, None]
    force[:, :12] = (in_plane @ operator[:, :12].reshape(n_cells, 4, 3, 24)).reshape(n_cells, 12, 24)
    in_plane *= (cells.thickness**2 / 12.0)[:, None, None, None]
    force[:, 12:24] = (in_plane @ operator[:, 12:24].reshape(n_cells, 4, 3, 24)).reshape(n_cells, 12, 24)
    shear = (shear_modulus(cells) * cells.thickness)[:, None] * np.concatenate(
        [SHEAR_FACTOR * np.repeat(area, 2, axis=1), NORMAL_ROTATION_RATIO * area, 4.0 * centre_area], axis=1
    )
    force[:, 24:] = operator[:, 24:] * shear[..., None]
    return operator.transpose(0, 2, 1) @ force


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
    local = local_corners(cells)
    xy, arm = local[..., :2], cells.offset[:, None] - local[..., 2]
    gradients, inverse, _ = bilinear_gradients(xy, PLACES_SQUARE)
    operator = np.zeros((len(cells), 5, 8, 4, 6))
    operator[:, :, :3, :, :2], _ = in_plane_strain(xy, cells.poissons_ratio, PLACES_SQUARE)
    operator[:, :, 3:6, :, 3:5] = _curvature(gradients)
    operator[:, :, 6:, :, 2:5] = _transverse_shear(xy, inverse, PLACES_SQUARE)
    operator = to_points(operator.reshape(len(cells), 40, 4, 6), arm)
    return to_global(operator, cells.frames).reshape(len(cells), 5, 8, 24)


def section_stiffness(cells):
    """From the eight strains to ``nx ny nxy mx my mxy qx qy``, shape (n_cells, 8, 8); N/mm and N mm/mm."""
    return shell_stiffness(cells)


def thermal_forces(cells, strain):
    """Point forces as strong as a free uniform expansion in the cell's plane.

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
    # equal to the integral of the stress the held cell would have, since the cell passes the patch test
    free = np.zeros((len(cells), 4, 6))
    free[..., :3] = strain[:, None, None] * (cells.corners - cells.corners.mean(axis=1, keepdims=True))
    return (stiffness(cells) @ free.reshape(len(cells), 24, 1))[..., 0]


def _curvature(gradients):
    """``kxx, kyy, kxy`` of unit rx, ry of each corner, local axes: (n_cells, n_places, 3, 4, 2)."""
    # a point at height z moves by z ry along x and by -z rx along y
    curvature = np.zeros((*gradients.shape[:2], 3, 4, 2))
    curvature[:, :, 0, :, 1], curvature[:, :, 2, :, 1] = gradients[:, :, 0], gradients[:, :, 1]
    curvature[:, :, 1, :, 0], curvature[:, :, 2, :, 0] = -gradients[:, :, 1], -gradients[:, :, 0]
    return curvature


def _transverse_shear(xy, inverse, places):
    """``gxz, gyz`` of unit uz, rx, ry of each corner, local axes: (n_cells, n_places, 2, 4, 3)."""
    # along each side: slope of the chord + mean rotation, times half the side, as one reference unit is half a side
    sides = np.zeros((len(xy), 4, 4, 3))  # side, corner, unknown
    for side, (start, end) in enumerate(((0, 1), (3, 2), (0, 3), (1, 2))):  # two along ξ, two along η
        along = (xy[:, end] - xy[:, start]) / 4.0
        sides[:, side, start, 0], sides[:, side, end, 0] = -0.5, 0.5
        for corner in (start, end):
            sides[:, side, corner, 1], sides[:, side, corner, 2] = -along[:, 1], along[:, 0]
    xi, eta = places.T
    share = np.zeros((len(places), 2, 4))  # of the sides in the shear along ξ and η
    share[:, 0, 0], share[:, 0, 1] = (1.0 - eta) / 2.0, (1.0 + eta) / 2.0
    share[:, 1, 2], share[:, 1, 3] = (1.0 - xi) / 2.0, (1.0 + xi) / 2.0
    shear = (inverse @ share) @ sides.reshape(len(xy), 1, 4, 12)
    return shear.reshape(len(xy), len(places), 2, 4, 3)


def _normal_rotation(gradients, places):
    """Rotation about the normal less the membrane's own, of unit unknowns: (n_cells, n_places, 4, 6)."""
    xi, eta = places.T
    rotation = np.zeros((*gradients.shape[:2], 4, 6))
    rotation[..., 0], rotation[..., 1] = gradients[:, :, 1] / 2.0, -gradients[:, :, 0] / 2.0
    along, across = np.array([-1, 1, 1, -1]), np.array([-1, -1, 1, 1])
    rotation[..., 5] = (1.0 + xi[:, None] * along) * (1.0 + eta[:, None] * across) / 4.0
    return rotation
