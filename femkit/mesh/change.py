"""A mesh that was read, changed: cells put into a set by place, a zone taken out of other sets, an opening cut."""

from dataclasses import replace

import numpy as np

from ..errors import MeshError
from .border import counted
from .selection import describe, select_cells
from .topology import edge_keys

__all__ = ["cut_edges", "with_cells", "without"]


def with_cells(mesh, name, where, *, out_of=()):
    """The same mesh with some cells in a set: a new one, or more cells of one that is there.

    Parameters
    ----------
    mesh : Mesh
    name : str
        Of the set.
    where : str, place or array_like of int
        Which cells: another set's name, a place such as ``inside(x=(0, 300))``, by their centres, or indices.
    out_of : str or sequence of str
        Cell sets that give these cells away, so that each still has one plate: of the cells at `where` only those in
        these sets are taken, and they leave them. Without it the cells stay in all the sets that they are in.

    Returns
    -------
    changed : Mesh
        A set that has given away all its cells is left out; a note says so.

    Raises
    ------
    MeshError
        If no set to take out of has any of these cells.
    ModelError
        If nothing is selected, or a set is not there.

    Examples
    --------
    >>> from femkit.mesh import Mesh, inside
    >>> sheet = Mesh([[0, 0], [2, 0], [4, 0], [0, 1], [2, 1], [4, 1]], {"quad": [[0, 1, 4, 3], [1, 2, 5, 4]]},
    ...              cell_sets={"sheet": [0, 1]})
    >>> doubled = sheet.with_cells("doubler-zone", inside(x=(0, 2)), out_of="sheet")
    >>> {name: cells.tolist() for name, cells in doubled.cell_sets.items()}
    {'sheet': [1], 'doubler-zone': [0]}
    """
    who = f'cell set "{name}"'
    cells, out_of = select_cells(mesh, where, who), [out_of] if isinstance(out_of, str) else list(out_of)
    givers = [select_cells(mesh, other, f"{who}, to take out of") for other in out_of]
    if givers:
        cells = np.intersect1d(cells, np.concatenate(givers))
        if not len(cells):
            raise MeshError(f"{who}: no cell of {', '.join(out_of)} lies at the selection ({describe(where)}).")
    kept = {other: np.setdiff1d(mesh.cell_sets[other], cells) for other in out_of if other != name}
    sets, notes = _without_empty({"cell_sets": mesh.cell_sets | kept})
    sets["cell_sets"][name] = np.union1d(mesh.cell_sets.get(name, cells), cells)
    return replace(mesh, **sets, notes=(*mesh.notes, *notes))


def without(mesh, where, *, rim=None):
    """The same mesh with cells removed: an opening cut along cell edges.

    Parameters
    ----------
    mesh : Mesh
    where : str, place or array_like of int
        Which cells: a cell set's name, a place, by their centres, or indices.
    rim : str, optional
        Name of the edge set to put the edges into that the cut makes free.

    Returns
    -------
    changed : Mesh
        All sets are kept, with what is left in them: points that belonged to removed cells alone are gone, and so are
        edges that no cell has any more, unless they are lines that no cell had. Notes name the sets left out.

    Raises
    ------
    MeshError
        If no cell would be left.
    ModelError
        If nothing is selected.

    Examples
    --------
    >>> from femkit.mesh import Mesh, near
    >>> sheet = Mesh([[0, 0], [2, 0], [4, 0], [0, 1], [2, 1], [4, 1]], {"quad": [[0, 1, 4, 3], [1, 2, 5, 4]]})
    >>> sheet.without(near(3, 0.5), rim="cut").edge_sets["cut"].tolist()
    [[1, 3]]
    """
    is_kept = np.ones(mesh.n_cells, dtype=bool)
    is_kept[select_cells(mesh, where, "cells to remove")] = False
    if not is_kept.any():
        raise MeshError(f"removing {describe(where)} would leave none of {counted(mesh.n_cells, 'cell')}; leave some.")
    lost, new_rim = cut_edges(mesh, is_kept)
    edge_sets = {name: pairs[~_among(edge_keys(mesh, pairs), lost)] for name, pairs in mesh.edge_sets.items()}
    if rim is not None:
        edge_sets[rim] = np.concatenate([edge_sets.get(rim, new_rim[:0]), new_rim])
    cells = {kind: table[is_kept[where]] for kind, table, where in mesh.blocks()}
    is_used = np.ones(mesh.n_points + 1, dtype=bool)  # the last one takes the -1 of triangles
    is_used[mesh.points_of_cell[~is_kept]] = False
    for table in (*cells.values(), *edge_sets.values()):
        is_used[table] = True
    is_used = is_used[:-1]
    point, cell = np.cumsum(is_used) - 1, np.cumsum(is_kept) - 1
    sets, notes = _without_empty(
        {
            "cell_sets": {name: cell[chosen[is_kept[chosen]]] for name, chosen in mesh.cell_sets.items()},
            "edge_sets": {name: point[pairs] for name, pairs in edge_sets.items()},
            "point_sets": {name: point[chosen[is_used[chosen]]] for name, chosen in mesh.point_sets.items()},
        }
    )
    went = f"Removed {counted((~is_kept).sum(), 'cell')} and {counted((~is_used).sum(), 'point')}."
    cells = {kind: point[table] for kind, table in cells.items()}
    return replace(mesh, points=mesh.points[is_used], cells=cells, **sets, notes=(*mesh.notes, went, *notes))


def cut_edges(mesh, is_kept):
    """Keys, sorted, of edges whole and in halves that only removed cells had; and the edges that the cut makes free."""
    edges = mesh.edges
    left = np.bincount(edges.edge, is_kept[edges.cell])
    (start, end), middle = edges.points.T, edges.middle
    has_middle = middle >= 0
    pairs = [edges.points, *(np.column_stack([tip, middle])[has_middle] for tip in (start, end))]
    is_lost = np.concatenate([left == 0, *[(left == 0)[has_middle]] * 2])
    return np.sort(edge_keys(mesh, np.concatenate(pairs))[is_lost]), edges.points[(left == 1) & (edges.count > 1)]


def _among(keys, ascending):
    """Which keys are among others: a mesh has many small sets of edges, and sorting the others for each takes long."""
    at = np.searchsorted(ascending, keys)
    return at < np.searchsorted(ascending, keys, side="right")


def _without_empty(groups):
    """The sets of each group that hold something, and a note about those that do not."""
    empty = [
        f'{group[:-1].replace("_", " ")} "{name}"'
        for group, sets in groups.items()
        for name, items in sets.items()
        if not len(items)
    ]
    notes = [f"Left out, as nothing is in them any more: {', '.join(empty)}."] if empty else []
    return {group: {n: items for n, items in sets.items() if len(items)} for group, sets in groups.items()}, notes
