"""What the element kernels need, taken from a model: corners, frames, sections and curvature of all its cells."""

import numpy as np

from ..elements import PLANES, SHELLS, CellArrays, cell_bend, straight_sides

__all__ = ["CHUNK", "cell_arrays", "chunks", "connectivity_of", "element_family", "springs"]

CHUNK = 1000  # cells whose matrices are formed at once: 5 MB of shell quadrilaterals, near what a cache holds


def cell_arrays(model):
    """Geometry and section of a model's cells, as the element kernels take them.

    Parameters
    ----------
    model : Model

    Returns
    -------
    arrays : dict of str to CellArrays
        One for each kind of cell in the mesh, in the order of the cell indices.
    """
    mesh, cell = model.mesh, model.per_cell
    corners = {kind: at_corners for kind, at_corners, _block in mesh.corner_blocks()}
    bend, is_straight = cell_bend(mesh.points, corners), straight_sides(corners)
    return {
        kind: CellArrays(
            mesh.points[connectivity],
            cell.frames[block],
            cell.thickness[block],
            cell.youngs_modulus[block],
            cell.poissons_ratio[block],
            cell.offset[block],
            bend[kind],
            is_straight[kind],
        )
        for kind, connectivity, block in mesh.blocks()
    }


def springs(model):
    """The model's attachments that give."""
    return [one for one in model.attachments if one.stiffness is not None]


def connectivity_of(model):
    """Points (n, k) of all that has a stiffness, by kind: the mesh's cells, then "beam" and "spring" if there are any.

    A spring's points are its own and the three that carry its other end, some of which may be one.
    """
    tables = dict(model.mesh.cells)
    if len(model.beam_cells):
        tables["beam"] = model.beam_cells.points
    if found := springs(model):
        tables["spring"] = np.concatenate([np.column_stack([one.points, one.masters]) for one in found])
    return tables


def element_family(model, kind):
    """The module with the kernels for a kind of cell, as the model's behaviour has it."""
    return (SHELLS if model.behaviour == "shell" else PLANES)[kind]


def chunks(n_cells, size=CHUNK):
    """Slices that cover ``range(n_cells)``."""
    return [slice(start, min(start + size, n_cells)) for start in range(0, n_cells, size)]
