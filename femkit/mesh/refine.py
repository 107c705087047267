"""The same mesh with every cell cut in four, to see how much its answers still change."""

from dataclasses import replace

import numpy as np

from ..errors import MeshError

__all__ = ["refine"]


def refine(mesh):
    """Cut every cell in four, at the middles of its sides.

    New points lie on the chords: a curved edge keeps the corners that it had, so a sharper arc needs a new mesh.

    Parameters
    ----------
    mesh : Mesh

    Returns
    -------
    finer : Mesh
        With the same points first, the same orientation, and all sets; point sets gain no points.

    Raises
    ------
    MeshError
        If there are quadratic cells.

    Examples
    --------
    >>> from femkit.mesh import Mesh
    >>> refine(Mesh([[0, 0], [2, 0], [2, 1], [0, 1]], {"quad": [[0, 1, 2, 3]]}))
    Mesh: 9 points, 4 quads; 2 × 1 × 0 mm; cell sets: none
    """
    if mesh.is_quadratic:
        held = ", ".join(f"{len(cells):,} {kind}" for kind, cells in mesh.cells.items())
        raise MeshError(
            f"refine cuts linear cells; the mesh holds {held}. Mesh quadratic cells anew, at half their size."
        )
    ends = mesh.edges.points
    points = [mesh.points, mesh.points[ends].mean(axis=1)]
    n_points = mesh.n_points + len(ends)
    cells, parents = {}, []
    for kind, corners, block in mesh.blocks():
        middles = _middles(mesh, corners, np.roll(corners, -1, axis=1))  # (n, k), of the side from each corner on
        at_corners = [[corners[:, i], middles[:, i], middles[:, i - 1]] for i in range(corners.shape[1])]
        if kind == "quad":
            centres = n_points + np.arange(len(corners))
            points.append(mesh.points[corners].mean(axis=1))
            n_points += len(corners)
            parts = [[corner, after, centres, before] for corner, after, before in at_corners]
        else:
            parts = [*at_corners, list(middles.T)]
        cells[kind] = np.concatenate([np.column_stack(part) for part in parts])
        parents.append(np.tile(np.arange(block.start, block.stop), 4))
    parent = np.concatenate(parents)
    return replace(
        mesh,
        points=np.concatenate(points),
        cells=cells,
        cell_sets={name: np.flatnonzero(np.isin(parent, chosen)) for name, chosen in mesh.cell_sets.items()},
        edge_sets={name: _halves(mesh, pairs) for name, pairs in mesh.edge_sets.items()},
        notes=(*mesh.notes, "Every cell was cut in four."),
    )


def _middles(mesh, start, end):
    """Numbers of the new points between pairs of points that are ends of an edge."""
    keys = mesh.edges.points @ [mesh.n_points, 1]  # sorted, as the edges are
    wanted = np.minimum(start, end) * mesh.n_points + np.maximum(start, end)
    return mesh.n_points + np.searchsorted(keys, wanted)


def _halves(mesh, pairs):
    """Both halves of an edge set's edges; a line between points that no cell joins stays whole."""
    keys = mesh.edges.points @ [mesh.n_points, 1]
    is_edge = np.isin(np.sort(pairs, axis=1) @ [mesh.n_points, 1], keys)
    start, end = pairs[is_edge].T
    middle = _middles(mesh, start, end)
    return np.concatenate([np.column_stack([start, middle]), np.column_stack([middle, end]), pairs[~is_edge]])
