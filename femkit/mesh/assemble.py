"""From a file's blocks to one table of cells: split if asked, joined, tidied, with every set still whole."""

from dataclasses import dataclass, field

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from ..errors import MeshReadError
from .border import counted
from .mesh import Mesh, fault_of_points

__all__ = ["assemble"]

# which of a cell's points make the linear cells it becomes
SHELLS = {
    "triangle": [[0, 1, 2]],
    "quad": [[0, 1, 2, 3]],
    "triangle6": [[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]],
    "quad9": [[0, 4, 8, 7], [4, 1, 5, 8], [8, 5, 2, 6], [7, 8, 6, 3]],
}
# where a cell's points stand in a row of the table: four corners, four middles of sides, the centre
COLUMNS = {"triangle": [0, 1, 2], "quad": [0, 1, 2, 3], "triangle6": [0, 1, 2, 4, 5, 6]}
COLUMNS |= {"quad8": list(range(8)), "quad9": list(range(9))}
LINES = {"line": [[0, 1]], "line3": [[0, 2], [2, 1]]}
VOLUMES = ("tetra", "hexahedron", "wedge", "pyramid", "polyhedron")
COINCIDENT = 1e-6  # of the mesh's extent


@dataclass(eq=False)
class _Draft:
    """Cells in one table (n, 4 or 9), in the file's order, by `COLUMNS`, -1 for no point; sets hold rows of it."""

    points: np.ndarray
    table: np.ndarray
    cell_sets: dict
    edge_sets: dict
    point_sets: dict
    notes: list = field(default_factory=list)


def assemble(raw, merge_within=None, quadratic=False):
    """A `Mesh` of a file's blocks.

    Parameters
    ----------
    raw : RawMesh
        With points in mm.
    merge_within : float, optional
        Join points that lie no further apart than this, mm.
    quadratic : bool
        Keep quadratic cells.

    Returns
    -------
    Mesh

    Raises
    ------
    MeshReadError
        If there are no shell cells, or cells of kinds that are not read.
    """
    draft = _table(raw, quadratic)
    if fault := fault_of_points(draft.points):
        raise MeshReadError(fault)
    _tidy_corners(draft)
    n_dropped = _drop_points(draft)
    if n_dropped:
        draft.notes.append(f"Dropped {counted(n_dropped, 'point')} that no shell cell or named line uses.")
    _join_points(draft, merge_within)
    _count_doubled(draft)
    return _finish(draft)


def _table(raw, quadratic):
    """Draft with the cells of every block, and the sets as rows, point pairs and points."""
    points, blocks, notes = _with_centres(raw, quadratic)
    _refuse(blocks)
    patterns = {kind: np.arange(len(of))[None] for kind, of in COLUMNS.items()} if quadratic else SHELLS
    width = 9 if quadratic and any(kind in COLUMNS and kind[-1].isdigit() for kind, _ in blocks) else 4
    table, starts, n_rows, split = [], {}, 0, {}
    for i, (kind, connectivity) in enumerate(blocks):
        if kind in COLUMNS:
            pattern = np.array(patterns[kind])
            rows = np.full((len(connectivity) * len(pattern), width), -1, dtype=np.int64)
            columns = COLUMNS[kind] if quadratic else range(pattern.shape[1])
            rows[:, columns] = connectivity[:, pattern].reshape(-1, pattern.shape[1])
            table.append(rows)
            starts[i], n_rows = n_rows, n_rows + len(rows)
        if not quadratic and kind in (*SHELLS, *LINES) and kind not in ("triangle", "quad", "line"):
            split[kind] = split.get(kind, 0) + len(connectivity)
    notes += [
        f"Split {counted(n, f'{kind} cell')} into {len((SHELLS | LINES)[kind])} linear cells each."
        for kind, n in split.items()
    ]
    cell_sets, edge_sets, point_sets = {}, {}, {name: [where] for name, where in raw.point_sets.items()}
    for name, by_block in raw.groups.items():
        for i, ((kind, connectivity), chosen) in enumerate(zip(blocks, by_block)):
            if len(chosen) == 0:
                continue
            if kind in COLUMNS:
                m = len(patterns[kind])
                cell_sets.setdefault(name, []).append(starts[i] + (chosen[:, None] * m + np.arange(m)).ravel())
            elif kind in LINES:
                edge_sets.setdefault(name, []).append(connectivity[chosen][:, np.array(LINES[kind])].reshape(-1, 2))
            else:
                point_sets.setdefault(name, []).append(connectivity[chosen].ravel())
    joined = [{k: np.concatenate(v) for k, v in sets.items()} for sets in (cell_sets, edge_sets, point_sets)]
    return _Draft(points, np.concatenate(table), *joined, notes=[*raw.notes, *notes])


def _with_centres(raw, quadratic):
    """Points in three columns, and blocks in which eight-point quadrilaterals that are to be split have a ninth."""
    points = np.asarray(raw.points, dtype=float)
    points = np.pad(points, ((0, 0), (0, 3 - points.shape[1])))
    blocks, notes = [], []
    for kind, connectivity in raw.blocks:
        if len(connectivity) and kind in (*COLUMNS, *LINES, "polygon", "vertex"):
            connectivity = connectivity.astype(np.int64)
            if connectivity.min() < 0 or connectivity.max() >= len(raw.points):
                raise MeshReadError(
                    f"{kind} cells refer to points that it does not hold. Save it again with all its points"
                )
        if kind == "polygon":
            kind = {3: "triangle", 4: "quad"}.get(connectivity.shape[1], kind)
        if kind == "quad8" and not quadratic:
            # the eight shape functions at the centre: -1/4 at corners, 1/2 at mid-sides
            centres = 0.5 * points[connectivity[:, 4:]].sum(axis=1) - 0.25 * points[connectivity[:, :4]].sum(axis=1)
            connectivity = np.column_stack([connectivity, len(points) + np.arange(len(centres))])
            points = np.concatenate([points, centres])
            notes.append(f"Put a point at the centre of {counted(len(centres), 'quad8 cell')}.")
            kind = "quad9"
        blocks.append((kind, connectivity))
    return points, blocks, notes


def _refuse(blocks):
    counts = {}
    for kind, connectivity in blocks:
        if kind not in (*COLUMNS, *LINES, "vertex"):
            counts[kind] = counts.get(kind, 0) + len(connectivity)
    if counts:
        found = ", ".join(f"{n:,} {kind}" for kind, n in counts.items())
        what = "volume cells" if all(kind.startswith(VOLUMES) for kind in counts) else "cells that are not read"
        raise MeshReadError(
            f"it holds {what} ({found}). The kit calculates sheets: "
            "mesh their middle surfaces with triangles and quadrilaterals, and save only those"
        )
    if not any(kind in COLUMNS and len(connectivity) for kind, connectivity in blocks):
        found = ", ".join(sorted({kind for kind, _ in blocks})) or "none at all"
        raise MeshReadError(
            f"it holds no shell cells (kinds of cell in it: {found}); there must be triangles or quadrilaterals. "
            "Mesh the surfaces, and save them too"
        )


def _tidy_corners(draft):
    """Make quadrilaterals with two equal neighbouring corners triangles; drop cells with fewer than three corners."""
    table, corners, is_quad = draft.table, draft.table[:, :4], draft.table[:, 3] >= 0
    n_different = 1 + (np.diff(np.sort(np.where(is_quad[:, None], corners, corners[:, [0, 1, 2, 2]]))) > 0).sum(axis=1)
    is_pinched = is_quad & (n_different == 3)
    is_open = is_pinched.copy()
    for k in range(4):
        rows = np.flatnonzero(is_open & (corners[:, k] == corners[:, (k + 1) % 4]))
        for start in range(0, table.shape[1] - 1, 4):  # corner and side go alike; without the centre
            part = np.delete(table[rows, start : start + 4], k, axis=1)
            table[rows, start : start + 4] = np.pad(part, ((0, 0), (0, 1)), constant_values=-1)
        table[rows, 8:] = -1
        is_open[rows] = False
    is_lost = (n_different < 3) | is_open  # open still: opposite corners are equal
    if is_lost.all():
        raise MeshReadError("none of its cells has three different corners; points may be joined over too wide a gap")
    n_pinched = int((is_pinched & ~is_lost).sum())
    if n_pinched:
        draft.notes.append(f"Made triangles of {counted(n_pinched, 'quadrilateral')} with two corners in one point.")
    if is_lost.any():
        draft.notes.append(f"Dropped {counted(is_lost.sum(), 'cell')} with fewer than three different corners.")
        place = np.cumsum(~is_lost) - 1
        draft.table = table[~is_lost]
        draft.cell_sets = {name: place[rows[~is_lost[rows]]] for name, rows in draft.cell_sets.items()}


def _drop_points(draft, target=None):
    """Renumber points, those only that shell cells or named lines use; `target`, if given, says which becomes which."""
    n_points = len(draft.points)
    target = np.arange(n_points) if target is None else target
    is_used = np.zeros(n_points + 1, dtype=bool)  # the last one catches the -1 of triangles
    for used in (draft.table, *draft.edge_sets.values()):
        is_used[np.append(target, n_points)[used]] = True
    is_used = is_used[:-1]
    place = np.append(np.where(is_used, np.cumsum(is_used) - 1, -1)[target], -1)
    draft.points = draft.points[is_used]
    draft.table = place[draft.table]
    draft.edge_sets = {name: place[pairs] for name, pairs in draft.edge_sets.items()}
    for name, chosen in draft.point_sets.items():
        n_lost = int((place[chosen] < 0).sum())
        if n_lost:
            draft.notes.append(f'Point set "{name}" lost {counted(n_lost, "point")} that no shell cell has.')
        draft.point_sets[name] = place[chosen][place[chosen] >= 0]
    return n_points - len(draft.points)


def _join_points(draft, within):
    """Join coincident points if asked; otherwise say how many there are."""
    extent = float(np.ptp(draft.points, axis=0).max())
    reach = COINCIDENT * extent if within is None else within
    tree = cKDTree(draft.points, balanced_tree=False, compact_nodes=False)
    pairs = tree.query_pairs(reach, output_type="ndarray")
    if len(pairs) == 0:
        if within is not None:
            draft.notes.append(f"No points lie within {within:g} mm of each other; none were joined.")
        return
    n_points = len(draft.points)
    graph = coo_matrix((np.ones(len(pairs), dtype=np.int8), pairs.T), shape=(n_points, n_points))
    group = connected_components(graph, directed=False)[1]
    _, first = np.unique(group, return_index=True)
    n_joined = n_points - len(first)
    if within is None:
        draft.notes.append(
            f"Not joined, but in one place with others: {counted(n_joined, 'point')}; "
            f"merge_within={reach:.1g} joins them."
        )
        return
    _drop_points(draft, first[group])
    draft.notes.append(f"Joined {counted(n_joined, 'point')} with others within {within:g} mm.")
    _tidy_corners(draft)


def _count_doubled(draft):
    rows = np.sort(draft.table, axis=1)
    rows = rows[np.lexsort(rows.T)]
    n_doubled = int((rows[1:] == rows[:-1]).all(axis=1).sum())
    if n_doubled:
        draft.notes.append(f"On the very points of another cell: {counted(n_doubled, 'cell')}; both carry load.")


def _finish(draft):
    # in the order of `COLUMNS`: triangles first, linear cells first, those without a centre first
    kind = sum(step * (draft.table[:, at] >= 0) for at, step in ((3, 1), (4, 2), (8, 1)) if at < draft.table.shape[1])
    order = np.argsort(kind, kind="stable")
    place = np.argsort(order)
    sets = [
        {name: items for name, items in group.items() if len(items)}
        for group in (
            {name: place[rows] for name, rows in draft.cell_sets.items()},
            {name: _without_repeats(pairs) for name, pairs in draft.edge_sets.items()},
            draft.point_sets,
        )
    ]
    cells = {
        name: draft.table[kind == i][:, columns]
        for i, (name, columns) in enumerate(COLUMNS.items())
        if max(columns) < draft.table.shape[1]
    }
    cell_sets, edge_sets, point_sets = sets
    is_named = np.zeros(len(order), dtype=bool)
    for named in cell_sets.values():
        is_named[named] = True
    if not is_named.all():
        draft.notes.append(f"In no named set: {counted((~is_named).sum(), 'cell')}.")
    return Mesh(draft.points, cells, cell_sets=cell_sets, edge_sets=edge_sets, point_sets=point_sets, notes=draft.notes)


def _without_repeats(pairs):
    """Line cells that come twice, or have no length, once or not at all; otherwise as they came."""
    pairs = pairs[pairs[:, 0] != pairs[:, 1]]
    _, first = np.unique(np.sort(pairs, axis=1), axis=0, return_index=True)
    return pairs[np.sort(first)]
