"""Between a cell's own axes and the global ones, and between the middle plane and the points.

In its own axes, and on its own plane, a shell cell is two problems that know nothing of each other: a membrane with
unknowns ux uy rz, and a plate with unknowns uz rx ry. Here they become one cell about its points.
"""

import numpy as np

__all__ = ["local_corners", "plane_corners", "shell_operator", "shell_stiffness", "to_global"]

MEMBRANE, PLATE = np.array([0, 1, 5]), np.array([2, 3, 4])  # among ux uy uz rx ry rz


def local_corners(cells):
    """Corners in each cell's own axes, from their mean, mm, shape (n_cells, n_corners, 3)."""
    return (cells.corners - cells.corners.mean(axis=1, keepdims=True)) @ cells.frames.transpose(0, 2, 1)


def plane_corners(cells):
    """Corners of plane stress cells in their own axes, and those axes: z is ignored.

    Returns
    -------
    xy : ndarray, shape (n_cells, n_corners, 2)
        From the corners' mean, mm.
    frames : ndarray, shape (n_cells, 2, 2)
        Rows are the local x and y.
    """
    frames = cells.frames[:, :2, :2]
    xy = cells.corners[..., :2] - cells.corners[..., :2].mean(axis=1, keepdims=True)
    return xy @ frames.transpose(0, 2, 1), frames


def to_global(operator, frames):
    """Let an operator on local components act on global ones.

    Parameters
    ----------
    operator : ndarray, shape (n_cells, ..., n_corners, n_unknowns)
        Acts on components in local axes: ux uy uz rx ry rz, or ux uy.
    frames : ndarray, shape (n_cells, 3, 3) or (n_cells, 2, 2)
        Rows are the local axes.

    Returns
    -------
    operator : ndarray, shape (n_cells, ..., n_corners * n_unknowns)
    """
    n_cells, size = len(operator), frames.shape[-1]
    turned = operator.reshape(n_cells, np.prod(operator.shape[1:]) // size, size) @ frames
    return turned.reshape(*operator.shape[:-2], operator.shape[-2] * operator.shape[-1])


def shell_operator(membrane, plate, arm, frames):
    """Strains of a shell cell from the global unknowns of its points.

    Parameters
    ----------
    membrane : ndarray, shape (n_cells, n_places, 3, n_corners, 3)
        Membrane strains of unit ux uy rz at the end of each corner's arm, local axes.
    plate : ndarray, shape (n_cells, n_places, 5, n_corners, 3)
        Curvatures and transverse shears of unit uz rx ry.
    arm : ndarray, shape (n_cells, n_corners)
        From each point to the cell's plane along local z, mm.
    frames : ndarray, shape (n_cells, 3, 3)

    Returns
    -------
    operator : ndarray, shape (n_cells, n_places, 8, n_corners * 6)
    """
    n_cells, n_places, _, n_corners, _ = membrane.shape
    operator = np.zeros((n_cells, n_places, 8, n_corners, 6))
    operator[:, :, :3, :, MEMBRANE] = membrane
    operator[:, :, 3:, :, PLATE] = plate
    _lengthen(operator, arm[:, None, None])
    return to_global(operator, frames)


def shell_stiffness(membrane, plate, arm, frames):
    """Stiffness of a shell cell about its points in global axes.

    Parameters
    ----------
    membrane, plate : ndarray, shape (n_cells, n_corners * 3, n_corners * 3)
        In local axes; unknowns ux uy rz and uz rx ry, at the end of each corner's arm.
    arm : ndarray, shape (n_cells, n_corners)
        From each point to the cell's plane along local z, mm.
    frames : ndarray, shape (n_cells, 3, 3)

    Returns
    -------
    stiffness : ndarray, shape (n_cells, n_corners * 6, n_corners * 6)
    """
    n_cells, n_corners = arm.shape
    size = n_corners * 6
    stiffness = np.zeros((n_cells, n_corners, 6, n_corners, 6))
    by_pair = stiffness.transpose(0, 1, 3, 2, 4)  # a view: corner, corner, unknown, unknown
    for part, unknowns in ((membrane, MEMBRANE), (plate, PLATE)):
        part = part.reshape(n_cells, n_corners, 3, n_corners, 3).transpose(0, 1, 3, 2, 4)
        by_pair[..., unknowns[:, None], unknowns] = part
    _lengthen(stiffness, arm[:, None, None])
    _lengthen(stiffness.transpose(0, 3, 4, 1, 2), arm[:, None, None])
    half = to_global(stiffness.reshape(n_cells, size, n_corners, 6), frames)  # columns turned, rows not yet
    return to_global(half.transpose(0, 2, 1).reshape(n_cells, size, n_corners, 6), frames)


def _lengthen(operator, arm):
    """Let an operator (..., n_corners, 6) on the ends of arms along local z act on where they start, in place.

    The end of an arm of length a moves by u + theta × (a z): ux + a ry, uy - a rx, uz.
    """
    operator[..., 4] += arm * operator[..., 0]
    operator[..., 3] -= arm * operator[..., 1]
