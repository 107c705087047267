"""Natural modes against closed forms, counted by inertia."""

from dataclasses import replace

import numpy as np
import pytest
from sheets import STEEL, grid

import femkit as fk

STEEL_SI = fk.Material("steel, SI units", E=200e9, nu=0.3, density=8000.0)


def simple_square(kind, thickness, n=16):
    """10 m square, simply supported (hard), in-plane unknowns held; SI units as published."""
    mesh = grid(10.0, 10.0, n, n, kind=kind)
    sides = {"left": "rx", "right": "rx", "near": "ry", "far": "ry"}
    supports = [fk.Support(side, uz=0, **{turn: 0}) for side, turn in sides.items()]
    supports.append(fk.Support("sheet", ux=0, uy=0, rz=0))
    return fk.Model(mesh, fk.Plate(thickness, STEEL_SI), supports=supports, units="any")


@pytest.mark.parametrize("kind", ("quad", "triangle"))
@pytest.mark.parametrize(
    ("thickness", "exact"),
    [
        # f = (pi/2) sqrt(D / (rho t)) (m² + n²) / a², thin plate, closed form
        (0.05, [2.3767230, 5.9418074, 5.9418074, 9.5068919]),
        # smaller root of (D k² + kGt - rho I w²)(kGt k² - rho t w²) = (kGt)² k², shear factor 5/6, closed form; the
        # benchmark of NAFEMS (rev. 3, 1990; value from memory) has 45.897 with pi²/12
        (1.0, [45.910802, 109.52793, 109.52793, 168.07347]),
    ],
)
def test_simply_supported_square(kind, thickness, exact):
    modes = fk.solve_modes(simple_square(kind, thickness), 4)
    assert modes.frequency == pytest.approx(exact, rel=0.021)  # 16 x 16; falls fourfold, next test
    assert modes.solution.counted == 4  # the pair is counted as two
    assert np.all(np.diff(modes.frequency) >= 0)


@pytest.mark.parametrize("kind", ("quad", "triangle"))
def test_frequency_converges_at_second_order(kind):
    errors = [fk.solve_modes(simple_square(kind, 0.05, n), 1).frequency[0] / 2.3767230 - 1 for n in (4, 8, 16)]
    assert abs(errors[1]) < abs(errors[0]) / 3 and abs(errors[2]) < abs(errors[1]) / 3


def test_cantilever_in_its_plane_is_a_beam():
    # f = (1.8751041² / 2 pi L²) sqrt(E I / rho A) = 83.551659 Hz for 1000 x 100 deep (Bernoulli); shear and rotary
    # inertia take 1.3 % (S. P. Timoshenko, Vibration Problems in Engineering)
    mesh = grid(1000.0, 100.0, 40, 4)
    clamp = fk.Support("left", ux=0, uy=0)
    model = fk.Model(mesh, fk.Plate(50.0, STEEL), supports=[clamp], behaviour="plane stress")
    modes = fk.solve_modes(model, 2)
    assert modes.frequency[0] == pytest.approx(83.551659 * 0.988, rel=0.01)
    assert modes.shape.shape == (2, mesh.n_points, 6)


def test_a_free_plate_has_six_rigid_modes_and_then_its_own():
    # NAFEMS free square plate, t = 0.05; first elastic mode 1.622 Hz (value from memory), thin-plate Ritz 1.62165
    model = replace(simple_square("quad", 0.05), supports=[])
    modes = fk.solve_modes(model, 7)
    assert np.all(modes.frequency[:6] < 1e-3)
    assert modes.frequency[6] == pytest.approx(1.62165, rel=0.01)
    assert modes.solution.effective_mass[:6].sum(axis=0) == pytest.approx(model.mass)


def test_a_mass_on_a_light_cantilever_is_one_oscillator():
    # f = sqrt(3 E I / L³ / m) / 2 pi: S. P. Timoshenko, Vibration Problems in Engineering, ch. 1
    light = fk.Material("light", E=210_000, nu=0.0, density=1e-16)
    mesh = grid(200.0, 10.0, 20, 2)
    clamp = fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)
    mass = fk.PointMass("right", 0.01, total=True)
    model = fk.Model(mesh, fk.Plate(5.0, light), supports=[clamp], masses=[mass], units="any")
    modes = fk.solve_modes(model, 1)
    exact = np.sqrt(3 * 210_000 * (10 * 5.0**3 / 12) / 200.0**3 / 0.01) / (2 * np.pi)
    assert modes.frequency[0] == pytest.approx(exact, rel=0.01)  # shear


def test_pardiso_and_superlu_find_the_same_and_supports_may_be_given():
    model = simple_square("mixed", 0.05, 8)
    pytest.importorskip("pypardiso")
    both = [fk.solve_modes(model, 3, solver=solver) for solver in ("pardiso", "superlu")]
    assert both[0].frequency == pytest.approx(both[1].frequency, rel=1e-8)
    assert both[0].solution.counted == both[1].solution.counted
    free = fk.solve_modes(model, 1, supports=[])
    assert free.frequency[0] < 1e-3


def test_table_holds_frequency_and_mass_taking_part():
    modes = fk.solve_modes(simple_square("quad", 0.05, 8), 3)
    table = modes.table()
    # 64/pi⁴ = 0.657 of the mass takes part in the first mode of a simply supported plate (closed form)
    assert table["mass along z"].iloc[0] == pytest.approx(64 / np.pi**4, rel=0.02)
    assert "Hz" in repr(modes) and "<table" in modes._repr_html_()


def test_what_has_no_mass_or_no_such_count_is_refused():
    model = simple_square("quad", 0.05, 4)
    bare = fk.Material("bare", E=200e9, nu=0.3)
    with pytest.raises(fk.ModelError, match="no mass; give its materials a density"):
        fk.solve_modes(replace(model, plates=fk.Plate(0.05, bare)), 2)
    with pytest.raises(fk.ModelError, match="count is 0; it must be a whole number of at least 1"):
        fk.solve_modes(model, 0)
    with pytest.raises(fk.ModelError, match=r"count is 5000; the model has mass at \d+ unknowns"):
        fk.solve_modes(model, 5000)
