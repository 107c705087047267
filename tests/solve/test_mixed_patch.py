"""Constant states pass from quadrilaterals to triangles: the patch test on meshes that hold both."""

from dataclasses import replace

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk


def held_at_border(mesh, field, n_components):
    """One support a point of the border, at the field's values."""
    names = ("ux", "uy", "uz", "rx", "ry", "rz")[:n_components]
    border = np.unique(np.concatenate(list(mesh.edge_sets.values())))
    return [fk.Support([int(p)], **dict(zip(names, field[p].tolist()))) for p in border]


@pytest.mark.parametrize("behaviour", ("shell", "plane stress"))
def test_constant_membrane_state_on_a_mixed_mesh(behaviour):
    # R. H. MacNeal, R. L. Harder, Finite Elements in Analysis and Design 1 (1985) 3-20: u = 1e-3 (x + y/2), v likewise
    mesh = grid(240.0, 120.0, 6, 5, kind="mixed", wobble=0.25)
    x, y = mesh.points[:, :2].T
    field = np.zeros((mesh.n_points, 6 if behaviour == "shell" else 2))
    field[:, 0], field[:, 1] = 1e-3 * (x + y / 2), 1e-3 * (y + x / 2)
    supports = held_at_border(mesh, field, field.shape[1])
    cases = [fk.LoadCase("patch", [fk.PointLoad(fk.near(0, 0), fx=0.0)])]
    model = fk.Model(mesh, fk.Plate(2.0, STEEL), supports=supports, load_cases=cases, behaviour=behaviour)
    case = fk.solve_static(model)["patch"]
    assert case.displacement[:, : field.shape[1]] == pytest.approx(field, abs=1e-12)
    exact = np.array([210_000 * 1.3 * 1e-3 / 0.91] * 2 + [210_000 * 1e-3 / 2.6])  # E (1 + nu) / (1 - nu²), G, by hand
    assert case.stress("middle") == pytest.approx(np.tile(exact, (mesh.n_cells, 1)), rel=1e-9)


def test_constant_bending_state_on_a_mixed_mesh():
    # the same source: w = 1e-3 (x² + xy + y²)/2, here per mm, rotations its slopes; m = D (1 + nu), D (1 - nu)/2
    mesh = grid(240.0, 120.0, 6, 5, kind="mixed", wobble=0.25)
    x, y = mesh.points[:, :2].T
    field = np.zeros((mesh.n_points, 6))
    field[:, 2] = 1e-6 * (x**2 + x * y + y**2) / 2
    field[:, 3], field[:, 4] = 1e-6 * (y + x / 2), -1e-6 * (x + y / 2)
    cases = [fk.LoadCase("patch", [fk.PointLoad(fk.near(0, 0), fx=0.0)])]
    model = fk.Model(mesh, fk.Plate(2.0, STEEL), supports=held_at_border(mesh, field, 6), load_cases=cases)
    case = fk.solve_static(model)["patch"]
    rigidity = 210_000 * 2.0**3 / 12 / 0.91
    exact = (
        -1e-6 * rigidity * np.array([1.3, 1.3, 0.35])
    )  # the sheet bends upward at its ends: the bottom is in tension
    assert case.displacement == pytest.approx(field, abs=1e-12)
    assert case.bending_moment == pytest.approx(np.tile(exact, (mesh.n_cells, 1)), rel=1e-8)


@pytest.mark.parametrize("kind", ("quad", "triangle", "mixed"))
def test_constant_state_from_edge_loads(kind):
    # the load form of the same patch: tractions of sx = 12, sy = -5, txy = 7 MPa on the border, held against rigid
    # motion only; by hand, stress is theirs everywhere
    thickness, stress = 2.0, np.array([[12.0, 7.0], [7.0, -5.0]])
    mesh = grid(240.0, 120.0, 6, 5, kind=kind, wobble=0.25)
    outward = {"left": (-1, 0), "right": (1, 0), "near": (0, -1), "far": (0, 1)}
    pulls = {side: thickness * stress @ normal for side, normal in outward.items()}
    loads = [fk.LineLoad(side, fx=fx, fy=fy) for side, (fx, fy) in pulls.items()]
    held = [fk.Support(fk.near(0, 0), ux=0, uy=0, uz=0, rx=0, ry=0), fk.Support(fk.near(240, 0), uy=0, uz=0)]
    model = fk.Model(mesh, fk.Plate(thickness, STEEL), supports=held, load_cases=[fk.LoadCase("patch", loads)])
    case = fk.solve_static(model)["patch"]
    assert case.stress("middle") == pytest.approx(np.tile([12.0, -5.0, 7.0], (mesh.n_cells, 1)), rel=1e-8)
    assert np.nanmax(case.averaged_stress("top")[1]) < 1e-7


@pytest.mark.parametrize("kind", ("quad", "triangle", "mixed"))
def test_a_line_load_inside_a_sheet_leaves_no_stress_beyond(kind):
    # pulled at x = 120 by 24 N/mm: sx = 12 MPa before, by hand, and nothing beyond; nu = 0, since the sheet would
    # contract before the line and not beyond
    mesh = grid(240.0, 120.0, 6, 4, kind=kind)
    line = np.flatnonzero(np.isclose(mesh.points[:, 0], 120.0))
    load = fk.LineLoad(np.column_stack([line[:-1], line[1:]]), fx=24.0)
    held = [
        fk.Support("left", ux=0, rz=0),
        fk.Support(fk.near(0, 0), uy=0),
        fk.Support(fk.near(240, 0), uz=0),
        fk.Support("left", uz=0),
    ]
    plate = fk.Plate(2.0, replace(STEEL, nu=0.0))
    model = fk.Model(mesh, plate, supports=held, load_cases=[fk.LoadCase("pull", load)])
    stress = fk.solve_static(model)["pull"].stress("middle")
    exact = np.where(mesh.centres[:, :1] < 120, [12.0, 0.0, 0.0], 0.0)
    assert stress == pytest.approx(exact, abs=1e-10)
