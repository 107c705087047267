"""Loads, each turned into forces and moments at points without anything being solved.

Every load has ``point_forces(model)``: an array (n_points, 6) of ``fx fy fz mx my mz``, N and N mm, global axes; and
``amount``: its size in words with units, for tables.
"""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..mesh.selection import select_cells
from ..units import GRAVITY
from .acting import Acting, integrate, length_shares, point_weights
from .values import FORCES, bad_vector, place_words, refuse

__all__ = ["Acceleration", "Gravity", "LineLoad", "PointLoad", "Pressure", "SpreadLoad", "Temperature", "point_masses"]


@dataclass(frozen=True, eq=False)
class _Forces(Acting):
    """Three forces and three moments, and where they act."""

    where: object
    _: KW_ONLY
    fx: float = 0.0
    fy: float = 0.0
    fz: float = 0.0
    mx: float = 0.0
    my: float = 0.0
    mz: float = 0.0
    _units = tuple((name, "N" if name[0] == "f" else "N mm") for name in FORCES)

    @property
    def vector(self):
        """``fx fy fz mx my mz`` as given."""
        return np.array([getattr(self, name) for name in FORCES], dtype=float)

    def point_forces(self, model):
        return self.at_points(model)[:, None] * self.vector


@dataclass(frozen=True, eq=False)
class PointLoad(_Forces):
    """A force and moment on each point of a selection, N and N mm; with ``total=True`` shared evenly among them."""

    _: KW_ONLY
    total: bool = False


@dataclass(frozen=True, eq=False)
class LineLoad(_Forces):
    """A force and moment per length along an edge set, N/mm and N mm/mm; with ``total=True`` N and N mm in all.

    Even along the edge: each of its points gets what half of its two edges carry; of a quadratic side the ends get a
    sixth each, and the middle two thirds.
    """

    _: KW_ONLY
    total: bool = False
    _shares = staticmethod(length_shares)

    @property
    def _units(self):
        return tuple((name, unit if self.total else f"{unit}/mm") for name, unit in _Forces._units)


@dataclass(frozen=True, eq=False)
class SpreadLoad(_Forces):
    """A force and moment at a place `at` (mm), carried to a set by statically equal forces that stiffen nothing.

    The set's points share the force by their weight (length, area, or alike); the moment about the set's centre is
    made by forces that grow with the distance from it, as in an eccentric group of fasteners (common practice), or
    goes to the points as moments where such forces would be without reason, as about the line of a straight set.
    """

    _: KW_ONLY
    at: tuple

    def __post_init__(self):
        super().__post_init__()
        refuse(bad_vector(str(self), "at", self.at))
        object.__setattr__(self, "at", tuple(map(float, self.at)))

    @property
    def amount(self):
        return f"{super().amount} at {place_words(self.at)}"

    def point_forces(self, model):
        points, weight = point_weights(model.mesh, self.where, str(self))
        place = model.mesh.points[points]
        centre = weight @ place
        arm = place - centre  # (n, 3)
        force, moment = self.vector[:3], self.vector[3:] + np.cross(np.array(self.at) - centre, self.vector[:3])
        inertia = np.einsum("n,nk,nk->", weight, arm, arm) * np.eye(3) - np.einsum("n,ni,nj->ij", weight, arm, arm)
        values, axes = np.linalg.eigh(inertia)
        # slimmer than a hundredth of its length (common practice, no source) or a millionth of the mesh (rounding)
        is_wide = values > max(1e-4 * values[-1], (1e-6 * model.mesh.extent.max()) ** 2)
        spin = axes @ (np.where(is_wide, axes.T @ moment, 0.0) / np.where(is_wide, values, 1.0))
        forces = np.zeros((model.mesh.n_points, 6))
        forces[points, :3] = weight[:, None] * (force + np.cross(spin, arm))
        forces[points, 3:] = weight[:, None] * (moment - inertia @ spin)
        return forces


@dataclass(frozen=True, eq=False)
class Pressure(Acting):
    """A pressure on the cells' tops, MPa: positive pushes along -z local.

    Cells whose top is the other side are pushed the other way; normals are made consistent as a mesh is read.
    """

    where: object
    pressure: float
    _units = (("pressure", "MPa"),)

    def point_forces(self, model):
        pushed = np.zeros((model.mesh.n_cells, 1))
        pushed[select_cells(model.mesh, self.where, str(self))] = -self.pressure
        return np.pad(integrate(model.mesh, pushed, times_normal=True), ((0, 0), (0, 3)))


def point_masses(model):
    """Mass that each point stands for, (n_points,), tonne, and times its arm off the point, (n_points, 3), t mm."""
    per_cell, beams = model.per_cell, model.beam_cells
    mass = integrate(model.mesh, per_cell.area_mass[:, None])[:, 0]
    mass += sum(more.point_masses(model) for more in model.masses)
    moment = np.zeros((model.mesh.n_points, 3))
    if per_cell.offset.any():  # plates act at their middle plane
        moment = integrate(model.mesh, (per_cell.area_mass * per_cell.offset)[:, None] * per_cell.frames[:, 2])
    for end in beams.points.T:  # half at each end, at the centroid
        np.add.at(mass, end, beams.weight / 2)
        np.add.at(moment, end, beams.arm * beams.weight[:, None] / 2)
    return mass, moment


class _Inertia(Acting):
    """What acts on all masses alike; a subclass has `field`, the acceleration that pulls at them, (3,), mm/s2."""

    def point_forces(self, model):
        mass, moment = point_masses(model)
        return np.hstack([mass[:, None] * self.field, np.cross(moment, self.field)])


@dataclass(frozen=True, eq=False)
class Gravity(_Inertia):
    """The weight of plates, added mass and masses: mass times `g` (mm/s2) along `direction`, where things fall."""

    g: float = GRAVITY
    direction: tuple = (0.0, 0.0, -1.0)
    _units = (("g", "mm/s2"),)

    def __post_init__(self):
        super().__post_init__()
        refuse(bad_vector("gravity", "direction", self.direction, may_be_0=False))
        unit = np.array(self.direction, dtype=float) / np.linalg.norm(self.direction)
        object.__setattr__(self, "direction", tuple(unit.tolist()))

    @property
    def field(self):
        return self.g * np.array(self.direction)

    @property
    def amount(self):
        return f"{super().amount} along ({', '.join(f'{d:.4g}' for d in self.direction)})"


@dataclass(frozen=True, eq=False)
class Acceleration(_Inertia):
    """The inertia of a body that is accelerated, mm/s2: its masses push the other way."""

    x: float = 0.0
    y: float = 0.0
    z: float = 0.0
    _units = tuple((axis, "mm/s2") for axis in "xyz")

    @property
    def field(self):
        return -np.array([self.x, self.y, self.z], dtype=float)


@dataclass(frozen=True, eq=False)
class Temperature(Acting):
    """A change of temperature of some cells, even through the thickness, K.

    It has no forces of its own: what it does depends on stiffness, so the solver asks for `cell_strain` instead.
    """

    where: object
    change: float
    _units = (("change", "K"),)

    def point_forces(self, model):
        return np.zeros((model.mesh.n_points, 6))

    def cell_strain(self, model):
        """Free expansion of every cell, shape (n_cells,), 1."""
        strain = np.zeros(model.mesh.n_cells)
        chosen = select_cells(model.mesh, self.where, str(self))
        strain[chosen] = self.change * model.per_cell.expansion[chosen]
        return strain
