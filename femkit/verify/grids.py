"""Meshes of the cases: regular grids laid on any surface, and several of them joined along their edges."""

import numpy as np

from ..mesh.mesh import CELL_KINDS, Mesh

__all__ = ["grid", "joined"]

# the points of a cell on the lattice of half steps, counted from its lower corner
_QUADRATIC = {
    "quad9": [[(0, 0), (2, 0), (2, 2), (0, 2), (1, 0), (2, 1), (1, 2), (0, 1), (1, 1)]],
    "triangle6": [
        [(0, 0), (2, 0), (2, 2), (1, 0), (2, 1), (1, 1)],
        [(0, 0), (2, 2), (0, 2), (1, 1), (1, 2), (0, 1)],
    ],
}
_QUADRATIC["quad8"] = [_QUADRATIC["quad9"][0][:8]]
_LINEAR = {
    "quad": [[(0, 0), (1, 0), (1, 1), (0, 1)]],
    "triangle": [[(0, 0), (1, 0), (1, 1)], [(0, 0), (1, 1), (0, 1)]],
}


def grid(kind, n_s, n_t, place, *, s=None, t=None, wobble=0.0, seed=1):
    """A grid of n_s × n_t cells, or of pairs of triangles, on the unit square, laid in space.

    Parameters
    ----------
    kind : {"quad", "triangle", "quad8", "quad9", "triangle6"}
        Triangles are cut from each quadrilateral's first to its third corner.
    n_s, n_t : int
    place : callable
        ``place(s, t)`` gives points (n, 3) or (n, 2) for arrays of s and t in 0 … 1. The cells' top is on the side of
        ``dplace/ds × dplace/dt``.
    s, t : array_like, optional
        Where the lines of the grid lie, n_s + 1 or n_t + 1 values from 0 to 1, even if left out.
    wobble : float
        Share of a cell by which inner points move at random in s and t.

    Returns
    -------
    mesh : Mesh
        With the edge sets ``s=0``, ``s=1``, ``t=0``, ``t=1``.
    """
    cells, step = (_LINEAR, 1) if kind in _LINEAR else (_QUADRATIC, 2)
    n = np.array([n_s, n_t]) * step
    lines = [
        np.linspace(0, 1, c + 1) if given is None else np.asarray(given, dtype=float)
        for c, given in zip((n_s, n_t), (s, t))
    ]
    lines = [np.interp(np.arange(m + 1) / step, np.arange(len(line)), line) for m, line in zip(n, lines)]
    at = np.stack(np.meshgrid(*lines, indexing="ij"), axis=-1)  # (n_s + 1, n_t + 1, 2)
    if wobble:
        moves = np.random.default_rng(seed).uniform(-1, 1, at[1:-1, 1:-1].shape)
        at[1:-1, 1:-1] += wobble * moves / n
    number = np.arange(at[..., 0].size).reshape(at.shape[:2])
    corner = np.stack(np.meshgrid(np.arange(0, n[0], step), np.arange(0, n[1], step), indexing="ij"), axis=-1)
    parts = [number[tuple(np.moveaxis(corner[..., None, :] + np.array(part), -1, 0))] for part in cells[kind]]
    table = np.stack(parts, axis=2).reshape(-1, parts[0].shape[-1])
    points = np.asarray(place(*at.reshape(-1, 2).T), dtype=float)
    edges = {"s=0": number[0], "s=1": number[-1], "t=0": number[:, 0], "t=1": number[:, -1]}
    used, place_of = np.unique(table, return_inverse=True)  # quad8 has no centres
    renumber = np.full(len(points), -1)
    renumber[used] = np.arange(len(used))
    sets = {name: renumber[np.column_stack([line[:-1], line[1:]])] for name, line in edges.items()}
    return Mesh(points[used], {kind: place_of.reshape(table.shape)}, edge_sets=sets)


def joined(**parts):
    """One mesh of several that meet point by point: points in one place become one.

    Returns
    -------
    mesh : Mesh
        With a cell set of each part's name, and its edge sets as ``"name s=0"`` and so on.
    """
    points = np.concatenate([part.points for part in parts.values()])
    reach = 1e-6 * np.ptp(points, axis=0).max()
    _, first, place_of = np.unique(np.round(points / reach / 10), axis=0, return_index=True, return_inverse=True)
    place_of, start = place_of.ravel(), 0
    cells, edge_sets, owners = {}, {}, {}
    for name, part in parts.items():
        number = place_of[start : start + part.n_points]
        start += part.n_points
        for kind, connectivity in part.cells.items():
            cells.setdefault(kind, []).append(number[connectivity])
            owners.setdefault(kind, []).extend([name] * len(connectivity))
        edge_sets |= {f"{name} {edge}": number[pairs] for edge, pairs in part.edge_sets.items()}
    kinds = [kind for kind in CELL_KINDS if kind in cells]
    owner = np.array([name for kind in kinds for name in owners[kind]])
    return Mesh(
        points[first],
        {kind: np.concatenate(cells[kind]) for kind in kinds},
        cell_sets={name: np.flatnonzero(owner == name) for name in parts},
        edge_sets=edge_sets,
    )
