"""Thickness, material and place of the sheet that a set of cells stands for, and what that makes of every cell."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..errors import ModelError
from ..mesh.geometry import cell_frames
from ..mesh.selection import select_cells
from .material import Material
from .values import as_numbers, bad_number, bad_vector, place_words, refuse

__all__ = ["EVERYWHERE", "CellProperties", "Plate", "cell_properties", "cells_of_plate", "plate_faults"]

EVERYWHERE = "all cells"  # the name of a single plate's set


@dataclass(frozen=True, eq=False)
class Plate:
    """A sheet of one material.

    A plate has no name until a `Model` puts it on a cell set; so it is the model that refuses wrong values, by that
    name and all together.

    Parameters
    ----------
    thickness : float or array_like, shape (n_cells_of_the_set,)
        mm, above 0; an array follows the set's cells in ascending order.
    material : Material
    reference : 3 numbers
        Direction of the cells' local x once laid on the cell. Where it is within 6 degrees of the normal, global z
        is taken, then global y.
    offset : float
        From the mesh's points to the middle plane, mm, positive towards the top (local z). A doubler welded all
        round on the top of a sheet of t1 makes one plate of t1 + t2 with ``offset = t2 / 2``.
    added_mass : float
        Mass per area that is not structure (lining, paint), tonne/mm2; gravity acts on it.
    """

    thickness: float | np.ndarray
    material: Material
    _: KW_ONLY
    reference: tuple = (1.0, 0.0, 0.0)
    offset: float = 0.0
    added_mass: float = 0.0

    def __post_init__(self):
        numbers = as_numbers(self.thickness)
        if numbers is not None and numbers.ndim:
            numbers.setflags(write=False)
            object.__setattr__(self, "thickness", numbers)

    def faults(self, who):
        """What is wrong with its values, a sentence each; `who` is how they name it: ``'plate "lower-sheet"'``."""
        is_material = isinstance(self.material, Material)
        return [
            bad_number(who, "thickness", self.thickness, "mm", " above 0", many="cell"),
            bad_number(who, "offset", self.offset, "mm"),
            bad_number(who, "added mass", self.added_mass, "t/mm2", " of at least 0"),
            bad_vector(who, "reference", self.reference, may_be_0=False),
            "" if is_material else f"{who}: material is {self.material!r}; it must be a Material.",
        ]


@dataclass(frozen=True, eq=False)
class CellProperties:
    """What each cell is, as read-only arrays over all cells."""

    plate: np.ndarray  # (n_cells,) position of the cell's plate in ``model.plate_names``
    thickness: np.ndarray  # (n_cells,) mm
    offset: np.ndarray  # (n_cells,) mm
    youngs_modulus: np.ndarray  # (n_cells,) MPa
    poissons_ratio: np.ndarray  # (n_cells,)
    expansion: np.ndarray  # (n_cells,) 1/K
    density: np.ndarray  # (n_cells,) tonne/mm3
    area_mass: np.ndarray  # (n_cells,) structure and added mass, tonne/mm2
    frames: np.ndarray  # (n_cells, 3, 3) rows are local x, y and z in global axes

    def __post_init__(self):
        for name in self.__dataclass_fields__:
            getattr(self, name).setflags(write=False)


def cells_of_plate(mesh, name):
    """Cell indices of the set that a plate is for; `UnknownSetError` if the mesh has no cell set of that name."""
    if name == EVERYWHERE and EVERYWHERE not in mesh.cell_sets:
        return np.arange(mesh.n_cells)
    return select_cells(mesh, str(name), f'plate "{name}"')


def plate_faults(mesh, plates):
    """What is wrong between plates and cells, as sentences or errors that were not raised.

    Sets that don't exist, lists of thicknesses that are too long or too short, two plates for one cell, no plate.
    """
    names, owner = list(plates), np.full(mesh.n_cells, -1)
    for number, (name, plate) in enumerate(plates.items()):
        try:
            cells = cells_of_plate(mesh, name)
        except ModelError as fault:
            yield fault
            continue
        given = np.size(plate.thickness)
        if np.ndim(plate.thickness) and given != len(cells):
            yield f'plate "{name}": {given} thicknesses for {len(cells)} cells; it must be one each.'
        for other in np.setdiff1d(owner[cells], [-1]):
            both = _counted(cells[owner[cells] == other])
            yield f'plates "{names[other]}" and "{name}" both claim {both}; a cell has one: leave one of them out.'
        owner[cells] = number
    bare = np.flatnonzero(owner < 0)
    if len(bare):
        sets = [f'"{n}"' for n in sorted(mesh.cell_sets.keys() - plates) if np.isin(bare, mesh.cell_sets[n]).any()]
        cure = f"give one to {', '.join(sets)}" if sets else "no other cell set holds them: make one"
        yield f"no plate for {_counted(bare)} at {place_words(mesh.centres[bare[0]])}; {cure}."


def cell_properties(mesh, plates):
    """Thickness, material and local axes of every cell; `ModelError` where `plate_faults` finds something."""
    refuse(*plate_faults(mesh, plates))
    thickness, offset, modulus, poisson, expansion, density, mass = np.empty((7, mesh.n_cells))
    plate_of = np.empty(mesh.n_cells, dtype=np.int64)
    reference = np.empty((mesh.n_cells, 3))
    for i, (name, plate) in enumerate(plates.items()):
        cells, material = cells_of_plate(mesh, name), plate.material
        plate_of[cells], reference[cells] = i, plate.reference
        thickness[cells], offset[cells] = plate.thickness, plate.offset
        modulus[cells], poisson[cells], expansion[cells] = material.E, material.nu, material.expansion
        density[cells] = material.density
        mass[cells] = np.asarray(plate.thickness) * material.density + plate.added_mass
    frames = np.empty((mesh.n_cells, 3, 3))
    for _kind, corners, block in mesh.corner_blocks():
        frames[block] = cell_frames(mesh.points[corners], reference[block])
    return CellProperties(plate_of, thickness, offset, modulus, poisson, expansion, density, mass, frames)


def _counted(cells):
    return f"cell {cells[0]}" if len(cells) == 1 else f"{len(cells)} cells, the first is cell {cells[0]}"
