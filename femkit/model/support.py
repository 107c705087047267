"""Where the model is held, and what that means as equations between its unknowns."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..errors import ModelError
from ..mesh.geometry import shape_integrals
from ..mesh.selection import describe, select_edges, select_points
from .values import COMPONENTS, finite

__all__ = ["Constraints", "MeanConstraint", "Support", "constraints_of", "point_weights"]


@dataclass(frozen=True, eq=False)
class Support:
    """Displacements and rotations held at a value: 0, or a prescribed one.

    Parameters
    ----------
    where : str, place or array of int
        A point, edge or cell set, a place, or point indices.
    ux, uy, uz : float, optional
        Prescribed displacement, mm; None leaves it free.
    rx, ry, rz : float, optional
        Prescribed rotation, rad.
    mean : bool
        Hold the weighted mean of the set instead of every point, so that a bearing may rock on it. Points weigh by
        the length of edge, or the area of cell, that they stand for; points of a point set weigh alike.
    """

    where: object
    _: KW_ONLY
    ux: float | None = None
    uy: float | None = None
    uz: float | None = None
    rx: float | None = None
    ry: float | None = None
    rz: float | None = None
    mean: bool = False

    def __post_init__(self):
        if not self.held:
            raise ModelError(f"{self}: nothing is held; give at least one of {', '.join(COMPONENTS)}.")
        for name, value in self.held.items():
            finite(str(self), name, value, "mm" if name[0] == "u" else "rad")

    @property
    def held(self):
        """What is held: name to value."""
        return {name: getattr(self, name) for name in COMPONENTS if getattr(self, name) is not None}

    def __str__(self):
        return f'support "{describe(self.where)}"'


@dataclass(frozen=True, eq=False)
class MeanConstraint:
    """``sum(weights * u[points, component]) = value``; the weights sum to 1."""

    points: np.ndarray
    weights: np.ndarray
    component: int
    value: float
    name: str


@dataclass(frozen=True, eq=False)
class Constraints:
    """All supports as equations.

    Attributes
    ----------
    is_held : ndarray of bool, shape (n_points, 6)
    value : ndarray, shape (n_points, 6)
        Prescribed value where held, else 0; mm and rad.
    means : tuple of MeanConstraint
        Over points not all of which are held.
    """

    is_held: np.ndarray
    value: np.ndarray
    means: tuple


def constraints_of(mesh, supports, n_components=6):
    """Supports of one load case as equations.

    Parameters
    ----------
    mesh : Mesh
    supports : sequence of Support
    n_components : int
        6 for shells, 2 for plane stress.

    Raises
    ------
    ModelError
        If two supports want different values of one unknown, or a mean has nothing left that is free.
    """
    is_held = np.zeros((mesh.n_points, n_components), dtype=bool)
    value = np.zeros((mesh.n_points, n_components))
    for support in (s for s in supports if not s.mean):
        points = select_points(mesh, support.where, str(support))
        for component, wanted in _components(support, n_components):
            differs = is_held[points, component] & (value[points, component] != wanted)
            if differs.any():
                raise ModelError(
                    f"{support}: {COMPONENTS[component]} of point {points[differs][0]} is already held at "
                    f"{value[points[differs][0], component]:g}, not {wanted:g}; one unknown can have one value only."
                )
            is_held[points, component], value[points, component] = True, wanted
    means = tuple(
        _mean(mesh, support, component, wanted, is_held)
        for support in supports
        if support.mean
        for component, wanted in _components(support, n_components)
    )
    return Constraints(is_held, value, means)


def point_weights(mesh, where, user):
    """The share of a selection that each of its points stands for.

    Returns
    -------
    points : ndarray of int, shape (n,)
    weights : ndarray, shape (n,)
        Sum to 1: by length along an edge set, by area over a cell set, alike otherwise.
    """
    points = select_points(mesh, where, user)
    if isinstance(where, str) and where not in mesh.point_sets and where in mesh.edge_sets:
        edges = select_edges(mesh, where, user)
        length = np.linalg.norm(np.diff(mesh.points[edges], axis=1)[:, 0], axis=1)
        share = np.bincount(edges.ravel(), np.repeat(length / 2, 2), minlength=mesh.n_points)[points]
    elif isinstance(where, str) and where not in mesh.point_sets:
        share = np.zeros(mesh.n_points)
        for _kind, connectivity, block in mesh.blocks():
            chosen = mesh.cell_sets[where]
            chosen = chosen[(chosen >= block.start) & (chosen < block.stop)] - block.start
            area, _vector = shape_integrals(mesh.points[connectivity[chosen]])
            share += np.bincount(connectivity[chosen].ravel(), area.ravel(), minlength=mesh.n_points)
        share = share[points]
    else:
        share = np.ones(len(points))
    if not share.sum() > 0:
        raise ModelError(f"{user}: its edges have no length; a mean or a spread load needs a set with some extent.")
    return points, share / share.sum()


def _components(support, n_components):
    for name, wanted in support.held.items():
        component = COMPONENTS.index(name)
        if component >= n_components:
            raise ModelError(f"{support}: plane stress has no {name}; it has ux and uy.")
        yield component, float(wanted)


def _mean(mesh, support, component, wanted, is_held):
    points, weights = point_weights(mesh, support.where, str(support))
    if is_held[points, component].all():
        raise ModelError(
            f"{support}: every point of it already has {COMPONENTS[component]} held, so the mean has nothing to hold; "
            "leave one of the two supports out."
        )
    return MeanConstraint(points, weights, component, wanted, describe(support.where))
