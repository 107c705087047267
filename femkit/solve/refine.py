"""Solutions of a factored system, refined once, and refused where rounding has left them no digit."""

import numpy as np

from .matrix import NotPositiveError

__all__ = ["LOST", "REFINEMENTS", "solve_refined"]

REFINEMENTS = 1  # always: it brings the componentwise residual down to rounding, for a third of a solution
LOST = 1e-3  # relative: a sheet of 0.05 mm that spans 3 m freely still stays below a tenth of it


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
    values = np.repeat(reduction.values[:, None], right.shape[1], axis=1)
    u, free = values, np.zeros_like(values)
    effort = left = reduction.reduce(right - stiffness.dot(u) if values.any() else right)
    for _ in range(1 + REFINEMENTS):
        step = engine.solve(left)
        free += step
        u = values + reduction.expand(free)
        inner = stiffness.dot(u)
        left = reduction.reduce(right - inner)
    if not _has_digits(stiffness.pattern.n_components, free, step, effort, left):
        raise NotPositiveError("the displacements have no certain digit.")
    return u, inner


def _has_digits(n_components, free, step, effort, left):
    """Whether the last refinement changed little and the work of what is left is small, in every column."""
    largest, change = (
        np.abs(field.reshape(-1, n_components, field.shape[1])[:, :3]).max(axis=(0, 1)) for field in (free, step)
    )
    work, lost = np.abs((free * effort).sum(axis=0)), np.abs((free * left).sum(axis=0))
    return bool(np.all(change <= LOST * largest) and np.all(lost <= LOST * work))  # False where not finite
