"""Quadratic cells in meshes: areas, edges, sides, quality, reading and writing, and what is refused."""

from dataclasses import replace

import numpy as np
import pytest
from mesh_files import Block, File, write_msh

import femkit as fk
from femkit.errors import MeshError, ModelError
from femkit.mesh import Mesh, fold_edges, free_edges, mesh_quality, orient, select_edges, select_points, topology
from femkit.model.acting import length_shares
from femkit.verify.grids import grid

KINDS = ("triangle6", "quad8", "quad9")
STEEL = fk.Material("steel", E=210e3, nu=0.3, density=7.85e-9)


def plate(s, t):
    return np.column_stack([60 * s, 20 * t + 10 * s])


def sector(s, t):
    r, angle = 100 + 100 * s, 0.4 * t
    return np.column_stack([r * np.cos(angle), r * np.sin(angle)])


def by_corners(mesh):
    """The mesh with linear cells on the same corners; its points stay."""
    linear = {"triangle6": "triangle", "quad8": "quad", "quad9": "quad"}
    cells = {linear[kind]: corners for kind, corners, _ in mesh.corner_blocks()}
    return Mesh(mesh.points, cells)


@pytest.mark.parametrize("kind", KINDS)
def test_with_straight_sides_all_is_as_with_linear_cells(kind):
    mesh = grid(kind, 3, 2, plate)
    linear = by_corners(mesh)
    for name in ("areas", "normals", "centres", "corners", "sizes"):
        np.testing.assert_allclose(getattr(mesh, name), getattr(linear, name), atol=1e-12)
    np.testing.assert_array_equal(mesh.edges.points, linear.edges.points)
    here, there = mesh_quality(mesh), mesh_quality(linear)
    for name in ("aspect", "warp", "scaled_jacobian"):
        np.testing.assert_allclose(getattr(here, name), getattr(there, name), atol=1e-12)
    assert set(here.worst()["kind"]) == {kind}


@pytest.mark.parametrize("kind", KINDS)
def test_areas_follow_curved_sides(kind):
    # a sector of a ring: angle / 2 · (200² - 100²); a parabola through three points of an arc leaves the fourth power
    exact = 0.2 * (200**2 - 100**2)
    errors = [1 - grid(kind, 1, n, sector).areas.sum() / exact for n in (1, 2, 4)]
    assert abs(errors[0]) < 1e-4
    assert np.log2(np.divide(errors[:-1], errors[1:])) == pytest.approx(4, abs=0.1)


@pytest.mark.parametrize("kind", KINDS)
def test_edges_know_the_middles_of_their_sides(kind):
    mesh = grid(kind, 3, 2, plate)
    edges = mesh.edges
    np.testing.assert_allclose(mesh.points[edges.middle], mesh.points[edges.points].mean(axis=1), atol=1e-12)
    assert edges.is_matched.all()
    assert len(free_edges(mesh)) == 2 * 10  # in halves: 3 + 2 + 3 + 2 sides
    assert len(fold_edges(mesh)) == 20
    assert set(mesh.points_of_cell[0]) - {-1} == set(mesh.cells[kind][0])


@pytest.mark.parametrize("kind", KINDS)
def test_a_straight_side_has_a_sixth_two_thirds_and_a_sixth(kind):
    # Simpson's rule, exact for the side's functions
    mesh = grid(kind, 1, 2, lambda s, t: np.column_stack([60 * s, 20 * t]))
    shares = length_shares(mesh, "s=1", "test")
    along = np.argsort(mesh.points[:, 1] + 1e3 * (mesh.points[:, 0] < 59))[:5]
    np.testing.assert_allclose(shares[along], 10 * np.array([1, 4, 2, 4, 1]) / 6, atol=1e-13)
    assert shares.sum() == pytest.approx(20)
    whole = mesh.points[along[[0, 2, 4]]]
    assert (whole[:, 1] == [0, 10, 20]).all()
    # by its ends alone, by place, backwards and by indices it is the same side
    ends = np.array([along[[0, 2]], along[[4, 2]]])
    for where in (ends, fk.on_plane(x=60), mesh.edge_sets["s=1"][::-1, ::-1]):
        np.testing.assert_allclose(length_shares(mesh, where, "test"), shares, atol=1e-13)
    named = replace(mesh, edge_sets={"ends": ends})
    assert select_points(named, "ends").tolist() == sorted(along)
    assert len(select_edges(named, "ends")) == 4


def test_half_a_side_and_a_curved_one_carry_their_own_length():
    mesh = grid("quad8", 1, 1, sector)
    inner = mesh.edge_sets["s=0"]
    # arc of 100 mm over 0.4 rad, against a parabola's length by integration: 40 mm less a few parts in 1e5
    assert length_shares(mesh, "s=0", "test").sum() == pytest.approx(40, rel=1e-4)
    half = length_shares(mesh, inner[:1], "test")
    both = half + length_shares(mesh, inner[1:], "test")
    np.testing.assert_allclose(both, length_shares(mesh, "s=0", "test"), atol=1e-13)
    flat = grid("quad8", 1, 1, plate)
    # by hand: the integrals of ξ(ξ - 1)/2, 1 - ξ² and ξ(ξ + 1)/2 over -1 … 0, times half the length 20
    half = length_shares(flat, flat.edge_sets["s=0"][:1], "test")
    np.testing.assert_allclose(np.sort(half[half != 0]), 10 * np.array([-1 / 12, 5 / 12, 2 / 3]), atol=1e-13)


def test_linear_and_quadratic_pairs_may_stand_in_one_set():
    mesh = grid("quad8", 1, 1, plate)
    points = np.vstack([mesh.points, [[0, 30, 0], [-10, 20, 0]]])
    corner = int(np.flatnonzero((points == [0, 20, 0]).all(axis=1))[0])
    mixed = Mesh(points, {"triangle": [[corner, 8, 9]], **mesh.cells})
    pairs = np.vstack([mesh.edge_sets["s=0"], [[corner, 8]]])
    shares = length_shares(mixed, pairs, "test")
    assert shares.sum() == pytest.approx(30)
    assert shares[8] == pytest.approx(5)


@pytest.mark.parametrize("kind", KINDS)
def test_turning_a_cell_keeps_its_middles_with_their_sides(kind):
    mesh = grid(kind, 2, 2, lambda s, t: sector(s, t)[:, ::-1])  # mirrored: normals along -z
    assert (mesh.normals[:, 2] < 0).all()
    turned, notes = orient(mesh)
    assert (turned.normals[:, 2] > 0).all()
    np.testing.assert_allclose(turned.areas, mesh.areas, rtol=1e-12)
    np.testing.assert_array_equal(turned.cells[kind][:, 0], mesh.cells[kind][:, 0])
    np.testing.assert_array_equal(turned.edges.middle, mesh.edges.middle)
    np.testing.assert_allclose(mesh_quality(turned).scaled_jacobian, mesh_quality(mesh).scaled_jacobian)
    assert (mesh_quality(turned).scaled_jacobian > 0.4).all()
    assert notes


def test_a_cell_that_folds_is_seen_in_its_quality():
    mesh = grid("quad9", 1, 1, lambda s, t: np.column_stack([2 * s, 2 * t]))
    for point, place in (
        (4, (0.4, 0)),
        (8, (1.9, 1.9)),
    ):  # a middle beyond the quarter of its side; a centre in a corner
        points = mesh.points.copy()
        points[mesh.cells["quad9"][0, point], :2] = place
        folded = replace(mesh, points=points)
        assert mesh_quality(folded).scaled_jacobian[0] <= 0
        model = fk.Model(folded, fk.Plate(1.0, STEEL), behaviour="plane stress", units="any")
        assert any("1 quadratic cells fold over themselves, the first is cell 0" in fault for fault in model.check())


def file_of(kind):
    """Two cells askew (one for quadrilaterals), a named sheet and a named line of three points."""
    mesh = grid(kind, 1, 1, sector)
    line = np.concatenate(mesh.edge_sets["s=0"]) + 1
    blocks = [
        Block(kind, (mesh.cells[kind] + 1).tolist(), (1,)),
        Block("line3", [[int(line[0]), int(line[3]), int(line[1])]], (2,)),
    ]
    return mesh, File(mesh.points, blocks, [(2, 1, "sheet"), (1, 2, "foot")])


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("version", "is_binary"), [("2.2", False), ("2.2", True), ("4.1", False), ("4.1", True)])
def test_quadratic_cells_are_kept_when_asked_for(tmp_path, kind, version, is_binary):
    mesh, file = file_of(kind)
    path = write_msh(tmp_path / "a.msh", file, version, is_binary)
    kept = fk.read_mesh(path, quadratic=True)
    np.testing.assert_array_equal(kept.cells[kind], mesh.cells[kind])
    np.testing.assert_allclose(kept.points, mesh.points, rtol=1e-14)
    assert len(kept.cell_sets["sheet"]) == mesh.n_cells
    assert length_shares(kept, "foot", "test") == pytest.approx(length_shares(mesh, "s=0", "test"))
    assert not any("Split" in note or "centre" in note for note in kept.notes)
    split = fk.read_mesh(path)
    assert not split.is_quadratic
    assert split.n_cells == 4 * mesh.n_cells


@pytest.mark.parametrize("kind", KINDS)
def test_results_written_and_read_again_have_the_same_cells(tmp_path, kind):
    mesh = grid(kind, 2, 2, sector)
    mesh = replace(mesh, cell_sets={"sheet": np.arange(mesh.n_cells), "one": [1]}, point_sets={"held": [0, 3]})
    model = fk.Model(
        mesh,
        {"sheet": fk.Plate(2.0, STEEL)},
        supports=[fk.Support("t=0", ux=0, uy=0)],
        load_cases=[fk.LoadCase("pull", fk.LineLoad("t=1", fy=5.0))],
        behaviour="plane stress",
    )
    path = fk.solve_static(model).write(tmp_path / "a.vtu")
    back = fk.read_mesh(path, quadratic=True)
    np.testing.assert_array_equal(back.cells[kind], mesh.cells[kind])
    np.testing.assert_array_equal(back.points, mesh.points)
    assert {n: c.tolist() for n, c in back.cell_sets.items()} == {n: c.tolist() for n, c in mesh.cell_sets.items()}
    assert back.point_sets["held"].tolist() == [0, 3]
    assert fk.read_mesh(path).n_cells == 4 * mesh.n_cells


def test_reading_keeps_linear_and_quadratic_cells_in_their_order(tmp_path):
    mesh = grid("quad8", 2, 1, plate)
    points = np.vstack([mesh.points, mesh.points[:1] - [10, 0, 0], mesh.points[:1] - [10, 10, 0]])
    blocks = [Block("quad8", (mesh.cells["quad8"] + 1).tolist(), (1,)), Block("triangle", [[1, 14, 15]], (2,), 2)]
    path = write_msh(tmp_path / "a.msh", File(points, blocks, [(2, 1, "sheet"), (2, 2, "ear")]))
    read = fk.read_mesh(path, quadratic=True)
    assert [(kind, len(cells)) for kind, cells in read.cells.items()] == [("triangle", 1), ("quad8", 2)]
    assert read.cell_sets["ear"].tolist() == [0]
    assert read.cell_sets["sheet"].tolist() == [1, 2]


def test_a_quadrilateral_with_a_side_of_no_length_becomes_a_triangle(tmp_path):
    mesh = grid("quad9", 1, 1, plate)
    cell = mesh.cells["quad9"][0].tolist()
    for k in range(4):
        pinched = np.array(cell)
        pinched[(k + 1) % 4] = pinched[4 + k] = pinched[k]  # the side from corner k on shrinks into its point
        path = write_msh(tmp_path / f"{k}.msh", File(mesh.points, [Block("quad9", [(pinched + 1).tolist()], (1,))]))
        read = fk.read_mesh(path, quadratic=True)
        assert list(read.cells) == ["triangle6"]
        found = mesh_places(read, np.column_stack([read.edges.points, read.edges.middle]))
        left = [
            (k, (k + 2) % 4, 4 + (k + 1) % 4),
            ((k + 2) % 4, (k + 3) % 4, 4 + (k + 2) % 4),
            ((k + 3) % 4, k, 4 + (k + 3) % 4),
        ]
        assert found == mesh_places(mesh, mesh.cells["quad9"][0][np.array(left)])


def mesh_places(mesh, sides):
    """Sides (n, 3) as a set of both ends' places, in any order, and the middle's."""
    at = [tuple(place) for place in mesh.points.tolist()]
    return {(frozenset((at[a], at[b])), at[c]) for a, b, c in sides}


def test_joined_cells_share_the_middle_of_their_side(tmp_path):
    flat = grid("quad8", 1, 1, lambda s, t: np.column_stack([60 * s, 20 * t]))
    points = np.vstack([flat.points, flat.points + [60.0, 0, 0]])
    cells = np.vstack([flat.cells["quad8"], flat.cells["quad8"] + 8]) + 1
    path = write_msh(tmp_path / "a.msh", File(points, [Block("quad8", cells.tolist(), (1,))], [(2, 1, "sheet")]))
    assert fk.read_mesh(path, quadratic=True).n_points == 16
    joined = fk.read_mesh(path, quadratic=True, merge_within=0.01)
    assert joined.n_points == 13
    assert joined.edges.is_matched.all()


# ---- what is refused


def model_of(mesh, **more):
    return fk.Model(mesh, fk.Plate(2.0, STEEL), **{"behaviour": "plane stress", **more})


def test_shells_of_quadratic_cells_are_refused_with_what_is_right():
    mesh = grid("quad9", 2, 2, plate)
    model = model_of(
        mesh,
        behaviour="shell",
        supports=[fk.Support("s=0", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)],
        load_cases=[fk.LoadCase("pull", fk.LineLoad("s=1", fx=1.0))],
    )
    words = r'the mesh holds 4 quad9. Read it with quadratic=False, .* or take behaviour="plane stress"'
    assert len(model.check()) == 1
    for solve in (fk.solve_static, fk.solve_modes, lambda m: fk.solve_buckling(m, "pull")):
        with pytest.raises(ModelError, match=words):
            solve(model)


def test_refining_is_refused():
    with pytest.raises(MeshError, match="refine cuts linear cells; the mesh holds 4 triangle6"):
        fk.mesh.refine(grid("triangle6", 2, 1, plate))


def test_sides_that_do_not_share_their_middle_are_found():
    flat = grid("quad8", 1, 1, lambda s, t: np.column_stack([60 * s, 20 * t]))
    at = {tuple(place): i for i, place in enumerate(flat.points[:, :2].tolist())}
    low, middle, high = at[60.0, 0.0], at[60.0, 10.0], at[60.0, 20.0]
    beyond = np.vstack([flat.points, [[120, 0, 0], [120, 20, 0], [120, 10, 0], [90, 0, 0], [90, 20, 0], [60, 10, 0]]])
    whole = Mesh(beyond[:10], {"quad": [[low, 8, 9, high]], **flat.cells})  # passes the middle by
    halved = Mesh(beyond[:11], {"quad": [[low, 8, 10, middle], [middle, 10, 9, high]], **flat.cells})
    doubled = Mesh(beyond, {"quad8": [*flat.cells["quad8"], [low, 8, 9, high, 11, 10, 12, 13]]})
    shared = Mesh(beyond[:13], {"quad8": [*flat.cells["quad8"], [low, 8, 9, high, 11, 10, 12, middle]]})
    for mesh in (whole, halved, doubled):
        faults = [fault for fault in model_of(mesh).check() if "middle point" in fault]
        assert len(faults) == 1
        assert "1 sides of quadratic cells, the first at (60, 10, 0)" in faults[0]
    assert not any("middle point" in fault for fault in model_of(shared).check())


def test_a_mass_per_area_on_eight_point_cells_is_refused():
    mesh = replace(grid("quad8", 2, 1, plate), cell_sets={"sheet": [0, 1]})
    model = model_of(mesh, masses=[fk.AreaMass("sheet", 1e-8)])
    assert any("negative at their corners; give its plate added_mass instead" in fault for fault in model.check())


def test_edges_of_linear_meshes_have_no_middles():
    mesh = by_corners(grid("quad8", 2, 2, plate))
    assert (mesh.edges.middle == -1).all()
    assert mesh.points_of_cell is mesh.corners
    pairs = mesh.edges.points
    assert topology.halves(mesh, pairs) is pairs
