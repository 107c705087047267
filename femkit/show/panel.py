"""What a panel of a picture holds: surfaces with colours, lines, and marked places."""

from dataclasses import KW_ONLY, dataclass, field

import numpy as np

from ..errors import ModelError
from ..mesh.mesh import Mesh
from ..mesh.topology import fold_edges
from .colours import DARK, NO_VALUE, ColourScale

__all__ = ["Lines", "Mark", "Panel", "Surface", "chosen_part", "edge_lines", "points_of"]

EDGES = ("outline", "mesh", None)


@dataclass(frozen=True, eq=False)
class Surface:
    """Cells with one colour each, or with values at points in a scale's colours.

    Attributes
    ----------
    points : ndarray, shape (n_points, 3)
    blocks : sequence of ndarray of int, each (n, k)
        Point indices of cells of k corners.
    rgb : ndarray of uint8, shape (n_cells, 3), or None
    values : ndarray, shape (n_points,), or None
        Run over each cell between its points.
    scale : ColourScale or None
        Of the values.
    is_lit : bool
        Shaded by a lamp at the eye, which shows shape; values are not, for their colour is to be read off the bar.
    """

    points: np.ndarray
    blocks: tuple
    _: KW_ONLY
    rgb: np.ndarray | None = None
    values: np.ndarray | None = None
    scale: ColourScale | None = None
    is_lit: bool = False

    def polydata(self):
        """As pyvista's surface."""
        import pyvista as pv

        faces = np.concatenate([np.insert(block, 0, block.shape[1], axis=1).ravel() for block in self.blocks])
        return pv.PolyData(np.array(self.points, dtype=np.float32), faces)

    def options(self):
        """What pyvista's ``add_mesh`` is to be told about colours."""
        options = {"lighting": self.is_lit, "ambient": 0.55, "diffuse": 0.45}
        if self.rgb is not None:
            return options | {"scalars": self.rgb, "rgb": True, "preference": "cell"}
        from matplotlib.colors import ListedColormap

        return options | {
            "scalars": self.values,
            "preference": "point",
            "cmap": ListedColormap(self.scale.steps / 255.0),
            "clim": (self.scale.low, self.scale.high),
            "nan_color": NO_VALUE,
            "interpolate_before_map": True,
        }


@dataclass(frozen=True, eq=False)
class Lines:
    """Straight lines between pairs of points."""

    points: np.ndarray
    pairs: np.ndarray
    colour: str = DARK
    width: float = 1.0
    opacity: float = 1.0

    def polydata(self):
        """As pyvista's lines."""
        import pyvista as pv

        used, pairs = np.unique(self.pairs, return_inverse=True)
        lines = np.insert(pairs.reshape(-1, 2), 0, 2, axis=1).ravel()
        dots = np.insert(np.arange(len(used))[:, None], 0, 1, axis=1).ravel()  # close the gaps where two lines meet
        return pv.PolyData(np.array(self.points[used], dtype=np.float32), lines=lines, verts=dots)


@dataclass(frozen=True, eq=False)
class Mark:
    """A place with a ring round it and a word beside it."""

    place: np.ndarray
    text: str


@dataclass(frozen=True, eq=False)
class Panel:
    """One view of one body.

    Attributes
    ----------
    name : str
        Stands above the panel where a picture has several.
    surfaces, lines, marks : tuple
    actions : tuple of femkit.show.actions.Action
        Loads and supports.
    """

    name: str
    surfaces: tuple
    _: KW_ONLY
    lines: tuple = ()
    marks: tuple = ()
    actions: tuple = field(default=())


def chosen_part(mesh, cells):
    """Points and blocks of some cells of a mesh, as a mesh of their own with the same point numbers.

    Parameters
    ----------
    mesh : Mesh
    cells : ndarray of int, sorted
    """
    if len(cells) == mesh.n_cells:
        return mesh
    blocks = {}
    for kind, connectivity, where in mesh.blocks():
        chosen = cells[(cells >= where.start) & (cells < where.stop)] - where.start
        blocks[kind] = connectivity[chosen]
    return Mesh(mesh.points, blocks)


def points_of(mesh, cells):
    """Indices of the points of some cells, ascending."""
    is_used = np.zeros(mesh.n_points + 1, dtype=bool)  # the last for a triangle's fourth corner, -1
    is_used[mesh.corners[cells]] = True
    return np.flatnonzero(is_used[:-1])


def edge_lines(mesh, edges, points):
    """Lines to draw for ``"outline"`` (free edges, folds and junctions) or ``"mesh"`` (all edges too), or none.

    Parameters
    ----------
    mesh : Mesh
    edges : {"outline", "mesh", None}
    points : ndarray, shape (n_points, 3)
        Where they are drawn.
    """
    if edges not in EDGES:
        raise ModelError(f'edges is {edges!r}; it must be "outline", "mesh" or None.')
    lines = [Lines(points, mesh.edges.points, width=0.5, opacity=0.5)] if edges == "mesh" else []
    return (*lines, Lines(points, fold_edges(mesh))) if edges else ()
