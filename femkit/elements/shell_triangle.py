"""The shell triangle: three points of six unknowns, for thin and moderately thick cells.

- Membrane: Felippa's optimal triangle with rotations about the normal as unknowns (C. A. Felippa, *A study of optimal
  membrane triangles with drilling freedoms*, Comput. Methods Appl. Mech. Engrg 192 (2003) 2125-2168): a basic part
  of constant strain that passes the patch test, and a higher-order part in which rotations in excess of the cell's own
  bend it in its plane. The higher-order part locks thin curved shells, where chords of the sheet can't keep their
  length: it is reduced where the sheet bends over a cell by more than its thickness.
- Bending: discrete Kirchhoff-Mindlin (I. Katili, *A new discrete Kirchhoff-Mindlin element based on Mindlin-Reissner
  plate theory and assumed shear strain fields, part I*, Int. J. Numer. Meth. Engng 36 (1993) 1859-1883): the rotation
  of the normals is quadratic along each side, by the amount that the shear of the side allows. Thin, it is the
  discrete Kirchhoff triangle; thick, it is Reissner and Mindlin's plate.
"""

import numpy as np

from .frames import local_corners, local_unknowns, shell_operator, shell_stiffness
from .plane_triangle import linear_gradients
from .quadrature import MID_SIDES, PLACES_TRIANGLE, integrate
from .section import SHEAR_FACTOR, membrane_rigidity, plate_rigidity

__all__ = ["stiffness", "strain_operator"]

SIDES = ((0, 1), (1, 2), (2, 0))

LUMPING = 1.5  # Felippa's alpha_b of the optimal set: how much the rotations take part in the basic part
# Felippa's beta_1 ... beta_9 of the optimal set: strain along each side (row) at each corner (first axis) of the
# excess rotations (column), times 2/3 of the area over the side squared.
OPTIMAL = np.array(
    [
        [[1.0, 2.0, 1.0], [0.0, 1.0, -1.0], [-1.0, -1.0, -2.0]],
        [[-2.0, -1.0, -1.0], [1.0, 1.0, 2.0], [-1.0, 0.0, 1.0]],
        [[1.0, -1.0, 0.0], [-1.0, -2.0, -1.0], [2.0, 1.0, 1.0]],
    ]
)


def stiffness(cells):
    """Stiffness of shell triangles about their points, in global axes.

    Parameters
    ----------
    cells : CellArrays
        With three corners.

    Returns
    -------
    stiffness : ndarray, shape (n_cells, 18, 18)
        N/mm, N and N mm; unknowns ux uy uz rx ry rz, point by point.

    Notes
    -----
    Rotations about the normal take part in the displacement of the sides, as a beam's do: the exact point forces of a
    uniform in-plane line load q on a side of length L include moments about the normal, 1.5 q L² / 12 at its ends.
    Without them the pull on an edge is disturbed within a cell of the edge's ends.
    """
    membrane, plate, area = _strains(cells, MID_SIDES.places)
    area = area[:, None] * MID_SIDES.weights
    # the higher-order membrane strains add up to nothing over the mid-sides: no coupling with the basic part
    membrane, plate = integrate(membrane, membrane_rigidity(cells), area), integrate(plate, plate_rigidity(cells), area)
    return shell_stiffness(membrane, plate, _unknowns(cells))


def strain_operator(cells):
    """From the points' displacements to shell strains at the centre and the corners.

    Parameters
    ----------
    cells : CellArrays

    Returns
    -------
    operator : ndarray, shape (n_cells, 4, 8, 18)
        ``exx eyy gxy`` of the middle plane, ``kxx kyy kxy`` (1/mm, positive with the top stretched), ``gxz gyz`` in
        the cell's axes, from the global ux uy uz rx ry rz of the points; place 0 is the centre.

    Notes
    -----
    The membrane strains are the basic part's constant strain and, at the corners, the higher-order part's natural
    strain, scaled as it is in the energy: at the centre it vanishes. Constant states are exact; where a strip one cell
    deep bends in its plane, the constant strain is 1.5 times that of the centroid. Refine across the depth before
    triangles are judged.
    """
    membrane, plate, _ = _strains(cells, PLACES_TRIANGLE)
    return shell_operator(membrane, plate, _unknowns(cells))


def _unknowns(cells):
    """The membrane's and the plate's unknowns from the points': (n_cells, 2, 9, 18)."""
    return local_unknowns(cells.frames, np.repeat(cells.offset[:, None], 3, axis=1))


def _strains(cells, places):
    """Strains in local axes of the membrane's and the plate's unknowns.

    Returns
    -------
    membrane : ndarray, shape (n_cells, n_places, 3, 3, 3)
        ``exx eyy gxy`` of unit ux uy rz.
    plate : ndarray, shape (n_cells, n_places, 5, 3, 3)
        ``kxx kyy kxy gxz gyz`` of unit uz rx ry.
    area : ndarray, shape (n_cells,)
    """
    xy = local_corners(cells)[..., :2]
    gradients, area = linear_gradients(xy)
    side = np.roll(xy, -1, axis=1) - xy  # (n_cells, 3, 2), from each corner to the next
    length = np.sqrt((side**2).sum(axis=2))
    membrane = _higher_order_strain(side, length, gradients, area, places)
    membrane = membrane * _higher_order_ratio(cells, length.max(axis=1))[:, None, None, None, None]
    membrane += _basic_strain(side, gradients, area, np.where(cells.is_straight, 0.0, LUMPING))[:, None]
    plate = _plate_strain(cells, side, length, gradients, places)
    return membrane, plate, area


def _basic_strain(side, gradients, area, lumping):
    """Constant membrane strain of unit ux uy rz: (n_cells, 3, 3, 3). Felippa's lumping matrix over the volume.

    `lumping` (n_cells, 3) may differ from side to side: what a side takes from a constant stress is its own, and cells
    on both of its sides have only to agree on it.
    """
    squares = np.stack([side[..., 1] ** 2, side[..., 0] ** 2, -2.0 * side[..., 0] * side[..., 1]], axis=1)
    leaving = squares * (lumping / 12.0 / area[:, None])[:, None]  # (n_cells, 3 strains, 3 sides)
    basic = np.zeros((len(side), 3, 3, 3))
    basic[:, 0, :, 0] = basic[:, 2, :, 1] = gradients[:, 0]
    basic[:, 1, :, 1] = basic[:, 2, :, 0] = gradients[:, 1]
    basic[..., 2] = np.roll(leaving, 1, axis=2) - leaving
    return basic


def _higher_order_strain(side, length, gradients, area, places):
    """Membrane strain of rotations in excess of the cell's own: (n_cells, n_places, 3, 3, 3), of unit ux uy rz."""
    excess = np.zeros((len(side), 3, 3, 3))
    excess[..., 0], excess[..., 1] = gradients[:, None, 1] / 2.0, -gradients[:, None, 0] / 2.0
    excess[:, range(3), range(3), 2] = 1.0
    along = np.tensordot(places, OPTIMAL, axes=1) * (2.0 / 3.0 * area[:, None] / length**2)[:, None, :, None]
    tangent = side / length[..., None]
    turned = np.stack([tangent[..., 0] ** 2, tangent[..., 1] ** 2, tangent[..., 0] * tangent[..., 1]], axis=2)
    strain = (np.linalg.inv(turned)[:, None] @ along) @ excess.reshape(-1, 1, 3, 9)
    return strain.reshape(len(side), len(places), 3, 3, 3)


def _higher_order_ratio(cells, longest):
    """What the higher-order membrane strain is multiplied by: (n_cells,).

    Felippa's energy of it is 3/4 beta_0 area times the sum over the mid-sides; here it is integrated like all others,
    with a third of the area, so that 9/4 beta_0 is left for the square of the ratio. beta_0 makes right-angled pairs
    bend as beams do. The last factor was found on the curved shells of tests/elements/.
    """
    beta_0 = np.maximum((1.0 - 4.0 * cells.poissons_ratio**2) / 2.0, 0.01)
    bent = (longest * cells.bend) ** 2
    return np.sqrt(2.25 * beta_0 * cells.thickness**2 / (cells.thickness**2 + bent))


def _plate_strain(cells, side, length, gradients, places):
    """``kxx kyy kxy gxz gyz`` of unit uz rx ry: (n_cells, n_places, 5, 3, 3)."""
    tangent = side / length[..., None]
    chord = np.zeros((len(side), 3, 3, 3))  # shear along each side, if rotations were linear: side, corner, unknown
    for k, ends in enumerate(SIDES):
        chord[:, k, ends, 0] = np.array([-1.0, 1.0]) / length[:, k, None]
        chord[:, k, ends, 1], chord[:, k, ends, 2] = -tangent[:, k, 1:] / 2.0, tangent[:, k, :1] / 2.0
    chord = chord.reshape(len(side), 1, 3, 9)
    softness = 2.0 / (SHEAR_FACTOR * (1.0 - cells.poissons_ratio))[:, None] * (cells.thickness[:, None] / length) ** 2
    stiff = np.where(cells.is_straight, 0.0, 1.0 / (1.0 + softness))[:, None, :, None]
    bulge = -1.5 * stiff * chord  # rotation at mid-side beyond the mean of the ends
    sheared = (1.0 - stiff) * chord  # all of it where the side can't bulge, as in the quadrilateral beyond
    curvature = (_bulge_curvature(tangent, gradients, places) @ bulge).reshape(len(side), len(places), 3, 3, 3)
    # and of the linear rotations: a place at height z moves by z ry along x and by -z rx along y
    curvature[:, :, 0, :, 2] += gradients[:, None, 0]
    curvature[:, :, 1, :, 1] -= gradients[:, None, 1]
    curvature[:, :, 2, :, 1] -= gradients[:, None, 0]
    curvature[:, :, 2, :, 2] += gradients[:, None, 1]
    shear = (_shear_from_sides(tangent, places) @ sheared).reshape(len(side), len(places), 2, 3, 3)
    return np.concatenate([curvature, shear], axis=2)


def _bulge_curvature(tangent, gradients, places):
    """``kxx kyy kxy`` of a unit bulge of the rotation along each side: (n_cells, n_places, 3, 3)."""
    curvature = np.zeros((len(tangent), len(places), 3, 3))
    for k, (i, j) in enumerate(SIDES):
        # gradient of 4 λi λj
        slope = 4.0 * (places[:, i, None] * gradients[:, None, :, j] + places[:, j, None] * gradients[:, None, :, i])
        c, s = tangent[:, k, None, 0], tangent[:, k, None, 1]
        curvature[:, :, 0, k], curvature[:, :, 1, k] = c * slope[..., 0], s * slope[..., 1]
        curvature[:, :, 2, k] = c * slope[..., 1] + s * slope[..., 0]
    return curvature


def _shear_from_sides(tangent, places):
    """``gxz gyz`` of a unit shear along each side: (n_cells, n_places, 2, 3).

    Each corner has the shear whose components along its two sides are theirs; between corners it is linear.
    """
    share = np.zeros((len(tangent), len(places), 2, 3))
    for corner in range(3):
        before, after = corner - 1, corner
        a, b = tangent[:, before], tangent[:, after]
        sine = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])[:, None]
        weight = places[:, corner, None]  # (n_places, 1)
        share[..., before] += weight * (np.stack([b[:, 1], -b[:, 0]], axis=1) / sine)[:, None]
        share[..., after] += weight * (np.stack([-a[:, 1], a[:, 0]], axis=1) / sine)[:, None]
    return share
