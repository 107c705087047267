"""Solving again: the same answers as from nothing, with no more work than the change asks for."""

from dataclasses import replace

import numpy as np
import pytest
from small_models import CLAMPED, SOLVERS, STEEL, cantilever, panel, pulled_sheet

import femkit as fk
from femkit.solve.cells import cell_arrays
from femkit.solve.kept import iterations_between

pytestmark = pytest.mark.filterwarnings("ignore::femkit.FemkitWarning")  # thin plates sag, which is not asked here

ALUMINIUM = fk.Material("aluminium", E=70_000, nu=0.33, density=2.7e-9)


def two_plates(thick=4.0, thin=2.0, **more):
    """A curved panel of both kinds of cells, whose first half is thicker, with a rib along one edge; invented."""
    mesh = panel(8, 6, rise=15.0, triangles=3, shake=0.2)
    half = mesh.centres[:, 0] < 200.0
    mesh = replace(mesh, cell_sets={"thick": np.flatnonzero(half), "thin": np.flatnonzero(~half)})
    given = {
        "plates": {"thick": fk.Plate(thick, STEEL), "thin": fk.Plate(thin, STEEL)},
        "beams": {"high": fk.Beam(fk.flat_bar(30, 5), STEEL, up=(0, 0, 1))},
        "load_cases": [fk.LoadCase("end", [fk.LineLoad("right", fz=0.5)]), fk.LoadCase("weight", fk.Gravity())],
    }
    return replace(cantilever(mesh, load_cases=[]), **given, **more)


def both(first, then, **how):
    """What a solver finds for the second model after the first, and what a cold solve finds."""
    with fk.StaticSolver(first, **how) as solver:
        solver.solve()
        again = solver.solve(then)
    return again, fk.solve_static(then, solver=how.get("solver", "auto"))


def assert_same(again, cold, rtol=1e-10):
    for one, other in zip(again, cold):
        for field in ("displacement", "reaction"):
            expected = getattr(other, field)
            for part in (slice(3), slice(3, 6)):
                atol = rtol * np.abs(expected[:, part]).max()
                np.testing.assert_allclose(getattr(one, field)[:, part], expected[:, part], rtol=0, atol=atol)
        assert again.solution.proof[one.name].residual < 1e-12


@pytest.mark.parametrize("solver", SOLVERS)
@pytest.mark.parametrize(
    "change, formed",
    [
        ({"thin": fk.Plate(3.0, STEEL)}, 24),
        ({"thin": fk.Plate(2.0, STEEL, offset=1.0)}, 24),
        ({"thick": fk.Plate(4.0, ALUMINIUM)}, 42),
        ({"thick": fk.Plate(60.0, STEEL), "thin": fk.Plate(0.3, STEEL)}, 66),
    ],
)
def test_a_changed_plate_is_as_a_new_model(solver, change, formed):
    first = two_plates()
    then = replace(first, plates=first.plates | change)
    again, cold = both(first, then, solver=solver)
    assert_same(again, cold)
    counts = again.solution.counts
    assert (counts.formed, counts.factorisations, counts.iterations) == (formed, 1, 0)


def test_there_and_back_again_leaves_no_rounding():
    # a plate 100 times as thick is 1 000 000 times as stiff: differences of what is added up would lose six digits
    first = two_plates()
    heavy = replace(first, plates=first.plates | {"thin": fk.Plate(200.0, STEEL)})
    with fk.StaticSolver(first) as solver:
        before = solver.solve()
        solver.solve(heavy)
        assert_same(solver.solve(first), before)


def test_other_loads_cost_one_more_solution():
    first = two_plates()
    then = replace(first, load_cases=[fk.LoadCase("pull", fk.LineLoad("right", fx=5.0))])
    again, cold = both(first, then)
    assert_same(again, cold)
    assert again.solution.counts.formed == again.solution.counts.factorisations == 0
    assert not {"order", "factorise"} & again.solution.seconds.keys()


def test_changed_beams_and_density():
    first = two_plates()
    bar = {"high": fk.Beam(fk.flat_bar(40, 5), STEEL, up=(0, 0, 1))}
    again, cold = both(first, replace(first, beams=bar))
    assert_same(again, cold)
    assert (again.solution.counts.formed, again.solution.counts.factorisations) == (8, 1)
    heavy = replace(STEEL, density=9e-9)  # the load changes, and no stiffness does
    then = replace(first, plates={name: replace(plate, material=heavy) for name, plate in first.plates.items()})
    again, cold = both(first, then)
    assert_same(again, cold)
    assert again.solution.counts.factorisations == 0


@pytest.mark.parametrize("keeps_factors, factorisations", [(True, 0), (False, 2)])
def test_each_set_of_supports_has_its_factor(keeps_factors, factorisations):
    jacks = [fk.Support("right", **CLAMPED), fk.Support("left", uz=1.0, mean=True)]
    lowered = [jacks[0], fk.Support("left", uz=-0.5, mean=True)]
    first = two_plates()
    cases = [
        fk.LoadCase("end", [fk.LineLoad("right", fz=0.5)]),
        fk.LoadCase("lifted", [fk.LineLoad("low", fz=-0.1)], supports=jacks),
        fk.LoadCase("lowered", [fk.LineLoad("low", fz=-0.2)], supports=lowered),
    ]
    first = replace(first, load_cases=cases)
    again, cold = both(first, replace(first, load_cases=cases[::-1]), keeps_factors=keeps_factors)
    assert cold.solution.counts.factorisations == 2  # lifted and lowered hold the same unknowns
    assert again.solution.counts.factorisations == factorisations - (not keeps_factors)
    for name in ("end", "lifted", "lowered"):
        expected = cold[name].displacement
        np.testing.assert_allclose(again[name].displacement, expected, rtol=0, atol=1e-9 * np.abs(expected).max())


def test_what_shares_no_pattern_is_solved_as_at_first():
    first = two_plates()
    others = [
        cantilever(panel(5, 4)),
        pulled_sheet(panel(5, 4)),
        replace(first, beams={}),
        replace(first, supports=[fk.Support("left", uz=0, mean=True), fk.Support("right", **CLAMPED)]),
    ]
    for other in others:
        again, cold = both(first, other)
        assert_same(again, cold)
        counts = again.solution.counts
        assert (counts.formed, counts.factorisations) == (other.mesh.n_cells + len(other.beam_cells), 1)


def test_a_model_with_faults_leaves_what_is_kept():
    first = two_plates()
    with fk.StaticSolver(first) as solver:
        solver.solve()
        with pytest.raises(fk.ModelError, match="no plate for"):
            solver.solve(replace(first, plates={"thin": fk.Plate(2.0, STEEL)}))
        assert solver.solve().solution.counts.factorisations == 0


def test_small_changes_need_no_new_factor(monkeypatch):
    # E t to E t³ times 1.05: condition at most 1.05³, bound of Saad, section 6.11.3; the exact number is no claim
    first = two_plates()
    then = replace(first, plates=first.plates | {"thin": fk.Plate(2.1, STEEL)})
    bound = iterations_between(cell_arrays(first), cell_arrays(then))
    root = np.sqrt(1.05**3)
    assert 2 * ((root - 1) / (root + 1)) ** bound < 1e-12 < 2 * ((root - 1) / (root + 1)) ** (bound - 1)
    monkeypatch.setattr("femkit.solve.kept.FACTORISATION", 10.0)  # as if a factorisation cost more
    again, cold = both(first, then)
    assert_same(again, cold)
    assert again.solution.counts.factorisations == 0 and 0 < again.solution.counts.iterations <= bound + 1
    assert iterations_between(cell_arrays(first), cell_arrays(two_plates(thin=20.0))) > 50
    moved = replace(first, plates=first.plates | {"thin": fk.Plate(2.0, STEEL, offset=0.1)})
    assert iterations_between(cell_arrays(first), cell_arrays(moved)) == np.inf  # nothing known


def test_responses_to_unit_forces_are_rows_of_the_flexibility():
    # Maxwell, Phil. Mag. 27 (1864): what a unit force at a does at b, it does at b as one at a; supports held at 0
    model = replace(two_plates(), supports=[fk.Support("left", **{**CLAMPED, "uz": 0.3})])
    forces = np.zeros((model.mesh.n_points, 6, 2))
    a, b = model.mesh.point_sets["right-points"][[0, -1]]
    forces[a, 2, 0] = forces[b, 4, 1] = 1.0
    with fk.StaticSolver(model) as solver:
        moved = solver.respond(forces, "end")
        assert moved[b, 4, 0] == pytest.approx(moved[a, 2, 1], rel=1e-8)
        np.testing.assert_allclose(solver.respond(forces[..., 0], "end"), moved[..., 0], rtol=1e-9, atol=1e-15)
        # the work of the loads of a case on the unit's displacements is what the unit does on the case's
        free = replace(model, supports=[fk.Support("left", **CLAMPED)])
        loads = model.point_forces(model.load_cases[0])
        assert solver.solve(free)["end"].displacement[a, 2] == pytest.approx((loads * moved[..., 0]).sum(), rel=1e-8)
        with pytest.raises(fk.ModelError, match=r'no load case "ende".*"end"'):
            solver.respond(forces, "ende")
        with pytest.raises(fk.ModelError, match=r"it must be \(63, 6\)"):
            solver.respond(np.zeros(6), "end")
