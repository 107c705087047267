"""Quadratic plane stress cells in whole models: patch, bending, curved sides, order of convergence, modes."""

import numpy as np
import pytest
from assembled import cell_arrays, made_of
from numpy.testing import assert_allclose

import femkit as fk
from femkit.elements import plane_mass
from femkit.errors import ModelError
from femkit.verify.grids import grid

KINDS = ("triangle6", "quad8", "quad9")
STEEL = fk.Material("steel", E=210e3, nu=0.3, density=7.85e-9, expansion=1.2e-5)


def solved(mesh, material, supports, loads, thickness=1.0):
    model = fk.Model(
        mesh,
        fk.Plate(thickness, material),
        supports=supports,
        load_cases=[fk.LoadCase("load", loads)],
        behaviour="plane stress",
        units="any",
    )
    return fk.solve_static(model)["load"]


def traction_forces(mesh, edge, traction):
    """Point loads of ``traction(x, y)`` (n, 2), MPa, on an edge 1 mm thick, by five Gauss points a side."""
    ends, middle = mesh.edges.points, mesh.edges.middle
    on_edge = np.isin(middle, fk.mesh.select_points(mesh, edge))
    sides = np.column_stack([ends[:, 0], middle, ends[:, 1]])[on_edge]
    at, weight = np.polynomial.legendre.leggauss(5)
    values = np.stack([at * (at - 1) / 2, 1 - at**2, at * (at + 1) / 2], axis=1)
    slopes = np.stack([at - 0.5, -2 * at, at + 0.5], axis=1)
    forces = np.zeros((mesh.n_points, 2))
    for side in sides:
        points = mesh.points[side, :2]
        length = np.linalg.norm(slopes @ points, axis=1) * weight
        forces[side] += values.T @ (traction(*(values @ points).T) * length[:, None])
    return [fk.PointLoad([i], fx=fx, fy=fy) for i, (fx, fy) in enumerate(forces) if fx or fy]


# R. H. MacNeal, R. L. Harder, Finite Elements in Analysis and Design 1 (1985) 3-20, fig. 1: 0.24 × 0.12, t = 0.001
PATCH = np.array([[0, 0], [0.24, 0], [0.24, 0.12], [0, 0.12], [0.04, 0.02], [0.18, 0.03], [0.16, 0.08], [0.08, 0.08]])
QUADS = np.array([[0, 1, 5, 4], [1, 2, 6, 5], [2, 3, 7, 6], [3, 0, 4, 7], [4, 5, 6, 7]])


def patch(kind):
    """The patch of one kind, or "mixed" of all three."""
    if kind != "mixed":
        points, cells = made_of(kind, PATCH, QUADS)
        return fk.Mesh(points, {kind: cells}, edge_sets={"right": [[1, 2]], "left": [[3, 0]]})
    points, nine = made_of("quad9", PATCH, QUADS)
    points[nine[4, 8]] = PATCH[[4, 6]].mean(axis=0)  # the middle of the diagonal between two triangles
    a, b, c, d, ab, bc, cd, da, ac = nine[4]
    six = [[a, b, c, ab, bc, ac], [a, c, d, ac, cd, da]]
    used = np.unique(np.concatenate([nine[:2, :8].ravel(), nine[2:].ravel()]))
    number = np.zeros(len(points), dtype=int)
    number[used] = np.arange(len(used))
    cells = {"triangle6": number[six], "quad8": number[nine[:2, :8]], "quad9": number[nine[2:4]]}
    return fk.Mesh(points[used], cells, edge_sets={"right": [[1, 2]], "left": [[3, 0]]})


@pytest.mark.parametrize("kind", (*KINDS, "mixed"))
def test_constant_tension_by_an_edge_load_on_three_supports(kind):
    # the load form of MH85's patch: an even pull of 100 MPa along x, and no more held than a rigid body needs
    supports = [fk.Support([0], ux=0, uy=0), fk.Support([3], ux=0)]
    mesh = patch(kind)
    loads = [fk.LineLoad("right", fx=0.1), fk.LineLoad("left", fx=-0.1)]
    case = solved(mesh, fk.Material("a", E=1e6, nu=0.25), supports, loads, thickness=0.001)
    exact = np.column_stack([1e-4 * mesh.points[:, 0], -0.25e-4 * mesh.points[:, 1]])
    assert_allclose(case.displacement[:, :2], exact, rtol=0, atol=1e-10 * 2.4e-5)
    at_corners = case.stress("middle", at="corners")[mesh.corners >= 0]
    for stress in (case.stress("middle"), at_corners):
        assert_allclose(stress, np.tile([100.0, 0, 0], (len(stress), 1)), atol=1e-8)
    assert_allclose(case.judged_stress(), 100.0, rtol=1e-10)


@pytest.mark.parametrize(
    ("kind", "lean"), [("triangle6", 0.0), ("triangle6", 0.6), ("quad8", 0.0), ("quad9", 0.0), ("quad9", 0.6)]
)
@pytest.mark.parametrize("n", [1, 2, 5])
def test_pure_bending_is_exact(kind, lean, n):
    # closed form: strip L = 10, depth 2, t = 1, E = 1000, nu = 0.25, end stress sx = -30 y: curvature 30 / E = 0.03,
    # tip deflection 0.03 · 10² / 2 = 1.5; u = -0.03 x y, v = 0.015 (x² + nu y²). Inner lines that lean make no
    # difference but to quad8, whose functions then lack one of the squares.
    leaning = lean * (np.arange(n + 1) % n > 0) * (-1.0) ** np.arange(n + 1)

    def place(s, t):
        return np.column_stack([10 * s + np.interp(s, np.linspace(0, 1, n + 1), leaning) * (2 * t - 1), 2 * t - 1])

    mesh = straightened(grid(kind, n, 1, place))
    supports = [fk.Support("s=0", ux=0), fk.Support(fk.near(0, 0), uy=0)]
    loads = traction_forces(mesh, "s=1", lambda x, y: np.column_stack([-30 * y, 0 * y]))
    case = solved(mesh, fk.Material("a", E=1000, nu=0.25), supports, loads)
    x, y, _ = mesh.points.T
    exact = np.column_stack([-0.03 * x * y, 0.015 * (x**2 + 0.25 * y**2)])
    assert np.abs(case.displacement[:, :2] - exact).max() < 1e-10 * 1.5
    is_corner = mesh.corners >= 0
    stress = case.stress("middle", at="corners")[is_corner]
    assert np.abs(stress - np.outer(-30 * y[mesh.corners[is_corner]], [1, 0, 0])).max() < 1e-8 * 30


def straightened(mesh):
    """The mesh with every middle point in the middle of its side."""
    points, edges = mesh.points.copy(), mesh.edges
    points[edges.middle] = points[edges.points].mean(axis=1)
    return fk.Mesh(points, mesh.cells, edge_sets=mesh.edge_sets)


# S. P. Timoshenko, J. N. Goodier, Theory of Elasticity, 3rd ed., art. 21 (from memory; the field satisfies equilibrium
# and Hooke's law identically): L = 48, D = 12, t = 1, P = 1000 up at the tip, E = 3e7, nu = 0.3
L, D, P, E, NU, I = 48.0, 12.0, 1000.0, 3e7, 0.3, 144.0


def parabolic_displacement(x, y):
    u = -(P * y / 6 / E / I) * ((6 * L - 3 * x) * x + (2 + NU) * (y**2 - D**2 / 4))
    v = (P / 6 / E / I) * (3 * NU * y**2 * (L - x) + (4 + 5 * NU) * D**2 * x / 4 + (3 * L - x) * x**2)
    return np.column_stack([u, v])


def parabolic_shear(x, y):
    return np.column_stack([0 * y, P / 2 / I * (D**2 / 4 - y**2)])


def order(errors):
    """Observed on the last two meshes, each half as coarse as the one before."""
    return np.log2(errors[-2] / errors[-1])


@pytest.mark.parametrize("kind", KINDS)
def test_the_parabolic_cantilevers_energy_converges_with_the_fourth_power(kind):
    # exact tractions on both ends. Theory: twice the degree of the functions (G. Strang, G. J. Fix, An Analysis of the
    # Finite Element Method, 1973, ch. 3). Closed form: P² L³ / 6 E I + 0.6 P² L / G A.
    errors = []
    for n in (2, 4, 8):
        mesh = grid(kind, 4 * n, n, lambda s, t: np.column_stack([L * s, D * (t - 0.5)]))
        loads = traction_forces(mesh, "s=1", parabolic_shear)
        loads += traction_forces(mesh, "s=0", lambda x, y: [P * L / I, 0] * y[:, None] - parabolic_shear(x, y))
        supports = [fk.Support(fk.near(0, 0), ux=0, uy=0), fk.Support(fk.near(0, D / 2), ux=0)]
        case = solved(mesh, fk.Material("a", E=E, nu=NU), supports, loads)
        energy = case.parent.solution.proof["load"].energy
        errors.append(1 - energy / (P**2 * L**3 / 6 / E / I + 0.6 * P**2 * L * 2 * (1 + NU) / E / D))
    assert min(errors) > 0  # compatible cells are too stiff
    assert order(errors) == pytest.approx(4, abs=0.1)
    assert errors[-1] < 1e-5


@pytest.mark.parametrize("kind", KINDS)
def test_the_parabolic_cantilevers_displacement_converges(kind):
    # exact displacements imposed at the root's points. Between those they are cubic, and where held and free sides meet
    # the order falls somewhat below 4.
    errors = []
    for n in (2, 4, 8):
        mesh = grid(kind, 4 * n, n, lambda s, t: np.column_stack([L * s, D * (t - 0.5)]))
        exact = parabolic_displacement(*mesh.points[:, :2].T)
        root = fk.mesh.select_points(mesh, "s=0")
        supports = [fk.Support([i], ux=ux, uy=uy) for i, (ux, uy) in zip(root, exact[root])]
        case = solved(mesh, fk.Material("a", E=E, nu=NU), supports, traction_forces(mesh, "s=1", parabolic_shear))
        errors.append(np.sqrt(((case.displacement[:, :2] - exact) ** 2).mean()) / 8.9e-3)  # of v at (48, 0)
    assert order(errors) > 3.6
    assert errors[-1] < 2e-6


@pytest.mark.parametrize("kind", KINDS)
def test_a_thick_cylinder_with_curved_sides(kind):
    # Lamé: S. P. Timoshenko, J. N. Goodier, Theory of Elasticity, 3rd ed., art. 28: radii 100 and 200, pressure 10
    # inside, E = 210e3, nu = 0.3, plane stress: u = 9.3650794e-3 at the inner side, hoop stress 16.666667
    errors = []
    for n in (2, 4, 8):

        def ring(s, t):
            r, angle = 100 + 100 * s, np.pi / 2 * t
            return np.column_stack([r * np.cos(angle), r * np.sin(angle)])

        mesh = grid(kind, n, 3 * n, ring)
        loads = traction_forces(mesh, "s=0", lambda x, y: 10 * np.column_stack([x, y]) / np.hypot(x, y)[:, None])
        supports = [fk.Support("t=0", uy=0), fk.Support("t=1", ux=0)]
        case = solved(mesh, STEEL, supports, loads)
        inner = fk.mesh.select_points(mesh, "s=0")
        u = np.linalg.norm(case.displacement[inner, :2], axis=1)
        errors.append(np.abs(u / 9.3650794e-3 - 1).max())
    # area of the ring: chords and parabolas through three points leave the fourth power of the angle
    assert mesh.areas.sum() == pytest.approx(np.pi / 4 * (200**2 - 100**2), rel=1e-7)
    assert order(errors) > 2.4  # triangles 2.6, quadrilaterals 3.6 and 3.7
    assert errors[-1] < (1e-4 if kind == "triangle6" else 1e-5)
    values = case.principal_stress("middle")[0]
    r = np.hypot(*mesh.centres[:, :2].T)
    at_corners = case.averaged_stress("middle")[0][np.isin(mesh.corners, inner)]
    hoop = at_corners[:, :2].sum(axis=1) + 10  # sr + so is the same in all axes; sr = -10
    assert np.abs(hoop / 16.666667 - 1).max() < 0.03
    hoop = 10 / 3 * (1 + 200**2 / r**2)
    assert np.abs(values[:, 0] / hoop - 1).max() < 0.01


@pytest.mark.parametrize("kind", KINDS)
def test_mass_carries_linear_and_quadratic_motions_exactly(kind):
    # a parallelogram 3 by 2 leaning by 1, 0.5 tonne/mm2: the integrals of 1, x² and x⁴ over it by hand
    corners = np.array([[0.0, 0, 0], [3, 0, 0], [4, 2, 0], [1, 2, 0]])
    points, cells = made_of(kind, corners, np.arange(4)[None])
    arrays = cell_arrays(points, cells, 1.0, 1.0, 0.3)
    mass = plane_mass(arrays, np.full(len(cells), 0.5))
    x = arrays.corners[..., 0]
    # x = 3 a + b, both from 0 to 1: x² is 3 + 3/2 + 1/3 on average, x⁴ 81/5 + 27/2 + 6 + 3/2 + 1/5
    whole = 0.5 * 6 * np.array([1, 29 / 6, 37.4])
    for power, exact in zip((0, 1, 2), whole):
        moved = np.stack([x**power, 0 * x], axis=2).reshape(len(cells), -1)
        assert np.einsum("ea,eab,eb->", moved, mass, moved) == pytest.approx(exact, rel=1e-12)


@pytest.mark.parametrize("kind", KINDS)
def test_a_bar_shakes_at_its_closed_form_frequency(kind):
    # closed form: a bar held at one end, f = sqrt(E / density) / 4 L, and 3 times that; nu = 0 so that it stays a bar
    mesh = grid(kind, 6, 1, lambda s, t: np.column_stack([1000 * s, 10 * t]))
    steel = fk.Material("bar", E=210e3, nu=0.0, density=7.85e-9)
    supports = [fk.Support("s=0", ux=0), fk.Support(np.arange(mesh.n_points), uy=0)]
    model = fk.Model(mesh, fk.Plate(2.0, steel), supports=supports, behaviour="plane stress")
    modes = fk.solve_modes(model, count=2)
    expected = np.sqrt(210e3 / 7.85e-9) / 4000 * np.array([1, 3])
    assert_allclose(modes.frequency, expected, rtol=1e-3)
    assert (modes.frequency > expected).all()  # consistent mass and compatible cells: from above


def test_lumped_masses_are_the_scaled_diagonal():
    # E. Hinton, T. Rock, O. C. Zienkiewicz, Earthq. Eng. Struct. Dyn. 4 (1976) 245-249, values from memory: 3/76 and
    # 16/76 of a rectangle's mass for eight points, 1/36, 4/36 and 16/36 for nine; 1/19 and 16/57 of a triangle's
    shares = {"quad8": [3 / 76, 16 / 76], "quad9": [1 / 36, 4 / 36, 16 / 36], "triangle6": [1 / 19, 16 / 57]}
    for kind, expected in shares.items():
        points, cells = made_of(kind, np.array([[0.0, 0, 0], [3, 0, 0], [3, 2, 0], [0, 2, 0]]), np.arange(4)[None])
        arrays = cell_arrays(points, cells, 1.0, 1.0, 0.3)
        mass = plane_mass(arrays, np.full(len(cells), 0.5), is_lumped=True)
        n = 3 if kind == "triangle6" else 4
        at_points = np.repeat(expected, [n, n, 1][: len(expected)]) * 0.5 * 6 / len(cells)
        assert_allclose(mass, np.diag(np.repeat(at_points, 2))[None].repeat(len(cells), axis=0), atol=1e-12)


@pytest.mark.parametrize("kind", KINDS)
def test_warming_gravity_and_sections(kind):
    mesh = grid(kind, 4, 2, lambda s, t: np.column_stack([400 * s, 100 * t + 20 * s * t]), wobble=0.2)
    held = [fk.Support(fk.near(0, 0), ux=0, uy=0), fk.Support(fk.near(400, 0), uy=0)]
    cases = [
        fk.LoadCase("warm", fk.Temperature(np.arange(mesh.n_cells), 50.0)),
        fk.LoadCase("weight", fk.Gravity(direction=(0, -1, 0))),
        fk.LoadCase("pull", [fk.LineLoad("s=1", fx=30.0, total=True), fk.LineLoad("s=0", fx=-30.0, total=True)]),
    ]
    model = fk.Model(mesh, fk.Plate(2.0, STEEL), supports=held, load_cases=cases, behaviour="plane stress")
    result = fk.solve_static(model)
    # expansion 1.2e-5 · 50 K in all directions, without stress
    assert_allclose(result["warm"].displacement[:, :2], 6e-4 * mesh.points[:, :2], atol=1e-10)
    assert np.abs(result["warm"].von_mises("middle")).max() < 1e-6
    # weight: 7.85e-9 t/mm3 · 9806.65 mm/s2 · 2 mm · 400 · 110 mm2
    weight = 7.85e-9 * 9806.65 * 2 * 44000
    assert result["weight"].reactions()["Fy (N)"].sum() == pytest.approx(weight, rel=1e-9)
    area = 400 * 100 + 400 * 20 / 2
    assert model.mass == pytest.approx(7.85e-9 * 2 * area, rel=1e-9)
    for x in (150.0, 250.0):  # the pulls' lines are 10 mm apart, at mid-height: 30 · 10 / 400 N across
        assert_allclose(result["pull"].section(x=x).force, [30, 0.75, 0], atol=1e-8)
    assert result["pull"].displacement_at("s=1")[0] > 0
    with pytest.raises(ModelError, match="corners of quadratic cells hardly see the error; compare two meshes"):
        result["pull"].error_estimate()
