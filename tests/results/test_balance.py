"""Free bodies whose own inertia balances the loads: acceleration, strain, and independence of what holds them."""

from dataclasses import replace

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk

PLAIN = replace(STEEL, nu=0.0)
L, B, T = 1000.0, 40.0, 10.0
MASS = L * B * T * 7.85e-9
CLAMP = {"ux": 0, "uy": 0, "uz": 0, "rx": 0, "ry": 0, "rz": 0}


def free(*cases, kind="quad", n=20, **more):
    """A free strip along x, 1000 x 40 x 10; a case is a name and its loads."""
    cases = [fk.LoadCase(name, loads, balanced=True) for name, loads in cases]
    return fk.Model(grid(L, B, n, 2, kind=kind), fk.Plate(T, PLAIN), load_cases=cases, **more)


def push(force=-1000.0):
    return "push", [fk.LineLoad("right", fx=force, total=True)]


@pytest.mark.parametrize("behaviour", ("shell", "plane stress"))
@pytest.mark.parametrize("kind", ("quad", "triangle"))
def test_a_bar_pushed_at_one_end_carries_what_lies_beyond(kind, behaviour):
    # a = F/m, and N(x) = F x/L from the free end: what the mass beyond needs (by hand, d'Alembert)
    case = fk.solve_static(free(push(), kind=kind, behaviour=behaviour))["push"]
    assert case.acceleration == pytest.approx([-1000 / MASS, 0, 0, 0, 0, 0], rel=1e-9, abs=1e-9)
    cells = case.model.mesh.centres[:, 0]
    at_middle = [case.membrane_force[np.abs(cells - x) < 26, 0].mean() * B for x in (225, 525, 975)]
    assert at_middle == pytest.approx([-225, -525, -975], rel=5e-3 if kind == "triangle" else 1e-6)
    assert case.section(x=510).force[0] == pytest.approx(-525, abs=25)  # inertia sits at the points, 50 mm apart
    assert case.load.sum(axis=0)[:3] == pytest.approx(0, abs=1e-9)
    assert np.abs(case.reaction).max() < 1e-6


def test_an_eccentric_force_turns_a_plate_by_its_inertia():
    # angular acceleration M/I about the centre of gravity: I = m (a² + b²)/12 about the normal, m (a² + t²)/12 about y
    # with the inertia of the thickness (by hand); the corner at (L, B) against the centre (L/2, B/2)
    corner = fk.near(L, B)
    result = fk.solve_static(
        free(("in plane", fk.PointLoad(corner, fy=30.0)), ("across", fk.PointLoad(corner, fz=2.0)))
    )
    turned = 30.0 * L / 2 / (MASS * (L**2 + B**2) / 12)
    assert result["in plane"].acceleration == pytest.approx([0, 30 / MASS, 0, 0, 0, turned], rel=1e-9, abs=1e-6)
    about = 2.0 * B / 2 / (MASS * (B**2 + T**2) / 12), -2.0 * L / 2 / (MASS * (L**2 + T**2) / 12)
    assert result["across"].acceleration == pytest.approx([0, 0, 2 / MASS, *about, 0], rel=1e-9, abs=1e-6)


def test_a_free_beam_bends_as_its_inertia_says():
    # a bar accelerated across by F at its middle carries M = F L/8 there (by hand, uniform inertia F/L); the consistent
    # mass puts the end moments F/L h²/12 of the last cell's own inertia to its points, so they lack here
    points = np.column_stack([np.linspace(0, L, 21), np.zeros((21, 2))])
    mesh = fk.Mesh(points, {}, edge_sets={"bar": np.column_stack([np.arange(20), np.arange(1, 21)])})
    beams = {"bar": fk.Beam(fk.flat_bar(T, B), PLAIN)}
    cases = [fk.LoadCase("lift", fk.PointLoad([10], fz=100.0), balanced=True)]
    case = fk.solve_static(fk.Model(mesh, {}, beams=beams, load_cases=cases))["lift"]
    assert case.acceleration[2] == pytest.approx(100 / MASS)
    assert np.abs(case.beam_forces("bar")[9, 1, 4]) == pytest.approx(100 * L / 8 - 0.1 * 50**2 / 12, rel=1e-6)


@pytest.mark.parametrize("held", [[0], [31], [62]])
def test_what_holds_it_does_not_matter(held, monkeypatch):
    cases = push(), ("lift", [fk.PointLoad(fk.near(L, B), fz=5.0), fk.Temperature("sheet", 20.0)])
    model = free(*cases, kind="mixed")
    found = fk.solve_static(model)
    other = lambda model, supports: (fk.Support(held, **CLAMP),)  # noqa: E731
    monkeypatch.setattr("femkit.model.model.holding", other)
    again = fk.solve_static(replace(model))
    for name in ("push", "lift"):
        size = np.abs(found[name].displacement).max()
        assert again[name].displacement == pytest.approx(found[name].displacement, abs=1e-7 * size)
        assert again[name].von_mises() == pytest.approx(found[name].von_mises(), rel=1e-6, abs=1e-6)
        assert np.abs(again[name].reaction[:, :3]).max() < 1e-5


def test_displacements_are_those_against_the_mean_motion_of_the_mass():
    case = fk.solve_static(free(push()))["push"]
    # by hand: u'' = F/(EA L), so u = F/(EA L) (x²/2 - L²/6) with a mean of 0 (nu = 0)
    x = case.model.mesh.points[:, 0]
    exact = -1000 / (210_000 * B * T * L) * (x**2 / 2 - L**2 / 6)
    assert case.displacement[:, 0] == pytest.approx(exact, abs=3e-6)  # F h²/12 E A L = 2.5e-6 on 20 cells


def test_half_a_body_on_its_plane_of_symmetry_is_the_whole():
    loads = [fk.LineLoad("left", fx=500.0, total=True), fk.LineLoad("left", fz=2.0, total=True)]
    whole = fk.solve_static(free(("push", loads), n=20))["push"]
    half = grid(L, B / 2, 20, 1)
    halved = [replace(load, fx=load.fx / 2, fz=load.fz / 2) for load in loads]
    case = fk.LoadCase("push", halved, supports=[fk.symmetry("far", "y")], balanced=True)
    half = fk.solve_static(fk.Model(half, fk.Plate(T, PLAIN), load_cases=[case]))["push"]
    assert half.acceleration[[0, 2, 4]] == pytest.approx(whole.acceleration[[0, 2, 4]], rel=2e-3)  # by I of b, b/2
    assert half.von_mises()[::1] == pytest.approx(whole.von_mises()[0::2], rel=1e-3, abs=1e-6)


def test_cases_combine_and_a_table_lists_what_they_accelerate():
    model = free(push(), ("lift", fk.PointLoad([31], fz=5.0)))
    held = fk.LoadCase("held", fk.Gravity(), supports=[fk.Support("left", **CLAMP)])
    sums = [fk.Combination("both", {"push": 2.0, "lift": 1.0})]
    result = fk.solve_static(replace(model, load_cases=[*model.load_cases, held], combinations=sums))
    table = result.accelerations()
    assert list(table.index) == ["push", "lift", "both"]
    assert table.loc["both", "ax (mm/s2)"] == pytest.approx(-2000 / MASS)
    assert table.loc["both", "az (mm/s2)"] == pytest.approx(5 / MASS)
    assert not result["held"].acceleration.any() and result["held"].reaction[:, 2].sum() == pytest.approx(
        MASS * 9806.65
    )
    assert "inertia" in result.model._repr_html_()


def test_what_can_not_be_balanced_is_said():
    model = free(push(), n=4)
    with pytest.raises(fk.ModelError, match="its supports hold the model already, so inertia has nothing to balance"):
        fk.solve_static(replace(model, supports=[fk.Support("left", **CLAMP)]))
    with pytest.raises(fk.ModelError, match=r"there is no mass to balance it; give its materials a density"):
        fk.solve_static(replace(model, plates=fk.Plate(T, replace(PLAIN, density=0.0))))
    with pytest.raises(fk.ModelError, match='load case "push": balanced is 1; it must be True or False'):
        fk.LoadCase("push", push()[1], balanced=1)
    with pytest.raises(fk.ModelError, match=r'buckling can\'t use "push", which inertia balances'):
        fk.solve_buckling(model, "push")
    with pytest.raises(fk.ModelError, match=r'load on modes can\'t use "push", which inertia balances'):
        fk.solve_modes(model, load="push")
    with pytest.raises(fk.ModelError, match='the mesh has no set of the name "rihgt"'):
        fk.solve_static(replace(model, supports=[fk.Support("rihgt", uz=0)]))
    points = np.vstack([model.mesh.points, model.mesh.points + [0, 0, 500.0]])
    cells = np.vstack([model.mesh.cells["quad"], model.mesh.cells["quad"] + len(model.mesh.points)])
    loose = fk.Mesh(points, {"quad": cells}, edge_sets=model.mesh.edge_sets)
    with pytest.raises(fk.ModelError, match=r"can move along x and turn about y and z\. It shares no point with the"):
        fk.solve_static(replace(model, mesh=loose))
