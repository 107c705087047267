"""Where on a sheet a place comes nearest: the cell, and how much each of its points counts there."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from .shapes import SHAPES

__all__ = ["Feet", "closest_on_cells", "feet_in", "feet_of"]

STEPS = 6  # of Newton's method; it doubles its digits in each
BEYOND = 0.3  # of the reference square's half side: so far cells go on past their sides, where an edge is not straight
CANDIDATES = 32  # triangles by their centres; cells five times as long as wide are tested in tests/mesh/


def closest_on_cells(mesh, places, cells):
    """Nearest place on some cells, quadrilaterals taken as two triangles.

    Parameters
    ----------
    mesh : Mesh
    places : ndarray, shape (n, 3)
        mm.
    cells : ndarray of int, shape (m,)

    Returns
    -------
    cell : ndarray of int, shape (n,)
    corners : ndarray of int, shape (n, 3)
        Points of that cell.
    weights : ndarray, shape (n, 3)
        Of the corners, none negative, 1 in all: their weighted mean is the nearest place.
    """
    corners = mesh.corners[cells]
    is_quad = corners[:, 3] >= 0
    triangles = np.concatenate([corners[:, [0, 1, 2]], corners[is_quad][:, [0, 2, 3]]])  # (t, 3)
    owner = np.concatenate([cells, cells[is_quad]])
    centres = mesh.points[triangles].mean(axis=1)
    n_near = min(CANDIDATES, len(triangles))
    near = cKDTree(centres).query(places, k=n_near)[1].reshape(len(places), n_near)
    weights = _weights(places[:, None], mesh.points[triangles[near]])  # (n, n_near, 3)
    foot = np.einsum("nck,ncki->nci", weights, mesh.points[triangles[near]])
    best = np.linalg.norm(foot - places[:, None], axis=2).argmin(axis=1)
    rows = np.arange(len(places))
    chosen = near[rows, best]
    return owner[chosen], triangles[chosen], weights[rows, best]


@dataclass(frozen=True, eq=False)
class Feet:
    """Where places come nearest to a mesh's cells, taken a little past their edges, and the shape functions there."""

    cell: np.ndarray  # (n,)
    gap: np.ndarray  # (n, 3) from the foot on the cell to the place, mm
    weights: np.ndarray  # (n, k) of the cell's points, in the order of ``mesh.points_of_cell``; 0 where there is none
    of_corners: np.ndarray  # (n, 4) of its corners alone, linear between them

    @property
    def distance(self):
        """From the sheet, (n,), mm."""
        return np.linalg.norm(self.gap, axis=1)


def feet_of(mesh, places, cells=None):
    """The feet of places (n, 3), mm, on some cells of a mesh, or on all."""
    cells = np.arange(mesh.n_cells) if cells is None else cells
    cell, nearest, share = closest_on_cells(mesh, places, cells)
    return feet_in(mesh, places, cell, np.einsum("nk,nki->ni", share, mesh.points[nearest]))


def feet_in(mesh, places, cell, start=None):
    """The feet of places (n, 3), mm, each on its own cell (n,); `start` are places near them on those cells."""
    start = places if start is None else start
    gap, weights = np.empty(places.shape), np.zeros((len(places), mesh.points_of_cell.shape[1]))
    of_corners = np.zeros((len(places), 4))
    for kind, table, block in mesh.blocks():
        mine = np.flatnonzero((cell >= block.start) & (cell < block.stop))
        n_corners, points = 3 if kind.startswith("triangle") else 4, mesh.points[table[cell[mine] - block.start]]
        linear, shape = SHAPES[n_corners], SHAPES[table.shape[1]]
        at = np.zeros((len(mine), 2)) if n_corners == 4 else np.full((len(mine), 2), 1 / 3)
        for target, functions in ((start[mine], linear), (places[mine], shape)):
            at = _reached(at, points[:, : functions.places.shape[0]], target, functions)
        weights[mine, : table.shape[1]] = shape.values(at)
        of_corners[mine, :n_corners] = linear.values(at)
        gap[mine] = places[mine] - np.einsum("nk,nki->ni", shape.values(at), points)
    return Feet(cell, gap, weights, of_corners)


def _reached(at, points, place, shape):
    """Reference coordinates (n, 2) of the places on cells that are nearest to `place`, by Gauss and Newton's method."""
    for _ in range(STEPS):
        left = place - np.einsum("nk,nki->ni", shape.values(at), points)
        along = shape.slopes(at) @ points  # (n, 2, 3)
        at = at + np.linalg.solve(along @ along.swapaxes(1, 2), along @ left[:, :, None])[:, :, 0]
        if shape.places.min() < 0:
            at = np.clip(at, -1 - BEYOND, 1 + BEYOND)
        else:
            at = np.maximum(at, -BEYOND / 2)
            at /= np.maximum(at.sum(axis=1, keepdims=True) / (1 + BEYOND / 2), 1)
    return at


def _weights(place, corners):
    """Weights of the corners (..., 3, 3) of triangles at the place on each that is nearest to `place` (..., 3)."""
    a, b, c = np.moveaxis(corners, -2, 0)
    normal = np.cross(b - a, c - a)
    area = (normal**2).sum(axis=-1)
    inner = [(np.cross(q - p, place - p) * normal).sum(axis=-1) / area for p, q in ((b, c), (c, a), (a, b))]
    inside = np.stack(inner, axis=-1)
    found, nearest = inside, np.where(np.all(inside >= 0, axis=-1), -1.0, np.inf)
    for first, second in ((0, 1), (1, 2), (2, 0)):
        p, q = corners[..., first, :], corners[..., second, :]
        side = q - p
        share = np.clip(((place - p) * side).sum(axis=-1) / (side**2).sum(axis=-1), 0, 1)
        distance = np.linalg.norm(p + share[..., None] * side - place, axis=-1)
        weights = np.zeros_like(inside)
        weights[..., first], weights[..., second] = 1 - share, share
        is_nearer = distance < nearest
        found = np.where(is_nearer[..., None], weights, found)
        nearest = np.minimum(nearest, distance)
    return found
