"""Which plate each cell has, and what that makes of it: thickness, material and local axes as arrays over all cells."""

from dataclasses import dataclass

import numpy as np

from ..errors import ModelError, UnknownSetError, nearest_name
from ..mesh.geometry import cell_frames
from ..mesh.selection import select_cells
from .values import collect, raise_all

__all__ = ["EVERYWHERE", "CellProperties", "cell_properties", "cells_of_plate", "plate_faults"]

EVERYWHERE = "all cells"  # the name of a single plate's set


@dataclass(frozen=True, eq=False)
class CellProperties:
    """What each cell is, as arrays over all cells.

    Attributes
    ----------
    plate : ndarray of int, shape (n_cells,)
        Position of the cell's plate in ``model.plate_names``.
    thickness, offset : ndarray, shape (n_cells,)
        mm.
    youngs_modulus, poissons_ratio, expansion : ndarray, shape (n_cells,)
        MPa, 1, 1/K.
    area_mass : ndarray, shape (n_cells,)
        Structure and added mass, tonne/mm2.
    frames : ndarray, shape (n_cells, 3, 3)
        Rows are local x, y and z in global axes.
    """

    plate: np.ndarray
    thickness: np.ndarray
    offset: np.ndarray
    youngs_modulus: np.ndarray
    poissons_ratio: np.ndarray
    expansion: np.ndarray
    area_mass: np.ndarray
    frames: np.ndarray

    def __post_init__(self):
        for name in self.__dataclass_fields__:
            getattr(self, name).setflags(write=False)


def cells_of_plate(mesh, name):
    """Cell indices of the set that a plate is for.

    Raises
    ------
    UnknownSetError
        If the mesh has no cell set of that name.
    """
    if name == EVERYWHERE and EVERYWHERE not in mesh.cell_sets:
        return np.arange(mesh.n_cells)
    if name not in mesh.cell_sets:
        nearest, advice = nearest_name(name, mesh.cell_sets)
        raise UnknownSetError(f'plate "{name}": the mesh has no cell set of that name. {advice}', name, nearest)
    return select_cells(mesh, name, f'plate "{name}"')


def plate_faults(mesh, plates):
    """What is wrong between plates and cells, as errors that were not raised.

    Sets that don't exist, lists of thicknesses that are too long or too short, two plates for one cell, no plate.
    """
    if mesh.n_cells == 0:
        return [ModelError("the mesh has no cells; there is nothing to solve.")]
    faults, cells_of = [], {}
    for name in plates:
        faults += collect(lambda name=name: cells_of.update({name: cells_of_plate(mesh, name)}))
    owner, claimed_twice = np.full(mesh.n_cells, -1), {}
    for i, (name, cells) in enumerate(cells_of.items()):
        thickness = plates[name].thickness
        if np.ndim(thickness) and len(thickness) != len(cells):
            faults.append(
                ModelError(f'plate "{name}": {len(thickness)} thicknesses for {len(cells)} cells; it must be one each.')
            )
        for other in np.unique(owner[cells]):
            if other >= 0:
                claimed_twice[list(cells_of)[other], name] = cells[owner[cells] == other]
        owner[cells] = i
    faults += [_two_plates(first, second, cells) for (first, second), cells in claimed_twice.items()]
    bare = np.flatnonzero(owner < 0)
    if len(bare):
        faults.append(_no_plate(mesh, bare, plates))
    return faults


def cell_properties(mesh, plates):
    """Thickness, material and local axes of every cell.

    Parameters
    ----------
    mesh : Mesh
    plates : dict of str to Plate

    Raises
    ------
    ModelError
        If plates and cells do not fit together, as `plate_faults` finds.
    """
    raise_all(plate_faults(mesh, plates))
    thickness, offset, modulus, poisson, expansion, mass = np.empty((6, mesh.n_cells))
    plate_of = np.empty(mesh.n_cells, dtype=np.int64)
    reference = np.empty((mesh.n_cells, 3))
    for i, (name, plate) in enumerate(plates.items()):
        cells, material = cells_of_plate(mesh, name), plate.material
        plate_of[cells], reference[cells] = i, plate.reference
        thickness[cells], offset[cells] = plate.thickness, plate.offset
        modulus[cells], poisson[cells], expansion[cells] = material.E, material.nu, material.expansion
        mass[cells] = np.asarray(plate.thickness) * material.density + plate.added_mass
    frames = np.empty((mesh.n_cells, 3, 3))
    for _kind, connectivity, block in mesh.blocks():
        frames[block] = cell_frames(mesh.points[connectivity], reference[block])
    return CellProperties(plate_of, thickness, offset, modulus, poisson, expansion, mass, frames)


def _two_plates(first, second, cells):
    one = f"cell {cells[0]}" if len(cells) == 1 else f"{len(cells)} cells, the first is cell {cells[0]}"
    return ModelError(
        f'plates "{first}" and "{second}" both claim {one}; a cell has one plate: leave one of the two out, '
        "or make sets that do not overlap."
    )


def _no_plate(mesh, bare, plates):
    is_bare = np.zeros(mesh.n_cells, dtype=bool)
    is_bare[bare] = True
    within = sorted(name for name, cells in mesh.cell_sets.items() if name not in plates and is_bare[cells].any())
    place = ", ".join(f"{x:.6g}" for x in mesh.centres[bare[0]])
    which = "1 cell has" if len(bare) == 1 else f"{len(bare)} cells have"
    sets = ", ".join(f'"{name}"' for name in within)
    cure = (
        f"Give a plate to the cell set{'s' * (len(within) > 1)} {sets}."
        if within
        else "No other cell set holds them: name them where the mesh is made, and give that set a plate."
    )
    return ModelError(f"{which} no plate, the first is cell {bare[0]} at ({place}). {cure}")
