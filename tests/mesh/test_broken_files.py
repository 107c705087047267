"""A gallery of broken mesh files: each is one clear error that names the file, and nothing is printed."""

from pathlib import Path

import meshio
import numpy as np
import pytest
from mesh_files import Block, File, tee, write_msh

from femkit.errors import MeshError, MeshReadError
from femkit.mesh import Mesh, read_mesh

SQUARE = [[0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0]]
NAMES = [(2, 1, "sheet")]


def refused(path, sentence, **options):
    """The error that reading raises; it must name the file and say the sentence."""
    with pytest.raises(MeshReadError, match=sentence) as caught:
        read_mesh(path, **options)
    assert str(path) in str(caught.value)
    return caught.value


def test_a_missing_file_offers_the_nearest_name(tmp_path):
    write_msh(tmp_path / "side_wall.msh", tee())
    refused(tmp_path / "side_wal.msh", 'does not exist. Did you mean "side_wall.msh"?')
    refused(tmp_path / "roof.msh", "does not exist.$")
    refused(tmp_path / "nowhere" / "roof.msh", "does not exist.$")


def test_a_folder_or_another_suffix_is_no_mesh_file(tmp_path):
    refused(tmp_path, "is a folder; it must be a file ending in .msh or .vtu")
    for name, found in (("a.stl", 'ends in ".stl"'), ("a", "has no ending")):
        (tmp_path / name).write_text("solid")
        refused(tmp_path / name, f"{found}, which is not read; it must be a mesh file ending in .msh or .vtu")
    with pytest.raises(MeshReadError, match="7 is no file name"):
        read_mesh(7)


@pytest.mark.parametrize("suffix", [".msh", ".vtu"])
@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "is empty; it must hold a mesh"),
        (b"\n", "begins with ''"),
        (b"a letter, no mesh\n", "begins with 'a letter, no mesh'"),
        (bytes(range(256)) * 8, "begins with "),
        (b"\x89PNG\r\n\x1a\n" + bytes(100), "begins with "),
    ],
    ids=["empty", "blank", "text", "bytes", "picture"],
)
def test_a_foreign_file_is_refused(tmp_path, suffix, content, sentence):
    path = tmp_path / f"a{suffix}"
    path.write_bytes(content)
    refused(path, sentence)


def test_a_file_under_the_wrong_suffix_is_named(tmp_path):
    (tmp_path / "a.msh").write_text('<?xml version="1.0"?>\n<VTKFile type="UnstructuredGrid">')
    refused(tmp_path / "a.msh", "it is XML; a file of this kind ends in .vtu")
    write_msh(tmp_path / "a.vtu", tee())
    refused(tmp_path / "a.vtu", r"is no .vtu file: it begins with '\$MeshFormat'")


def test_a_file_that_may_not_be_read_is_refused(tmp_path, monkeypatch):
    def deny(*_args, **_options):
        raise PermissionError(13, "Permission denied")

    path = write_msh(tmp_path / "a.msh", tee())
    monkeypatch.setattr(Path, "open", deny)  # taking the right away does not stop a test run by the system's owner
    assert isinstance(refused(path, "can't be opened: Permission denied").__cause__, PermissionError)


@pytest.mark.parametrize("version", ["4.0", "3.0", "1", "4.2", "two"])
def test_another_version_is_refused(tmp_path, version):
    path = write_msh(tmp_path / "a.msh", tee(), "4.1")
    path.write_bytes(path.read_bytes().replace(b"4.1", version.encode()))
    refused(path, f"is of version {version}, which is not read. Save it as version 4.1 or 2.2")


def test_a_binary_file_of_the_other_byte_order_is_refused(tmp_path):
    path = write_msh(tmp_path / "a.msh", tee(), "4.1", is_binary=True)
    path.write_bytes(path.read_bytes().replace(np.int32(1).tobytes(), np.array(1, dtype=">i4").tobytes(), 1))
    refused(path, "other byte order. Save it as text")


def test_missing_sections_are_named(tmp_path, flavour):
    path = write_msh(tmp_path / "a.msh", tee(), *flavour)
    content = path.read_bytes()
    for name in (b"Nodes", b"Elements"):
        path.write_bytes(content.replace(b"$" + name, b"$Other").replace(b"$End" + name, b"$EndOther"))
        refused(path, rf"has no section \${name.decode()}")
        path.write_bytes(content.replace(b"$End" + name, b"$EndOther"))
        refused(path, rf"is cut off: its section \${name.decode()} does not end")


def test_a_file_cut_off_anywhere_is_refused(tmp_path, flavour, capfd):
    path = write_msh(tmp_path / "a.msh", tee(), *flavour)
    content = path.read_bytes()
    end = content.index(b"$EndElements")
    for length in [*range(1, end, 37), end]:
        path.write_bytes(content[:length])
        refused(path, "cut off|has no section|is no .msh file")
    for length in range(content.index(b"$Elements") + 10, end, 17):  # cut off, and the end put on all the same
        path.write_bytes(content[:length] + content[end:])
        refused(path, "cut off or damaged|Save it again|can't be used|has letters")
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("number", [0, -1, 5, 999, 2**31 - 1])
def test_cells_on_points_that_are_not_there_are_named(tmp_path, flavour, number):
    # the parser alone takes 0 for the last point, without a word, in all four flavours
    file = File(SQUARE, [Block("quad", [[1, 2, 3, 4], [1, 2, 3, number]], (1,))], NAMES)
    path = write_msh(tmp_path / "a.msh", file, *flavour)
    refused(path, f"1 quad cell on points such as {number}, which it does not hold")


@pytest.mark.parametrize(
    ("numbers", "sentence"),
    [
        ([0, 1, 2, 3], "a point has number 0; point numbers must be 1 or above"),
        ([1, 2, 3, 3], "1 point with the number of another|must be numbered 1, 2, 3"),
        ([1, 2, 3, 2_000_000_000], "point numbers run up to 2000000000 for 4 points"),
        ([1, 2, 3, 5], "must be numbered 1, 2, 3 … in binary version 2.2. Save it as version 4.1"),
    ],
    ids=["from 0", "twice", "huge", "with a gap"],
)
def test_point_numbers_that_can_not_be_are_named(tmp_path, flavour, numbers, sentence):
    if "gap" in sentence or (numbers[-1] == 5 and flavour != ("2.2", True)):
        numbers, sentence = [0, 1, 2, 3], "number 0"  # gaps are all right in the other flavours
    file = File(SQUARE, [Block("quad", [numbers], (1,))], NAMES, np.array(numbers))
    refused(write_msh(tmp_path / "a.msh", file, *flavour), sentence)


@pytest.mark.parametrize("value", [np.nan, np.inf])
def test_coordinates_that_are_not_finite_are_named(tmp_path, flavour, value):
    file = File([*SQUARE[:3], [0, value, 0]], [Block("quad", [[1, 2, 3, 4]], (1,))], NAMES)
    path = write_msh(tmp_path / "a.msh", file, *flavour)
    refused(path, "coordinates that are not finite, or beyond 1e.09 mm, at 1 point, the first is point 3")


def test_words_among_the_numbers_are_refused(tmp_path):
    for version in ("2.2", "4.1"):
        path = write_msh(tmp_path / "a.msh", tee(), version)
        path.write_text(path.read_text().replace("20 0 10", "20 zero 10"))
        refused(path, "section .Nodes is cut off or damaged")


def test_volume_cells_are_refused_by_name(tmp_path, flavour):
    blocks = [
        Block("quad", [[1, 2, 3, 4]], (1,)),
        Block("tetra", [[1, 2, 3, 5], [1, 3, 4, 5]], (), 2),
        Block("hexahedron", [[1, 2, 3, 4, 5, 6, 7, 8]], (), 3),
    ]
    if flavour[0] == "4.1":
        for block in blocks:
            block.tags = (1,)  # the format's parser wants all or none in groups
    points = [*SQUARE, [0, 0, 10], [10, 0, 10], [10, 10, 10], [0, 10, 10]]
    path = write_msh(tmp_path / "a.msh", File(points, blocks, NAMES), *flavour)
    refused(path, r"holds volume cells \(2 tetra, 1 hexahedron\). The kit calculates sheets")


def test_cells_of_third_order_are_refused_by_name(tmp_path, flavour):
    file = File(np.arange(48.0).reshape(16, 3), [Block("quad16", [list(range(1, 17))], (1,))], NAMES)
    refused(write_msh(tmp_path / "a.msh", file, *flavour), "cells of kind quad16, which are not read")


def test_a_file_without_shell_cells_says_what_it_has(tmp_path, flavour):
    lines = File(SQUARE, [Block("line", [[1, 2]], (1,)), Block("vertex", [[1]], (1,))], [(1, 1, "foot")])
    refused(write_msh(tmp_path / "a.msh", lines, *flavour), r"no shell cells \(kinds of cell in it: line, vertex\)")
    nothing = File(SQUARE, [], NAMES)
    refused(write_msh(tmp_path / "a.msh", nothing, *flavour), "no shell cells")
    bare = File(np.empty((0, 3)), [], NAMES)
    refused(write_msh(tmp_path / "a.msh", bare, *flavour), "no shell cells|cut off or damaged")


@pytest.mark.parametrize("is_binary", [False, True])
def test_a_file_with_some_parts_in_no_group_says_what_to_do(tmp_path, is_binary):
    file = tee()
    file.blocks[3].tags = ()
    path = write_msh(tmp_path / "a.msh", file, "4.1", is_binary)
    error = refused(path, "Give every part a group, or save grouped cells only")
    assert isinstance(error.__cause__, ValueError)


def test_the_same_in_version_2_is_read(tmp_path):
    file = tee()
    file.blocks[3].tags = ()
    mesh = read_mesh(write_msh(tmp_path / "a.msh", file, "2.2"))
    assert len(mesh.cell_sets["sheet"]) == 10
    assert any("In no named set: 2 cells" in note for note in mesh.notes)


def test_a_file_without_any_group_is_read(tmp_path, flavour):
    file = tee()
    file.names = []
    for block in file.blocks:
        block.tags = ()
    mesh = read_mesh(write_msh(tmp_path / "a.msh", file, *flavour))
    assert (mesh.n_cells, mesh.cell_sets, mesh.edge_sets) == (14, {}, {})
    assert any("In no named set: 14 cells" in note for note in mesh.notes)


def test_names_that_are_not_utf_8_are_refused(tmp_path):
    path = write_msh(tmp_path / "a.msh", tee())
    path.write_bytes(path.read_bytes().replace(b'"post"', '"Säule"'.encode("latin-1")))
    error = refused(path, "names of its groups are not UTF-8")
    assert isinstance(error.__cause__, UnicodeDecodeError)
    path.write_bytes(path.read_bytes().replace(b'2 1 "sheet"', b"sheet without number"))
    refused(path, "not UTF-8")
    path = write_msh(tmp_path / "b.msh", tee())
    path.write_bytes(path.read_bytes().replace(b'2 1 "sheet"', b"sheet without number"))
    refused(path, "section .PhysicalNames is damaged")


def test_cells_without_area_are_refused(tmp_path):
    file = File([*SQUARE[:3], [5, 0, 0]], [Block("triangle", [[1, 2, 3], [1, 2, 4]], (1,))], NAMES)
    error = refused(write_msh(tmp_path / "a.msh", file), "no area, or sides that cross, in 1 cell, the first is cell 1")
    assert isinstance(error.__cause__, MeshError)


def test_cells_that_all_collapse_are_refused(tmp_path, flavour):
    path = write_msh(tmp_path / "a.msh", File(SQUARE, [Block("quad", [[1, 2, 1, 2]], (1,))], NAMES), *flavour)
    refused(path, "none of its cells has three different corners")
    path = write_msh(tmp_path / "a.msh", tee(), *flavour)
    refused(path, "points may be joined over too wide a gap", merge_within=100)


def test_options_that_can_not_be_are_named(tmp_path):
    path = write_msh(tmp_path / "a.msh", tee())
    with pytest.raises(MeshReadError, match=r'no unit of length "inches"\. Did you mean "inch"\?'):
        read_mesh(path, unit="inches")
    with pytest.raises(MeshReadError, match=r"There are: cm, foot, inch, m, mm\."):
        read_mesh(path, unit="parsec")
    for unit in (0, -1, np.nan, np.inf, True, None, [1]):
        with pytest.raises(MeshReadError, match="must be one of mm, cm, m, inch, foot, or a finite number"):
            read_mesh(path, unit=unit)
    for within in (-1, np.nan, "1 mm", True):
        with pytest.raises(MeshError, match="must be a finite length in mm"):
            read_mesh(path, merge_within=within)
    with pytest.raises(MeshError, match=r"normals: 'up' is no direction"):
        read_mesh(path, normals=("up",))


@pytest.mark.parametrize("form", ["2.2-text", "2.2-binary", "4.1-text", "4.1-binary", "vtu", "vtu-packed"])
def test_damage_gives_a_mesh_or_our_error_and_prints_nothing(tmp_path, capfd, form):
    if form.startswith("vtu"):
        path = tmp_path / "a.vtu"
        mesh = read_mesh(write_msh(tmp_path / "a.msh", tee()))
        cells = [(kind, np.array(block)) for kind, block in mesh.cells.items()]
        raw = meshio.Mesh(mesh.points, cells, cell_data={"sheet": [np.ones(len(c), dtype=np.uint8) for _, c in cells]})
        meshio.vtu.write(path, raw, compression="zlib" if form.endswith("packed") else None)
    else:
        version, kind = form.split("-")
        path = write_msh(tmp_path / "a.msh", tee(), version, kind == "binary")
    content, random = path.read_bytes(), np.random.default_rng(2026)
    outcomes = {"mesh": 0, "error": 0}
    for i in range(250):
        damaged = bytearray(content)
        if i % 5 == 0:
            del damaged[random.integers(len(content)) :]
        elif i % 5 == 1:
            start = random.integers(len(content))
            del damaged[start : start + random.integers(1, 40)]
        else:
            for place in random.integers(len(content), size=random.integers(1, 4)):
                damaged[place] = random.integers(256)
        path.write_bytes(damaged)
        try:
            outcomes["mesh"] += isinstance(read_mesh(path), Mesh)
        except MeshReadError as error:
            assert str(path) in str(error)
            outcomes["error"] += 1
    assert sum(outcomes.values()) == 250
    assert outcomes["error"] > 50  # the cuts at least
    assert capfd.readouterr() == ("", "")
