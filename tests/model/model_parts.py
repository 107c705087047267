"""Meshes of several parts and models on them, shared by the tests of the model. All dimensions are invented."""

import numpy as np
from sheets import STEEL, grid

import femkit as fk

__all__ = ["CLAMP", "closed_box", "fault", "linkage", "model_of", "parts", "ring"]

CLAMP = {"ux": 0, "uy": 0, "uz": 0, "rx": 0, "ry": 0, "rz": 0}


def model_of(mesh, *, by_set=False, **more):
    """A model of steel, 3 mm thick, with one plate for all cells or one for every cell set."""
    plate = fk.Plate(3.0, STEEL)
    plates = dict.fromkeys(mesh.cell_sets, plate) if by_set else plate
    return fk.Model(mesh, **{"plates": plates, **more})


def fault(model):
    """The one sentence that `check` finds."""
    faults = model.check()
    assert len(faults) == 1, faults
    return faults[0]


def parts(**shifts):
    """Sheets of 400 × 200 mm, 4 × 2 cells each, that share no points: name to (x, y, z) of their corner."""
    points, quads, cell_sets = [], [], {}
    for i, (name, shift) in enumerate(shifts.items()):
        sheet = grid(400, 200, 4, 2)
        points.append(sheet.points + shift)
        quads.append(sheet.cells["quad"] + i * sheet.n_points)
        cell_sets[name] = i * sheet.n_cells + np.arange(sheet.n_cells)
    return fk.Mesh(np.concatenate(points), {"quad": np.concatenate(quads)}, cell_sets=cell_sets)


def linkage(*places):
    """Squares of 100 mm in the plane, each given by its lower left corner, that share the points where they touch."""
    square = np.array([[0.0, 0.0], [1, 0], [1, 1], [0, 1]]) * 100
    corners = np.concatenate([square + place for place in places])
    points, number = np.unique(corners, axis=0, return_inverse=True)
    quads = number.reshape(-1, 4)
    return fk.Mesh(points, {"quad": quads}, cell_sets={f"link {i}": [i] for i in range(len(quads))})


def ring(radius, length, n_around, n_along, *, end=2 * np.pi):
    """A cylinder about the z axis, or a piece of one from the x axis on, top outwards."""
    sheet = grid(end, length, n_around, n_along)
    angle, z = sheet.points[:, 0], sheet.points[:, 1]
    points = np.column_stack([radius * np.cos(angle), radius * np.sin(angle), z])
    return fk.Mesh(points, sheet.cells, cell_sets={"ring": np.arange(sheet.n_cells)})


def closed_box(moved):
    """A cube of 6 × 4 quadrilaterals, top outwards, its 26 points moved by `moved` (26, 3): a closed, warped box."""
    n = np.arange(3)
    a, b = (x.ravel() for x in np.meshgrid(n, n, indexing="ij"))
    quads, points = [], []
    for axis in range(3):
        for side in (0, 2):
            face = np.empty((9, 3))
            face[:, axis], face[:, (axis + 1) % 3], face[:, (axis + 2) % 3] = side, a, b
            number = 9 * len(points) + np.arange(9).reshape(3, 3)
            cells = np.stack([number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]], axis=-1)
            quads.append(cells.reshape(-1, 4)[:, :: 1 if side else -1])
            points.append(face)
    unique, index = np.unique(np.concatenate(points), axis=0, return_inverse=True)
    return fk.Mesh(100 * (unique + moved), {"quad": index.ravel()[np.concatenate(quads)]})
