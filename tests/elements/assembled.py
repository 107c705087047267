"""A small assembler and the meshes the element tests share: enough to solve a published case without the rest of the kit."""

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import spsolve

from femkit.elements import PLANES, SHELLS, CellArrays

__all__ = ["Assembled", "cell_arrays", "cell_frames", "grid"]


def grid(kind, n_x, n_y):
    """Points (n, 2) of the unit square and its cells; triangles share the diagonal from the first corner."""
    x, y = np.meshgrid(np.linspace(0, 1, n_x + 1), np.linspace(0, 1, n_y + 1), indexing="ij")
    points = np.stack([x.ravel(), y.ravel()], axis=1)
    first = (np.arange(n_x)[:, None] * (n_y + 1) + np.arange(n_y)).ravel()
    quads = np.stack([first, first + n_y + 1, first + n_y + 2, first + 1], axis=1)
    if kind == "quad":
        return points, quads
    return points, np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])


def cell_frames(corners, reference=(1.0, 0.0, 0.0)):
    """Local axes with x along a direction projected on the cell (global y where that is normal to it)."""
    last = corners[:, 3] - corners[:, 1] if corners.shape[1] == 4 else corners[:, 2] - corners[:, 0]
    first = corners[:, 2] - corners[:, 0] if corners.shape[1] == 4 else corners[:, 1] - corners[:, 0]
    z = np.cross(first, last)
    z /= np.linalg.norm(z, axis=1, keepdims=True)
    x = reference - (z @ reference)[:, None] * z
    is_normal = np.linalg.norm(x, axis=1) < 1e-3
    x[is_normal] = np.array([0.0, 1.0, 0.0]) - z[is_normal, 1:2] * z[is_normal]
    x /= np.linalg.norm(x, axis=1, keepdims=True)
    return np.stack([x, np.cross(z, x), z], axis=1)


def cell_arrays(points, cells, thickness, E, nu, offset=0.0, bend=0.0, reference=(1.0, 0.0, 0.0)):
    """CellArrays of one kind; numbers hold for all cells."""
    corners = np.asarray(points, dtype=float)[cells]
    of_cells = (
        np.broadcast_to(np.asarray(v, dtype=float), len(cells)).copy() for v in (thickness, E, nu, offset, bend)
    )
    return CellArrays(corners, cell_frames(corners, np.asarray(reference)), *of_cells)


class Assembled:
    """One kind of cells on points (n, 3): the whole stiffness, solved by held and loaded unknowns."""

    def __init__(self, kind, points, cells, thickness, E, nu, family=SHELLS, **more):
        self.kernel, self.points, self.cells = family[kind], np.asarray(points, dtype=float), cells
        if family is SHELLS and "bend" not in more:
            from femkit.elements.bend import cell_bend

            more["bend"] = cell_bend(self.points, {kind: cells})[kind]
        self.arrays = cell_arrays(self.points, cells, thickness, E, nu, **more)
        self.n_unknowns = 2 if family is PLANES else 6
        self.unknowns = (cells[..., None] * self.n_unknowns + np.arange(self.n_unknowns)).reshape(len(cells), -1)
        stiffness = self.kernel.stiffness(self.arrays)
        rows = np.broadcast_to(self.unknowns[:, :, None], stiffness.shape)
        columns = np.broadcast_to(self.unknowns[:, None, :], stiffness.shape)
        size = len(self.points) * self.n_unknowns
        self.stiffness = sparse.coo_array((stiffness.ravel(), (rows.ravel(), columns.ravel())), (size, size)).tocsc()

    def solve(self, held, forces):
        """Displacement (n_points, n_unknowns): `held` a mask or values (NaN where free), `forces` like it."""
        values = np.where(held, 0.0, np.nan) if held.dtype == bool else held
        values, u = values.ravel(), np.zeros(self.stiffness.shape[0])
        free = np.isnan(values)
        u[~free] = values[~free]
        loads = forces.ravel()[free] - (self.stiffness @ u)[free]
        u[free] = spsolve(self.stiffness[free][:, free], loads)
        return u.reshape(forces.shape)

    def area(self):
        """Area of each cell, mm²."""
        corners = self.arrays.corners
        last = corners[:, 3] - corners[:, 1] if corners.shape[1] == 4 else corners[:, 2] - corners[:, 0]
        first = corners[:, 2] - corners[:, 0] if corners.shape[1] == 4 else corners[:, 1] - corners[:, 0]
        return np.linalg.norm(np.cross(first, last), axis=1) / 2.0

    def surface_load(self, direction):
        """Point forces of a load a unit area in a global direction, shared equally by each cell's corners."""
        forces = np.zeros((len(self.points), self.n_unknowns))
        share = self.area()[:, None, None] * np.asarray(direction) / self.cells.shape[1]
        np.add.at(forces, self.cells, np.pad(share, [(0, 0), (0, 0), (0, self.n_unknowns - len(direction))]))
        return forces

    def strains(self, u):
        """Generalised strains (n_cells, 1 + n_corners, n_strains) of displacements."""
        flat = u.reshape(-1)[self.unknowns]
        return (self.kernel.strain_operator(self.arrays) @ flat[:, None, :, None])[..., 0]
