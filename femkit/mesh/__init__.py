"""Points, cells and named sets: reading files, selection by name or place, sheets and normals, quality."""

from .mesh import CELL_KINDS, Mesh
from .orientation import orient
from .panels import Doubler, Mark, Opening, Panel, Stiffener, Zone
from .quality import Quality, check_quality, mesh_quality
from .read import read_mesh
from .refine import refine
from .selection import edges_between, inside, near, on_plane, select_cells, select_edges, select_points
from .topology import CellEdges, cell_edges, corner_groups, fold_edges, free_edges, parts, smooth_links, smooth_sheets

__all__ = [
    "CELL_KINDS",
    "CellEdges",
    "Doubler",
    "Mark",
    "Mesh",
    "Opening",
    "Panel",
    "Quality",
    "Stiffener",
    "Zone",
    "cell_edges",
    "check_quality",
    "corner_groups",
    "edges_between",
    "fold_edges",
    "free_edges",
    "inside",
    "mesh_quality",
    "near",
    "on_plane",
    "orient",
    "parts",
    "read_mesh",
    "refine",
    "select_cells",
    "select_edges",
    "select_points",
    "smooth_links",
    "smooth_sheets",
]
