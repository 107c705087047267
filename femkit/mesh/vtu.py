"""What a .vtu file holds: points, cell blocks, and as named sets its fields of whole numbers 0 and 1."""

import re

import meshio.vtu
import numpy as np

from ..errors import MeshReadError
from .border import RawMesh, parse_quietly, shorten

__all__ = ["read_vtu"]


def read_vtu(path):
    """Read a .vtu file.

    A cell field of whole numbers that are all 0 or 1 is taken for a set of that name, a point field likewise; other
    fields are results, and left.

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
    content = path.read_bytes()
    _check_format(path, content)
    raw = parse_quietly(meshio.vtu.read, path)
    blocks = [(block.type, block.data) for block in raw.cells]
    groups, others = {}, []
    for name, values in raw.cell_data.items():
        if _is_membership(values):
            groups[name] = [np.flatnonzero(block).astype(np.int64) for block in values]
        elif all(block.dtype.kind in "iu" for block in values):
            others.append(name)
    point_sets = {
        name: np.flatnonzero(values).astype(np.int64)
        for name, values in raw.point_data.items()
        if _is_membership([values]) and values.any()
    }
    groups = {name: cells for name, cells in groups.items() if any(map(len, cells))}
    notes = []
    if others:
        notes.append(f"Fields {shorten(others)} hold whole numbers other than 0 and 1 and are not taken for sets.")
    return RawMesh(raw.points, blocks, groups, point_sets, notes)


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


def _is_membership(blocks):
    return all(
        block.ndim == 1 and block.dtype.kind in "iu" and ((block == 0) | (block == 1)).all()
        for block in map(np.asarray, blocks)
    )
