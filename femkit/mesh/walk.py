"""Where a straight line on a sheet leads: from cell to cell, until a free edge, a fold, a junction or another plate."""

from dataclasses import dataclass

import numpy as np

from .topology import edge_keys, fold_edges

__all__ = ["Start", "Walk", "walk"]

MOST_CELLS = 1000  # on one line: more than any rule asks for on cells that anybody solves
ALONG = 0.02  # sine: a line that meets a free edge at less than about 1° runs along it. Common practice, no source
SLACK = 1e-6  # of a cell's size


@dataclass(frozen=True, eq=False)
class Start:
    """Where lines start: on which cells, at which places, which way, and through which of their edges they came in."""

    cell: np.ndarray  # (n,)
    place: np.ndarray  # (n, 3) mm
    towards: np.ndarray  # (n, 3) need be neither in the cell's plane nor of unit length
    edge: np.ndarray  # (n,) number in ``mesh.edges``, -1 for none


@dataclass(frozen=True, eq=False)
class Walk:
    """Where lines have come to at some distances from their starts."""

    cell: np.ndarray  # (n, k), -1 where the line ended before
    place: np.ndarray  # (n, k, 3) mm, NaN there
    direction: np.ndarray  # (n, k, 3) of the line there, unit length, in the cell's plane
    why: np.ndarray  # (n,) of str: what ended it before its last distance, "leaves the plate after 3.2 mm …"; or ""


def walk(mesh, start, distances, *, plate=None, barred=None):
    """Follow straight lines over flat or gently curved sheets.

    Parameters
    ----------
    mesh : Mesh
    start : Start
    distances : ndarray, shape (n, k)
        From each start along its line, mm.
    plate : ndarray of str, shape (n_cells,), optional
        Lines end where it changes.
    barred : dict of str to ndarray of int, shape (m, 2), optional
        Edges as pairs of points that lines do not cross, by what is said of them: ``{"a beam": ...}``.

    Returns
    -------
    Walk
    """
    keys, count = edge_keys(mesh, mesh.edges.points), mesh.edges.count
    ends = np.full(len(keys), "", dtype=object)  # what ends a line at each edge
    for words, pairs in {**(barred or {}), "a fold": fold_edges(mesh)}.items():
        ends[np.isin(keys, edge_keys(mesh, pairs))] = f"crosses {words}"
    ends[count > 2], ends[count == 1] = "crosses a junction", "leaves the plate"
    cell, at, entry, gone = start.cell.copy(), start.place.copy(), start.edge.copy(), np.zeros(len(start.cell))
    ahead = _in_plane(start.towards, mesh.normals[cell])
    found = Walk(
        cell=np.full(distances.shape, -1),
        place=np.full((*distances.shape, 3), np.nan),
        direction=np.full((*distances.shape, 3), np.nan),
        why=np.full(len(cell), "", dtype=object),
    )
    going = np.arange(len(cell))
    for _ in range(MOST_CELLS):
        side, length = _way_out(mesh, keys, cell[going], at[going], ahead[going], entry[going])
        reach = gone[going] + length + SLACK * mesh.sizes[cell[going]]
        row, column = np.nonzero((found.cell[going] < 0) & (distances[going] <= reach[:, None]))
        here = going[row]
        found.cell[here, column], found.direction[here, column] = cell[here], ahead[here]
        found.place[here, column] = at[here] + (distances[here, column] - gone[here])[:, None] * ahead[here]
        is_on = (found.cell[going] < 0).any(axis=1)
        going, side, length = going[is_on], side[is_on], length[is_on]
        gone[going] += length
        at[going] += length[:, None] * ahead[going]
        other = _across(mesh, side, cell[going])
        what = ends[side]
        if plate is not None:
            for i in np.flatnonzero(plate[cell[going]] != plate[other]):
                what[i] = f'runs from plate "{plate[cell[going[i]]]}" into "{plate[other[i]]}"'
        for one, words in zip(going[what != ""], what[what != ""]):
            place = ", ".join(f"{round(x, 1) + 0.0:g}" for x in at[one])
            found.why[one] = f"{words} after {gone[one]:.3g} mm at ({place})"
        going, other, side = (of[what == ""] for of in (going, other, side))
        cell[going], entry[going] = other, side
        ahead[going] = _in_plane(ahead[going], mesh.normals[cell[going]])
        if not len(going):
            break
    found.why[going] = f"has not come to its end after {MOST_CELLS} cells"
    return found


def _way_out(mesh, keys, cell, at, ahead, entry):
    """Through which edge lines leave their cells, and how far off."""
    corners = mesh.corners[cell]
    after = np.roll(corners, -1, axis=1)
    after = np.where(after < 0, corners[:, :1], after)  # a triangle's third corner goes on to its first
    begin, side = mesh.points[corners], mesh.points[after] - mesh.points[corners]
    outward = np.cross(side, mesh.normals[cell][:, None])
    outward /= np.linalg.norm(outward, axis=2, keepdims=True).clip(1e-300)
    speed = (outward * ahead[:, None]).sum(axis=2)
    gap = (outward * (begin - at[:, None])).sum(axis=2).clip(0)
    wanted = np.minimum(corners, after) * mesh.n_points + np.maximum(corners, after)
    number = np.searchsorted(keys, wanted).clip(max=len(keys) - 1)
    slowest = np.where(mesh.edges.count[number] == 1, ALONG, 1e-9)
    leaves = (corners >= 0) & (speed > slowest) & (number != entry[:, None])
    length = np.where(leaves, gap / np.where(leaves, speed, 1), np.inf)
    out, rows = length.argmin(axis=1), np.arange(len(cell))
    return number[rows, out], length[rows, out]


def _across(mesh, side, cell):
    """The cell on the other side of an edge that two cells have; the cell itself at any other edge."""
    edges = mesh.edges
    first = np.searchsorted(edges.edge, side)  # sides are sorted by edge
    last = np.minimum(first + 1, len(edges.cell) - 1)
    return np.where(edges.count[side] == 2, edges.cell[first] + edges.cell[last] - cell, cell)


def _in_plane(vectors, normals):
    flat = vectors - (vectors * normals).sum(axis=1)[:, None] * normals
    return flat / np.linalg.norm(flat, axis=1, keepdims=True)
