"""One body in a picture: values on some cells of a mesh, where the largest stands, and what is drawn of them."""

from dataclasses import KW_ONLY, dataclass
from functools import cached_property

import numpy as np

from ..errors import ModelError
from ..mesh.mesh import Mesh
from ..mesh.selection import select_cells
from ..mesh.topology import fold_edges
from .colours import DARK, ColourScale
from .picture import Peak
from .quantities import Field

__all__ = ["Body", "Lines", "Panel", "chosen_cells"]

EDGES = ("outline", "mesh", None)
UNLOADED = "#808080"


@dataclass(frozen=True, eq=False)
class Lines:
    """Straight lines between pairs of points."""

    points: np.ndarray
    pairs: np.ndarray
    colour: str = DARK
    width: float = 1.0
    opacity: float = 1.0


@dataclass(frozen=True, eq=False)
class Panel:
    """One view of one body: its surface, and the lines, marks, loads and supports over it.

    The surface has one colour a cell, or values at its points in a scale's colours.
    """

    caption: str  # stands above it
    points: np.ndarray  # (n, 3), of the surface
    corners: np.ndarray  # (n_cells, 4), which of them are each cell's; -1 for the fourth of a triangle
    _: KW_ONLY
    rgb: np.ndarray | None = None  # (n_cells, 3) of uint8
    values: np.ndarray | None = None  # (n,), run over each cell between its points
    scale: ColourScale | None = None  # of the values
    is_lit: bool = False  # by a lamp at the eye, which shows shape; values are not: their colour is the bar's
    lines: tuple = ()
    marks: tuple = ()  # a ring round a place and the words beside it
    actions: tuple = ()


@dataclass(frozen=True, eq=False)
class Body:
    """Values on some cells of a mesh, perhaps displaced."""

    mesh: Mesh
    field: Field
    cells: np.ndarray  # indices, sorted
    _: KW_ONLY
    name: str = ""  # of the variant
    displacement: np.ndarray | None = None  # (n_points, 3), mm
    plate_of_cell: np.ndarray | None = None  # names
    actions: tuple = ()  # loads and supports to draw with it

    @cached_property
    def corners(self):
        """Points of the chosen cells, shape (n, 4); -1 for the fourth of a triangle."""
        return self.mesh.corners[self.cells]

    @cached_property
    def used_points(self):
        """Indices of the points of the chosen cells."""
        return np.unique(self.corners[self.corners >= 0])

    @cached_property
    def values(self):
        """The values that are drawn, in a row; NaN where there is none."""
        if self.field.at == "points":
            values = self.field.values[self.used_points]
        else:
            values = self.field.values[self.cells]
            values = values[self.corners >= 0] if self.field.at == "corners" else values
        return np.where(np.isfinite(values), values, np.nan)

    def points(self, factor):
        """Where the points are drawn, shape (n_points, 3), displacements `factor` times larger."""
        return self.mesh.points + factor * self.displacement if factor else self.mesh.points

    def extremes(self, signs):
        """The largest (sign 1) and the smallest value (-1), none where there are no values.

        Returns
        -------
        list of (Peak, ndarray of int)
            With the points in whose middle each stands.
        """
        if np.isnan(self.values).all():
            return []
        return [self._peak(int(np.nanargmax(sign * self.values))) for sign in signs]

    def _peak(self, i):
        if self.field.at == "points":
            index, around = self.used_points[i], self.used_points[[i]]
            cells = self.cells[(self.corners == index).any(axis=1)]  # a point may join several plates
        elif self.field.at == "corners":
            cell, corner = np.argwhere(self.corners >= 0)[i]
            index, around = self.cells[cell], self.corners[cell, [corner]]
            cells = [index]
        else:
            index, around = self.cells[i], self.corners[i][self.corners[i] >= 0]
            cells = [index]
        names = [] if self.plate_of_cell is None else map(str, self.plate_of_cell[cells])
        plate = " and ".join(dict.fromkeys(names))
        return Peak(float(self.values[i]), self.mesh.points[around].mean(axis=0), plate, int(index)), around

    def panel(self, caption, colours, factor, edges, found, towards):
        """The body in its colours, with outlines and marks, ready to be drawn.

        Parameters
        ----------
        caption : str
        colours : ColourScale or FlatColours
        factor : float
            Displacements are drawn this many times larger; 0 for the unloaded shape.
        edges : {"outline", "mesh", None}
        found : list
            The extremes to mark.
        towards : ndarray, shape (3,)
            To the eye.
        """
        points = self.points(factor)
        marks = tuple((points[around].mean(axis=0), self.field.worded(peak.value)) for peak, around in found)
        over = {"lines": self._lines(points, factor, edges, towards), "marks": marks, "actions": self.actions}
        values = self.field.values
        if self.field.at == "centres":
            rgb, is_lit = colours.rgb(values[self.cells]), self.field.flat is not None
            return Panel(caption, points, self.corners, rgb=rgb, is_lit=is_lit, **over)
        if self.field.at == "points":
            return Panel(caption, points, self.corners, values=values, scale=colours, **over)
        # each cell with points of its own, so that corner values stay broken between cells
        is_corner = self.corners >= 0
        own = np.where(is_corner, np.cumsum(is_corner).reshape(is_corner.shape) - 1, -1)
        return Panel(caption, points[self.corners[is_corner]], own, values=self.values, scale=colours, **over)

    def _lines(self, points, factor, edges, towards):
        if edges not in EDGES:
            raise ModelError(f'edges is {edges!r}; it must be "outline", "mesh" or None.')
        if edges is None:
            return ()
        part = self._part()
        outline = fold_edges(part)  # free edges, folds and junctions
        lines = [Lines(points, part.edges.points, width=0.5, opacity=0.5)] if edges == "mesh" else []
        if factor:
            largest = factor * np.linalg.norm(self.displacement[self.used_points], axis=1).max()
            before = self.mesh.points + 1.5 * largest * towards  # in front of all that has come forward
            lines.insert(0, Lines(before, outline, colour=UNLOADED))
        return (*lines, Lines(points, outline))

    def _part(self):
        """The chosen cells as a mesh of their own with the same point numbers."""
        if len(self.cells) == self.mesh.n_cells:
            return self.mesh
        triangle = self.corners[:, 3] < 0
        return Mesh(self.mesh.points, {"triangle": self.corners[triangle, :3], "quad": self.corners[~triangle]})


def chosen_cells(mesh, cells):
    """Indices of the cells that a picture is to show, sorted."""
    if cells is None:
        return np.arange(mesh.n_cells)
    if isinstance(cells, (list, tuple)) and cells and all(isinstance(name, str) for name in cells):
        return np.unique(np.concatenate([select_cells(mesh, name, "picture") for name in cells]))
    return select_cells(mesh, cells, "picture")
