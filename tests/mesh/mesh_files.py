"""Small mesh files, written after the format's own description, so that a reader is not tested by itself."""

from dataclasses import dataclass, field

import numpy as np

CODES = {"line": 1, "triangle": 2, "quad": 3, "tetra": 4, "hexahedron": 5, "line3": 8, "triangle6": 9}
CODES |= {"quad9": 10, "vertex": 15, "quad8": 16, "quad16": 36}
DIMENSION = {"vertex": 0, "line": 1, "line3": 1, "tetra": 3, "hexahedron": 3}
FLAVOURS = [("2.2", False), ("2.2", True), ("4.1", False), ("4.1", True)]
FLAVOUR_NAMES = ["2.2-text", "2.2-binary", "4.1-text", "4.1-binary"]


@dataclass
class Block:
    """Cells of one kind on one entity, point numbers from 1, and the group numbers that the entity belongs to."""

    kind: str
    cells: list
    tags: tuple = ()
    entity: int = 1

    @property
    def dimension(self):
        return DIMENSION.get(self.kind, 2)


@dataclass
class File:
    """What a .msh file is to hold; names are (dimension, tag, name)."""

    points: np.ndarray
    blocks: list
    names: list = field(default_factory=list)
    numbers: np.ndarray = None  # point numbers, 1 … n if not given

    def __post_init__(self):
        self.points = np.asarray(self.points, dtype=float)
        if self.numbers is None:
            self.numbers = np.arange(1, len(self.points) + 1)


def write_msh(path, file, version="4.1", is_binary=False):
    """Write the file and return its path."""
    parts = [f"$MeshFormat\n{version} {int(is_binary)} 8\n".encode()]
    parts += [np.int32(1).tobytes() + b"\n"] if is_binary else []
    parts += [b"$EndMeshFormat\n"]
    if file.names:
        lines = [f'{dimension} {tag} "{name}"' for dimension, tag, name in file.names]
        parts.append("\n".join(["$PhysicalNames", str(len(lines)), *lines, "$EndPhysicalNames\n"]).encode())
    body = {("2.2", False): _text_22, ("2.2", True): _binary_22, ("4.1", False): _text_41, ("4.1", True): _binary_41}
    path.write_bytes(b"".join(parts) + body[version, is_binary](file))
    return path


def _rows_22(file):
    """One row a cell and group: block, tags, points; a cell of two groups comes twice."""
    return [(block, tag, cell) for block in file.blocks for tag in (block.tags or (0,)) for cell in block.cells]


def _text_22(file):
    points = [f"{n} {x:.16g} {y:.16g} {z:.16g}" for n, (x, y, z) in zip(file.numbers, file.points)]
    rows = _rows_22(file)
    cells = [
        f"{i + 1} {CODES[block.kind]} 2 {tag} {block.entity} " + " ".join(map(str, cell))
        for i, (block, tag, cell) in enumerate(rows)
    ]
    nodes = ["$Nodes", str(len(points)), *points, "$EndNodes"]
    return "\n".join([*nodes, "$Elements", str(len(cells)), *cells, "$EndElements\n"]).encode()


def _binary_22(file):
    nodes = b"".join(np.int32(n).tobytes() + p.tobytes() for n, p in zip(file.numbers, file.points))
    rows = _rows_22(file)
    cells = b"".join(
        np.array([CODES[block.kind], 1, 2, i + 1, tag, block.entity, *cell], dtype=np.int32).tobytes()
        for i, (block, tag, cell) in enumerate(rows)
    )
    n_points, n_cells = str(len(file.points)).encode(), str(len(rows)).encode()
    parts = [b"$Nodes", n_points, nodes, b"$EndNodes", b"$Elements", n_cells, cells, b"$EndElements\n"]
    return b"\n".join(parts)


def _entities(file):
    return [
        sorted({(b.entity, tuple(b.tags)) for b in file.blocks if b.dimension == dimension}) for dimension in range(4)
    ]


def _text_41(file):
    entities = _entities(file)
    lines = ["$Entities", " ".join(str(len(e)) for e in entities)]
    for dimension, found in enumerate(entities):
        for entity, tags in found:
            box = "0 0 0" if dimension == 0 else "0 0 0 0 0 0"
            bounds = [] if dimension == 0 else ["0"]
            lines.append(" ".join([str(entity), box, str(len(tags)), *map(str, tags), *bounds]))
    n = len(file.points)
    lines += ["$EndEntities", "$Nodes", f"1 {n} {min(file.numbers, default=1)} {max(file.numbers, default=1)}"]
    lines += [f"2 1 0 {n}", *map(str, file.numbers), *(f"{x:.16g} {y:.16g} {z:.16g}" for x, y, z in file.points)]
    n_cells = sum(len(block.cells) for block in file.blocks)
    lines += ["$EndNodes", "$Elements", f"{len(file.blocks)} {n_cells} 1 {n_cells}"]
    number = 0
    for block in file.blocks:
        lines.append(f"{block.dimension} {block.entity} {CODES[block.kind]} {len(block.cells)}")
        for cell in block.cells:
            number += 1
            lines.append(" ".join(map(str, [number, *cell])))
    return "\n".join([*lines, "$EndElements\n"]).encode()


def _binary_41(file):
    def size(*values):
        return np.array(values, dtype=np.int64).tobytes()

    def integer(*values):
        return np.array(values, dtype=np.int32).tobytes()

    entities = _entities(file)
    out = [b"$Entities\n", size(*map(len, entities))]
    for dimension, found in enumerate(entities):
        for entity, tags in found:
            out += [integer(entity), np.zeros(3 if dimension == 0 else 6).tobytes(), size(len(tags)), integer(*tags)]
            out += [] if dimension == 0 else [size(0)]
    n = len(file.points)
    out += [b"\n$EndEntities\n$Nodes\n", size(1, n, min(file.numbers, default=1), max(file.numbers, default=1))]
    out += [integer(2, 1, 0), size(n), size(*file.numbers), file.points.tobytes(), b"\n$EndNodes\n$Elements\n"]
    n_cells = sum(len(block.cells) for block in file.blocks)
    out += [size(len(file.blocks), n_cells, 1, n_cells)]
    number = 0
    for block in file.blocks:
        out += [integer(block.dimension, block.entity, CODES[block.kind]), size(len(block.cells))]
        for cell in block.cells:
            number += 1
            out.append(size(number, *cell))
    return b"".join([*out, b"\n$EndElements\n"])


def tee():
    """A sheet of 40 × 20 mm at y = 0 with a post of 10 mm on its middle line: in eight blocks, facing either way.

    Cell sets: sheet (4 quads, 8 triangles), pad (over its triangles and its last quads), post (2 quads); edge sets
    foot (the 4 edges at z = 0) and end (the first of them); point set corner.
    """
    sheet = [[10.0 * i, 0.0, 10.0 * k] for i in range(5) for k in range(3)]
    post = [[20.0, 10.0, 10.0 * k] for k in range(3)]

    def at(i, k):
        return 3 * i + k + 1

    def quads(i):
        return [[at(i, k), at(i + 1, k), at(i + 1, k + 1), at(i, k + 1)] for k in range(2)]

    def triangles(i):
        return [t for a, b, c, d in quads(i) for t in ([a, b, c], [c, a, d])]  # the second clashes

    names = [(2, 1, "sheet"), (2, 2, "post"), (2, 3, "pad"), (1, 1, "foot"), (1, 2, "end"), (0, 1, "corner")]
    blocks = [
        Block("vertex", [[at(4, 2)]], (1,), 1),
        Block("line", [[at(0, 0), at(1, 0)]], (1, 2), 1),
        Block("line", [[at(i, 0), at(i + 1, 0)] for i in (1, 2, 3)], (1,), 2),
        Block("quad", quads(0), (1,), 1),
        Block("triangle", triangles(1), (1,), 2),
        Block("triangle", triangles(2), (1, 3), 3),
        Block("quad", [quad[::-1] for quad in quads(3)], (1, 3), 4),
        Block("quad", [[at(2, k), at(2, k + 1), 17 + k, 16 + k] for k in range(2)], (2,), 5),
    ]
    return File(np.array(sheet + post), blocks, names)
