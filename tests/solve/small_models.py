"""Small models the solver tests share. All dimensions are invented."""

import numpy as np

from femkit.mesh import Mesh
from femkit.model import LineLoad, LoadCase, Material, Model, Plate, PointLoad, Support

STEEL = Material("steel", E=210_000, nu=0.3, density=7.85e-9, expansion=1.2e-5)
CLAMPED = {"ux": 0, "uy": 0, "uz": 0, "rx": 0, "ry": 0, "rz": 0}
SOLVERS = ["superlu", "pardiso"]


def panel(n_x, n_y, length=400.0, width=200.0, *, rise=0.0, triangles=0, shake=0.0, order=None):
    """A panel in the plane z = 0, or bulged by `rise`; the first `triangles` columns of cells are cut in two.

    `shake` moves inner points at random, as a part of the cell size; `order` renumbers points: new index of each.
    """
    x, y = np.meshgrid(np.linspace(0, 1, n_x + 1), np.linspace(0, 1, n_y + 1), indexing="ij")
    grid = np.arange(x.size).reshape(x.shape)
    moves = np.random.default_rng(7).uniform(-shake, shake, (2, *x.shape))
    moves[:, [0, -1]] = moves[:, :, [0, -1]] = 0.0
    x, y = x + moves[0] / n_x, y + moves[1] / n_y
    points = np.stack([length * x, width * y, rise * np.sin(np.pi * x) * np.sin(np.pi * y)], axis=2).reshape(-1, 3)
    quads = np.stack([grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]], axis=2)
    cut = quads[:triangles].reshape(-1, 4)
    cells = {"quad": quads[triangles:].reshape(-1, 4), "triangle": np.concatenate([cut[:, :3], cut[:, [0, 2, 3]]])}
    edges = {"left": grid[0], "right": grid[-1], "low": grid[:, 0], "high": grid[:, -1]}
    if order is not None:
        points[order] = points.copy()
        cells = {kind: order[part] for kind, part in cells.items()}
        edges = {name: order[line] for name, line in edges.items()}
    return Mesh(
        points,
        cells,
        edge_sets={name: np.stack([line[:-1], line[1:]], axis=1) for name, line in edges.items()},
        point_sets={f"{name}-points": line for name, line in edges.items()},
    )


def cantilever(mesh, **more):
    """The panel as a shell of 4 mm, clamped on the left, pulled, pushed across and twisted on the right."""
    given = {
        "supports": [Support("left", **CLAMPED)],
        "load_cases": [LoadCase("end", [LineLoad("right", fx=30.0, fy=4.0, fz=0.05, mx=20.0)])],
        **more,
    }
    return Model(mesh, Plate(4.0, STEEL), **given)


def pulled_sheet(mesh, force=8000.0, **more):
    """The panel in plane stress, 2 mm thick, pulled along x with `force` in all and free to contract."""
    given = {
        "supports": [Support("left", ux=0), Support([mesh.point_sets["left-points"][0]], uy=0)],
        "load_cases": [LoadCase("pull", [LineLoad("right", fx=force, total=True)])],
        **more,
    }
    return Model(mesh, Plate(2.0, STEEL), behaviour="plane stress", **given)


def hinged_sheets():
    """Two square sheets in plane stress that share one corner: the second can swing about it."""
    square = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])
    points = np.concatenate([square, square[1:] + 100.0])
    mesh = Mesh(points, {"quad": [[0, 1, 2, 3], [2, 4, 5, 6]]}, cell_sets={"fixed": [0], "swinging": [1]})
    plates = {"fixed": Plate(2.0, STEEL), "swinging": Plate(2.0, STEEL)}
    return Model(
        mesh,
        plates,
        supports=[Support([0, 3], ux=0, uy=0)],
        load_cases=[LoadCase("tip", [PointLoad([5], fx=1.0)])],
        behaviour="plane stress",
    )


def assemble_plainly(model):
    """The stiffness by a triplet of row, column and number for every entry of every cell; a SciPy array."""
    from scipy.sparse import coo_array

    from femkit.solve import cell_arrays, element_family

    arrays, parts = cell_arrays(model), []
    for kind, connectivity, _block in model.mesh.blocks():
        matrices = element_family(model, kind).stiffness(arrays[kind])
        unknowns = connectivity[:, :, None] * model.n_components + np.arange(model.n_components)
        unknowns = unknowns.reshape(len(connectivity), -1)
        rows, columns = np.broadcast_arrays(unknowns[:, :, None], unknowns[:, None, :])
        parts.append((matrices.ravel(), rows.ravel(), columns.ravel()))
    data, rows, columns = (np.concatenate(part) for part in zip(*parts))
    size = model.mesh.n_points * model.n_components
    return coo_array((data, (rows, columns)), shape=(size, size)).tocsr()
