"""One panel's values on one body: what is shown of it, where its largest value is, and how it is drawn."""

from dataclasses import KW_ONLY, dataclass
from functools import cached_property

import numpy as np

from ..mesh.mesh import Mesh
from ..mesh.selection import select_cells
from .panel import Lines, Mark, Panel, Surface, chosen_part, edge_lines, points_of
from .picture import Peak, number
from .quantities import Field

__all__ = ["Body", "chosen_cells", "panel_of"]

UNLOADED = "#808080"


@dataclass(frozen=True, eq=False)
class Body:
    """Values on some cells of a mesh, perhaps displaced.

    Attributes
    ----------
    mesh : Mesh
    field : Field
    cells : ndarray of int, sorted
    name : str
        Of the variant.
    displacement : ndarray, shape (n_points, 3), or None
        mm.
    plate_of_cell : ndarray of str, shape (n_cells,), or None
    actions : tuple of femkit.show.actions.Action
        Loads and supports to draw with it.
    """

    mesh: Mesh
    field: Field
    cells: np.ndarray
    _: KW_ONLY
    name: str = ""
    displacement: np.ndarray | None = None
    plate_of_cell: np.ndarray | None = None
    actions: tuple = ()

    @cached_property
    def used_points(self):
        """Indices of the points of the chosen cells."""
        return points_of(self.mesh, self.cells)

    @cached_property
    def shown(self):
        """The field's values, NaN where nothing of them is drawn."""
        drawn = self.used_points if self.field.at == "points" else self.cells
        shown = np.full(self.field.values.shape, np.nan)
        shown[drawn] = self.field.values[drawn]
        return shown

    @property
    def has_gaps(self):
        """Whether something drawn has no value."""
        values = self.field.values[self.used_points if self.field.at == "points" else self.cells]
        if self.field.at == "corners":
            values = values[self.mesh.corners[self.cells] >= 0]
        return not np.isfinite(values).all()

    def points(self, factor):
        """Where the points are drawn, shape (n_points, 3), displacements `factor` times larger."""
        return self.mesh.points + factor * self.displacement if factor else self.mesh.points

    def extremes(self, signs):
        """Index into the values of the largest (sign 1) and the smallest (-1); none where there are no values."""
        shown = np.where(np.isfinite(self.shown), self.shown, np.nan)
        if np.isnan(shown).all():
            return []
        return [np.unravel_index(np.nanargmax(sign * shown), shown.shape) for sign in signs]

    def place(self, index, points):
        """Where a value stands, given where the points are, shape (3,)."""
        if self.field.at == "points":
            return points[index]
        corners = self.mesh.corners[index]
        return points[corners] if self.field.at == "corners" else points[corners[corners >= 0]].mean(axis=0)

    def peak(self, index):
        """The value at an index, with its place and plate."""
        cells = np.array(index[:1])
        if self.field.at == "points":
            cells = self.cells[(self.mesh.corners[self.cells] == index[0]).any(axis=1)]
        names = [] if self.plate_of_cell is None else map(str, self.plate_of_cell[cells])
        plate = " and ".join(dict.fromkeys(names))  # a point may join several
        place = self.place(index, self.mesh.points)
        return Peak(float(self.field.values[index]), place, plate, int(index[0]))


def chosen_cells(mesh, cells):
    """Indices of the cells that a picture is to show, sorted."""
    if cells is None:
        return np.arange(mesh.n_cells)
    if isinstance(cells, (list, tuple)) and cells and all(isinstance(name, str) for name in cells):
        return np.unique(np.concatenate([select_cells(mesh, name, "picture") for name in cells]))
    return select_cells(mesh, cells, "picture")


def panel_of(body, caption, colours, factor, edges, extremes, towards):
    """A body with its colours, outlines and marks, ready to be drawn.

    Parameters
    ----------
    body : Body
    caption : str
    colours : ColourScale
    factor : float
        Displacements are drawn this many times larger; 0 for the unloaded shape.
    edges : {"outline", "mesh", None}
    extremes : list
        Indices of the values to mark.
    towards : ndarray, shape (3,)
        To the eye.
    """
    part, points = chosen_part(body.mesh, body.cells), body.points(factor)
    lines = edge_lines(part, edges, points)
    if factor and edges:
        largest = factor * np.linalg.norm(body.displacement[body.used_points], axis=1).max()
        before = body.mesh.points + 1.5 * largest * towards  # in front of all that has come forward
        lines = (Lines(before, lines[-1].pairs, colour=UNLOADED), *lines)
    marks = [
        Mark(body.place(index, points), f"{number(body.field.values[index])} {body.field.unit}".strip())
        for index in extremes
    ]
    surface = _surface(body, part, points, colours)
    return Panel(caption, (surface,), lines=lines, marks=tuple(marks), actions=body.actions)


def _surface(body, part, points, colours):
    blocks, values = tuple(part.cells.values()), body.field.values
    if body.field.at == "centres":
        return Surface(points, blocks, rgb=colours.rgb(values[body.cells]))
    if body.field.at == "points":
        return Surface(points, blocks, values=values, scale=colours)
    # each cell with points of its own, so that corner values stay broken between cells
    corners = body.mesh.corners[body.cells]
    is_corner = corners >= 0
    own = np.full(corners.shape, -1)
    own[is_corner] = np.arange(is_corner.sum())
    sizes = is_corner.sum(axis=1)
    blocks = tuple(own[sizes == k, :k] for k in np.unique(sizes))
    own_values = values[body.cells][is_corner]
    return Surface(points[corners[is_corner]], blocks, values=own_values, scale=colours)
