"""How a point moves against a place that other points carry rigidly, and what a spring between the two does."""

import numpy as np

from ..model.motions import rigid_motions

__all__ = ["relative_motion", "spring_stiffness"]


def relative_motion(attachment, points):
    """Motion of each point against the place it is attached to, by the unknowns of the point and the three others.

    Between the three the place moves by a linear interpolation, normal to their plane by a quadratic one that goes
    with their rotations and so follows a bent sheet: ``Σ Lᵢ (uᵢ + ½ θᵢ × (x - xᵢ))``, the linked interpolation of
    shear-flexible plates (J.-L. Tessler, T. J. R. Hughes, *Comput. Methods Appl. Mech. Engrg* 50 (1985) 71-101: from
    memory).

    Parameters
    ----------
    attachment : Attachment
    points : ndarray, shape (n_points, 3)
        Of the mesh, mm.

    Returns
    -------
    motion : ndarray, shape (n, 6, 24)
        Three shifts at the place where they meet, and three turns, global axes. A force there acts on both sides in
        the same place, and what it does to the three is in balance with it, moments too.
    """
    others = points[attachment.masters]  # (n, 3, 3)
    foot = np.einsum("nk,nki->ni", attachment.weights, others)
    normal = np.cross(others[:, 1] - others[:, 0], others[:, 2] - others[:, 0])
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-300)  # none where all are one point
    along = np.eye(3) - normal[:, :, None] * normal[:, None, :]
    motion = np.zeros((len(attachment), 6, 4, 6))
    motion[:, :, 0] = rigid_motions(attachment.at - points[attachment.points])
    for k in range(3):
        carried = rigid_motions(attachment.at - foot)
        carried[:, :3, 3:] += 0.5 * rigid_motions(foot - others[:, k])[:, :3, 3:] @ along
        motion[:, :, 1 + k] = -attachment.weights[:, k, None, None] * carried
    return motion.reshape(-1, 6, 24)


def spring_stiffness(attachment, points):
    """Stiffness of springs in global axes, shape (n, 24, 24), N/mm, N and N mm: see `relative_motion`."""
    motion = relative_motion(attachment, points)
    return np.swapaxes(motion, 1, 2) @ attachment.stiffness @ motion
