"""What a .vtu file holds: points, cell blocks, and as named sets its fields of whole numbers 0 and 1."""

import re

import meshio.vtu
import numpy as np

from ..errors import MeshReadError
from .border import RawMesh, parse_quietly, shorten

__all__ = ["read_vtu"]

OWN_PREFIXES = ("cell set ", "point set ")


def read_vtu(path):
    """Read a .vtu file.

    A field of whole numbers that are all 0 or 1 is taken for a set of its name; other fields are results, and left.
    In a file with fields named ``cell set …`` or ``point set …``, as the kit writes them, only those are sets.

    Parameters
    ----------
    path : Path

    Returns
    -------
    RawMesh

    Raises
    ------
    MeshReadError
        If the file is cut off, damaged, of another format, or holds its cells in several pieces.
    """
    _check_format(path, path.read_bytes())
    raw = parse_quietly(meshio.vtu.read, path)
    blocks = [(block.type, block.data) for block in raw.cells]
    names = [*raw.cell_data, *raw.point_data]
    cell_prefix, point_prefix = OWN_PREFIXES if any(name.startswith(OWN_PREFIXES) for name in names) else ("", "")
    groups, cell_numbers = _sets(raw.cell_data, cell_prefix)
    points, point_numbers = _sets({name: [values] for name, values in raw.point_data.items()}, point_prefix)
    notes = []
    if others := cell_numbers + point_numbers:
        notes.append(f"Fields {shorten(others)} hold whole numbers other than 0 and 1 and are not taken for sets.")
    lines, _ = _sets({name: [values] for name, values in raw.point_data.items()}, "edge set ")
    if lines:
        notes.append(f"Edge sets {shorten(lines)} are kept in this file by their points, and become point sets.")
    return RawMesh(raw.points, blocks, groups, {name: chosen for name, (chosen,) in (lines | points).items()}, notes)


def _sets(fields, prefix):
    """Which items each 0/1 field of whole numbers marks, by block, where it marks any; and names of the others."""
    sets, others = {}, []
    for name, blocks in fields.items():
        if not name.startswith(prefix) or any(block.ndim > 1 or block.dtype.kind not in "iu" for block in blocks):
            continue
        if any((block > 1).any() or (block < 0).any() for block in blocks):
            others.append(name)
        elif any(block.any() for block in blocks):
            sets[name.removeprefix(prefix)] = [np.flatnonzero(block).astype(np.int64) for block in blocks]
    return sets, others


def _check_format(path, content):
    if b"<VTKFile" not in content[:10_000]:
        first = content[:40].split(b"\n", 1)[0].strip()
        raise MeshReadError(f"{path} is no .vtu file: it begins with {str(first)[1:]}, where <VTKFile is expected.")
    if not content.rstrip().endswith(b"</VTKFile>"):
        raise MeshReadError(f"{path} is cut off: it does not end with </VTKFile>. Save it again.")
    grid = re.search(rb'<VTKFile[^>]*\btype="(\w+)"', content)
    if not grid or grid[1] != b"UnstructuredGrid":
        kind = grid[1].decode() if grid else "nothing known"
        raise MeshReadError(f"{path} holds {kind}; it must hold an UnstructuredGrid.")
    compressor = re.search(rb'<VTKFile[^>]*\bcompressor="(\w+)"', content)
    if compressor and compressor[1] not in (b"vtkZLibDataCompressor", b"vtkLZMADataCompressor"):
        raise MeshReadError(f"{path} is compressed with {compressor[1].decode()}. Save it with zlib or uncompressed.")
    n_pieces = len(re.findall(rb"<Piece\b", content))
    if n_pieces != 1:  # the parser keeps the cells of the last piece only, without a word
        raise MeshReadError(f"{path} holds {n_pieces} pieces; it must hold one. Merge them and save it again.")
