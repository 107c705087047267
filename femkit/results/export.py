"""Write a mesh with all its fields as a VTK unstructured grid (.vtu) that any VTK viewer opens."""

import os
import tempfile
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from ..errors import RecordError
from ..mesh.topology import halves
from .beams import HEADS
from .stress import SURFACES, to_global

__all__ = ["checked_path", "grid_of", "replacing", "write_results"]

VTK_TYPES = {"triangle": 5, "quad": 9, "triangle6": 22, "quad8": 23, "quad9": 28}  # VTK file format's cell types
TENSOR = ("xx", "yy", "zz", "xy", "yz", "xz")  # VTK's order for symmetric tensors


def write_results(result, path):
    """Write one .vtu with points, cells, sets, thickness, cell axes and the fields of every load case.

    Sets are 0/1 arrays, one a set, so that a cell in several sets is in all of them. Stresses are global tensors at
    the cells' centres on three surfaces; every name carries its unit. Beams go into a file of their own beside it,
    ``…-beams.vtu``, so that neither lacks what the other has.
    """
    path = checked_path(path, ".vtu", "results")
    if result.model.beams:
        _write_beams(result, path.with_name(f"{path.stem}-beams.vtu"))
        if not result.model.mesh.n_cells:
            return path.with_name(f"{path.stem}-beams.vtu")
    grid = grid_of(result.model.mesh)
    per_cell, mesh = result.model.per_cell, result.model.mesh
    for name, cells in mesh.cell_sets.items():
        grid.cell_data[f"cell set {name}"] = _mask(mesh.n_cells, cells)
    for name, points in mesh.point_sets.items():
        grid.point_data[f"point set {name}"] = _mask(mesh.n_points, points)
    for name, edges in mesh.edge_sets.items():
        grid.point_data[f"edge set {name}"] = _mask(mesh.n_points, halves(mesh, edges).ravel())
    grid.cell_data["thickness (mm)"] = per_cell.thickness
    grid.cell_data["offset (mm)"] = per_cell.offset
    grid.cell_data["plate"] = per_cell.plate.astype(np.int32)
    for i, axis in enumerate("xyz"):
        grid.cell_data[f"local {axis}"] = per_cell.frames[:, i]
    for case in result:
        _add_case(grid, case)
    with replacing(path) as beside:
        grid.save(beside)
    return path


def _write_beams(result, path):
    """Beams as lines through their centroids, with which beam each is, and its section forces at the middle."""
    import pyvista as pv

    beams, points = result.model.beam_cells, result.model.mesh.points
    n = len(beams)
    lines = np.column_stack([np.full(n, 2), np.arange(2 * n).reshape(n, 2)])
    ends = (points[beams.points] + beams.arm[:, None]).reshape(-1, 3)
    grid = pv.UnstructuredGrid(lines.ravel(), np.full(n, 3, dtype=np.uint8), ends)  # 3: VTK's type of a line
    for number, name in enumerate(result.model.beams):
        grid.cell_data[f"beam {name}"] = (beams.beam == number).astype(np.uint8)
    for case in result:
        forces = case.beam_ends.mean(axis=1)
        for head, values in zip(HEADS, forces.T):
            symbol, unit = head.split(" ", 1)
            grid.cell_data[f"{symbol}, {case.name} {unit}"] = values
        grid.point_data[f"displacement, {case.name} (mm)"] = case.displacement[beams.points.ravel(), :3]
    with replacing(path) as beside:
        grid.save(beside)


def _add_case(grid, case):
    frames = case.model.per_cell.frames
    points, cells, name = grid.point_data, grid.cell_data, case.name
    points[f"displacement, {name} (mm)"] = case.displacement[:, :3]
    points[f"rotation, {name} (rad)"] = case.displacement[:, 3:]
    points[f"reaction force, {name} (N)"] = case.reaction[:, :3]
    points[f"reaction moment, {name} (N mm)"] = case.reaction[:, 3:]
    points[f"applied force, {name} (N)"] = case.load[:, :3]
    for surface in SURFACES:
        cells[f"stress {surface}, {name} (MPa)"] = to_global(case.stress(surface), frames)
        cells[f"von Mises {surface}, {name} (MPa)"] = case.von_mises(surface)
    cells[f"judged stress, {name} (MPa)"] = case.judged_stress()
    cells[f"membrane force, {name} (N/mm)"] = case.membrane_force
    cells[f"bending moment, {name} (N mm/mm)"] = case.bending_moment
    cells[f"transverse shear, {name} (N/mm)"] = case.transverse_shear


def grid_of(mesh):
    """A mesh's points and cells as a pyvista grid, without fields."""
    import pyvista as pv

    cells = np.concatenate([np.insert(c, 0, c.shape[1], axis=1).ravel() for c in mesh.cells.values()])
    kinds = np.concatenate([np.full(len(c), VTK_TYPES[kind], dtype=np.uint8) for kind, c in mesh.cells.items()])
    return pv.UnstructuredGrid(cells, kinds, np.array(mesh.points))


def checked_path(path, suffix, what):
    """The path of a file to write, once its ending is right and its folder there."""
    path = Path(path)
    if path.suffix != suffix:
        raise RecordError(f'{path}: {what} are written as {suffix}, not "{path.suffix}".')
    if not path.parent.is_dir():
        raise RecordError(f"{path}: the folder {path.parent} does not exist; make it first.")
    return path


@contextmanager
def replacing(path):
    """A name beside `path` to write to, renamed to `path` in the end, or removed when something goes wrong."""
    try:
        handle, beside = tempfile.mkstemp(suffix=path.suffix, prefix=f".{path.stem}-", dir=path.parent)
        os.close(handle)
    except OSError as error:
        raise RecordError(
            f"{path}: can't be written: {error.strerror}. Choose a folder that may be written to."
        ) from error
    try:
        yield Path(beside)
        os.chmod(beside, 0o644)  # mkstemp's own mode hides the file from everybody else
        os.replace(beside, path)
    except OSError as error:
        raise RecordError(
            f"{path}: can't be written: {error.strerror or error}. The old file, if any, still stands."
        ) from error
    finally:
        Path(beside).unlink(missing_ok=True)


def _mask(n, chosen):
    mask = np.zeros(n, dtype=np.uint8)
    mask[chosen] = 1
    return mask
