"""A mesh with every cell cut in four is the same sheet, with the same sets."""

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk


@pytest.mark.parametrize("kind", ("quad", "triangle", "mixed"))
def test_cells_points_and_area_are_those_of_the_sheet(kind):
    mesh = grid(120.0, 80.0, 4, 3, kind=kind, wobble=0.2)
    finer = fk.refine(mesh)
    assert finer.n_cells == 4 * mesh.n_cells
    n_quads = len(mesh.cells.get("quad", ()))
    assert (
        finer.n_points == mesh.n_points + len(mesh.edges.points) + n_quads
    )  # Euler: one a corner, edge and quadrilateral
    assert finer.areas.sum() == pytest.approx(mesh.areas.sum())
    assert (finer.normals[:, 2] > 0).all()
    assert (finer.edges.count <= 2).all() and len(np.unique(finer.corners[finer.corners >= 0])) == finer.n_points


def test_sets_cover_what_they_covered():
    mesh = grid(120.0, 80.0, 4, 3, kind="mixed")
    left = np.flatnonzero(mesh.centres[:, 0] < 60)
    mesh = fk.Mesh(
        mesh.points, mesh.cells, cell_sets={"left": left}, edge_sets=mesh.edge_sets, point_sets={"corner": [0]}
    )
    finer = fk.refine(mesh)
    assert (finer.centres[finer.cell_sets["left"], 0] < 60).all()
    assert finer.areas[finer.cell_sets["left"]].sum() == pytest.approx(mesh.areas[left].sum())
    assert (finer.points[finer.edge_sets["right"]][..., 0] == 120).all() and len(finer.edge_sets["right"]) == 6
    assert list(finer.point_sets["corner"]) == [0]


def test_a_cut_mesh_comes_nearer_to_the_series():
    # S. Timoshenko & S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., table 35: clamped square plate,
    # w = 0.00126 q a⁴/D; more digits from a Ritz calculation, thin
    mesh, found = grid(200.0, 200.0, 4, 4), []
    for _ in range(3):
        held = [fk.Support(s, ux=0, uy=0, uz=0, rx=0, ry=0, rz=0) for s in ("left", "right", "near", "far")]
        cases = [fk.LoadCase("q", [fk.Pressure("sheet", 1e-4)])]
        case = fk.solve_static(fk.Model(mesh, fk.Plate(1.0, STEEL), supports=held, load_cases=cases))["q"]
        rigidity = 210_000 / 12 / (1 - 0.3**2)
        found.append(-case.displacement_at(fk.near(100, 100))[2] * rigidity / (1e-4 * 200**4))
        mesh = fk.refine(mesh)
    errors = np.abs(np.array(found) / 0.0012653191 - 1)
    assert errors[1] < errors[0] / 3 and errors[2] < errors[1] / 3  # fourfold is the theory's
