"""One body in a picture: values on some cells of a mesh, where the largest stands, and what is drawn of them."""

from dataclasses import KW_ONLY, dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from ..mesh.mesh import Mesh
from ..mesh.selection import select_cells
from ..mesh.topology import fold_edges, halves
from .colours import DARK
from .picture import Peak
from .quantities import Field

__all__ = ["Body", "Lines", "chosen_cells"]

UNLOADED, BAR = "#808080", "#B35900"


class Lines(NamedTuple):
    """Straight lines between pairs of points; thin ones are pale."""

    points: np.ndarray
    pairs: np.ndarray
    colour: str = DARK
    width: float = 1.0


@dataclass(frozen=True, eq=False)
class Body:
    """Values on some cells of a mesh, perhaps displaced."""

    mesh: Mesh
    field: Field
    cells: np.ndarray  # indices, sorted
    _: KW_ONLY
    name: str = ""  # of the variant
    displacement: np.ndarray | None = None  # (n_points, 3), mm
    beams: object = None  # `BeamCells`, drawn where their centroids run
    plate_of_cell: np.ndarray | None = None  # names
    actions: tuple = ()  # loads and supports to draw with it
    legend: tuple = ()  # of classes, loads and supports

    @cached_property
    def corners(self):
        """Points of the chosen cells, shape (n, 4); -1 for the fourth of a triangle."""
        return self.mesh.corners[self.cells]

    @cached_property
    def around(self):
        """Points around the chosen cells, (n, 4 or 8): a quadratic side is drawn as two; -1 for none."""
        if not self.mesh.is_quadratic:
            return self.corners
        around = np.full((self.mesh.n_cells, 8), -1)
        around[:, ::2] = self.mesh.corners
        for kind, corners, where in self.mesh.corner_blocks():
            n, points = corners.shape[1], self.mesh.cells[kind]
            if points.shape[1] > n:
                around[where, 1 : 2 * n : 2] = points[:, n : 2 * n]
        return around[self.cells]

    @cached_property
    def used_points(self):
        """Indices of the points of the chosen cells."""
        points = self.mesh.points_of_cell[self.cells]
        return np.unique(points[points >= 0])

    @cached_property
    def values(self):
        """The values that are drawn, in a row; NaN where there is none."""
        values = self.field.values[self.used_points if self.field.at == "points" else self.cells]
        if self.field.at == "corners":
            values = values[self.corners >= 0]
        return np.where(np.isfinite(values), values, np.nan)

    def points(self, factor):
        """Where the points are drawn, shape (n_points, 3), displacements `factor` times larger."""
        return self.mesh.points + factor * self.displacement if factor else self.mesh.points

    def extremes(self, signs, factor):
        """The largest (sign 1) and the smallest value (-1), each with the place where it is drawn."""
        if np.isnan(self.values).all():
            return []
        return [self._peak(int(np.nanargmax(sign * self.values)), factor) for sign in signs]

    def _peak(self, i, factor):
        is_corner = self.corners >= 0
        if self.field.at == "points":
            index, around = self.used_points[i], self.used_points[[i]]
            is_there = (self.mesh.points_of_cell[self.cells] == index).any(axis=1)
            cells = self.cells[is_there]  # a point may join several plates
        elif self.field.at == "corners":
            index = self.cells[np.nonzero(is_corner)[0][i]]
            around, cells = self.corners[is_corner][[i]], [index]
        else:
            index = self.cells[i]
            around, cells = self.corners[i][is_corner[i]], [index]
        names = [] if self.plate_of_cell is None else map(str, self.plate_of_cell[cells])
        plate = " and ".join(dict.fromkeys(names))
        peak = Peak(float(self.values[i]), self.mesh.points[around].mean(axis=0), plate, int(index))
        return peak, self.points(factor)[around].mean(axis=0)

    def surface(self, factor):
        """Points, those around each cell (-1: none), and the values at the cells or points."""
        points = self.points(factor)
        if self.field.at == "centres":
            return points, self.around, self.values
        if self.field.at == "points":
            return points, self.around, self.field.values
        # each cell with points of its own, so that corner values stay broken between cells
        is_there = self.around >= 0
        own = np.where(is_there, np.cumsum(is_there).reshape(is_there.shape) - 1, -1)
        values = self.values
        if self.around.shape[1] > 4:  # the middle of a side has the mean of its ends
            at = self.field.values[self.cells]
            following = np.roll(at, -1, axis=1)
            following[:, 2] = np.where(self.corners[:, 3] < 0, at[:, 0], following[:, 2])
            values = np.stack([at, (at + following) / 2], axis=2).reshape(-1, 8)[is_there]
        return points[self.around[is_there]], own, values

    def lines(self, edges, factor, towards):
        """What is drawn over the surface for ``"outline"`` (free edges, folds and junctions) or ``"mesh"``."""
        if edges is None:
            return []
        part, points = self._part(), self.points(factor)
        bars = []
        if self.beams is not None and len(self.beams):
            ends = (points[self.beams.points] + self.beams.arm[:, None]).reshape(-1, 3)
            bars = [Lines(ends, np.arange(len(ends)).reshape(-1, 2), colour=BAR, width=3.0)]
        outline = fold_edges(part)
        lines = [Lines(points, outline)]
        if edges == "mesh":
            lines.append(Lines(points, halves(part, part.edges.points), width=0.5))
        if factor:
            largest = factor * np.linalg.norm(self.displacement[self.used_points], axis=1).max()
            before = self.mesh.points + 1.5 * largest * towards  # in front of all that has come forward
            lines.append(Lines(before, outline, colour=UNLOADED))
        return [*bars, *lines[::-1]]

    def _part(self):
        """The chosen cells as a mesh of their own with the same point numbers."""
        if len(self.cells) == self.mesh.n_cells:
            return self.mesh
        is_chosen = np.isin(np.arange(self.mesh.n_cells), self.cells)
        return Mesh(self.mesh.points, {kind: cells[is_chosen[where]] for kind, cells, where in self.mesh.blocks()})


def chosen_cells(mesh, cells):
    """Indices of the cells that a picture is to show, sorted."""
    if cells is None:
        return np.arange(mesh.n_cells)
    if isinstance(cells, (list, tuple)) and cells and all(isinstance(name, str) for name in cells):
        return np.unique(np.concatenate([select_cells(mesh, name, "picture") for name in cells]))
    return select_cells(mesh, cells, "picture")
