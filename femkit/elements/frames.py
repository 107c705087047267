"""Between a cell's own axes and the global ones, and between the middle plane and the points.

In its own axes, and on its own plane, a shell cell is two problems that know nothing of each other: a membrane with
unknowns ux uy rz, and a plate with unknowns uz rx ry. Here they become one cell about its points.
"""

import numpy as np

__all__ = ["local_corners", "local_unknowns", "plane_corners", "shell_operator", "shell_stiffness", "to_global"]


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
    """Let an operator on ux uy in the cell's axes act on global ones.

    Parameters
    ----------
    operator : ndarray, shape (n_cells, ..., n_corners, 2)
    frames : ndarray, shape (n_cells, 2, 2)
        Rows are the local axes.

    Returns
    -------
    operator : ndarray, the same shape
    """
    rows = (len(frames), np.prod(operator.shape[1:-1]), 2)
    return (operator.reshape(rows) @ frames).reshape(operator.shape)


def local_unknowns(frames, arm):
    """What turns the points' global unknowns into the membrane's and the plate's on the cell's plane.

    Rigid arms along local z join the points to the plane: their ends move by ``u + theta × (arm z)``.

    Parameters
    ----------
    frames : ndarray, shape (n_cells, 3, 3)
        Rows are the local axes.
    arm : ndarray, shape (n_cells, n_corners)
        From each point to the plane along local z, mm.

    Returns
    -------
    unknowns : ndarray, shape (n_cells, 2, n_corners * 3, n_corners * 6)
        Rows ux uy rz of each corner, local, then rows uz rx ry of each; columns ux uy uz rx ry rz, global.
    """
    n_cells, n_corners = arm.shape
    unknowns = np.zeros((n_cells, 2, n_corners, 3, n_corners, 6), dtype=arm.dtype)
    x, y, z = frames.transpose(1, 0, 2)
    for corner in range(n_corners):
        membrane, plate = unknowns[:, 0, corner, :, corner], unknowns[:, 1, corner, :, corner]
        length = arm[:, corner, None]
        membrane[:, 0, :3], membrane[:, 0, 3:] = x, length * y
        membrane[:, 1, :3], membrane[:, 1, 3:] = y, -length * x
        membrane[:, 2, 3:] = plate[:, 0, :3] = z
        plate[:, 1, 3:], plate[:, 2, 3:] = x, y
    return unknowns.reshape(n_cells, 2, n_corners * 3, n_corners * 6)


def shell_operator(membrane, plate, unknowns):
    """The eight strains of a shell cell from the global unknowns of its points.

    Parameters
    ----------
    membrane : ndarray, shape (n_cells, n_places, 3, n_corners, 3)
        Membrane strains of unit ux uy rz, local axes.
    plate : ndarray, shape (n_cells, n_places, 5, n_corners, 3)
        Curvatures and transverse shears of unit uz rx ry.
    unknowns : ndarray, shape (n_cells, 2, n_corners * 3, n_corners * 6)
        From `local_unknowns`.

    Returns
    -------
    operator : ndarray, shape (n_cells, n_places, 8, n_corners * 6)
    """
    columns = unknowns.shape[2]
    membrane = membrane.reshape(*membrane.shape[:3], columns) @ unknowns[:, None, 0]
    plate = plate.reshape(*plate.shape[:3], columns) @ unknowns[:, None, 1]
    return np.concatenate([membrane, plate], axis=2)


def shell_stiffness(membrane, plate, unknowns):
    """Stiffness of a shell cell about its points in global axes.

    Parameters
    ----------
    membrane, plate : ndarray, shape (n_cells, n_corners * 3, n_corners * 3)
        Of the unknowns ux uy rz and uz rx ry, local axes.
    unknowns : ndarray, shape (n_cells, 2, n_corners * 3, n_corners * 6)
        From `local_unknowns`.

    Returns
    -------
    stiffness : ndarray, shape (n_cells, n_corners * 6, n_corners * 6)
    """
    force = np.stack([membrane, plate], axis=1) @ unknowns
    square = (len(force), force.shape[-1], force.shape[-1])
    return unknowns.reshape(square).transpose(0, 2, 1) @ force.reshape(square)
