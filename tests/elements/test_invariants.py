"""What must hold for every element whatever the formulation: rigid motions, spectrum, axes, numbering, counts."""

import numpy as np
import pytest
from assembled import Assembled, cell_arrays, grid, made_of, rotation
from numpy.testing import assert_allclose

from femkit.elements import PLANES, SHELLS

FAMILIES = [pytest.param(SHELLS, kind, id=f"shell {kind}") for kind in SHELLS] + [
    pytest.param(PLANES, kind, id=f"plane {kind}") for kind in PLANES
]
N_CORNERS = {"triangle": 3, "quad": 4, "triangle6": 3, "quad8": 4, "quad9": 4}
N_POINTS = {"triangle": 3, "quad": 4, "triangle6": 6, "quad8": 8, "quad9": 9}
CORNERS = np.array([[0.0, 0.0, 0.0], [2.0, 0.2, 0.0], [1.8, 1.5, 0.0], [0.1, 1.1, 0.0]])  # a distorted cell, mm
WARP = np.array([1.0, -1.0, 1.0, -1.0])


def one_cell(family, kind, warp=0.0, turn=None, **more):
    """One distorted cell; shells stand askew in space, and warped if asked."""
    points = CORNERS
    if family is SHELLS:
        points = CORNERS + np.outer(warp * WARP, [0, 0, 1])
        points = points @ (rotation() if turn is None else turn).T + [5.0, -3.0, 2.0]
        more = {"offset": 0.07, "bend": 0.05, **more}
    n = N_CORNERS[kind]
    if N_POINTS[kind] > 4:
        points, cells = made_of(kind, points, np.arange(4)[None])
        points = points + 0.05 * np.sin(5 * points[:, ::-1]) * (np.arange(len(points)) > 3)[:, None]  # curved sides
        return cell_arrays(points[cells[0]], np.arange(N_POINTS[kind])[None], 0.1, 2e5, 0.3, **more)
    return cell_arrays(points[:n], np.arange(n)[None], 0.1, 2e5, 0.3, **more)


def order_of(kind, corners):
    """Points in another order: the corners as given, each side's middle with its side, the centre last."""
    corners, n = np.asarray(corners), N_CORNERS[kind]
    following = np.roll(corners, -1)
    sides = np.where((corners + 1) % n == following, corners, following)
    return np.concatenate([corners, n + sides, [8]])[: N_POINTS[kind]]


def many_cells(family, kind, n=4):
    points, cells = grid(kind, n, n, shift=0.2)
    points = np.column_stack([points, 0.1 * np.sin(3 * points[:, 0]) * points[:, 1]])
    if family is SHELLS:
        return cell_arrays(points @ rotation(1).T, cells, 0.05, 2e5, 0.3, offset=0.02, bend=0.03)
    return cell_arrays(points, cells, 0.05, 2e5, 0.3)


def rigid_motions(family, points):
    """Displacements (n_motions, n_points * n_unknowns) of unit rigid motions."""
    if family is PLANES:
        x, y = points[:, 0], points[:, 1]
        one, none = np.ones_like(x), np.zeros_like(x)
        return np.array([np.stack(m, axis=1).ravel() for m in ([one, none], [none, one], [-y, x])])
    motions = np.zeros((6, len(points), 6))
    for i in range(3):
        motions[i, :, i] = 1.0
        motions[3 + i, :, 3 + i] = 1.0
        motions[3 + i, :, :3] = np.cross(np.eye(3)[i], points)
    return motions.reshape(6, -1)


@pytest.mark.parametrize("warp", [0.0, 0.2])
@pytest.mark.parametrize(("family", "kind"), FAMILIES)
def test_rigid_motions_give_no_force_and_no_strain(family, kind, warp):
    cells = one_cell(family, kind, warp)
    stiffness, operator = family[kind].stiffness(cells)[0], family[kind].strain_operator(cells)[0]
    for motion in rigid_motions(family, cells.corners[0]):
        assert np.abs(stiffness @ motion).max() < 1e-13 * np.abs(stiffness).max() * np.abs(motion).max()
        assert np.abs(operator @ motion).max() < 1e-13 * np.abs(operator).max() * np.abs(motion).max()


@pytest.mark.parametrize("thickness", [0.5, 0.01])
@pytest.mark.parametrize("warp", [0.0, 0.2])
@pytest.mark.parametrize(("family", "kind"), FAMILIES)
def test_only_rigid_motions_are_free(family, kind, warp, thickness):
    cells = one_cell(family, kind, warp)
    cells.thickness[:] = thickness
    stiffness = family[kind].stiffness(cells)[0]
    assert_allclose(stiffness, stiffness.T, rtol=0, atol=1e-15 * np.abs(stiffness).max())
    values = np.linalg.eigvalsh(stiffness) / np.abs(stiffness).max()
    n_rigid = 3 if family is PLANES else 6
    assert np.abs(values[:n_rigid]).max() < 1e-14
    # the softest real mode bends the cell: of the order of the thickness over the cell, squared, or a hundredth of it
    assert values[n_rigid] > (1e-3 if family is PLANES else 1e-2 * min((thickness / 2.0) ** 2, 1e-3))


@pytest.mark.parametrize("kind", SHELLS)
def test_a_patch_has_no_spurious_soft_modes(kind):
    # a free square of 3 x 3 cells, t / L = 1 / 100: its softest real mode is a twist, far above what a mode without
    # stiffness would show; the count must not depend on the cells being warped
    for rise in (0.0, 0.2):
        flat, cells = grid(kind, 3, 3, shift=0.15)
        points = np.column_stack([flat, rise * flat[:, 0] * flat[:, 1]])
        model = Assembled(kind, points, cells, 0.01, 1.0, 0.3)
        values = np.linalg.eigvalsh(model.stiffness.toarray())
        assert np.abs(values[:6]).max() < 1e-14 * values[-1]
        # closed form: a constant twist w = c x y has the energy D (1 - nu) c2 / 2 times the area; against the square
        # sum of its unknowns (about 0.2 + 1/3 + 1/3 a point) that is a bound for the least value, from above
        rigidity = 0.01**3 / 12 / (1 - 0.09)
        assert values[6] > 0.1 * rigidity * (1 - 0.3) / len(points)


@pytest.mark.parametrize(("family", "kind"), FAMILIES)
def test_stiffness_does_not_depend_on_the_frames_angle(family, kind):
    cells = one_cell(family, kind, warp=0.2)
    turned = one_cell(family, kind, warp=0.2, reference=(0.3, 0.5, 0.7) if family is SHELLS else (0.6, -0.8, 0.0))
    assert np.abs(cells.frames - turned.frames).max() > 0.1
    stiffness = family[kind].stiffness(cells)
    assert_allclose(family[kind].stiffness(turned), stiffness, rtol=0, atol=1e-14 * np.abs(stiffness).max())


@pytest.mark.parametrize(("family", "kind"), FAMILIES)
def test_any_corner_may_come_first(family, kind):
    cells, n = one_cell(family, kind, warp=0.2), N_CORNERS[kind]
    order = order_of(kind, np.roll(np.arange(n), 1))
    moved = cell_arrays(cells.corners[0], order[None], 0.1, 2e5, 0.3, offset=cells.offset, bend=cells.bend)
    width = 2 if family is PLANES else 6
    unknowns = (order[:, None] * width + np.arange(width)).ravel()
    stiffness, operator = family[kind].stiffness(cells)[0], family[kind].strain_operator(cells)[0]
    expected = stiffness[np.ix_(unknowns, unknowns)]
    assert_allclose(family[kind].stiffness(moved)[0], expected, rtol=0, atol=1e-14 * np.abs(stiffness).max())
    places = np.concatenate([[0], 1 + order[:n]])
    expected = operator[places][:, :, unknowns]
    assert_allclose(family[kind].strain_operator(moved)[0], expected, rtol=0, atol=1e-13 * np.abs(operator).max())


@pytest.mark.parametrize("warp", [0.0, 0.2])
@pytest.mark.parametrize("kind", SHELLS)
def test_a_turned_cell_has_the_turned_stiffness(kind, warp):
    turn = rotation(7)
    plain, turned = one_cell(SHELLS, kind, warp, turn=np.eye(3)), one_cell(SHELLS, kind, warp, turn=turn)
    blocks = np.kron(np.eye(2 * N_CORNERS[kind]), turn)
    stiffness = SHELLS[kind].stiffness(plain)[0]
    expected = blocks @ stiffness @ blocks.T
    assert_allclose(SHELLS[kind].stiffness(turned)[0], expected, rtol=0, atol=1e-14 * np.abs(stiffness).max())


@pytest.mark.parametrize(("family", "kind"), FAMILIES)
def test_cells_are_independent_of_each_other(family, kind):
    cells, kernel = many_cells(family, kind), family[kind]
    order = np.random.default_rng(2).permutation(len(cells))
    strain = np.linspace(-1e-3, 1e-3, len(cells))
    for function in (kernel.stiffness, kernel.strain_operator, kernel.section_stiffness):
        together = function(cells)
        assert_allclose(function(cells[order]), together[order], rtol=0, atol=1e-14 * np.abs(together).max())
        assert_allclose(function(cells[5:6])[0], together[5], rtol=0, atol=1e-14 * np.abs(together).max())
    forces = kernel.thermal_forces(cells, strain)
    assert_allclose(kernel.thermal_forces(cells[order], strain[order]), forces[order], rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize(("family", "kind"), FAMILIES)
def test_no_cells_and_a_thousand_cells_keep_the_shapes(family, kind):
    k, n, width, n_strains = (N_POINTS[kind], N_CORNERS[kind], *((2, 3) if family is PLANES else (6, 8)))
    thousand = many_cells(family, kind, n=32)[:1000]
    for cells in (thousand, thousand[:0]):
        assert family[kind].stiffness(cells).shape == (len(cells), k * width, k * width)
        assert family[kind].strain_operator(cells).shape == (len(cells), 1 + n, n_strains, k * width)
        assert family[kind].section_stiffness(cells).shape == (len(cells), n_strains, n_strains)
        assert family[kind].thermal_forces(cells, np.zeros(len(cells))).shape == (len(cells), k * width)


@pytest.mark.parametrize("warp", [0.0, 0.2])
@pytest.mark.parametrize("kind", SHELLS)
def test_an_offset_is_a_shifted_cell_on_rigid_arms(kind, warp):
    offset, kernel = 0.4, SHELLS[kind]
    with_offset = one_cell(SHELLS, kind, warp, offset=offset)
    z = with_offset.frames[0, 2]
    n = N_CORNERS[kind]
    shifted = cell_arrays(with_offset.corners[0] + offset * z, np.arange(n)[None], 0.1, 2e5, 0.3, bend=0.05)
    arm = np.eye(6)
    arm[:3, 3:] = np.cross(np.eye(3), offset * z).T  # columns: unit rotations × arm
    arms = np.kron(np.eye(n), arm)
    stiffness = kernel.stiffness(shifted)[0]
    expected = arms.T @ stiffness @ arms
    assert_allclose(kernel.stiffness(with_offset)[0], expected, rtol=0, atol=1e-14 * np.abs(expected).max())
    operator = kernel.strain_operator(shifted)[0] @ arms
    assert_allclose(kernel.strain_operator(with_offset)[0], operator, rtol=0, atol=1e-13 * np.abs(operator).max())


@pytest.mark.parametrize(("family", "kind"), FAMILIES)
def test_reversed_cells_have_the_same_stiffness(family, kind):
    # a cell seen from below is the same plate: normals carry no stiffness, only the sign of the offset
    cells, n = one_cell(family, kind, warp=0.2), N_CORNERS[kind]
    order = order_of(kind, np.arange(n)[::-1])
    reversed_ = cell_arrays(cells.corners[0], order[None], 0.1, 2e5, 0.3, offset=-cells.offset, bend=cells.bend)
    width = 2 if family is PLANES else 6
    unknowns = (order[:, None] * width + np.arange(width)).ravel()
    stiffness = family[kind].stiffness(cells)[0]
    expected = stiffness[np.ix_(unknowns, unknowns)]
    assert_allclose(family[kind].stiffness(reversed_)[0], expected, rtol=0, atol=1e-14 * np.abs(stiffness).max())


@pytest.mark.parametrize(("family", "kind"), FAMILIES)
def test_free_expansion_is_free_of_stress_and_has_its_exact_size(family, kind):
    strain = 1.2e-5 * 80.0  # steel, 80 K
    flat, cells = grid(kind, 3, 3, shift=0.2)
    points = np.pad(flat, [(0, 0), (0, 1)])
    more = {"offset": 0.03} if family is SHELLS else {}
    if family is SHELLS:
        points = points @ rotation(3).T
    model = Assembled(kind, points, cells, 0.05, 2e5, 0.3, family=family, **more)
    forces = np.zeros(points.shape[0] * model.n_unknowns)
    np.add.at(forces, model.unknowns, model.kernel.thermal_forces(model.arrays, np.full(len(cells), strain)))
    exact = np.zeros((len(points), model.n_unknowns))
    width = min(model.n_unknowns, 3)
    exact[:, :width] = strain * points[:, :width]
    # held at three points in their own final places: no more than a rigid body needs
    held = np.full(exact.shape, np.nan)
    held[[0, 3, -1], :width] = exact[[0, 3, -1], :width]
    displacement = model.solve(held, forces.reshape(exact.shape))
    assert_allclose(displacement, exact, rtol=0, atol=1e-9 * strain)
    free = np.zeros(model.kernel.section_stiffness(model.arrays).shape[1])
    free[:2] = strain
    assert_allclose(model.strains(displacement) - free, 0.0, rtol=0, atol=1e-9 * strain)
