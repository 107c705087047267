"""The shell triangle: three points of six unknowns, for thin and moderately thick cells.

- Membrane: Felippa's optimal triangle with rotations about the normal as unknowns (C. A. Felippa, *A study of optimal
  membrane triangles with drilling freedoms*, Comput. Methods Appl. Mech. Engrg 192 (2003) 2125-2168): a basic part
  that passes the patch test, and a higher-order part in which rotations bend the cell in its plane.
- Bending: discrete Kirchhoff-Mindlin (I. Katili, *A new discrete Kirchhoff-Mindlin element based on Mindlin-Reissner
  plate theory and assumed shear strain fields, part I*, Int. J. Numer. Meth. Engng 36 (1993) 1859-1883): rotations
  quadratic along the sides, by an amount that balances the shear of the side.
"""

import numpy as np

from femkit.elements.frames import local_corners, to_global, to_points
from femkit.elements.quadrature import PLACES_TRIANGLE, TRIANGLE_3
from femkit.elements.section import SHEAR_FACTOR, plane_stiffness, shear_modulus, shell_stiffness

__all__ = ["section_stiffness", "stiffness", "strain_operator", "thermal_forces"]

SIDES = ((0, 1), (1, 2), (2, 0))

LUMPING = 1.5  # Felippa's alpha_b of the optimal set: how much the rotations take part in the basic part
# Felippa's beta_1 ... beta_9 of the optimal set, as rows of Q_1, Q_2 and Q_3 (each divided by its side squared)
OPTIMAL = np.array(
    [
        [[1, 2, 1], [0, 1, -1], [-1, -1, -2]],
        [[-2, -1, -1], [1, 1, 2], [-1, 0, 1]],
        [[1, -1, 0], [-1, -2, -1], [2, 1, 1]],
    ],
    dtype=float,
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
    """
    strain, area = _strains(cells, TRIANGLE_3.points)
    n_cells = len(cells)
    operator = np.zeros((n_cells, 27, 3, 6))
    operator[:, :3] = _basic(local_corners(cells)[..., :2], area)
    operator[:, 3:12] = (strain[:, :, :3] - operator[:, None, :3]).reshape(n_cells, 9, 3, 6)
    operator[:, 12:21] = strain[:, :, 3:6].reshape(n_cells, 9, 3, 6)
    operator[:, 21:] = strain[:, :, 6:].reshape(n_cells, 6, 3, 6)
    operator = to_points(operator, np.broadcast_to(cells.offset[:, None], (n_cells, 3)))
    operator = to_global(operator, cells.frames)  # (n_cells, 27, 18)
    force = np.empty_like(operator)
    in_plane = plane_stiffness(cells)[:, None] * area[:, None, None, None]
    force[:, :3] = in_plane[:, 0] @ operator[:, :3]
    force[:, 3:12] = (in_plane / 3.0 @ operator[:, 3:12].reshape(n_cells, 3, 3, 18)).reshape(n_cells, 9, 18)
    in_plane = in_plane / 3.0 * (cells.thickness**2 / 12.0)[:, None, None, None]
    force[:, 12:21] = (in_plane @ operator[:, 12:21].reshape(n_cells, 3, 3, 18)).reshape(n_cells, 9, 18)
    shear = SHEAR_FACTOR * shear_modulus(cells) * cells.thickness * area / 3.0
    force[:, 21:] = operator[:, 21:] * shear[:, None, None]
    return operator.transpose(0, 2, 1) @ force


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
    """
    strain, _ = _strains(cells, PLACES_TRIANGLE)
    operator = to_points(strain.reshape(len(cells), 32, 3, 6), np.broadcast_to(cells.offset[:, None], (len(cells), 3)))
    return to_global(operator, cells.frames).reshape(len(cells), 4, 8, 18)


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
    forces : ndarray, shape (n_cells, 18)
        N and N mm, global axes.
    """
    free = np.zeros((len(cells), 3, 6))
    free[..., :3] = strain[:, None, None] * (cells.corners - cells.corners.mean(axis=1, keepdims=True))
    return (stiffness(cells) @ free.reshape(len(cells), 18, 1))[..., 0]


def _strains(cells, places):
    """The eight strains of unit local unknowns at some places, and the cells' area."""
    xy = local_corners(cells)[..., :2]
    gradients, area = _linear_gradients(xy)
    strain = np.zeros((len(cells), len(places), 8, 3, 6))
    bending = _share_of_bending(cells, xy)
    strain[:, :, :3] = _basic(xy, area)[:, None] + bending[:, None, None, None, None] * _higher_order(xy, area, places)
    curvature, shear = _plate_strains(cells, xy, gradients, places)
    strain[:, :, 3:6, :, 2:5], strain[:, :, 6:, :, 2:5] = curvature, shear
    return strain, area


def _linear_gradients(xy):
    """Gradients of the corner functions (n_cells, 2, 3), 1/mm, and the area (n_cells,), mm²."""
    x, y = xy[..., 0], xy[..., 1]
    dx, dy = np.roll(x, -2, 1) - np.roll(x, -1, 1), np.roll(y, -1, 1) - np.roll(y, -2, 1)
    area = (dy * x).sum(axis=1) / 2.0
    return np.stack([dy, dx], axis=1) / (2.0 * area)[:, None, None], area


def _share_of_bending(cells, xy):
    """What the higher-order membrane strain is multiplied by, so that its energy is that of the optimal triangle.

    Its energy is 9/4 of β0 = (1 - 4 ν²) / 2 times that of the unscaled strain, less where the sheet curves.
    """
    longest = np.sqrt(((np.roll(xy, -1, 1) - xy) ** 2).sum(axis=2).max(axis=1))
    beta = np.maximum((1.0 - 4.0 * cells.poissons_ratio**2) / 2.0, 0.01)
    rise = longest * cells.bend
    return np.sqrt(2.25 * beta * cells.thickness**2 / (cells.thickness**2 + rise**2))


def _basic(xy, area):
    """Constant membrane strain of unit local unknowns, (n_cells, 3, 3, 6): Felippa's lumping matrix over the volume."""
    x, y = xy[..., 0], xy[..., 1]
    after = np.roll(xy, -1, axis=1) - xy  # along the side that leaves each corner
    before = xy - np.roll(xy, 1, axis=1)  # and along the side that comes in
    basic = np.zeros((len(xy), 3, 3, 6))
    dy, dx = np.roll(y, -1, 1) - np.roll(y, 1, 1), np.roll(x, 1, 1) - np.roll(x, -1, 1)
    basic[:, 0, :, 0] = basic[:, 2, :, 1] = dy
    basic[:, 1, :, 1] = basic[:, 2, :, 0] = dx
    basic[:, 0, :, 5] = LUMPING / 6.0 * (before[..., 1] ** 2 - after[..., 1] ** 2)
    basic[:, 1, :, 5] = LUMPING / 6.0 * (before[..., 0] ** 2 - after[..., 0] ** 2)
    basic[:, 2, :, 5] = LUMPING / 3.0 * (after[..., 0] * after[..., 1] - before[..., 0] * before[..., 1])
    return basic / (2.0 * area)[:, None, None, None]


def _higher_order(xy, area, places):
    """Unscaled membrane strain that rotations in excess of the cell's own make, (n_cells, n_places, 3, 3, 6)."""
    gradients, _ = _linear_gradients(xy)
    excess = np.zeros((len(xy), 3, 3, 6))  # rotation of each corner less the cell's own
    excess[..., 0], excess[..., 1] = gradients[:, None, 1] / 2.0, -gradients[:, None, 0] / 2.0
    excess[:, range(3), range(3), 5] = 1.0
    side = np.roll(xy, -1, axis=1) - xy
    squared = (side**2).sum(axis=2)  # (n_cells, 3)
    natural = np.einsum("pn,nsc->psc", places, OPTIMAL) * (2.0 / 3.0 * area[:, None] / squared)[:, None, :, None]
    cartesian = np.linalg.inv(
        np.stack([side[..., 0] ** 2, side[..., 1] ** 2, side[..., 0] * side[..., 1]], axis=2) / squared[..., None]
    )  # from the strains along the three sides to exx, eyy, gxy
    return ((cartesian[:, None] @ natural) @ excess.reshape(len(xy), 1, 3, 18)).reshape(len(xy), len(places), 3, 3, 6)


def _plate_strains(cells, xy, gradients, places):
    """Curvature and transverse shear of unit uz, rx, ry: (n_cells, n_places, 3 and 2, 3, 3)."""
    n_cells = len(xy)
    side = np.roll(xy, -1, axis=1) - xy
    squared = (side**2).sum(axis=2)
    along = side / np.sqrt(squared)[..., None]
    chord = np.zeros((n_cells, 3, 3, 3))  # shear of each side if rotations were linear: side, corner, unknown
    for k, (i, j) in enumerate(SIDES):
        chord[:, k, i, 0], chord[:, k, j, 0] = -1.0 / np.sqrt(squared[:, k]), 1.0 / np.sqrt(squared[:, k])
        for corner in (i, j):
            chord[:, k, corner, 1], chord[:, k, corner, 2] = -along[:, k, 1] / 2.0, along[:, k, 0] / 2.0
    softness = 2.0 / (SHEAR_FACTOR * (1.0 - cells.poissons_ratio))[:, None] * cells.thickness[:, None] ** 2 / squared
    bulge = -1.5 / (1.0 + softness)[..., None, None] * chord  # rotation at mid-side beyond the mean of its ends
    side_shear = (softness / (1.0 + softness))[..., None, None] * chord
    curvature = np.zeros((n_cells, len(places), 3, 3, 3))
    curvature[..., 0, :, 2], curvature[..., 2, :, 2] = gradients[:, None, 0], gradients[:, None, 1]
    curvature[..., 1, :, 1], curvature[..., 2, :, 1] = -gradients[:, None, 1], -gradients[:, None, 0]
    shear = np.zeros((n_cells, len(places), 2, 3, 3))
    for k, (i, j) in enumerate(SIDES):
        slope = 4.0 * (places[:, i, None] * gradients[:, None, :, j] + places[:, j, None] * gradients[:, None, :, i])
        c, s = along[:, k, None, 0], along[:, k, None, 1]  # (n_cells, 1)
        bend = np.stack([c * slope[..., 0], s * slope[..., 1], c * slope[..., 1] + s * slope[..., 0]], axis=2)
        curvature += bend[..., None, None] * bulge[:, None, None, k]
    for corner, (before, after) in enumerate(((2, 0), (0, 1), (1, 2))):
        # the vector with these components along the two sides of a corner
        a, b = along[:, before], along[:, after]
        det = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])[:, None, None]
        gx = (b[:, 1, None, None] * side_shear[:, before] - a[:, 1, None, None] * side_shear[:, after]) / det
        gy = (a[:, 0, None, None] * side_shear[:, after] - b[:, 0, None, None] * side_shear[:, before]) / det
        shear += places[:, corner, None, None, None] * np.stack([gx, gy], axis=1)[:, None]
    return curvature, shear
