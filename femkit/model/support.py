"""Where the model is held, and what that means as equations between its unknowns."""

from dataclasses import KW_ONLY, dataclass
from functools import partial

import numpy as np

from ..errors import ModelError
from ..mesh.selection import describe, select_points
from .fingerprint import content
from .shares import point_weights
from .values import COMPONENTS, collect, finite, own_selection, raise_all

__all__ = ["Constraints", "MeanConstraint", "Support", "constraints_of", "footing", "point_weights"]


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

    Raises
    ------
    ModelError
        If nothing is held, or a value is not finite.
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
        object.__setattr__(self, "where", own_selection(self.where))
        if not self.held:
            raise ModelError(f"{self}: nothing is held; give at least one of {', '.join(COMPONENTS)}, 0 for held fast.")
        who = str(self)
        raise_all(collect(*(partial(finite, who, name, value, _unit(name)) for name, value in self.held.items())))

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
    is_held : ndarray of bool, shape (n_points, n_components)
    value : ndarray, shape (n_points, n_components)
        Prescribed value where held, else 0; mm and rad.
    means : tuple of MeanConstraint
        Over points not all of which are held.
    """

    is_held: np.ndarray
    value: np.ndarray
    means: tuple


def footing(supports, *, values=True):
    """What supports hold, as something to compare: equal for supports of the same content, whoever made them.

    Parameters
    ----------
    supports : sequence of Support
    values : bool
        Whether other values make another footing. Without, it says what can be added: load cases that hold the same.

    Returns
    -------
    footing : frozenset
    """
    return frozenset(
        (content(support.where), support.mean, name, float(value) if values else 0.0)
        for support in supports
        for name, value in support.held.items()
    )


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
        If sets do not exist, two supports want different values of one unknown, or a mean has nothing left that is
        free; all such faults in one message.
    """
    is_held = np.zeros((mesh.n_points, n_components), dtype=bool)
    value = np.zeros((mesh.n_points, n_components))
    holder = np.full((mesh.n_points, n_components), -1)  # position among the supports
    means = []

    def hold(number, support):
        points = select_points(mesh, support.where, str(support))
        for component, wanted in _components(support, n_components):
            differs = points[is_held[points, component] & (value[points, component] != wanted)]
            if len(differs):
                other = supports[holder[differs[0], component]]
                raise ModelError(_conflict(mesh, support, other, component, wanted, value, differs))
            is_held[points, component], value[points, component] = True, wanted
            holder[points, component] = number

    def hold_mean(support):
        for component, wanted in _components(support, n_components):
            means.append(_mean(mesh, support, component, wanted, is_held))

    faults = collect(*(partial(hold, i, support) for i, support in enumerate(supports) if not support.mean))
    raise_all(faults + collect(*(partial(hold_mean, support) for support in supports if support.mean)))
    return Constraints(is_held, value, tuple(means))


def _components(support, n_components):
    for name, wanted in support.held.items():
        component = COMPONENTS.index(name)
        if component >= n_components:
            raise ModelError(f"{support}: plane stress has no {name}; it has ux and uy.")
        yield component, float(wanted)


def _conflict(mesh, support, other, component, wanted, value, points):
    name, first = COMPONENTS[component], points[0]
    place = ", ".join(f"{x:.6g}" for x in mesh.points[first])
    more = f" and {len(points) - 1} more" if len(points) > 1 else ""
    return (
        f"{support}: {name} of point {first} at ({place}){more} is to be {wanted:g} {_unit(name)}, but {other} already "
        f"holds it at {value[first, component]:g} {_unit(name)}; it can have one value only: take the points out of "
        "one of the two."
    )


def _mean(mesh, support, component, wanted, is_held):
    points, weights = point_weights(mesh, support.where, str(support))
    if is_held[points, component].all():
        raise ModelError(
            f"{support}: {COMPONENTS[component]} is held already at every point of it, so the mean has nothing to "
            "hold; leave one of the two supports out."
        )
    return MeanConstraint(points, weights, component, wanted, describe(support.where))


def _unit(component):
    return "mm" if component[0] == "u" else "rad"
