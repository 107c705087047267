"""Mass and geometric stiffness of single cells: totals, rigid motions, offset, exact energies."""

import numpy as np
import pytest
from assembled import cell_arrays
from numpy.testing import assert_allclose

from femkit.elements import geometric_stiffness, plane_mass, shell_mass

CORNERS = {
    "triangle": np.array([[0.0, 0, 0], [30, 4, 0], [7, 25, 0]]),
    "quad": np.array([[0.0, 0, 0], [30, 4, 0], [33, 28, 0], [-4, 22, 0]]),
}
AREA = {"triangle": 361.0, "quad": 773.0}  # by the shoelace formula


def one_cell(kind, offset=0.0, thickness=2.0):
    corners = CORNERS[kind]
    return cell_arrays(corners, np.arange(len(corners))[None], thickness, 210e3, 0.3, offset=offset), corners


def rigid(corners, shift, turn):
    """Unknowns (k * 6,) of a small rigid motion."""
    return np.hstack([np.array(shift) + np.cross(turn, corners), np.tile(turn, (len(corners), 1))]).ravel()


@pytest.mark.parametrize("offset", (0.0, 3.0))
@pytest.mark.parametrize("kind", CORNERS)
def test_rigid_motions_have_the_inertia_of_a_plate(kind, offset):
    # statics of a lamina by hand: mass per area 0.02 at z = offset; second moments by 6 x 6 Gauss points of the surface
    cells, corners = one_cell(kind, offset)
    mass = shell_mass(cells, np.array([0.02]))[0]
    assert_allclose(mass, mass.T, atol=1e-12 * np.abs(mass).max())
    for axis in np.eye(3):
        moved = rigid(corners, axis, np.zeros(3))
        assert moved @ mass @ moved == pytest.approx(0.02 * AREA[kind])
    points, weights = surface_points(corners)
    points = points + [0, 0, offset]
    for turn in np.eye(3)[:2]:  # in-plane axes: rotary inertia t²/12 besides
        moved = rigid(corners, np.zeros(3), turn)
        arm = np.cross(turn, points)
        exact = 0.02 * (weights @ (arm**2).sum(axis=1) + AREA[kind] * 2.0**2 / 12)
        assert moved @ mass @ moved == pytest.approx(exact)


def surface_points(corners):
    """Places and area weights of a fine rule over a flat cell."""
    at, w = np.polynomial.legendre.leggauss(6)
    if len(corners) == 3:
        corners = corners[[0, 1, 2, 2]]
    xi, eta = (grid.ravel() for grid in np.meshgrid(at, at))
    signs = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    shape = 0.25 * (1 + xi[:, None] * signs[:, 0]) * (1 + eta[:, None] * signs[:, 1])
    along = 0.25 * signs[:, 0] * (1 + eta[:, None] * signs[:, 1]), 0.25 * signs[:, 1] * (1 + xi[:, None] * signs[:, 0])
    area = np.linalg.norm(np.cross(along[0] @ corners, along[1] @ corners), axis=1)
    return shape @ corners, np.outer(w, w).ravel() * area


@pytest.mark.parametrize("kind", CORNERS)
def test_lumped_mass_keeps_mass_first_moment_and_rotary_inertia(kind):
    # statics of a lamina by hand, mass 0.02 per area at z = 3: what is lumped lies at the corners by their shares
    cells, corners = one_cell(kind, 3.0)
    mass = shell_mass(cells, np.array([0.02]), True)[0]
    blocks = mass.reshape(len(corners), 6, len(corners), 6)
    assert np.abs(blocks * (1 - np.eye(len(corners)))[:, None, :, None]).max() == 0
    points, weights = surface_points(corners)
    first = 0.02 * weights @ (points + [0, 0, 3.0])
    for axis in np.eye(3):
        moved = rigid(corners, axis, np.zeros(3))
        assert moved @ mass @ moved == pytest.approx(0.02 * AREA[kind])
        for turn in np.eye(3):  # momentum of a turn about the origin
            assert moved @ mass @ rigid(corners, np.zeros(3), turn) == pytest.approx(axis @ np.cross(turn, first))
    own = sum(blocks[i, 3:, i, 3:] for i in range(len(corners)))
    assert_allclose(own, np.diag([1, 1, 0]) * 0.02 * AREA[kind] * (3.0**2 + 2.0**2 / 12), atol=1e-12)


def test_lumped_mass_of_a_rectangle_turns_as_four_corners():
    # by hand: m (a² + b²)/4 about the normal through the middle, (a² + b²)/12 were right
    corners = np.array([[-20.0, -10, 0], [20, -10, 0], [20, 10, 0], [-20, 10, 0]])
    cells = cell_arrays(corners, np.arange(4)[None], 2.0, 210e3, 0.3)
    moved = rigid(corners, np.zeros(3), np.array([0.0, 0, 1]))
    energies = [moved @ shell_mass(cells, np.array([0.02]), lumped)[0] @ moved for lumped in (True, False)]
    assert energies == pytest.approx([16.0 * 2000 / 4, 16.0 * 2000 / 12])


@pytest.mark.parametrize("kind", CORNERS)
def test_plane_mass_is_the_shells_in_the_plane(kind):
    cells, corners = one_cell(kind)
    shell = shell_mass(cells, np.array([0.02]))[0]
    k = len(corners)
    in_plane = (np.arange(k)[:, None] * 6 + np.arange(2)).ravel()
    assert_allclose(plane_mass(cells, np.array([0.02]))[0], shell[np.ix_(in_plane, in_plane)])


@pytest.mark.parametrize("kind", CORNERS)
def test_a_turned_sheet_does_the_work_of_its_membrane_forces(kind):
    # ∇w = (a, b): energy ½ (nx a² + ny b² + 2 nxy a b) × area, by hand
    cells, corners = one_cell(kind)
    force = np.array([-30.0, 12.0, 7.0])
    stiffness = geometric_stiffness(cells, np.tile(force, (1, len(corners), 1)))[0]
    a, b = 0.3, -0.2
    moved = np.zeros((len(corners), 6))
    moved[:, 2] = a * corners[:, 0] + b * corners[:, 1]
    exact = (force[0] * a**2 + force[1] * b**2 + 2 * force[2] * a * b) * AREA[kind]
    assert moved.ravel() @ stiffness @ moved.ravel() == pytest.approx(exact)
    shifted = rigid(corners, [1.0, 2.0, 3.0], np.zeros(3))
    assert np.abs(stiffness @ shifted).max() < 1e-9 * np.abs(stiffness).max()  # a shift turns nothing


def test_an_offset_plate_moves_with_its_points_rotations():
    # turned about x through its points, a plate offset by d moves by d along -y: the same energy as without offset
    here, corners = one_cell("quad")
    away, _ = one_cell("quad", offset=5.0)
    force = np.tile([-30.0, 12.0, 7.0], (1, 4, 1))
    moved = rigid(corners, np.zeros(3), np.array([0.1, 0.0, 0.0]))
    energies = [moved @ geometric_stiffness(cells, force)[0] @ moved for cells in (here, away)]
    assert energies[0] == pytest.approx(energies[1])
