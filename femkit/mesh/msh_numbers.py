"""Does every cell of a .msh file refer to points the file holds?

Asked before the file is parsed: the parser takes a point number 0 for the last point, without a word, and makes a
table as long as the largest number, which in a damaged file may be larger than the memory.
"""

import re

import meshio.gmsh
import numpy as np

from ..errors import MeshReadError
from .border import counted

__all__ = ["check_point_numbers", "section"]

# points of a cell; the kinds beyond these are cubic and higher, and refused
POINTS_OF = dict(vertex=1, line=2, line3=3, triangle=3, triangle6=6, quad=4, quad8=8, quad9=9)
POINTS_OF |= dict(tetra=4, hexahedron=8, wedge=6, pyramid=5, tetra10=10, hexahedron20=20, hexahedron27=27)
POINTS_OF |= dict(wedge15=15, wedge18=18, pyramid13=13, pyramid14=14)
MAX_NUMBER = 10_000_000  # a table of numbers this long is no burden


def check_point_numbers(path, content, version, is_binary):
    """Raise `MeshReadError` if cells refer to points that are not there; `content` is the file's bytes."""
    read_points, read_cells = READERS[version, is_binary]
    numbers = _walk(path, "Nodes", read_points, content)
    last, first = int(numbers.max(initial=0)), int(numbers.min(initial=1))
    if first < 1:
        raise MeshReadError(f"{path}: a point has number {first}; point numbers must be 1 or above.")
    if last > MAX_NUMBER + 100 * len(numbers):
        raise MeshReadError(f"{path}: point numbers run up to {last} for {len(numbers)} points. Number them anew.")
    if (version, is_binary) == (2, True) and not np.array_equal(numbers, np.arange(1, len(numbers) + 1)):
        raise MeshReadError(f"{path}: points must be numbered 1, 2, 3 … in binary version 2.2. Save it as version 4.1.")
    is_known = np.zeros(last + 1, dtype=bool)
    is_known[numbers] = True
    if is_known.sum() < len(numbers):
        raise MeshReadError(
            f"{path}: {counted(len(numbers) - is_known.sum(), 'point')} with the number of another. Number them anew."
        )
    faults = []
    for kind, cells in _walk(path, "Elements", read_cells, content):
        is_bad = (cells < 1) | (cells > last) | ~is_known[np.clip(cells, 0, last)]
        if is_bad.any():
            faults.append(f"{counted(is_bad.any(axis=1).sum(), f'{kind} cell')} on points such as {cells[is_bad][0]}")
    if faults:
        raise MeshReadError(f"{path}: {', '.join(faults)}, which it does not hold. Save it again with all its points.")


def section(content, name):
    """Where the text between $Name and $EndName begins and ends; None if one of the two is missing."""
    begin = content.find(f"${name}".encode())
    begin = content.find(b"\n", begin) + 1 if begin >= 0 else 0
    end = content.rfind(f"$End{name}".encode(), begin) if begin else -1  # the last: binary numbers may look like it
    return (begin, end) if end >= 0 else None


def _walk(path, name, read, content):
    begin, end = section(content, name)
    try:
        return read(content[begin:end])
    except MeshReadError as error:
        raise MeshReadError(f"{path}: {error}") from error
    except Exception as error:  # any damage shows as some error of the walk
        raise MeshReadError(f"{path}: its section ${name} is cut off or damaged. Save it again.") from error


def _points_of(code):
    kind = meshio.gmsh.gmsh_to_meshio_type[int(code)]
    if kind not in POINTS_OF:
        raise MeshReadError(
            f"it holds cells of kind {kind}, which are not read. There must be triangles and quadrilaterals."
        )
    return kind, POINTS_OF[kind]


def _points_22_text(section):
    values = np.fromstring(section, sep=" ")
    return _whole([values[1:].reshape(-1, 4)[:, 0]], values[0])


def _cells_22_text(section):
    found = []
    _count, body = section.split(b"\n", 1)
    heads = set(re.findall(rb"^[ \t]*\d+[ \t]+(\d+)[ \t]+(\d+)[ \t]", body, re.MULTILINE))
    for code, n_tags in heads:
        kind, n = _points_of(code)
        pattern = rb"^[ \t]*\d+[ \t]+" + code + rb"[ \t]+" + n_tags + rb"[ \t]+(.*)$"
        rows = np.fromstring(b" ".join(re.findall(pattern, body, re.MULTILINE)), dtype=np.int64, sep=" ")
        found.append((kind, rows.reshape(-1, int(n_tags) + n)[:, int(n_tags) :]))
    return found


def _points_22_binary(section):
    n, begin = _count_line(section)
    return np.frombuffer(section, np.dtype([("number", "<i4"), ("place", "<f8", 3)]), n, begin)["number"].astype(
        np.int64
    )


def _cells_22_binary(section):
    found, seen = [], 0
    n_cells, at = _count_line(section)
    while seen < n_cells:
        code, n_block, n_tags = np.frombuffer(section, "<i4", 3, at)
        kind, n = _points_of(code)
        rows = _take(section, "<i4", (int(n_block), 1 + int(n_tags) + n), at + 12)
        found.append((kind, rows[:, 1 + n_tags :].astype(np.int64)))
        at += 12 + rows.nbytes
        seen += int(n_block)
    return found


def _points_41_text(section):
    values = np.fromstring(section, sep=" ")
    numbers, at = [], 4
    for _ in range(int(values[0])):
        n = int(values[at + 3])
        numbers.append(values[at + 4 : at + 4 + n])
        at += 4 + 4 * n
    return _whole(numbers, values[1])


def _cells_41_text(section):
    values = np.fromstring(section, dtype=np.int64, sep=" ")
    found, at = [], 4
    for _ in range(int(values[0])):
        kind, n = _points_of(values[at + 2])
        n_block = int(values[at + 3])
        found.append((kind, values[at + 4 :][: n_block * (n + 1)].reshape(n_block, n + 1)[:, 1:]))
        at += 4 + n_block * (n + 1)
    return found


def _points_41_binary(section):
    n_blocks, n_points, _, _ = np.frombuffer(section, "<u8", 4)
    numbers, at = [], 32
    for _ in range(int(n_blocks)):
        n = int(np.frombuffer(section, "<u8", 1, at + 12)[0])
        numbers.append(_take(section, "<u8", (n,), at + 20))
        at += 20 + 32 * n
    return _whole(numbers, n_points)


def _cells_41_binary(section):
    found, at = [], 32
    for _ in range(int(np.frombuffer(section, "<u8", 1)[0])):
        kind, n = _points_of(np.frombuffer(section, "<i4", 3, at)[2])
        n_block = int(np.frombuffer(section, "<u8", 1, at + 12)[0])
        rows = _take(section, "<u8", (n_block, n + 1), at + 20)
        found.append((kind, rows[:, 1:].astype(np.int64)))
        at += 20 + rows.nbytes
    return found


def _count_line(section):
    end = section.index(b"\n")
    return int(section[:end]), end + 1


def _take(section, kind, shape, at):
    return np.frombuffer(section, kind, int(np.prod(shape, dtype=object)), at).reshape(shape)


def _whole(numbers, n_points):
    numbers = np.concatenate(numbers or [np.empty(0)]).astype(np.int64)
    if len(numbers) != n_points:
        raise ValueError(f"{len(numbers)} of {n_points} points found")
    return numbers


READERS = {
    (2, False): (_points_22_text, _cells_22_text),
    (2, True): (_points_22_binary, _cells_22_binary),
    (4, False): (_points_41_text, _cells_41_text),
    (4, True): (_points_41_binary, _cells_41_binary),
}
