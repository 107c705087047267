"""Displacements and reactions against textbooks, and what has to hold for every solution."""

from dataclasses import replace

import numpy as np
import pytest
from small_models import CLAMPED, SOLVERS, STEEL, cantilever, hinged_sheets, panel, pulled_sheet

from femkit.errors import MechanismError, ModelError, SolveError, UnderSupportedError
from femkit.mesh import Mesh
from femkit.model import Gravity, LineLoad, LoadCase, Model, Plate, PointLoad, Support, Temperature
from femkit.solve import solve_displacements

E, NU = STEEL.E, STEEL.nu


@pytest.mark.parametrize("solver", SOLVERS)
@pytest.mark.parametrize("triangles", [0, 2, 5])
def test_pulled_sheet_stretches_and_contracts(solver, triangles):
    # Hooke: ux = F x / (E b t), uy = -nu F y / (E b t); Timoshenko & Goodier, Theory of Elasticity, 3rd ed., art. 6
    model = pulled_sheet(panel(5, 4, shake=0.2, triangles=triangles), force=8000.0)
    solution = solve_displacements(model, solver=solver)
    strain = 8000.0 / (E * 200.0 * 2.0)
    x, y, _ = model.mesh.points.T
    expected = np.stack([strain * x, -NU * strain * y], axis=1)
    np.testing.assert_allclose(solution.displacement["pull"], expected, rtol=0, atol=1e-12)
    left = model.mesh.point_sets["left-points"]
    np.testing.assert_allclose(solution.reaction["pull"][left, 0], [-1000, -2000, -2000, -2000, -1000], rtol=1e-10)
    assert solution.proof["pull"].energy == pytest.approx(0.5 * 8000.0 * strain * 400.0, rel=1e-12)


@pytest.mark.parametrize("solver", SOLVERS)
def test_prescribed_edge_makes_an_even_strain(solver):
    # the patch test with displacements: inner points of any mesh follow the plane field given at its border
    mesh = panel(5, 4, shake=0.25, triangles=2)
    field = lambda p: np.stack([1e-3 * p[:, 0] + 2e-3 * p[:, 1], 5e-4 * p[:, 0] - 1e-3 * p[:, 1]], axis=1)  # noqa: E731
    border = np.unique(np.concatenate([line for name, line in mesh.point_sets.items()]))
    supports = [Support([p], ux=u[0], uy=u[1]) for p, u in zip(border, field(mesh.points[border]))]
    inner = np.setdiff1d(np.arange(mesh.n_points), border)
    model = pulled_sheet(mesh, supports=supports, load_cases=[LoadCase("none", [PointLoad(inner[:1], fx=0.0)])])
    solution = solve_displacements(model, solver=solver)
    np.testing.assert_allclose(solution.displacement["none"], field(mesh.points), rtol=0, atol=1e-13)
    np.testing.assert_allclose(solution.reaction["none"][inner], 0.0)
    # energy of an even strain: volume * (sx ex + sy ey + txy gxy) / 2
    ex, ey, gxy = 1e-3, -1e-3, 2.5e-3
    density = E / (1 - NU**2) * (ex**2 + ey**2 + 2 * NU * ex * ey) / 2 + E / (2 + 2 * NU) * gxy**2 / 2
    assert solution.proof["none"].energy == pytest.approx(density * 400 * 200 * 2, rel=1e-12)
    assert solution.proof["none"].work == pytest.approx(solution.proof["none"].energy, rel=1e-12)


def test_clamped_strip_bends_like_a_beam():
    # w = F L^3 / (3 E I), nu = 0 (Timoshenko, Strength of Materials, Part I, 3rd ed., art. 40)
    plate = Plate(5.0, replace(STEEL, nu=0.0))
    model = Model(
        panel(20, 1, 200.0, 10.0),
        plate,
        supports=[Support("left", **CLAMPED)],
        load_cases=[LoadCase("tip", [LineLoad("right", fz=1.0, total=True)])],
    )
    tip = solve_displacements(model).displacement["tip"][model.mesh.point_sets["right-points"], 2]
    expected = 1.0 * 200.0**3 / (3 * E * 10.0 * 5.0**3 / 12)
    np.testing.assert_allclose(tip, expected, rtol=3e-3)  # 20 linear cells


@pytest.mark.parametrize("make", [cantilever, pulled_sheet])
def test_free_expansion_has_no_energy_and_no_reaction(make):
    mesh = panel(5, 4, shake=0.2, triangles=2, rise=30.0 if make is cantilever else 0.0)
    three = [Support([0], ux=0, uy=0), Support([4], ux=0)]  # points at x = 0
    if make is cantilever:
        three += [Support([0, 4, 25], uz=0)]
    warm = LoadCase("warm", [Temperature(np.arange(mesh.n_cells), 50.0)])
    solution = solve_displacements(make(mesh, supports=three, load_cases=[warm]))
    strain = 50.0 * 1.2e-5
    np.testing.assert_allclose(solution.displacement["warm"][:, :2], strain * mesh.points[:, :2], rtol=0, atol=1e-11)
    np.testing.assert_allclose(solution.reaction["warm"], 0.0, rtol=0, atol=1e-5)  # N; held: 1e5
    assert solution.proof["warm"].energy == pytest.approx(0.0, abs=1e-8)
    assert solution.proof["warm"].work == pytest.approx(0.0, abs=1e-8)


def test_held_expansion_presses_on_its_supports():
    # a bar between walls: F = E A alpha dT (Timoshenko, Strength of Materials, Part I, 3rd ed., art. 9)
    mesh = panel(5, 4, shake=0.2, triangles=2)
    walls = [Support("left", ux=0), Support("right", ux=0), Support([0], uy=0)]
    warm = LoadCase("warm", [Temperature(np.arange(mesh.n_cells), 50.0)])
    solution = solve_displacements(pulled_sheet(mesh, supports=walls, load_cases=[warm]))
    force = E * 200.0 * 2.0 * 1.2e-5 * 50.0
    reaction, proof = solution.reaction["warm"], solution.proof["warm"]
    assert reaction[mesh.point_sets["left-points"], 0].sum() == pytest.approx(force, rel=1e-12)
    assert reaction[mesh.point_sets["right-points"], 0].sum() == pytest.approx(-force, rel=1e-12)
    assert proof.energy == pytest.approx(force**2 * 400.0 / (2 * E * 200.0 * 2.0), rel=1e-10)  # F^2 L / (2 E A)
    assert proof.work == pytest.approx(proof.energy, rel=1e-12)
    assert np.all(solution.loads["warm"] == 0)


def test_reactions_balance_loads_of_every_kind():
    bearing = [Support("left", ux=0, uz=0, mean=True), Support("right", uz=0, mean=True), Support("low", uy=0)]
    bearing += [Support("left", rx=0, mean=True)]
    loads = [
        Gravity(),
        LineLoad("high", fy=1.0, fz=-2.0),
        PointLoad([12], fx=50.0, mz=900.0),
        Temperature([0, 3], 40.0),
    ]
    model = cantilever(panel(6, 5, rise=30, triangles=2), supports=bearing, load_cases=[LoadCase("all", loads)])
    solution = solve_displacements(model)
    force, moment = solution.reaction["all"][:, :3], solution.reaction["all"][:, 3:]
    total = np.concatenate([force.sum(axis=0), (moment + np.cross(model.mesh.points, force)).sum(axis=0)])
    applied = model.load_total(model.load_cases[0])
    np.testing.assert_allclose(total, -applied, rtol=0, atol=1e-9 * np.abs(applied).max())
    at_points = model.point_forces(model.load_cases[0])
    np.testing.assert_allclose(solution.loads["all"][:, :3], at_points[:, :3])
    extra = solution.loads["all"] - at_points  # of the line load on triangles' sides: they add up to nothing
    np.testing.assert_allclose(extra.sum(axis=0), 0, atol=1e-9 * np.abs(extra).max())
    assert solution.proof["all"].energy == pytest.approx(solution.proof["all"].work, rel=1e-9)


def test_reactions_are_zero_where_nothing_is_held():
    model = cantilever(panel(5, 4, rise=20))
    reaction = solve_displacements(model).reaction["end"]
    held = np.zeros_like(reaction, dtype=bool)
    held[model.mesh.point_sets["left-points"]] = True
    assert np.all(reaction[~held] == 0.0) and np.all(reaction[held] != 0.0)


def test_numbering_of_points_and_cells_does_not_matter():
    order = np.random.default_rng(5).permutation(42)
    plain, other = (cantilever(panel(6, 5, rise=20, shake=0.2, triangles=2, order=o)) for o in (None, order))
    shuffled = {kind: np.roll(cells[::-1], 1, axis=1) for kind, cells in other.mesh.cells.items()}
    other = replace(other, mesh=Mesh(other.mesh.points, shuffled, edge_sets=other.mesh.edge_sets))
    u, v = (solve_displacements(model).displacement["end"] for model in (plain, other))
    np.testing.assert_allclose(v[order], u, rtol=0, atol=1e-11 * np.abs(u).max())


def test_one_factorisation_serves_all_cases_on_the_same_supports():
    mesh = panel(5, 4)
    cases = [LoadCase(f"case {i}", [LineLoad("right", fz=0.1 * (i + 1))]) for i in range(5)]
    solution = solve_displacements(cantilever(mesh, load_cases=cases))
    counts = solution.counts
    assert (counts.factorisations, counts.right_hand_sides, counts.refinements) == (1, 5, 5)
    assert (counts.unknowns, counts.free, counts.cells) == (180, 150, 20)
    assert counts.nonzeros == 30 * 21 + (49 + 40) * 36  # points; sides and both diagonals of 5 x 4 cells
    assert list(solution.displacement) == [case.name for case in cases]
    for i, case in enumerate(cases):
        expected = (i + 1) * solution.displacement["case 0"]
        np.testing.assert_allclose(
            solution.displacement[case.name], expected, rtol=0, atol=1e-10 * np.abs(expected).max()
        )


@pytest.mark.parametrize("solver", SOLVERS)
def test_a_case_on_its_own_supports_is_factored_apart(solver):
    mesh = panel(5, 4)
    jacks = [Support("right", **CLAMPED), Support("left", uz=1.0, mean=True)]
    end = LoadCase("end", [LineLoad("right", fz=0.1)])
    lifted = LoadCase("lifted", [LineLoad("low", fz=-0.1)], supports=jacks)
    after = LoadCase("after", [LineLoad("low", fz=-0.1)])
    together = solve_displacements(cantilever(mesh, load_cases=[end, lifted, after]), solver=solver)
    assert together.counts.factorisations == 2 and together.counts.right_hand_sides == 3
    assert list(together.displacement) == ["end", "lifted", "after"]
    alone = solve_displacements(cantilever(mesh, supports=jacks, load_cases=[replace(lifted, supports=None)]))
    for field in ("displacement", "reaction"):
        one, other = getattr(together, field)["lifted"], getattr(alone, field)["lifted"]
        np.testing.assert_allclose(one, other, rtol=0, atol=1e-10 * np.abs(other).max())


@pytest.mark.parametrize("solver", SOLVERS)
def test_cases_that_hold_the_same_unknowns_at_other_values_share_a_factorisation(solver):
    # Hooke again, in one direction: u = u0 + (u1 - u0) x / L, whatever the ends are moved by; a force is added to one
    mesh, even = panel(5, 4), {"uy": 0.0}
    length = mesh.extent[0]

    def moved(left, right):
        ends = [Support("left-points", ux=np.full(5, left)), Support("right-points", ux=right)]
        return [*ends, Support(np.arange(mesh.n_points), **even)]

    other = [Support("left-points", ux=0.0, uy=0.0)]
    cases = [
        LoadCase("first", [], supports=moved(0.1, 0.3)),
        LoadCase("apart", [PointLoad("right-points", fx=1.0)], supports=other),
        LoadCase("second", [], supports=moved(-0.2, 0.0)),
    ]
    together = solve_displacements(pulled_sheet(mesh, supports=[], load_cases=cases), solver=solver)
    assert together.counts.factorisations == 2 and together.counts.right_hand_sides == 3
    assert list(together.displacement) == ["first", "apart", "second"]
    for name, left, right in (("first", 0.1, 0.3), ("second", -0.2, 0.0)):
        expected = left + (right - left) * mesh.points[:, 0] / length
        np.testing.assert_allclose(together.displacement[name][:, 0], expected, rtol=0, atol=1e-12)


def test_solvers_agree():
    model = cantilever(panel(12, 8, rise=20, shake=0.2, triangles=4))
    solutions = [solve_displacements(model, solver=solver) for solver in SOLVERS]
    assert [solution.solver for solution in solutions] == SOLVERS
    for field in ("displacement", "reaction"):
        first, second = (getattr(solution, field)["end"] for solution in solutions)
        np.testing.assert_allclose(first, second, rtol=0, atol=1e-9 * np.abs(second).max())


def test_results_are_read_only_and_times_are_told():
    phases = []
    solution = solve_displacements(cantilever(panel(3, 2)), solver="pardiso", progress=phases.append)
    with pytest.raises(ValueError, match="read-only"):
        solution.displacement["end"][0, 0] = 1.0
    assert list(dict.fromkeys(phases)) == ["check", "number", "assemble", "order", "factorise", "solve", "prove"]
    assert set(solution.seconds) == set(phases) and all(t >= 0 for t in solution.seconds.values())


@pytest.mark.parametrize("solver", SOLVERS)
def test_a_part_on_a_hinge_is_refused(solver, monkeypatch):
    monkeypatch.setattr("femkit.solve.statics.find_faults", lambda model: [])  # it would find the fault first
    model = hinged_sheets()
    with pytest.raises(
        MechanismError, match=r'can move without strain.* u[xy] of point 5 at .* on plate "swinging"'
    ) as e:
        solve_displacements(model, solver=solver)
    motion = e.value.motion  # the swinging sheet turns about the shared corner, the other stays
    turn = motion[5, 1] / 100.0
    expected = np.zeros((7, 6))
    expected[4:, 0] = -turn * (model.mesh.points[4:, 1] - 100.0)
    expected[4:, 1] = turn * (model.mesh.points[4:, 0] - 100.0)
    np.testing.assert_allclose(motion, expected, rtol=0, atol=1e-6)
    assert np.abs(motion).max() == pytest.approx(1.0)


def test_solvers_print_nothing(capfd, monkeypatch):
    monkeypatch.setattr("femkit.solve.statics.find_faults", lambda model: [])  # it would find the fault first
    for solver in SOLVERS:
        solve_displacements(cantilever(panel(3, 2)), solver=solver)
        with pytest.raises(SolveError):
            solve_displacements(hinged_sheets(), solver=solver)
    assert capfd.readouterr() == ("", "")


def test_a_model_without_load_case_is_refused():
    with pytest.raises(ModelError, match="the model has no load case"):
        solve_displacements(cantilever(panel(2, 2), load_cases=[]))


def test_a_single_fault_is_raised_as_it_is():
    with pytest.raises(UnderSupportedError, match="can turn about") as caught:
        solve_displacements(cantilever(panel(2, 2), supports=[Support([0], ux=0, uy=0, uz=0)]))
    assert caught.value.motion.shape == (9, 6)


def test_all_faults_are_named_together():
    cases = [LoadCase("end", [LineLoad("rihgt", fx=1.0)]), LoadCase("nothing", [])]
    with pytest.raises(ModelError) as caught:
        solve_displacements(cantilever(panel(2, 2), load_cases=cases))
    assert 'Did you mean "right"?' in str(caught.value) and '"nothing" holds no load' in str(caught.value)


def test_infinite_stiffness_is_refused():
    steel = replace(STEEL, E=1e308)
    model = replace(cantilever(panel(2, 2)), plates=Plate(4.0, steel), units="any")
    with np.errstate(all="ignore"), pytest.raises(SolveError, match="the stiffness is not finite at ux of point 0"):
        solve_displacements(model)
