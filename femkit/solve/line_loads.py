"""Moments about the normal that go with an even line load along the sides of shell cells.

Rotations about the normal bend a cell's side in its plane by a parabola, so an even load in the plane and across the
side does work on them: ``α q L²/12`` at each end, against each other, with α the share of a beam's parabola that the
side takes: 1.5 for triangles, nothing beside a quadrilateral, which keeps its sides straight (C. A. Felippa, *Comput.
Methods Appl. Mech. Engrg* 192 (2003) 2125-2168, section 3). Along an edge of even sides the moments cancel but at its
ends; without them stress is disturbed there by a cell or two. They add up to nothing, so no total changes.
"""

import numpy as np

from ..elements.shell_triangle import LUMPING
from ..mesh.selection import select_edges
from ..model.loads import LineLoad

__all__ = ["side_moments"]


def side_moments(model, case):
    """Moments of a load case's line loads at the ends of the sides that they act on.

    Parameters
    ----------
    model : Model
    case : LoadCase

    Returns
    -------
    moments : ndarray, shape (n_points, n_components)
        N mm; zero but for shells. Where sheets meet in a line, each takes what acts in its own plane.
    """
    moments = np.zeros((model.mesh.n_points, model.n_components))
    loads = [load for load in case.loads if isinstance(load, LineLoad)]
    if model.behaviour != "shell" or "triangle" not in model.mesh.cells or not loads:
        return moments
    points = model.mesh.points
    for load in loads:
        pairs = np.unique(np.sort(select_edges(model.mesh, load.where, str(load)), axis=1), axis=0)
        start, end, normal, share = _sides(model, pairs)
        length = np.linalg.norm(points[pairs[:, 1]] - points[pairs[:, 0]], axis=1).sum() if load.total else 1.0
        side = points[end] - points[start]
        pull = np.cross(side, normal) @ (load.vector[:3] / length)  # N across the whole side, in the cell's plane
        moment = (share / 12 * pull * np.linalg.norm(side, axis=1))[:, None] * normal
        np.add.at(moments[:, 3:], end, moment)
        np.add.at(moments[:, 3:], start, -moment)
    return moments


def _sides(model, pairs):
    """Start, end, normal and share of the parabola of every cell's side that is one of the point pairs.

    Pairs have their smaller point first. Cells of one plane share the load between them.
    """
    edges, n_points = model.mesh.edges, model.mesh.n_points
    key = edges.points[:, 0] * n_points + edges.points[:, 1]
    side = np.flatnonzero(np.isin(key, pairs[:, 0] * n_points + pairs[:, 1])[edges.edge])
    edge, cell = edges.edge[side], edges.cell[side]
    normal = model.per_cell.frames[cell, 2]
    products = np.zeros((len(edges.points), 3, 3))
    np.add.at(products, edge, normal[:, :, None] * normal[:, None, :])
    in_plane = np.einsum("si,sij,sj->s", normal, products[edge], normal)  # how many cells lie in this one's plane
    is_quad = np.zeros(len(edges.points), dtype=bool)
    is_quad[edge[model.mesh.corners[cell, 3] >= 0]] = True
    parabola = np.where(is_quad[edge], 0.0, LUMPING)
    start, end = edges.points[edge].T
    return start, end, normal, parabola / in_plane
