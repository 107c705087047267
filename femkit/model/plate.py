"""The thickness, material and place of the sheet that a set of cells stands for."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..errors import ModelError
from .material import Material
from .values import as_numbers, collect, direction, finite

__all__ = ["Plate"]


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
        """What is wrong with its values, as errors that were not raised.

        Parameters
        ----------
        who : str
            As the sentences are to name it: ``'plate "lower-sheet"'``.
        """
        faults = collect(
            lambda: finite(who, "thickness", self.thickness, "mm", above=0, shape=None),
            lambda: finite(who, "offset", self.offset, "mm"),
            lambda: finite(who, "added mass", self.added_mass, "t/mm2", least=0),
            lambda: direction(who, "reference", self.reference),
        )
        if not isinstance(self.material, Material):
            faults.append(ModelError(f"{who}: material is {self.material!r}; it must be a Material."))
        return faults
