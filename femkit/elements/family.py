"""What a kind of cell is made of: the functions that all kinds have."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

__all__ = ["Family"]


class Family(NamedTuple):
    """The functions of one kind of cell in one behaviour; all take `CellArrays`.

    Parameters
    ----------
    stiffness : callable
        Of cells, (n_cells, k, k), in global axes.
    strain_operator : callable
        From displacements to strains at centre and corners, (n_cells, n_places, n_strains, k).
    section_stiffness : callable
        From strains to section forces, (n_cells, n_strains, n_strains).
    """

    stiffness: Callable
    strain_operator: Callable
    section_stiffness: Callable

    def thermal_forces(self, cells, strain):
        """Point forces as strong as a free uniform expansion: those that hold the expanded cell.

        The same as the integral of its stress when it is held, since its own expansion strains no cell.

        Parameters
        ----------
        cells : CellArrays
        strain : ndarray, shape (n_cells,)
            Thermal strain, expansion coefficient × change of temperature.

        Returns
        -------
        forces : ndarray, shape (n_cells, k)
            N and N mm, global axes.
        """
        stiffness = self.stiffness(cells)
        n_cells, n_corners = cells.corners.shape[:2]
        free = np.zeros((n_cells, n_corners, stiffness.shape[1] // n_corners))
        axes = min(3, free.shape[2])
        apart = cells.corners - cells.corners.mean(axis=1, keepdims=True)
        free[..., :axes] = strain[:, None, None] * apart[..., :axes]
        return (stiffness @ free.reshape(n_cells, stiffness.shape[1], 1))[..., 0]
