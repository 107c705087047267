"""Reading a mesh from a .msh or .vtu file, in mm, mended and with its normals made consistent."""

from dataclasses import replace
from numbers import Real
from pathlib import Path

import numpy as np

from ..errors import MeshError, MeshReadError, nearest_name
from ..units import LENGTHS
from .assemble import assemble
from .border import shorten
from .msh import read_msh
from .orientation import NORMALS, directions_of, find_turned, turn
from .topology import parts
from .vtu import read_vtu

__all__ = ["read_mesh"]

READERS = {".msh": read_msh, ".vtu": read_vtu}


def read_mesh(path, *, unit="mm", merge_within=None, normals=NORMALS, quadratic=False):
    """Read points, cells and named sets, mend what can be mended, and turn normals to a stated direction.

    Cells of a kind become one array, and a named group one set, over however many blocks the file has it; a cell may
    be in several sets. Named groups of surface, line and point cells become cell, edge and point sets. Quadratic
    cells are split into four linear ones each, unless they are to be kept; points that no shell cell or named line
    uses are dropped; what was done stands in ``mesh.notes`` and ``mesh.report``.

    Parameters
    ----------
    path : str or Path
        A .msh file of version 2.2 or 4.1, or a .vtu file, whose cell and point fields of whole numbers 0 and 1 are
        taken for sets.
    unit : str or float
        The file's unit of length: a name in `femkit.units.LENGTHS`, or how many mm it is.
    merge_within : float, optional
        Join points that lie no further apart than this, mm. Without it none are joined, and coincident ones counted.
    normals : sequence of str or array_like, shape (3,), or None
        Directions in order of preference. Each smooth sheet is turned so that its mean normal (by area) has a
        positive component along the first direction to which the sheet does not lie edge-on (within 10 degrees);
        a closed sheet, such as a tube, faces outward. None leaves all cells as they are. See `femkit.mesh.orient`.
    quadratic : bool
        Keep quadratic cells (``triangle6``, ``quad8``, ``quad9``), for plane stress; shells are linear.

    Returns
    -------
    Mesh

    Raises
    ------
    MeshReadError
        If the file is missing, empty, cut off, damaged or of another format, or holds what is not read.
    """
    scale = _scale(unit)
    directions_of(normals)  # a wrong one is said before any work
    if merge_within is not None and not (_is_number(merge_within) and merge_within >= 0):
        raise MeshError(f"merge_within is {merge_within!r}; it must be a finite length in mm, 0 or above, or None.")
    path = _existing_file(path)
    raw = READERS[path.suffix.lower()](path)
    try:
        mesh = assemble(replace(raw, points=np.asarray(raw.points, dtype=float) * scale), merge_within, quadratic)
        is_turned, notes = find_turned(mesh, normals)
        cell_part, _ = parts(mesh)
    except MeshError as error:
        raise MeshReadError(f"{path}: {str(error).rstrip('.')}.") from error
    sizes = np.bincount(cell_part)
    if len(sizes) > 1:
        counts = shorten(f"{n:,}" for n in sorted(sizes, reverse=True))
        notes = [*notes, f"The mesh falls into {len(sizes)} parts that share no point, of {counts} cells."]
    unit_note = [] if scale == 1 else [f"Lengths were multiplied by {scale:g} to have mm."]
    return turn(mesh, is_turned, notes=(*unit_note, *mesh.notes, *notes))


def _scale(unit):
    if isinstance(unit, str):
        if unit not in LENGTHS:
            raise MeshReadError(f'There is no unit of length "{unit}". {nearest_name(unit, LENGTHS)[1]}')
        return LENGTHS[unit]
    if not (_is_number(unit) and unit > 0):
        raise MeshReadError(
            f"unit is {unit!r}; it must be one of {', '.join(LENGTHS)}, or a finite number of mm above 0."
        )
    return float(unit)


def _is_number(value):
    return isinstance(value, Real) and not isinstance(value, bool) and np.isfinite(value)


def _existing_file(path):
    try:
        path = Path(path).expanduser()
    except TypeError as error:
        raise MeshReadError(f"{path!r} is no file name; it must be text or a Path.") from error
    kinds = " or ".join(READERS)
    if path.is_dir():
        raise MeshReadError(f"{path} is a folder; it must be a file ending in {kinds}.")
    if not path.exists():
        there = [p.name for p in path.parent.iterdir() if p.suffix in READERS] if path.parent.is_dir() else []
        nearest, advice = nearest_name(path.name, there)
        raise MeshReadError(f"{path} does not exist." + (f" {advice}" if nearest else ""))
    if path.suffix.lower() not in READERS:
        ending = f'ends in "{path.suffix}"' if path.suffix else "has no ending"
        raise MeshReadError(f"{path} {ending}, which is not read; it must be a mesh file ending in {kinds}.")
    try:
        with path.open("rb") as file:
            is_empty = not file.read(1)
    except OSError as error:
        raise MeshReadError(f"{path} can't be opened: {error.strerror}.") from error
    if is_empty:
        raise MeshReadError(f"{path} is empty; it must hold a mesh. Save it again.")
    return path
