"""Edges, parts and smooth sheets, counted by hand on meshes made by formula."""

import numpy as np
import pytest
from mesh_shapes import cross, grid, ring, shuffled

from femkit.mesh import Mesh, cell_edges, corner_groups, fold_edges, free_edges, parts, smooth_links, smooth_sheets
from femkit.units import degree


def test_edges_of_a_sheet_are_counted():
    mesh = grid(4, 3)
    edges = cell_edges(mesh)
    assert len(edges.points) == 4 * 4 + 5 * 3
    assert (edges.points[:, 0] < edges.points[:, 1]).all()
    assert np.bincount(edges.count).tolist() == [0, 14, 17]
    assert len(edges.edge) == len(edges.cell) == 4 * 12
    assert mesh.edges is mesh.edges  # kept


def test_sides_say_which_way_their_cell_runs():
    edges = cell_edges(Mesh([[0, 0], [1, 0], [1, 1], [0, 1]], {"triangle": [[0, 1, 2], [0, 2, 3]]}))
    diagonal = np.flatnonzero((edges.points == [0, 2]).all(axis=1))[0]
    sides = np.flatnonzero(edges.edge == diagonal)
    assert dict(zip(edges.cell[sides].tolist(), edges.is_forward[sides].tolist())) == {0: False, 1: True}


def test_free_edges_go_round_the_sheet_and_its_hole():
    mesh = grid(3, 3)
    keep = np.delete(np.arange(9), 4)
    holed = Mesh(mesh.points, {"quad": mesh.cells["quad"][keep]})
    assert len(free_edges(mesh)) == 12
    assert len(free_edges(holed)) == 12 + 4
    assert len(free_edges(ring(8, 2))) == 16


def test_triangles_and_quadrilaterals_share_edges():
    mesh = Mesh(
        [[0, 0], [1, 0], [1, 1], [0, 1], [2, 0]],
        {"triangle": [[1, 4, 2]], "quad": [[0, 1, 2, 3]]},
    )
    assert np.bincount(mesh.edges.count).tolist() == [0, 5, 1]
    assert len(set(smooth_sheets(mesh))) == 1


@pytest.mark.parametrize(("angle", "n_sheets"), [(29.9, 1), (30.1, 2), (90, 2), (150.1, 2), (179, 2)])
def test_a_sheet_ends_at_a_fold(angle, n_sheets):
    # strips at 180 degrees to each other lie flat; the fold is what is missing from that
    assert len(set(smooth_sheets(cross([0, np.pi - angle * degree])))) == n_sheets


def test_a_sheet_doubled_back_on_itself_is_two():
    # the planes are parallel but the cells lie on the same side of the edge
    assert len(set(smooth_sheets(cross([0, 1 * degree])))) == 2


def test_a_sheet_runs_on_through_a_junction_with_a_post():
    mesh = cross([0, np.pi, np.pi / 2])
    sheet = smooth_sheets(mesh)
    at = [sheet[mesh.cell_sets[name]].tolist() for name in "012"]
    assert at == [[0, 0, 0], [0, 0, 0], [1, 1, 1]]


def test_corners_lie_together_on_one_side_of_a_junction_only():
    # strips of 3 cells: 8 points each; on the axis both strips of a flat sheet have the same 4
    for angles, n_groups in (([0, np.pi], 12), ([0, np.pi / 2], 16), ([0, np.pi, np.pi / 2], 24)):
        mesh = cross(angles)
        group = corner_groups(mesh)
        assert np.unique(group).tolist() == list(range(n_groups))
        pairs = np.unique(np.column_stack([group.ravel(), mesh.corners.ravel()]), axis=0)
        assert len(pairs) == n_groups  # one point a group
    axis = np.column_stack([np.arange(4), np.arange(1, 5)])[:3, ::-1]
    assert corner_groups(cross([0, np.pi]), cut=axis).max() + 1 == 16
    triangles = Mesh(np.eye(3), {"triangle": [[0, 1, 2]]})
    assert corner_groups(triangles).tolist() == [[0, 1, 2, -1]]


def test_corners_of_cells_that_only_touch_are_apart():
    mesh = grid(2, 2)
    assert corner_groups(mesh).max() + 1 == 9
    assert corner_groups(Mesh(mesh.points, {"quad": mesh.cells["quad"][[0, 3]]})).max() + 1 == 8


def test_two_sheets_cross_and_each_runs_on():
    mesh = cross([0, np.pi / 2, np.pi, 3 * np.pi / 2])
    assert smooth_sheets(mesh)[[0, 3, 6, 9]].tolist() == [0, 1, 0, 1]
    first, second, _ = smooth_links(mesh)
    pairs = set(zip((first // 3).tolist(), (second // 3).tolist()))
    assert {tuple(sorted(pair)) for pair in pairs if pair[0] != pair[1]} == {(0, 2), (1, 3)}


def test_orientation_makes_no_difference_to_sheets_but_is_told():
    mesh = grid(2, 1)
    turned = Mesh(mesh.points, {"quad": [mesh.cells["quad"][0], mesh.cells["quad"][1][::-1]]})
    for one, is_same in ((mesh, True), (turned, False)):
        first, second, is_consistent = smooth_links(one)
        assert (first.tolist(), second.tolist(), is_consistent.tolist()) == ([0], [1], [is_same])


def test_links_stay_within_cells_of_one_plate():
    mesh = grid(6, 2)
    plate = (mesh.centres[:, 0] > 3).astype(int)
    assert len(set(smooth_sheets(mesh))) == 1
    sheet = smooth_sheets(mesh, same=plate)
    assert len(set(sheet)) == 2
    np.testing.assert_array_equal(sheet, plate)


def test_a_fold_angle_can_be_chosen():
    tube = ring(8, 2)  # 45 degrees from facet to facet
    assert len(set(smooth_sheets(tube))) == 8
    assert len(set(smooth_sheets(tube, fold_angle=46 * degree))) == 1
    assert len(fold_edges(tube)) == 8 * 2 + 16
    assert len(fold_edges(tube, fold_angle=46 * degree)) == 16


def test_outline_has_free_edges_folds_and_junctions():
    assert len(fold_edges(grid(4, 3))) == 14
    corner = cross([0, np.pi / 2])
    assert len(fold_edges(corner)) == len(free_edges(corner)) + 3
    junction = cross([0, np.pi, np.pi / 2])
    on_axis = (junction.points[fold_edges(junction)][:, :, :2] == 0).all(axis=(1, 2))
    assert on_axis.sum() == 3


def test_parts_share_no_point():
    one, other = grid(2, 2), grid(3, 1)
    points = np.concatenate([one.points, [[99, 99, 99]], other.points + [10, 0, 0]])
    mesh = Mesh(points, {"quad": np.concatenate([one.cells["quad"], other.cells["quad"] + 10])})
    cell_part, point_part = parts(mesh)
    assert cell_part.tolist() == [0] * 4 + [1] * 3
    assert point_part.tolist() == [0] * 9 + [-1] + [1] * 8


def test_parts_that_touch_at_a_point_are_one():
    mesh = Mesh([[0, 0], [1, 0], [0, 1], [-1, 0], [0, -1]], {"triangle": [[0, 1, 2], [0, 3, 4]]})
    assert parts(mesh)[0].tolist() == [0, 0]
    assert smooth_sheets(mesh).tolist() == [0, 1]  # but no edge is shared


def test_an_edge_between_points_in_one_place_does_no_harm():
    points = [[0, 0], [1, 0], [1, 0], [0, 1], [2, 0], [1, -1]]
    mesh = Mesh(points, {"quad": [[0, 1, 2, 3], [1, 5, 4, 2]]})
    assert smooth_sheets(mesh).tolist() == [0, 0]


def test_a_mesh_without_cells_has_no_edges_and_parts():
    mesh = Mesh([[0, 0, 0]], {})
    assert len(mesh.edges.points) == len(free_edges(mesh)) == len(fold_edges(mesh)) == len(smooth_sheets(mesh)) == 0
    assert parts(mesh)[1].tolist() == [-1]


def test_numbering_makes_no_difference():
    random = np.random.default_rng(1)
    mesh = cross([0, 2.0, np.pi, 2.0 + np.pi, 5.0], n=6)
    sheet, outline = smooth_sheets(mesh), len(fold_edges(mesh))
    for _ in range(5):
        mixed, went = shuffled(mesh, random)
        mixed_sheet = smooth_sheets(mixed)[went]
        assert len(set(zip(sheet.tolist(), mixed_sheet.tolist()))) == len(set(sheet)) == len(set(mixed_sheet))
        assert len(fold_edges(mixed)) == outline
