"""Small meshes by formula."""

import numpy as np

from femkit.mesh import Mesh


def grid(n, m, place=None, **sets):
    """A sheet of n × m quadrilaterals; `place` maps (u, v) in 0 … n and 0 … m to coordinates."""
    u, v = np.meshgrid(np.arange(n + 1.0), np.arange(m + 1.0), indexing="ij")
    points = np.column_stack([u.ravel(), v.ravel(), 0 * u.ravel()]) if place is None else place(u.ravel(), v.ravel())
    return Mesh(points, {"quad": grid_cells(n, m)}, **sets)


def grid_cells(n, m):
    """Point indices of the quadrilaterals of `grid`."""
    at = np.arange((n + 1) * (m + 1)).reshape(n + 1, m + 1)
    return np.stack([at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]], axis=-1).reshape(-1, 4)


def ring(n, m, twist=0.0, radius=10.0):
    """A closed ring of n × m quadrilaterals around z; with a twist of pi it has one side (n odd or even alike)."""
    at = np.arange(n * (m + 1)).reshape(n, m + 1)
    after = np.roll(at, -1, axis=0)
    if twist:
        after[-1] = at[0, ::-1]
    cells = np.stack([at[:, :-1], after[:, :-1], after[:, 1:], at[:, 1:]], axis=-1).reshape(-1, 4)
    around = np.repeat(2 * np.pi * np.arange(n) / n, m + 1)
    across = np.tile(np.linspace(-1, 1, m + 1), n)
    tilt = twist * around / (2 * np.pi) + np.pi / 2
    r = radius + across * np.cos(tilt)
    return Mesh(np.column_stack([r * np.cos(around), r * np.sin(around), across * np.sin(tilt)]), {"quad": cells})


def cross(angles, n=3, lengths=None):
    """Strips of n cells that meet at the z axis, each at its angle about it, rad; strips are cell sets "0", "1", …"""
    points, cells, sets = [[0.0, 0.0, k] for k in range(n + 1)], [], {}
    for number, angle in enumerate(angles):
        start = len(points)
        points += [[np.cos(angle), np.sin(angle), k] for k in range(n + 1)]
        sets[str(number)] = len(cells) + np.arange(n)
        cells += [[k, start + k, start + k + 1, k + 1] for k in range(n)]
    return Mesh(points, {"quad": cells}, cell_sets=sets)


def shuffled(mesh, random, is_turning=True):
    """The same mesh with points and cells in another order and some cells turned over; and where each cell went."""
    order = random.permutation(mesh.n_points)
    place = np.argsort(order)
    cells, went, start = {}, np.empty(mesh.n_cells, dtype=int), 0
    for kind, connectivity, where in mesh.blocks():
        mixed = random.permutation(len(connectivity))
        block = place[connectivity[mixed]]
        if is_turning:
            is_turned = random.random(len(block)) < 0.5
            block[is_turned] = block[is_turned][:, ::-1]
        cells[kind] = block
        went[where.start + mixed] = start + np.arange(len(mixed))
        start += len(mixed)
    return Mesh(mesh.points[order], cells), went
