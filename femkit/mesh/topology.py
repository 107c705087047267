"""How cells hang together: their edges, connected parts, and the smooth sheets that end at folds and junctions."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from ..units import degree

__all__ = ["CellEdges", "cell_edges", "corner_groups", "edge_keys", "fold_edges", "free_edges", "half_sides", "halves"]
__all__ += ["parts", "plain_fields", "smooth_links", "smooth_sheets"]

FOLD_ANGLE = 30 * degree  # common practice, no source: above it a line is meant as a fold, not as a curve


@dataclass(frozen=True, eq=False)
class CellEdges:
    """The edges of all cells.

    Attributes
    ----------
    points : ndarray of int64, shape (n_edges, 2)
        Point indices of corners, the smaller first.
    middle : ndarray of int64, shape (n_edges,)
        The point in the middle of a quadratic cell's side; -1 where there is none.
    is_matched : ndarray of bool, shape (n_edges,)
        Whether all cells of the edge have the same point in its middle, or all none.
    count : ndarray of int64, shape (n_edges,)
        How many cells have the edge: 1 at a free edge, 2 inside a sheet or at a fold, more at a junction.
    edge, cell : ndarray of int64, shape (n_sides,)
        Every side of every cell, sorted by edge: which edge it is, and whose.
    is_forward : ndarray of bool, shape (n_sides,)
        Whether the cell runs along it from the smaller point to the larger.
    """

    points: np.ndarray
    middle: np.ndarray
    is_matched: np.ndarray
    count: np.ndarray
    edge: np.ndarray
    cell: np.ndarray
    is_forward: np.ndarray


def cell_edges(mesh):
    """Edges of all cells, and which cells each belongs to; `Mesh.edges` keeps them.

    Parameters
    ----------
    mesh : Mesh

    Returns
    -------
    CellEdges
    """
    begin, end, middle, cell = [], [], [], []
    for kind, corners, where in mesh.corner_blocks():
        n = corners.shape[1]
        between = mesh.cells[kind][:, n : 2 * n]
        begin.append(corners.ravel())
        end.append(np.roll(corners, -1, axis=1).ravel())
        middle.append(between.ravel() if between.size else np.full(corners.size, -1))
        cell.append(np.repeat(np.arange(where.start, where.stop), n))
    sides = (begin, end, middle, cell)
    begin, end, middle, cell = (np.concatenate(part or [np.empty(0, dtype=np.int64)]) for part in sides)
    key = np.minimum(begin, end) * mesh.n_points + np.maximum(begin, end)
    order = np.argsort(key, kind="stable")
    key = key[order]
    is_first = np.ones(len(key), dtype=bool)
    is_first[1:] = key[1:] != key[:-1]
    first = np.flatnonzero(is_first)
    points = np.column_stack(np.divmod(key[first], max(mesh.n_points, 1)))
    edge = np.cumsum(is_first) - 1
    count = np.diff(np.append(first, len(key)))
    middle = middle[order]
    is_matched = np.ones(len(points), dtype=bool)
    is_matched[edge[middle != middle[first][edge]]] = False
    return CellEdges(points, middle[first], is_matched, count, edge, cell[order], (begin < end)[order])


def edge_keys(mesh, pairs):
    """One number for each pair of points (n, 2), whichever comes first; those of ``mesh.edges`` ascend."""
    return np.sort(np.reshape(pairs, (-1, 2)), axis=1) @ [mesh.n_points, 1]


def halves(mesh, pairs):
    """Pairs of points (n, 2) in which every whole side of a quadratic cell has become two, at its middle point."""
    if not mesh.is_quadratic:
        return pairs
    edges, keys, wanted = mesh.edges, edge_keys(mesh, mesh.edges.points), edge_keys(mesh, pairs)
    place = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
    middle = np.where(keys[place] == wanted, edges.middle[place], -1)
    is_whole = middle >= 0
    cut = np.column_stack([pairs[:, 0], middle, middle, pairs[:, 1]])[is_whole]
    return np.concatenate([pairs[~is_whole], cut.reshape(-1, 2)])


def half_sides(mesh, pairs):
    """The quadratic sides that pairs of points (n, 2) are halves of.

    Returns
    -------
    sides : ndarray of int64, shape (n_halves, 3)
        The pair's end of the side, the point in its middle, its other end.
    is_half : ndarray of bool, shape (n,)
        Which pairs these are.
    """
    if not mesh.is_quadratic:
        return np.empty((0, 3), dtype=np.int64), np.zeros(len(pairs), dtype=bool)
    edges = mesh.edges
    here, there = edges.points[edges.middle >= 0].T
    middle = edges.middle[edges.middle >= 0]
    sides = np.column_stack([np.append(here, there), np.append(middle, middle), np.append(there, here)])
    keys, wanted = edge_keys(mesh, sides[:, :2]), edge_keys(mesh, pairs)
    sides, keys = sides[np.argsort(keys)], np.sort(keys)
    place = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
    is_half = keys[place] == wanted
    return sides[place[is_half]], is_half


def free_edges(mesh):
    """Edges that one cell only has, as point pairs, shape (n, 2)."""
    edges = mesh.edges
    return halves(mesh, edges.points[edges.count == 1])


def smooth_links(mesh, fold_angle=FOLD_ANGLE, same=None):
    """Pairs of cells between which a sheet runs on smoothly over a shared edge.

    It does where the cells' planes, whichever way their normals point, meet at less than `fold_angle` and the cells
    lie on opposite sides of the edge: so a sheet runs on through a junction with a post that stands on it.

    Parameters
    ----------
    mesh : Mesh
    fold_angle : float
        rad.
    same : ndarray of int, shape (n_cells,), optional
        Link only cells of equal number, for instance cells of the same plate.

    Returns
    -------
    first, second : ndarray of int64, shape (n_links,)
        Cell indices; a pair may come twice if two edges are shared.
    is_consistent : ndarray of bool, shape (n_links,)
        Whether the two normals point to the same side of the sheet.
    """
    first, second, is_consistent, _edge = _smooth_pairs(mesh, fold_angle, same)
    return first, second, is_consistent


def smooth_sheets(mesh, fold_angle=FOLD_ANGLE, same=None):
    """Which smooth sheet each cell belongs to: sheets end at free edges, folds and where no cell lies opposite.

    Parameters
    ----------
    mesh : Mesh
    fold_angle, same
        As in `smooth_links`.

    Returns
    -------
    sheet : ndarray of int64, shape (n_cells,)
        From 0, in the order of the sheets' first cells.
    """
    first, second, _ = smooth_links(mesh, fold_angle, same)
    return _components(mesh.n_cells, first, second)


def corner_groups(mesh, same=None, cut=()):
    """Which corners lie together at a point: one can go from cell to cell around it on one smooth sheet.

    On the way is no fold, and no junction either, though the sheet itself runs on through it.

    Parameters
    ----------
    mesh : Mesh
    same
        As in `smooth_links`.
    cut : array_like of int, shape (n, 2), optional
        Edges, as pairs of points, that are not gone across either.

    Returns
    -------
    group : ndarray of int64, shape (n_cells, 4)
        From 0; -1 for the fourth corner of a triangle.
    """
    first, second, edge = _plain_pairs(mesh, same, cut)
    cells = np.array([first, second])
    ends = mesh.edges.points[edge].T
    links = [4 * cells + (mesh.corners[cells] == end[:, None]).argmax(axis=2) for end in ends]
    of_corner = _components(mesh.corners.size, *np.concatenate(links, axis=1)).reshape(mesh.corners.shape)
    is_corner, group = mesh.corners >= 0, np.full(mesh.corners.shape, -1)
    group[is_corner] = np.unique(of_corner[is_corner], return_inverse=True)[1]
    return group


def plain_fields(mesh, cut=()):
    """Which field each cell belongs to: smooth sheets that end at junctions too, and their border.

    Parameters
    ----------
    mesh : Mesh
    cut
        As in `corner_groups`.

    Returns
    -------
    field : ndarray of int64, shape (n_cells,)
        From 0, in the order of the fields' first cells.
    is_border : ndarray of bool, shape (n_edges,)
        Which of ``mesh.edges`` no field goes across.
    """
    first, second, edge = _plain_pairs(mesh, None, cut)
    is_border = np.ones(len(mesh.edges.points), dtype=bool)
    is_border[edge] = False
    return _components(mesh.n_cells, first, second), is_border


def fold_edges(mesh, fold_angle=FOLD_ANGLE):
    """Edges worth drawing as an outline: free edges, folds and junctions, as point pairs, shape (n, 2)."""
    edges = mesh.edges
    is_outline = np.ones(len(edges.points), dtype=bool)
    is_outline[_smooth_pairs(mesh, fold_angle)[3]] = False
    return halves(mesh, edges.points[is_outline | (edges.count != 2)])


def parts(mesh, joined=None):
    """Which connected part each cell and each point belongs to; parts share no point.

    Parameters
    ----------
    mesh : Mesh
    joined : ndarray of int, shape (n, 2), optional
        Pairs of points that belong together besides those of a cell; they may belong to none.

    Returns
    -------
    cell_part : ndarray of int64, shape (n_cells,)
        From 0, in the order of the parts' first cells.
    point_part : ndarray of int64, shape (n_points,)
        -1 for points without cells that are not joined to any other.
    """
    joined = np.zeros((0, 2), dtype=np.int64) if joined is None else joined
    cell, place = np.nonzero(mesh.points_of_cell >= 0)
    point = mesh.points_of_cell[cell, place]
    first, second = np.append(cell, mesh.n_cells + joined[:, 0]), mesh.n_cells + np.append(point, joined[:, 1])
    part = _components(mesh.n_cells + mesh.n_points, first, second)
    is_used = np.zeros(mesh.n_points, dtype=bool)
    is_used[point] = is_used[joined] = True
    whole = np.append(part[: mesh.n_cells], part[mesh.n_cells :][is_used])
    number = np.unique(whole, return_inverse=True)[1]  # those of points alone are left out
    point_part = np.full(mesh.n_points, -1, dtype=np.int64)
    point_part[is_used] = number[mesh.n_cells :]
    return number[: mesh.n_cells], point_part


def _smooth_pairs(mesh, fold_angle, same=None):
    """`smooth_links`, and the edge of each link."""
    edges = mesh.edges
    here, there = _sides_at_same_edge(edges)
    first, second = edges.cell[here], edges.cell[there]
    normals = mesh.normals
    is_smooth = np.abs(np.einsum("ei,ei->e", normals[first], normals[second])) > np.cos(fold_angle)
    if same is not None:
        is_smooth &= np.asarray(same)[first] == np.asarray(same)[second]
    here, there, first, second = (a[is_smooth] for a in (here, there, first, second))
    edge = edges.edge[here]
    begin, end = mesh.points[edges.points[edge]].swapaxes(0, 1)
    along = end - begin
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-300)  # two points may lie in one place
    middle = 0.5 * (begin + end)
    across = [_square_to(mesh.centres[cells] - middle, along) for cells in (first, second)]
    is_opposite = np.einsum("ei,ei->e", *across) < 0
    # cells that face the same way run along their common edge in opposite directions
    is_consistent = edges.is_forward[here] != edges.is_forward[there]
    return tuple(a[is_opposite] for a in (first, second, is_consistent, edge))


def _plain_pairs(mesh, same, cut):
    """Cells at both sides of an edge that is neither a fold, nor a junction, nor cut, and that edge."""
    first, second, _, edge = _smooth_pairs(mesh, FOLD_ANGLE, same)
    is_cut = np.isin(edge_keys(mesh, mesh.edges.points), edge_keys(mesh, cut))
    is_plain = ((mesh.edges.count == 2) & ~is_cut)[edge]
    return first[is_plain], second[is_plain], edge[is_plain]


def _sides_at_same_edge(edges):
    """All pairs of sides that are one edge."""
    found = []
    for step in range(1, int(edges.count.max(initial=1))):  # one step inside sheets, a few more at junctions
        here = np.flatnonzero(edges.edge[step:] == edges.edge[:-step])
        found.append((here, here + step))
    return np.concatenate(found, axis=1) if found else np.empty((2, 0), dtype=np.int64)


def _square_to(vectors, along):
    return vectors - np.einsum("ei,ei->e", vectors, along)[:, None] * along


def _components(n, first, second):
    graph = coo_matrix((np.ones(len(first), dtype=np.int8), (first, second)), shape=(n, n))
    return connected_components(graph, directed=False)[1].astype(np.int64)
