"""Flat plates, thick to thin: no locking, and the right amount of shear."""

import numpy as np
import pytest
from assembled import Assembled, grid

from femkit.elements import SHELLS

E, NU = 1e4, 0.3
# Span / thickness; the value of the clamped plate in q a4 / D is a Ritz solution of the shear-flexible plate
CLAMPED = {10: 0.0015046257, 100: 0.0012678580, 1000: 0.0012653191, 10000: 0.0012653191}


def hard_simple_support(thickness):
    """Double series of the shear-flexible square plate, factor 5/6, w D / (q a4) at the centre.

    R. D. Mindlin's plate with the rotation along the edge held: each term of Navier's series (S. P. Timoshenko,
    S. Woinowsky-Krieger, *Theory of Plates and Shells*, 2nd ed., art. 30) gains its own shear deflection.
    """
    m, n = np.meshgrid(np.arange(1, 200, 2), np.arange(1, 200, 2))
    eigenvalue = np.pi**2 * (m**2 + n**2)
    shear = E * thickness**3 / 12 / (1 - NU**2) / (5 / 6 * E / 2 / (1 + NU) * thickness)
    return (16 / np.pi**2 / m / n * (-1.0) ** ((m + n) / 2 - 1) * (1 / eigenvalue**2 + shear / eigenvalue)).sum()


def simply_supported(flat):
    """What is held on a quarter of a plate whose centre is the first corner of the unit square."""
    held = np.zeros((len(flat), 6), dtype=bool)
    held[:, [0, 1, 5]] = True
    for axis, slope, along in ((0, 4, 3), (1, 3, 4)):  # which rotation is the slope across, and which along the edge
        held[flat[:, axis] < 1e-9, slope] = True
        is_edge = flat[:, axis] > 1 - 1e-9
        held[is_edge, 2] = held[is_edge, along] = True
    return held


def centre_deflection(kind, n, thickness, is_clamped, shift=0.0):
    """w D / (q a4) of a square plate, span 1, a quarter of n × n cells with its centre at the origin."""
    flat, cells = grid(kind, n, n, shift=shift)
    model = Assembled(kind, np.pad(flat / 2, [(0, 0), (0, 1)]), cells, thickness, E, NU)
    held = simply_supported(flat)
    if is_clamped:
        held[(flat > 1 - 1e-9).any(axis=1)] = True
    u = model.solve(held, model.surface_load((0.0, 0.0, 1.0)))
    return u[np.argmin(np.hypot(*flat.T)), 2] * E * thickness**3 / 12 / (1 - NU**2)


@pytest.mark.parametrize("shift", [0.0, 0.25])
@pytest.mark.parametrize("slenderness", CLAMPED)
@pytest.mark.parametrize("kind", SHELLS)
def test_square_plates_do_not_lock(kind, slenderness, shift):
    thickness = 1.0 / slenderness
    # 8 × 8 on the quarter; errors fall fourfold on 16 × 16, see below. Triangles: 0.7 % low where the two that share
    # the plate's corner are cut across it; cut along the diagonal none, but then clamped plates come out 1.7 % high.
    simple = centre_deflection(kind, 8, thickness, False, shift)
    assert simple == pytest.approx(hard_simple_support(thickness), rel=0.01)
    clamped = centre_deflection(kind, 8, thickness, True, shift)
    assert clamped == pytest.approx(CLAMPED[slenderness], rel=0.02)


def test_the_series_has_the_known_thin_limit():
    # Theory of Plates and Shells, table 8: 0.00406 q a4 / D; 0.0042728 at t / a = 0.1 (series, factor 5/6)
    assert hard_simple_support(1e-5) == pytest.approx(0.0040623527, rel=1e-6)
    assert hard_simple_support(0.1) == pytest.approx(0.0042728422, rel=1e-6)


@pytest.mark.parametrize("kind", SHELLS)
def test_error_falls_fourfold_with_half_the_cell(kind):
    reference = CLAMPED[1000]
    errors = np.array([centre_deflection(kind, n, 0.001, True) / reference - 1 for n in (4, 8, 16)])
    assert errors[:-1] / errors[1:] == pytest.approx(4.0, abs=1.0)


@pytest.mark.parametrize("kind", SHELLS)
def test_moments_and_shears_of_a_simply_supported_plate(kind):
    flat, cells = grid(kind, 16, 16)
    model = Assembled(kind, np.pad(flat / 2, [(0, 0), (0, 1)]), cells, 0.01, E, NU)
    u = model.solve(simply_supported(flat), model.surface_load((0.0, 0.0, -1.0)))  # onto the top: the bottom in tension
    forces = model.strains(u) @ model.kernel.section_stiffness(model.arrays).swapaxes(1, 2)
    x, y = model.arrays.corners.mean(axis=1)[:, :2].T
    # Theory of Plates and Shells, table 8: M at the centre 0.0479 q a2
    at_centre = np.argmin(np.hypot(x, y))
    assert forces[at_centre, 0, 3:5] == pytest.approx([-0.0479, -0.0479], rel=0.02)
    assert abs(forces[at_centre, 0, 5]) < 0.002
    # and its Navier series for the shear, 0.338 q a at the middle of an edge, here at the cell's own centre. With the
    # signs of the kit qx = dmx/dx + dmxy/dy.
    at_edge = np.argmin(np.hypot(x - 0.5, y))
    m, n = np.meshgrid(np.arange(1, 400, 2), np.arange(1, 400, 2))
    terms = 16 / np.pi**2 / m / n * (-1.0) ** ((m + n) / 2 - 1) * m * np.pi / (np.pi**2 * (m**2 + n**2))
    shear = (terms * np.sin(m * np.pi * x[at_edge]) * np.cos(n * np.pi * y[at_edge])).sum()
    assert forces[at_edge, 0, 6] == pytest.approx(shear, rel=0.05)


@pytest.mark.parametrize("kind", SHELLS)
def test_strip_in_cylindrical_bending_follows_beam_theory(kind):
    # S. P. Timoshenko, beam with shear: w = F L3 / 3 E I + F L / (5/6 G A); nu = 0, so that plate and beam agree
    length, width, force = 200.0, 20.0, 1.0
    for thickness in (0.5, 5.0, 40.0):
        flat, cells = grid(kind, 10, 1)
        model = Assembled(kind, np.pad(flat * [length, width], [(0, 0), (0, 1)]), cells, thickness, 210_000.0, 0.0)
        held, forces = np.repeat(flat[:, :1] < 1e-9, 6, axis=1), np.zeros((len(flat), 6))
        forces[flat[:, 0] > 1 - 1e-9, 2] = force / 2
        w = model.solve(held, forces)[flat[:, 0] > 1 - 1e-9, 2].mean()
        beam = force * length**3 / (3 * 210_000 * width * thickness**3 / 12)
        beam += force * length / (5 / 6 * 210_000 / 2 * width * thickness)
        assert w == pytest.approx(beam, rel=0.01)  # 10 cells: linear moment by steps, (1 - 1 / 4 n2) at least
