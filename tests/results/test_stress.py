"""Stress recovery: signs, surfaces, principal values, thermal strain, and textbook plates."""

from dataclasses import replace

import numpy as np
import pytest
from sheets import STEEL, cantilever, grid

import femkit as fk
from femkit.results.stress import principal, to_cell_axes, to_global, von_mises

KINDS = ("quad", "triangle", "mixed")


def test_principal_and_von_mises_of_a_known_state():
    # S. P. Timoshenko & J. N. Goodier, Theory of Elasticity, 3rd ed., art. 9 (Mohr's circle): centre 40, radius 100
    state = np.array([120.0, -40.0, 60.0])
    values, angle = principal(state)
    assert values == pytest.approx([140, -60])
    assert 2 * angle == pytest.approx(np.arctan2(60, 80))
    assert von_mises(state) == pytest.approx(177.76389, rel=1e-7)  # sqrt(140² + 140·60 + 60²) by hand


def test_global_tensor_and_back():
    random = np.random.default_rng(3)
    frames = np.linalg.qr(random.normal(size=(50, 3, 3)))[0]
    frames[:, 2] = np.cross(frames[:, 0], frames[:, 1])
    stress = random.normal(size=(50, 4, 3))
    tensor = to_global(stress, frames)
    assert to_cell_axes(tensor, frames) == pytest.approx(stress)
    assert tensor[..., :3].sum(axis=-1) == pytest.approx(stress[..., :2].sum(axis=-1))  # the trace does not turn


@pytest.mark.parametrize("kind", KINDS)
def test_pull_gives_force_over_area_on_every_surface(kind):
    # statics by hand: 1000 N over 20 x 5 mm2
    model = cantilever(kind, loads=[fk.LineLoad("right", fx=1000, total=True)])
    free = [
        fk.Support(fk.near(0, 0), ux=0, uy=0, uz=0, rx=0, ry=0),
        fk.Support(fk.near(0, 20), ux=0, uz=0),
    ]
    pull_back = fk.LineLoad("left", fx=-1000, total=True)
    both = [fk.LoadCase("load", [*model.load_cases[0].loads, pull_back])]
    case = fk.solve_static(replace(model, supports=free, load_cases=both))["load"]
    exact = np.tile([10.0, 0, 0], (model.mesh.n_cells, 1))
    for surface in ("top", "middle", "bottom"):
        assert case.stress(surface) == pytest.approx(exact, abs=1e-7)
    assert case.membrane_force[:, 0] == pytest.approx(50, abs=1e-6)  # N/mm
    assert np.nanmax(case.averaged_stress()[1]) < 1e-6  # uniform stress: nothing to average away


@pytest.mark.parametrize("kind", KINDS)
def test_lifting_the_free_end_puts_the_bottom_in_tension(kind):
    # beam theory (S. P. Timoshenko, Strength of Materials, part I): s = 6 F (L - x) / (b t²)
    model = cantilever(kind, loads=[fk.LineLoad("right", fz=10, total=True)])
    case = fk.solve_static(model)["load"]
    x = model.mesh.centres[:, 0]
    middle = (x > 40) & (x < 160)  # away from the clamped edge, which holds the cross-contraction
    exact = 6 * 10 * (200 - x) / (20 * 5**2)
    share = 0.01 * exact.max()  # of the root's stress: the cells' moment is even, the beam's is linear
    assert case.stress("bottom")[middle, 0] == pytest.approx(exact[middle], abs=share)
    assert case.stress("top")[middle, 0] == pytest.approx(-exact[middle], abs=share)
    assert case.bending_moment[middle, 0] == pytest.approx(
        -10 * (200 - x[middle]) / 20, abs=share * 5**2 / 6
    )  # N mm/mm


@pytest.mark.parametrize("kind", ("quad", "triangle"))
def test_simply_supported_plate_under_pressure(kind):
    # S. Timoshenko & S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., table 8, a/b = 1, nu = 0.3:
    # w = 0.00406 q a⁴/D, M = 0.0479 q a² at the centre (more digits from the same Navier series)
    a, t, q, n = 200.0, 1.0, 1e-3, 20
    mesh = grid(a, a, n, n, kind=kind)
    simple = [
        fk.Support("left", uz=0, rx=0), fk.Support("right", uz=0, rx=0),
        fk.Support("near", uz=0, ry=0), fk.Support("far", uz=0, ry=0), fk.Support(fk.near(0, 0), ux=0, uy=0, rz=0),
    ]  # fmt: skip
    model = fk.Model(
        mesh, fk.Plate(t, STEEL), supports=simple, load_cases=[fk.LoadCase("q", [fk.Pressure("sheet", q)])]
    )
    case = fk.solve_static(model)["q"]
    rigidity = 210_000 * t**3 / (12 * (1 - 0.3**2))
    assert case.displacement_at(fk.near(a / 2, a / 2))[2] == pytest.approx(
        -0.0040623527 * q * a**4 / rigidity, rel=0.01
    )
    centre = fk.near(a / 2, a / 2).choose(mesh.points)[0]
    cells = (mesh.corners == centre).any(axis=1)
    averaged = case.averaged_stress("bottom")[0][cells][mesh.corners[cells] == centre]
    assert averaged[:, :2] == pytest.approx(6 * 0.0478863793 * q * a**2 / t**2, rel=0.02)  # 20 x 20 cells


def test_pressure_inside_a_tube_gives_hoop_tension():
    # p R / t: Timoshenko & Woinowsky-Krieger, ch. 15; a polygon of 40 sides has its flats at R cos(pi/40)
    radius, t, p = 100.0, 2.0, 0.5

    def roll(points):
        angle = points[:, 0] / radius
        return np.column_stack([radius * np.cos(angle), radius * np.sin(angle), points[:, 1]])

    # a quarter, held by its symmetry planes; the top looks outward for angle counted this way
    mesh = grid(radius * np.pi / 2, 50.0, 10, 4, to_space=roll)
    supports = [fk.Support("left", uy=0, rx=0, rz=0), fk.Support("right", ux=0, ry=0, rz=0), fk.Support("near", uz=0)]
    pressure = [fk.LoadCase("inside", [fk.Pressure("sheet", -p)])]
    plate = fk.Plate(t, STEEL, reference=(-1, 1, 0))  # laid on the tube, it runs around all of the quarter
    case = fk.solve_static(fk.Model(mesh, plate, supports=supports, load_cases=pressure))["inside"]
    hoop = case.stress("middle")[:, 0]
    assert hoop == pytest.approx(p * radius / t, rel=0.005)
    moved = np.linalg.norm(case.displacement[:, :2], axis=1)
    assert moved == pytest.approx(p * radius**2 / (210_000 * t), rel=0.01)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("behaviour", ("shell", "plane stress"))
def test_warming_a_free_sheet_strains_it_and_stresses_nothing(kind, behaviour):
    mesh = grid(100.0, 60.0, 5, 3, kind=kind, wobble=0.2)
    shell = dict(uz=0, rx=0, ry=0) if behaviour == "shell" else {}
    supports = [fk.Support(fk.near(0, 0), ux=0, uy=0, **shell), fk.Support(fk.near(100, 0), uy=0)]
    model = fk.Model(
        mesh, fk.Plate(3.0, STEEL), supports=supports, behaviour=behaviour,
        load_cases=[fk.LoadCase("warm", [fk.Temperature("sheet", 100)])],
    )  # fmt: skip
    case = fk.solve_static(model)["warm"]
    assert case.displacement[:, :2] == pytest.approx(12e-6 * 100 * mesh.points[:, :2], abs=1e-10)
    assert np.abs(case.stress("top")).max() < 1e-6  # MPa; a held sheet has 252


def test_warming_a_held_sheet_gives_plane_stress():
    # - E alpha dT / (1 - nu): Timoshenko & Goodier, art. 150 (ch. 13)
    mesh = grid(100.0, 60.0, 5, 3)
    held = [fk.Support("sheet", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)]
    cases = [fk.LoadCase("warm", [fk.Temperature("sheet", 50)])]
    case = fk.solve_static(fk.Model(mesh, fk.Plate(3.0, STEEL), supports=held, load_cases=cases))["warm"]
    assert case.stress("top")[:, :2] == pytest.approx(-210_000 * 12e-6 * 50 / 0.7)


def test_unknown_surface_and_case_are_named():
    result = fk.solve_static(cantilever(loads=[fk.LineLoad("right", fz=1, total=True)]))
    with pytest.raises(fk.ModelError, match=r'no surface "topp". Did you mean "top"'):
        result["load"].stress("topp")
    with pytest.raises(fk.ModelError, match=r'no load case.*"laod".*Did you mean "load"'):
        result["laod"]
