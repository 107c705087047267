"""Where the model is held, and what that means as equations between its unknowns."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from ..errors import ModelError
from ..mesh.selection import describe
from .acting import Acting, own_indices, point_weights
from .values import COMPONENTS, content, place_words, refuse, span_words

__all__ = [
    "Constraints", "MeanConstraint", "Support", "antisymmetry", "constraints_of", "footing", "point_weights",
    "symmetry",
]  # fmt: skip

UNITS = {"u": "mm", "r": "rad"}


@dataclass(frozen=True, eq=False)
class Support(Acting):
    """Displacements and rotations held at a value: 0, or a prescribed one.

    Parameters
    ----------
    where : str, place or array of int
        A point, edge or cell set, a place, or point indices.
    ux, uy, uz : float or array_like, shape (n_points_of_the_set,), optional
        Prescribed displacement, mm; None leaves it free. An array follows the indices given, or the points of a set
        or place in ascending order.
    rx, ry, rz : float or array_like, optional
        Prescribed rotation, rad.
    mean : bool
        Hold the weighted mean of the set instead of every point, so that a bearing may rock on it. Points weigh by
        the length of edge, or the area of cell, that they stand for; points of a point set weigh alike.
    """

    where: object
    _: KW_ONLY
    ux: float | np.ndarray | None = None
    uy: float | np.ndarray | None = None
    uz: float | np.ndarray | None = None
    rx: float | np.ndarray | None = None
    ry: float | np.ndarray | None = None
    rz: float | np.ndarray | None = None
    mean: bool = False
    _many = "point"

    def __post_init__(self):
        if not self.held:
            raise ModelError(f"{self}: nothing is held; give at least one of {', '.join(COMPONENTS)}, 0 for held fast.")
        super().__post_init__()
        varied = {name: np.array(value, dtype=float) for name, value in self.held.items() if np.ndim(value)}
        if varied and self.mean:
            raise ModelError(f"{self}: {' and '.join(varied)} have many values; a mean has one, or take mean=False.")
        if varied and isinstance(self.where, np.ndarray) and self.where.dtype.kind in "iu":
            order = np.argsort(self.where, axis=None)  # selections are in ascending order
            object.__setattr__(self, "where", own_indices(self.where.ravel()[order]))
            varied = {name: value[order] if len(value) == len(order) else value for name, value in varied.items()}
        for name, values in varied.items():
            values.setflags(write=False)
            object.__setattr__(self, name, values)

    @property
    def _units(self):
        return tuple((name, UNITS[name[0]]) for name in self.held)

    @property
    def held(self):
        """What is held: name to value."""
        return {name: getattr(self, name) for name in COMPONENTS if getattr(self, name) is not None}

    @property
    def words(self):
        """What is held in words, one each: ``ux``, or ``ux = 0.5`` where it is not 0."""
        return [f"{name} = {span_words(value)}" if np.any(value) else name for name, value in self.held.items()]

    def __str__(self):
        return f'support "{describe(self.where)}"'


def symmetry(where, normal):
    """The support of a plane of symmetry: nothing moves through it, and sheets stay square to it.

    Parameters
    ----------
    where : str, place or array of int
        The points on the plane.
    normal : {"x", "y", "z"}
        The global axis that the plane is square to.

    Returns
    -------
    support : Support
        Of a shell: in plane stress hold the one displacement alone.

    Examples
    --------
    >>> symmetry("middle", "x").held
    {'ux': 0.0, 'ry': 0.0, 'rz': 0.0}
    """
    return Support(where, **dict.fromkeys(_through(normal), 0.0))


def antisymmetry(where, normal):
    """The support of a plane on whose two sides opposite things happen: nothing moves along it, or turns about it.

    Parameters and result as for `symmetry`.
    """
    return Support(where, **{name: 0.0 for name in COMPONENTS if name not in _through(normal)})


def _through(normal):
    """What a plane of symmetry holds: the displacement through it, and the turns about the two axes in it."""
    if normal not in ("x", "y", "z"):
        raise ModelError(f'normal is {normal!r}; it must be "x", "y" or "z".')
    return (f"u{normal}", *(f"r{axis}" for axis in "xyz" if axis != normal))


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
    """All supports as equations."""

    is_held: np.ndarray  # (n_points, n_components), bool
    value: np.ndarray  # (n_points, n_components), prescribed where held, else 0; mm and rad
    means: tuple  # of MeanConstraint, over points not all of which are held


def footing(supports, *, values=True):
    """What supports hold, as a frozenset that is equal for supports of the same content, whoever made them.

    Without `values` it says what can be added: load cases that hold the same unknowns, at whatever values.
    """
    return frozenset(
        (str(support), content(support.where), support.mean, name, _held_at(value) if values else "0")
        for support in supports
        for name, value in support.held.items()
    )


def _held_at(value):
    """A prescribed value or values in words that differ where they do; ``0`` where nothing but 0 is prescribed."""
    return f"{span_words(value)} ({content(value)})" if np.any(value) else "0"


def constraints_of(mesh, supports, n_components=6):
    """Supports of one load case as `Constraints` on 6 unknowns a point for shells, 2 for plane stress.

    All that is wrong is raised in one `ModelError`: sets that don't exist, two values for one unknown, idle means.
    """
    shape = (mesh.n_points, n_components)
    is_held, value, holder = np.zeros(shape, dtype=bool), np.zeros(shape), np.empty(shape, dtype=object)
    means, faults = [], []
    for support in sorted(supports, key=lambda support: support.mean):  # means come last: they ask what is held
        try:
            points, weights = point_weights(mesh, support.where, str(support))
        except ModelError as fault:
            faults.append(fault)
            continue
        for name, wanted in support.held.items():
            k = COMPONENTS.index(name)
            if k >= n_components:
                faults.append(f"{support}: plane stress has no {name}; it has ux and uy.")
            elif np.ndim(wanted) and len(wanted) != len(points):
                faults.append(
                    f"{support}: {name} has {len(wanted)} values for {len(points)} points; it must be one each."
                )
            elif not support.mean:
                wanted = np.broadcast_to(wanted, len(points))
                differs = np.flatnonzero(is_held[points, k] & (value[points, k] != wanted))
                if len(differs):
                    first, unit, more = points[differs[0]], UNITS[name[0]], f" and {len(differs) - 1} more"
                    faults.append(
                        f"{support}: {name} of point {first} at {place_words(mesh.points[first])}"
                        f"{more * (len(differs) > 1)} is to be {wanted[differs[0]]:g} {unit}, but {holder[first, k]} "
                        f"already holds it at {value[first, k]:g} {unit}; take the points out of one of the two."
                    )
                is_held[points, k], value[points, k], holder[points, k] = True, wanted, support
            elif is_held[points, k].all():
                faults.append(f"{support}: {name} is held already at every point; leave one of the two supports out.")
            else:
                means.append(MeanConstraint(points, weights, k, float(wanted), describe(support.where)))
    refuse(*faults)
    return Constraints(is_held, value, tuple(means))
