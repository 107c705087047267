"""Which points, cells and edges are meant: by a set's name, by place, or by index."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from ..errors import ModelError, UnknownSetError, nearest_name
from .border import counted
from .topology import halves

__all__ = [
    "Inside",
    "Near",
    "OnPlane",
    "describe",
    "edges_between",
    "inside",
    "near",
    "on_plane",
    "select_cells",
    "select_edges",
    "select_points",
]


@dataclass(frozen=True)
class Near:
    """The one point (or cell centre) nearest to a place. `within` limits how far it may lie, mm."""

    place: tuple
    within: float = np.inf

    def choose(self, coordinates):
        """Index of the nearest of `coordinates` (n, 3)."""
        if len(coordinates) == 0:
            return np.empty(0, dtype=np.int64)
        distance = np.linalg.norm(coordinates - np.array(self.place), axis=1)
        nearest = int(distance.argmin())
        return np.array([nearest] if distance[nearest] <= self.within else [], dtype=np.int64)

    def __str__(self):
        return f"near {self.place}"


@dataclass(frozen=True)
class Inside:
    """Everything inside a box, borders included."""

    low: tuple
    high: tuple

    def choose(self, coordinates):
        """Indices of those of `coordinates` (n, 3) inside."""
        return np.flatnonzero(((coordinates >= self.low) & (coordinates <= self.high)).all(axis=1))

    def __str__(self):
        limits = zip("xyz", self.low, self.high)
        return "inside " + ", ".join(f"{c} = {a:g} … {b:g}" for c, a, b in limits if np.isfinite([a, b]).any())


@dataclass(frozen=True)
class OnPlane:
    """Everything within `within` (mm) of a plane square to a global axis."""

    axis: int
    position: float
    within: float

    def choose(self, coordinates):
        """Indices of those of `coordinates` (n, 3) on the plane."""
        return np.flatnonzero(np.abs(coordinates[:, self.axis] - self.position) <= self.within)

    def __str__(self):
        return f"on plane {'xyz'[self.axis]} = {self.position:g}"


def near(x, y, z=0.0, *, within=np.inf):
    """The point (or the cell, by its centre) nearest to a place.

    Parameters
    ----------
    x, y, z : float
        mm.
    within : float
        Select nothing, which is then an error, if the nearest lies further off than this, mm.
    """
    return Near((float(x), float(y), float(z)), float(within))


def inside(x=(-np.inf, np.inf), y=(-np.inf, np.inf), z=(-np.inf, np.inf)):
    """All points (or cells, by their centres) inside a box; an axis left out is not limited.

    Parameters
    ----------
    x, y, z : pair of float
        Lower and upper limit, mm, borders included.

    Examples
    --------
    >>> inside(x=(0, 100)).choose(np.array([[50.0, 0, 0], [150.0, 0, 0]]))
    array([0])
    """
    low, high = zip(*((float(min(limits)), float(max(limits))) for limits in (x, y, z)))
    return Inside(low, high)


def on_plane(*, x=None, y=None, z=None, within=1e-3):
    """All points (or cells, by their centres) on a plane square to a global axis, for instance ``on_plane(x=0)``.

    Parameters
    ----------
    x, y, z : float
        Exactly one of them, mm.
    within : float
        How far off the plane still counts, mm.
    """
    given = [(axis, float(value)) for axis, value in enumerate((x, y, z)) if value is not None]
    if len(given) != 1:
        raise ModelError(f"on_plane takes exactly one of x, y, z; {len(given)} were given.")
    return OnPlane(*given[0], float(within))


def select_points(mesh, where, user="selection"):
    """Point indices of a selection.

    Parameters
    ----------
    mesh : Mesh
    where : str, place, or array_like of int
        A point set's name; an edge set's or cell set's name (their points); `near`, `inside`, `on_plane`; indices.
    user : str
        Who asks, as the error is to name it: ``'support "bolster-rear"'``.

    Returns
    -------
    points : ndarray of int64, sorted, without repeats

    Raises
    ------
    UnknownSetError
        If there is no set of that name; it offers the nearest one.
    ModelError
        If nothing is selected, or an index lies outside the mesh.
    """
    if isinstance(where, str):
        if where in mesh.point_sets:
            found = mesh.point_sets[where]
        elif where in mesh.edge_sets:
            found = np.unique(halves(mesh, mesh.edge_sets[where]))
        elif where in mesh.cell_sets:
            found = np.unique(mesh.points_of_cell[mesh.cell_sets[where]])
            found = found[found >= 0]
        else:
            raise _unknown(where, user, {*mesh.point_sets, *mesh.edge_sets, *mesh.cell_sets})
        return _not_empty(found, where, user)
    return _by_place_or_index(mesh.points, where, user, "points")


def select_cells(mesh, where, user="selection"):
    """Cell indices of a selection; as `select_points`, but names are cell sets, and places go by cell centre."""
    if isinstance(where, str):
        if where not in mesh.cell_sets:
            raise _unknown(where, user, mesh.cell_sets, "cell set")
        return _not_empty(mesh.cell_sets[where], where, user)
    return _by_place_or_index(mesh.centres, where, user, "cells")


def select_edges(mesh, where, user="selection"):
    """Point pairs (n, 2) of an edge set's name, of a place (cell edges both of whose points lie there), or as given.

    A quadratic side is two pairs, from either end to its middle point.
    """
    if isinstance(where, str):
        if where not in mesh.edge_sets:
            raise _unknown(where, user, mesh.edge_sets, "edge set")
        return halves(mesh, _not_empty(mesh.edge_sets[where], where, user))
    if _is_place(where):
        is_there = np.zeros(mesh.n_points, dtype=bool)
        is_there[where.choose(mesh.points)] = True
        edges = mesh.edges.points
        return halves(mesh, _not_empty(edges[is_there[edges].all(axis=1)], where, user))
    edges = np.asarray(where)
    if edges.ndim != 2 or edges.shape[1] != 2 or edges.dtype.kind not in "iu":
        raise ModelError(f"{user}: edges must be an edge set's name or an integer array of shape (n_edges, 2).")
    _by_place_or_index(mesh.points, edges.ravel(), user, "points")
    return halves(mesh, edges.astype(np.int64))


def edges_between(mesh, first, second=None, user="border"):
    """Edges at which two sets of cells meet.

    Parameters
    ----------
    mesh : Mesh
    first, second : str, place or array of int
        Of cells; a cell in both counts as one of the first. Without a second it is all other cells.
    user : str
        Who asks, as the error is to name it.

    Returns
    -------
    edges : ndarray of int64, shape (m, 2)
        Pairs of points, the smaller first; a quadratic side is two, from either end to its middle.

    Raises
    ------
    UnknownSetError
        If there is no set of that name.
    ModelError
        If they share no edge; it says how far apart they are.

    Examples
    --------
    >>> from femkit import Mesh
    >>> edges_between(Mesh([[0, 0], [1, 0], [1, 1], [0, 1]], {"triangle": [[0, 1, 2], [0, 2, 3]]}), [0], [1])
    array([[0, 2]])
    """
    is_first, is_second = np.zeros((2, mesh.n_cells), dtype=bool)
    is_first[select_cells(mesh, first, user)] = True
    is_second[slice(None) if second is None else select_cells(mesh, second, user)] = True
    is_second &= ~is_first
    edges = mesh.edges
    has_first, has_second = (
        np.bincount(edges.edge, chosen[edges.cell], len(edges.points)) > 0 for chosen in (is_first, is_second)
    )
    if not (has_first & has_second).any():
        of_first = f'"{describe(first)}"'
        of_second = "all other cells" if second is None else f'"{describe(second)}"'
        raise ModelError(f"{user}: {of_first} and {of_second} share no edge; {_apart(mesh, is_first, is_second)}.")
    return halves(mesh, edges.points[has_first & has_second])


def _apart(mesh, is_first, is_second):
    """How two sets of cells that share no edge lie to each other, in words."""
    if not is_second.any():
        return "the second has no cell of its own"
    here, there = (np.setdiff1d(mesh.points_of_cell[chosen], -1) for chosen in (is_first, is_second))
    distance, _nearest = cKDTree(mesh.points[there]).query(mesh.points[here])
    closest = int(distance.argmin())
    place = "(" + ", ".join(f"{x:.0f}" for x in mesh.points[here[closest]]) + ")"
    shared = np.isin(here, there).sum()
    if shared:
        return f"they have {counted(shared, 'point')} in common, the first at {place}"
    return f"the nearest two points are {distance[closest]:.4g} mm apart, at {place}"


def describe(where):
    """A selection in words, for error messages and tables."""
    if isinstance(where, str):
        return where
    return str(where) if _is_place(where) else f"{np.size(where)} indices"


def _is_place(where):
    return isinstance(where, (Near, Inside, OnPlane))


def _by_place_or_index(coordinates, where, user, things):
    if _is_place(where):
        return _not_empty(where.choose(coordinates), where, user)
    indices = np.atleast_1d(np.asarray(where))
    if indices.dtype == bool and indices.shape == (len(coordinates),):
        indices = np.flatnonzero(indices)
    if indices.size and (indices.dtype.kind not in "iu" or indices.ndim != 1):
        got = repr(where) if np.ndim(where) == 0 else f"an array of {indices.dtype} and shape {indices.shape}"
        raise ModelError(
            f"{user}: a selection must be a set's name, a place, a row of indices or a mask over all {things}; "
            f"got {got}."
        )
    if indices.size and (indices.min() < 0 or indices.max() >= len(coordinates)):
        outside = indices.max() if indices.max() >= len(coordinates) else indices.min()
        raise ModelError(f"{user}: index {outside} lies outside the mesh, which has {len(coordinates)} {things}.")
    return _not_empty(np.unique(indices.astype(np.int64)), where, user)


def _not_empty(found, where, user):
    if len(found) == 0:
        raise ModelError(f"{user}: the selection ({describe(where)}) holds nothing; it must hold at least one item.")
    return found


def _unknown(name, user, names, kind="set"):
    nearest, advice = nearest_name(name, names)
    return UnknownSetError(f'{user}: the mesh has no {kind} of the name "{name}". {advice}', name, nearest)
