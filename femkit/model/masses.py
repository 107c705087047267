"""Masses that are not structure, and the forces of gravity or acceleration on all masses of a model."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..mesh.geometry import shape_integrals
from ..mesh.selection import describe, select_points
from .shares import add_at_points, area_shares, length_shares
from .values import finite, own_selection

__all__ = ["AreaMass", "LineMass", "PointMass", "inertia_forces"]


@dataclass(frozen=True, eq=False)
class PointMass:
    """A mass at each point of a selection, tonne; with ``total=True`` shared evenly."""

    where: object
    mass: float
    _: KW_ONLY
    total: bool = False

    def __post_init__(self):
        object.__setattr__(self, "where", own_selection(self.where))
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
        object.__setattr__(self, "where", own_selection(self.where))
        finite(str(self), "mass", self.mass, "t/mm", least=0)

    def __str__(self):
        return f'line mass on "{describe(self.where)}"'

    def point_masses(self, model):
        """Mass at points, shape (n_points,), tonne."""
        return self.mass * length_shares(model.mesh, self.where, str(self))


@dataclass(frozen=True, eq=False)
class AreaMass:
    """A mass per area over some cells, tonne/mm2, at the mesh's points."""

    where: object
    mass: float

    def __post_init__(self):
        object.__setattr__(self, "where", own_selection(self.where))
        finite(str(self), "mass", self.mass, "t/mm2", least=0)

    def __str__(self):
        return f'area mass on "{describe(self.where)}"'

    def point_masses(self, model):
        """Mass at points, shape (n_points,), tonne."""
        return self.mass * area_shares(model.mesh, self.where, str(self))


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
        add_at_points(forces, connectivity, np.concatenate([force, np.cross(arm, force)], axis=2))
    return forces
