"""Written results, read back by VTK's own reader and by meshio."""

import meshio
import numpy as np
import pytest
from sheets import STEEL, cantilever, grid

import femkit as fk


@pytest.fixture(scope="module")
def result():
    return fk.solve_static(cantilever("mixed", loads=[fk.LineLoad("right", fy=3, fz=1, total=True)]))


def test_vtk_reads_every_field_back(result, tmp_path):
    from vtkmodules.util.numpy_support import vtk_to_numpy
    from vtkmodules.vtkIOXML import vtkXMLUnstructuredGridReader

    reader = vtkXMLUnstructuredGridReader()
    reader.SetFileName(str(result.write(tmp_path / "strip.vtu")))
    reader.Update()
    grid, case = reader.GetOutput(), result["load"]
    assert (grid.GetNumberOfPoints(), grid.GetNumberOfCells()) == (
        result.model.mesh.n_points,
        result.model.mesh.n_cells,
    )
    moved = vtk_to_numpy(grid.GetPointData().GetArray("displacement, load (mm)"))
    assert moved == pytest.approx(case.displacement[:, :3])
    stress = vtk_to_numpy(
        grid.GetCellData().GetArray("stress top, load (MPa)")
    )  # xx yy zz xy yz xz; frames are global here
    assert stress[:, [0, 1, 3]] == pytest.approx(case.stress("top"))
    assert np.abs(stress[:, [2, 4, 5]]).max() < 1e-9
    assert vtk_to_numpy(grid.GetCellData().GetArray("cell set sheet")).all()


def test_meshio_reads_it_too(result, tmp_path):
    read = meshio.vtu.read(result.write(tmp_path / "strip.vtu"))
    assert read.points == pytest.approx(result.model.mesh.points)
    assert sum(len(block.data) for block in read.cells) == result.model.mesh.n_cells
    assert read.point_data["rotation, load (rad)"] == pytest.approx(result["load"].displacement[:, 3:])
    assert read.cell_data["local z"][0][:, 2] == pytest.approx(1)


def test_our_own_reader_gets_mesh_and_sets_back(result, tmp_path):
    mesh = fk.read_mesh(result.write(tmp_path / "strip.vtu"))
    assert mesh.points == pytest.approx(result.model.mesh.points)
    assert {kind: len(cells) for kind, cells in mesh.cells.items()} == {
        kind: len(cells) for kind, cells in result.model.mesh.cells.items()
    }


def test_a_failed_write_leaves_the_old_file_and_no_half_one(result, tmp_path, monkeypatch):
    import pyvista as pv

    path = result.write(tmp_path / "strip.vtu")
    before = path.read_bytes()

    def break_off(self, filename, *args, **kwargs):
        with open(filename, "wb") as half:
            half.write(b"half")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(pv.UnstructuredGrid, "save", break_off)
    with pytest.raises(fk.RecordError, match=r"strip\.vtu.*No space left.*old file"):
        result.write(path)
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["strip.vtu"]


def test_wrong_suffix_and_missing_folder_are_named(result, tmp_path):
    with pytest.raises(fk.RecordError, match=r'written as \.vtu, not "\.txt"'):
        result.write(tmp_path / "strip.txt")
    with pytest.raises(fk.RecordError, match="nowhere does not exist; make it first"):
        result.write(tmp_path / "nowhere" / "strip.vtu")


def test_beams_are_written_to_a_file_of_their_own(tmp_path):
    import pyvista as pv

    mesh = grid(200, 20, 4, 1)
    model = fk.Model(
        mesh,
        fk.Plate(5.0, STEEL),
        beams={"far": fk.Beam(fk.flat_bar(30, 5), STEEL, offset=2.5)},
        supports=[fk.Support("left", ux=0, uy=0, uz=0, rx=0, ry=0, rz=0)],
        load_cases=[fk.LoadCase("pull", fk.LineLoad("right", fx=10.0))],
    )
    result = fk.solve_static(model)
    result.write(tmp_path / "strip.vtu")
    lines = pv.read(tmp_path / "strip-beams.vtu")
    assert lines.n_cells == 4 and lines.cell_data["beam far"].tolist() == [1, 1, 1, 1]
    forces = result["pull"].beam_forces("far").mean(axis=1)
    assert lines.cell_data["N, pull (N)"] == pytest.approx(forces[:, 0])
    assert lines.points[:, 2] == pytest.approx(2.5 + 15.0)
