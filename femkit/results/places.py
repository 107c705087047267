"""What a solved model does at places between its points: displacements and stress, from the cell that a place lies on.

Between two points of a shell the rotations are linear, and so the sheet bends: it leaves the chord by L/8 times the
difference of the slopes at the two ends, midway between them, which is the linked interpolation of plates that are
flexible in shear (R. L. Taylor, F. Auricchio, Int. J. Numer. Methods Eng. 36 (1993) 3057-3066, from memory). Driven
by the chords alone, a finer mesh would be sheared instead of bent.
"""

import numpy as np

from .stress import to_global

__all__ = ["displacement_at_feet", "stress_at_feet"]


def displacement_at_feet(case, feet):
    """Displacement and rotation at some places, shape (n, 6), mm and rad; places beside the sheet are carried rigidly.

    Parameters
    ----------
    case : CaseResult
    feet : Feet
        Of the places on the model's mesh.
    """
    mesh = case.model.mesh
    moved = np.einsum("nk,nki->ni", feet.weights, case.displacement[mesh.points_of_cell[feet.cell]])
    if case.model.behaviour == "shell":
        corners = mesh.corners[feet.cell]
        after = np.where(np.roll(corners, -1, axis=1) < 0, corners[:, :1], np.roll(corners, -1, axis=1))
        side = mesh.points[after] - mesh.points[corners]  # (n, 4, 3)
        turned = case.displacement[corners, 3:] - case.displacement[after, 3:]
        normal = mesh.normals[feet.cell]
        bent = np.einsum("ni,nki->nk", normal, np.cross(turned, side)) / 8
        moved[:, :3] += (feet.of_sides * bent).sum(axis=1)[:, None] * normal + np.cross(moved[:, 3:], feet.gap)
    return moved


def stress_at_feet(case, feet, surface="top"):
    """Stress at some places as a global tensor, (n, 6) ``xx yy zz xy yz xz``, MPa: corner averages of the place's cell.

    Parameters
    ----------
    case : CaseResult
    feet : Feet
    surface : {"top", "middle", "bottom"}
    """
    corners = np.nan_to_num(case.averaged_stress(surface)[0][feet.cell])  # a triangle has no fourth, of weight 0
    stress = np.einsum("nk,nki->ni", feet.of_corners, corners)
    return to_global(stress, case.model.per_cell.frames[feet.cell])
