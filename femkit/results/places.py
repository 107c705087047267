"""What a solved model does at places between its points: displacements and stress, from the cell that a place lies on.

A sheet with constant curvature is at a place ``x`` where each point ``i`` of its cell would put it by half its slope
``gᵢ``, ``w = Σ Nᵢ (wᵢ + ½ gᵢ · (x - xᵢ))``: exactly so for every quadratic ``w``, since ``Σ Nᵢ (x - xᵢ) = 0``. Along a
side that is the linked interpolation of plates that are flexible in shear, off the chord by L/8 times the difference of
the slopes at its middle (R. L. Taylor, F. Auricchio, Int. J. Numer. Methods Eng. 36 (1993) 3057-3066, from memory).
Driven by the chords alone, a finer mesh would be sheared instead of bent.
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
        corners, normal = mesh.corners[feet.cell], mesh.normals[feet.cell]
        at = np.einsum("nk,nki->ni", feet.of_corners, mesh.points[corners])
        arms = at[:, None] - mesh.points[corners]  # (n, 4, 3)
        turned = np.cross(case.displacement[corners, 3:], arms)
        bent = np.einsum("nk,nki,ni->n", feet.of_corners, turned, normal) / 2
        moved[:, :3] += bent[:, None] * normal + np.cross(moved[:, 3:], feet.gap)
    return moved


def stress_at_feet(case, feet, surface="top", *, averaged=False):
    """Stress at some places as a global tensor, (n, 6) ``xx yy zz xy yz xz``, MPa: each cell's own, if not averaged.

    Parameters
    ----------
    case : CaseResult
    feet : Feet
    surface : {"top", "middle", "bottom"}
    averaged : bool
        From corner values averaged within one plate and smooth sheet.
    """
    corners = case.averaged_stress(surface)[0] if averaged else case.stress(surface, at="corners")
    corners = np.nan_to_num(corners[feet.cell])  # a triangle has no fourth, of weight 0
    stress = np.einsum("nk,nki->ni", feet.of_corners, corners)
    return to_global(stress, case.model.per_cell.frames[feet.cell])
