"""What each cell puts on its points: stiffness times displacement, less what its temperature would do when held."""

import numpy as np

from ..elements import beam
from .cells import cell_arrays, chunks, element_family, springs

__all__ = ["cell_forces", "ground_forces", "thermal_loads"]


def cell_forces(model, displacement, strain=None, cells=None):
    """Forces that each cell needs at its points to be deformed as it is, in global axes.

    Added up over all cells they are what loads and reactions put on the points; over the cells on one side of a
    section, what the other side puts on it.

    Parameters
    ----------
    model : Model
    displacement : ndarray, shape (n_points, n_components)
        mm and rad.
    strain : ndarray, shape (n_cells,), optional
        Free thermal expansion.
    cells : ndarray of bool, shape (n_cells,), optional
        Which cells; all if left out.

    Returns
    -------
    forces : dict of str to ndarray, shape (n, n_corners, n_components)
        By kind of cell, N and N mm; of the chosen cells in ascending order. Those of all beams as "beam".
    """
    cells = np.ones(model.mesh.n_cells, dtype=bool) if cells is None else np.asarray(cells, dtype=bool)
    strain = np.zeros(model.mesh.n_cells) if strain is None else strain
    arrays, forces = cell_arrays(model), {}
    for kind, connectivity, block in model.mesh.blocks():
        kernel, chosen = element_family(model, kind), np.flatnonzero(cells[block])
        of_kind = np.empty((len(chosen), connectivity.shape[1] * model.n_components))
        for some in chunks(len(chosen)):
            part = arrays[kind][chosen[some]]
            moved = displacement[connectivity[chosen[some]]].reshape(len(part), -1)
            of_kind[some] = (kernel.stiffness(part) @ moved[:, :, None])[..., 0]
            warm = strain[block][chosen[some]]
            if warm.any():
                of_kind[some] -= kernel.thermal_forces(part, warm)
        forces[kind] = of_kind.reshape(len(chosen), connectivity.shape[1], model.n_components)
    if len(beams := model.beam_cells):
        moved = displacement[beams.points].reshape(len(beams), 12, 1)
        forces["beam"] = (beam.stiffness(beams) @ moved).reshape(len(beams), 2, 6)
    return forces


def ground_forces(model, displacement):
    """What stretches the springs to the ground: their stiffness times displacements (n_unknowns, n), N and N mm."""
    forces = np.zeros_like(displacement)
    for spring in springs(model):
        is_ground = spring.weights.sum(axis=1) == 0
        unknowns = spring.points[is_ground, None] * model.n_components + np.arange(6)
        np.add.at(forces, unknowns, spring.stiffness[is_ground] @ displacement[unknowns])
    return forces


def thermal_loads(model, arrays, strain):
    """What a free expansion of the cells does: point forces as strong, and the energy it holds while held.

    Parameters
    ----------
    model : Model
    arrays : dict of str to CellArrays
    strain : ndarray, shape (n_cells,)

    Returns
    -------
    forces : ndarray, shape (n_points, n_components)
        N and N mm, in balance for every cell.
    energy : float
        Strain energy if no point could move, N mm: half of the forces times the free expansion, cell by cell.
    """
    forces, energy = np.zeros((model.mesh.n_points, model.n_components)), 0.0
    for kind, connectivity, block in model.mesh.blocks():
        kernel, warm = element_family(model, kind), np.flatnonzero(strain[block])
        for some in chunks(len(warm)):
            part, grown = arrays[kind][warm[some]], strain[block][warm[some]]
            force = kernel.thermal_forces(part, grown).reshape(len(part), -1, model.n_components)
            free = grown[:, None, None] * (part.corners - part.corners.mean(axis=1, keepdims=True))
            axes = min(3, model.n_components)
            energy += 0.5 * float((force[..., :axes] * free[..., :axes]).sum())
            np.add.at(forces, connectivity[warm[some]], force)
    return forces, energy
