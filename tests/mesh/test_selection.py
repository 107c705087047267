"""Selecting points, cells and edges by name, by place and by index."""

import numpy as np
import pytest
from mesh_shapes import grid

from femkit.errors import ModelError, UnknownSetError
from femkit.mesh import Mesh, inside, near, on_plane, select_cells, select_edges, select_points
from femkit.mesh.selection import describe

SHEET = grid(
    4,
    2,
    cell_sets={"left": [0, 1, 2, 3], "corner": [0]},
    edge_sets={"foot": [[0, 3], [3, 6]], "both": [[0, 3]]},
    point_sets={"pin": [7], "both": [14]},
)  # point i * 3 + j at (i, j), cell i * 2 + j


def test_points_are_selected_by_the_name_of_any_set():
    assert select_points(SHEET, "pin").tolist() == [7]
    assert select_points(SHEET, "foot").tolist() == [0, 3, 6]
    assert select_points(SHEET, "corner").tolist() == [0, 1, 3, 4]
    assert select_points(SHEET, "both").tolist() == [14]  # the set of points comes first


def test_points_of_triangles_are_only_theirs():
    mesh = Mesh([[0, 0], [1, 0], [0, 1]], {"triangle": [[0, 1, 2]]}, cell_sets={"all": [0]})
    assert select_points(mesh, "all").tolist() == [0, 1, 2]


def test_cells_and_edges_are_selected_by_their_own_names_only():
    assert select_cells(SHEET, "left").tolist() == [0, 1, 2, 3]
    assert select_edges(SHEET, "foot").tolist() == [[0, 3], [3, 6]]
    for select, name in ((select_cells, "foot"), (select_edges, "left")):
        with pytest.raises(UnknownSetError, match=rf'the mesh has no (cell|edge) set of the name "{name}"'):
            select(SHEET, name)


def test_a_mistyped_name_offers_the_nearest():
    with pytest.raises(UnknownSetError, match=r'support "pinn": the mesh has no set .* Did you mean "pin"\?') as caught:
        select_points(SHEET, "pinn", 'support "pinn"')
    assert (caught.value.name, caught.value.nearest) == ("pinn", "pin")
    with pytest.raises(UnknownSetError, match=r"There are: both, corner, foot, left, pin\.") as caught:
        select_points(SHEET, "roof")
    assert caught.value.nearest is None


def test_places_select_points_by_themselves_and_cells_by_their_centres():
    assert select_points(SHEET, near(1.1, 1.9)).tolist() == [5]
    assert select_cells(SHEET, near(1.1, 1.9)).tolist() == [3]
    assert select_points(SHEET, inside(x=(3, 1), y=(0.5, 9))).tolist() == [4, 5, 7, 8, 10, 11]  # limits in either order
    assert select_cells(SHEET, inside(x=(0.5, 1))).tolist() == [0, 1]  # borders included
    assert select_points(SHEET, on_plane(y=2)).tolist() == [2, 5, 8, 11, 14]
    assert select_cells(SHEET, on_plane(x=1, within=0.5)).tolist() == [0, 1, 2, 3]
    assert len(select_points(SHEET, inside())) == 15


def test_places_select_the_edges_that_lie_there_whole():
    assert select_edges(SHEET, on_plane(x=0)).tolist() == [[0, 1], [1, 2]]
    assert select_edges(SHEET, inside(x=(-1, 1.5), y=(-1, 0.5))).tolist() == [[0, 3]]
    with pytest.raises(ModelError, match=r"the selection \(near .*\) holds nothing"):
        select_edges(SHEET, near(0, 0))


def test_a_place_with_nothing_there_is_an_error():
    for where in (near(0, 0, 99, within=5), inside(x=(10, 20)), on_plane(z=1)):
        with pytest.raises(
            ModelError, match=r"my load: the selection .* holds nothing; it must hold at least one item"
        ):
            select_points(SHEET, where, "my load")
    with pytest.raises(ModelError, match="holds nothing"):
        select_cells(Mesh([[0, 0, 0]], {}), near(0, 0))


def test_indices_and_masks_are_sorted_without_repeats():
    for where in ([3, 1, 3], np.array([1, 3], dtype=np.uint8), (1, 3), np.isin(np.arange(15), [1, 3])):
        found = select_points(SHEET, where)
        assert found.tolist() == [1, 3]
        assert found.dtype == np.int64
    assert select_cells(SHEET, 5).tolist() == [5]
    assert select_edges(SHEET, np.array([[0, 1]])).tolist() == [[0, 1]]


@pytest.mark.parametrize(
    ("where", "sentence"),
    [
        ([15], "index 15 lies outside the mesh, which has 15 points"),
        ([2, -1], "index -1 lies outside the mesh"),
        ([0.5], "must be a set's name, a place, a row of indices or a mask over all points; got an array of float64"),
        (1.0, "got 1.0"),
        (None, "got None"),
        ([True, False], r"got an array of bool and shape \(2,\)"),
        ([[0, 1]], r"got an array of int64 and shape \(1, 2\)"),
        ([], "holds nothing"),
        (np.zeros(15, dtype=bool), "holds nothing"),
    ],
)
def test_what_can_not_be_an_index_is_named(where, sentence):
    with pytest.raises(ModelError, match=f"my load: .*{sentence}"):
        select_points(SHEET, where, "my load")


@pytest.mark.parametrize("where", [[0, 1], [[0.0, 1.0]], [[0, 1, 2]], None])
def test_what_can_not_be_edges_is_named(where):
    with pytest.raises(ModelError, match="edges must be an edge set's name"):
        select_edges(SHEET, where)


def test_edges_outside_the_mesh_are_named():
    with pytest.raises(ModelError, match="index 99 lies outside"):
        select_edges(SHEET, [[0, 99]])


@pytest.mark.parametrize("given", [{}, {"x": 0, "y": 0}])
def test_a_plane_needs_exactly_one_axis(given):
    with pytest.raises(ModelError, match=f"exactly one of x, y, z; {len(given)} were given"):
        on_plane(**given)


def test_selections_describe_themselves():
    assert describe("pin") == "pin"
    assert describe(np.arange(3)) == "3 indices"
    assert describe(near(1, 2)) == "near (1.0, 2.0, 0.0)"
    assert describe(on_plane(z=5)) == "on plane z = 5"
    assert describe(inside(x=(0, 1), z=(-2, 3))) == "inside x = 0 … 1, z = -2 … 3"
