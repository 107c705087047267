"""A solution that does not hold must not be handed out."""

import numpy as np
import pytest
from sheets import STEEL, grid
from small_models import CLAMPED, SOLVERS, cantilever, panel

import femkit as fk
from femkit.errors import SolveError, UnbalancedError
from femkit.model import LineLoad, LoadCase, Material, Model, Plate, Support
from femkit.model.support import constraints_of
from femkit.solve import solve_displacements
from femkit.solve.assemble import assemble_stiffness
from femkit.solve.constraints import reduction_of
from femkit.solve.pattern import find_pattern
from femkit.solve.proof import prove


def evidence(model):
    """What `prove` is given for the first load case of a model, to be tampered with."""
    case = model.load_cases[0]
    solution = solve_displacements(model)
    stiffness = assemble_stiffness(model, find_pattern(model.mesh, 6))
    reduction = reduction_of(model, constraints_of(model.mesh, model.supports))
    u, loads, reaction = (
        field[case.name].ravel().copy() for field in (solution.displacement, solution.loads, solution.reaction)
    )
    return {
        "displacement": u,
        "inner": stiffness.dot(u),
        "sizes": stiffness.absolute_dot(u) + np.abs(loads),
        "loads": loads,
        "thermal": np.zeros_like(u),
        "reaction": reaction,
        "reduction": reduction,
        "held_energy": 0.0,
    }


@pytest.fixture
def model():
    return cantilever(panel(6, 4, rise=20))


def test_a_good_solution_is_proven(model):
    proof = prove(model, "end", **evidence(model))
    assert proof.residual < 1e-14
    assert np.all(np.abs(proof.balance) <= proof.allowed)
    assert np.all(proof.allowed[:3] < 1e-5)  # N, of a load of 6 kN
    assert proof.energy == pytest.approx(proof.work, rel=1e-9)


def test_a_wrong_displacement_is_refused(model):
    shown = evidence(model)
    shown["inner"][100] += 1e-6 * shown["sizes"][100]
    with pytest.raises(SolveError, match=r'load case "end": the solution leaves a componentwise residual of'):
        prove(model, "end", **shown)


@pytest.mark.parametrize(
    "component, words", [(0, "N .force in x;"), (2, "N .force in z;"), (4, "N mm .moment about y;")]
)
def test_a_lost_reaction_is_refused(model, component, words):
    shown = evidence(model)
    shown["reaction"].reshape(-1, 6)[0, component] *= 0.9999
    with pytest.raises(UnbalancedError, match=f'load case "end": loads and reactions differ by .* {words}') as caught:
        prove(model, "end", **shown)
    assert caught.value.residual.shape == (6,)


@pytest.mark.parametrize("solver", SOLVERS)
@pytest.mark.parametrize("thickness", [20.0, 2.0, 0.2, 0.02])
@pytest.mark.parametrize("rise", [0.0, 20.0])
def test_thin_soft_sheets_prove_themselves(solver, thickness, rise):
    # a long strip 25 000 times as long as thick at the thinnest: rounding of displacements alone shows in |r| / |f|
    mesh = panel(60, 6, 500.0, 50.0, rise=rise)
    model = Model(
        mesh,
        Plate(thickness, Material("steel", E=210_000, nu=0.3, density=7.85e-9)),
        supports=[Support("left", **CLAMPED)],
        load_cases=[LoadCase("tip", [LineLoad("right", fx=0.3, fy=0.2, fz=1e-3 * thickness**3)])],
        units="any",
    )
    proof = solve_displacements(model, solver=solver).proof["tip"]
    assert proof.residual < 1e-14


def test_a_means_force_is_not_one_points_rounding_times_its_number():
    # Force of a mean over 60 points, heat in its sheet, an offset plate beside it: taken from one point's equation
    # alone it was 1.5 times as far from balance as rounding explains. Numbers invented; the claim is the proof's own.
    fold = lambda p: np.column_stack([p[:, 0], np.minimum(p[:, 1], 200), np.maximum(p[:, 1] - 200, 0)])  # noqa: E731
    mesh = grid(400, 250, 16, 10, to_space=fold)
    mesh = mesh.with_cells("flange", fk.inside(z=(1, 50)), out_of="sheet").with_cells("pad", fk.inside(y=(0, 100)))
    model = fk.Model(
        mesh,
        {"sheet": fk.Plate(4, STEEL), "flange": fk.Plate(6, STEEL, offset=1)},
        supports=[fk.Support("left", ux=0, uy=0, uz=0), fk.Support("pad", uy=0, uz=0, mean=True)],
        load_cases=[fk.LoadCase("warm", [fk.Gravity(), fk.Pressure("pad", 0.01), fk.Temperature("pad", 30)])],
    )
    proof = fk.solve_static(model).solution.proof["warm"]
    assert np.all(np.abs(proof.balance) < proof.allowed / 4)
