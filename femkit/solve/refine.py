"""Solutions of a factored system, refined once, or of one near it; refused where rounding has left them no digit."""

import numpy as np

from .matrix import NotPositiveError
from .proof import LARGEST_RESIDUAL, residual_measure

__all__ = ["CLOSE", "LOST", "REFINEMENTS", "solve_near", "solve_refined"]

REFINEMENTS = 1  # always: it brings the componentwise residual down to rounding, for a third of a solution
LOST = 1e-3  # relative: a sheet of 0.05 mm that spans 3 m freely still stays below a tenth of it

CLOSE = 1e-9  # relative, in energy: from here on the displacements hardly change, and their residual is looked at


def solve_refined(engine, stiffness, reduction, right):
    """Solve for all unknowns under forces and prescribed values.

    Parameters
    ----------
    engine : Pardiso or SuperLU
        That has factored the reduced stiffness.
    stiffness : SymmetricMatrix
        Without supports.
    reduction : Reduction
    right : ndarray, shape (n_unknowns, n)
        Forces, N and N mm.

    Returns
    -------
    displacement : ndarray, shape (n_unknowns, n)
    inner : ndarray, shape (n_unknowns, n)
        ``K u``.

    Raises
    ------
    NotPositiveError
        If the factor stood on rounding: a part can move without strain.
    """
    values, left = _start(stiffness, reduction, right)
    free, effort = np.zeros_like(values), left
    for _ in range(1 + REFINEMENTS):
        step = engine.solve(left)
        free += step
        u = values + reduction.expand(free)
        inner = stiffness.dot(u)
        left = reduction.reduce(right - inner)
    if not _has_digits(stiffness.pattern.n_components, free, step, effort, left):
        raise NotPositiveError("the displacements have no certain digit.")
    return u, inner


def solve_near(engine, stiffness, reduction, right, limit):
    """The same with the factor of another stiffness: conjugate gradients, all right-hand sides at once.

    M. R. Hestenes, E. Stiefel, J. Res. Natl. Bur. Stand. 49 (1952) 409-436, with the factor as preconditioner.

    Parameters
    ----------
    limit : int
        Most iterations.

    Returns
    -------
    displacement, inner : ndarray, shape (n_unknowns, n)
    iterations : int

    Raises
    ------
    NotPositiveError
        If the componentwise residual is not half of what `prove` accepts by then.
    """
    values, left = _start(stiffness, reduction, right)
    multiply, sizes = stiffness.multiplier(), None
    free, energy, direction, before = np.zeros_like(values), 0.0, 0.0, np.inf
    for iteration in range(limit + 1):
        if sizes is not None and np.all(residual_measure(left, sizes) <= LARGEST_RESIDUAL / 2):
            u = values + reduction.expand(free)
            return u, multiply(u), iteration
        guess = engine.solve(left)
        now = (left * guess).sum(axis=0)
        if sizes is None and np.all(now <= CLOSE**2 * energy):
            u = values + reduction.expand(free)
            sizes = reduction.sizes(stiffness.absolute_dot(u) + np.abs(right))
        direction = guess + now / np.where(before > 0, before, 1.0) * direction
        pushed = reduction.reduce(multiply(reduction.expand(direction)))
        resistance = (direction * pushed).sum(axis=0)
        length = now / np.where(resistance > 0, resistance, 1.0)
        free, left, before = free + length * direction, left - length * pushed, now
        energy = energy + length * now
    raise NotPositiveError(f"conjugate gradients did not end in {limit} iterations.")


def _start(stiffness, reduction, right):
    """Prescribed values, one column each, and the forces on the free unknowns that they leave."""
    values = np.repeat(reduction.values[:, None], right.shape[1], axis=1)
    return values, reduction.reduce(right - stiffness.dot(values) if values.any() else right)


def _has_digits(n_components, free, step, effort, left):
    """Whether the last refinement changed little and the work of what is left is small, in every column."""
    largest, change = (
        np.abs(field.reshape(-1, n_components, field.shape[1])[:, :3]).max(axis=(0, 1)) for field in (free, step)
    )
    work, lost = np.abs((free * effort).sum(axis=0)), np.abs((free * left).sum(axis=0))
    return bool(np.all(change <= LOST * largest) and np.all(lost <= LOST * work))  # False where not finite
