"""Natural modes: the lowest eigenvalues of stiffness against mass, with a proof that none was missed.

Shift-invert Lanczos (ARPACK, through SciPy) on a factor of ``K + s M``, with a shift just below 0: small enough not to
matter, and a model that can move freely is factored all the same. Afterwards ``K - s M`` is factored for an s above the
highest mode that was found: by Sylvester's law of inertia it has as many negative pivots as there are modes below s.
Under a load K holds its geometric stiffness too.
"""

from contextlib import closing
from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy.sparse.linalg import ArpackNoConvergence, eigsh

from ..errors import ModelError, NotConvergedError, SolveError
from ..model.check import find_faults
from ..model.joints import count_free_motions
from ..model.values import refuse
from .constraints import reduce_matrix
from .eigen import (
    EXTRA,
    TOLERANCE,
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
from .mass import assemble_mass, mass_that_moves

__all__ = ["EigenSolution", "solve_eigenmodes"]

SHIFT = 1e-9  # of the matrices' own ratio: far below any mode, far above the rounding of the lowest


@dataclass(frozen=True, eq=False)
class EigenSolution:
    """Modes as solved.

    Attributes
    ----------
    value : ndarray, shape (count,)
        Squared circular frequency, 1/s2, ascending.
    shape : ndarray, shape (count, n_points, n_components)
        Each with a modal mass of 1 tonne, mm and rad; the largest displacement is positive.
    effective_mass : ndarray, shape (count, 3)
        Mass that takes part in a shift along x, y and z, tonne.
    moving_mass : ndarray, shape (3,)
        What all modes together have: the model's mass but for what stands on supports that hold x, y or z, tonne.
    n_rigid : int
        How many motions without strain parts of the model have: as many modes are at 0.
    residual : ndarray, shape (count,)
        ``|K u - w² M u|`` over the size of its terms.
    counted : int or None
        Modes below the gap above the highest that was found, by inertia; as many as were found.
    solver : str
    """

    value: np.ndarray
    shape: np.ndarray
    effective_mass: np.ndarray
    moving_mass: np.ndarray
    n_rigid: int
    residual: np.ndarray
    counted: int
    solver: str


def solve_eigenmodes(model, count=6, *, mass="consistent", carried=None, supports=None, solver="auto"):
    """Lowest natural modes of a model.

    Parameters
    ----------
    model : Model
        It may be free to move: its rigid motions are then the first modes, at frequencies of 0.
    count : int
        How many modes.
    mass : {"consistent", "lumped"}
    carried : pair of ndarray, optional
        Forces in cells and beams that stay while the model shakes: see `femkit.solve.eigen.assemble_geometric`.
    supports : sequence of Support, optional
        Instead of the model's own.
    solver : {"auto", "pardiso", "superlu"}

    Returns
    -------
    solution : EigenSolution

    Raises
    ------
    ModelError
        If the model has faults, no mass, or fewer modes than asked for.
    NotConvergedError
        If the iteration gave up; `found` holds what it had.
    NotPositiveError
        If those forces buckle the model.
    SolveError
        If modes were missed, by the count of inertia, or a residual is too large.
    """
    supports = model.supports if supports is None else tuple(supports)
    _refuse(model, count)
    name, engine = choose_solver(solver)
    with closing(engine), one_thread_for_numpy():
        reduction, arrays, stiffness = stiffness_on(model, supports, carried)
        inertia = assemble_mass(model, stiffness.pattern, arrays, mass)
        held, moving = reduce_matrix(stiffness, reduction), without_held(reduce_matrix(inertia, reduction), reduction)
        n_moving = int((moving.diagonal > 0).sum())
        if count + EXTRA[0] >= n_moving:
            raise ModelError(
                f"count is {count}; the model has mass at {n_moving} unknowns, and {EXTRA[0]} must be left over."
            )
        ratio = held.diagonal[moving.diagonal > 0] / moving.diagonal[moving.diagonal > 0]
        shift = -SHIFT * np.median(ratio)
        shifted = combined(held, moving, shift)
        engine.order(shifted)
        engine.factorise(shifted)
        find = partial(_lanczos, engine, held.whole, moving.whole, shift)
        values, vectors, below, at = until_gap(find, count, n_moving - 2, floor=-shift)
        counted = type(engine).negative_pivots(combined(held, moving, at))
    if counted is not None and counted != below:
        raise SolveError(f"{below} modes were found where {counted} are, by their count; ask for a few more modes.")
    values, shapes = values[:count], reduction.expand(vectors[:, :count])
    forces = inertia.dot(shapes)
    length = np.sqrt((shapes * forces).sum(axis=0))
    residual = residuals(reduction, stiffness, inertia, values, shapes, "mode")
    by_point, by_shift = ((field / length).T.reshape(count, -1, model.n_components) for field in (shapes, forces))
    n = min(3, model.n_components)
    moves = by_point[:, :, :n].reshape(count, -1)
    largest = np.take_along_axis(moves, np.abs(moves).argmax(axis=1)[:, None], axis=1)
    return EigenSolution(
        values,
        by_point * np.sign(largest)[:, :, None],
        np.pad(by_shift[:, :, :n].sum(axis=1) ** 2, ((0, 0), (0, 3 - n))),
        mass_that_moves(inertia, moving, reduction),
        count_free_motions(model, supports),
        residual,
        counted,
        name,
    )


def _refuse(model, count):
    refuse(*find_faults(model, may_move=True))
    refuse_count(count)
    if not model.mass > 0:
        raise ModelError("the model has no mass; give its materials a density (steel: 7.85e-9 t/mm3), or masses.")


def _lanczos(engine, held, moving, shift, count):
    """Lowest eigenvalues (count,) and vectors (n_unknowns, count) of the reduced matrices, ascending."""
    try:
        values, vectors = eigsh(
            held,
            count,
            moving,
            sigma=shift,
            OPinv=inverse_of(engine, held.shape),
            v0=first_vector(engine, moving),
            ncv=subspace(count, moving),
            tol=TOLERANCE,
        )
    except ArpackNoConvergence as error:
        found = error.eigenvalues
        raise NotConvergedError(
            f"only {len(found)} of {count} modes came out; ask for fewer or more.", found
        ) from error
    order = np.argsort(values)
    return values[order], vectors[:, order]
