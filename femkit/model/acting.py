"""What stands on a selection: how it is checked and named, how much of it each point takes; and masses as such."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..errors import ModelError
from ..mesh.geometry import half_side_integrals, shape_integrals
from ..mesh.selection import describe, select_cells, select_edges, select_points
from ..mesh.topology import half_sides
from .values import bad_number, bad_vector, refuse, shortened

__all__ = ["Acting", "AreaMass", "LineMass", "Mass", "PointMass", "integrate", "length_shares", "own_indices"]
__all__ += ["point_weights"]


def point_shares(mesh, where, user):
    """1 at every point of a selection, shape (n_points,); `user` is who asks, for errors."""
    return np.bincount(select_points(mesh, where, user), minlength=mesh.n_points)


def length_shares(mesh, where, user):
    """Length of its edges that falls to every point, shape (n_points,), mm: the integral of its shape function."""
    edges = select_edges(mesh, where, user)
    sides, is_half = half_sides(mesh, edges)
    edges = edges[~is_half]
    length = np.linalg.norm(mesh.points[edges[:, 1]] - mesh.points[edges[:, 0]], axis=1)
    shares = np.append(np.repeat(length / 2, 2), half_side_integrals(mesh.points[sides]))
    if not shares.sum() > 0:
        raise ModelError(f"{user}: its edges have no length; it must hold edges between different points.")
    return np.bincount(np.append(edges, sides), shares, minlength=mesh.n_points)


def area_shares(mesh, where, user):
    """Area of its cells that falls to every point, shape (n_points,), mm2: the integral of its shape function."""
    is_chosen = np.zeros((mesh.n_cells, 1))
    is_chosen[select_cells(mesh, where, user)] = 1
    return integrate(mesh, is_chosen)[:, 0]


def point_weights(mesh, where, user):
    """Points of a selection, and the share that each stands for, 1 in all: by length, by area, or alike (point set)."""
    points, shares_of = select_points(mesh, where, user), point_shares
    if isinstance(where, str) and where not in mesh.point_sets:
        shares_of = length_shares if where in mesh.edge_sets else area_shares
    shares = shares_of(mesh, where, user)[points]
    return points, shares / shares.sum()


def integrate(mesh, per_area, *, times_normal=False):
    """Integrals (n_points, c) of what cells have per area, (n_cells, c), over shape functions, or over normals too."""
    total = np.zeros((mesh.n_points, 3 if times_normal else per_area.shape[1]))
    for _kind, connectivity, block in mesh.blocks():
        area, vector = shape_integrals(mesh.points[connectivity])
        values = per_area[block, None] * (vector if times_normal else area[:, :, None])  # (n, corners, c)
        for column, value in zip(total.T, np.moveaxis(values, 2, 0)):
            column += np.bincount(connectivity.ravel(), value.ravel(), minlength=mesh.n_points)
    return total


class Acting:
    """What loads, masses and supports share: numbers with units, and mostly a selection `where`.

    A subclass has ``_units``: pairs of the name and unit of each of its numbers.
    """

    _units = ()
    _rule = ""  # for its numbers, besides being finite
    _many = ""  # what there may be a row of numbers for
    _shares = staticmethod(point_shares)  # per point, length or area

    def __post_init__(self):
        if isinstance(getattr(self, "where", None), (list, tuple, np.ndarray)):
            object.__setattr__(self, "where", own_indices(self.where))
        given = ((name, getattr(self, name), unit) for name, unit in self._units)
        refuse(*(bad_number(str(self), *one, self._rule, many=self._many) for one in given))

    def __str__(self):
        kind = "".join(f" {c.lower()}" if c.isupper() else c for c in type(self).__name__).strip()
        return f'{kind} on "{describe(self.where)}"' if hasattr(self, "where") else kind

    @property
    def amount(self):
        """Its numbers in words with units, for tables; what is 0 is left out."""
        given = [(name, getattr(self, name), unit) for name, unit in self._units]
        return ", ".join(f"{name} = {value:g} {unit}" for name, value, unit in given if value) or "0"

    def at_points(self, model):
        """How many times it stands at each point, shape (n_points,): per point, length or area, or 1 in all."""
        shares = self._shares(model.mesh, self.where, str(self))
        return shares / shares.sum() if getattr(self, "total", False) else shares


@dataclass(frozen=True, eq=False)
class Mass(Acting):
    """A mass that is not structure; what stands at points is ``point_masses(model)``, shape (n_points,), tonne."""

    where: object
    mass: float
    _rule = " of at least 0"

    def point_masses(self, model):
        return self.mass * self.at_points(model)


@dataclass(frozen=True, eq=False)
class PointMass(Mass):
    """A mass at each point of a selection, tonne; with ``total=True`` shared evenly.

    `inertia` are its moments of inertia about the global axes through the point, tonne mm2; they take part in modes.
    """

    _: KW_ONLY
    total: bool = False
    inertia: tuple = (0.0, 0.0, 0.0)
    _units = (("mass", "t"),)

    def __post_init__(self):
        super().__post_init__()
        refuse(bad_vector(str(self), "inertia", self.inertia))
        if min(self.inertia) < 0:
            raise ModelError(f"{self}: inertia is {self.inertia}; none of the three may be below 0.")
        object.__setattr__(self, "inertia", tuple(map(float, self.inertia)))

    def point_inertias(self, model):
        """What stands at points, shape (n_points, 3), tonne mm2."""
        return self.at_points(model)[:, None] * np.array(self.inertia)


@dataclass(frozen=True, eq=False)
class LineMass(Mass):
    """A mass per length along an edge set, tonne/mm."""

    _units, _shares = (("mass", "t/mm"),), staticmethod(length_shares)


@dataclass(frozen=True, eq=False)
class AreaMass(Mass):
    """A mass per area over some cells, tonne/mm2, at the mesh's points."""

    _units, _shares = (("mass", "t/mm2"),), staticmethod(area_shares)


def own_indices(where):
    """Indices that nobody can change any more: a copy, read-only."""
    try:
        indices = np.array(where)
    except ValueError:
        raise ModelError(
            f"a selection is {shortened(where)}; it must be a name, a place or one row of indices."
        ) from None
    if indices.dtype.kind not in "iub":
        return where
    indices.setflags(write=False)
    return indices
