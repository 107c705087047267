"""Loads, each turned into forces and moments at points without anything being solved.

Every load has ``point_forces(model)``: an array (n_points, 6) of ``fx fy fz mx my mz``, N and N mm, global axes; and
``amount``, its size in words for tables.
A temperature change has none here: what it does depends on stiffness, so the solver asks for `cell_strain` instead.
"""

from dataclasses import KW_ONLY, dataclass
from functools import partial

import numpy as np

from ..mesh.geometry import shape_integrals
from ..mesh.selection import describe, select_cells, select_points
from ..units import GRAVITY
from .masses import inertia_forces
from .shares import add_at_points, length_shares, point_weights
from .values import FORCES, collect, direction, finite, own_selection, raise_all

__all__ = [
    "Acceleration",
    "Gravity",
    "LineLoad",
    "PointLoad",
    "Pressure",
    "SpreadLoad",
    "Temperature",
]


@dataclass(frozen=True, eq=False)
class _Forces:
    """Three forces and three moments, and where they act."""

    where: object
    _: KW_ONLY
    fx: float = 0.0
    fy: float = 0.0
    fz: float = 0.0
    mx: float = 0.0
    my: float = 0.0
    mz: float = 0.0

    def __post_init__(self):
        object.__setattr__(self, "where", own_selection(self.where))
        units, who = self._units(), str(self)
        raise_all(collect(*(partial(finite, who, name, getattr(self, name), units[name[0]]) for name in FORCES)))

    def _units(self):
        return {"f": "N", "m": "N mm"}

    @property
    def vector(self):
        """``fx fy fz mx my mz`` as given."""
        return np.array([getattr(self, name) for name in FORCES], dtype=float)

    @property
    def amount(self):
        """How much, in words with units, for tables."""
        units = self._units()
        given = [f"{name} = {getattr(self, name):g} {units[name[0]]}" for name in FORCES if getattr(self, name)]
        return ", ".join(given) or "0"

    def __str__(self):
        return f'{_words(type(self).__name__)} on "{describe(self.where)}"'


@dataclass(frozen=True, eq=False)
class PointLoad(_Forces):
    """A force and moment on each point of a selection, N and N mm; with ``total=True`` shared evenly among them."""

    _: KW_ONLY
    total: bool = False

    def point_forces(self, model):
        """Forces and moments at points, shape (n_points, 6)."""
        points = select_points(model.mesh, self.where, str(self))
        forces = np.zeros((model.mesh.n_points, 6))
        forces[points] = self.vector / (len(points) if self.total else 1)
        return forces


@dataclass(frozen=True, eq=False)
class LineLoad(_Forces):
    """A force and moment per length along an edge set, N/mm and N mm/mm; with ``total=True`` N and N mm in all.

    Even along the edge: each of its points gets what half of its two edges carry.
    """

    _: KW_ONLY
    total: bool = False

    def _units(self):
        return {"f": "N", "m": "N mm"} if self.total else {"f": "N/mm", "m": "N mm/mm"}

    def point_forces(self, model):
        """Forces and moments at points, shape (n_points, 6)."""
        shares = length_shares(model.mesh, self.where, str(self))
        return (shares / (shares.sum() if self.total else 1))[:, None] * self.vector


@dataclass(frozen=True, eq=False)
class SpreadLoad(_Forces):
    """A force and moment at a place, carried to a set by forces that are statically equal and stiffen nothing.

    The set's points share the force by their weight (length, area, or alike); the moment about the set's centre is
    made by forces that grow with the distance from it, as in an eccentric group of fasteners (common practice). What
    such forces cannot make within reason, as the moment about the line of a straight set, goes to the points as
    moments.

    Parameters
    ----------
    at : 3 numbers
        Where the force acts, mm.
    """

    _: KW_ONLY
    at: tuple

    def __post_init__(self):
        super().__post_init__()
        finite(str(self), "at", self.at, "mm", shape=(3,))
        object.__setattr__(self, "at", tuple(map(float, self.at)))

    @property
    def amount(self):
        """How much and where, in words with units, for tables."""
        return f"{super().amount} at ({', '.join(f'{x:g}' for x in self.at)})"

    def point_forces(self, model):
        """Forces and moments at points, shape (n_points, 6)."""
        points, weight = point_weights(model.mesh, self.where, str(self))
        place = model.mesh.points[points]
        centre = weight @ place
        arm = place - centre  # (n, 3)
        force, moment = self.vector[:3], self.vector[3:] + np.cross(np.array(self.at) - centre, self.vector[:3])
        inertia = np.einsum("n,nk,nk->", weight, arm, arm) * np.eye(3) - np.einsum("n,ni,nj->ij", weight, arm, arm)
        spin = _spin(inertia, moment, model.mesh.extent.max())
        forces = np.zeros((model.mesh.n_points, 6))
        forces[points, :3] = weight[:, None] * (force + np.cross(spin, arm))
        forces[points, 3:] = weight[:, None] * (moment - inertia @ spin)
        return forces


@dataclass(frozen=True, eq=False)
class Pressure:
    """A pressure on the cells' tops, MPa: positive pushes along -z local.

    Cells whose top is the other side are pushed the other way; normals are made consistent as a mesh is read.
    """

    where: object
    pressure: float

    def __post_init__(self):
        object.__setattr__(self, "where", own_selection(self.where))
        finite(str(self), "pressure", self.pressure, "MPa")

    @property
    def amount(self):
        """How much, in words with units, for tables."""
        return f"{self.pressure:g} MPa"

    def __str__(self):
        return f'pressure on "{describe(self.where)}"'

    def point_forces(self, model):
        """Forces at points, shape (n_points, 6)."""
        chosen = np.zeros(model.mesh.n_cells)
        chosen[select_cells(model.mesh, self.where, str(self))] = self.pressure
        forces = np.zeros((model.mesh.n_points, 6))
        for _kind, connectivity, block in model.mesh.blocks():
            _area, vector = shape_integrals(model.mesh.points[connectivity])
            add_at_points(forces, connectivity, -chosen[block, None, None] * vector)
        return forces


@dataclass(frozen=True, eq=False)
class Gravity:
    """The weight of plates, added mass and masses: mass times `g` along `direction`.

    Parameters
    ----------
    g : float
        mm/s2.
    direction : 3 numbers
        Where things fall.
    """

    g: float = GRAVITY
    direction: tuple = (0.0, 0.0, -1.0)

    def __post_init__(self):
        finite(str(self), "g", self.g, "mm/s2")
        object.__setattr__(self, "direction", direction(str(self), "direction", self.direction))

    @property
    def magnitude(self):
        """Size of the acceleration, mm/s2."""
        return abs(self.g)

    @property
    def amount(self):
        """How much, in words with units, for tables."""
        return f"{self.g:g} mm/s2 along ({', '.join(f'{d:.4g}' for d in self.direction)})"

    def __str__(self):
        return "gravity"

    def point_forces(self, model):
        """Forces at points, and the moments of an offset middle plane about them, shape (n_points, 6)."""
        return inertia_forces(model, self.g * np.array(self.direction))


@dataclass(frozen=True, eq=False)
class Acceleration:
    """The inertia of a body that is accelerated, mm/s2: its masses push the other way."""

    x: float = 0.0
    y: float = 0.0
    z: float = 0.0

    def __post_init__(self):
        raise_all(collect(*(partial(finite, str(self), axis, getattr(self, axis), "mm/s2") for axis in "xyz")))

    @property
    def magnitude(self):
        """Size of the acceleration, mm/s2."""
        return float(np.linalg.norm([self.x, self.y, self.z]))

    @property
    def amount(self):
        """How much, in words with units, for tables."""
        return f"({self.x:g}, {self.y:g}, {self.z:g}) mm/s2"

    def __str__(self):
        return "acceleration"

    def point_forces(self, model):
        """Forces at points, and the moments of an offset middle plane about them, shape (n_points, 6)."""
        return inertia_forces(model, -np.array([self.x, self.y, self.z], dtype=float))


@dataclass(frozen=True, eq=False)
class Temperature:
    """A change of temperature of some cells, even through the thickness, K."""

    where: object
    change: float

    def __post_init__(self):
        object.__setattr__(self, "where", own_selection(self.where))
        finite(str(self), "change", self.change, "K")

    @property
    def amount(self):
        """How much, in words with units, for tables."""
        return f"{self.change:+g} K"

    def __str__(self):
        return f'temperature of "{describe(self.where)}"'

    def point_forces(self, model):
        """None of its own: shape (n_points, 6), all 0."""
        return np.zeros((model.mesh.n_points, 6))

    def cell_strain(self, model):
        """Free expansion of every cell, shape (n_cells,), 1."""
        strain = np.zeros(model.mesh.n_cells)
        chosen = select_cells(model.mesh, self.where, str(self))
        strain[chosen] = self.change * model.per_cell.expansion[chosen]
        return strain


def _spin(inertia, moment, extent):
    """Turn per moment of a set of points, left at 0 about axes about which the set is too slim to make a moment."""
    values, axes = np.linalg.eigh(inertia)
    # arms below a hundredth of the longest would need forces without reason (common practice, no source);
    # those below a millionth of the mesh are rounding
    is_wide = values > max(1e-4 * values[-1], (1e-6 * extent) ** 2)
    return axes @ (np.where(is_wide, axes.T @ moment, 0.0) / np.where(is_wide, values, 1.0))


def _words(name):
    return "".join(f" {c.lower()}" if c.isupper() else c for c in name).strip()
