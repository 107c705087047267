"""Loads and masses, each turned into forces and moments at points without anything being solved.

Every load has ``point_forces(model)``: an array (n_points, 6) of ``fx fy fz mx my mz``, N and N mm, global axes.
A temperature change has none here: what it does depends on stiffness, so the solver asks for `cell_strain` instead.
"""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..errors import ModelError
from ..mesh.geometry import shape_integrals
from ..mesh.selection import describe, select_cells, select_edges, select_points
from ..units import GRAVITY
from .support import point_weights
from .values import FORCES, direction, finite

__all__ = [
    "Acceleration",
    "AreaMass",
    "Gravity",
    "LineLoad",
    "LineMass",
    "PointLoad",
    "PointMass",
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
        finite(str(self), "force or moment", self.vector, "")

    @property
    def vector(self):
        """``fx fy fz mx my mz`` as given."""
        return np.array([getattr(self, name) for name in FORCES], dtype=float)

    def __str__(self):
        return f'{_words(type(self).__name__)} on "{describe(self.where)}"'


@dataclass(frozen=True, eq=False)
class PointLoad(_Forces):
    """A force and moment on each point of a selection, N and N mm; with ``total=True`` shared evenly among them."""

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

    total: bool = False

    def point_forces(self, model):
        """Forces and moments at points, shape (n_points, 6)."""
        edges = select_edges(model.mesh, self.where, str(self))
        length = np.linalg.norm(np.diff(model.mesh.points[edges], axis=1)[:, 0], axis=1)
        if not length.sum() > 0:
            raise ModelError(f"{self}: its edges have no length; it must hold edges to carry a line load.")
        share = np.bincount(edges.ravel(), np.repeat(length / 2, 2), minlength=model.mesh.n_points)
        return (share / (length.sum() if self.total else 1))[:, None] * self.vector


@dataclass(frozen=True, eq=False)
class SpreadLoad(_Forces):
    """A force and moment at a place, carried to a set by forces that are statically equal and stiffen nothing.

    The set's points share the force by their weight (length, area, or alike); the moment about the set's centre is
    made by forces that grow with the distance from it, as in an eccentric group of fasteners (common practice). What
    forces cannot make, the moment about the line of a straight set, goes to the points as moments.

    Parameters
    ----------
    at : 3 numbers
        Where the force acts, mm.
    """

    at: tuple = (0.0, 0.0, 0.0)

    def __post_init__(self):
        super().__post_init__()
        finite(str(self), "at", self.at, "mm")
        if np.shape(self.at) != (3,):
            raise ModelError(f"{self}: at is {self.at!r}; it must be three numbers, mm.")

    def point_forces(self, model):
        """Forces and moments at points, shape (n_points, 6)."""
        points, weight = point_weights(model.mesh, self.where, str(self))
        place = model.mesh.points[points]
        centre = weight @ place
        arm = place - centre  # (n, 3)
        force, moment = self.vector[:3], self.vector[3:] + np.cross(np.array(self.at) - centre, self.vector[:3])
        inertia = np.einsum("n,nk,nk->", weight, arm, arm) * np.eye(3) - np.einsum("n,ni,nj->ij", weight, arm, arm)
        spin = np.linalg.pinv(inertia, rcond=1e-9, hermitian=True) @ moment
        forces = np.zeros((model.mesh.n_points, 6))
        forces[points, :3] = weight[:, None] * (force + np.cross(spin, arm))
        forces[points, 3:] = weight[:, None] * (moment - inertia @ spin)
        return forces


@dataclass(frozen=True, eq=False)
class Pressure:
    """A pressure on the cells' tops, MPa: positive pushes along -z local."""

    where: object
    pressure: float

    def __post_init__(self):
        finite(str(self), "pressure", self.pressure, "MPa")

    def __str__(self):
        return f'pressure on "{describe(self.where)}"'

    def point_forces(self, model):
        """Forces at points, shape (n_points, 6)."""
        chosen = np.zeros(model.mesh.n_cells)
        chosen[select_cells(model.mesh, self.where, str(self))] = self.pressure
        forces = np.zeros((model.mesh.n_points, 6))
        for _kind, connectivity, block in model.mesh.blocks():
            _area, vector = shape_integrals(model.mesh.points[connectivity])
            _add(forces, connectivity, -chosen[block, None, None] * vector)
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
        finite(str(self), "acceleration", (self.x, self.y, self.z), "mm/s2")

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
        finite(str(self), "change", self.change, "K")

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


@dataclass(frozen=True, eq=False)
class PointMass:
    """A mass at each point of a selection, tonne; with ``total=True`` shared evenly."""

    where: object
    mass: float
    _: KW_ONLY
    total: bool = False

    def __post_init__(self):
        finite(str(self), "mass", self.mass, "t", least=0)

    def __str__(self):
        return f'point mass on "{describe(self.where)}"'

    def point_masses(self, model):
        """Mass at points, shape (n_points,), tonne."""
        points = select_points(model.mesh, self.where, str(self))
        mass = np.zeros(model.mesh.n_points)
        mass[points] = self.mass / (len(points) if self.total else 1)
        return mass


@dataclass(frozen=True, eq=False)
class LineMass:
    """A mass per length along an edge set, tonne/mm."""

    where: object
    mass: float

    def __post_init__(self):
        finite(str(self), "mass", self.mass, "t/mm", least=0)

    def __str__(self):
        return f'line mass on "{describe(self.where)}"'

    def point_masses(self, model):
        """Mass at points, shape (n_points,), tonne."""
        return LineLoad(self.where, fx=self.mass).point_forces(model)[:, 0]


@dataclass(frozen=True, eq=False)
class AreaMass:
    """A mass per area over some cells, tonne/mm2, at the mesh's points."""

    where: object
    mass: float

    def __post_init__(self):
        finite(str(self), "mass", self.mass, "t/mm2", least=0)

    def __str__(self):
        return f'area mass on "{describe(self.where)}"'

    def point_masses(self, model):
        """Mass at points, shape (n_points,), tonne."""
        chosen = np.zeros(model.mesh.n_cells)
        chosen[select_cells(model.mesh, self.where, str(self))] = self.mass
        mass = np.zeros((model.mesh.n_points, 1))
        for _kind, connectivity, block in model.mesh.blocks():
            area, _vector = shape_integrals(model.mesh.points[connectivity])
            _add(mass, connectivity, (chosen[block, None] * area)[:, :, None])
        return mass[:, 0]


def inertia_forces(model, field):
    """Mass times a uniform field of acceleration, at points.

    Parameters
    ----------
    model : Model
    field : ndarray, shape (3,)
        mm/s2, along the force.

    Returns
    -------
    forces : ndarray, shape (n_points, 6)
        Plates act at their middle plane, so an offset one brings moments about the points.
    """
    forces = np.zeros((model.mesh.n_points, 6))
    for mass in model.masses:
        forces[:, :3] += mass.point_masses(model)[:, None] * field
    for _kind, connectivity, block in model.mesh.blocks():
        area, _vector = shape_integrals(model.mesh.points[connectivity])
        force = (area * model.per_cell.area_mass[block, None])[:, :, None] * field  # (n, k, 3)
        arm = (model.per_cell.offset[block, None] * model.per_cell.frames[block, 2])[:, None, :]
        _add(forces, connectivity, np.concatenate([force, np.cross(arm, force)], axis=2))
    return forces


def _add(at_points, connectivity, values):
    """Add values (n_cells, k, c) to rows of `at_points` in place."""
    for component in range(values.shape[2]):
        at_points[:, component] += np.bincount(
            connectivity.ravel(), values[:, :, component].ravel(), minlength=len(at_points)
        )


def _words(name):
    return "".join(f" {c.lower()}" if c.isupper() else c for c in name).strip()
