"""The beam: two points, shear-flexible, any section, its axis rigidly offset from the points.

The stiffness is exact for forces at the ends: section forces then are known along the cell, their strains integrate to
the flexibility of one end against the other, and its inverse is the stiffness (J. S. Przemieniecki, *Theory of Matrix
Structural Analysis*, 1968, ch. 5). Mass and geometric stiffness go by the cubics of a slender beam (the same, ch. 11
and 15). Section forces ``N Vy Vz T My Mz`` act at the centroid in the cell's axes: N positive in tension; positive My
puts the +z side in tension, positive Mz the -y side; T is about the centroid.
"""

import numpy as np

__all__ = ["end_forces", "geometric_stiffness", "lumped_mass", "mass", "stiffness"]

_PLACES, _WEIGHTS = np.polynomial.legendre.leggauss(4)
_PLACES, _WEIGHTS = (_PLACES + 1) / 2, _WEIGHTS / 2  # exact for products of cubics


def stiffness(beams):
    """Stiffness of beam cells in global axes.

    Parameters
    ----------
    beams : BeamCells

    Returns
    -------
    stiffness : ndarray, shape (n, 12, 12)
        N/mm, N and N mm; unknowns ux uy uz rx ry rz, point by point.
    """
    carried = _carried(beams)
    return np.swapaxes(carried, 1, 2) @ np.linalg.solve(_flexibility(beams), carried)


def end_forces(beams, displacement):
    """Section forces at both ends.

    Parameters
    ----------
    beams : BeamCells
    displacement : ndarray, shape (n_points, 6)

    Returns
    -------
    forces : ndarray, shape (n, 2, 6)
        ``N Vy Vz T My Mz``, N and N mm, at the first and the second end.
    """
    moved = displacement[beams.points].reshape(len(beams), 12, 1)
    second = np.linalg.solve(_flexibility(beams), _carried(beams) @ moved)[..., 0]
    first = second.copy()
    first[:, 4] -= beams.length * second[:, 2]
    first[:, 5] += beams.length * second[:, 1]
    return np.stack([first, second], axis=1)


def mass(beams):
    """Consistent mass about the points, shape (n, 12, 12), tonne, tonne mm and tonne mm2; rotary inertia included."""
    shift, turn, _slopes = _cubics(beams)
    weights = _WEIGHTS * (beams.line_mass * beams.length)[:, None]  # (n, g)
    moving = np.einsum("eg,egia,egib->eab", weights, shift, shift, optimize=True)
    turning = np.einsum("eg,egia,eij,egjb->eab", weights, turn, _radius(beams), turn, optimize=True)
    return _to_points(moving + turning, beams)


def lumped_mass(beams):
    """The same with half of each cell's mass and rotary inertia at either end, at the centroid."""
    at_ends = np.zeros((len(beams), 12, 12))
    for end in (0, 6):
        at_ends[:, range(end, end + 3), range(end, end + 3)] = 1.0
        at_ends[:, end + 3 : end + 6, end + 3 : end + 6] = _radius(beams)
    return _to_points(at_ends * (beams.weight / 2)[:, None, None], beams)


def geometric_stiffness(beams, tension):
    """Geometric stiffness under an axial force (n,), N, tension positive; shape (n, 12, 12), N/mm, N and N mm.

    Turning about the axis takes part with the polar radius of gyration.
    """
    _shift, _turn, slopes = _cubics(beams)
    polar = beams.properties[:, 9] + beams.properties[:, 10]
    size = np.stack([np.ones_like(polar), np.ones_like(polar), polar], axis=1)
    weights = _WEIGHTS * (tension * beams.length)[:, None]
    return _to_points(np.einsum("eg,egia,ei,egib->eab", weights, slopes, size, slopes, optimize=True), beams)


def _radius(beams):
    """Squared radii of gyration of the section as a tensor, local axes, (n, 3, 3), mm2."""
    radius = np.zeros((len(beams), 3, 3))
    ry2, rz2, ryz = beams.properties[:, 9:12].T  # ∫z²/A, ∫y²/A, ∫yz/A
    radius[:, 0, 0], radius[:, 1, 1], radius[:, 2, 2] = ry2 + rz2, ry2, rz2
    radius[:, 1, 2] = radius[:, 2, 1] = -ryz
    return radius


def _flexibility(beams):
    """What forces on the second end move it while the first is clamped, at the centroid, local axes, (n, 6, 6)."""
    compliance, to_end = _compliance(beams), np.zeros((6, 6))
    to_end[4, 2], to_end[5, 1] = -1.0, 1.0  # moments grow with the distance from the end by the shear forces
    mixed = to_end.T @ compliance
    length = beams.length[:, None, None]
    return length * compliance + length**2 / 2 * (mixed + np.swapaxes(mixed, 1, 2)) + length**3 / 3 * mixed @ to_end


def _compliance(beams):
    """Strains by unit section forces at the centroid, (n, 6, 6)."""
    EA, EIy, EIz, EIyz, GJ, GAy, GAz, sy, sz = beams.properties[:, :9].T
    compliance = np.zeros((len(beams), 6, 6))
    compliance[:, 0, 0] = 1 / EA
    # forces through the centroid turn the section about its shear centre
    twist = np.stack([sz, -sy, np.ones_like(sy)], axis=1)
    compliance[:, 1:4, 1:4] = twist[:, :, None] * twist[:, None, :] / GJ[:, None, None]
    compliance[:, 1, 1] += 1 / GAy
    compliance[:, 2, 2] += 1 / GAz
    det = EIy * EIz - EIyz**2
    compliance[:, 4, 4], compliance[:, 5, 5] = EIz / det, EIy / det
    compliance[:, 4, 5] = compliance[:, 5, 4] = EIyz / det
    return compliance


def _carried(beams):
    """Move of the second end against the first, as a rigid body would carry it, by the unknowns, (n, 6, 12)."""
    moves = _local(beams)  # (n, 2, 6, 6)
    first, second = moves[:, 0], moves[:, 1]
    carried = first.copy()
    carried[:, 1] += beams.length[:, None] * first[:, 5]
    carried[:, 2] -= beams.length[:, None] * first[:, 4]
    return np.concatenate([-carried, second], axis=2)


def _local(beams):
    """Displacement and rotation of the centroid at an end in local axes by those of its point: (n, 2, 6, 6)."""
    local = np.zeros((len(beams), 6, 6))
    x, y, z = beams.arm.T
    zero = np.zeros_like(x)
    turned = np.stack([zero, z, -y, -z, zero, x, y, -x, zero], axis=1).reshape(-1, 3, 3)  # rotation × arm
    local[:, :3, :3] = local[:, 3:, 3:] = beams.frames
    local[:, :3, 3:] = beams.frames @ turned
    return np.stack([local, local], axis=1)


def _cubics(beams):
    """Shifts, turns and slopes v' w' φ' at the Gauss points by the local moves of both ends, each (n, g, 3, 12)."""
    s, n, L = _PLACES[:, None], len(beams), beams.length
    ends = np.hstack([1 - s, s])  # (g, 2)
    of_shift = np.hstack([1 - 3 * s**2 + 2 * s**3, 3 * s**2 - 2 * s**3])
    of_turn = np.hstack([s - 2 * s**2 + s**3, s**3 - s**2])  # times L
    shift_slope = np.hstack([6 * s**2 - 6 * s, 6 * s - 6 * s**2])  # over L
    turn_slope = np.hstack([1 - 4 * s + 3 * s**2, 3 * s**2 - 2 * s])
    shift, slopes = np.zeros((n, len(s), 3, 12)), np.zeros((n, len(s), 3, 12))
    for end in range(2):
        u, v, w, rx, ry, rz = range(6 * end, 6 * end + 6)
        shift[:, :, 0, u] = ends[:, end]
        shift[:, :, 1, v] = shift[:, :, 2, w] = of_shift[:, end]
        shift[:, :, 1, rz] = of_turn[:, end] * L[:, None]
        shift[:, :, 2, ry] = -shift[:, :, 1, rz]
        slopes[:, :, 0, v] = slopes[:, :, 1, w] = shift_slope[:, end] / L[:, None]
        slopes[:, :, 0, rz], slopes[:, :, 1, ry] = turn_slope[:, end], -turn_slope[:, end]
        slopes[:, :, 2, rx] = (-1.0, 1.0)[end] / L[:, None]
    turn = np.zeros_like(shift)
    for end in range(2):
        turn[:, :, 0, 6 * end + 3] = ends[:, end]
    turn[:, :, 1], turn[:, :, 2] = -slopes[:, :, 1], slopes[:, :, 0]
    return shift, turn, slopes


def _to_points(local, beams):
    """From local moves of the centroid at both ends to the points' unknowns."""
    moves = _local(beams)
    whole = np.zeros((len(beams), 12, 12))
    whole[:, :6, :6], whole[:, 6:, 6:] = moves[:, 0], moves[:, 1]
    return np.swapaxes(whole, 1, 2) @ local @ whole
