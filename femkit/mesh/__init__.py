"""Points, cells and named sets: reading and writing files, selection by name or place, quality."""

from .mesh import CELL_KINDS, Mesh
from .selection import inside, near, on_plane, select_cells, select_edges, select_points

__all__ = ["CELL_KINDS", "Mesh", "inside", "near", "on_plane", "select_cells", "select_edges", "select_points"]
