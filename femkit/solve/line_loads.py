"""Moments about the normal that go with an even line load on the free sides of shell triangles.

The rotations about the normal bend a triangle's side in its plane by a parabola, so an even load normal to the side
does work on them: a moment of 1.5 q L²/12 at each end, against each other (the lumping of C. A. Felippa, Comput.
Methods Appl. Mech. Engrg 192 (2003) 2125-2168, section 3). Along an edge of even sides the moments cancel but at its
ends; without them stress is disturbed there by a cell or two. They add up to nothing, so no total changes.
"""

import numpy as np

from ..elements.shell_triangle import LUMPING
from ..mesh.selection import select_edges
from ..model.loads import LineLoad

__all__ = ["side_moments"]


def side_moments(model, case):
    """Moments of a load case's line loads at the ends of the triangles' sides that they act on.

    Parameters
    ----------
    model : Model
    case : LoadCase

    Returns
    -------
    moments : ndarray, shape (n_points, n_components)
        N mm; zero but for shell triangles. Sides shared with another cell take none: there it depends on which of the
        two carries the load.
    """
    moments = np.zeros((model.mesh.n_points, model.n_components))
    loads = [load for load in case.loads if isinstance(load, LineLoad)]
    if model.behaviour != "shell" or "triangle" not in model.mesh.cells or not loads:
        return moments
    points, normal = model.mesh.points, model.per_cell.frames[:, 2]
    for load in loads:
        pairs = np.unique(np.sort(select_edges(model.mesh, load.where, str(load)), axis=1), axis=0)
        start, end, cell = _free_triangle_sides(model.mesh, pairs)
        length = np.linalg.norm(points[pairs[:, 1]] - points[pairs[:, 0]], axis=1).sum() if load.total else 1.0
        side = points[end] - points[start]
        # outward from the cell, as long as the side: the cell runs counter-clockwise about its normal
        pull = np.cross(side, normal[cell]) @ (load.vector[:3] / length)  # N, of the whole side
        moment = LUMPING / 12 * (pull * np.linalg.norm(side, axis=1))[:, None] * normal[cell]
        np.add.at(moments[:, 3:], end, moment)
        np.add.at(moments[:, 3:], start, -moment)
    return moments


def _free_triangle_sides(mesh, pairs):
    """Start, end and cell of those of the point pairs (smaller first) that are a free side of a triangle."""
    edges = mesh.edges
    first = np.searchsorted(edges.edge, np.arange(len(edges.points)))  # each edge's first side; a free edge has one
    key = edges.points[:, 0] * mesh.n_points + edges.points[:, 1]
    is_ours = np.isin(key, pairs[:, 0] * mesh.n_points + pairs[:, 1]) & (edges.count == 1)
    is_ours &= edges.cell[first] < len(mesh.cells["triangle"])  # triangles are counted first
    ends, side = edges.points[is_ours], first[is_ours]
    is_forward = edges.is_forward[side]
    start = np.where(is_forward, ends[:, 0], ends[:, 1])
    return start, np.where(is_forward, ends[:, 1], ends[:, 0]), edges.cell[side]
