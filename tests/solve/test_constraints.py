"""Supports by elimination, against Lagrange's multipliers on dense matrices."""

import numpy as np
import pytest
from small_models import CLAMPED, SOLVERS, STEEL, assemble_plainly, cantilever, panel, pulled_sheet

from femkit.errors import ModelError
from femkit.mesh import Mesh
from femkit.model import LineLoad, LoadCase, Model, Plate, PointLoad, Support
from femkit.model.support import constraints_of
from femkit.solve import solve_displacements
from femkit.solve.constraints import reduction_of

PUSH = [LoadCase("push", [LineLoad("high", fx=3.0, fy=-20.0), PointLoad([7], fx=500.0)])]
SHELL_PUSH = [LoadCase("push", [LineLoad("high", fx=3.0, fy=-20.0, fz=0.1), PointLoad([7], fz=5.0, mx=100.0)])]


def with_multipliers(model, case):
    """Displacements and support forces from the dense matrix bordered by one row for each equation of the supports."""
    constraints = constraints_of(model.mesh, model.supports_of(case), model.n_components)
    size = model.mesh.n_points * model.n_components
    rows = [np.eye(size)[i] for i in np.flatnonzero(constraints.is_held)]
    values = list(constraints.value[constraints.is_held])
    for mean in constraints.means:
        row = np.zeros(size)
        row[mean.points * model.n_components + mean.component] = mean.weights
        rows.append(row)
        values.append(mean.value)
    rows, stiffness = np.array(rows), assemble_plainly(model).toarray()
    scale = np.abs(stiffness).max()  # rows of the size of the matrix, for a well conditioned whole
    bordered = np.block([[stiffness, scale * rows.T], [scale * rows, np.zeros((len(rows), len(rows)))]])
    loads = model.point_forces(case)[:, : model.n_components].ravel()
    solved = np.linalg.solve(bordered, np.concatenate([loads, scale * np.array(values)]))
    shape = (-1, model.n_components)
    return solved[:size].reshape(shape), (-scale * rows.T @ solved[size:]).reshape(shape)


HINGED = [Support("left", ux=0, uy=0, mean=True), Support("right", uy=0.2, mean=True)]
SUPPORTS = {
    "held": [Support("left", ux=0, uy=0), Support("right-points", uy=-0.1)],
    "means": HINGED,
    "mean over cells": [Support("sheet", ux=0.3, uy=0.1, mean=True), Support("left", ux=0.1)],
    "mean of a set partly held": [Support("left", ux=0, mean=True), Support([0, 1], uy=0), Support([1], ux=0.05)],
    "means that share points": [
        *HINGED,
        Support("low", ux=0.4, uy=0.1, mean=True),
        Support("low-points", ux=0.3, mean=True),
    ],
    "one mean within another": [*HINGED, Support([0, 1], uy=0.1, mean=True)],
    "the mean of one point": [Support([0], ux=0.1, uy=0, mean=True), Support("right", uy=0)],
}


@pytest.mark.parametrize("solver", SOLVERS)
@pytest.mark.parametrize("name", SUPPORTS)
def test_plane_supports_agree_with_multipliers(name, solver):
    mesh = panel(4, 3, shake=0.2, triangles=1)
    mesh = Mesh(
        mesh.points, mesh.cells, edge_sets=mesh.edge_sets, point_sets=mesh.point_sets, cell_sets={"sheet": [0, 9, 10]}
    )
    model = pulled_sheet(mesh, supports=SUPPORTS[name], load_cases=PUSH)
    _agrees_with_multipliers(model, solver)


@pytest.mark.parametrize("solver", SOLVERS)
def test_shell_bearing_agrees_with_multipliers(solver):
    supports = [
        Support("left", ux=0, uz=0, mean=True),
        Support("right", uz=0.5, mean=True),
        Support("low", uy=0, rx=0.001, mean=True),
        Support("left-points", ry=0, uy=0, mean=True),
    ]
    _agrees_with_multipliers(cantilever(panel(4, 3, rise=20), supports=supports, load_cases=SHELL_PUSH), solver)


def _agrees_with_multipliers(model, solver):
    case = model.load_cases[0]
    displacement, reaction = with_multipliers(model, case)
    solution = solve_displacements(model, solver=solver)
    # 1e-9: what is left of 16 digits by the conditioning of the dense bordered matrix
    np.testing.assert_allclose(
        solution.displacement[case.name], displacement, rtol=0, atol=1e-9 * np.abs(displacement).max()
    )
    np.testing.assert_allclose(solution.reaction[case.name], reaction, rtol=0, atol=1e-9 * np.abs(reaction).max())


@pytest.mark.parametrize("name", SUPPORTS)
def test_prescribed_values_and_means_are_met(name):
    mesh = panel(4, 3)
    mesh = Mesh(
        mesh.points, mesh.cells, edge_sets=mesh.edge_sets, point_sets=mesh.point_sets, cell_sets={"sheet": [0, 4, 5]}
    )
    model = pulled_sheet(mesh, supports=SUPPORTS[name], load_cases=PUSH)
    u = solve_displacements(model).displacement["push"]
    constraints = constraints_of(model.mesh, model.supports, 2)
    assert np.array_equal(u[constraints.is_held], constraints.value[constraints.is_held])
    for mean in constraints.means:
        assert mean.weights @ u[mean.points, mean.component] == pytest.approx(mean.value, abs=1e-14)


def test_which_unknown_a_mean_gives_up_does_not_matter():
    solutions, given_up = [], []
    supports = [Support("left-points", ux=0, uz=0, mean=True), Support("right-points", uz=0.3, mean=True)]
    supports += [Support("low-points", uy=0, rx=0, mean=True), Support("right-points", uy=0, mean=True)]
    for order in (np.arange(25), np.arange(25)[::-1], np.random.default_rng(1).permutation(25)):
        same = panel(4, 4, rise=20, order=order)
        load = LoadCase("push", [LineLoad("high", fy=-20.0, fz=0.1)])
        model = cantilever(same, supports=supports, load_cases=[load])
        reduction = reduction_of(model, constraints_of(same, supports))
        given_up.append(set(np.argsort(order)[reduction.dependent // 6]))
        solution = solve_displacements(model)
        solutions.append((solution.displacement["push"][order], solution.reaction["push"][order]))
    assert given_up[0] != given_up[1] != given_up[2]  # points of equal weight: the first in number gives up
    for fields in zip(*solutions):
        for other in fields[1:]:
            np.testing.assert_allclose(other, fields[0], rtol=0, atol=1e-11 * np.abs(fields[0]).max())


def test_reaction_of_a_mean_lies_on_its_points_by_weight():
    model = pulled_sheet(panel(4, 4), supports=HINGED, load_cases=PUSH)
    reaction = solve_displacements(model).reaction["push"]
    right = model.mesh.point_sets["right-points"]
    share = np.array([1, 2, 2, 2, 1]) / 8  # points of an edge weigh by the length they stand for
    np.testing.assert_allclose(reaction[right, 1], share * reaction[right, 1].sum(), rtol=1e-12)
    assert np.all(reaction[right, 0] == 0.0)


def test_a_mean_leaves_the_bearing_free_to_rock():
    # a strip on a mean at each end turns there like a simply supported beam: w = 5 q L^4 / (384 E I), nu = 0
    # (Timoshenko, Strength of Materials, Part I, 3rd ed., art. 39; shear is 1e-4 of it at L/t = 100)
    length, width, thickness, load = 400.0, 20.0, 4.0, 0.01
    soft = Plate(thickness, type(STEEL)("steel", E=210_000, nu=0.0, density=7.85e-9))
    mesh = panel(32, 1, length, width)
    ends = [Support("left", ux=0, uy=0, uz=0, rz=0, rx=0, mean=True), Support("right", uz=0, mean=True)]
    case = LoadCase("even", [LineLoad("low", fz=-load / 2), LineLoad("high", fz=-load / 2)])
    model = Model(mesh, soft, supports=ends, load_cases=[case])
    deflection = solve_displacements(model).displacement["even"][:, 2].min()
    expected = -5 * load * length**4 / (384 * 210_000 * width * thickness**3 / 12)
    assert deflection == pytest.approx(expected, rel=2e-3)  # 32 linear cells


def test_means_that_contradict_each_other_are_refused():
    twice = [*HINGED, Support("right", uy=0.3, mean=True)]
    with pytest.raises(ModelError, match=r'support "right": its mean uy of 0.3 contradicts'):
        solve_displacements(pulled_sheet(panel(4, 3), supports=twice, load_cases=PUSH))


def test_a_mean_said_twice_is_taken_once():
    once, twice = (
        solve_displacements(pulled_sheet(panel(4, 3), supports=HINGED + more, load_cases=PUSH)).displacement["push"]
        for more in ([], [Support("right", uy=0.2, mean=True)])
    )
    np.testing.assert_allclose(once, twice, rtol=0, atol=1e-12)


def test_points_without_cells_are_held(monkeypatch):
    monkeypatch.setattr("femkit.solve.statics.find_faults", lambda model: [])  # it would find the fault first
    mesh = panel(4, 3)
    more = Mesh(
        np.vstack([mesh.points, [[900, 0, 0]]]), mesh.cells, edge_sets=mesh.edge_sets, point_sets=mesh.point_sets
    )
    plain, lonely = (
        solve_displacements(cantilever(m, supports=[Support("left-points", **CLAMPED)])) for m in (mesh, more)
    )
    assert np.all(lonely.displacement["end"][-1] == 0)
    np.testing.assert_allclose(lonely.displacement["end"][:-1], plain.displacement["end"], rtol=1e-9, atol=1e-12)
