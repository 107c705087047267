"""Reading .vtu files: cells of all blocks, and sets from fields of 0 and 1."""

import meshio
import numpy as np
import pytest
import pyvista as pv
from mesh_files import tee, write_msh

from femkit.errors import MeshReadError
from femkit.mesh import read_mesh

POINTS = np.array([[0, 0, 0], [10, 0, 0], [20, 0, 0], [0, 10, 0], [10, 10, 0], [20, 10, 0]], dtype=float)
CELLS = [
    ("quad", np.array([[0, 1, 4, 3]])),
    ("triangle", np.array([[1, 2, 5], [1, 5, 4]])),
    ("line", np.array([[0, 1], [1, 2]])),
    ("vertex", np.array([[5]])),
]
SETS = {  # one block after the other
    "sheet": [[1], [1, 1], [0, 0], [0]],
    "pad": [[0], [0, 1], [0, 0], [0]],
    "foot": [[0], [0, 0], [1, 1], [0]],
    "corner": [[0], [0, 0], [0, 0], [1]],
}


def written(tmp_path, cells=CELLS, cell_data=None, point_data=None, points=POINTS, **how):
    path = tmp_path / "a.vtu"
    cell_data = SETS if cell_data is None else cell_data
    cell_data = {name: [np.asarray(block, dtype=np.uint8) for block in by] for name, by in cell_data.items()}
    meshio.vtu.write(path, meshio.Mesh(points, cells, point_data, cell_data), **how)
    return path


@pytest.mark.parametrize("how", [{}, {"compression": None}, {"compression": "lzma"}, {"header_type": "UInt64"}])
def test_cells_and_sets_are_read(tmp_path, how, capfd):
    mesh = read_mesh(written(tmp_path, **how))
    assert {kind: len(cells) for kind, cells in mesh.cells.items()} == {"triangle": 2, "quad": 1}
    assert {name: cells.tolist() for name, cells in mesh.cell_sets.items()} == {"sheet": [0, 1, 2], "pad": [1]}
    assert mesh.edge_sets["foot"].tolist() == [[0, 1], [1, 2]]
    assert mesh.points[mesh.point_sets["corner"]].tolist() == [[20, 10, 0]]
    assert capfd.readouterr() == ("", "")


def test_text_files_are_read(tmp_path):
    grid = pv.UnstructuredGrid({pv.CellType.QUAD: CELLS[0][1]}, POINTS)
    grid.cell_data["sheet"] = np.ones(1, dtype=np.int32)
    grid.save(tmp_path / "a.vtu", binary=False)
    assert read_mesh(tmp_path / "a.vtu").cell_sets["sheet"].tolist() == [0]


def test_fields_of_results_are_no_sets(tmp_path):
    path = tmp_path / "a.vtu"
    cell_data = {
        "stress": [np.array([0.0]), np.array([1.0, 1.0])],
        "part": [np.array([3]), np.array([4, 4])],
        "sheet": [np.array([1]), np.array([0, 1])],
        "none": [np.array([0]), np.array([0, 0])],
    }
    point_data = {"held": np.array([1, 0, 0, 1, 0, 0]), "moved": np.zeros((6, 3))}
    meshio.vtu.write(path, meshio.Mesh(POINTS, CELLS[:2], point_data, cell_data))
    mesh = read_mesh(path)
    assert {name: cells.tolist() for name, cells in mesh.cell_sets.items()} == {"sheet": [1, 2]}
    assert {name: points.tolist() for name, points in mesh.point_sets.items()} == {"held": [0, 3]}
    assert any("Fields part hold whole numbers other than 0 and 1" in note for note in mesh.notes)


def test_a_file_in_the_kits_own_words_gives_its_sets_back(tmp_path):
    mesh = read_mesh(write_msh(tmp_path / "tee.msh", tee()))
    kinds = {pv.CellType.TRIANGLE: mesh.cells["triangle"], pv.CellType.QUAD: mesh.cells["quad"]}
    grid = pv.UnstructuredGrid(kinds, mesh.points)
    for name, cells in mesh.cell_sets.items():
        grid.cell_data[f"cell set {name}"] = np.isin(np.arange(mesh.n_cells), cells).astype(np.uint8)
    for name, points in [*mesh.point_sets.items()]:
        grid.point_data[f"point set {name}"] = np.isin(np.arange(mesh.n_points), points).astype(np.uint8)
    grid.point_data["edge set foot"] = np.isin(np.arange(mesh.n_points), mesh.edge_sets["foot"]).astype(np.uint8)
    grid.cell_data["plate"] = np.zeros(mesh.n_cells, dtype=np.int32)
    grid.cell_data["plate"][3:] = 1
    grid.save(tmp_path / "tee.vtu")
    back = read_mesh(tmp_path / "tee.vtu")
    assert {n: c.tolist() for n, c in back.cell_sets.items()} == {n: c.tolist() for n, c in mesh.cell_sets.items()}
    assert back.point_sets["corner"].tolist() == mesh.point_sets["corner"].tolist()
    assert back.point_sets["foot"].tolist() == np.unique(mesh.edge_sets["foot"]).tolist()
    assert any("Edge sets foot" in note for note in back.notes)
    np.testing.assert_array_equal(back.normals, mesh.normals)


def test_polygons_of_three_and_four_corners_are_read(tmp_path):
    cells = [("polygon", np.array([[0, 1, 4, 3]])), ("polygon", np.array([[1, 2, 5], [1, 5, 4]]))]
    mesh = read_mesh(written(tmp_path, cells, {}))
    assert {kind: len(cells) for kind, cells in mesh.cells.items()} == {"triangle": 2, "quad": 1}


def damaged(change):
    def make(tmp_path):
        path = written(tmp_path, compression=None)
        path.write_bytes(change(path.read_bytes()))
        return path

    return make


def volume(tmp_path):
    return written(tmp_path, [("tetra", np.array([[0, 1, 2, 3]])), CELLS[0]], {})


def five_corners(tmp_path):
    return written(tmp_path, [("polygon", np.array([[0, 1, 2, 5, 4]]))], {})


def outside(tmp_path):
    return written(tmp_path, [("quad", np.array([[0, 1, 44, 3]]))], {})


def below_zero(tmp_path):
    return written(tmp_path, [("quad", np.array([[0, 1, -2, 3]]))], {})


def in_pieces(tmp_path):
    path = written(tmp_path)
    text = path.read_text()
    piece = text[text.index("<Piece") : text.index("</Piece>") + 8]
    path.write_text(text.replace(piece, piece + piece))
    return path


def strange_kind(tmp_path):
    text = """<VTKFile type="UnstructuredGrid" version="0.1"><UnstructuredGrid>
    <Piece NumberOfPoints="3" NumberOfCells="1">
    <Points><DataArray type="Float64" NumberOfComponents="3" format="ascii">0 0 0 1 0 0 0 1 0</DataArray></Points>
    <Cells><DataArray type="Int64" Name="connectivity" format="ascii">0 1 2</DataArray>
    <DataArray type="Int64" Name="offsets" format="ascii">3</DataArray>
    <DataArray type="UInt8" Name="types" format="ascii">99</DataArray></Cells></Piece></UnstructuredGrid></VTKFile>"""
    (tmp_path / "a.vtu").write_text(text)
    return tmp_path / "a.vtu"


def with_words(tmp_path):
    grid = pv.UnstructuredGrid({pv.CellType.QUAD: CELLS[0][1]}, POINTS)
    grid.field_data["name"] = ["full load"]
    grid.save(tmp_path / "a.vtu")
    return tmp_path / "a.vtu"


def in_lz4(tmp_path):
    grid = pv.UnstructuredGrid({pv.CellType.QUAD: CELLS[0][1]}, POINTS)
    grid.save(tmp_path / "a.vtu", compression="lz4")
    return tmp_path / "a.vtu"


BROKEN = {
    "text": (
        damaged(lambda _: b"hello, this is a letter\n"),
        "is no .vtu file: it begins with 'hello, this is a letter'",
    ),
    "cut at the end": (damaged(lambda c: c[:-30]), "is cut off: it does not end with </VTKFile>"),
    "cut in the middle": (damaged(lambda c: c[: len(c) // 2]), "is cut off"),
    "a part missing": (damaged(lambda c: c.replace(b"</Points>", b"")), "is cut off or damaged"),
    "another grid": (damaged(lambda c: c.replace(b"UnstructuredGrid", b"ImageData")), "holds ImageData"),
    "too few numbers": (
        damaged(lambda c: c.replace(b'NumberOfPoints="6"', b'NumberOfPoints="7"')),
        "cut off or damaged",
    ),
    "volume cells": (
        volume,
        r"it holds volume cells \(1 tetra\). The kit calculates sheets: mesh their middle surfaces",
    ),
    "five corners": (five_corners, r"cells that are not read \(1 polygon\)"),
    "point number outside": (outside, "quad cells refer to points that it does not hold"),
    "point number below 0": (below_zero, "quad cells refer to points that it does not hold"),
    "in pieces": (in_pieces, "holds 2 pieces; it must hold one"),
    "cells of unknown kind": (strange_kind, "holds cells of an unknown kind"),
    "a field of words": (with_words, "has a field of text, which is not read. Save it with fields of numbers only"),
    "compressed by lz4": (in_lz4, "compressed with vtkLZ4DataCompressor. Save it with zlib or uncompressed"),
    "no shell cells": (
        lambda p: written(p, CELLS[2:], {}),
        r"holds no shell cells \(kinds of cell in it: line, vertex\)",
    ),
}


@pytest.mark.parametrize(("make", "sentence"), BROKEN.values(), ids=BROKEN.keys())
def test_a_broken_file_is_one_clear_error(tmp_path, capfd, make, sentence):
    path = make(tmp_path)
    capfd.readouterr()
    with pytest.raises(MeshReadError, match=sentence) as caught:
        read_mesh(path)
    assert str(path) in str(caught.value)
    assert capfd.readouterr() == ("", "")
