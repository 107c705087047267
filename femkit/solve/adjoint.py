"""What a thicker cell changes in the balance of forces: the part of a derivative that goes through displacements.

With ``K u = f`` and ``K λ = ∂q/∂u``, a quantity q changes by ``λ (∂f/∂t - ∂K/∂t u)`` besides what t changes in it
where nothing moves: one more solution a quantity, whatever the number of thicknesses (J. S. Arora, E. J. Haug, AIAA J.
17 (1979) 970-974: from memory).
"""

import numpy as np

from ..elements import STEP
from ..mesh.geometry import shape_integrals
from .cells import by_chunks, cell_arrays, element_family

__all__ = ["thickness_work"]


def thickness_work(model, displacement, strain, field, adjoint, side):
    """Work of adjoint displacements on what a millimetre of each cell's thickness adds to the forces at its points.

    Parameters
    ----------
    model : Model
    displacement, adjoint : ndarray, shape (n_points, n_components, n)
        u and λ of n quantities.
    strain : ndarray, shape (n_cells, n)
        Free thermal expansion.
    field : ndarray, shape (3, n)
        The acceleration that pulls at all masses, mm/s2.
    side : ndarray, shape (n_cells,)
        Change of the offset by that of the thickness: 0, or ±1/2 where steel is added on one side.

    Returns
    -------
    work : ndarray, shape (n_cells, n)
        ``λ (∂f/∂t - ∂K/∂t u)``, N mm/mm where λ is in mm.
    """
    arrays, n = cell_arrays(model), displacement.shape[2]
    work = _weight_work(model, field, adjoint, side)
    for kind, connectivity, block in model.mesh.blocks():
        family = element_family(model, kind)

        def work_of(some, kind=kind, connectivity=connectivity, block=block, family=family):
            cells, points = arrays[kind][some], connectivity[some]
            derivative = family.stiffness(cells.stepped(side[block][some])).imag / STEP
            unheld = displacement[points].copy()  # (n_cells, n_corners, n_components, n)
            free = cells.corners - cells.corners.mean(axis=1, keepdims=True)
            axes = min(3, model.n_components)
            unheld[:, :, :axes] -= free[:, :, :axes, None] * strain[block][some][:, None, None]
            flat = (len(cells), -1, n)
            return -((derivative @ unheld.reshape(flat)) * adjoint[points].reshape(flat)).sum(axis=1)

        for some, part in by_chunks(work_of, len(connectivity)):
            work[block.start + some.start : block.start + some.stop] += part
    return work


def _weight_work(model, field, adjoint, side):
    """The same of the weight that a millimetre adds: at the middle plane, which may move."""
    cell, axes = model.per_cell, min(3, model.n_components)
    density = cell.density
    arm = density * cell.offset + side * cell.area_mass
    work = np.zeros((model.mesh.n_cells, field.shape[1]))
    for _kind, connectivity, block in model.mesh.blocks():
        area = shape_integrals(model.mesh.points[connectivity])[0]  # (n_cells, n_corners)
        mean = np.einsum("ec,ecin->ein", area, adjoint[connectivity])
        work[block] = density[block, None] * (mean[:, :axes] * field[:axes]).sum(axis=1)
        if model.n_components == 6:
            moment = np.cross(cell.frames[block, 2][:, :, None], field, axisa=1, axisb=0, axisc=1)
            work[block] += arm[block, None] * (mean[:, 3:] * moment).sum(axis=1)
    return work
