"""What a .msh file holds (version 2.2 and 4.1, text and binary): points, cell blocks and whole named groups."""

import re
from pathlib import Path
from tempfile import TemporaryDirectory

import meshio.gmsh
import numpy as np

from ..errors import MeshReadError
from .border import RawMesh, counted, parse_quietly, shorten
from .msh_numbers import check_point_numbers, section

__all__ = ["read_msh"]

VERSIONS = {"2": 2, "2.0": 2, "2.1": 2, "2.2": 2, "4": 4, "4.1": 4}
DIMENSION = {"vertex": 0, "line": 1, "triangle": 2, "quad": 2}
SECTIONS = ("MeshFormat", "Nodes", "Elements")
_NAME_LINE = re.compile(r'^\s*(\d+)\s+(-?\d+)\s+"?(.*?)"?\s*$')


def read_msh(path):
    """Read a .msh file.

    Parameters
    ----------
    path : Path

    Returns
    -------
    RawMesh

    Raises
    ------
    MeshReadError
        If the file is cut off, damaged, of another format or version, or refers to points it does not hold.
    """
    content = path.read_bytes()
    version, is_binary = _check_format(path, content)
    names = _group_names(path, content)
    parse_quietly(lambda _: check_point_numbers(path, content, version, is_binary), path)
    if version == 2:
        raw = parse_quietly(meshio.gmsh.read, path)
        return _raw_from_tags(raw, names)
    if len(set(names.values())) == len(names):
        raw = parse_quietly(meshio.gmsh.read, path)
        return _raw_from_sets(raw, names, {name: name for name in names.values()})
    raw = parse_quietly(lambda _: _read_with_unique_names(content, names), path)
    return _raw_from_sets(raw, names, {_key(group): name for group, name in names.items()})


def _check_format(path, content):
    first = content.lstrip().split(b"\n", 1)[0][:40].strip()
    header = re.search(rb"^\$MeshFormat\s+(\S+)\s+([01])\s+(\d+)", content[:100_000], re.MULTILINE)
    if not first.startswith(b"$") or not header:
        what = "is XML; a file of this kind ends in .vtu" if first.startswith(b"<") else f"begins with {str(first)[1:]}"
        raise MeshReadError(f"{path} is no .msh file: it {what}, where a line $MeshFormat and a version are expected.")
    version, is_binary = header[1].decode("ascii", "replace"), header[2] == b"1"
    if version not in VERSIONS:
        raise MeshReadError(f"{path} is of version {version}, which is not read. Save it as version 4.1 or 2.2.")
    if is_binary and b"\x01" == content[header.end() :].lstrip()[3:4]:
        raise MeshReadError(f"{path} was written on a machine of the other byte order. Save it as text.")
    for name in SECTIONS:
        if not section(content, name):
            is_begun = f"${name}".encode() in content
            what = f"is cut off: its section ${name} does not end" if is_begun else f"has no section ${name}"
            raise MeshReadError(f"{path} {what}. Save it again; it needs ${', $'.join(SECTIONS)}.")
    return VERSIONS[version], is_binary


def _group_names(path, content):
    """Names by (dimension, tag), from the file itself: the parser keeps one group only of each name."""
    where = section(content, "PhysicalNames")
    if not where:
        return {}
    try:
        lines = content[slice(*where)].decode().splitlines()[1:]
    except UnicodeDecodeError as error:
        raise MeshReadError(
            f"{path}: the names of its groups are not UTF-8. Save it again with names in UTF-8."
        ) from error
    found = [_NAME_LINE.match(line) for line in lines if line.strip()]
    if not all(found):
        raise MeshReadError(f"{path}: the section $PhysicalNames is damaged. Save the file again.")
    return {(int(match[1]), int(match[2])): match[3] for match in found}


def _key(group):
    return f"{group[0]} {group[1]}"


def _read_with_unique_names(content, names):
    """Parse a copy in which every group is named by its dimension and tag."""
    begin, end = section(content, "PhysicalNames")
    lines = [str(len(names)), *(f'{_key(group)} "{_key(group)}"' for group in names)]
    with TemporaryDirectory() as folder:
        copy = Path(folder) / "unique.msh"
        copy.write_bytes(content[:begin] + "\n".join([*lines, ""]).encode() + content[end:])
        return meshio.gmsh.read(copy)


def _raw_from_sets(raw, names, name_of):
    """Version 4.1: every group has a list of cells for every block; keys that begin with gmsh: are no groups."""
    blocks = [(block.type, block.data.astype(np.int64)) for block in raw.cells]
    tags = raw.cell_data.get("gmsh:physical", [np.zeros(len(block), dtype=int) for _, block in blocks])
    found = [(name, i, cells) for key, name in name_of.items() for i, cells in enumerate(raw.cell_sets.get(key, []))]
    for i, ((kind, block), block_tags) in enumerate(zip(blocks, tags)):
        group = (_dimension(kind), -int(block_tags.min(initial=0)))
        if group[1] > 0 and group in names:  # a group with its sign reversed, which the parser does not find
            found.append((names[group], i, np.arange(len(block))))
    return RawMesh(raw.points, blocks, _gather(found, len(blocks)), notes=_name_notes(names, found, blocks, tags))


def _raw_from_tags(raw, names):
    """Version 2.2: one tag a cell; a cell of two groups is written twice."""
    tag_blocks = raw.cell_data.get("gmsh:physical", [np.zeros(len(block.data), dtype=int) for block in raw.cells])
    blocks, tags, found, n_repeats = [], [], [], 0
    for kind in dict.fromkeys(block.type for block in raw.cells):
        mine = [i for i, block in enumerate(raw.cells) if block.type == kind]
        cells, kind_tags = (
            np.concatenate(arrays) for arrays in zip(*((raw.cells[i].data, tag_blocks[i]) for i in mine))
        )
        if len(kind_tags) != len(cells):  # some cells have no tags at all
            kind_tags = np.zeros(len(cells), dtype=int)
        kept, place = _without_repeats(np.sort(cells, axis=1))
        for tag in np.unique(kind_tags):
            if name := names.get((_dimension(kind), int(tag))):
                found.append((name, len(blocks), place[kind_tags == tag]))
        n_repeats += len(cells) - len(kept)
        blocks.append((kind, cells[kept].astype(np.int64)))
        tags.append(kind_tags)
    notes = _name_notes(names, found, blocks, tags)
    if n_repeats:
        notes.append(
            f"Written again for a second group: {counted(n_repeats, 'cell')}; each is kept once, in all its groups."
        )
    return RawMesh(raw.points, blocks, _gather(found, len(blocks)), notes=notes)


def _gather(found, n_blocks):
    """Cells of every name, block by block, from (name, block, cells)."""
    groups = {}
    for name, i, cells in found:
        if len(cells):
            by_block = groups.setdefault(name, [np.empty(0, dtype=np.int64)] * n_blocks)
            by_block[i] = (
                np.union1d(by_block[i], cells.astype(np.int64)) if len(by_block[i]) else cells.astype(np.int64)
            )
    return groups


def _without_repeats(rows):
    """First of each row's repeats, in order, and for every row which of those it is."""
    order = np.lexsort(rows.T[::-1])
    is_new = np.ones(len(rows), dtype=bool)
    is_new[1:] = (rows[order][1:] != rows[order][:-1]).any(axis=1)
    first = order[is_new]  # lexsort is stable: the first of equals comes first
    place = np.empty(len(rows), dtype=np.int64)
    rank = np.empty(len(first), dtype=np.int64)
    rank[np.argsort(first)] = np.arange(len(first))
    place[order] = rank[np.cumsum(is_new) - 1]
    return np.sort(first), place


def _dimension(kind):
    return DIMENSION.get(kind.rstrip("0123456789"), 3)


def _name_notes(names, found, blocks, tags):
    empty = set(names.values()) - {name for name, _, cells in found if len(cells)}
    notes, places = [f'No cell is in the group "{name}".' for name in sorted(empty)], {}
    for (dimension, _tag), name in names.items():
        places.setdefault(name, set()).add(("points", "edges", "cells", "volumes")[min(dimension, 3)])
    for name, where in places.items():
        if len(where) > 1:
            notes.append(
                f'The name "{name}" is used for {" and for ".join(sorted(where))}; each is kept as a set of its own.'
            )
    nameless = {
        (_dimension(kind), int(tag))
        for (kind, _), block_tags in zip(blocks, tags)
        for tag in np.unique(block_tags)
        if tag != 0 and (_dimension(kind), abs(int(tag))) not in names
    }
    if nameless:
        numbers = shorten(sorted({tag for _, tag in nameless}))
        notes.append(f"Without a name, so not to be selected: {counted(len(nameless), 'group')} (number {numbers}).")
    return notes
