"""The mass of a model, consistent or lumped at its points, and how much of it can move."""

import numpy as np
from scipy.sparse import diags_array
from scipy.sparse.linalg import cg

from ..elements import beam, plane_mass, shell_mass
from ..errors import ModelError, nearest_name
from .assemble import assemble

__all__ = ["MASSES", "assemble_mass", "mass_that_moves"]

MASSES = ("consistent", "lumped")


def assemble_mass(model, pattern, arrays, mass="consistent"):
    """Mass of a model without its supports, masses that are not structure included.

    Parameters
    ----------
    model : Model
    pattern : Pattern
    arrays : dict of str to CellArrays
    mass : {"consistent", "lumped"}
        By the cells' shape functions, or each cell's at its corners: `femkit.elements.mass`.

    Returns
    -------
    mass : SymmetricMatrix
        tonne, tonne mm and tonne mm2.
    """
    if mass not in MASSES:
        raise ModelError(f'there is no mass "{mass}". {nearest_name(mass, MASSES)[1]}')
    kernel = shell_mass if model.behaviour == "shell" else plane_mass
    per_area = {kind: model.per_cell.area_mass[block] for kind, _corners, block in model.mesh.blocks()}
    is_lumped = mass == "lumped"

    def matrices(kind, some):
        if kind == "spring":
            return None
        if kind == "beam":
            return (beam.lumped_mass if is_lumped else beam.mass)(model.beam_cells[some])
        return kernel(arrays[kind][some], per_area[kind][some], is_lumped)

    matrix = assemble(pattern, matrices)
    for more in model.masses:
        at_points = more.point_masses(model)
        for component in range(min(3, model.n_components)):
            matrix.blocks[pattern.diagonal, component, component] += at_points
        if hasattr(more, "inertia") and model.n_components == 6:
            for axis, inertia in enumerate(more.point_inertias(model).T):
                matrix.blocks[pattern.diagonal, 3 + axis, 3 + axis] += inertia
    return matrix


def mass_that_moves(mass, reduced, reduction):
    """What all modes together take part with in shifts along x, y and z, shape (3,), tonne.

    ``s M⁻¹ s`` over the free unknowns, s being what a shift of the whole puts on them: all of the mass but for what
    stands on the supports. Conjugate gradients, since a mass matrix is well conditioned.

    Parameters
    ----------
    mass, reduced : SymmetricMatrix
        Of the whole model, and of its free unknowns with nothing elsewhere.
    reduction : Reduction
    """
    size, moving = reduced.pattern.n_components, np.zeros(3)
    matrix, diagonal = reduced.whole, reduced.diagonal
    scale = diags_array(1 / np.where(diagonal > 0, diagonal, 1.0))
    for axis in range(min(3, size)):
        shift = np.tile(np.eye(size)[axis], len(diagonal) // size)
        shared = reduction.reduce(mass.dot(shift))
        moving[axis] = shared @ cg(matrix, shared, rtol=1e-8, M=scale)[0]
    return moving
