"""What the cases ask of the kit: a model in few words, exact tractions, prescribed fields, stress at points."""

from dataclasses import dataclass

import numpy as np

import femkit as fk

from ..mesh.selection import select_points

__all__ = ["edge_loads", "follow", "plate_supports", "solved", "stress_at"]

_S, _WEIGHT = np.polynomial.legendre.leggauss(3)
_SIDES = {  # shape functions and slopes on a side -1 … 1 at Gauss points, by the points it has
    2: (np.stack([1 - _S, 1 + _S], axis=1) / 2, np.full((3, 2), [-0.5, 0.5])),
    3: (
        np.stack([_S * (_S - 1) / 2, 1 - _S**2, _S * (_S + 1) / 2], axis=1),
        np.stack([_S - 0.5, -2 * _S, _S + 0.5], axis=1),
    ),
}


def solved(mesh, thickness, E, nu, *, supports, loads=(), density=0.0, reference=(1, 0, 0), behaviour="shell"):
    """The solved load case of a model of one plate, in whatever units it is given."""
    plate = fk.Plate(thickness, fk.Material("its own", E=E, nu=nu, density=density), reference=reference)
    load_cases = [fk.LoadCase("load", loads)]
    model = fk.Model(mesh, plate, supports=supports, load_cases=load_cases, behaviour=behaviour, units="any")
    return fk.solve_static(model)["load"]


def follow(mesh, where, **components):
    """Supports that give each point of a selection its own values: arrays over the selection, by component."""
    return [fk.Support(select_points(mesh, where), **components)]


def plate_supports(edges):
    """Supports of the sides s=0, s=1, t=0, t=1 of a grid in x and y, each "f" free, "s" simple or "c" clamped.

    Simple is hard: nothing moves along the side, nothing turns about its normal.
    """
    turn = {"s=0": {"rx": 0}, "s=1": {"rx": 0}, "t=0": {"ry": 0}, "t=1": {"ry": 0}}
    held = {side: {"s": turn[side], "c": {"rx": 0, "ry": 0}} for side in turn}
    return [fk.Support(side, uz=0, **held[side][how]) for side, how in zip(turn, edges) if how != "f"]


@dataclass(frozen=True, eq=False)
class EdgeTractions:
    """Forces at points, as a load, (n_points, 6), N and N mm."""

    edge: str
    forces: np.ndarray

    def __str__(self):
        return f'tractions on "{self.edge}"'

    @property
    def where(self):
        """The points they act on."""
        return np.flatnonzero(self.forces.any(axis=1))

    def point_forces(self, model):
        return self.forces


def edge_loads(mesh, edge, stress, thickness=1.0):
    """A load that does the work of a stress field's tractions on an edge of a flat mesh.

    Parameters
    ----------
    mesh : Mesh
        In the plane of x and y.
    edge : str
        An edge set as `grid` makes them: the normal is to the right of it as it runs, outward on ``s=1`` and ``t=0``.
    stress : callable
        ``stress(x, y)`` gives ``sx sy txy`` at arrays of places.
    thickness : float
    """
    pairs = mesh.edge_sets[edge]
    is_curved = bool({"triangle6", "quad8", "quad9"} & set(mesh.cells))
    sides = np.column_stack([pairs[::2], pairs[1::2, 1]]) if is_curved else pairs  # (n, 2 or 3)
    shape, slope = _SIDES[sides.shape[1]]
    x, y = np.einsum("gk,nkc->cng", shape, mesh.points[sides, :2])
    along_x, along_y = np.einsum("gk,nkc->cng", slope, mesh.points[sides, :2])
    sx, sy, txy = stress(x, y)
    pull = np.stack([sx * along_y - txy * along_x, txy * along_y - sy * along_x], axis=-1)  # (n, 3, 2) along s
    forces = np.zeros((mesh.n_points, 6))
    np.add.at(forces[:, :2], sides, thickness * np.einsum("gk,g,ngc->nkc", shape, _WEIGHT, pull))
    return [EdgeTractions(edge, forces)]


def stress_at(case, where, surface="top"):
    """``sx sy txy`` in the cells' axes averaged at the corners that lie in a selection, (n, 3), by point index."""
    mesh = case.model.mesh
    corner, first = np.unique(mesh.corners.ravel(), return_index=True)
    chosen = first[np.isin(corner, select_points(mesh, where))]
    return case.averaged_stress(surface)[0].reshape(-1, 3)[chosen]
