"""Normals: made to agree over every smooth sheet, and turned the stated way."""

import numpy as np
import pytest
from mesh_shapes import cross, grid, ring, shuffled

from femkit.errors import MeshError
from femkit.mesh import Mesh, orient, smooth_links

RANDOM = np.random.default_rng(7)


def agree(mesh):
    return smooth_links(mesh)[2].all()


@pytest.mark.parametrize(
    ("normals", "expected"),
    [
        (("+z",), [0, 0, 1]),
        (("-z",), [0, 0, -1]),
        ("-z", [0, 0, -1]),
        ("z", [0, 0, 1]),
        (("+x", "+y", "-z"), [0, 0, -1]),  # edge-on to x and y: z decides
        ((0, 0, -2.5), [0, 0, -1]),
        ([(1, 0, 0), (3, 0, -1)], [0, 0, -1]),
    ],
)
def test_a_flat_sheet_faces_the_first_direction_it_is_not_edge_on_to(normals, expected):
    mesh, _ = shuffled(grid(5, 4), RANDOM)
    turned, _notes = orient(mesh, normals)
    np.testing.assert_allclose(turned.normals, [expected] * 20, atol=1e-15)


@pytest.mark.parametrize(("tilt", "axis"), [(9, 1), (11, 2)])
def test_edge_on_means_within_ten_degrees(tilt, axis):
    lean = np.radians(tilt)  # a wall whose normal is y, leaning so that it faces a little up or down
    wall = grid(3, 3, lambda u, v: np.column_stack([u, -v * np.sin(lean), v * np.cos(lean)]))
    for one in (wall, Mesh(wall.points, {"quad": wall.cells["quad"][:, ::-1]})):
        turned, _ = orient(one, ("+z", "+y"))
        assert (turned.normals[:, axis] > 0).all()


def test_the_post_on_a_sheet_is_turned_by_itself():
    mesh, went = shuffled(cross([0, np.pi, np.pi / 2], n=5), RANDOM)
    turned, _ = orient(mesh)
    assert agree(turned)
    np.testing.assert_allclose(turned.normals[went[:10]], [[0, 1, 0]] * 10, atol=1e-12)
    np.testing.assert_allclose(turned.normals[went[10:]], [[1, 0, 0]] * 5, atol=1e-12)


@pytest.mark.parametrize("turn", [False, True])
def test_a_tube_faces_outward(turn):
    tube = ring(24, 3)
    if turn:
        tube = Mesh(tube.points, {"quad": tube.cells["quad"][:, ::-1]})
    mixed, _ = shuffled(tube, RANDOM)
    turned, _ = orient(mixed)
    outward = turned.centres * [1, 1, 0]
    assert (np.einsum("ei,ei->e", turned.normals, outward) > 0).all()


def test_a_tube_with_a_small_hole_faces_outward_too():
    tube = ring(24, 3)
    turned, _ = orient(Mesh(tube.points, {"quad": np.delete(tube.cells["quad"], [4, 7], axis=0)[:, ::-1]}))
    assert (np.einsum("ei,ei->e", turned.normals, turned.centres * [1, 1, 0]) > 0).all()


def test_half_a_tube_faces_the_stated_way():
    half = grid(12, 3, lambda u, v: np.column_stack([np.cos(np.pi * u / 12), v, np.sin(np.pi * u / 12)]))
    for normals, sign in ((("+z",), 1), (("-z",), -1)):
        turned, _ = orient(half, normals)
        assert sign * turned.vector_areas[:, 2].sum() > 0
        assert agree(turned)


def test_a_sphere_faces_outward():
    def place(u, v):  # a band round the sphere, closed at u = 24
        around, up = 2 * np.pi * u / 24, np.pi * (v + 0.5) / 13
        return np.column_stack([np.sin(up) * np.cos(around), np.sin(up) * np.sin(around), np.cos(up)])

    band = grid(24, 12, place)
    cells = band.cells["quad"].copy()
    cells[cells >= 24 * 13] -= 24 * 13
    mixed, _ = shuffled(Mesh(band.points[: 24 * 13], {"quad": cells}), RANDOM)
    turned, _ = orient(mixed)
    assert (np.einsum("ei,ei->e", turned.normals, turned.centres) > 0).all()


def test_a_twisted_ring_has_one_side_and_is_left_and_named():
    ring_of_one_side = ring(30, 2, twist=np.pi)
    turned, notes = orient(ring_of_one_side)
    np.testing.assert_array_equal(turned.cells["quad"], ring_of_one_side.cells["quad"])
    assert any("A sheet of 60 cells, the first cell 0, has one side only" in note for note in notes)


def test_a_sheet_edge_on_to_all_directions_keeps_what_most_of_it_has():
    mesh = grid(5, 1)
    cells = mesh.cells["quad"].copy()
    cells[[1, 3]] = cells[[1, 3]][:, ::-1]
    turned, _ = orient(Mesh(mesh.points, {"quad": cells}), ("+x", "+y"))
    np.testing.assert_allclose(turned.normals, [[0, 0, 1]] * 5)
    cells = cells[:, ::-1]
    turned, _ = orient(Mesh(mesh.points, {"quad": cells}), ("+x", "+y"))
    np.testing.assert_allclose(turned.normals, [[0, 0, -1]] * 5)


def test_turned_cells_keep_their_first_corner_and_all_cells_their_place_and_sets():
    cells = {"triangle": [[1, 2, 4]], "quad": [[0, 3, 2, 1]]}
    mesh = Mesh(
        [[0, 0], [1, 0], [1, 1], [0, 1], [2, 0]],
        cells,
        cell_sets={"all": [0, 1]},
        edge_sets={"foot": [[0, 1]]},
        point_sets={"corner": [0]},
        notes=["read"],
    )
    turned, notes = orient(mesh)
    assert turned.cells["triangle"].tolist() == [[1, 4, 2]]
    assert turned.cells["quad"].tolist() == [[0, 1, 2, 3]]
    assert turned.cell_sets["all"].tolist() == [0, 1]
    assert turned.edge_sets["foot"].tolist() == [[0, 1]]
    assert turned.point_sets["corner"].tolist() == [0]
    assert turned.notes == ("read",)
    assert notes == ["Turned 2 of 2 cells, in 1 of 1 smooth sheets: all (2)."]


def test_what_was_turned_is_said_and_long_lists_are_short():
    strip = grid(10, 1)
    cells = strip.cells["quad"][:, ::-1].copy()
    cells[3] = cells[3][::-1]
    mesh = Mesh(strip.points, {"quad": cells}, cell_sets={f"bay {i}": [i] for i in range(10)})
    _, notes = orient(mesh)
    assert notes[0].startswith("Normals clashed over 2 edges in smooth sheets")
    assert notes[1].startswith(
        "Turned 9 of 10 cells, in 1 of 1 smooth sheets: bay 0 (1), bay 1 (1), bay 2 (1), bay 4 (1)"
    )
    assert notes[1].endswith("and 3 more.")


def test_nothing_to_turn_returns_the_same_mesh_without_notes():
    mesh = grid(3, 2)
    assert orient(mesh) == (mesh, [])
    assert orient(mesh, None) == (mesh, [])
    empty = Mesh([[0, 0, 0]], {})
    assert orient(empty) == (empty, [])


@pytest.mark.parametrize("normals", [("+w",), ("",), ((0, 0, 0),), ((1, 2),), ((np.nan, 0, 1),), "++z"])
def test_what_is_no_direction_is_named(normals):
    with pytest.raises(MeshError, match=r'is no direction; it must be like "\+z" or "-y"'):
        orient(grid(1, 1), normals)


def test_no_direction_at_all_is_an_error():
    with pytest.raises(MeshError, match="no direction is given"):
        orient(grid(1, 1), ())
