"""What thicknesses do to displacements, distances, stresses and mass, against central differences and beam theory."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from sheets import STEEL, cantilever, grid

import femkit as fk

ALUMINIUM = fk.Material("aluminium", E=70_000, nu=0.33, density=2.7e-9, expansion=2.3e-5)
CLAMP = fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)


def curved_panel(**more):
    """A curved panel of two plates out of their middle, both kinds of cells, with a rib, under all that grows with t.

    All of it is invented.
    """
    mesh = grid(400, 200, 8, 6, kind="mixed", wobble=0.2, to_space=lambda p: p + [0, 0, 1] * (p[:, :1] / 100) ** 2)
    is_far = mesh.centres[:, 1] > 100
    mesh = replace(mesh, cell_sets={"steel": np.flatnonzero(~is_far), "aluminium": np.flatnonzero(is_far)})
    given = {
        "supports": [CLAMP, fk.Support("right", uz=0, mean=True)],
        "beams": {"near": fk.Beam(fk.flat_bar(30, 5), STEEL, up=(0, 0, 1))},
        "load_cases": [
            fk.LoadCase("end", [fk.LineLoad("right", fx=3, fy=1, mx=2), fk.Pressure("steel", 0.002)]),
            fk.LoadCase("weight", [fk.Gravity(direction=(0.3, 0.2, -1)), fk.Acceleration(x=3000)]),
            fk.LoadCase("warm", [fk.Temperature("aluminium", 30.0)]),
            fk.LoadCase("lift", [fk.Gravity()], supports=[CLAMP, fk.Support("right", uz=0.5, mean=True)]),
            fk.LoadCase("sides", [fk.LineLoad("right", fy=1.0)], supports=[CLAMP, fk.Support("far", uz=0)]),
        ],
        "combinations": [fk.Combination("all", {"end": 1.3, "weight": -2.0, "warm": 0.5, "lift": 0.1})],
        **more,
    }
    return fk.Model(
        mesh,
        {"steel": fk.Plate(3.0, STEEL, offset=1.5), "aluminium": fk.Plate(4.0, ALUMINIUM, offset=-0.5)},
        **given,
    )


def sheet_in_its_plane():
    """A sheet of two plates in plane stress; invented."""
    mesh = grid(400, 200, 8, 6, kind="mixed", wobble=0.2)
    is_far = mesh.centres[:, 0] > 200
    mesh = replace(mesh, cell_sets={"steel": np.flatnonzero(~is_far), "aluminium": np.flatnonzero(is_far)})
    return fk.Model(
        mesh,
        {"steel": fk.Plate(3.0, STEEL), "aluminium": fk.Plate(4.0, ALUMINIUM)},
        supports=[fk.Support("left", ux=0, uy=0)],
        load_cases=[
            fk.LoadCase("end", [fk.LineLoad("right", fx=5, fy=8)]),
            fk.LoadCase("weight", [fk.Gravity(direction=(0.3, 1, 0)), fk.Temperature("steel", 20.0)]),
        ],
        combinations=[fk.Combination("all", {"end": 1.0, "weight": 3.0})],
        behaviour="plane stress",
    )


def central_differences(model, quantities, plate, step, side=0.0):
    """Derivatives by the plate's thickness from two pairs of solutions, their error of second order taken out."""

    def values(change):
        old = model.plates[plate]
        new = replace(old, thickness=old.thickness + change, offset=old.offset + side * change)
        result = fk.solve_static(replace(model, plates=model.plates | {plate: new}))
        return np.array([quantity.value(result) for quantity in quantities])

    wide, narrow = ((values(h) - values(-h)) / (2 * h) for h in (2 * step, step))
    return (4 * narrow - wide) / 3  # L. F. Richardson, Phil. Trans. R. Soc. A 210 (1911) 307-357


@pytest.mark.parametrize("grows", [{}, {"steel": "top", "aluminium": "bottom"}])
def test_shell_derivatives_are_central_differences(grows):
    model, corner = curved_panel(), fk.near(400, 200, 16)
    quantities = [
        fk.Mass(),
        fk.Displacement(corner, "uz", "all"),
        fk.Displacement("right", "ry", "warm"),
        fk.Displacement("steel", "ux", "weight"),
        fk.Displacement(corner, "uy", "sides"),
        fk.Distance(fk.near(0, 0, 0), corner, "end"),
        fk.JudgedStress("steel", "all"),
        fk.JudgedStress("aluminium", "weight", distance=80.0, power=12),
        fk.JudgedStress("aluminium", "warm", distance=0.0),
        fk.JudgedStress("steel", "sides"),
        fk.JudgedStress("steel", "lift"),
    ]
    with fk.StaticSolver(model) as solver:
        found = fk.sensitivities(solver.solve(), quantities, grows=grows, solver=solver)
    side = {"top": 0.5, "bottom": -0.5, None: 0.0}
    for plate in model.plates:
        expected = central_differences(model, quantities, plate, 1e-3, side[grows.get(plate)])
        for one, by_difference in zip(found, expected):
            assert one.per_plate[plate] == pytest.approx(by_difference, rel=1e-5), one


def test_plane_stress_derivatives_are_central_differences():
    model = sheet_in_its_plane()
    quantities = [
        fk.Mass(),
        fk.Displacement("right", "uy", "all"),
        fk.Distance(fk.near(0, 0, 0), fk.near(400, 200, 0), "weight"),
        fk.JudgedStress("steel", "all", distance=60.0),
        fk.JudgedStress("aluminium", "end"),
    ]
    found = fk.sensitivities(fk.solve_static(model), quantities)
    for plate in model.plates:
        expected = central_differences(model, quantities, plate, 1e-3)
        for one, by_difference in zip(found, expected):
            assert one.per_plate[plate] == pytest.approx(by_difference, rel=1e-5), one


def test_single_cells_have_their_own_derivative():
    model = curved_panel()
    quantity, cells = fk.JudgedStress("steel", "all"), model.plate_cells["steel"]
    found = fk.sensitivity(fk.solve_static(model), quantity)
    for number in (0, 10, len(cells) - 1):
        values = []
        for change in (-1e-3, 1e-3):
            thickness = np.full(len(cells), 3.0)
            thickness[number] += change
            plates = model.plates | {"steel": replace(model.plates["steel"], thickness=thickness)}
            values.append(quantity.value(fk.solve_static(replace(model, plates=plates))))
        assert found.per_cell[cells[number]] == pytest.approx((values[1] - values[0]) / 2e-3, rel=1e-5, abs=1e-7)


@pytest.mark.parametrize("kind", ["quad", "triangle"])
def test_a_cantilever_is_as_beam_theory_has_it(kind):
    # δ = F L³ / (3 E I), I = b t³ / 12 (Timoshenko, Strength of Materials, Part I, 3rd ed., art. 40): dδ/dt = -3 δ/t;
    # σ = 6 F x / (b t²): dσ/dt = -2 σ/t; and a length dx at x from the tip has F² x² / (E I) dx of F δ: per cell alike
    model = cantilever(kind, loads=[fk.LineLoad("right", fz=0.05)])
    model = replace(model, plates=fk.Plate(2.0, replace(STEEL, nu=0)))  # without it a strip is a beam
    tip = fk.Displacement("right", "uz", "load")
    found, stress = fk.sensitivities(fk.solve_static(model), [tip, fk.JudgedStress("all cells", "load")])
    assert found.per_plate["all cells"] == pytest.approx(-3 * found.value / 2.0, rel=1e-3)  # shear takes (t/L)² off
    assert stress.per_plate["all cells"] == pytest.approx(-2 * stress.value / 2.0, rel=1e-3)
    x = 200 - model.mesh.centres[:, 0]
    bins = np.linspace(0, 200, 6)
    by_fifth = [found.per_cell[(x > low) & (x < high)].sum() for low, high in pairwise(bins)]
    expected = np.diff(bins**3) / 200**3 * -3 * found.value / 2.0
    np.testing.assert_allclose(by_fifth, expected, rtol=0.03, atol=0.01 * abs(expected).max())


def test_judged_stress_lies_near_the_largest_on_any_mesh():
    # one patch counts as the largest itself, and n equal ones n^(1/p) times as much: the p-norm's own bounds
    for n in (1, 2, 4):
        mesh = grid(400, 200, 16 * n, 8 * n)
        load = fk.LoadCase("end", [fk.LineLoad("right", fz=0.02)])
        result = fk.solve_static(fk.Model(mesh, fk.Plate(4.0, STEEL), supports=[CLAMP], load_cases=[load]))
        largest = result["end"].judged_stress(50.0).max()
        quantity = fk.JudgedStress("all cells", "end", distance=50.0)
        n_patches = 2 * 400 * 200 / (np.pi * 25**2)
        assert 0.95 * largest < quantity.value(result) < n_patches ** (1 / 30) * largest


def test_table_ranks_plates_by_what_a_kilogram_does():
    model = curved_panel()
    found = fk.sensitivity(fk.solve_static(model), fk.Displacement("right", "ux", "end", name="stretch"))
    table = found.table()
    assert list(table.columns) == ["thickness (mm)", "mm per mm", "mass (kg per mm)", "mm per kg"]
    assert abs(table["mm per kg"]).is_monotonic_decreasing
    for plate, density in (("steel", 7.85e-6), ("aluminium", 2.7e-6)):  # kg/mm3
        mass = density * model.mesh.areas[model.plate_cells[plate]].sum()
        assert table.loc[plate, "mass (kg per mm)"] == pytest.approx(mass)
        assert table.loc[plate, "mm per kg"] == pytest.approx(found.per_plate[plate] / mass)
    assert "stretch" in repr(found) and "mm per kg" in found._repr_html_()
    np.testing.assert_allclose(found.density(over=0) * found.kg_per_mm, found.per_cell)
    np.testing.assert_allclose(found.density("mm", over=0) * model.mesh.areas / 1e4, found.per_cell)


def test_picture_says_what_is_added_and_where_it_does_most():
    found = fk.sensitivity(fk.solve_static(curved_panel()), fk.Displacement("right", "ux", "end", name="stretch"))
    picture, values = found.plot(over=90.0, width=500), found.density(over=90.0)
    assert "change of stretch by a kilogram more, spread over 90 mm" in picture.alt
    assert [peak.index for peak in picture.peaks] == [values.argmax(), values.argmin()]
    assert picture.limits[1] == -picture.limits[0] == pytest.approx(np.abs(values).max(), rel=0.3)


def test_wrong_questions_are_refused():
    model = curved_panel()
    with fk.StaticSolver(model) as solver:
        result = solver.solve()
        tip = fk.Displacement("right", "uz", "end")
        for quantity, grows, said in [
            (fk.Displacement("right", "uv", "end"), {}, 'no component "uv"'),
            (fk.Displacement("right", "uz", "ende"), {}, 'name "ende".*"end"'),
            (fk.JudgedStress("stel", "end"), {}, 'no plate "stel".*"steel"'),
            (tip, {"steal": "top"}, 'no plate "steal".*"steel"'),
            (tip, {"steel": "tip"}, 'grows at "tip".*"top"'),
        ]:
            with pytest.raises(fk.ModelError, match=said):
                fk.sensitivity(result, quantity, grows=grows, solver=solver)
        solver.solve(replace(model, plates=model.plates | {"steel": fk.Plate(2.0, STEEL)}))
        with pytest.raises(fk.ModelError, match="another model since"):
            fk.sensitivity(result, tip, solver=solver)
    with pytest.raises(fk.ModelError, match="no component"):
        fk.sensitivity(fk.solve_static(sheet_in_its_plane()), tip)
    with pytest.raises(fk.ModelError, match='on "both" sides alone'):
        fk.sensitivity(fk.solve_static(sheet_in_its_plane()), fk.Mass(), grows={"steel": "top"})
    floating = replace(
        cantilever(), load_cases=[fk.LoadCase("push", fk.LineLoad("right", fx=1), supports=[], balanced=True)]
    )
    with pytest.raises(fk.ModelError, match="balanced by inertia"):
        fk.sensitivity(fk.solve_static(floating), fk.Displacement("right", "ux", "push"))
