"""Points, cells and named sets: the one mesh that everything else stands on."""

from dataclasses import KW_ONLY, dataclass, field
from functools import cached_property
from hashlib import sha256
from html import escape

import numpy as np

from ..errors import MeshError
from .border import counted, shorten
from .change import with_cells, without
from .geometry import cell_normals, shape_integrals
from .topology import cell_edges

__all__ = ["CELL_KINDS", "Mesh"]

CELL_KINDS = {"triangle": 3, "quad": 4, "triangle6": 6, "quad8": 8, "quad9": 9}  # points, in the order of cell indices
FARTHEST = 1e9  # mm; a coordinate beyond 1000 km is a damaged number, and its square would swamp all others


@dataclass(frozen=True, eq=False)
class Mesh:
    """A surface mesh in mm with named sets of cells, edges and points.

    Parameters
    ----------
    points : array_like, shape (n_points, 3) or (n_points, 2)
        Global coordinates, mm; two columns are taken as z = 0.
    cells : dict of str to array_like, shape (n, 3) for ``"triangle"``, (n, 4) for ``"quad"``
        Point indices, counter-clockwise seen from the top. A cell's index counts all triangles first, then all
        quadrilaterals. Plane stress may have quadratic cells too: ``"triangle6"``, ``"quad8"`` and ``"quad9"``, corners
        first, then the middles of sides, then the centre.
    cell_sets, point_sets : dict of str to array_like of int
        Cell and point indices, or a mask over all of them; a cell or point may be in several sets.
    edge_sets : dict of str to array_like, shape (n_edges, 2)
        Pairs of point indices along sheet edges or lines; of a quadratic side both halves, or its ends for the whole.
    notes : sequence of str
        What reading found and mended, in words.

    Raises
    ------
    MeshError
        If an array has another shape or kind, coordinates are not finite, indices point outside, or a cell has no
        area; all faults of a kind in one message.

    Examples
    --------
    >>> Mesh([[0, 0], [2, 0], [2, 1], [0, 1]], {"quad": [[0, 1, 2, 3]]}, cell_sets={"sheet": [0]})
    Mesh: 4 points, 1 quad; 2 × 1 × 0 mm; cell sets: sheet
    """

    points: np.ndarray
    cells: dict
    _: KW_ONLY
    cell_sets: dict = field(default_factory=dict)
    edge_sets: dict = field(default_factory=dict)
    point_sets: dict = field(default_factory=dict)
    notes: tuple = ()

    def __post_init__(self):
        faults = []
        points = _coordinates(self.points)
        unknown = set(self.cells) - set(CELL_KINDS)
        if unknown:
            faults.append(
                f"cells of kind {', '.join(sorted(map(str, unknown)))} are not known; there are {', '.join(CELL_KINDS)}"
            )
        cells = {
            kind: _integers(self.cells[kind], f"cells ({kind})", faults, n_columns)
            for kind, n_columns in CELL_KINDS.items()
            if len(self.cells.get(kind, ()))
        }
        n_cells = sum(map(len, cells.values()))
        fields = {
            "points": points,
            "cells": cells,
            "cell_sets": {k: _indices(v, f'cell set "{k}"', faults, n_cells) for k, v in self.cell_sets.items()},
            "edge_sets": {k: _integers(v, f'edge set "{k}"', faults, 2) for k, v in self.edge_sets.items()},
            "point_sets": {k: _indices(v, f'point set "{k}"', faults, len(points)) for k, v in self.point_sets.items()},
            "notes": tuple(self.notes),
        }
        _raise(faults)
        for name, value in fields.items():
            object.__setattr__(self, name, value)
        _check(self)
        for group in (self.cells, self.cell_sets, self.edge_sets, self.point_sets):
            for array in group.values():
                array.setflags(write=False)
        points.setflags(write=False)

    @property
    def n_points(self):
        """How many points."""
        return len(self.points)

    @property
    def n_cells(self):
        """How many cells of all kinds."""
        return sum(map(len, self.cells.values()))

    def blocks(self):
        """Walk over the kinds of cell: kind, point indices (n, k), and the slice of cell indices they have."""
        start = 0
        for kind, connectivity in self.cells.items():
            yield kind, connectivity, slice(start, start + len(connectivity))
            start += len(connectivity)

    def corner_blocks(self):
        """The same with the points at the corners only, (n, 3) or (n, 4)."""
        for kind, connectivity, where in self.blocks():
            yield kind, connectivity[:, : 3 if kind.startswith("triangle") else 4], where

    @property
    def is_quadratic(self):
        """Whether any cell has points between its corners."""
        return bool(self.cells.keys() - {"triangle", "quad"})

    @cached_property
    def corners(self):
        """Point indices of every cell, shape (n_cells, 4); the fourth is -1 for a triangle."""
        return self._padded(self.corner_blocks(), 4)

    @cached_property
    def points_of_cell(self):
        """All points of every cell, shape (n_cells, 4 or 9): corners, and -1 behind the last; see `corners`."""
        return self._padded(self.blocks(), 9) if self.is_quadratic else self.corners

    @cached_property
    def edges(self):
        """The edges of all cells and whose they are, see `femkit.mesh.cell_edges`."""
        return cell_edges(self)

    @cached_property
    def vector_areas(self):
        """Area times unit normal of every cell, shape (n_cells, 3), mm2."""
        return self._by_kind(cell_normals, (3,))

    @cached_property
    def areas(self):
        """Area of every cell, shape (n_cells,), mm2."""
        return self._by_kind(lambda points: shape_integrals(points)[0].sum(axis=1), (), self.blocks())

    @cached_property
    def normals(self):
        """Unit normal of every cell, on its top side, shape (n_cells, 3)."""
        normals = self.vector_areas / np.linalg.norm(self.vector_areas, axis=1, keepdims=True)
        normals.setflags(write=False)
        return normals

    @cached_property
    def centres(self):
        """Mean of the corners of every cell, shape (n_cells, 3), mm."""
        return self._by_kind(lambda corners: corners.mean(axis=1), (3,))

    @cached_property
    def sizes(self):
        """Square root of the area of every cell, shape (n_cells,), mm."""
        sizes = np.sqrt(self.areas)
        sizes.setflags(write=False)
        return sizes

    @property
    def extent(self):
        """Length of the bounding box along x, y and z, mm."""
        return np.ptp(self.points, axis=0) if self.n_points else np.zeros(3)

    @cached_property
    def fingerprint(self):
        """Hash of points, cells and sets: the same mesh, the same 16 letters."""
        digest = sha256(np.ascontiguousarray(self.points).tobytes())
        for group in ("cells", "cell_sets", "edge_sets", "point_sets"):
            for name, array in sorted(getattr(self, group).items()):
                digest.update(f"\0{group}\0{name}\0{len(array)}\0".encode() + np.ascontiguousarray(array).tobytes())
        return digest.hexdigest()[:16]

    with_cells, without = with_cells, without  # see change.py

    @property
    def report(self):
        """What the mesh holds, and what reading found and mended, in words."""
        lines = [f"Mesh of {counted(self.n_points, 'point')} and {self._counts()}"]
        lines += [f"  {axis} from {low:.6g} to {high:.6g} mm" for axis, low, high in self._box()]
        for title, group in self._titled_sets():
            lines += [f"  {title} {name}: {len(group[name]):,}" for name in sorted(group)]
        return "\n".join(lines + [f"  note: {note}" for note in self.notes])

    def __repr__(self):
        sets = shorten(sorted(self.cell_sets), 12) or "none"
        box = " × ".join(f"{length:.6g}" for length in self.extent)
        return f"Mesh: {counted(self.n_points, 'point')}, {self._counts()}; {box} mm; cell sets: {sets}"

    def _repr_html_(self):
        rows = [("points", f"{self.n_points:,}")]
        rows += [(f"{kind}s", f"{len(c):,}") for kind, c in self.cells.items()]
        rows += [(f"{axis}, mm", f"{low:.6g} … {high:.6g}") for axis, low, high in self._box()]
        for title, group in self._titled_sets():
            names = shorten((f"{name} ({len(group[name]):,})" for name in sorted(group)), 40)
            rows.append((f"{title}s", names or "none"))
        rows += [("note", note) for note in self.notes]
        body = "".join(
            f"<tr><th style='text-align:left'>{escape(a)}</th><td style='text-align:left'>{escape(b)}</td></tr>"
            for a, b in rows
        )
        return f"<table>{body}</table>"

    def _padded(self, blocks, width):
        padded = np.full((self.n_cells, width), -1, dtype=np.int64)
        for _kind, connectivity, where in blocks:
            padded[where, : connectivity.shape[1]] = connectivity
        padded.setflags(write=False)
        return padded

    def _by_kind(self, function, shape, blocks=None):
        values = np.empty((self.n_cells, *shape))
        for _kind, connectivity, where in blocks or self.corner_blocks():
            values[where] = function(self.points[connectivity])
        values.setflags(write=False)
        return values

    def _counts(self):
        return ", ".join(counted(len(cells), kind) for kind, cells in self.cells.items()) or "no cells"

    def _box(self):
        return zip("xyz", self.points.min(axis=0), self.points.max(axis=0)) if self.n_points else ()

    def _titled_sets(self):
        return ("cell set", self.cell_sets), ("edge set", self.edge_sets), ("point set", self.point_sets)


def _coordinates(points):
    try:
        points = np.array(points, dtype=float)
    except (TypeError, ValueError) as error:
        raise MeshError("points are not numbers; they must be an array of shape (n_points, 3), in mm.") from error
    if points.ndim != 2 or points.shape[1] not in (2, 3):
        raise MeshError(f"points have shape {points.shape}; it must be (n_points, 3), or (n_points, 2) for z = 0.")
    return np.pad(points, ((0, 0), (0, 3 - points.shape[1])))


def _integers(values, what, faults, n_columns):
    """A table of indices as int64, a copy; a fault if it is of another shape or kind."""
    try:
        indices = np.array(values)
    except ValueError:  # rows of different length
        faults.append(f"{what} has rows of different length; it must have shape (n, {n_columns})")
        indices = np.array([])
    if indices.size == 0:
        return np.empty((0, n_columns), dtype=np.int64)
    if indices.dtype.kind not in "iu" or indices.ndim != 2 or indices.shape[1] != n_columns:
        faults.append(
            f"{what} is an array of {indices.dtype} and shape {indices.shape}; "
            f"it must hold whole numbers and have shape (n, {n_columns})"
        )
        return np.empty((0, n_columns), dtype=np.int64)
    return indices.astype(np.int64)


def _indices(values, what, faults, n_items):
    """Sorted unique indices as int64, a copy: files bring them as uint64, which with int64 makes floats."""
    indices = np.array(values)
    if indices.dtype == bool and indices.shape == (n_items,):
        return np.flatnonzero(indices)
    if indices.size == 0:
        return np.empty(0, dtype=np.int64)
    if indices.dtype.kind not in "iu" or indices.ndim != 1:
        faults.append(
            f"{what} is an array of {indices.dtype} and shape {indices.shape}; "
            f"it must be one row of whole numbers, or a mask of length {n_items}"
        )
        return np.empty(0, dtype=np.int64)
    indices = indices.astype(np.int64)
    return indices if (indices[1:] > indices[:-1]).all() else np.unique(indices)


def _raise(faults):
    if faults:
        raise MeshError("The mesh can't be used: " + "; ".join(faults) + ".")


def fault_of_points(points):
    """What is wrong with the coordinates, in words; empty if nothing is."""
    is_bad = ~(np.abs(points) < FARTHEST).all(axis=1)
    if not is_bad.any():
        return ""
    return (
        f"coordinates that are not finite, or beyond {FARTHEST:g} mm, at {counted(is_bad.sum(), 'point')}, "
        f"the first is point {is_bad.argmax()}"
    )


def _check(mesh):
    fault = fault_of_points(mesh.points)
    faults = [fault] if fault else []
    ranges = [(f"cells ({kind})", c, mesh.n_points) for kind, c in mesh.cells.items()]
    ranges += [(f'cell set "{name}"', c, mesh.n_cells) for name, c in mesh.cell_sets.items()]
    ranges += [(f'edge set "{name}"', c, mesh.n_points) for name, c in mesh.edge_sets.items()]
    ranges += [(f'point set "{name}"', c, mesh.n_points) for name, c in mesh.point_sets.items()]
    for what, indices, limit in ranges:
        if indices.size and (indices.min() < 0 or indices.max() >= limit):
            outside = indices.max() if indices.max() >= limit else indices.min()
            faults.append(f"{what} holds index {outside}; it must lie in 0 … {limit - 1}")
    if not faults:
        # the vector area also vanishes where a quadrilateral crosses itself in the middle
        flat = np.linalg.norm(mesh.vector_areas, axis=1) <= 1e-12 * np.max(mesh.extent, initial=0.0) ** 2
        if flat.any():
            faults.append(
                f"no area, or sides that cross, in {counted(flat.sum(), 'cell')}, the first is cell {flat.argmax()}; "
                "remove them or mend their points"
            )
    _raise(faults)
