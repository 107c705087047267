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
  and 3 ten-thousandths of it at the Gauss points. Full strength everywhere locks curved shells; a token one everywhere
  lets moments about the normal vanish between warped cells. More at the Gauss points stiffens long cells that bend in
  their plane, by the square of their aspect ratio.
"""

import numpy as np

from .frames import local_corners, local_unknowns, shell_operator, shell_stiffness
from .plane_quad import bilinear, flexible_strain
from .quadrature import CENTRE, CORNERS, GAUSS_2X2, PLACES_QUAD, integrate
from .section import membrane_rigidity, plate_rigidity, shear_modulus

__all__ = ["NORMAL_ROTATION_RATIO", "stiffness", "strain_operator"]

NORMAL_ROTATION_RATIO = 3e-4  # of the penalty at the Gauss points to that at the centre; studied in tests/elements/

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
    xy, unknowns = _plane_and_unknowns(cells)
    centre, gauss = bilinear(xy, CENTRE.places), bilinear(xy, GAUSS_2X2.places)
    membrane, plate = _strains(xy, centre, gauss, gauss, cells.poissons_ratio)
    membrane = integrate(membrane, membrane_rigidity(cells), gauss.area)
    membrane += _normal_rotation_stiffness(centre, gauss, shear_modulus(cells) * cells.thickness)
    plate = integrate(plate, plate_rigidity(cells), gauss.area)
    return shell_stiffness(membrane, plate, unknowns)


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
    xy, unknowns = _plane_and_unknowns(cells)
    centre, gauss, places = (bilinear(xy, places) for places in (CENTRE.places, GAUSS_2X2.places, PLACES_QUAD))
    return shell_operator(*_strains(xy, centre, gauss, places, cells.poissons_ratio), unknowns)


def _plane_and_unknowns(cells):
    """Corners on the cell's plane (n_cells, 4, 2), mm, and its unknowns there (n_cells, 2, 12, 24)."""
    local = local_corners(cells)
    return local[..., :2], local_unknowns(cells.frames, cells.offset[:, None] - local[..., 2])


def _strains(xy, centre, gauss, at, poissons_ratio):
    """Strains in local axes of the membrane's and the plate's unknowns.

    Returns
    -------
    membrane : ndarray, shape (n_cells, n_places, 3, 4, 3)
        ``exx eyy gxy`` of unit ux uy rz.
    plate : ndarray, shape (n_cells, n_places, 5, 4, 3)
        ``kxx kyy kxy gxz gyz`` of unit uz rx ry.
    """
    flexible = flexible_strain(centre, gauss, at, poissons_ratio)
    membrane = np.zeros((*at.area.shape, 3, 4, 3))
    membrane[..., :2] = flexible
    plate = np.zeros((*at.area.shape, 5, 4, 3))
    # a place at height z moves by z ry along x and by -z rx along y
    plate[:, :, :3, :, 1], plate[:, :, :3, :, 2] = -flexible[..., 1], flexible[..., 0]
    plate[:, :, 3:] = _transverse_shear(xy, at)
    return membrane, plate


def _transverse_shear(xy, at):
    """``gxz, gyz`` of unit uz rx ry, assumed from the four mid-sides: (n_cells, n_places, 2, 4, 3)."""
    sides = np.zeros((len(xy), 4, 4, 3))  # shear along each side: slope of the chord and mean rotation of its ends
    for side, (start, end) in enumerate(SIDES):
        quarter = (xy[:, end] - xy[:, start]) / 4.0  # a unit of the reference square is half a side
        sides[:, side, start, 0], sides[:, side, end, 0] = -0.5, 0.5
        for corner in (start, end):
            sides[:, side, corner, 1], sides[:, side, corner, 2] = -quarter[:, 1], quarter[:, 0]
    xi, eta = at.places.T
    share = np.zeros((len(xi), 2, 4))  # of the sides in the shears along ξ and η
    share[:, 0, 0], share[:, 0, 1] = (1.0 - eta) / 2.0, (1.0 + eta) / 2.0
    share[:, 1, 2], share[:, 1, 3] = (1.0 - xi) / 2.0, (1.0 + xi) / 2.0
    return ((at.inverse @ share) @ sides.reshape(-1, 1, 4, 12)).reshape(*at.area.shape, 2, 4, 3)


def _normal_rotation_stiffness(centre, gauss, shear_rigidity):
    """Penalty on the rotation about the normal less the membrane's own: (n_cells, 12, 12), unknowns ux uy rz."""
    excess = np.zeros((len(shear_rigidity), 5, 1, 4, 3))
    for row, at in ((slice(1), centre), (slice(1, None), gauss)):
        excess[:, row, 0, :, 0], excess[:, row, 0, :, 1] = at.gradients[:, :, 1] / 2.0, -at.gradients[:, :, 0] / 2.0
        excess[:, row, 0, :, 2] = np.prod(1.0 + at.places[:, None] * CORNERS, axis=2) / 4.0
    area = np.concatenate([CENTRE.weights * centre.area, NORMAL_ROTATION_RATIO * gauss.area], axis=1)
    return integrate(excess, shear_rigidity[:, None, None], area)
