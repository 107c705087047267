"""A small assembler and the meshes the element tests share: solves a case without the rest of the kit."""

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import spsolve

from femkit.elements import PLANES, SHELLS, CellArrays, cell_bend

__all__ = ["Assembled", "cell_arrays", "grid", "made_of", "rotation", "spread"]


def grid(kind, n_x, n_y, shift=0.0, seed=0):
    """Points (n, 2) of the unit square and its cells; `shift` moves inner points by that part of a cell at random."""
    x, y = np.meshgrid(np.linspace(0, 1, n_x + 1), np.linspace(0, 1, n_y + 1), indexing="ij")
    points = np.stack([x.ravel(), y.ravel()], axis=1)
    is_inner = ((points > 1e-9) & (points < 1 - 1e-9)).all(axis=1)
    moves = np.random.default_rng(seed).uniform(-shift, shift, points.shape) / (n_x, n_y)
    first = (np.arange(n_x)[:, None] * (n_y + 1) + np.arange(n_y)).ravel()
    quads = np.stack([first, first + n_y + 1, first + n_y + 2, first + 1], axis=1)
    return made_of(kind, points + is_inner[:, None] * moves, quads)


def made_of(kind, points, quads):
    """Points and cells of a kind: quadrilaterals, or triangles from their second to their fourth corner.

    Quadratic ones get points at the middles of their sides, and quad9 at the centre.
    """
    cells = quads if kind.startswith("quad") else np.concatenate([quads[:, [0, 1, 3]], quads[:, [1, 2, 3]]])
    if kind in ("triangle", "quad"):
        return points, cells
    ends = np.sort(np.stack([cells, np.roll(cells, -1, axis=1)], axis=-1).reshape(-1, 2), axis=1)
    sides, side = np.unique(ends, axis=0, return_inverse=True)
    parts = [points, points[sides].mean(axis=1)]
    columns = [cells, len(points) + side.reshape(cells.shape)]
    if kind == "quad9":
        columns.append(len(points) + len(sides) + np.arange(len(cells))[:, None])
        parts.append(points[cells].mean(axis=1))
    return np.concatenate(parts), np.hstack(columns)


def rotation(seed=0):
    """Some rotation of space (3, 3)."""
    q, _ = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    return q * np.linalg.det(q)


def cell_arrays(points, cells, thickness, E, nu, offset=0.0, bend=0.0, reference=(1.0, 0.0, 0.0)):
    """CellArrays of one kind; local x is `reference` projected on the cells, global y where that is normal to them."""
    corners = np.asarray(points, dtype=float)[cells]
    last = 2 if corners.shape[1] in (3, 6) else 3
    z = np.cross(corners[:, 2] - corners[:, 0], corners[:, last] - corners[:, 1])
    z /= np.linalg.norm(z, axis=1, keepdims=True)
    reference = np.asarray(reference, dtype=float)
    x = reference - (z @ reference)[:, None] * z
    is_normal = np.linalg.norm(x, axis=1) < 1e-3
    x[is_normal] = np.array([0.0, 1.0, 0.0]) - z[is_normal, 1:2] * z[is_normal]
    x /= np.linalg.norm(x, axis=1, keepdims=True)
    values = (thickness, E, nu, offset, bend)
    return CellArrays(
        corners,
        np.stack([x, np.cross(z, x), z], axis=1),
        *(np.full(len(cells), value, dtype=float) for value in values),
        np.zeros(cells.shape, dtype=bool),
    )


def spread(points, n_unknowns, where, unknown, total=1.0):
    """Point forces of a line load that is uniform over a row of evenly spaced points: half as much at its ends."""
    indices = np.flatnonzero(where)
    share = np.ones(len(indices))
    share[[0, -1]] = 0.5
    forces = np.zeros((len(points), n_unknowns))
    forces[indices, unknown] = total * share / share.sum()
    return forces


class Assembled:
    """Cells of one kind on points (n, 3), ready to be held and loaded."""

    def __init__(self, kind, points, cells, thickness, E, nu, family=SHELLS, **more):
        self.kernel, self.points, self.cells = family[kind], np.asarray(points, dtype=float), cells
        self.n_unknowns = 2 if family is PLANES else 6
        if family is SHELLS:
            more.setdefault("bend", cell_bend(self.points, {kind: cells})[kind])
        self.arrays = cell_arrays(self.points, cells, thickness, E, nu, **more)
        self.unknowns = (cells[..., None] * self.n_unknowns + np.arange(self.n_unknowns)).reshape(len(cells), -1)
        values = self.kernel.stiffness(self.arrays)
        rows, columns = np.broadcast_arrays(self.unknowns[:, :, None], self.unknowns[:, None, :])
        size = len(self.points) * self.n_unknowns
        self.stiffness = sparse.coo_array((values.ravel(), (rows.ravel(), columns.ravel())), (size, size)).tocsc()

    def solve(self, held, forces):
        """Displacement (n_points, n_unknowns). `held` is True where held, or the value held (NaN where free)."""
        values = np.where(held, 0.0, np.nan).ravel() if held.dtype == bool else held.ravel()
        free, u = np.isnan(values), np.nan_to_num(values)
        matrix = self.stiffness[free][:, free]
        for _ in range(2):  # a second time for what rounding left: membranes are (side/thickness)² stiffer than plates
            u[free] += spsolve(matrix, forces.ravel()[free] - (self.stiffness @ u)[free])
        return u.reshape(-1, self.n_unknowns)

    def surface_load(self, direction):
        """Point forces (n_points, n_unknowns) of a load a unit area, each cell's shared equally by its corners."""
        corners = self.arrays.corners
        area = np.linalg.norm(np.cross(corners[:, 2] - corners[:, 0], corners[:, -1] - corners[:, 1]), axis=1) / 2.0
        forces = np.zeros((len(self.points), self.n_unknowns))
        for corner in self.cells.T:
            np.add.at(forces[:, :3], corner, area[:, None] * np.asarray(direction) / self.cells.shape[1])
        return forces

    def strains(self, displacement):
        """Strains (n_cells, 1 + n_corners, n_strains) in the cells' axes."""
        of_cells = displacement.reshape(-1)[self.unknowns]
        return np.einsum("epsa,ea->eps", self.kernel.strain_operator(self.arrays), of_cells)
