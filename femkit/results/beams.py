"""What beams and seams carry: section forces, stress at the outer fibres, and the force on each fastener."""

import numpy as np

from ..elements import relative_motion
from ..errors import ModelError, nearest_name
from ..model.links import Seam

__all__ = ["HEADS", "beam_forces", "beam_stress", "beam_table", "seam_forces"]

HEADS = ("N (N)", "Vy (N)", "Vz (N)", "T (N mm)", "My (N mm)", "Mz (N mm)")


def beam_forces(case, name):
    """Section forces at both ends of every cell of a beam.

    Parameters
    ----------
    case : CaseResult
    name : str
        Of the beam, as in ``model.beams``.

    Returns
    -------
    forces : ndarray, shape (n, 2, 6)
        ``N Vy Vz T My Mz`` at the centroid in the cell's axes, N and N mm: N positive in tension, positive My puts the
        section's far end (+z) in tension, positive Mz the -y side.

    Raises
    ------
    ModelError
        If the model has no beam of that name.
    """
    model = case.model
    if name not in model.beams:
        raise ModelError(f'there is no beam "{name}". {nearest_name(name, model.beams)[1]}')
    return case.beam_ends[model.beam_cells.beam == list(model.beams).index(name)]


def beam_stress(case, name):
    """Axial stress at the outer fibres of a beam's section, at both ends of every cell.

    Returns
    -------
    stress : ndarray, shape (n, 2, n_fibres)
        MPa, tension positive, in the order of the section's `fibres`.

    Raises
    ------
    ModelError
        If there is no such beam, or its section names no fibres.
    """
    forces, section = beam_forces(case, name), case.model.beams[name].section
    if not section.fibres:
        raise ModelError(f'beam "{name}": its section "{section.name}" names no fibres; give it BeamSection(fibres=…).')
    y, z = (np.array(section.fibres) - section.centroid).T
    moments = np.array([[section.second_moment_y, -section.product], [-section.product, section.second_moment_z]])
    bent = forces[..., 4:] @ np.linalg.inv(moments)  # (n, 2, 2) curvatures times E
    return forces[..., :1] / section.area + bent[..., :1] * z - bent[..., 1:] * y


def beam_table(case):
    """Largest section forces and fibre stress of every beam, as a pandas table; NaN for a section without fibres."""
    import pandas as pd

    rows = {}
    for name, one in case.model.beams.items():
        largest = np.abs(beam_forces(case, name)).max(axis=(0, 1))
        stress = np.abs(beam_stress(case, name)).max() if one.section.fibres else np.nan
        rows[name] = (one.section.name, *largest, stress)
    heads = ("section", *(f"largest {head}" for head in HEADS), "largest stress (MPa)")
    return pd.DataFrame.from_dict(rows, orient="index", columns=heads).rename_axis("beam")


def seam_forces(case, seam):
    """Forces that the line's side puts on the sheet, for one fastener at each of the seam's points.

    Parameters
    ----------
    case : CaseResult
    seam : Seam

    Returns
    -------
    points : ndarray of int, shape (n,)
    forces : ndarray, shape (n, 3)
        Along the seam, across it in the sheet, and normal to the sheet, N.
    """
    if not isinstance(seam, Seam):
        raise ModelError(f"{seam} is no seam; forces on fasteners are given for a Seam of the model.")
    mesh, attached = case.model.mesh, seam.attachment(case.model.mesh)
    unknowns = case.displacement[np.column_stack([attached.points, attached.masters])].reshape(len(attached), 24, 1)
    moved = (relative_motion(attached, mesh.points) @ unknowns)[:, :3]
    along = (seam.axes(mesh) @ moved)[..., 0]
    return attached.points, along * np.array([seam.along, seam.across, seam.normal])
