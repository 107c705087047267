"""Forces of cells on their points."""

import numpy as np
import pytest
from small_models import cantilever, panel, pulled_sheet

from femkit.model import LineLoad, LoadCase, Temperature
from femkit.solve import cell_forces, solve_displacements
from femkit.solve.assemble import assemble_stiffness
from femkit.solve.pattern import find_pattern


def add_at_points(model, forces, cells=None):
    """Sum of cell forces at every point."""
    total = np.zeros((model.mesh.n_points, model.n_components))
    for kind, connectivity, block in model.mesh.blocks():
        chosen = slice(None) if cells is None else cells[block]
        np.add.at(total, connectivity[chosen], forces[kind])
    return total


@pytest.mark.parametrize("make", [cantilever, pulled_sheet])
def test_all_cells_together_carry_loads_and_reactions(make):
    mesh = panel(5, 4, shake=0.2, triangles=2, rise=20.0 if make is cantilever else 0.0)
    warm = Temperature([0, 1, 12], 30.0)
    model = make(mesh, load_cases=[LoadCase("all", [LineLoad("right", fx=10.0, fy=2.0), warm])])
    solution = solve_displacements(model)
    forces = cell_forces(model, solution.displacement["all"], warm.cell_strain(model))
    acting = solution.loads["all"] + solution.reaction["all"]
    np.testing.assert_allclose(add_at_points(model, forces), acting, rtol=0, atol=1e-8 * np.abs(acting).max())


def test_cells_beyond_a_section_pass_the_load_on():
    model = cantilever(panel(6, 4, rise=20, triangles=2))
    u = solve_displacements(model).displacement["end"]
    beyond = model.mesh.centres[:, 0] > 200.0
    forces = cell_forces(model, u, cells=beyond)
    assert forces["quad"].shape == (12, 4, 6) and forces["triangle"].shape == (0, 3, 6)
    at_points = add_at_points(model, forces, beyond)
    section = np.abs(model.mesh.points[:, 0] - 200.0) < 1e-6
    load = model.point_forces(model.load_cases[0])
    # the section carries what acts beyond it: minus the load, with moments about the origin
    turned = at_points[:, 3:] + np.cross(model.mesh.points, at_points[:, :3])
    total = np.concatenate([at_points[section, :3].sum(axis=0), turned[section].sum(axis=0)])
    np.testing.assert_allclose(total, -model.load_total(model.load_cases[0]), rtol=1e-8, atol=1e-5)
    beyond_section = model.mesh.points[:, 0] > 200.1
    np.testing.assert_allclose(at_points[beyond_section], load[beyond_section], rtol=0, atol=1e-7)


def test_rigid_motion_needs_no_forces():
    model = cantilever(panel(4, 3, rise=20, triangles=1))
    shift = np.tile([1.0, -2.0, 3.0, 0.0, 0.0, 0.0], (model.mesh.n_points, 1))
    largest = assemble_stiffness(model, find_pattern(model.mesh, 6)).diagonal.max()
    for force in cell_forces(model, shift).values():
        np.testing.assert_allclose(force, 0.0, rtol=0, atol=1e-13 * largest)
