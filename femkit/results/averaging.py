"""What is shown and what is judged: corner values averaged on one sheet, and stress averaged over a stated distance.

Stress jumps where plates of different thickness, folds or junctions meet, and those jumps are real: averages stay on
one plate and on one smooth sheet. What is left as a difference between a cell's own corner value and the average is
the mesh's error, and is kept as an indicator (O. C. Zienkiewicz, J. Z. Zhu, Int. J. Numer. Methods Eng. 24 (1987)
337–357, use the same difference in the energy norm).
"""

from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np
from scipy.sparse import csr_array
from scipy.spatial import cKDTree

from ..errors import ModelError
from ..mesh.topology import corner_groups, smooth_sheets
from .stress import to_cell_axes, to_global, von_mises

__all__ = ["JUDGED_OVER", "Neighbourhood", "Sheets", "average_corners", "corner_means"]

_SHEETS, _AROUND = WeakKeyDictionary(), WeakKeyDictionary()  # of meshes the last sheets; of sheets a few neighbourhoods
JUDGED_OVER = 25.0  # mm; a few plate thicknesses, so that a mesh's own peak is no verdict. Common practice, no source


@dataclass(frozen=True, eq=False)
class Sheets:
    """Which corners may be averaged: at one point, on one plate and smooth sheet, on one side of a junction or beam.

    Attributes
    ----------
    of_cell : ndarray of int, shape (n_cells,)
        Number of the smooth one-plate sheet each cell is of.
    group : ndarray of int, shape (n_cells, 4)
        Which corners lie together, see `femkit.mesh.corner_groups`; -1 for the fourth of a triangle.
    n_groups : int
    """

    of_cell: np.ndarray
    group: np.ndarray
    n_groups: int

    @classmethod
    def of(cls, model):
        """The sheets of a model's plates: the same as of the last model on its mesh, if its plates lie as they did."""
        mesh, asked = model.mesh, (model.per_cell.plate, model.beam_cells.points)
        former, sheets = _SHEETS.get(mesh, (None, None))
        if former is None or not all(map(np.array_equal, former, asked)):
            plate, cut = asked
            group = corner_groups(mesh, same=plate, cut=cut)
            sheets = cls(smooth_sheets(mesh, same=plate), group, group.max(initial=-1) + 1)
            _SHEETS[mesh] = asked, sheets
        return sheets


def corner_means(values, sheets):
    """Each corner's value (n_cells, 4, k) replaced by the mean of its group; NaN for a triangle's fourth."""
    is_corner = sheets.group >= 0
    number = sheets.group[is_corner]
    sums = [np.bincount(number, column, minlength=sheets.n_groups) for column in values[is_corner].T]
    means = np.full(values.shape, np.nan)
    means[is_corner] = (np.stack(sums, axis=1) / np.bincount(number)[:, None])[number]
    return means


def average_corners(corner_stress, frames, sheets):
    """Corner stresses averaged at each point within one plate and smooth sheet.

    Parameters
    ----------
    corner_stress : ndarray, shape (n_cells, 4, 3)
        In the cells' axes, MPa; NaN for a triangle's fourth.
    frames : ndarray, shape (n_cells, 3, 3)
    sheets : Sheets

    Returns
    -------
    averaged : ndarray, shape (n_cells, 4, 3)
        Each corner's group mean, in the cell's own axes.
    jump : ndarray, shape (n_cells, 4)
        Length of the difference, as the von Mises stress of raw less averaged, MPa.
    """
    averaged = to_cell_axes(corner_means(to_global(corner_stress, frames), sheets), frames)
    return averaged, von_mises(corner_stress - averaged)


@dataclass(frozen=True, eq=False)
class Neighbourhood:
    """The cells around each cell over which its stress is averaged to be judged.

    Attributes
    ----------
    weights : sparse array, shape (n_cells, n_cells)
        Rows sum to 1: by area over the cells whose centres lie within half the distance, on the same plate and
        smooth sheet. A cell larger than that is judged by its own mean.
    distance : float
        mm.
    """

    weights: csr_array
    distance: float

    @classmethod
    def of(cls, model, sheets, distance):
        """The neighbourhoods of all cells at a distance, mm."""
        if not (np.isfinite(distance) and distance >= 0):
            raise ModelError(
                f"the distance to average over is {distance} mm; it must be a finite number of at least 0."
            )
        known = _AROUND.setdefault(sheets, {})
        if distance not in known:
            while len(known) > 3:
                known.pop(next(iter(known)))
            known[distance] = cls(_weights(model.mesh, sheets, distance), distance)
        return known[distance]

    def average(self, centre_stress, frames):
        """Centre stresses (n_cells, 3) averaged, in each cell's own axes."""
        return to_cell_axes(self.weights @ to_global(centre_stress, frames), frames)

    def gradient(self, of_average, frames):
        """What a function changes by with each centre stress (n_cells, 3), from what it does with each average."""
        halved, doubled = np.array([1.0, 1.0, 0.5]), np.array([1.0, 1.0, 2.0])  # shear stands twice in a tensor
        return doubled * to_cell_axes(self.weights.T @ to_global(halved * of_average, frames), frames)


def _weights(mesh, sheets, distance):
    centres, n = mesh.centres, mesh.n_cells
    pairs = cKDTree(centres).query_pairs(distance / 2, output_type="ndarray")
    pairs = pairs[sheets.of_cell[pairs[:, 0]] == sheets.of_cell[pairs[:, 1]]]
    own = np.arange(n)
    rows = np.concatenate([own, pairs[:, 0], pairs[:, 1]])
    columns = np.concatenate([own, pairs[:, 1], pairs[:, 0]])
    weights = csr_array((mesh.areas[columns], (rows, columns)), shape=(n, n))
    return csr_array(weights.multiply(1 / weights.sum(axis=1)[:, None]))
