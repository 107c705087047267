"""What a mesh holds, refuses and says."""

import pickle
from dataclasses import FrozenInstanceError, replace

import numpy as np
import pytest
from mesh_shapes import grid

from femkit.errors import MeshError
from femkit.mesh import Mesh

POINTS = [[0, 0, 0], [2, 0, 0], [2, 1, 0], [0, 1, 0], [4, 0, 0]]
CELLS = {"triangle": [[1, 4, 2]], "quad": [[0, 1, 2, 3]]}


def mesh(**changes):
    fields = {"points": POINTS, "cells": CELLS, "cell_sets": {"b": [1], "a": [0, 1]}, "edge_sets": {"foot": [[0, 1]]}}
    fields |= {"point_sets": {"corner": [3]}, "notes": ["found <this>"]} | changes
    return Mesh(fields.pop("points"), fields.pop("cells"), **fields)


def test_cells_count_triangles_first():
    one = mesh()
    assert (one.n_points, one.n_cells) == (5, 2)
    assert [(kind, where) for kind, _, where in one.blocks()] == [("triangle", slice(0, 1)), ("quad", slice(1, 2))]
    assert one.corners.tolist() == [[1, 4, 2, -1], [0, 1, 2, 3]]
    swapped = mesh(cells={"quad": CELLS["quad"], "triangle": CELLS["triangle"]})
    assert swapped.corners.tolist() == one.corners.tolist()


def test_geometry_of_cells():
    one = mesh()
    np.testing.assert_allclose(one.areas, [1, 2])
    np.testing.assert_allclose(one.vector_areas, [[0, 0, 1], [0, 0, 2]])
    np.testing.assert_allclose(one.normals, [[0, 0, 1]] * 2)
    np.testing.assert_allclose(one.centres, [[8 / 3, 1 / 3, 0], [1, 0.5, 0]])
    np.testing.assert_allclose(one.sizes, np.sqrt([1, 2]))
    assert one.extent.tolist() == [4, 1, 0]


def test_two_columns_are_taken_as_flat():
    assert mesh(points=np.array(POINTS)[:, :2]).points.tolist() == POINTS


def test_sets_come_as_sorted_indices_of_any_whole_kind_or_as_masks():
    for members in ([1, 0, 1], np.array([0, 1], dtype=np.uint64), np.array([True, True]), range(2)):
        members = mesh(cell_sets={"a": members}).cell_sets["a"]
        assert members.tolist() == [0, 1]
        assert members.dtype == np.int64
    assert mesh(point_sets={"held": np.array([0, 0, 1, 0, 1], dtype=bool)}).point_sets["held"].tolist() == [2, 4]
    empty = mesh(cell_sets={"a": []}, point_sets={"p": []}, edge_sets={"e": []})
    assert empty.cell_sets["a"].shape == empty.point_sets["p"].shape == (0,)
    assert empty.edge_sets["e"].shape == (0, 2)


def test_nothing_can_be_changed():
    one = mesh()
    with pytest.raises(FrozenInstanceError):
        one.points = one.points
    arrays = [one.points, one.corners, one.areas, one.vector_areas, one.normals, one.centres, one.sizes]
    for group in (one.cells, one.cell_sets, one.edge_sets, one.point_sets):
        arrays += group.values()
    assert not any(array.flags.writeable for array in arrays)


def test_the_users_own_arrays_are_left_alone():
    points, cells, members = np.array(POINTS, dtype=float), np.array(CELLS["quad"]), np.array([0])
    one = Mesh(points, {"quad": cells}, cell_sets={"a": members}, edge_sets={"e": cells[:, :2]})
    for array in (points, cells, members):
        assert array.flags.writeable
        array[:] = 3
    assert one.points.tolist() == POINTS
    assert one.cell_sets["a"].tolist() == [0]


def test_a_copy_with_a_change_and_a_copy_for_another_process():
    one = mesh()
    assert replace(one, notes=["mended"]).notes == ("mended",)
    assert pickle.loads(pickle.dumps(one)).fingerprint == one.fingerprint


def test_the_fingerprint_is_that_of_points_cells_and_sets():
    one = mesh()
    assert len(one.fingerprint) == 16
    assert mesh(notes=[]).fingerprint == one.fingerprint == mesh(cell_sets={"a": [1, 0], "b": [1]}).fingerprint
    moved = np.array(POINTS, dtype=float)
    moved[0, 0] += 1e-12
    others = [
        mesh(points=moved),
        mesh(cells={"quad": CELLS["quad"]}, cell_sets={}),
        mesh(cell_sets={"b": [1], "a": [0]}),
        mesh(cell_sets={"c": [1], "a": [0, 1]}),
        mesh(cell_sets={"a": [0, 1]}, point_sets={"b": [1], "corner": [3]}),  # the same name and member, elsewhere
        mesh(edge_sets={}),
    ]
    assert len({other.fingerprint for other in others} | {one.fingerprint}) == 7


def test_it_shows_itself_in_a_line_in_words_and_as_a_table():
    one = mesh()
    assert repr(one) == "Mesh: 5 points, 1 triangle, 1 quad; 4 × 1 × 0 mm; cell sets: a, b"
    assert one.report.splitlines() == [
        "Mesh of 5 points and 1 triangle, 1 quad",
        "  x from 0 to 4 mm",
        "  y from 0 to 1 mm",
        "  z from 0 to 0 mm",
        "  cell set a: 2",
        "  cell set b: 1",
        "  edge set foot: 1",
        "  point set corner: 1",
        "  note: found <this>",
    ]
    html = one._repr_html_()
    for words in ("quads", "a (2), b (1)", "foot (1)", "corner (1)", "0 … 4", "found &lt;this&gt;"):
        assert words in html
    assert "<this>" not in html


def test_many_sets_stay_on_a_line():
    sheet = grid(50, 1, cell_sets={f"bay {i:02}": [i] for i in range(50)})
    assert repr(sheet).endswith("bay 10, bay 11 and 38 more")
    assert "and 10 more" in sheet._repr_html_()


def test_a_mesh_of_nothing_shows_itself_too():
    empty = Mesh(np.empty((0, 3)), {})
    assert repr(empty) == "Mesh: 0 points, no cells; 0 × 0 × 0 mm; cell sets: none"
    assert "none" in empty._repr_html_()
    assert empty.report.startswith("Mesh of 0 points and no cells")


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"points": [[0, 0, 0, 0]] * 5}, r"points have shape \(5, 4\); it must be \(n_points, 3\)"),
        ({"points": [0.0, 1.0]}, r"points have shape \(2,\)"),
        ({"points": [["a", "b", "c"]] * 5}, "points are not numbers"),
        ({"points": [[0, 0], [1, 0, 0]]}, "points are not numbers"),
        ({"points": [[np.nan, 0, 0], *POINTS[1:]]}, "not finite, or beyond 1e.09 mm, at 1 point, the first is point 0"),
        ({"points": [*POINTS[:4], [1e300, 0, 0]]}, "not finite, or beyond 1e.09 mm, at 1 point, the first is point 4"),
        ({"cells": {"tetra": [[0, 1, 2, 3]]}}, "cells of kind tetra are not known; there are triangle, quad"),
        ({"cells": {"quad": [[0, 1, 2, 5]]}}, r"cells \(quad\) holds index 5; it must lie in 0 … 4"),
        ({"cells": {"quad": [[0, 1, 2, -1]]}}, r"cells \(quad\) holds index -1; it must lie in 0 … 4"),
        ({"cells": {"quad": [[0, 1, 2.5, 3]]}}, r"cells \(quad\) is an array of float64 and shape \(1, 4\)"),
        ({"cells": {"triangle": [[0, 1, 2, 3, 4, 0]]}}, r"must hold whole numbers and have shape \(n, 3\)"),
        ({"cells": {"quad": [[0, 1, 2, 3], [0, 1]]}}, r"cells \(quad\) has rows of different length"),
        ({"cells": {"quad": [[0, 1, 2, 3]], "triangle": [[0, 1, 4]]}}, "no area, .* in 1 cell, the first is cell 0"),
        ({"cells": {"quad": [[0, 2, 1, 3]]}, "cell_sets": {}}, "no area, or sides that cross, in 1 cell"),
        ({"cell_sets": {"a": [2]}}, 'cell set "a" holds index 2; it must lie in 0 … 1'),
        ({"cell_sets": {"a": [0.5]}}, 'cell set "a" is an array of float64 .* a mask of length 2'),
        ({"cell_sets": {"a": [True]}}, 'cell set "a" is an array of bool'),
        ({"cell_sets": {"a": [[0, 1]]}}, r'cell set "a" is an array of int64 and shape \(1, 2\)'),
        ({"edge_sets": {"e": [[0, 9]]}}, 'edge set "e" holds index 9'),
        ({"edge_sets": {"e": [0, 1, 2, 3]}}, r'edge set "e" .* have shape \(n, 2\)'),
        ({"point_sets": {"p": [-1]}}, 'point set "p" holds index -1'),
    ],
)
def test_what_can_not_be_is_named(changes, sentence):
    with pytest.raises(MeshError, match=sentence):
        mesh(**changes)


def test_all_faults_of_a_kind_are_said_together():
    with pytest.raises(MeshError, match=r"not finite.*; cells .quad. holds index 9.*; cell set .a. holds index 7"):
        mesh(points=[[np.inf, 0, 0], *POINTS[1:]], cells={"quad": [[0, 1, 2, 9]]}, cell_sets={"a": [7]})
