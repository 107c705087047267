"""Small meshes that several test folders share: flat and folded grids of quadrilaterals or triangles."""

import numpy as np

import femkit as fk

STEEL = fk.Material("steel", E=210_000, nu=0.3, density=7.85e-9, yield_strength=235, ultimate_strength=360)


def grid(length, width, n_length, n_width, *, kind="quad", wobble=0.0, to_space=None, seed=1):
    """A flat sheet in x and y, normals along +z, with edge sets ``left right near far`` and the cell set ``sheet``.

    Parameters
    ----------
    kind : {"quad", "triangle", "mixed"}
    wobble : float
        Share of a cell by which inner points move at random.
    to_space : callable, optional
        Turns flat points (n, 3) into points in space.
    """
    x, y = np.meshgrid(np.linspace(0, length, n_length + 1), np.linspace(0, width, n_width + 1), indexing="ij")
    points = np.column_stack([x.ravel(), y.ravel(), np.zeros(x.size)])
    number = np.arange(x.size).reshape(x.shape)
    if wobble:
        inner = number[1:-1, 1:-1].ravel()
        step = np.array([length / n_length, width / n_width])
        points[inner, :2] += wobble * step * np.random.default_rng(seed).uniform(-1, 1, (len(inner), 2))
    quads = np.stack([number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]], axis=-1).reshape(-1, 4)
    pairs = lambda line: np.column_stack([line[:-1], line[1:]])  # noqa: E731
    split = {"quad": len(quads), "triangle": 0, "mixed": len(quads) // 2}[kind]
    cells = {
        "quad": quads[:split],
        "triangle": np.concatenate([quads[split:][:, [0, 1, 2]], quads[split:][:, [0, 2, 3]]]),
    }
    n_cells = sum(map(len, cells.values()))
    return fk.Mesh(
        points if to_space is None else to_space(points),
        {kind: c for kind, c in cells.items() if len(c)},
        cell_sets={"sheet": np.arange(n_cells)},
        edge_sets={
            "left": pairs(number[0]),
            "right": pairs(number[-1]),
            "near": pairs(number[:, 0]),
            "far": pairs(number[:, -1]),
        },
    )


def cantilever(kind="quad", *, thickness=5.0, length=200.0, width=20.0, n_length=20, n_width=2, loads=(), **more):
    """A strip clamped at its left edge."""
    mesh = grid(length, width, n_length, n_width, kind=kind)
    clamp = fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    cases = [fk.LoadCase("load", list(loads))]
    return fk.Model(mesh, fk.Plate(thickness, STEEL), supports=[clamp], load_cases=cases, **more)
