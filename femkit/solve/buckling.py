"""Linear buckling: the factors on a load case's membrane forces at which the sheet loses its stiffness.

``(K + λ G) u = 0`` with the geometric stiffness G. Solved for 1/λ, largest first, by Lanczos (ARPACK, through SciPy) on
the factor of K, so that the lowest positive factors come out and negative ones (the load reversed) do not. Afterwards
``K + s G`` is factored for an s above the highest factor found, and its negative pivots counted, as for modes.
"""

from contextlib import closing
from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy.sparse.linalg import ArpackNoConvergence, eigsh

from ..elements import geometric_stiffness
from ..errors import ModelError, NotConvergedError, SolveError
from ..model.support import constraints_of
from .assemble import assemble, assemble_stiffness
from .cells import cell_arrays
from .constraints import pattern_of, reduce_matrix, reduction_of
from .factorise import choose_solver, one_thread_for_numpy
from .modes import RESIDUAL, combined, first_vector, inverse_of, subspace, until_gap, without_held

__all__ = ["BucklingSolution", "solve_eigenbuckling"]

RESTARTS = (
    200  # of the iteration; it takes a tenth of that where there is compression, and never ends where there is none
)
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


def solve_eigenbuckling(model, membrane_force, supports, count=4, *, solver="auto"):
    """Lowest positive buckling factors.

    Parameters
    ----------
    model : Model
        A shell, sound for the solver.
    membrane_force : ndarray, shape (n_cells, 4, 3)
        ``nx ny nxy`` of the load case at the corners, N/mm; the fourth of a triangle is not looked at.
    supports : sequence of Support
        Those that the load case stands on; what they prescribe is held at 0.
    count : int
    solver : {"auto", "pardiso", "superlu"}

    Raises
    ------
    NotConvergedError
        If fewer factors are positive than asked for; `found` holds those.
    SolveError
        If factors were missed, by the count of inertia, or a residual is too large.
    """
    if not isinstance(count, (int, np.integer)) or count < 1:
        raise ModelError(f"count is {count!r}; it must be a whole number of at least 1.")
    name, engine = choose_solver(solver)
    blocks = {kind: (block, corners.shape[1]) for kind, corners, block in model.mesh.blocks()}

    def softening(kind, some):
        block, k = blocks[kind]
        return geometric_stiffness(arrays[kind][some], membrane_force[block][some, :k])

    with closing(engine), one_thread_for_numpy():
        reduction = reduction_of(model, constraints_of(model.mesh, supports, model.n_components))
        pattern = pattern_of(model, [reduction])
        arrays = cell_arrays(model)
        stiffness, geometric = assemble_stiffness(model, pattern, arrays), assemble(pattern, softening)
        held, soft = reduce_matrix(stiffness, reduction), without_held(reduce_matrix(geometric, reduction), reduction)
        engine.order(held)
        engine.factorise(held)
        find = partial(_lanczos, engine, held.whole, soft.whole, count)
        factors, vectors, below, at = until_gap(find, count, pattern.n_unknowns - 2)
        counted = type(engine).negative_pivots(combined(held, soft, -at))
    if counted is not None and counted != below:
        raise SolveError(
            f"{below} buckling factors were found where {counted} are, by their count; ask for a few more."
        )
    shapes = reduction.expand(vectors[:, :count])
    inner, outer = stiffness.dot(shapes), factors[:count] * geometric.dot(shapes)
    terms = reduction.sizes(stiffness.absolute_dot(shapes) + factors[:count] * geometric.absolute_dot(shapes))
    relative = np.linalg.norm(reduction.reduce(inner + outer), axis=0) / np.linalg.norm(terms, axis=0)
    if not relative.max() <= RESIDUAL:
        worst = int(relative.argmax())
        raise SolveError(
            f"factor {worst + 1} leaves a residual of {relative[worst]:.1e}; at most {RESIDUAL:g} is accepted."
        )
    by_point = shapes.T.reshape(count, model.mesh.n_points, model.n_components)
    largest = np.abs(by_point[:, :, :3]).max(axis=(1, 2))
    return BucklingSolution(factors[:count], by_point / largest[:, None, None], relative, counted, name)


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
