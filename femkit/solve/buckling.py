"""Linear buckling: the factors on a load case's membrane forces at which the sheet loses its stiffness.

``(K + λ G) u = 0`` with the geometric stiffness G; K may hold that of other membrane forces, which stay as they are.
Solved for 1/λ, largest first, by Lanczos (ARPACK, through SciPy) on the factor of K, so that the lowest positive
factors come out and negative ones (the load reversed) do not. Afterwards ``K + s G`` is factored for an s above the
highest factor found, and its negative pivots counted, as for modes.
"""

from contextlib import closing
from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy.sparse.linalg import ArpackNoConvergence, eigsh

from ..errors import NotConvergedError, SolveError
from .constraints import reduce_matrix
from .eigen import (
    TOLERANCE,
    assemble_geometric,
    combined,
    first_vector,
    inverse_of,
    refuse_count,
    residuals,
    stiffness_on,
    subspace,
    until_gap,
    without_held,
)
from .factorise import choose_solver, one_thread_for_numpy

__all__ = ["BucklingSolution", "solve_eigenbuckling"]

RESTARTS = 200  # a tenth of it is enough where there is compression; it never ends where there is none
FAR = 100.0  # times the load: that there are no factors below it is proven before none is said to be there
SLIGHT = 1e-6  # of the largest 1/λ: below it nothing is really in compression


@dataclass(frozen=True, eq=False)
class BucklingSolution:
    """Buckling factors and shapes as solved.

    Attributes
    ----------
    factor : ndarray, shape (count,)
        Positive, ascending.
    shape : ndarray, shape (count, n_points, 6)
        Largest displacement 1 mm.
    residual : ndarray, shape (count,)
        ``|K u + λ G u|`` over the size of its terms.
    counted : int or None
        Factors below the gap above the highest that was found, by inertia.
    solver : str
    """

    factor: np.ndarray
    shape: np.ndarray
    residual: np.ndarray
    counted: int
    solver: str


def solve_eigenbuckling(model, carried, supports, count=4, *, constant=None, solver="auto"):
    """Lowest positive buckling factors.

    Parameters
    ----------
    model : Model
        A shell, sound for the solver.
    carried : pair of ndarray
        Forces in cells and beams that grow: see `femkit.solve.eigen.assemble_geometric`.
    supports : sequence of Support
        Those that the load case stands on; what they prescribe is held at 0.
    count : int
    constant : pair of ndarray, optional
        What is there from the start and does not grow.
    solver : {"auto", "pardiso", "superlu"}

    Raises
    ------
    NotConvergedError
        If fewer factors are positive than asked for; `found` holds those. With none, none is below 100.
    NotPositiveError
        If the constant part alone buckles the model.
    SolveError
        If factors were missed, by the count of inertia, or a residual is too large.
    """
    refuse_count(count)
    name, engine = choose_solver(solver)
    with closing(engine), one_thread_for_numpy():
        reduction, arrays, stiffness = stiffness_on(model, supports, constant)
        geometric = assemble_geometric(model, stiffness.pattern, arrays, carried)
        held, soft = reduce_matrix(stiffness, reduction), without_held(reduce_matrix(geometric, reduction), reduction)
        engine.order(held)
        engine.factorise(held)
        find = partial(_lanczos, engine, held.whole, soft.whole, count)
        try:
            factors, vectors, below, at = until_gap(find, count, stiffness.pattern.n_unknowns - 2)
        except NotConvergedError as error:
            if not len(error.found) and (missed := type(engine).negative_pivots(combined(held, soft, -FAR))):
                raise SolveError(
                    f"no buckling factor was found, but {missed} lie below {FAR:g}, by their count."
                ) from error
            raise
        counted = type(engine).negative_pivots(combined(held, soft, -at))
    if counted is not None and counted != below:
        raise SolveError(
            f"{below} buckling factors were found where {counted} are, by their count; ask for a few more."
        )
    factors, shapes = factors[:count], reduction.expand(vectors[:, :count])
    residual = residuals(reduction, stiffness, geometric, -factors, shapes, "factor")
    by_point = shapes.T.reshape(count, model.mesh.n_points, model.n_components)
    largest = np.abs(by_point[:, :, :3]).max(axis=(1, 2))
    return BucklingSolution(factors, by_point / largest[:, None, None], residual, counted, name)


def _lanczos(engine, held, soft, count, wanted):
    """Lowest positive factors, ascending, and their vectors: as many as wanted, fewer where there are no more."""
    try:
        inverse, vectors = eigsh(
            -soft,
            wanted,
            held,
            Minv=inverse_of(engine, held.shape),
            which="LA",
            v0=first_vector(engine, soft),
            ncv=subspace(wanted, soft),
            tol=TOLERANCE,
            maxiter=RESTARTS,
        )
    except ArpackNoConvergence as error:
        inverse, vectors = error.eigenvalues, error.eigenvectors  # the rest may not be there: judged below
    order = np.argsort(-inverse)
    inverse, vectors = inverse[order], vectors[:, order]
    is_there = inverse > SLIGHT * np.abs(inverse).max(initial=0.0)
    if is_there.sum() < count:
        found = 1 / inverse[is_there]
        raise NotConvergedError(
            f"{len(found)} positive buckling factors were found where {count} were asked for: is "
            f"{'more' if len(found) else 'anything'} in compression?",
            found,
        )
    return 1 / inverse[is_there], vectors[:, is_there]
