"""Patch tests: constant states are exact in every cell of any mesh, wherever it stands in space."""

import numpy as np
import pytest
from assembled import Assembled, grid, made_of, rotation
from numpy.testing import assert_allclose

from femkit.elements import PLANES, SHELLS

# R. H. MacNeal, R. L. Harder, A proposed standard set of problems to test finite element accuracy, Finite Elements in
# Analysis and Design 1 (1985) 3-20, fig. 1: 0.24 × 0.12, t = 0.001, E = 1e6, nu = 0.25
SIDE_X, SIDE_Y, THICKNESS, E, NU = 0.24, 0.12, 0.001, 1e6, 0.25
POINTS = np.array([[0, 0], [0.24, 0], [0.24, 0.12], [0, 0.12], [0.04, 0.02], [0.18, 0.03], [0.16, 0.08], [0.08, 0.08]])
QUADS = np.array([[0, 1, 5, 4], [1, 2, 6, 5], [2, 3, 7, 6], [3, 0, 4, 7], [4, 5, 6, 7]])


def published_patch(kind):
    return made_of(kind, POINTS, QUADS)


def random_patch(kind):
    points, cells = grid(kind, 4, 4, shift=0.25, seed=4)
    return points * [SIDE_X, SIDE_Y], cells


def fields(points, membrane, plate):
    """Displacement (n_points, 6) of the published patch fields, in the plane's own axes."""
    x, y = points[:, 0], points[:, 1]
    u = np.zeros((len(points), 6))
    if membrane:
        u[:, 0], u[:, 1] = 1e-3 * (x + y / 2), 1e-3 * (y + x / 2)  # no rotation about the normal
    if plate:
        u[:, 2] = 1e-3 * (x**2 + x * y + y**2) / 2
        u[:, 3], u[:, 4] = 1e-3 * (y + x / 2), -1e-3 * (x + y / 2)
    return u


@pytest.mark.parametrize("patch", [published_patch, random_patch])
@pytest.mark.parametrize("turn", [np.eye(3), rotation(5)], ids=["flat", "turned"])
@pytest.mark.parametrize(("membrane", "plate"), [(True, False), (False, True), (True, True)])
@pytest.mark.parametrize("kind", SHELLS)
def test_constant_membrane_force_and_moment(kind, membrane, plate, turn, patch):
    flat, cells = patch(kind)
    points = np.pad(flat, [(0, 0), (0, 1)]) @ turn.T
    model = Assembled(kind, points, cells, THICKNESS, E, NU, reference=turn[:, 0])
    exact = (fields(flat, membrane, plate).reshape(-1, 2, 3) @ turn.T).reshape(-1, 6)
    is_inner = (flat > 1e-9).all(axis=1) & (flat < np.array([SIDE_X, SIDE_Y]) - 1e-9).all(axis=1)
    held = np.where(is_inner[:, None], np.nan, exact)
    u = model.solve(held, np.zeros_like(exact))
    assert_allclose(u, exact, rtol=0, atol=1e-9 * np.abs(exact).max())
    forces = model.strains(u) @ model.kernel.section_stiffness(model.arrays).swapaxes(1, 2)
    # MH85 table 1: sx = sy = 1333, txy = 400; mx = my = 1.111e-7, mxy = 3.333e-8 (closed form E t / (1 - nu) 1e-3, ...)
    expected = np.zeros(8)
    if membrane:
        expected[:3] = np.array([E / (1 - NU), E / (1 - NU), E / (1 + NU) / 2]) * 1e-3 * THICKNESS
    if plate:  # the published deflection gives the bottom tension: rotations are those of w, so moments are negative
        rigidity = E * THICKNESS**3 / 12 / (1 - NU**2)
        expected[3:6] = -rigidity * 1e-3 * np.array([1 + NU, 1 + NU, (1 - NU) / 2])
    # a part in 1e9 of the larger surface stress, membrane or bending, taken as force and as moment
    scale = max(np.abs(expected[:3]).max(), 6 / THICKNESS * np.abs(expected[3:6]).max())
    error = np.abs(forces - expected)
    assert error[..., :3].max() < 1e-9 * scale
    assert error[..., 3:6].max() < 1e-9 * scale * THICKNESS / 6
    assert error[..., 6:].max() < 1e-9 * scale


@pytest.mark.parametrize("patch", [published_patch, random_patch])
@pytest.mark.parametrize("degrees", [0.0, 30.0])
@pytest.mark.parametrize("kind", PLANES)
def test_constant_plane_stress(kind, degrees, patch):
    flat, cells = patch(kind)
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    turn = np.array([[c, -s], [s, c]])
    model = Assembled(
        kind, np.pad(flat @ turn.T, [(0, 0), (0, 1)]), cells, THICKNESS, E, NU, family=PLANES, reference=(c, s, 0.0)
    )
    exact = fields(flat, True, False)[:, :2] @ turn.T
    is_inner = (flat > 1e-9).all(axis=1) & (flat < np.array([SIDE_X, SIDE_Y]) - 1e-9).all(axis=1)
    u = model.solve(np.where(is_inner[:, None], np.nan, exact), np.zeros_like(exact))
    assert_allclose(u, exact, rtol=0, atol=1e-10 * np.abs(exact).max())
    assert_allclose(model.strains(u), 1e-3, rtol=1e-9)  # exx = eyy = gxy, in axes turned with the plate
    stress = model.strains(u) @ model.kernel.section_stiffness(model.arrays).swapaxes(1, 2) / THICKNESS
    # MH85 table 1: 1333 and 400
    assert_allclose(stress, np.broadcast_to([1333.3333333, 1333.3333333, 400.0], stress.shape), rtol=1e-9)


@pytest.mark.parametrize(
    ("family", "kind"), [(SHELLS, "quad"), (SHELLS, "triangle"), (PLANES, "quad"), (PLANES, "triangle")]
)
def test_constant_tension_by_forces_on_three_supports(family, kind):
    # the load form of MH85's patch: edge forces of a constant pull along x, and no more held than a rigid body needs
    flat, cells = published_patch(kind)
    points = np.pad(flat, [(0, 0), (0, 1)])
    model = Assembled(kind, points, cells, THICKNESS, E, NU, family=family)
    width = model.n_unknowns
    held, forces = np.zeros((8, width), dtype=bool), np.zeros((8, width))
    held[[0, 0, 3], [0, 1, 0]] = True
    if family is SHELLS:
        held[[0, 1, 3], 2] = True
        held[[0, 3], 5] = kind == "triangle"  # as its loads have moments, so have its supports
    forces[[1, 2], 0] = 100.0 * THICKNESS * SIDE_Y / 2  # 100 MPa
    if family is SHELLS and kind == "triangle":
        # Felippa's triangle lets the normal rotations of a side take part in its displacement: like a beam's, a uniform
        # load has end moments, q L^2 / 12 times alpha_b
        forces[[1, 2], 5] = np.array([-1.0, 1.0]) * 1.5 / 12 * 100.0 * THICKNESS * SIDE_Y**2
    u = model.solve(held, forces)
    assert_allclose(u[:, 0], 100.0 / E * flat[:, 0], rtol=0, atol=1e-10 * 100.0 / E * SIDE_X)
    assert_allclose(u[:, 1], -NU * 100.0 / E * flat[:, 1], rtol=0, atol=1e-10 * 100.0 / E * SIDE_X)


@pytest.mark.parametrize("turn", [np.eye(3), rotation(5)], ids=["flat", "turned"])
def test_quadrilaterals_have_constant_transverse_shear(turn):
    # w = 1e-3 x without rotation: a state kept up by a moment a unit area, which no point force gives. The strain is
    # exact in every cell and the energy is that of the plate. The triangle makes no such claim: along its sides shear
    # balances moments, as it does where no moments act on the area.
    flat, cells = random_patch("quad")
    model = Assembled("quad", np.pad(flat, [(0, 0), (0, 1)]) @ turn.T, cells, 0.02, E, NU, reference=turn[:, 0])
    u = np.zeros((len(flat), 6))
    u[:, :3] = 1e-3 * flat[:, :1] * turn[:, 2]
    expected = np.zeros(8)
    expected[6] = 1e-3
    assert_allclose(model.strains(u), np.broadcast_to(expected, (len(cells), 5, 8)), rtol=0, atol=1e-12)
    energy = u.ravel() @ model.stiffness @ u.ravel() / 2
    # closed form: 5/6 G t gamma^2 / 2 times the area
    assert energy == pytest.approx(5 / 6 * E / 2 / (1 + NU) * 0.02 * 1e-6 / 2 * SIDE_X * SIDE_Y, rel=1e-10)


@pytest.mark.parametrize(
    ("kind", "ratio"), [*((kind, ratio) for kind in SHELLS for ratio in (0.25, 1.0, 4.0)), ("quad", 20.0)]
)
def test_a_strip_bends_in_its_plane_with_the_right_energy(kind, ratio):
    # Felippa 2003 (see shell_triangle), section on bending optimality: rectangles of any aspect ratio, one over the
    # depth, take the exact nodal values of pure bending with the energy of the beam. The quadrilateral's penalty at the
    # Gauss points adds to it: by 3e-5 ratio^2 at most.
    flat, cells = grid(kind, 6, 1)
    x, y = (flat * [6 * ratio, 1.0] - [0.0, 0.5]).T
    model = Assembled(kind, np.column_stack([x, y, 0 * x]), cells, 1.0, 1000.0, 0.3)
    u = np.zeros((len(x), 6))
    u[:, 0], u[:, 1], u[:, 5] = x * y, -(x**2) / 2 - 0.3 * y**2 / 2, -x  # curvature 1/mm
    energy = u.ravel() @ model.stiffness @ u.ravel() / 2
    tolerance = 1e-10 if kind == "triangle" else 3e-5 * ratio**2 + 1e-5
    assert energy == pytest.approx(1000.0 / 12 * 6 * ratio / 2, rel=tolerance)


def test_plane_quadrilaterals_bend_exactly_on_rectangles():
    # closed form: strip L = 10, depth 2, t = 1, E = 1000, nu = 0.25, end moment by sx = -30 y: tip deflection 1.5
    for n in (1, 2, 5):
        flat, cells = grid("quad", n, 1)
        points = np.pad(flat * [10.0, 2.0] - [0.0, 1.0], [(0, 0), (0, 1)])
        model = Assembled("quad", points, cells, 1.0, 1000.0, 0.25, family=PLANES)
        held, forces = np.zeros((len(points), 2), dtype=bool), np.zeros((len(points), 2))
        held[flat[:, 0] < 1e-9, 0] = held[0, 1] = True
        is_end = flat[:, 0] > 1 - 1e-9
        forces[is_end, 0] = -10.0 * points[is_end, 1]  # the couple 30 · 2^3 / 12 = 20 by a pair of forces 2 apart
        assert model.solve(held, forces)[is_end, 1] == pytest.approx([1.5, 1.5], rel=1e-9)
