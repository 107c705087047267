"""Reading .msh files that are in order: whole sets, every flavour alike, and what is mended on the way."""

import meshio
import numpy as np
import pytest
from mesh_files import Block, File, tee, write_msh

from femkit.mesh import read_mesh

SQUARE = [[0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0]]


def one_quad(points=SQUARE, **changes):
    return File(points, [Block("quad", [[1, 2, 3, 4]], (1,))], [(2, 1, "sheet")], **changes)


def test_cells_of_all_blocks_become_one_array_a_kind(tee_file):
    mesh = read_mesh(tee_file)
    assert {kind: cells.shape for kind, cells in mesh.cells.items()} == {"triangle": (8, 3), "quad": (6, 4)}
    assert mesh.points.shape == (18, 3)
    assert all(cells.dtype == np.int64 for cells in mesh.cells.values())
    assert mesh.areas.sum() == pytest.approx(40 * 20 + 10 * 20)  # mm2, sheet and post


def test_sets_are_whole_across_blocks_and_kinds_and_a_cell_may_be_in_several(tee_file):
    mesh = read_mesh(tee_file)
    assert {name: len(cells) for name, cells in mesh.cell_sets.items()} == {"sheet": 12, "pad": 6, "post": 2}
    assert all(cells.dtype == np.int64 for cells in mesh.cell_sets.values())
    assert set(mesh.cell_sets["pad"]) < set(mesh.cell_sets["sheet"])
    assert mesh.areas[mesh.cell_sets["sheet"]].sum() == pytest.approx(800)
    assert (mesh.centres[mesh.cell_sets["pad"], 0] > 20).all()
    assert (mesh.centres[mesh.cell_sets["post"], 1] == 5).all()


def test_lines_become_edge_sets_and_points_point_sets(tee_file):
    mesh = read_mesh(tee_file)
    assert mesh.edge_sets["foot"].shape == (4, 2)
    assert (mesh.points[mesh.edge_sets["foot"]][:, :, 2] == 0).all()
    assert mesh.points[mesh.edge_sets["end"]].tolist() == [[[0, 0, 0], [10, 0, 0]]]
    assert mesh.points[mesh.point_sets["corner"]].tolist() == [[40, 0, 20]]


def test_all_flavours_give_the_same_mesh(tmp_path):
    meshes = [
        read_mesh(write_msh(tmp_path / "a.msh", tee(), version, is_binary))
        for version in ("2.2", "4.1")
        for is_binary in (False, True)
    ]
    assert len({mesh.fingerprint for mesh in meshes}) == 1


def test_a_cell_written_once_a_group_is_one_cell(tmp_path):
    mesh = read_mesh(write_msh(tmp_path / "a.msh", tee(), "2.2"))
    assert mesh.n_cells == 14
    assert any("again for a second group: 7 cells" in note for note in mesh.notes)  # 6 of the pad, 1 line


@pytest.mark.parametrize("is_binary", [False, True])
@pytest.mark.parametrize("version", ["2.2", "4.1"])
def test_files_of_another_writer_are_read_alike(tmp_path, version, is_binary):
    points = np.array([[x, y, 0.1 / 3] for y in (0, 1 / 3, 2 / 3) for x in (0.0, 1.0, 2.0)])  # endless binary fractions
    quads = np.array([[0, 1, 4, 3], [1, 2, 5, 4], [3, 4, 7, 6], [4, 5, 8, 7]])
    entity = {} if version == "2.2" else {"gmsh:dim_tags": np.tile([2, 1], (9, 1))}
    tags = {"gmsh:physical": [np.full(4, 7)], "gmsh:geometrical": [np.ones(4, dtype=int)]}
    raw = meshio.Mesh(
        points, [("quad", quads)], point_data=entity, cell_data=tags, field_data={"sheet": np.array([7, 2])}
    )
    meshio.gmsh.write(tmp_path / "a.msh", raw, version, binary=is_binary)
    mesh = read_mesh(tmp_path / "a.msh")
    np.testing.assert_array_equal(mesh.points, points)
    np.testing.assert_array_equal(mesh.cells["quad"], quads)
    assert mesh.cell_sets["sheet"].tolist() == [0, 1, 2, 3]


@pytest.mark.parametrize("line_end", ["\r\n", "\n"])
def test_comments_and_line_ends_of_other_systems_do_no_harm(tmp_path, line_end):
    path = write_msh(tmp_path / "a.msh", tee(), "4.1")
    text = "$Comments\nby hand\n$EndComments\n" + path.read_text()
    path.write_bytes(text.replace("\n", line_end).encode())
    assert read_mesh(path).n_cells == 14


@pytest.mark.parametrize("flavour", [("2.2", False), ("4.1", False), ("4.1", True)])
def test_point_numbers_may_have_gaps_and_any_order(tmp_path, flavour):
    numbers = np.array([40, 7, 19, 3])
    file = File(SQUARE, [Block("quad", [[40, 7, 19, 3]], (1,))], [(2, 1, "sheet")], numbers)
    mesh = read_mesh(write_msh(tmp_path / "a.msh", file, *flavour))
    assert mesh.points[mesh.cells["quad"][0]].tolist() == SQUARE


def test_nothing_is_printed(tee_file, capfd):
    read_mesh(tee_file)
    assert capfd.readouterr() == ("", "")


def test_a_name_for_cells_and_for_edges_is_kept_for_both(tmp_path, flavour):
    file = tee()
    file.names = [(d, tag, "end" if (d, tag) == (2, 2) else name) for d, tag, name in file.names]
    mesh = read_mesh(write_msh(tmp_path / "a.msh", file, *flavour))
    assert len(mesh.cell_sets["end"]) == 2
    assert len(mesh.edge_sets["end"]) == 1
    assert len(mesh.cell_sets["sheet"]) == 12
    assert any('"end" is used for cells and for edges' in note for note in mesh.notes)


def test_names_with_blanks_and_letters_of_any_language_survive(tmp_path, flavour):
    file = tee()
    new = {"sheet": "lower sheet, left", "post": "Säule", "foot": "driver's side"}
    file.names = [(d, tag, new.get(name, name)) for d, tag, name in file.names]
    mesh = read_mesh(write_msh(tmp_path / "a.msh", file, *flavour))
    assert set(mesh.cell_sets) == {"lower sheet, left", "Säule", "pad"}
    assert set(mesh.edge_sets) == {"driver's side", "end"}


def test_two_groups_of_one_name_are_one_set(tmp_path, flavour):
    file = tee()
    file.names = [(d, tag, "sheet" if (d, tag) == (2, 2) else name) for d, tag, name in file.names]
    mesh = read_mesh(write_msh(tmp_path / "a.msh", file, *flavour))
    assert len(mesh.cell_sets["sheet"]) == 14


def test_groups_without_name_or_cells_are_said(tmp_path, flavour):
    file = tee()
    file.names = [name for name in file.names if name[2] != "post"] + [(2, 9, "roof")]
    mesh = read_mesh(write_msh(tmp_path / "a.msh", file, *flavour))
    assert "post" not in mesh.cell_sets
    assert "roof" not in mesh.cell_sets
    notes = "\n".join(mesh.notes)
    assert "not to be selected: 1 group (number 2)" in notes
    assert 'No cell is in the group "roof"' in notes
    assert "In no named set: 2 cells" in notes


def test_a_group_of_reversed_sign_is_found(tmp_path):
    file = one_quad()
    file.blocks[0].tags = (-1,)
    mesh = read_mesh(write_msh(tmp_path / "a.msh", file, "4.1"))
    assert mesh.cell_sets["sheet"].tolist() == [0]


def test_points_that_nothing_uses_are_dropped_and_counted(tmp_path, flavour):
    points = [[99, 99, 0], *SQUARE, [50, 50, 0], [60, 50, 0], [70, 70, 0]]
    blocks = [
        Block("quad", [[2, 3, 4, 5]], (1,)),
        Block("line", [[6, 7]], (1,)),
        Block("vertex", [[3], [8]], (1,)),
    ]
    file = File(points, blocks, [(2, 1, "sheet"), (1, 1, "tie"), (0, 1, "marks")])
    mesh = read_mesh(write_msh(tmp_path / "a.msh", file, *flavour))
    assert mesh.points[:, 0].tolist() == [0, 10, 10, 0, 50, 60]
    assert mesh.edge_sets["tie"].tolist() == [[4, 5]]  # a named line is there to carry something
    assert mesh.point_sets["marks"].tolist() == [1]
    notes = "\n".join(mesh.notes)
    assert "Dropped 2 points" in notes
    assert '"marks" lost 1 point that' in notes


@pytest.mark.parametrize(
    ("unit", "factor"),
    [("mm", 1), ("cm", 10), ("m", 1000), ("inch", 25.4), ("foot", 304.8), (2, 2), (np.float64(0.5), 0.5)],
)
def test_lengths_come_in_any_unit(tmp_path, unit, factor):
    # international yard and pound agreement, 1959: an inch is 25.4 mm
    mesh = read_mesh(write_msh(tmp_path / "a.msh", one_quad()), unit=unit)
    np.testing.assert_allclose(mesh.points, factor * np.array(SQUARE, dtype=float), rtol=1e-15)
    assert any("multiplied" in note for note in mesh.notes) == (factor != 1)


def test_quadratic_triangles_become_four(tmp_path, flavour):
    points = [[0, 0, 0], [2, 0, 0], [0, 2, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0], [2, 2, 0], [2, 1, 0], [1, 2, 0]]
    blocks = [
        Block("triangle6", [[1, 2, 3, 4, 5, 6]], (1,), 1),
        Block("triangle6", [[2, 7, 3, 8, 9, 5]], (2,), 2),
        Block("line3", [[1, 2, 4]], (1,), 1),
    ]
    file = File(points, blocks, [(2, 1, "low"), (2, 2, "high"), (1, 1, "foot")])
    mesh = read_mesh(write_msh(tmp_path / "a.msh", file, *flavour))
    assert mesh.cells["triangle"].shape == (8, 3)
    np.testing.assert_allclose(mesh.areas, 0.5)
    np.testing.assert_allclose(mesh.normals, [[0, 0, 1]] * 8)
    assert [len(mesh.cell_sets[name]) for name in ("low", "high")] == [4, 4]
    assert (mesh.centres[mesh.cell_sets["low"], :2].sum(axis=1) < 2).all()
    assert mesh.points[mesh.edge_sets["foot"]][:, :, 0].tolist() == [[0, 1], [1, 2]]
    notes = "\n".join(mesh.notes)
    assert "Split 2 triangle6 cells into 4 linear cells each" in notes
    assert "Split 1 line3 cell into 2 linear cells each" in notes


@pytest.mark.parametrize("kind", ["quad8", "quad9"])
def test_quadratic_quadrilaterals_become_four(tmp_path, flavour, kind):
    def lifted(x, y):  # the eight-point functions carry this surface exactly: 1, x, y, xy, x2, y2, x2 y, x y2
        return [x, y, 0.1 * x * x - 0.2 * y * y + 0.05 * x * y + 0.03 * x * x * y]

    places = [(0, 0), (4, 0), (4, 4), (0, 4), (2, 0), (4, 2), (2, 4), (0, 2), (2, 2)]
    n = int(kind[-1])
    file = File(
        [lifted(*place) for place in places[:n]],
        [Block(kind, [list(range(1, n + 1))], (1,))],
        [(2, 1, "sheet")],
    )
    mesh = read_mesh(write_msh(tmp_path / "a.msh", file, *flavour))
    assert mesh.cells["quad"].shape == (4, 4)
    assert len(mesh.cell_sets["sheet"]) == 4
    np.testing.assert_allclose(mesh.points[8], lifted(2, 2), rtol=1e-14)
    flat = mesh.points[mesh.cells["quad"]][:, :, :2]
    np.testing.assert_allclose(sorted(flat.mean(axis=1).tolist()), [[1, 1], [1, 3], [3, 1], [3, 3]])
    assert (mesh.normals[:, 2] > 0).all()
    assert any("Split 1 quad9 cell into 4" in note for note in mesh.notes)


def two_quads_apart(gap):
    points = [
        [0, 0, 0],
        [10, 0, 0],
        [10, 10, 0],
        [0, 10, 0],
        [10 + gap, 0, 0],
        [20, 0, 0],
        [20, 10, 0],
        [10 + gap, 10, 0],
    ]
    blocks = [
        Block("quad", [[1, 2, 3, 4]], (1,), 1),
        Block("quad", [[5, 6, 7, 8]], (2,), 2),
        Block("line", [[2, 3]], (1,), 1),
        Block("line", [[5, 8]], (1,), 2),
        Block("vertex", [[5]], (1,), 1),
    ]
    return File(points, blocks, [(2, 1, "a"), (2, 2, "b"), (1, 1, "seam"), (0, 1, "mark")])


def test_coincident_points_are_counted_but_not_joined_unless_asked(tmp_path):
    path = write_msh(tmp_path / "a.msh", two_quads_apart(1e-6))
    mesh = read_mesh(path)
    assert mesh.n_points == 8
    note = next(note for note in mesh.notes if "Not joined" in note)
    assert note == "Not joined, but in one place with others: 2 points; merge_within=2e-05 joins them."
    assert any("2 parts" in note for note in mesh.notes)
    joined = read_mesh(path, merge_within=2e-5)
    assert joined.n_points == 6
    assert joined.edges.count.max() == 2
    assert "Joined 2 points with others within 2e-05 mm." in joined.notes
    assert joined.edge_sets["seam"].shape == (1, 2)
    assert joined.points[joined.point_sets["mark"]].tolist() == [[10, 0, 0]]
    assert not any("parts" in note for note in joined.notes)


def test_points_further_apart_than_asked_stay_apart(tmp_path):
    mesh = read_mesh(write_msh(tmp_path / "a.msh", two_quads_apart(0.5)), merge_within=0.1)
    assert mesh.n_points == 8
    assert "No points lie within 0.1 mm of each other; none were joined." in mesh.notes


def test_a_cell_that_joining_flattens_becomes_a_triangle_or_is_dropped_with_a_note(tmp_path):
    points = [*SQUARE, [20, 0, 0], [10, 0.01, 0], [20, 0.01, 0], [20, 10, 0]]
    blocks = [Block("quad", [[1, 2, 3, 4], [2, 5, 7, 6]], (1,)), Block("triangle", [[6, 5, 8]], (1,))]
    mesh = read_mesh(write_msh(tmp_path / "a.msh", File(points, blocks, [(2, 1, "sheet")])), merge_within=0.1)
    assert mesh.n_cells == 2
    assert mesh.cell_sets["sheet"].tolist() == [0, 1]
    assert any("Dropped 1 cell with fewer than three different corners" in note for note in mesh.notes)


def test_quadrilaterals_with_two_corners_in_one_point_become_triangles(tmp_path, flavour):
    blocks = [Block("quad", [[1, 2, 3, 3], [1, 1, 3, 4]], (1,)), Block("quad", [[4, 3, 5, 6]], (2,), 2)]
    points = [*SQUARE, [10, 20, 0], [0, 20, 0]]
    file = File(points, blocks, [(2, 1, "low"), (2, 2, "high")])
    mesh = read_mesh(write_msh(tmp_path / "a.msh", file, *flavour))
    assert {kind: len(cells) for kind, cells in mesh.cells.items()} == {"triangle": 2, "quad": 1}
    np.testing.assert_allclose(mesh.areas, [50, 50, 100])
    assert mesh.cell_sets["low"].tolist() == [0, 1]
    assert mesh.cell_sets["high"].tolist() == [2]
    assert any("Made triangles of 2 quadrilaterals with two corners in one point" in note for note in mesh.notes)


def test_cells_on_the_same_points_are_said(tmp_path):
    blocks = [Block("quad", [[1, 2, 3, 4]], (1,), 1), Block("quad", [[1, 4, 3, 2]], (2,), 2)]
    mesh = read_mesh(write_msh(tmp_path / "a.msh", File(SQUARE, blocks, [(2, 1, "a"), (2, 2, "b")]), "4.1"))
    assert mesh.n_cells == 2
    assert any("On the very points of another cell: 1 cell;" in note for note in mesh.notes)


def test_normals_agree_and_face_the_stated_way(tee_file):
    mesh = read_mesh(tee_file)
    sheet, post = mesh.cell_sets["sheet"], mesh.cell_sets["post"]
    np.testing.assert_allclose(mesh.normals[sheet], [[0, 1, 0]] * 12, atol=1e-15)
    np.testing.assert_allclose(mesh.normals[post], [[1, 0, 0]] * 2, atol=1e-15)
    assert any(note.startswith("Turned ") and "sheet" in note for note in mesh.notes)
    turned = read_mesh(tee_file, normals=("-y", "-x"))
    np.testing.assert_allclose(turned.normals[sheet], [[0, -1, 0]] * 12, atol=1e-15)
    np.testing.assert_allclose(turned.normals[post], [[-1, 0, 0]] * 2, atol=1e-15)


def test_normals_are_left_alone_when_asked(tee_file):
    mesh = read_mesh(tee_file, normals=None)
    assert set(mesh.normals[mesh.cell_sets["sheet"], 1].tolist()) == {-1.0, 1.0}
    assert not any("Turned" in note for note in mesh.notes)


def test_the_report_says_everything_in_words(tmp_path):
    mesh = read_mesh(write_msh(tmp_path / "a.msh", tee(), "4.1"), unit="cm")
    for words in (
        "18 points and 8 triangles, 6 quads",
        "x from 0 to 400 mm",
        "cell set sheet: 12",
        "edge set foot: 4",
        "point set corner: 1",
        "note: Lengths were multiplied by 10 to have mm.",
        "note: Turned",
    ):
        assert words in mesh.report
    html = mesh._repr_html_()
    for words in ("sheet (12)", "foot (4)", "corner (1)", "0 … 400", "Turned"):
        assert words in html


def test_home_and_text_paths_are_taken(tmp_path, monkeypatch):
    write_msh(tmp_path / "A.MSH", tee())
    monkeypatch.setenv("HOME", str(tmp_path))
    assert read_mesh("~/A.MSH").n_cells == 14
    assert read_mesh(str(tmp_path / "A.MSH")).n_cells == 14
